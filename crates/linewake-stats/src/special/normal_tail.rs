//! Upper tail of the standard normal, also where the probability itself is below the smallest number.

use crate::distribution::normal::{normal_cdf, normal_density};

/// Beyond it the continued fraction is exact to rounding.
const FAR: f64 = 12.0;

/// Density over upper tail probability at `z`.
///
/// *Source*: beyond 12 the continued fraction of Abramowitz and Stegun (1964), 26.2.14.
pub(crate) fn normal_hazard(z: f64) -> f64 {
    if z < FAR {
        return normal_density(z) / normal_cdf(-z);
    }
    z + (1..40).rev().fold(0.0, |fraction, k| f64::from(k) / (z + fraction))
}

/// Natural logarithm of the probability that a standard normal variate exceeds `z`.
pub(crate) fn log_normal_tail(z: f64) -> f64 {
    if z < FAR {
        return if z < -1.0 { libm::log1p(-normal_cdf(z)) } else { libm::log(normal_cdf(-z)) };
    }
    -0.5 * z * z - 0.5 * libm::log(core::f64::consts::TAU) - libm::log(normal_hazard(z))
}
