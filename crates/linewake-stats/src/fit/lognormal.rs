//! Lognormal: mean and standard deviation of the logarithms (divisor n), or Newton's method when times are cut off.
//!
//! In a = mu / sigma and b = 1 / sigma the log-likelihood is concave, so that steps cut back where they overshoot
//! always arrive. *Source*: Burridge (1981), A Note on Maximum Likelihood Estimation for Regression Models Using
//! Grouped Data, Journal of the Royal Statistical Society B 43(1), 41-45.

use super::{Family, FitError, Sample};
use crate::distribution::Distribution;
use crate::special::{log_normal_tail, normal_hazard};

const MOST_STEPS: usize = 200;
/// A lognormal beyond it cannot be calculated with, one of a sigma below it is as good as constant.
const SIGMAS: (f64, f64) = (1e-9, 20.0);

pub(super) fn fit(sample: &Sample) -> Result<(Distribution, f64), FitError> {
    const OUT_OF_REACH: FitError = FitError::OutOfReach { family: Family::Lognormal };
    sample.check_spread(Family::Lognormal)?;
    let logs: Vec<f64> = sample.times().map(libm::log).collect();
    let (complete, cut_off) = logs.split_at(sample.complete().len());
    let (mu, sigma) = if cut_off.is_empty() {
        moments(complete)
    } else {
        // Standardised, so that one start and one stop rule serve every unit.
        let (centre, width) = moments(&logs);
        let standard = |logs: &[f64]| logs.iter().map(|log| (log - centre) / width).collect::<Vec<f64>>();
        let (a, b) = newton(&standard(complete), &standard(cut_off)).ok_or(OUT_OF_REACH)?;
        (centre + width * a / b, width / b)
    };
    if !(sigma >= SIGMAS.0 && sigma <= SIGMAS.1) {
        return Err(OUT_OF_REACH);
    }
    Ok((Distribution::Lognormal { median: libm::exp(mu), sigma }, log_likelihood(mu, sigma, sample)))
}

fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>();
    (mean, libm::sqrt(squares / n))
}

/// ln L in a and b, without constants.
fn value(complete: &[f64], cut_off: &[f64], a: f64, b: f64) -> f64 {
    complete.len() as f64 * libm::log(b)
        - 0.5 * complete.iter().map(|y| (b * y - a) * (b * y - a)).sum::<f64>()
        + cut_off.iter().map(|y| log_normal_tail(b * y - a)).sum::<f64>()
}

fn newton(complete: &[f64], cut_off: &[f64]) -> Option<(f64, f64)> {
    let events = complete.len() as f64;
    let (mut a, mut b) = (0.0, 1.0);
    let mut here = value(complete, cut_off, a, b);
    for _ in 0..MOST_STEPS {
        let (mut slope_a, mut slope_b) = (0.0, events / b);
        let (mut bend_aa, mut bend_ab, mut bend_bb) = (0.0, 0.0, events / (b * b));
        let mut add = |y: f64, pull: f64, weight: f64| {
            slope_a += pull;
            slope_b -= pull * y;
            bend_aa += weight;
            bend_ab -= weight * y;
            bend_bb += weight * y * y;
        };
        for &y in complete {
            add(y, b * y - a, 1.0);
        }
        for &y in cut_off {
            let z = b * y - a;
            let hazard = normal_hazard(z);
            add(y, hazard, hazard * (hazard - z));
        }
        let determinant = bend_aa * bend_bb - bend_ab * bend_ab;
        let step_a = (bend_bb * slope_a - bend_ab * slope_b) / determinant;
        let step_b = (bend_aa * slope_b - bend_ab * slope_a) / determinant;
        if !(step_a.is_finite() && step_b.is_finite()) {
            return None;
        }
        let mut share = 1.0;
        loop {
            let (next_a, next_b) = (a + share * step_a, b + share * step_b);
            let next = if next_b > 0.0 { value(complete, cut_off, next_a, next_b) } else { f64::NAN };
            if next >= here - 1e-13 * here.abs() {
                (a, b, here) = (next_a, next_b, next);
                break;
            }
            share *= 0.5;
            if share < 1e-12 {
                return None;
            }
        }
        if step_a.abs() <= 1e-13 * (1.0 + a.abs()) && step_b.abs() <= 1e-13 * b {
            return Some((a, b));
        }
    }
    None
}

pub(super) fn log_likelihood(mu: f64, sigma: f64, sample: &Sample) -> f64 {
    let z = |time: f64| (libm::log(time) - mu) / sigma;
    let constant = 0.5 * libm::log(core::f64::consts::TAU) + libm::log(sigma);
    let densities: f64 =
        sample.complete().iter().map(|&time| -constant - libm::log(time) - 0.5 * z(time) * z(time)).sum();
    densities + sample.cut_off().iter().map(|&time| log_normal_tail(z(time))).sum::<f64>()
}
