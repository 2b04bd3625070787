//! The stations as typed: what each kind of machine is given by, and what all have in common.

use super::distribution::TimeDistribution;
use super::former::FormerSpec;
use super::gate::{CheckweigherSpec, LeakTestSpec, MetalDetectorSpec, XRaySpec};
use super::share::{CapacitySpec, ShareSpec};
use super::stop::StopSpec;
use super::typed::{spec_object, spec_tagged, spec_words, typed_by_tag};
use crate::quantity::{Length, Mass, Quantity, Rate, Speed, Time};

spec_tagged! {
    /// A station: an object with one key, its kind.
    pub enum StationSpec called "station" {
        /// Prepares batches into a hopper.
        BulkSupply = "bulk_supply" (BulkSupplySpec),
        /// Cuts portions from the hopper.
        Portioner = "portioner" (PortionerSpec),
        /// Accumulating belt: also the infeed belt between portioner and loader.
        AccumulatingBelt = "accumulating_belt" (AccumulatorSpec),
        /// Accumulating table: also a side table.
        AccumulatingTable = "accumulating_table" (AccumulatorSpec),
        /// Two-belt loader.
        Loader = "loader" (LoaderSpec),
        /// Thermoform form-fill-seal machine.
        Former = "former" (Box<FormerSpec>),
        /// Pick robot.
        PickRobot = "pick_robot" (PickRobotSpec),
        /// Belt on which packs keep their places.
        RigidBelt = "rigid_belt" (RigidBeltSpec),
        /// Checkweigher.
        Checkweigher = "checkweigher" (Box<CheckweigherSpec>),
        /// Metal detector.
        MetalDetector = "metal_detector" (Box<MetalDetectorSpec>),
        /// X-ray inspection.
        XRay = "x_ray" (Box<XRaySpec>),
        /// Leak test.
        LeakTest = "leak_test" (Box<LeakTestSpec>),
        /// Case packer with its collation lane.
        CasePacker = "case_packer" (CasePackerSpec),
        /// Generic machine.
        Machine = "machine" (MachineSpec),
        /// Arrivals that open a line of generic machines.
        Arrivals = "arrivals" (ArrivalsSpec),
    }
}
typed_by_tag!(StationSpec);

/// What all stations have.
#[derive(Clone, Copy, Debug)]
pub struct CommonSpec<'s> {
    /// Id.
    pub id: &'s str,
    /// Own stops.
    pub stops: &'s [StopSpec],
    /// Response time of an operator who is called here.
    pub response: Option<&'s TimeDistribution>,
    /// Rank of its calls.
    pub call_priority: Option<u32>,
    /// Speed steps.
    pub speed_control: Option<&'s SpeedControlSpec>,
    /// Who supplies the machine.
    pub supplier: Option<&'s str>,
}

/// Declares a station: its own keys, and those that all stations have.
macro_rules! spec_station {
    ($(#[$meta:meta])* pub struct $name:ident { $($own:tt)* }) => {
        $crate::spec::typed::spec_object! {
            $(#[$meta])*
            pub struct $name {
                /// Id, as people call the station; unique in the line.
                pub id: String,
                $($own)*
                /// Own stops, in the order in which those due together follow one another.
                pub stops: Option<Vec<$crate::spec::stop::StopSpec>>,
                /// Response time of an operator who is called here (default: the crew's).
                pub response: Option<$crate::spec::distribution::TimeDistribution>,
                /// Rank when calls are served by station priority; 0 first (default: the order of the file).
                pub call_priority: Option<u32>,
                /// Speed steps chosen by the content of a belt or table.
                pub speed_control: Option<$crate::spec::station::SpeedControlSpec>,
                /// Who supplies the machine.
                pub supplier: Option<String>,
            }
        }

        impl $name {
            /// What all stations have.
            #[must_use]
            pub fn common(&self) -> $crate::spec::station::CommonSpec<'_> {
                $crate::spec::station::CommonSpec {
                    id: &self.id,
                    stops: self.stops.as_deref().unwrap_or_default(),
                    response: self.response.as_ref(),
                    call_priority: self.call_priority,
                    speed_control: self.speed_control.as_ref(),
                    supplier: self.supplier.as_deref(),
                }
            }
        }
    };
}
pub(crate) use spec_station;

impl StationSpec {
    /// What all stations have.
    #[must_use]
    pub fn common(&self) -> CommonSpec<'_> {
        match self {
            Self::BulkSupply(spec) => spec.common(),
            Self::Portioner(spec) => spec.common(),
            Self::AccumulatingBelt(spec) | Self::AccumulatingTable(spec) => spec.common(),
            Self::Loader(spec) => spec.common(),
            Self::Former(spec) => spec.common(),
            Self::PickRobot(spec) => spec.common(),
            Self::RigidBelt(spec) => spec.common(),
            Self::Checkweigher(spec) => spec.common(),
            Self::MetalDetector(spec) => spec.common(),
            Self::XRay(spec) => spec.common(),
            Self::LeakTest(spec) => spec.common(),
            Self::CasePacker(spec) => spec.common(),
            Self::Machine(spec) => spec.common(),
            Self::Arrivals(spec) => spec.common(),
        }
    }
}

spec_station! {
    /// Bulk supply: batches into a hopper.
    pub struct BulkSupplySpec {
        /// Mass of a batch; at most what the hopper holds.
        pub batch: Quantity<Mass>,
        /// What the hopper holds.
        pub hopper: Quantity<Mass>,
        /// Time to prepare a batch.
        pub preparation: TimeDistribution,
    }
}

spec_station! {
    /// Portioner.
    pub struct PortionerSpec {
        /// Set speed in portions.
        pub rate: Quantity<Rate>,
        /// Weights of the portions.
        pub weight: WeightSpec,
    }
}

spec_object! {
    /// How the weight of a portion comes about.
    pub struct WeightSpec {
        /// Mean.
        pub mean: Quantity<Mass>,
        /// Standard deviation from portion to portion.
        pub sd: Quantity<Mass>,
        /// Standard deviation of the shift of a whole batch (default 0).
        pub sd_batch: Option<Quantity<Mass>>,
        /// Slow drift.
        pub drift: Option<DriftSpec>,
        /// Feedback from a checkweigher.
        pub feedback: Option<FeedbackSpec>,
    }
}

spec_object! {
    /// Slow drift of the portion weight, first-order autoregressive.
    pub struct DriftSpec {
        /// Standard deviation in the long run.
        pub sd: Quantity<Mass>,
        /// Time after which the correlation has fallen to 37 %.
        pub correlation_time: Quantity<Time>,
    }
}

spec_object! {
    /// Weight feedback: after each `every_packs` weighed packs, correction -= gain x (their mean - target).
    pub struct FeedbackSpec {
        /// Id of the checkweigher.
        pub from: String,
        /// Weighed packs between two corrections.
        pub every_packs: u32,
        /// Share of the deviation that is taken off the next portions.
        pub gain: ShareSpec,
        /// What the mean of the packs is held to (default: the mean portion weight times the portions in a pack).
        pub target: Option<Quantity<Mass>>,
        /// The correction never goes below this; not above 0.
        pub lowest: Quantity<Mass>,
        /// Nor above this; not below 0.
        pub highest: Quantity<Mass>,
        /// Packs rejected for weight count in the mean (default true; leaving them out biases it).
        pub count_rejects: Option<bool>,
    }
}

spec_station! {
    /// Accumulating belt or table.
    pub struct AccumulatorSpec {
        /// Pieces in transit and queued at most; 0 is a direct hand-over.
        pub capacity: CapacitySpec,
        /// Transit time when empty; or give `length` and `speed`.
        pub transit: Option<Quantity<Time>>,
        /// Length; with `speed` it gives the transit time.
        pub length: Option<Quantity<Length>>,
        /// Speed.
        pub speed: Option<Quantity<Speed>>,
        /// Closest distance of two pieces; with `speed` it gives `release`.
        pub pitch: Option<Quantity<Length>>,
        /// Pieces leave no closer than this (default: pitch over speed where given, else 0).
        pub release: Option<Quantity<Time>>,
        /// Which piece leaves first (default first_in_first_out).
        pub order: Option<LeaveOrderSpec>,
        /// Once full, none is taken until the content is down to this.
        pub restart_at: Option<u32>,
    }
}

spec_words! {
    /// Which piece leaves first.
    pub enum LeaveOrderSpec {
        /// First in, first out.
        FirstInFirstOut = "first_in_first_out",
        /// Last in, first out: a side table.
        LastInFirstOut = "last_in_first_out",
    }
}

spec_station! {
    /// Two-belt loader.
    pub struct LoaderSpec {
        /// Lanes of the array, as many as the former's.
        pub lanes: u32,
        /// Portions in a file: rows of the array.
        pub array_rows: u32,
        /// Indexes that one array fills.
        pub indexes_per_array: u32,
        /// Loads into one zone: portions in a pocket (default 1).
        pub loads_per_zone: Option<u32>,
        /// Belt A takes one portion (default 0 s).
        pub take: Option<Quantity<Time>>,
        /// The file passes from belt A to belt B.
        pub file_transfer: Quantity<Time>,
        /// Belt B moves to its next lane.
        pub traverse: Quantity<Time>,
        /// Belt B loads the array into the pockets.
        pub load: Quantity<Time>,
        /// Belt B returns to the first lane.
        pub return_ = "return": Quantity<Time>,
        /// Product that stood open longer than this is tagged aged (default: no limit).
        pub open_time_limit: Option<Quantity<Time>>,
    }
}

spec_station! {
    /// Pick robot.
    pub struct PickRobotSpec {
        /// Pockets taken at once; divides those of an index.
        pub gripper: u32,
        /// The pick.
        pub pick: TimeDistribution,
        /// The place.
        pub place: TimeDistribution,
        /// Probability that a pack is lost between pick and place (default 0).
        pub drop_probability: Option<ShareSpec>,
    }
}

spec_station! {
    /// Belt on which packs keep their places.
    pub struct RigidBeltSpec {
        /// Length.
        pub length: Quantity<Length>,
        /// Speed.
        pub speed: Quantity<Speed>,
        /// Distance from pack to pack.
        pub pitch: Quantity<Length>,
    }
}

spec_station! {
    /// Case packer with its collation lane.
    pub struct CasePackerSpec {
        /// Packs in a case.
        pub packs_per_case: u32,
        /// Packs that the collation lane holds; at least a case.
        pub lane_packs: u32,
        /// Time of a cycle.
        pub cycle: Quantity<Time>,
    }
}

spec_station! {
    /// Generic machine: one piece at a time.
    pub struct MachineSpec {
        /// Processing time.
        pub process: TimeDistribution,
        /// A finished piece stays in the machine during any own stop, as in a count stop (default false: it may leave).
        pub holds_in_stops: Option<bool>,
    }
}

spec_station! {
    /// Arrivals; without them the first machine never runs dry.
    pub struct ArrivalsSpec {
        /// Time between arrivals.
        pub between: TimeDistribution,
        /// What becomes of a piece that finds no room (default wait).
        pub when_full: Option<WhenFullSpec>,
    }
}

spec_words! {
    /// What becomes of a piece that arrives and finds no room.
    pub enum WhenFullSpec {
        /// It waits, and no other arrives meanwhile.
        Wait = "wait",
        /// It is lost, and counted as such.
        Lost = "lost",
    }
}

spec_object! {
    /// Speed steps chosen by the content of a belt or table, with hysteresis; a change takes effect at the next cycle.
    pub struct SpeedControlSpec {
        /// Id of the belt or table that is watched.
        pub watch: String,
        /// The steps, from low content to high; the run starts in the first.
        pub steps: Vec<SpeedStepSpec>,
    }
}

spec_object! {
    /// One speed step.
    pub struct SpeedStepSpec {
        /// Share of the set speed, as in "110 %".
        pub speed: ShareSpec,
        /// Entered from the step before when the content rises to this; left out for the first step.
        pub enter_at: Option<u32>,
        /// Left for the step before when the content falls to this, below enter_at; left out for the first step.
        pub leave_at: Option<u32>,
    }
}
