//! The likelihood of a record.

use super::law::{Law, LawPoint};
use super::{Entry, Recorded, Recording};
use crate::fit::Family;

/// Below this share of the width of a law, both-ends steps are integrated over the density instead of taken as
/// differences of areas, which would cancel.
const SMALL_STEP: f64 = 0.05;

/// ln L.
pub(crate) fn of(law: &Law, record: &Recorded) -> f64 {
    let mut sum = 0.0;
    let mut complete = 0.0;
    for (entry, weight) in &record.entries {
        let log = match *entry {
            Entry::At(x) => law.log_density(x),
            Entry::After(x) => law.log_survival(x),
            Entry::Within(low, high) => libm::log(within(law, low, high)),
            Entry::BothEnds(value, grid) => libm::log(both_ends(law, value, grid)),
        };
        if !matches!(entry, Entry::After(_)) {
            complete += weight;
        }
        sum += weight * log;
    }
    let unseen = unseen(law, record.recording);
    if unseen > 0.0 { sum - complete * libm::log1p(-unseen) } else { sum }
}

/// The share of times that the record loses.
pub(crate) fn unseen(law: &Law, recording: Recording) -> f64 {
    match recording {
        Recording::Exact | Recording::RoundedUp => 0.0,
        Recording::Rounded { grid } => law.tails(0.5 * grid).0,
        // The end falls into the step of the start with probability 1 - t / grid.
        Recording::BothEnds { grid } => (law.areas(grid).0 / grid).min(1.0),
    }
}

/// Probability of a time above `low` and up to `high`.
pub(crate) fn within(law: &Law, low: f64, high: f64) -> f64 {
    let (below_low, above_low) = law.tails(low);
    let (below_high, above_high) = law.tails(high);
    if below_low > 0.5 { above_low - above_high } else { below_high - below_low }
}

/// Probability that a time is recorded as `value` when both ends are read in steps of `grid`: with an even chance for
/// where in a step it begins, a time t gives floor(t / grid) or one more, so that the weight over t is a triangle
/// about the value.
pub(crate) fn both_ends(law: &Law, value: f64, grid: f64) -> f64 {
    let (low, high) = (value - grid, value + grid);
    if grid > SMALL_STEP * law.width() || low < 0.5 * grid {
        let [low, middle, high] = [low, value, high].map(|x| law.areas(x));
        let below = (high.0 - middle.0) - (middle.0 - low.0);
        let above = (high.1 - middle.1) - (middle.1 - low.1);
        let by_tail = law.tails(value).0 > 0.5;
        return (if by_tail { above } else { below }).max(0.0) / grid;
    }
    // Gauss and Legendre, five points on each side.
    const POINTS: [(f64, f64); 5] = [
        (0.046_910_077_030_668_004, 0.118_463_442_528_094_54),
        (0.230_765_344_947_158_45, 0.239_314_335_249_683_23),
        (0.5, 0.284_444_444_444_444_44),
        (0.769_234_655_052_841_5, 0.239_314_335_249_683_23),
        (0.953_089_922_969_332, 0.118_463_442_528_094_54),
    ];
    let density = |x: f64| libm::exp(law.log_density(x));
    POINTS
        .iter()
        .map(|&(place, weight)| {
            weight * (place * density(low + place * grid) + (1.0 - place) * density(value + place * grid))
        })
        .sum::<f64>()
        * grid
}

/// A point not far from the maximum: from the moments of the logarithms, cut-off times taken as complete.
pub(crate) fn rough(family: Family, record: &Recorded) -> LawPoint {
    let middle = |entry: &Entry| match *entry {
        Entry::At(x) | Entry::After(x) | Entry::BothEnds(x, _) => x,
        Entry::Within(low, high) => 0.5 * (low + high),
    };
    let (mut weight, mut events, mut sum, mut logs, mut squares) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (entry, times) in &record.entries {
        let value = middle(entry);
        let log = libm::log(value);
        weight += times;
        events += if matches!(entry, Entry::After(_)) { 0.0 } else { *times };
        sum += times * value;
        logs += times * log;
        squares += times * log * log;
    }
    let mean_log = logs / weight;
    let spread = libm::sqrt((squares / weight - mean_log * mean_log).max(1e-6));
    let log_mean = libm::log(sum / weight);
    // Censoring stretches the scale by about times over complete times.
    let stretch = libm::log(weight / events);
    let (first, second) = match family {
        Family::Exponential => (0.0, log_mean + stretch),
        // The logarithm of a Weibull time has a standard deviation of 1.283 / shape and a mean 0.577 / shape below ln scale.
        Family::Weibull => {
            (libm::log(1.283 / spread).clamp(-2.9, 6.0), mean_log + 0.45 * spread + 0.5 * stretch)
        }
        Family::Lognormal => (libm::log(spread), mean_log + 0.5 * stretch),
        Family::Gamma => {
            let gap = (log_mean - mean_log).max(1e-5);
            let shape = (1.0 + libm::sqrt(1.0 + 4.0 / 3.0 * gap)) / (4.0 * gap);
            (libm::log(shape).clamp(-4.5, 13.0), log_mean - libm::log(shape) + stretch)
        }
    };
    LawPoint { first, second }
}
