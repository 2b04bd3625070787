//! The laws that figures of samples follow: counts (Poisson, binomial), sums of squares (chi-square), ratios (Student's
//! t, central and not) and proportions (beta).
//!
//! Every function gives NaN for parameters out of range; none panics. Probabilities are good to about 1e-13, tails
//! to that relative to themselves.

use crate::distribution::normal::normal_cdf;
use crate::special::{bracketed_root, incomplete_beta, incomplete_gamma, over_scale, rising_root};

/// Natural logarithms of chi-square variates are sought in this range.
const LOG_RANGE: (f64, f64) = (-700.0, 700.0);

/// The probability that a Poisson count of mean `mean` (from 0) is at most `count`.
///
/// *Formula*: Q(count + 1, mean), Q the regularised upper incomplete gamma function.
#[must_use]
pub fn poisson_at_most(count: u64, mean: f64) -> f64 {
    incomplete_gamma(count as f64 + 1.0, mean).1
}

/// The probability that of `trials` independent trials, each with probability `p` of a hit, at most `count` hit.
///
/// *Formula*: I_(1 - p)(trials - count, count + 1), I the regularised incomplete beta function.
#[must_use]
pub fn binomial_at_most(count: u64, trials: u64, p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if count >= trials {
        return 1.0;
    }
    incomplete_beta(count as f64 + 1.0, (trials - count) as f64, p, 1.0 - p).1
}

/// The probability that a chi-square variate with `degrees` degrees of freedom (above 0) is at most `x`.
#[must_use]
pub fn chi_square_cdf(x: f64, degrees: f64) -> f64 {
    if x < 0.0 { 0.0 } else { incomplete_gamma(0.5 * degrees, 0.5 * x).0 }
}

/// The value that a chi-square variate with `degrees` degrees of freedom (above 0) stays below with probability `p`,
/// 0 < p < 1.
#[must_use]
pub fn chi_square_quantile(p: f64, degrees: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && degrees > 0.0 && degrees.is_finite()) {
        return f64::NAN;
    }
    let shape = 0.5 * degrees;
    // In the smaller tail, so that no digits are lost near 1.
    let miss = |log_x: f64| {
        let (lower, upper) = incomplete_gamma(shape, libm::exp(log_x));
        if p <= 0.5 { lower - p } else { (1.0 - p) - upper }
    };
    let step = 0.5 / libm::sqrt(shape) + 1e-6;
    rising_root(miss, libm::log(shape), step, LOG_RANGE).map_or(f64::NAN, |log_x| 2.0 * libm::exp(log_x))
}

/// The value that a beta variate of parameters `a` and `b` (above 0) stays below with probability `p`, 0 < p < 1.
#[must_use]
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    let miss = |x: f64| {
        let (lower, upper) = incomplete_beta(a, b, x, 1.0 - x);
        if p <= 0.5 { lower - p } else { (1.0 - p) - upper }
    };
    bracketed_root(miss, 0.0, 1.0).unwrap_or(f64::NAN)
}

/// The probability that Student's t with `degrees` degrees of freedom (above 0) exceeds `t`.
///
/// *Formula*: I_(v / (v + t^2))(v / 2, 1 / 2) / 2 for t > 0 and v degrees of freedom.
#[must_use]
pub fn student_t_tail(t: f64, degrees: f64) -> f64 {
    if t.is_nan() || !(degrees > 0.0 && degrees.is_finite()) {
        return f64::NAN;
    }
    if t.is_infinite() {
        return if t > 0.0 { 0.0 } else { 1.0 };
    }
    let square = t * t;
    let half = if square.is_finite() {
        0.5 * incomplete_beta(0.5 * degrees, 0.5, degrees / (degrees + square), square / (degrees + square)).0
    } else {
        // So far out the first term of the series is exact: density constant times v^((v - 1) / 2) / t^v.
        let log_constant = libm::lgamma(0.5 * degrees + 0.5) - libm::lgamma(0.5 * degrees);
        let log_power = (0.5 * degrees - 1.0) * libm::log(degrees) - degrees * libm::log(t.abs());
        libm::exp(log_constant + log_power) / libm::sqrt(core::f64::consts::PI)
    };
    if t >= 0.0 { half } else { 1.0 - half }
}

/// The probability that a non-central t variate is at most `t`: (Z + `shift`) / u, Z standard normal, u independent of
/// it and u^2 chi-square over its `degrees` degrees of freedom (above 0).
///
/// *Formula*: the expectation of Phi(t u - shift) over u.
#[must_use]
pub fn noncentral_t_cdf(t: f64, degrees: f64, shift: f64) -> f64 {
    cdf_over(&over_scale(degrees), t, shift)
}

fn cdf_over(points: &[(f64, f64)], t: f64, shift: f64) -> f64 {
    if points.is_empty() || t.is_nan() || !shift.is_finite() {
        return f64::NAN;
    }
    points.iter().map(|&(u, weight)| weight * normal_cdf(t * u - shift)).sum::<f64>().clamp(0.0, 1.0)
}

/// The value that a non-central t variate (see [`noncentral_t_cdf`]) stays below with probability `p`, 0 < p < 1.
#[must_use]
pub fn noncentral_t_quantile(p: f64, degrees: f64, shift: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && shift.is_finite()) {
        return f64::NAN;
    }
    let points = over_scale(degrees);
    if points.is_empty() {
        return f64::NAN;
    }
    let range = (-1e12, 1e12);
    rising_root(|t| cdf_over(&points, t, shift) - p, shift, 1.0, range).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests;
