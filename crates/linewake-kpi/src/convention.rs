//! Where published metrics contradict each other, a choice: it is named beside every figure that depends on it.
//!
//! Symbols keep their meaning whatever is chosen: A and P are the split by the short stop limit, A_iso and P_iso that
//! of ISO 22400-2. The choice of minor stops says which of the two pairs is *the* split of a report; the OEE is the
//! same. The choice of planned stops changes planned production time, and the OEE with it.

use linewake_model::stop::Reason;
use serde::Serialize;

/// The choices of an account.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Conventions {
    /// What minor stops are a loss of.
    pub minor_stops: MinorStops,
    /// Which planned stops are left out of planned production time.
    pub planned_stops: PlannedStops,
}

/// What interruptions of the constraint below the short stop limit are a loss of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MinorStops {
    /// Of performance: the split is A and P. Common practice, from the six big losses (Nakajima 1988, from memory).
    #[default]
    Performance,
    /// Of availability, whatever their length: the split is A_iso and P_iso. ISO 22400-2 counts minor stops in the
    /// actual unit delay time (read in a public ontology of it).
    Availability,
}

/// Which planned stops of the constraint (breaks of the line among them) are left out of planned production time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PlannedStops {
    /// Those that the model leaves out.
    #[default]
    AsModelled,
    /// None: all of them are downtime. So SMRP metric 2.1.1 counts the scheduled downtime (read).
    In,
    /// All of them, as in the planned busy time of ISO 22400-2 (read in a public ontology of it).
    Out,
}

impl PlannedStops {
    /// Whether a planned stop of that reason is left out; `modelled` are those that the model leaves out.
    pub(crate) fn leave_out(self, modelled: &[Reason], reason: Reason) -> bool {
        match self {
            Self::AsModelled => modelled.contains(&reason),
            Self::In => false,
            Self::Out => true,
        }
    }
}

/// Availability and performance under one choice of [`MinorStops`]. Times quality, they make the same OEE under either.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Split<T> {
    /// Availability.
    pub availability: T,
    /// Performance (effectiveness); `None` when total or availability is zero.
    pub performance: Option<T>,
}
