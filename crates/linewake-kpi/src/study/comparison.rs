//! Two or more models or variants, run with the same luck.

use super::StudyHead;
use crate::summary::Mean;
use serde::Serialize;

/// The result of a comparison.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComparisonResult {
    /// Head; model name and digest are those of the first model.
    pub head: StudyHead,
    /// The models, in the order given.
    pub models: Vec<ComparedModel>,
    /// All pairs, in that order.
    pub pairs: Vec<PairDifference>,
    /// How many differences are judged at once.
    pub family: usize,
    /// The model that is better than every other after correction, if there is one.
    pub best: Option<usize>,
}

/// One model.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ComparedModel {
    /// Its name in the study: the file, or what was varied.
    pub label: String,
    /// SHA-256 of the model.
    pub digest: String,
    /// Design rate in packs per minute.
    pub design_rate_per_min: f64,
    /// Good packs a run.
    pub good_packs: Mean,
    /// OEE.
    pub oee: Mean,
}

/// The difference of two models: second less first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PairDifference {
    /// Place of the first in [`ComparisonResult::models`].
    pub first: usize,
    /// Place of the second.
    pub second: usize,
    /// Good packs a run, paired, with the interval of this pair alone.
    pub good_packs: Mean,
    /// Half width of the interval that holds for all pairs at once (Bonferroni); `None` from a single run.
    pub simultaneous_half_width: Option<f64>,
    /// OEE: mean of the run-by-run differences.
    pub oee: Mean,
    /// Two-sided p-value of the paired t-test on good packs; `None` from a single run.
    pub p_value: Option<f64>,
    /// The same corrected for all pairs (Holm).
    pub p_holm: Option<f64>,
    /// The corrected p-value is below 1 - level.
    pub is_clear: bool,
    /// Variance of the difference with shared luck over that with separate luck: how much sharing it saved; `None`
    /// where there is no spread.
    pub shared_luck_ratio: Option<f64>,
}
