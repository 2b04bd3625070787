//! One long run cut into batches, so that values that hang together give an honest interval.

use crate::estimate::{Estimate, mean, sum};

/// The mean of a long run, from the means of its batches.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchMeans {
    /// Mean and interval, from the batch means as if they were independent.
    pub estimate: Estimate,
    /// Values in a batch.
    pub length: usize,
    /// The batch means in order.
    pub means: Vec<f64>,
    /// How far neighbouring batch means hang together ([`autocorrelation`] at lag 1); `None` when all are equal. It
    /// should lie near 0: with k batches within about 2 / sqrt k, otherwise the batches are too short and the
    /// interval too narrow.
    pub lag_1: Option<f64>,
}

impl BatchMeans {
    /// Cuts `values` into `batches` batches of equal length; what is over at the beginning is left out, where a run
    /// is farthest from its long-run behaviour.
    ///
    /// *Formula*: mean +- t(k - 1) s / sqrt k over k batch means.
    /// *Source*: Law, Simulation Modeling and Analysis, the method of batch means; 10 to 30 batches are common
    /// practice.
    ///
    /// `None` for fewer than two batches, fewer values than batches, a value that is not finite, or a `level`
    /// outside (0, 1).
    #[must_use]
    pub fn of(values: &[f64], batches: usize, level: f64) -> Option<Self> {
        if batches < 2 || values.len() < batches {
            return None;
        }
        let length = values.len() / batches;
        let kept = &values[values.len() - length * batches..];
        let means: Vec<f64> = kept.chunks_exact(length).map(|batch| sum(batch) / length as f64).collect();
        let estimate = Estimate::of(&means, level)?;
        let lag_1 = autocorrelation(&means, 1);
        Some(Self { estimate, length, means, lag_1 })
    }

    /// The variance of the mean of the whole run that the batches tell: s^2 / k.
    #[must_use]
    pub fn variance_of_mean(&self) -> Option<f64> {
        self.estimate.standard_error.map(|error| error * error)
    }
}

/// How far values `lag` places apart hang together, from -1 to 1.
///
/// *Formula*: sum of (x_i - m)(x_(i + lag) - m) over sum of (x_i - m)^2, m the mean of all.
/// *Source*: NIST/SEMATECH e-Handbook 1.3.5.12, autocorrelation.
///
/// `None` for fewer than `lag` + 1 values, a value that is not finite, or values that are all equal.
#[must_use]
pub fn autocorrelation(values: &[f64], lag: usize) -> Option<f64> {
    if values.len() <= lag || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let rough = mean(values)?;
    let deviations: Vec<f64> = values.iter().map(|value| value - rough).collect();
    // The mean is rounded; what it misses would stand in every product.
    let missed = mean(&deviations)?;
    let deviations: Vec<f64> = deviations.iter().map(|deviation| deviation - missed).collect();
    let squares: Vec<f64> = deviations.iter().map(|deviation| deviation * deviation).collect();
    let products: Vec<f64> =
        deviations.iter().zip(&deviations[lag..]).map(|(one, later)| one * later).collect();
    let all = sum(&squares);
    let share = sum(&products) / all;
    (all > 0.0 && share.is_finite()).then_some(share)
}
