//! Weibull, by shape and scale.
//!
//! *Formula*: F(x) = 1 - exp(-(x / scale)^shape); quantile scale (-ln(1 - p))^(1 / shape);
//! mean scale Gamma(1 + 1 / shape); variance scale^2 (Gamma(1 + 2 / shape) - Gamma(1 + 1 / shape)^2).

/// Mean of the distribution with scale 1.
pub(super) fn mean_over_scale(shape: f64) -> f64 {
    libm::tgamma(1.0 + 1.0 / shape)
}

pub(super) fn mean(shape: f64, scale: f64) -> f64 {
    scale * mean_over_scale(shape)
}

pub(super) fn variance(shape: f64, scale: f64) -> f64 {
    let mean = mean_over_scale(shape);
    scale * scale * (libm::tgamma(1.0 + 2.0 / shape) - mean * mean)
}

pub(super) fn cdf(shape: f64, scale: f64, x: f64) -> f64 {
    -libm::expm1(-libm::pow(x / scale, shape))
}

pub(super) fn quantile(shape: f64, scale: f64, p: f64) -> f64 {
    scale * libm::pow(-libm::log1p(-p), 1.0 / shape)
}

/// Like [`quantile`], but takes a uniform number that stands on a grid on which 1 - u is exact.
#[inline]
pub(super) fn sample(shape: f64, scale: f64, u: f64) -> f64 {
    scale * libm::pow(-libm::log(1.0 - u), 1.0 / shape)
}
