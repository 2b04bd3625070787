//! A finished event log becomes data for a moving picture: states, contents, and where every pack stands.
//!
//! [`record::Recorder`] takes the events of one run and gives a [`Replay`]: plain data, to be drawn by the script that
//! [`script::module`] gives, which holds no physics and no figure of its own. Where a piece stands at an instant follows from the
//! pack log by one rule, [`place::places_at`]; the script has the same rule, and a test holds them against each other.
//!
//! All times are integer microseconds since the start of the run (`_us`).

pub mod place;
pub mod record;
pub mod script;

use serde::{Deserialize, Serialize};

/// Layout of what the script draws; it names its colours as custom properties `--replay-...`, which the report sets.
pub const SHEET: &str = include_str!("../assets/replay.css");

/// Version of the form of [`Replay`]; the script refuses another one.
pub const FORM: u32 = 1;

/// One run, to be drawn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Replay {
    /// Version of this form: [`FORM`].
    pub form: u32,
    /// Name of the line.
    pub line: String,
    /// Start of what the bands show.
    pub start_us: u64,
    /// End of what the bands show.
    pub end_us: u64,
    /// Within the window every state and every piece is exact; outside of it bands are put together (see
    /// [`linewake_kpi::timeline`]) and no piece is shown.
    pub window_start_us: u64,
    /// End of the window.
    pub window_end_us: u64,
    /// Words of reasons; stations and tags name them by number. The first is empty.
    pub reasons: Vec<String>,
    /// Stations in line order.
    pub stations: Vec<StationReplay>,
    /// Pockets of one index, where there is a web.
    pub web: Option<WebReplay>,
    /// Every portion and pack that was in the line within the window; portions first, each kind in rising order of its
    /// number.
    pub items: Vec<ItemReplay>,
    /// Stops that were put in on purpose.
    pub injected: Vec<StopMark>,
    /// The wake: where stations wait because of them.
    pub wake: Vec<WakeMark>,
}

/// One station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StationReplay {
    /// Its id, which is also its name on the page.
    pub id: String,
    /// Its kind, as in a model file.
    pub kind: String,
    /// It has states.
    pub has_states: bool,
    /// How pieces stand in it.
    pub layout: Layout,
    /// Bands over all of the run, put together where they are short: state in each, in order of time.
    pub overview: Vec<Segment>,
    /// States within the window, exact, in order of time without a gap; empty of a station without states.
    pub segments: Vec<Segment>,
    /// Content of a belt or table within the window; `None` for other stations.
    pub content: Option<ContentReplay>,
    /// Clock of its motion within the window: it runs while pieces move (belts and tables: outside of breaks and own
    /// stops; a rigid belt and the former: while running). Empty where nothing moves by a clock.
    pub motion: Vec<MotionMark>,
}

/// A stretch of one state: `[start_us, end_us, state, reason]`; the state is its place in
/// [`linewake_log::event::StationState::ALL`] or, in an overview, [`Segment::UNKNOWN`]; in an overview both parts of an
/// own stop are shown as being put right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Segment(pub u64, pub u64, pub u8, pub u16);

impl Segment {
    /// The log does not tell the state.
    pub const UNKNOWN: u8 = 6;
}

/// From `.0` (us) on the clock of motion reads `.1` (us) and runs (`.2` = 1) or stands (`.2` = 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MotionMark(pub u64, pub u64, pub u8);

/// Content of a belt, table or lane.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ContentReplay {
    /// Pieces that it holds; `None`: it never fills.
    pub capacity_pieces: Option<u32>,
    /// Within the window, exact: from `.0` (us) on it holds `.1` pieces.
    pub steps: Vec<(u64, u32)>,
    /// The same without the injected stops; empty if that run is not shown.
    pub steps_without: Vec<(u64, u32)>,
    /// Over all of the run, as rows every 10 s tell it: `[start_us, end_us, lowest, highest]`.
    pub overview: Vec<(u64, u64, u32, u32)>,
}

/// How pieces stand in a station.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "as", rename_all = "snake_case")]
pub enum Layout {
    /// A hopper: no pieces.
    Hopper,
    /// One piece at a time.
    Single,
    /// First in, first out (or last in, first out) along a belt.
    Queue {
        /// Transit time when empty.
        transit_us: u64,
        /// Places along it.
        places: u32,
        /// The piece that came last leaves first.
        last_in_first_out: bool,
    },
    /// An array in the making: lanes of files.
    Array {
        /// Lanes of the array.
        lanes: u32,
        /// Portions of a file.
        rows: u32,
    },
    /// The web of a former.
    Web,
    /// The pick zone with the robot's gripper.
    PickZone {
        /// Packs of a group.
        gripper: u32,
    },
    /// Packs keep their places.
    Rigid {
        /// Transit time at set speed.
        transit_us: u64,
        /// Places along it: length over pitch.
        places: u32,
    },
    /// A collation lane.
    Lane {
        /// Packs of a case.
        packs_per_case: u32,
        /// Packs that the lane holds, besides the case that is being made.
        places: u32,
    },
}

/// The web of the former.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WebReplay {
    /// Place of the former in the line.
    pub station: usize,
    /// Lanes of the web.
    pub lanes: u32,
    /// Rows of one index.
    pub rows_per_index: u32,
    /// Positions, counted from forming (0): last position of the load zone.
    pub load_at: u32,
    /// Positions of the load zone.
    pub load_length: u32,
    /// Seal.
    pub seal: u32,
    /// Inspection of the print, if there is one.
    pub print_inspection: Option<u32>,
    /// Label, if there is one.
    pub label: Option<u32>,
    /// Cut; the pick zone is the position behind it.
    pub cut: u32,
    /// Time of an advance.
    pub advance_us: u64,
    /// Advances up to the start of the window.
    pub advances_before: u64,
    /// End of each advance within the window and of the first one after it: `[at_us, clock of motion]`.
    pub advances: Vec<(u64, u64)>,
}

/// What an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ItemKind {
    /// A portion, before the web.
    Portion,
    /// A pocket with product, later a pack; in a line of generic machines a piece.
    Pack,
}

/// One portion or pack.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ItemReplay {
    /// What it is.
    pub kind: ItemKind,
    /// Its number in the log.
    pub number: u64,
    /// Where it was, in order of time. One that ended before the window begins is left out, but for the first that
    /// reaches into it.
    pub visits: Vec<Visit>,
    /// When the robot had it in its gripper.
    pub picked_us: Option<u64>,
    /// When it was cut out of the web.
    pub cut_us: Option<u64>,
    /// When it was tagged, and why.
    pub tagged: Option<(u64, u16)>,
    /// When and how it went; `None`: still in the line at the end of the window.
    pub gone: Option<Gone>,
}

/// From `.1` (us) on it was at the station `.0`, whose clock of motion read `.2` (us) when it stood at its beginning:
/// of a placement of several packs on a rigid belt the later ones get there a pitch later each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Visit(pub u16, pub u64, pub u64);

/// How an item went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gone {
    /// When.
    pub at_us: u64,
    /// How.
    pub how: Way,
    /// Reason of a reject; 0: none.
    pub reason: u16,
}

/// How an item goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// A portion was laid into a pocket.
    Loaded,
    /// A pack left in a case.
    Cased,
    /// It left the end of the line.
    Left,
    /// Into a bin, or dropped.
    Rejected,
}

/// A stop on purpose.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StopMark {
    /// Place of the station.
    pub station: usize,
    /// Begin.
    pub start_us: u64,
    /// End.
    pub end_us: u64,
}

/// A stretch in which a station waits and would not have waited without the stops.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WakeMark {
    /// Place of the station.
    pub station: usize,
    /// Begin.
    pub start_us: u64,
    /// End.
    pub end_us: u64,
}

impl Replay {
    /// Puts the contents of the run without the injected stops beside these.
    pub fn beside(&mut self, without: &Self) {
        for (station, other) in self.stations.iter_mut().zip(&without.stations) {
            if let (Some(content), Some(other)) = (&mut station.content, &other.content) {
                content.steps_without = other.steps.clone();
            }
        }
    }
}
