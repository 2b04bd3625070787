//! Expectations over a standard normal variate and over the scale of a sample, by the trapezoidal rule: on an
//! analytic integrand that dies away at both ends its error falls exponentially with the number of points.

use super::gamma::incomplete_gamma;
use super::root::rising_root;
use crate::distribution::normal::normal_density;

/// Points (z, weight) with which sum of weight f(z) is the expectation of f over a standard normal variate.
pub(crate) fn over_normal() -> Vec<(f64, f64)> {
    const STEPS: i32 = 120;
    const END: f64 = 9.0;
    let step = END / f64::from(STEPS);
    (-STEPS..=STEPS).map(|k| step * f64::from(k)).map(|z| (z, step * normal_density(z))).collect()
}

/// Points (u, weight) with which sum of weight f(u) is the expectation of f over u = sqrt(W / degrees), W chi-square
/// with `degrees` degrees of freedom: the ratio of a sample's standard deviation to that of what it comes from.
///
/// Spread evenly in ln u, so that few degrees of freedom, where u may come close to 0, are no harder than many.
/// Empty for degrees of freedom that are not above 0 and finite.
pub(crate) fn over_scale(degrees: f64) -> Vec<(f64, f64)> {
    const STEPS: u32 = 240;
    const LEFT_OUT: f64 = 1e-15;
    if !(degrees > 0.0 && degrees.is_finite()) {
        return Vec::new();
    }
    let shape = 0.5 * degrees;
    // In v = ln(W / degrees) = 2 ln u.
    let end = |miss: &dyn Fn(f64) -> f64| rising_root(miss, 0.0, 0.5, (-700.0 / shape.min(1.0), 50.0));
    let low = end(&|v: f64| incomplete_gamma(shape, shape * libm::exp(v)).0 - LEFT_OUT);
    let high = end(&|v: f64| LEFT_OUT - incomplete_gamma(shape, shape * libm::exp(v)).1);
    let (Some(low), Some(high)) = (low, high) else {
        return Vec::new();
    };
    let step = (high - low) / f64::from(STEPS);
    let log_constant = shape * libm::log(shape) - libm::lgamma(shape);
    (0..=STEPS)
        .map(|k| low + step * f64::from(k))
        .map(|v| (libm::exp(0.5 * v), step * libm::exp(log_constant + shape * (v - libm::exp(v)))))
        .collect()
}
