//! In-line gates as typed: checkweigher, metal detector, X-ray, leak test.

use super::distribution::TimeDistribution;
use super::share::ShareSpec;
use super::station::spec_station;
use super::typed::spec_object;
use crate::quantity::{Mass, Quantity, Rate, Time};

/// Declares a gate: its own keys, and those that all gates have.
macro_rules! spec_gate {
    ($(#[$meta:meta])* pub struct $name:ident { $($own:tt)* }) => {
        spec_station! {
            $(#[$meta])*
            pub struct $name {
                /// Packs at most.
                pub max_rate: Quantity<Rate>,
                $($own)*
                /// Further defects that it looks for, in the order of the verdicts.
                pub finds: Option<Vec<FindSpec>>,
                /// Probability that a pack without a defect that the gate looks for is rejected (default 0).
                pub false_reject: Option<ShareSpec>,
                /// Fail-safe: so many rejects in a row stop the gate (default: none).
                pub rejects_in_row: Option<FailSafeSpec>,
                /// Fail-safe: the bin is full after so many rejects, and is emptied (default: none).
                pub bin_full: Option<FailSafeSpec>,
                /// Routine challenge (default: none).
                pub challenge: Option<ChallengeSpec>,
            }
        }

        impl $name {
            /// What all gates have.
            #[must_use]
            pub fn gate(&self) -> CommonGateSpec<'_> {
                CommonGateSpec {
                    max_rate: self.max_rate,
                    finds: self.finds.as_deref().unwrap_or_default(),
                    false_reject: self.false_reject,
                    rejects_in_row: self.rejects_in_row.as_ref(),
                    bin_full: self.bin_full.as_ref(),
                    challenge: self.challenge.as_ref(),
                }
            }
        }
    };
}

/// What all gates have.
#[derive(Clone, Copy, Debug)]
pub struct CommonGateSpec<'s> {
    /// Packs at most.
    pub max_rate: Quantity<Rate>,
    /// Further defects.
    pub finds: &'s [FindSpec],
    /// Probability of a false reject.
    pub false_reject: Option<ShareSpec>,
    /// Rejects in a row.
    pub rejects_in_row: Option<&'s FailSafeSpec>,
    /// Bin full.
    pub bin_full: Option<&'s FailSafeSpec>,
    /// Routine challenge.
    pub challenge: Option<&'s ChallengeSpec>,
}

spec_gate! {
    /// Checkweigher.
    pub struct CheckweigherSpec {
        /// Standard deviation of its own error.
        pub sd_weigh: Quantity<Mass>,
        /// Packs under this are rejected (default: none).
        pub low: Option<Quantity<Mass>>,
        /// Packs over this are rejected (default: none).
        pub high: Option<Quantity<Mass>>,
    }
}

spec_gate! {
    /// Metal detector.
    pub struct MetalDetectorSpec {
        /// Probability that a contaminated pack is rejected.
        pub sensitivity: ShareSpec,
    }
}

spec_gate! {
    /// X-ray inspection.
    pub struct XRaySpec {
        /// Probability that a contaminated pack is rejected.
        pub sensitivity: ShareSpec,
    }
}

spec_gate! {
    /// Leak test.
    pub struct LeakTestSpec {
        /// Probability that a leaking pack is rejected.
        pub sensitivity: ShareSpec,
    }
}

spec_object! {
    /// A defect that a gate looks for.
    pub struct FindSpec {
        /// Its name: misprint, label_missing, leak, contaminated, or one of the model's own.
        pub defect: String,
        /// Probability that a pack that has it is rejected.
        pub probability: ShareSpec,
    }
}

spec_object! {
    /// A count of rejects that stops the gate until an operator has put it right.
    pub struct FailSafeSpec {
        /// So many rejects.
        pub rejects: u32,
        /// How long it takes once an operator is there.
        pub duration: TimeDistribution,
    }
}

spec_object! {
    /// Routine challenge: a planned stop of the gate.
    pub struct ChallengeSpec {
        /// Due at each multiple of this from the start.
        pub interval: Quantity<Time>,
        /// How long it takes.
        pub duration: TimeDistribution,
        /// Counted as downtime in planned production time (default true), or left out.
        pub in_planned_production_time: Option<bool>,
    }
}
