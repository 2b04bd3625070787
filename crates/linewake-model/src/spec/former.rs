//! The thermoform form-fill-seal machine as typed.

use super::distribution::TimeDistribution;
use super::share::ShareSpec;
use super::station::spec_station;
use super::typed::{spec_object, spec_words};
use crate::quantity::{Quantity, Rate, Time};

spec_station! {
    /// Thermoform form-fill-seal machine.
    pub struct FormerSpec {
        /// Lanes of the web.
        pub lanes: u32,
        /// Rows of one index.
        pub rows_per_index: u32,
        /// What works in the dwell, each for its own time; the longest sets the dwell.
        pub functions: Vec<FunctionSpec>,
        /// Time of an advance.
        pub advance: Quantity<Time>,
        /// Cap on the speed, in cycles (default: none).
        pub max_cycles: Option<Quantity<Rate>>,
        /// Positions on the web.
        pub positions: PositionsSpec,
        /// What happens when no array is ready at the end of the functions (default wait).
        pub without_product: Option<WithoutProductSpec>,
        /// Packs spoilt by a long stop.
        pub stop_scrap: Option<StopScrapSpec>,
        /// Print faults (default: none).
        pub printer: Option<PrinterSpec>,
        /// Vision inspection of the print.
        pub vision: Option<VisionSpec>,
        /// Probability that the seal of a pack leaks (default 0).
        pub leak_probability: Option<ShareSpec>,
        /// Probability that the label of a pack is missing (default 0).
        pub label_missing_probability: Option<ShareSpec>,
        /// Probability that a pack is contaminated, drawn at cutting (default 0).
        pub contaminated_probability: Option<ShareSpec>,
    }
}

spec_object! {
    /// A function of the dwell.
    pub struct FunctionSpec {
        /// Its name: form, seal, print traverse, label, cut, ...
        pub name: String,
        /// How long it works.
        pub dwell: Quantity<Time>,
    }
}

spec_object! {
    /// Positions on the web, counted in indexes from forming (0); the pick zone follows the cut.
    pub struct PositionsSpec {
        /// Last position of the load zone, which is as long as one array's indexes.
        pub load_at: u32,
        /// Seal; the print is laid down here.
        pub seal: u32,
        /// Vision inspection of the print.
        pub print_inspection: Option<u32>,
        /// Label.
        pub label: Option<u32>,
        /// Cut.
        pub cut: u32,
    }
}

spec_words! {
    /// What the former does when the load zone is empty and no array is ready.
    pub enum WithoutProductSpec {
        /// It waits.
        Wait = "wait",
        /// It advances with empty pockets.
        RunEmpty = "run_empty",
    }
}

spec_object! {
    /// Packs at the listed positions are tagged after each own stop longer than the limit.
    pub struct StopScrapSpec {
        /// The whole stop, waiting and repair, must exceed this.
        pub longer_than: Quantity<Time>,
        /// Positions whose packs are spoilt.
        pub positions: Vec<u32>,
        /// The reason on the tag (default held_in_seal).
        pub reason: Option<String>,
        /// Empty pockets are spoilt too: what is later loaded into them is tagged (default false).
        pub empty_pockets: Option<bool>,
    }
}

spec_object! {
    /// Print faults come in runs: a chain of good and faulty, stepped once for each index.
    pub struct PrinterSpec {
        /// Probability that a faulty index follows a good one (p).
        pub good_to_faulty: ShareSpec,
        /// Probability that a good index follows a faulty one (r).
        pub faulty_to_good: ShareSpec,
        /// Probability of a misprint for each pack of a faulty index (q).
        pub misprint_when_faulty: ShareSpec,
    }
}

spec_object! {
    /// Vision inspection of the print, at positions.print_inspection.
    pub struct VisionSpec {
        /// Probability that a misprinted pack is tagged.
        pub sensitivity: ShareSpec,
        /// Probability that a right pack is tagged (default 0).
        pub false_tag: Option<ShareSpec>,
        /// So many consecutive indexes with a tagged pack stop the former (default: no such rule).
        pub stop_rule: Option<StopRuleSpec>,
    }
}

spec_object! {
    /// Stop rule of the vision inspection.
    pub struct StopRuleSpec {
        /// Consecutive indexes with a tagged pack.
        pub indexes: u32,
        /// How long it takes once an operator is there.
        pub duration: TimeDistribution,
    }
}
