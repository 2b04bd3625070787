//! What an acceptance run will show, what can be promised, and how long the run must be.

use super::precision::Measure;
use super::{HistogramBin, Proportion, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of an acceptance study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AcceptanceResult {
    /// Head; its start and warm-up are the start of the acceptance run.
    pub head: StudyHead,
    /// What the run is judged by.
    pub measure: Measure,
    /// Length of the run, breaks included.
    pub run_s: f64,
    /// Rules for what counts and what is left out, as given, for the protocol.
    pub rules: Vec<String>,
    /// With the inputs drawn over their stated uncertainty in each run: what can be promised.
    pub drawn: Outcomes,
    /// With the inputs taken as exact: named so, and not to be promised.
    pub exact: Outcomes,
    /// Uncertain inputs that were drawn; empty if the model states none, and then `drawn` equals `exact`.
    pub uncertain_inputs: Vec<UncertainInput>,
    /// The value that must be reached.
    pub pass_limit: f64,
    /// The limit was given; otherwise it is the value that is reached with probability 1 - producer's risk, inputs drawn.
    pub is_limit_given: bool,
    /// Wanted producer's risk: the line as designed fails.
    pub producer_risk: f64,
    /// Wanted consumer's risk: the degraded line passes.
    pub consumer_risk: f64,
    /// The degraded line that must be caught, for example stops 1.3 times as frequent.
    pub degraded_factor: f64,
    /// Operating characteristic: the chance to pass against the frequency of stops, rising; 1 is the line as designed.
    pub operating_characteristic: Vec<CharacteristicPoint>,
    /// Run lengths tried, rising.
    pub lengths: Vec<LengthRow>,
    /// The shortest of them that holds both risks: place in `lengths`.
    pub shortest: Option<usize>,
}

/// How the measures of a run fall out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Outcomes {
    /// Runs.
    pub runs: u64,
    /// OEE of a run.
    pub oee: OutcomeDistribution,
    /// Good packs an hour of planned production time.
    pub packs_per_h: OutcomeDistribution,
}

/// The distribution of one figure of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OutcomeDistribution {
    /// Mean over the runs.
    pub mean: Mean,
    /// Standard deviation of one run.
    pub standard_deviation: f64,
    /// Values that a run exceeds with stated probability, the surest last.
    pub guarantees: Vec<Guarantee>,
    /// Histogram of the runs.
    pub histogram: Vec<HistogramBin>,
}

/// A value that a run reaches with stated probability.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Guarantee {
    /// Probability, for example 0.9.
    pub probability: f64,
    /// The value.
    pub value: f64,
    /// Lower end of its interval from the number of runs, by order statistics; `None` from too few runs.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// An input whose uncertainty the model states.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct UncertainInput {
    /// Path in the model.
    pub path: String,
    /// Value in the model, as typed.
    pub as_modelled: String,
    /// Uncertainty in words, as stated.
    pub stated: String,
}

/// One point of the operating characteristic.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CharacteristicPoint {
    /// Stops are this many times as frequent as modelled.
    pub stop_factor: f64,
    /// Mean of the measure.
    pub mean: Mean,
    /// Runs that pass.
    pub pass: Proportion,
}

/// A length of the run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LengthRow {
    /// Length of the run.
    pub run_s: f64,
    /// The limit that the designed line reaches with probability 1 - producer's risk.
    pub limit: f64,
    /// The line as designed fails at that limit.
    pub producer: Proportion,
    /// The degraded line passes at that limit.
    pub consumer: Proportion,
    /// Both risks are held: the upper ends of the intervals are not asked for, the shares are.
    pub holds_both: bool,
}
