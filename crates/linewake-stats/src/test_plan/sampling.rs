//! A single sample of pieces, accepted if few enough are bad.

use super::error::PlanError;
use crate::sampling_law::binomial_at_most;

/// Draw `pieces`, accept if at most `accept` of them are bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SamplingPlan {
    pieces: u64,
    accept: u64,
}

impl SamplingPlan {
    /// The plan of these figures.
    ///
    /// # Errors
    /// When as many bad pieces are accepted as are drawn, or more: such a plan turns nothing down.
    pub fn new(pieces: u64, accept: u64) -> Result<Self, PlanError> {
        if accept >= pieces {
            Err(PlanError::AcceptsAll { pieces, accept })
        } else {
            Ok(Self { pieces, accept })
        }
    }

    /// The probability that a stream of which a share `bad` is bad passes: one point of the operating characteristic.
    /// NaN for a share outside [0, 1].
    ///
    /// *Formula*: binomial, so for a lot much larger than the sample.
    /// *Source*: NIST/SEMATECH e-Handbook 6.2.3.2.
    #[must_use]
    pub fn acceptance_probability(&self, bad: f64) -> f64 {
        binomial_at_most(self.accept, self.pieces, bad)
    }
}
