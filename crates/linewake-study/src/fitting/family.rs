//! What the other reasons of a machine, or of the line, say of one that has few data of its own.
//!
//! *Formula*: frequencies of a family come from a gamma law, whose two figures are set by its members; with n stops in a
//! time T the frequency is then gamma (a + n, b + T). Durations of a family are lognormal of one sigma, with the means of
//! their logarithms from a normal law; the own mean is drawn towards the family's by their variances.
//! *Source*: empirical Bayes, Carlin and Louis (2000), Bayes and Empirical Bayes Methods for Data Analysis (from memory).

use super::law::{FEW, Fitted};
use super::typed::{Unit, typed};
use linewake_kpi::study::fitting::{Bounded, FitClock, Offer, ReasonFit, TimesFit};
use linewake_stats::distribution::{Distribution, normal_quantile};
use linewake_stats::estimate::{mean, variance};

/// A family is told by at least so many members.
const LEAST_MEMBERS: usize = 3;

type Row = (usize, ReasonFit, Option<Fitted>, Option<Fitted>);

/// What a member says: complete times, their sum with the cut-off ones, mean and sigma of their logarithms.
#[derive(Clone, Copy)]
struct Member {
    station: usize,
    n: f64,
    total: f64,
    log_median: f64,
    sigma: f64,
}

fn member(station: usize, fitted: &Fitted) -> Option<Member> {
    let n = fitted.shown.complete as f64;
    let sigma = fitted.sigma?;
    // The lognormal law's median is the mean of the logarithms.
    let median = fitted.shown.candidates.iter().find(|it| it.family == "lognormal")?;
    let log_median = median.parameters.first()?.bounded.value.ln();
    Some(Member { station, n, total: fitted.total, log_median, sigma })
}

/// Adds an offer to each sample of few data; with `take` it becomes the proposed law.
pub(super) fn offer(rows: &mut [Row], level: f64, take: bool) {
    let on_time = |row: &Row| matches!(row.1.clock, FitClock::RunningTime);
    let between: Vec<Member> = rows
        .iter()
        .filter(|row| on_time(row))
        .filter_map(|row| member(row.0, row.2.as_ref()?))
        .filter(|it| it.n >= FEW as f64)
        .collect();
    let durations: Vec<Member> = rows
        .iter()
        .filter_map(|row| member(row.0, row.3.as_ref()?))
        .filter(|it| it.n >= FEW as f64)
        .collect();
    for (station, fit, own_between, own_duration) in rows.iter_mut() {
        let is_on_time = matches!(fit.clock, FitClock::RunningTime);
        if let (Some(shown), Some(own), true) = (&mut fit.between, own_between.as_ref(), is_on_time)
            && (own.shown.complete as usize) < FEW
            && let Some((members, words)) = family(&between, *station)
        {
            let law = frequency(&members, own, level);
            settle(shown, law, &members, words, take);
        }
        if let Some(own) = own_duration.as_ref()
            && (own.shown.complete as usize) < FEW
            && let Some((members, words)) = family(&durations, *station)
        {
            let law = length(&members, own, level);
            settle(&mut fit.duration, law, &members, words, take);
        }
    }
}

/// The reasons of the same machine if there are enough, else those of all machines.
fn family(members: &[Member], station: usize) -> Option<(Vec<Member>, String)> {
    let same: Vec<Member> = members.iter().copied().filter(|it| it.station == station).collect();
    if same.len() >= LEAST_MEMBERS {
        return Some((same, "the other reasons of this machine".to_owned()));
    }
    (members.len() >= LEAST_MEMBERS).then(|| (members.to_vec(), "the reasons of all machines".to_owned()))
}

fn settle(
    shown: &mut TimesFit,
    law: Option<(Distribution, Bounded)>,
    members: &[Member],
    family: String,
    take: bool,
) {
    let Some((law, mean)) = law else { return };
    let json = typed(&law, Unit::Seconds);
    if take {
        shown.chosen.family =
            if matches!(law, Distribution::Exponential { .. }) { "exponential" } else { "lognormal" };
        shown.chosen.json.clone_from(&json);
        shown.chosen.mean = mean;
        shown.chosen.why =
            format!("few data: the law follows from {} and the own data, as was asked for", family);
    }
    shown.offer = Some(Offer { members: members.len() as u64, family, json, mean, taken: take });
}

fn frequency(members: &[Member], own: &Fitted, level: f64) -> Option<(Distribution, Bounded)> {
    let rates: Vec<f64> = members.iter().map(|it| it.n / it.total).collect();
    let middle = mean(&rates)?;
    let by_chance = mean(&members.iter().map(|it| it.n / (it.total * it.total)).collect::<Vec<_>>())?;
    let spread = (variance(&rates)? - by_chance).max(0.01 * middle * middle);
    let (shape, time) = (middle * middle / spread, middle / spread);
    let (shape, time) = (shape + own.shown.complete as f64, time + own.total);
    let law = Distribution::Gamma { shape, scale: 1.0 / time };
    let value = time / shape;
    let low = 1.0 / law.quantile(0.5 + 0.5 * level);
    let high = 1.0 / law.quantile(0.5 - 0.5 * level);
    value.is_finite().then_some((
        Distribution::Exponential { mean: value },
        Bounded { value, low: Some(low), high: Some(high).filter(|it| it.is_finite()) },
    ))
}

fn length(members: &[Member], own: &Fitted, level: f64) -> Option<(Distribution, Bounded)> {
    let weights: f64 = members.iter().map(|it| it.n).sum();
    let sigma = (members.iter().map(|it| it.n * it.sigma * it.sigma).sum::<f64>() / weights).sqrt();
    let medians: Vec<f64> = members.iter().map(|it| it.log_median).collect();
    let middle = mean(&medians)?;
    let by_chance = mean(&members.iter().map(|it| sigma * sigma / it.n).collect::<Vec<_>>())?;
    let spread = (variance(&medians)? - by_chance).max(1e-4);
    let n = own.shown.complete as f64;
    // With one time only its logarithm, with more the mean of theirs: the median of a lognormal fit, or of the times.
    let own_median = own
        .shown
        .candidates
        .iter()
        .find(|it| it.family == "lognormal")
        .and_then(|it| it.parameters.first())
        .map_or(own.shown.median, |it| it.bounded.value)
        .ln();
    let precision = 1.0 / spread + n / (sigma * sigma);
    let log_median = (middle / spread + own_median * n / (sigma * sigma)) / precision;
    let half = normal_quantile(0.5 + 0.5 * level) / precision.sqrt();
    let of = |log_median: f64| (log_median + 0.5 * sigma * sigma).exp();
    let law = Distribution::Lognormal { median: log_median.exp(), sigma };
    law.mean().is_finite().then_some((
        law,
        Bounded {
            value: of(log_median),
            low: Some(of(log_median - half)),
            high: Some(of(log_median + half)),
        },
    ))
}
