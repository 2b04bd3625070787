//! How long an order takes.

use super::{HistogramBin, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of an order study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OrderResult {
    /// Head; a run goes on shift after shift until the order is done.
    pub head: StudyHead,
    /// Good packs of the order.
    pub packs: u64,
    /// Time to finish, breaks included, from the start of the first shift; good packs are counted every 10 s.
    pub time_s: Mean,
    /// Time that is enough with stated probability, rising.
    pub quantiles: Vec<TimeQuantile>,
    /// Histogram of the times.
    pub histogram: Vec<HistogramBin>,
    /// Length of a shift.
    pub shift_s: f64,
    /// Whole shifts needed so that the order is done with probability 0.9.
    pub shifts_needed: u64,
    /// Chance to finish within 1, 2, 3, ... shifts, up to the first that all runs made.
    pub done_within_shifts: Vec<f64>,
    /// Part of the needed shifts that is left over on average, 0 to 1.
    pub spare_capacity: f64,
    /// Runs that did not finish within the time allowed.
    pub unfinished: u64,
    /// Time allowed.
    pub most_s: f64,
}

/// A time that is enough with stated probability.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TimeQuantile {
    /// Probability.
    pub probability: f64,
    /// Time in seconds.
    pub time_s: f64,
}
