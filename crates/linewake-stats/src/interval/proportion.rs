//! Intervals of a proportion, from hits among trials.

use super::{Interval, is_level};
use crate::distribution::normal_quantile;
use crate::sampling_law::beta_quantile;

/// The exact two-sided interval of a proportion: it covers the truth with probability `level` or more.
///
/// *Formula*: beta quantiles ((1 - level) / 2; x, n - x + 1) and ((1 + level) / 2; x + 1, n - x) for x hits of n.
/// *Source*: Clopper and Pearson (1934), The Use of Confidence or Fiducial Limits Illustrated in the Case of the
/// Binomial, Biometrika 26(4), 404-413.
///
/// `None` without trials, with more hits than trials, or for a `level` outside (0, 1).
///
/// ```
/// use linewake_stats::interval::clopper_pearson;
/// // No reject among 300 packs: at most 1 % with 95 % confidence, the "rule of three" (level 0.9 is two-sided).
/// let interval = clopper_pearson(0, 300, 0.90).unwrap();
/// assert!(interval.low == 0.0 && (interval.high - 0.009_936).abs() < 1e-6);
/// ```
#[must_use]
pub fn clopper_pearson(hits: u64, trials: u64, level: f64) -> Option<Interval> {
    if trials == 0 || hits > trials || !is_level(level) {
        return None;
    }
    let tail = 0.5 - 0.5 * level;
    let (x, rest) = (hits as f64, (trials - hits) as f64);
    let low = if hits == 0 { 0.0 } else { beta_quantile(tail, x, rest + 1.0) };
    let high = if hits == trials { 1.0 } else { 1.0 - beta_quantile(tail, rest, x + 1.0) };
    Interval::finite_or_none(low, high)
}

/// The score interval of a proportion: shorter than the exact one, right on average.
///
/// *Formula*: (p + z^2 / 2n +- z sqrt(p (1 - p) / n + z^2 / 4n^2)) / (1 + z^2 / n), p the share of hits.
/// *Source*: Wilson (1927), Probable Inference, the Law of Succession, and Statistical Inference, Journal of the
/// American Statistical Association 22(158), 209-212.
///
/// `None` as for [`clopper_pearson`].
#[must_use]
pub fn wilson(hits: u64, trials: u64, level: f64) -> Option<Interval> {
    if trials == 0 || hits > trials || !is_level(level) {
        return None;
    }
    let n = trials as f64;
    let p = hits as f64 / n;
    let z = normal_quantile(0.5 + 0.5 * level);
    let part = z * z / n;
    let half = z * libm::sqrt((p * (1.0 - p) + 0.25 * part) / n) / (1.0 + part);
    let centre = (p + 0.5 * part) / (1.0 + part);
    Interval::finite_or_none((centre - half).max(0.0), (centre + half).min(1.0))
}
