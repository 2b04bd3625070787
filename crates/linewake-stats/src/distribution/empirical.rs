//! A sample of observed values in rising order, each as likely as any other.
//!
//! *Formula*, with n values: F(x) = (values at most x) / n; quantile the value number ceil(p n), counted from 1;
//! mean and variance with divisor n: the sample is the whole distribution.

pub(super) fn mean(values: &[f64]) -> f64 {
    crate::estimate::mean(values).unwrap_or(f64::NAN)
}

pub(super) fn variance(values: &[f64]) -> f64 {
    match crate::estimate::variance(values) {
        Some(variance) => variance * (values.len() - 1) as f64 / values.len() as f64,
        None if values.len() == 1 => 0.0,
        None => f64::NAN,
    }
}

pub(super) fn cdf(values: &[f64], x: f64) -> f64 {
    values.partition_point(|value| *value <= x) as f64 / values.len() as f64
}

pub(super) fn quantile(values: &[f64], p: f64) -> f64 {
    let count = values.len();
    let number = (libm::ceil(p * count as f64) as usize).clamp(1, count.max(1));
    values.get(number - 1).copied().unwrap_or(f64::NAN)
}

#[inline]
pub(super) fn sample(values: &[f64], u: f64) -> f64 {
    let index = (u * values.len() as f64) as usize;
    values.get(index.min(values.len().wrapping_sub(1))).copied().unwrap_or(f64::NAN)
}
