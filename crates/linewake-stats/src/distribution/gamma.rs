//! Gamma, by shape and scale.
//!
//! *Formula*: F(x) = P(shape, x / scale), P the regularised lower incomplete gamma function; mean shape scale;
//! variance shape scale^2.

use crate::stream::Stream;
use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur, ln_gamma};

/// Shapes that are calculated with; beyond them there is nothing but rounding, or a constant.
pub(super) const SHAPES: (f64, f64) = (0.01, 1e6);

fn calculable(shape: f64, scale: f64) -> bool {
    shape >= SHAPES.0 && shape <= SHAPES.1 && scale > 0.0 && scale.is_finite()
}

pub(super) fn cdf(shape: f64, scale: f64, x: f64) -> f64 {
    let in_scales = x / scale;
    if !calculable(shape, scale) {
        return f64::NAN;
    }
    if in_scales <= 0.0 {
        return 0.0;
    }
    if in_scales.is_infinite() {
        return 1.0;
    }
    checked_gamma_lr(shape, in_scales).unwrap_or(f64::NAN)
}

/// By Newton's method on ln x, kept within a bracket that is halved when a step would leave it.
///
/// The start is the smaller-tail expansion P(a, x) = x^a / Gamma(a + 1) for small x, otherwise the cube-root
/// normal approximation (Wilson and Hilferty 1931). Relative accuracy about 1e-13.
pub(super) fn quantile(shape: f64, scale: f64, p: f64) -> f64 {
    if !calculable(shape, scale) {
        return f64::NAN;
    }
    let log_gamma = ln_gamma(shape);
    // Solve in the smaller tail, so that no digits are lost near 1.
    let (upper, target) = if p > 0.5 { (true, 1.0 - p) } else { (false, p) };
    let excess = |log_x: f64| {
        let x = libm::exp(log_x);
        if upper {
            target - checked_gamma_ur(shape, x).unwrap_or(0.0)
        } else {
            checked_gamma_lr(shape, x).unwrap_or(0.0) - target
        }
    };
    let start = start(shape, log_gamma, p);
    if start < SMALLEST_LOG {
        return 0.0;
    }
    let (mut low, mut high) = (start - 1.0, start + 1.0);
    while excess(low) > 0.0 && low > SMALLEST_LOG {
        low -= 2.0 * (high - low);
    }
    while excess(high) < 0.0 && high < 700.0 {
        high += 2.0 * (high - low);
    }
    let mut log_x = start;
    for _ in 0..200 {
        let error = excess(log_x);
        if error > 0.0 {
            high = log_x;
        } else {
            low = log_x;
        }
        let slope = libm::exp(shape * log_x - libm::exp(log_x) - log_gamma);
        let newton = log_x - error / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        let moved = (next - log_x).abs();
        log_x = next;
        if moved <= 1e-15 * log_x.abs().max(1.0) {
            break;
        }
    }
    scale * libm::exp(log_x)
}

/// Below it a double underflows.
const SMALLEST_LOG: f64 = -700.0;

fn start(shape: f64, log_gamma: f64, p: f64) -> f64 {
    let spread = 1.0 / (9.0 * shape);
    let cube_root = 1.0 - spread + super::normal_quantile(p) * libm::sqrt(spread);
    if shape > 1.0 && cube_root > 0.1 {
        libm::log(shape) + 3.0 * libm::log(cube_root)
    } else {
        // Never above what the exponential tail allows.
        ((libm::log(p) + log_gamma + libm::log(shape)) / shape).min(6.0)
    }
}

/// By the method of Marsaglia and Tsang (2000), "A simple method for generating gamma variables", ACM Transactions on
/// Mathematical Software 26(3), 363-372: an inverse would cost fifty times as much.
///
/// Written here, with libm's functions, and not taken from a library: the one at hand uses the system's logarithm, so
/// that the same seed could give another log on another machine. A few uniform numbers are drawn, not always as
/// many. NaN when the parameters are not above 0.
pub(super) fn sample(shape: f64, scale: f64, stream: &mut Stream) -> f64 {
    if !calculable(shape, scale) {
        return f64::NAN;
    }
    if shape < 1.0 {
        // Section 6 of the paper: a gamma of shape + 1, times u^(1 / shape).
        let boost = libm::pow(stream.open01(), 1.0 / shape);
        return scale * boost * standard(shape + 1.0, stream);
    }
    scale * standard(shape, stream)
}

/// Shape of at least 1, scale 1.
fn standard(shape: f64, stream: &mut Stream) -> f64 {
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / libm::sqrt(9.0 * d);
    loop {
        let normal = super::normal_quantile(stream.open01());
        let v = 1.0 + c * normal;
        if v <= 0.0 {
            continue;
        }
        let v = v * v * v;
        if libm::log(stream.open01()) < 0.5 * normal * normal + d - d * v + d * libm::log(v) {
            return d * v;
        }
    }
}
