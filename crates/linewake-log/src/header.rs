//! What a log says about itself: version, model, seed, and the facts of the line that the accounting needs.

use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// Version of the log format; raised when a reader of the old one would misread the new.
pub const FORMAT_VERSION: u32 = 1;

/// How a simulated shift begins: two different promises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShiftStart {
    /// Everything new and the line empty.
    NewRolls,
    /// Consumables part used, after a warm-up: a shift of the long run.
    LongRun,
}

impl ShiftStart {
    /// Both of them.
    pub const ALL: [Self; 2] = [Self::NewRolls, Self::LongRun];

    /// Its word in the log.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::NewRolls => "new_rolls",
            Self::LongRun => "long_run",
        }
    }
}

/// The head of a log.
///
/// A log of a real line tells neither version, digest, seed nor start.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LogHeader {
    /// Version of the program that wrote it; empty if it was none.
    pub program_version: String,
    /// Name of the model, or of the line.
    pub model_name: String,
    /// What the model shows and where its figures come from; may be empty.
    pub model_about: String,
    /// Digest of the model; empty of a log without one.
    pub model_digest: String,
    /// Seed of the run; `None` of a log of a real line.
    pub seed: Option<u64>,
    /// Number of the replication, from 0; 0 where there is none.
    pub replication: u64,
    /// How the shift begins, where the log tells it.
    pub start: Option<ShiftStart>,
    /// End of the warm-up that is left out of the accounting; zero if none.
    pub warm_up: Moment,
    /// End of the run.
    pub horizon: Moment,
    /// Facts of the line.
    pub facts: LineFacts,
}

/// What the accounting must know of a line to read its log without its model.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LineFacts {
    /// Design rate in packs per minute.
    pub design_rate_per_min: f64,
    /// Index of the constraint in `stations`.
    pub constraint: u16,
    /// Station whose hand-over makes a pack good: the last gate, else the robot, else the last station.
    pub good_after: u16,
    /// Shortest interruption that counts against availability.
    pub short_stop_limit: Span,
    /// Planned stops with these reasons are left out of planned production time; a challenge only at the constraint.
    pub left_out: Vec<Reason>,
    /// Tags that are the consequence of a stop, and which stop can have caused them.
    pub consequences: Vec<Consequence>,
    /// The stations in line order.
    pub stations: Vec<StationFacts>,
    /// Words of the reasons; [`Reason`] is an index into it.
    pub reasons: Vec<String>,
}

/// Facts of one station.
#[derive(Clone, Debug, PartialEq)]
pub struct StationFacts {
    /// Id that people chose.
    pub id: String,
    /// Its kind, as in a model file ("former", "checkweigher", ...).
    pub kind: String,
    /// It has states (an accumulating belt or table without stop modes has none).
    pub has_states: bool,
    /// Best rate in packs per minute, where it has one: used to name the slowest station of a path.
    pub rate_per_min: Option<f64>,
    /// Empty-line transit time between this station and the constraint, in either direction.
    pub transit_to_constraint: Span,
    /// Capacity in pieces of a belt or table, where it has one.
    pub capacity: Option<u32>,
    /// Portions in one piece that it hands over: those of a pocket from the former on, else 1.
    pub portions_per_piece: u32,
    /// Supplier, where stated.
    pub supplier: Option<String>,
}

/// A tag that a stop leaves on packs, such as held_in_seal: so that packs lost can be shown beside that stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Consequence {
    /// The reason on the tag.
    pub tag: Reason,
    /// The station whose stops cause it; none if any station's can (product that stood open too long).
    pub station: Option<u16>,
    /// The stop that causes it; [`Reason::NONE`] if every own stop of the station does.
    pub stop: Reason,
    /// Only stops longer than this cause it.
    pub longer_than: Span,
}
