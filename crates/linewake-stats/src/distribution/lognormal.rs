//! Lognormal, by its median and the standard deviation sigma of the natural logarithm.
//!
//! *Formula*: F(x) = Phi(ln(x / median) / sigma); quantile median exp(sigma Phi^-1(p));
//! mean median exp(sigma^2 / 2); variance mean^2 (exp(sigma^2) - 1).

use super::normal::{normal_cdf, normal_quantile};

pub(super) fn mean(median: f64, sigma: f64) -> f64 {
    median * libm::exp(0.5 * sigma * sigma)
}

pub(super) fn variance(median: f64, sigma: f64) -> f64 {
    let mean = mean(median, sigma);
    mean * mean * libm::expm1(sigma * sigma)
}

pub(super) fn cdf(median: f64, sigma: f64, x: f64) -> f64 {
    normal_cdf(libm::log(x / median) / sigma)
}

#[inline]
pub(super) fn quantile(median: f64, sigma: f64, p: f64) -> f64 {
    median * libm::exp(sigma * normal_quantile(p))
}
