//! Geometric: step times the number of trials up to the first hit.
//!
//! *Formula*, with q = 1 / mean (mean in steps) and k = 1, 2, 3, ...: P(k) = q (1 - q)^(k - 1);
//! F(k) = 1 - (1 - q)^k; quantile ceil(ln(1 - p) / ln(1 - q)), at least 1; variance mean (mean - 1) step^2.

pub(super) fn variance(mean: f64, step: f64) -> f64 {
    mean * (mean - 1.0) * step * step
}

pub(super) fn largest(mean: f64, step: f64) -> f64 {
    if mean > 1.0 { f64::INFINITY } else { step }
}

pub(super) fn cdf(mean: f64, step: f64, x: f64) -> f64 {
    let steps = libm::floor(x / step);
    -libm::expm1(steps * libm::log1p(-1.0 / mean))
}

pub(super) fn quantile(mean: f64, step: f64, p: f64) -> f64 {
    steps(mean, libm::log1p(-p)) * step
}

/// Like [`quantile`], but takes a uniform number that stands on a grid on which 1 - u is exact.
#[inline]
pub(super) fn sample(mean: f64, step: f64, u: f64) -> f64 {
    steps(mean, libm::log(1.0 - u)) * step
}

#[inline]
fn steps(mean: f64, log_above: f64) -> f64 {
    // A mean of 1 gives a logarithm of minus infinity and a ratio of 0: one step.
    libm::ceil(log_above / libm::log1p(-1.0 / mean)).max(1.0)
}
