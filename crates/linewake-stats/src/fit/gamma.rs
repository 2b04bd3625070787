//! Gamma: for each shape the scale at which the likelihood is highest, then the shape at which its slope is 0.
//!
//! *Formula*: complete times add ln t - ln scale - psi(shape) to the slope in the shape and t / scale - shape to that in
//! ln scale; cut-off times add d ln Q(shape, t / scale) / d shape and x f(x) / Q(shape, x), x = t / scale and f the
//! density of scale 1.

use super::{Family, FitError, Sample};
use crate::distribution::Distribution;
use crate::special::{digamma, incomplete_gamma, rising_root, trigamma};

/// Natural logarithms of the shapes that are searched (0.01 to 1e6, as the distribution can be calculated with).
const LOG_SHAPES: (f64, f64) = (-4.605_170_185_988_091, 13.815_510_557_964_274);
const MOST_STEPS: usize = 200;

pub(super) fn fit(sample: &Sample) -> Result<(Distribution, f64), FitError> {
    const OUT_OF_REACH: FitError = FitError::OutOfReach { family: Family::Gamma };
    sample.check_spread(Family::Gamma)?;
    // In units of the mean time, so that nothing overflows.
    let number = (sample.complete().len() + sample.cut_off().len()) as f64;
    let unit = sample.times().map(|time| time / number).sum::<f64>();
    let complete: Vec<f64> = sample.complete().iter().map(|time| time / unit).collect();
    let cut_off: Vec<f64> = sample.cut_off().iter().map(|time| time / unit).collect();
    let events = sample.events();
    let mean = complete.iter().sum::<f64>() / events;
    let mean_log = complete.iter().map(|time| libm::log(*time)).sum::<f64>() / events;

    // Starting shape of Thom (1958), Monthly Weather Review 86(4), 117-122, as if the complete times were all.
    let spread = (libm::log(mean) - mean_log).max(1e-12);
    let start = libm::log((1.0 + libm::sqrt(1.0 + 4.0 / 3.0 * spread)) / (4.0 * spread));
    let log_shape = if cut_off.is_empty() {
        complete_log_shape(spread, start)
    } else {
        let slope = |log_shape: f64| {
            let shape = libm::exp(log_shape);
            let Some(log_scale) = log_scale(shape, &cut_off, events, mean) else {
                return f64::NAN;
            };
            let tails =
                cut_off.iter().map(|time| tail_slope(shape, time * libm::exp(-log_scale))).sum::<f64>();
            events * (digamma(shape) + log_scale - mean_log) - tails
        };
        rising_root(slope, start, 0.25, LOG_SHAPES)
    };
    let shape = libm::exp(log_shape.ok_or(OUT_OF_REACH)?);
    let log_scale = log_scale(shape, &cut_off, events, mean).ok_or(OUT_OF_REACH)?;
    let scale = unit * libm::exp(log_scale);
    Ok((Distribution::Gamma { shape, scale }, log_likelihood(shape, scale, sample)))
}

/// Newton's method on ln shape - psi(shape) = ln of the mean - mean of ln.
fn complete_log_shape(spread: f64, start: f64) -> Option<f64> {
    let mut shape = libm::exp(start);
    for _ in 0..MOST_STEPS {
        let miss = libm::log(shape) - digamma(shape) - spread;
        // In 1 / shape, in which the equation is nearly straight.
        let slope = 1.0 - shape * trigamma(shape);
        let next = shape / (1.0 + miss / slope);
        let moved = (next - shape).abs();
        if !(next.is_finite() && next > 0.0) {
            return None;
        }
        shape = next;
        if moved <= 1e-14 * shape {
            break;
        }
    }
    let log_shape = libm::log(shape);
    (log_shape >= LOG_SHAPES.0 && log_shape <= LOG_SHAPES.1).then_some(log_shape)
}

/// The best ln scale for a shape: a root of a falling function, since the likelihood is concave in it.
fn log_scale(shape: f64, cut_off: &[f64], events: f64, mean: f64) -> Option<f64> {
    let mut log_scale = libm::log(mean / shape);
    if cut_off.is_empty() {
        return Some(log_scale);
    }
    // The slope at the complete times' own scale is above 0, and cut-off times only raise it.
    let (mut low, mut high) = (log_scale, f64::INFINITY);
    for _ in 0..MOST_STEPS {
        let own = mean * libm::exp(-log_scale);
        let (mut slope, mut bend) = (events * (own - shape), -events * own);
        for time in cut_off {
            let x = time * libm::exp(-log_scale);
            let pull = x * hazard(shape, x);
            slope += pull;
            bend -= pull * (shape - x + pull);
        }
        if !slope.is_finite() {
            return None;
        }
        if slope > 0.0 {
            low = low.max(log_scale);
        } else {
            high = high.min(log_scale);
        }
        let newton = log_scale - slope / bend;
        let next = if newton >= low && newton <= high {
            newton
        } else if high.is_finite() {
            0.5 * (low + high)
        } else {
            low + 1.0
        };
        let moved = (next - log_scale).abs();
        log_scale = next;
        if moved <= 1e-14 * log_scale.abs().max(1.0) {
            return Some(log_scale);
        }
    }
    Some(log_scale)
}

/// ln Q(shape, x).
fn log_tail(shape: f64, x: f64) -> f64 {
    let (lower, upper) = incomplete_gamma(shape, x);
    if upper > 1e-290 {
        return if lower < 0.5 { libm::log1p(-lower) } else { libm::log(upper) };
    }
    // Far out: density over hazard.
    (shape - 1.0) * libm::log(x) - x - libm::lgamma(shape) - libm::log(hazard(shape, x))
}

/// Density over upper tail at `x` for scale 1.
fn hazard(shape: f64, x: f64) -> f64 {
    let (_, upper) = incomplete_gamma(shape, x);
    if upper > 1e-290 {
        return libm::exp((shape - 1.0) * libm::log(x) - x - libm::lgamma(shape)) / upper;
    }
    // Abramowitz and Stegun (1964), 6.5.31, from the back: the tail over x f(x) is the fraction 1 / (x + (1 - a) / (1 + ..)).
    let mut fraction = x;
    for n in (1..500).rev() {
        let n = f64::from(n);
        fraction = x + (n - shape) / (1.0 + n / fraction);
    }
    fraction / x
}

/// The slope of ln Q(shape, x) in the shape, by central differences of two steps with the error of the first taken out.
fn tail_slope(shape: f64, x: f64) -> f64 {
    let step = 2e-3 * shape;
    let difference = |step: f64| (log_tail(shape + step, x) - log_tail(shape - step, x)) / (2.0 * step);
    (4.0 * difference(0.5 * step) - difference(step)) / 3.0
}

pub(super) fn log_likelihood(shape: f64, scale: f64, sample: &Sample) -> f64 {
    let constant = libm::log(scale) + libm::lgamma(shape);
    let densities: f64 = sample
        .complete()
        .iter()
        .map(|time| (shape - 1.0) * libm::log(time / scale) - time / scale - constant)
        .sum();
    densities + sample.cut_off().iter().map(|time| log_tail(shape, time / scale)).sum::<f64>()
}
