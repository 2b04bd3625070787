//! Parameters that have no closed form, solved for numerically.

use crate::distribution::truncated_normal;

/// Where a rising function is 0 between two ends, by halving: slow, but nothing can go wrong.
pub(super) fn bisect((mut low, mut high): (f64, f64), rising: impl Fn(f64) -> f64) -> f64 {
    // 200 halvings leave nothing of any interval of floating-point numbers met here.
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if rising(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// To twelve digits: hides the last bits, in which the mathematics of two machines may differ.
pub(super) fn rounded(value: f64) -> f64 {
    format!("{value:.11e}").parse().unwrap_or(value)
}

/// Mean and sd of the parent whose part between the ends has this median and 90th percentile; `None` if none has.
///
/// For each sd there is one mean that meets the median (the distribution function falls as the mean rises). With
/// the median met, the 90th percentile rises with the sd: from that of the untruncated normal, whose gap of
/// 1.28 sd no truncation widens, towards that of an exponential slope (sd without end).
pub(super) fn parent_of_truncated_normal(median: f64, p90: f64, min: f64, max: f64) -> Option<(f64, f64)> {
    // Farther out than 6 sd less than 1e-9 of the parent would be left.
    const FARTHEST: f64 = 6.0;
    let cdf = |mean: f64, sd: f64, x: f64| truncated_normal::cdf(mean, sd, min, max, x);
    let mean_of = |sd: f64| {
        let low = (min - FARTHEST * sd).max(median - 2.0 * FARTHEST * sd);
        let high = (max + FARTHEST * sd).min(median + 2.0 * FARTHEST * sd);
        bisect((low, high), |mean| 0.5 - cdf(mean, sd, median))
    };
    let median_met = |mean: f64, sd: f64| (cdf(mean, sd, median) - 0.5).abs() < 1e-9;
    // Too spread: more than a tenth lies above p90.
    let spread = |log_sd: f64| {
        let sd = libm::exp(log_sd);
        let mean = mean_of(sd);
        // Where the parent is so flat that the median cannot be met, the sd is too large.
        if median_met(mean, sd) { 0.9 - cdf(mean, sd, p90) } else { 1.0 }
    };
    let narrowest = libm::log((p90 - median) / super::Z90);
    let sd = libm::exp(bisect((narrowest - 1e-9, narrowest + 12.0), spread));
    let mean = mean_of(sd);
    let met = median_met(mean, sd) && (cdf(mean, sd, p90) - 0.9).abs() < 1e-9;
    met.then_some((mean, sd))
}
