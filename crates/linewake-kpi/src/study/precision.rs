//! How many shifts until the figure is sure enough, and how much of a long run to drop.

use super::StudyHead;
use crate::summary::Mean;
use serde::Serialize;

/// The result of a precision study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PrecisionResult {
    /// Head.
    pub head: StudyHead,
    /// What must be precise.
    pub measure: Measure,
    /// Wanted relative error of the mean, for example 0.005.
    pub wanted_relative: f64,
    /// Runs made before the rule was asked for the first time.
    pub first_runs: u64,
    /// The rule ends here, reached or not.
    pub most_runs: u64,
    /// Runs made.
    pub runs: u64,
    /// The precision was reached.
    pub reached: bool,
    /// Runs that would be needed, from the spread seen, where it was not reached.
    pub runs_needed: Option<u64>,
    /// Good packs a run.
    pub good_packs: Mean,
    /// OEE.
    pub oee: Mean,
    /// Half width over mean as runs were added, thinned to at most 400 steps; the last one is the end.
    pub path: Vec<PrecisionStep>,
    /// The warm-up, for a study of the long run.
    pub warm_up: Option<WarmUp>,
}

/// A figure of a run that a study judges by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// OEE of the run.
    Oee,
    /// Good packs of the run.
    GoodPacks,
    /// Good packs an hour of planned production time.
    PacksPerHour,
}

impl Measure {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Oee => "OEE",
            Self::GoodPacks => "good packs",
            Self::PacksPerHour => "good packs an hour",
        }
    }
}

/// How sure the mean was after so many runs.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PrecisionStep {
    /// Runs made.
    pub runs: u64,
    /// Mean of the measure.
    pub mean: f64,
    /// Half width of its interval.
    pub half_width: f64,
}

/// How much of the beginning of a long run is dropped.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WarmUp {
    /// Length of a bin of the series.
    pub bin_s: f64,
    /// Mean good packs of a bin over the runs, from the start of the run.
    pub packs_by_bin: Vec<f64>,
    /// What the rule drops.
    pub found_s: f64,
    /// The rule gave a cut in the first half of the series; otherwise the runs are too short to tell.
    pub settled: bool,
    /// Time after which the line is filled: the end of the first bin with half of the packs of a late one.
    pub filled_s: f64,
    /// What is to be dropped: the later of the two.
    pub used_s: f64,
    /// Runs that the series is averaged over.
    pub runs: u64,
}
