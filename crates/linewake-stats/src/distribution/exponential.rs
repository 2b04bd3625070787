//! Exponential, by its mean.
//!
//! *Formula*: F(x) = 1 - exp(-x / mean) for x >= 0; variance mean^2; quantile -mean ln(1 - p).

pub(super) fn cdf(mean: f64, x: f64) -> f64 {
    -libm::expm1(-x / mean)
}

pub(super) fn quantile(mean: f64, p: f64) -> f64 {
    -mean * libm::log1p(-p)
}

/// Like [`quantile`], but takes a uniform number that stands on a grid on which 1 - u is exact.
#[inline]
pub(super) fn sample(mean: f64, u: f64) -> f64 {
    -mean * libm::log(1.0 - u)
}
