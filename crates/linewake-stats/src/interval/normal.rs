//! Factors of intervals for normal values: multiples of the sample's standard deviation on either side of its mean.

use super::is_level;
use crate::distribution::normal::{normal_cdf, normal_quantile};
use crate::estimate::student_t_quantile;
use crate::sampling_law::{chi_square_quantile, noncentral_t_quantile};
use crate::special::{incomplete_gamma, over_normal, rising_root};

/// Half the width of the confidence interval of a mean from the number of values, their standard deviation (divisor
/// n - 1) and the level.
///
/// *Formula*: t(n - 1, (1 + level) / 2) s / sqrt n. `None` for fewer than two values, a deviation that is negative or
/// infinite, or a `level` outside (0, 1).
#[must_use]
pub fn mean_half_width(n: usize, standard_deviation: f64, level: f64) -> Option<f64> {
    let half = two_sided_t(n, level)? * standard_deviation / libm::sqrt(n as f64);
    (half >= 0.0 && half.is_finite()).then_some(half)
}

/// The factor of the interval that holds the next value (the next run) with probability `level`.
///
/// *Formula*: t(n - 1, (1 + level) / 2) sqrt(1 + 1 / n).
/// *Source*: Hahn (1969), Factors for Calculating Two-Sided Prediction Intervals for Samples from a Normal
/// Distribution, Journal of the American Statistical Association 64, 878-888.
///
/// `None` for fewer than two values or a `level` outside (0, 1).
#[must_use]
pub fn prediction_factor(n: usize, level: f64) -> Option<f64> {
    Some(two_sided_t(n, level)? * libm::sqrt(1.0 + 1.0 / n as f64))
}

fn two_sided_t(n: usize, level: f64) -> Option<f64> {
    if n < 2 || !is_level(level) {
        return None;
    }
    number(student_t_quantile(0.5 + 0.5 * level, (n - 1) as f64))
}

/// The exact factor of a one-sided tolerance limit: with `confidence`, a share `cover` of all values lies on the right
/// side of mean +- factor s.
///
/// *Formula*: the `confidence` quantile of a non-central t with n - 1 degrees of freedom and shift z(cover) sqrt n,
/// over sqrt n.
/// *Source*: Krishnamoorthy and Mathew (2009), Statistical Tolerance Regions, section 2.2.
///
/// `None` for fewer than two values or a share or confidence outside (0, 1).
#[must_use]
pub fn tolerance_one_sided(n: usize, confidence: f64, cover: f64) -> Option<f64> {
    if n < 2 || !is_level(confidence) || !is_level(cover) {
        return None;
    }
    let root = libm::sqrt(n as f64);
    number(noncentral_t_quantile(confidence, (n - 1) as f64, normal_quantile(cover) * root) / root)
}

/// The factor of a one-sided tolerance limit in closed form, a little above the exact one
/// ([`tolerance_one_sided`]).
///
/// *Formula*: (z_p + sqrt(z_p^2 - a b)) / a with a = 1 - z_c^2 / (2 (n - 1)), b = z_p^2 - z_c^2 / n, z_p and z_c the
/// normal quantiles of `cover` and `confidence`.
/// *Source*: Natrella (1963), Experimental Statistics, NBS Handbook 91; NIST/SEMATECH e-Handbook 7.2.6.3.
///
/// `None` as for the exact one, and when the sample is too small for the approximation (a not above 0).
#[must_use]
pub fn tolerance_one_sided_approximate(n: usize, confidence: f64, cover: f64) -> Option<f64> {
    if n < 2 || !is_level(confidence) || !is_level(cover) {
        return None;
    }
    let (most, sure) = (normal_quantile(cover), normal_quantile(confidence));
    let a = 1.0 - sure * sure / (2.0 * (n - 1) as f64);
    let b = most * most - sure * sure / n as f64;
    let inner = most * most - a * b;
    (a > 0.0 && inner >= 0.0).then(|| (most + libm::sqrt(inner)) / a)
}

/// The factor of the two-sided tolerance interval in closed form: with about `confidence`, a share `cover` of all
/// values lies within mean +- factor s.
///
/// *Formula*: z((1 + cover) / 2) sqrt((n - 1) (1 + 1 / n) / chi2(1 - confidence; n - 1)).
/// *Source*: Howe (1969), Two-Sided Tolerance Limits for Normal Populations: Some Improvements, Journal of the American
/// Statistical Association 64, 610-620; NIST/SEMATECH e-Handbook 7.2.6.3.
///
/// `None` for fewer than two values or a share or confidence outside (0, 1).
#[must_use]
pub fn tolerance_two_sided_howe(n: usize, confidence: f64, cover: f64) -> Option<f64> {
    if n < 2 || !is_level(confidence) || !is_level(cover) {
        return None;
    }
    let degrees = (n - 1) as f64;
    let square = degrees * (1.0 + 1.0 / n as f64) / chi_square_quantile(1.0 - confidence, degrees);
    number(normal_quantile(0.5 + 0.5 * cover) * libm::sqrt(square))
}

/// The exact factor of the two-sided tolerance interval; compare [`tolerance_two_sided_howe`].
///
/// *Formula*: the k with E[P(W > (n - 1) r(M)^2 / k^2)] = `confidence`, W chi-square with n - 1 degrees of freedom, M
/// normal with variance 1 / n and r(m) half the width about m that holds a share `cover` of a standard normal.
/// *Source*: Krishnamoorthy and Mathew (2009), Statistical Tolerance Regions, section 2.3.
///
/// `None` for fewer than two values or a share or confidence outside (0, 1).
#[must_use]
pub fn tolerance_two_sided(n: usize, confidence: f64, cover: f64) -> Option<f64> {
    let start = tolerance_two_sided_howe(n, confidence, cover)?;
    let degrees = (n - 1) as f64;
    let root = libm::sqrt(n as f64);
    let mut points = Vec::new();
    for (z, weight) in over_normal() {
        points.push((half_width_about(z.abs() / root, cover)?, weight));
    }
    let miss = |log_factor: f64| {
        let factor = libm::exp(log_factor);
        let covered = points.iter().map(|&(half, weight)| {
            let least = degrees * (half / factor) * (half / factor);
            weight * incomplete_gamma(0.5 * degrees, 0.5 * least).1
        });
        covered.sum::<f64>() - confidence
    };
    rising_root(miss, libm::log(start), 0.01, (-700.0, 700.0)).map(libm::exp)
}

/// r with Phi(centre + r) - Phi(centre - r) = `cover`, for a centre from 0.
fn half_width_about(centre: f64, cover: f64) -> Option<f64> {
    // What lies outside, each side in its own tail, so that a cover near 1 keeps its digits.
    let miss = |half: f64| (1.0 - cover) - (normal_cdf(-centre - half) + normal_cdf(centre - half));
    rising_root(miss, centre + normal_quantile(0.5 + 0.5 * cover), 0.5, (0.0, 1e6))
}

fn number(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
