//! Uniform between two ends.
//!
//! *Formula*: F(x) = (x - min) / (max - min); mean (min + max) / 2; variance (max - min)^2 / 12.

pub(super) fn mean(min: f64, max: f64) -> f64 {
    min + 0.5 * (max - min)
}

pub(super) fn variance(min: f64, max: f64) -> f64 {
    (max - min) * (max - min) / 12.0
}

pub(super) fn cdf(min: f64, max: f64, x: f64) -> f64 {
    (x - min) / (max - min)
}

#[inline]
pub(super) fn quantile(min: f64, max: f64, p: f64) -> f64 {
    min + (max - min) * p
}
