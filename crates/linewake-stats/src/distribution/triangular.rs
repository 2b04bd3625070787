//! Triangular between two ends, with a most likely value.
//!
//! *Formula*, with a = min, c = mode, b = max: F(x) = (x - a)^2 / ((b - a)(c - a)) up to c, and
//! 1 - (b - x)^2 / ((b - a)(b - c)) above it; mean (a + b + c) / 3;
//! variance (a^2 + b^2 + c^2 - ab - ac - bc) / 18.

pub(super) fn mean(min: f64, mode: f64, max: f64) -> f64 {
    min + ((mode - min) + (max - min)) / 3.0
}

pub(super) fn variance(min: f64, mode: f64, max: f64) -> f64 {
    // The formula above, measured from the lower end: it loses no digits when the ends lie far from 0.
    let (mode, max) = (mode - min, max - min);
    (max * max + mode * mode - max * mode) / 18.0
}

pub(super) fn cdf(min: f64, mode: f64, max: f64, x: f64) -> f64 {
    if x < mode {
        (x - min) * (x - min) / ((max - min) * (mode - min))
    } else {
        1.0 - (max - x) * (max - x) / ((max - min) * (max - mode))
    }
}

#[inline]
pub(super) fn quantile(min: f64, mode: f64, max: f64, p: f64) -> f64 {
    let width = max - min;
    let below_mode = mode - min;
    if p * width < below_mode {
        min + libm::sqrt(p * width * below_mode)
    } else {
        max - libm::sqrt((1.0 - p) * width * (max - mode))
    }
}
