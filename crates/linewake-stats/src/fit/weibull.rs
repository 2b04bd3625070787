//! Weibull: Newton's method on the profile likelihood of the shape.
//!
//! *Formula*: the shape b solves sum(t^b ln t) / sum(t^b) - 1 / b = mean of ln t over the complete times, the sums over
//! all times; scale^b = sum(t^b) / number of complete times.
//! *Source*: Cohen (1965), Maximum Likelihood Estimation in the Weibull Distribution Based on Complete and on Censored
//! Samples, Technometrics 7(4), 579-588.

use super::{Family, FitError, Sample};
use crate::distribution::Distribution;

/// Shapes beyond which the figures of a Weibull distribution overflow or it is as good as constant.
const SHAPES: (f64, f64) = (0.05, 1000.0);
const MOST_STEPS: usize = 200;

pub(super) fn fit(sample: &Sample) -> Result<(Distribution, f64), FitError> {
    sample.check_spread(Family::Weibull)?;
    let events = sample.events();
    let largest = sample.times().fold(0.0, f64::max);
    // ln(t / largest) is at most 0, so powers lie between 0 and 1.
    let logs: Vec<f64> = sample.times().map(|time| libm::log(time) - libm::log(largest)).collect();
    let mean_log = logs[..sample.complete().len()].iter().sum::<f64>() / events;

    // The equation and its slope; it rises everywhere, from minus infinity to -mean_log > 0.
    let equation = |shape: f64| {
        let (mut weights, mut first, mut second) = (0.0, 0.0, 0.0);
        for &log in &logs {
            let power = libm::exp(shape * log);
            weights += power;
            first += power * log;
            second += power * log * log;
        }
        let weighted = first / weights;
        let slope = second / weights - weighted * weighted + 1.0 / (shape * shape);
        (weighted - 1.0 / shape - mean_log, slope)
    };
    let (mut low, mut high) = SHAPES;
    if equation(low).0 > 0.0 || equation(high).0 < 0.0 {
        return Err(FitError::OutOfReach { family: Family::Weibull });
    }
    // 1 / b is the larger part of the equation at the start, so begin where an exponential stands.
    let mut shape: f64 = 1.0;
    for _ in 0..MOST_STEPS {
        let (value, slope) = equation(shape);
        if value > 0.0 {
            high = shape;
        } else {
            low = shape;
        }
        // Newton in 1 / b, in which the equation is nearly straight.
        let newton = shape / (1.0 + value / (slope * shape));
        let next = if newton >= low && newton <= high { newton } else { libm::sqrt(low * high) };
        let moved = (next - shape).abs();
        shape = next;
        if moved <= 4.0 * f64::EPSILON * shape {
            break;
        }
    }
    let mean_power = logs.iter().map(|log| libm::exp(shape * log)).sum::<f64>() / events;
    let scale = largest * libm::pow(mean_power, 1.0 / shape);
    Ok((Distribution::Weibull { shape, scale }, log_likelihood(shape, scale, sample)))
}

pub(super) fn log_likelihood(shape: f64, scale: f64, sample: &Sample) -> f64 {
    let densities: f64 = sample
        .complete()
        .iter()
        .map(|time| libm::log(shape / scale) + (shape - 1.0) * libm::log(time / scale))
        .sum();
    densities - sample.times().map(|time| libm::pow(time / scale, shape)).sum::<f64>()
}
