//! Whether a record can come from a fitted law: the Anderson-Darling statistic, judged by a table where there is one
//! for fitted parameters, else by records drawn from the fitted law and fitted in the same way.
//!
//! *Formula*: A^2 = n times the integral of (F_n - F)^2 / (F (1 - F)) over F, up to the longest complete time; F_n by
//! Kaplan and Meier. On a grid the sum over its steps with what each step has of F in place of the integral.
//! *Source*: Anderson and Darling (1952); for grids Choulakian, Lockhart and Stephens (1994), Canadian Journal of
//! Statistics 22, 125-137; for the draws Stute, Gonzalez Manteiga and Presedo Quindimil (1993), Metrika 40, 243-256, and
//! Besag and Clifford (1991), Biometrika 78, 301-304 (all from memory).

use super::law::{Law, LawPoint};
use super::survival::of_times;
use super::{Recorded, RecordedFit, Recording, likelihood};
use crate::fit::Family;
use crate::goodness_of_fit::{from_exponential, from_lognormal, from_weibull};
use crate::stream::Stream;

/// Drawn records that reach the statistic before the drawing ends.
const ENOUGH: usize = 10;
/// A record longer than this many steps of its grid is judged as if it were exact.
const MOST_STEPS: f64 = 20_000.0;

/// How the statistic was judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GoodnessMethod {
    /// By the table for fitted parameters: the least of its levels at which the law is turned down, if any.
    Table {
        /// 0.1, 0.05, 0.025 or 0.01.
        turned_down_at: Option<f64>,
    },
    /// By drawn records.
    Draws {
        /// Records drawn.
        drawn: usize,
        /// Share of them with at least this statistic.
        p: f64,
    },
}

/// How well a law fits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Goodness {
    /// Anderson-Darling statistic; modified for its table where it was judged by one.
    pub anderson_darling: f64,
    /// How it was judged.
    pub method: GoodnessMethod,
    /// Complete times that it was worked out from: of a large record a sample.
    pub times: usize,
}

impl Goodness {
    /// The law is turned down at the 5 % level.
    #[must_use]
    pub fn is_turned_down(&self) -> bool {
        match self.method {
            GoodnessMethod::Table { turned_down_at } => turned_down_at.is_some_and(|level| level <= 0.05),
            GoodnessMethod::Draws { p, .. } => p < 0.05,
        }
    }
}

/// How a record of the same form is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Redraw<'a> {
    /// As many complete times.
    Complete,
    /// Times one after the other in windows of these lengths; the last of each window is cut off by its end.
    Windows(&'a [f64]),
}

/// Judges `fit` by at most `most_draws` drawn records, unless there is a table. `None` when the statistic cannot be
/// worked out.
#[must_use]
pub fn goodness(
    fit: &RecordedFit,
    record: &Recorded,
    redraw: Redraw<'_>,
    most_draws: usize,
    stream: &mut Stream,
) -> Option<Goodness> {
    let times = record.complete().len();
    if record.recording == Recording::Exact && record.cut_off().is_empty() && record.zeros == 0 {
        let distance = match fit.family {
            Family::Exponential => from_exponential(record.complete()),
            Family::Weibull => from_weibull(record.complete()),
            Family::Lognormal => from_lognormal(record.complete()),
            Family::Gamma => None,
        };
        if let Some(distance) = distance
            && let Some(statistic) = distance.anderson_darling_modified
        {
            let method = GoodnessMethod::Table { turned_down_at: distance.turned_down_at() };
            return Some(Goodness { anderson_darling: statistic, method, times });
        }
    }
    let law = Law::at(fit.family, fit.at)?;
    let statistic = statistic(&law, record)?;
    let (mut drawn, mut reached) = (0_usize, 0_usize);
    while drawn < most_draws && reached < ENOUGH {
        drawn += 1;
        let Some(other) = draw(fit, record, redraw, stream) else { continue };
        let Ok(refit) = RecordedFit::from(fit.family, &other, start(fit, &other)) else { continue };
        let Some(law) = Law::at(fit.family, refit.at) else { continue };
        if self::statistic(&law, &other).is_some_and(|other| other >= statistic) {
            reached += 1;
        }
    }
    let p = if reached >= ENOUGH {
        reached as f64 / drawn as f64
    } else {
        (reached as f64 + 1.0) / (drawn as f64 + 1.0)
    };
    Some(Goodness { anderson_darling: statistic, method: GoodnessMethod::Draws { drawn, p }, times })
}

/// Exact records are fitted in closed form or by their own equation, others from the law that they were drawn from.
fn start(fit: &RecordedFit, record: &Recorded) -> Option<LawPoint> {
    match record.exact_sample() {
        Some(sample) => {
            crate::fit::Fit::of(fit.family, &sample).ok().and_then(|exact| LawPoint::of(&exact.distribution))
        }
        None => Some(fit.at),
    }
}

fn draw(fit: &RecordedFit, record: &Recorded, redraw: Redraw<'_>, stream: &mut Stream) -> Option<Recorded> {
    let (mut complete, mut cut_off) = (Vec::new(), Vec::new());
    let as_recorded = |time: f64, stream: &mut Stream| match record.recording {
        Recording::Exact => time,
        Recording::Rounded { grid } => libm::round(time / grid) * grid,
        Recording::BothEnds { grid } => libm::floor(time / grid + stream.open01()) * grid,
        Recording::RoundedUp => libm::ceil(time).max(1.0),
    };
    match redraw {
        Redraw::Complete => {
            let wanted = record.complete().len();
            for _ in 0..wanted.saturating_mul(50) {
                let time = as_recorded(fit.distribution.sample(stream), stream);
                if time > 0.0 {
                    complete.push(time);
                }
                if complete.len() == wanted {
                    break;
                }
            }
        }
        Redraw::Windows(windows) => {
            for window in windows {
                let mut left = *window;
                // A window of very many times is no window that anybody watched.
                for _ in 0..1_000_000 {
                    let time = fit.distribution.sample(stream);
                    if time >= left {
                        cut_off.push(left);
                        break;
                    }
                    left -= time;
                    let time = as_recorded(time, stream);
                    if time > 0.0 {
                        complete.push(time);
                    }
                }
            }
        }
    }
    Recorded::new(&complete, &cut_off, record.recording).ok()
}

fn statistic(law: &Law, record: &Recorded) -> Option<f64> {
    let longest = record.complete().iter().copied().fold(0.0, f64::max);
    match record.recording {
        Recording::Rounded { grid } | Recording::BothEnds { grid }
            if record.cut_off().len() * 20 <= record.complete().len() && longest / grid <= MOST_STEPS =>
        {
            on_grid(law, record, grid, longest)
        }
        Recording::RoundedUp if longest <= MOST_STEPS && record.cut_off().is_empty() => {
            on_grid(law, record, 1.0, longest)
        }
        _ => exact(law, record),
    }
}

/// Closed form between two steps of F_n: the integral of (c - u)^2 / (u (1 - u)) is c^2 ln u - (1 - c)^2 ln(1 - u) - u.
fn exact(law: &Law, record: &Recorded) -> Option<f64> {
    let half = if record.recording == Recording::RoundedUp { 0.5 } else { 0.0 };
    let n = record.complete().len() + record.cut_off().len();
    let steps = of_times(record.complete(), record.cut_off());
    let primitive = |c: f64, below: f64, above: f64| {
        let first = if c > 0.0 { c * c * libm::log(below) } else { 0.0 };
        let second = if c < 1.0 { (1.0 - c) * (1.0 - c) * libm::log(above) } else { 0.0 };
        first - second - below
    };
    let (mut sum, mut share) = (0.0, 0.0);
    let (mut below, mut above) = (0.0, 1.0);
    for step in &steps {
        let (next_below, next_above) = law.tails(step.time - half);
        sum += primitive(share, next_below, next_above) - primitive(share, below, above);
        (below, above) = (next_below, next_above);
        share = 1.0 - step.longer;
    }
    if record.cut_off().is_empty() {
        // From the longest time to the end, with F_n = 1.
        sum += -1.0 - primitive(1.0, below, above);
    }
    let statistic = n as f64 * sum;
    statistic.is_finite().then_some(statistic)
}

fn on_grid(law: &Law, record: &Recorded, grid: f64, longest: f64) -> Option<f64> {
    let steps = libm::round(longest / grid) as usize;
    let mut counts = vec![0.0; steps + 1];
    for time in record.complete() {
        counts[(libm::round(time / grid) as usize).min(steps)] += 1.0;
    }
    let n = record.complete().len() as f64;
    let seen = 1.0 - likelihood::unseen(law, record.recording);
    let (mut share, mut expected, mut sum) = (0.0, 0.0, 0.0);
    for (step, count) in counts.iter().enumerate().skip(1) {
        let value = step as f64 * grid;
        let here = match record.recording {
            Recording::BothEnds { grid } => likelihood::both_ends(law, value, grid),
            Recording::RoundedUp => likelihood::within(law, value - 1.0, value),
            _ => likelihood::within(law, value - 0.5 * grid, value + 0.5 * grid),
        } / seen;
        share += count / n;
        expected += here;
        let spread = expected * (1.0 - expected);
        if spread > 1e-12 {
            sum += (share - expected) * (share - expected) * here / spread;
        }
    }
    let statistic = n * sum;
    statistic.is_finite().then_some(statistic)
}
