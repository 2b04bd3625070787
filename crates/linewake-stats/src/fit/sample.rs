//! Times to fit to, checked.

use super::{Family, FitError};

/// Times seen to their end and times that were cut off, all in one unit. At least one is complete.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    complete: Vec<f64>,
    cut_off: Vec<f64>,
}

impl Sample {
    /// A sample of `complete` times (above 0) and `cut_off` times (from 0; of them it is known only that the time was
    /// longer). A cut-off time of 0 says nothing and is left out.
    ///
    /// # Errors
    /// A time that is not finite, a complete one that is not above 0, a cut-off one below 0; no complete time.
    pub fn new(complete: &[f64], cut_off: &[f64]) -> Result<Self, FitError> {
        if let Some((index, &value)) =
            complete.iter().enumerate().find(|(_, time)| !(time.is_finite() && **time > 0.0))
        {
            return Err(FitError::CompleteTime { index, value });
        }
        if let Some((index, &value)) =
            cut_off.iter().enumerate().find(|(_, time)| !(time.is_finite() && **time >= 0.0))
        {
            return Err(FitError::CutOffTime { index, value });
        }
        if complete.is_empty() {
            return Err(FitError::NoCompleteTime { cut_off: cut_off.len() });
        }
        let cut_off = cut_off.iter().copied().filter(|time| *time > 0.0).collect();
        Ok(Self { complete: complete.to_vec(), cut_off })
    }

    /// The times seen to their end.
    #[must_use]
    pub fn complete(&self) -> &[f64] {
        &self.complete
    }

    /// The times that were cut off, without zeros.
    #[must_use]
    pub fn cut_off(&self) -> &[f64] {
        &self.cut_off
    }

    /// Number of complete times.
    #[must_use]
    pub fn events(&self) -> f64 {
        self.complete.len() as f64
    }

    /// All times, the complete ones first.
    pub(super) fn times(&self) -> impl Iterator<Item = f64> + '_ {
        self.complete.iter().chain(&self.cut_off).copied()
    }

    /// That a likelihood with a shape or a sigma has a maximum.
    pub(super) fn check_spread(&self, family: Family) -> Result<(), FitError> {
        let value = self.complete[0];
        let equal = self.complete.iter().all(|time| (time - value).abs() <= 0.0);
        if equal && self.cut_off.iter().all(|time| *time <= value) {
            return Err(FitError::NoSpread { family, value });
        }
        Ok(())
    }
}
