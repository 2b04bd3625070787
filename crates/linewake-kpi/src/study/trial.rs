//! One change tried on one line: what it brings in one run, and how much that varies.

use crate::summary::{Mean, ShiftRange};

/// What a trial found, in the unit of its measure.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialResult {
    /// Mean over the runs, with its interval.
    pub mean: Mean,
    /// Range of one run, 10th to 90th percentile.
    pub range: ShiftRange,
    /// One value for each run, in order of replication.
    pub values: Vec<f64>,
}
