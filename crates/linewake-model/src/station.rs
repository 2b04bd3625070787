//! The stations of a line, one variant for each kind of machine; parameters are checked and in base units.

use crate::line::StationIndex;
use crate::stop::{Reason, StopMode};
use crate::time::Span;
use linewake_stats::distribution::Distribution;

/// One station of the line.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Id that people chose; unique in the line.
    pub id: String,
    /// What the station is.
    pub kind: StationKind,
    /// Its own stops, in listed order.
    pub stops: Vec<StopMode>,
    /// Response time in seconds of an operator who is called here, if not the crew's.
    pub response_s: Option<Distribution>,
    /// Rank when calls are served by station priority; 0 is served first. Default: order in the file.
    pub call_priority: u32,
    /// Speed steps, chosen by the content of a belt or table.
    pub speed_control: Option<SpeedControl>,
    /// Who supplies the machine (invented in the shipped models).
    pub supplier: Option<String>,
}

/// The kinds of station.
#[derive(Clone, Debug, PartialEq)]
pub enum StationKind {
    /// Prepares batches into a hopper.
    BulkSupply(BulkSupply),
    /// Cuts portions from the hopper.
    Portioner(Portioner),
    /// Accumulating belt or table, first in first out or (side table) last in first out.
    Accumulator(Accumulator),
    /// Two-belt loader.
    Loader(Loader),
    /// Thermoform form-fill-seal machine.
    Former(Box<Former>),
    /// Pick robot.
    PickRobot(PickRobot),
    /// Belt on which packs keep their places.
    RigidBelt(RigidBelt),
    /// Checkweigher, metal detector, X-ray or leak test.
    Gate(Gate),
    /// Case packer with its collation lane.
    CasePacker(CasePacker),
    /// Generic machine: one piece at a time.
    Machine(Machine),
    /// Arrivals that open a line of generic machines; without it the first machine never runs dry.
    Arrivals(Arrivals),
}

/// Bulk supply: batches into a hopper.
#[derive(Clone, Debug, PartialEq)]
pub struct BulkSupply {
    /// Mass of a batch in micrograms; at most the hopper's.
    pub batch_ug: u64,
    /// What the hopper holds, in micrograms.
    pub hopper_ug: u64,
    /// Time to prepare a batch, in seconds.
    pub preparation_s: Distribution,
}

/// Portioner.
#[derive(Clone, Debug, PartialEq)]
pub struct Portioner {
    /// Set speed in portions per minute.
    pub rate_per_min: f64,
    /// Weights of the portions.
    pub weight: PortionWeight,
}

/// How the weight of a portion comes about (grams).
#[derive(Clone, Debug, PartialEq)]
pub struct PortionWeight {
    /// Mean without correction, batch shift and drift.
    pub mean_g: f64,
    /// Standard deviation from portion to portion.
    pub sd_g: f64,
    /// Standard deviation of the shift of a batch.
    pub sd_batch_g: f64,
    /// Slow drift.
    pub drift: Option<Drift>,
    /// Feedback from a checkweigher.
    pub feedback: Option<Feedback>,
}

/// First-order autoregressive drift of the portion weight; stepped at each portion with the time since the last one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// Stationary standard deviation in grams.
    pub sd_g: f64,
    /// Time after which the correlation has fallen to 1/e.
    pub correlation_time: Span,
}

/// Weight feedback: after each `every_packs` weighed packs, correction -= gain x (mean measured - target), within limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Feedback {
    /// The checkweigher that measures.
    pub from: StationIndex,
    /// Weighed packs between two corrections; at least 1.
    pub every_packs: u32,
    /// Share of the deviation that is taken off; over 0.
    pub gain: f64,
    /// What the mean of measured pack weights is held to, in grams.
    pub target_g: f64,
    /// The correction of a portion never goes below this, in grams.
    pub lowest_g: f64,
    /// Nor above this, in grams.
    pub highest_g: f64,
    /// Packs rejected for weight count in the mean (default true; leaving them out biases it).
    pub count_rejects: bool,
}

/// Capacity that stands for "never full".
pub const UNLIMITED: u32 = u32::MAX;

/// Accumulating belt or table.
#[derive(Clone, Debug, PartialEq)]
pub struct Accumulator {
    /// True when the model calls it a belt, false when a table: for words only.
    pub is_belt: bool,
    /// Transit time when empty.
    pub transit: Span,
    /// Pieces in transit and queued at most; 0 is a direct hand-over, [`UNLIMITED`] never fills.
    pub capacity: u32,
    /// Pieces leave no closer than this.
    pub release: Span,
    /// Which piece leaves first.
    pub order: LeaveOrder,
    /// Once full, none is taken until the content is down to this (below the capacity).
    pub restart_at: Option<u32>,
}

/// Which piece of an accumulator leaves first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeaveOrder {
    /// First in, first out.
    FirstInFirstOut,
    /// Last in, first out: a side table.
    LastInFirstOut,
}

/// Two-belt loader.
#[derive(Clone, Debug, PartialEq)]
pub struct Loader {
    /// Lanes of the array, as many as the former's.
    pub lanes: u32,
    /// Portions of a file: rows of the array.
    pub array_rows: u32,
    /// Time in which belt A takes one portion.
    pub take: Span,
    /// Time in which the file passes from A to B.
    pub file_transfer: Span,
    /// Time in which B moves to its next lane.
    pub traverse: Span,
    /// Time in which B loads the array into the pockets.
    pub load: Span,
    /// Time in which B returns to the first lane.
    pub return_: Span,
    /// Indexes that one array fills.
    pub indexes_per_array: u32,
    /// Loads into one zone: portions in a pocket.
    pub loads_per_zone: u32,
    /// Product that stood open longer than this is tagged aged.
    pub open_time_limit: Option<Span>,
}

/// Thermoform form-fill-seal machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Former {
    /// Lanes of the web.
    pub lanes: u32,
    /// Rows of one index.
    pub rows_per_index: u32,
    /// What works in the dwell, each for its own time.
    pub functions: Vec<Function>,
    /// Time of an advance.
    pub advance: Span,
    /// Cap on the speed, in cycles per minute.
    pub max_cycles_per_min: Option<f64>,
    /// Positions on the web, counted from forming (0).
    pub positions: Positions,
    /// What happens when no array is ready.
    pub without_product: WithoutProduct,
    /// Packs spoilt by a long stop.
    pub stop_scrap: Option<StopScrap>,
    /// Print faults.
    pub printer: Option<Printer>,
    /// Vision inspection, at `positions.print_inspection`.
    pub vision: Option<Vision>,
    /// Probability that a seal leaks, for each pack.
    pub leak_probability: f64,
    /// Probability that a label is missing, for each pack.
    pub label_missing_probability: f64,
    /// Probability that a pack is contaminated, drawn at cutting.
    pub contaminated_probability: f64,
}

impl Former {
    /// Pockets of one index.
    #[must_use]
    pub fn pockets(&self) -> usize {
        self.lanes as usize * self.rows_per_index as usize
    }

    /// Length of the dwell: that of the longest function.
    #[must_use]
    pub fn dwell(&self) -> Span {
        self.functions.iter().map(|function| function.dwell).max().unwrap_or(Span::ZERO)
    }
}

/// A function of the dwell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// How long it works.
    pub dwell: Span,
}

/// Positions on the web. The load zone lies before the seal; the pick zone is the position after `cut`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Positions {
    /// Last position of the load zone (it is `indexes_per_array` long).
    pub load_at: u32,
    /// Seal (and print laid down).
    pub seal: u32,
    /// Vision inspection.
    pub print_inspection: Option<u32>,
    /// Label.
    pub label: Option<u32>,
    /// Cut.
    pub cut: u32,
}

/// What the former does when the load zone is empty and no array is ready at the end of the functions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WithoutProduct {
    /// It waits (starved).
    Wait,
    /// It advances with empty pockets.
    RunEmpty,
}

/// Packs at the listed positions are tagged after each own stop longer than the limit.
#[derive(Clone, Debug, PartialEq)]
pub struct StopScrap {
    /// The whole stop, waiting and repair, must exceed this.
    pub longer_than: Span,
    /// Positions whose packs are spoilt.
    pub positions: Vec<u32>,
    /// The reason on the tag.
    pub reason: Reason,
    /// Empty pockets are spoilt too (film held in the heat): what is later loaded into them is tagged.
    pub empty_pockets: bool,
}

/// Print faults in runs: a two-state chain stepped once for each index.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Printer {
    /// Probability good to faulty.
    pub p: f64,
    /// Probability faulty to good.
    pub r: f64,
    /// Probability of a misprint for each pack of a faulty index.
    pub q: f64,
}

/// Vision inspection of the print.
#[derive(Clone, Debug, PartialEq)]
pub struct Vision {
    /// Probability that a misprinted pack is tagged.
    pub sensitivity: f64,
    /// Probability that a right pack is tagged.
    pub false_tag: f64,
    /// So many consecutive indexes with a pack tagged by vision stop the former, attended.
    pub stop_rule: Option<FailSafe>,
}

/// A count that stops the station (attended), and how long putting it right takes.
#[derive(Clone, Debug, PartialEq)]
pub struct FailSafe {
    /// The count.
    pub count: u32,
    /// Length in seconds once an operator is there.
    pub duration_s: Distribution,
}

/// Pick robot.
#[derive(Clone, Debug, PartialEq)]
pub struct PickRobot {
    /// Pockets of a group; divides the pockets of an index.
    pub gripper: u32,
    /// Pick in seconds.
    pub pick_s: Distribution,
    /// Place in seconds.
    pub place_s: Distribution,
    /// Probability that a pack is lost between pick and place.
    pub drop_probability: f64,
}

/// Belt on which packs keep their places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RigidBelt {
    /// Length in metres.
    pub length_m: f64,
    /// Speed in metres per second.
    pub speed_m_s: f64,
    /// Pitch in metres.
    pub pitch_m: f64,
}

impl RigidBelt {
    /// Time from the infeed to the end at set speed.
    #[must_use]
    pub fn transit(&self) -> Span {
        Span::from_seconds(self.length_m / self.speed_m_s)
    }

    /// Time of one pitch at set speed.
    #[must_use]
    pub fn pitch(&self) -> Span {
        Span::from_seconds(self.pitch_m / self.speed_m_s)
    }
}

/// What an in-line gate is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GateKind {
    /// Weighs each pack.
    Checkweigher,
    /// Metal detector.
    MetalDetector,
    /// X-ray inspection.
    XRay,
    /// Leak test.
    LeakTest,
}

/// In-line gate.
#[derive(Clone, Debug, PartialEq)]
pub struct Gate {
    /// What it is, for words.
    pub kind: GateKind,
    /// Packs per minute at most.
    pub max_rate_per_min: f64,
    /// Weighing; present on a checkweigher only.
    pub weigher: Option<Weigher>,
    /// Defects that it looks for, in the order of the verdicts.
    pub finds: Vec<Find>,
    /// Probability that a pack in which nothing was found is rejected all the same (for each pack without a defect
    /// that the gate looks for).
    pub false_reject: f64,
    /// Fail-safe: rejects in a row.
    pub rejects_in_row: Option<FailSafe>,
    /// Fail-safe: bin full.
    pub bin_full: Option<FailSafe>,
    /// Routine challenge.
    pub challenge: Option<Challenge>,
}

/// Weighing of a checkweigher.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weigher {
    /// Standard deviation of the weigher's own error in grams.
    pub sd_g: f64,
    /// Reject under this, in grams.
    pub low_g: Option<f64>,
    /// Reject over this, in grams.
    pub high_g: Option<f64>,
}

/// A defect that a gate looks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Find {
    /// The defect.
    pub defect: Reason,
    /// Probability that it is found in a pack that has it.
    pub probability: f64,
}

/// Routine challenge of a gate: planned, not attended.
#[derive(Clone, Debug, PartialEq)]
pub struct Challenge {
    /// Due at k x interval from the start.
    pub interval: Span,
    /// Length in seconds.
    pub duration_s: Distribution,
    /// Counted as downtime in planned production time (default), or left out.
    pub in_planned_production_time: bool,
}

/// Case packer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CasePacker {
    /// Packs of a case.
    pub packs_per_case: u32,
    /// Packs that the collation lane holds; at least a case.
    pub lane_packs: u32,
    /// Time of a cycle.
    pub cycle: Span,
}

/// Generic machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Processing time in seconds.
    pub process_s: Distribution,
    /// A finished piece stays in the machine during any own stop, as it does in a count stop (default: it may leave).
    pub holds_in_stops: bool,
}

/// Arrivals at the head of a line of generic machines.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrivals {
    /// Time between arrivals in seconds.
    pub between_s: Distribution,
    /// What becomes of a piece that finds no room.
    pub when_full: WhenFull,
}

/// What becomes of a piece that arrives and finds no room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhenFull {
    /// It waits, and no other arrives meanwhile: the clock of the next arrival starts when it has gone in.
    Wait,
    /// It is lost, and counted as such.
    Lost,
}

/// Speed steps of a station, chosen by the content of a belt or table.
#[derive(Clone, Debug, PartialEq)]
pub struct SpeedControl {
    /// The accumulator whose content is watched.
    pub watch: StationIndex,
    /// Shares of the set speed, from low content to high; the run starts in the first.
    pub steps: Vec<SpeedStep>,
}

/// One speed step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpeedStep {
    /// Share of the set speed, over 0.
    pub share: f64,
    /// The step is entered from the one before when the content rises to this (0 for the first step).
    pub enter_at: u32,
    /// It is left for the one before when the content falls to this; below `enter_at`.
    pub leave_at: u32,
}
