//! Exponential: the mean is the total time over the number of complete times.
//!
//! *Source*: Epstein and Sobel (1953), Life Testing, Journal of the American Statistical Association 48, 486-502.

use super::Sample;
use crate::distribution::Distribution;

pub(super) fn fit(sample: &Sample) -> (Distribution, f64) {
    // Parts, so that large times do not overflow.
    let mean = sample.times().map(|time| time / sample.events()).sum::<f64>();
    (Distribution::Exponential { mean }, log_likelihood(mean, sample))
}

pub(super) fn log_likelihood(mean: f64, sample: &Sample) -> f64 {
    -sample.events() * libm::log(mean) - sample.times().map(|time| time / mean).sum::<f64>()
}
