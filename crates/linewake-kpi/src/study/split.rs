//! The best way to share out a number of places among several buffers, with a stated probability of being right.

use super::StudyHead;
use crate::summary::Mean;
use serde::Serialize;

/// The result of a split study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SplitResult {
    /// Head.
    pub head: StudyHead,
    /// Full paths of the capacities.
    pub paths: Vec<String>,
    /// Ids of their stations.
    pub stations: Vec<String>,
    /// Places to share out.
    pub total: u32,
    /// Places are handed out in steps of this size.
    pub step: u32,
    /// Promised probability of choosing the best.
    pub probability: f64,
    /// Differences below so many good packs a run do not matter (the indifference zone).
    pub indifference_packs: f64,
    /// Runs of each split before the first is dropped.
    pub first_runs: u64,
    /// The splits: the chosen one first, then the runners-up, those that were dropped latest and had most packs first.
    pub splits: Vec<SplitRow>,
    /// The split of the line as modelled, if it is among them: place in `splits`.
    pub as_modelled: Option<usize>,
    /// The procedure came to its end within the runs allowed; otherwise the promise does not hold.
    pub is_decided: bool,
}

/// One way to share out the places.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SplitRow {
    /// Places of each buffer, in the order of the paths.
    pub places: Vec<u32>,
    /// Good packs a run.
    pub good_packs: Mean,
    /// Good packs less those of the chosen split over the runs that both had, same luck; `None` for itself.
    pub against_chosen: Option<Mean>,
    /// Runs made of it; fewer than of the chosen one if it was dropped on the way.
    pub runs: u64,
    /// It was dropped before the end.
    pub is_dropped: bool,
}
