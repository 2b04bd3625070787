//! Mean times of a machine that fails and is put right, told in both ways that the trade uses.
//!
//! A watch ends at a set time, seldom at a failure, so the last time is cut off: one way counts it
//! ([`by_total_time`]), the other leaves it out ([`by_complete_times`]). And a time between failures is measured either on
//! running time or from start to start of failures, restoration included ([`FailureMeans`]).

use crate::estimate::{mean, sum};
use crate::fit::Sample;

/// Total time over the number of complete times: unbiased in the long run, and the likeliest mean of exponential
/// times.
///
/// *Source*: Epstein and Sobel (1953), Life Testing, Journal of the American Statistical Association 48, 486-502.
#[must_use]
pub fn by_total_time(sample: &Sample) -> f64 {
    (sum(sample.complete()) + sum(sample.cut_off())) / sample.events()
}

/// The mean of the complete times alone. On a short watch it comes out too small, because long times are the ones that
/// are cut off.
#[must_use]
pub fn by_complete_times(sample: &Sample) -> f64 {
    mean(sample.complete()).unwrap_or(f64::NAN)
}

/// How the mean of a sample with cut-off times is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Averaging {
    /// [`by_total_time`].
    TotalTime,
    /// [`by_complete_times`].
    CompleteTimes,
}

/// The mean times of a machine, in the unit of its times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FailureMeans {
    /// Mean running time up to a failure (MTTF), which much of the trade calls MTBF.
    pub running: f64,
    /// Mean time to restore (MTTR), waiting for a person included if the times include it.
    pub restoring: f64,
}

impl FailureMeans {
    /// The means of running times and restorations.
    #[must_use]
    pub fn of(running: &Sample, restoring: &Sample, averaging: Averaging) -> Self {
        let mean = match averaging {
            Averaging::TotalTime => by_total_time,
            Averaging::CompleteTimes => by_complete_times,
        };
        Self { running: mean(running), restoring: mean(restoring) }
    }

    /// Mean time between failures from start to start: running and restoring. The running time alone is
    /// [`Self::running`].
    ///
    /// *Source*: IEC 60050-192 (from memory), which calls the running part the mean operating time between failures.
    #[must_use]
    pub fn start_to_start(&self) -> f64 {
        self.running + self.restoring
    }

    /// Share of time in which the machine could run.
    ///
    /// *Formula*: MTTF / (MTTF + MTTR).
    #[must_use]
    pub fn availability(&self) -> f64 {
        self.running / self.start_to_start()
    }
}

#[cfg(test)]
mod tests;
