//! What each loss really costs: the same runs once more without that one thing, beside its minutes and its charge.

use super::{DesignFigures, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of a loss ranking.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LossesResult {
    /// Head.
    pub head: StudyHead,
    /// The line as modelled.
    pub base: DesignFigures,
    /// Packs a run that the design rate would have made.
    pub design_packs: f64,
    /// The causes, the costliest by counterfactual first.
    pub rows: Vec<LossRow>,
    /// Sum of the gains of the rows: not the whole loss, since losses that hide each other cost little alone.
    pub sum_of_gains_packs: f64,
    /// All own stops off at once: gain in packs a run.
    pub all_stops_off: Option<Mean>,
}

/// One cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LossRow {
    /// What sort of cause.
    pub kind: LossKind,
    /// Place of the station in the line; `None` for the crew and other things of the whole line.
    pub station_index: Option<usize>,
    /// Id of the station; empty where there is none.
    pub station: String,
    /// Who supplies it, where stated.
    pub supplier: Option<String>,
    /// The reason, defect or limit.
    pub reason: String,
    /// What was done to switch it off, in words.
    pub switched_off: String,
    /// Packs a run that are gained without it, same luck.
    pub gain_packs: Mean,
    /// OEE gained.
    pub gain_oee: Mean,
    /// Place by gain, from 1.
    pub rank_by_gain: usize,
    /// Time a run of the station in these stops, waiting included; stops only.
    pub stopped_s: Option<Mean>,
    /// Stops a run; stops only.
    pub count: Option<Mean>,
    /// Packs a run that the log charges to it: for stops the constraint's lost time x design rate, recovery and packs
    /// spoilt by the stop included; for reject causes the packs rejected.
    pub charged_packs: Option<Mean>,
    /// Place by charge, from 1.
    pub rank_by_charge: Option<usize>,
    /// Why gain and charge differ, if they do.
    pub verdict: LossVerdict,
}

/// What sort of cause.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LossKind {
    /// An own stop.
    Stop,
    /// A consumable that runs out.
    Consumable,
    /// A stop of a fail-safe or stop rule.
    FailSafe,
    /// A planned stop of a station: a challenge.
    PlannedStop,
    /// Rejects and scrap for one reason.
    RejectCause,
    /// A limit of speed.
    SpeedLimit,
    /// Waiting for an operator.
    Crew,
}

impl LossKind {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::Consumable => "consumable",
            Self::FailSafe => "fail-safe",
            Self::PlannedStop => "planned stop",
            Self::RejectCause => "reject cause",
            Self::SpeedLimit => "speed limit",
            Self::Crew => "crew",
        }
    }
}

/// How the gain without a cause stands to what the log charges to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LossVerdict {
    /// The interval of the gain contains the charge, or the two differ by less than a tenth.
    AsCharged,
    /// The gain is below the charge: other losses take the place that becomes free, or a buffer gives back later what
    /// the stop took.
    HiddenByOthers,
    /// The gain is above the charge: the stop also costs what the log charges elsewhere (waits of others, scrap, a drained
    /// buffer, an operator's time).
    CostsMoreThanCharged,
    /// The gain cannot be told from nothing.
    NoGainSeen,
    /// The log charges nothing to a thing of this sort.
    NotCharged,
}

impl LossVerdict {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::AsCharged => "costs what the log charges",
            Self::HiddenByOthers => "costs less than charged: a buffer or another loss takes up most of it",
            Self::CostsMoreThanCharged => {
                "costs more than charged: it also causes losses that are charged elsewhere"
            }
            Self::NoGainSeen => "no gain can be told from none",
            Self::NotCharged => "the log has no charge for it",
        }
    }
}
