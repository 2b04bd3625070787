//! What happened when, in one shift, for the pictures over time: the states of all stations, the content of belts and
//! tables, good packs every few minutes, and the wake of the longest stop.
//!
//! All marks together are at most [`MOST_MARKS`], and memory does not grow with the log. The rule of the reduction:
//!
//! - A pixel is the window over [`PAGE_WIDTH_PX`].
//! - An own or planned stop that lasts a pixel or longer keeps a band of its own with its exact start and end. Waiting
//!   for an operator and being put right are one band, and so are stops of one reason that follow each other at once.
//! - What is shorter than a pixel is put together with its neighbours until a pixel is full. Such a band shows a stop or a
//!   planned stop if that took most of it; else running if the station ran for at least a tenth of it, so that a machine
//!   that is quicker than its line shows as running as long as it works at all; else the longer wait. What is left over
//!   between two bands is put to the one before, unless that is a stop. Neighbours that show the same are one band.
//!   Running, starved and blocked so have their starts and ends to within a pixel or two.
//! - While there are too many marks, the station with most bands has its running, starved and blocked ones below 2, 4,
//!   8, ... pixels put together in the same way; its stops of a pixel and longer are kept.
//! - If that is not enough, its stops that lie less than 1, 2, 4, ... pixels apart are put together with what lies
//!   between: the band shows a stop, the reason of the longest, and how many stops are in it.
//!
//! So every stop of a pixel or longer is covered by a band that shows a stop, and the times of all bands of a station
//! add up to the window exactly.

mod cells;
mod recorder;
mod segments;
mod wake;

#[cfg(test)]
mod tests;

pub use recorder::Timeline;

use crate::result::StateTimes;
use linewake_model::time::{Moment, Span};

/// Width of a picture over time on the page, in pixels.
pub const PAGE_WIDTH_PX: u64 = 720;

/// Most marks of all pictures of one timeline together: bands, cells of content, cells of output, reaches of the wake.
pub const MOST_MARKS: usize = 4000;

/// One shift over time.
#[derive(Clone, Debug, PartialEq)]
pub struct ShiftTimeline {
    /// Number of the replication that it shows, from 0; `None` where the log does not say.
    pub replication: Option<u64>,
    /// Start of the window.
    pub start: Moment,
    /// End of the window.
    pub end: Moment,
    /// Time of a pixel: what is shorter may be put together with its neighbours.
    pub pixel: Span,
    /// Bands of the stations with states, in line order.
    pub stations: Vec<StationBands>,
    /// Stations with states for which there are no marks (beyond the first 500).
    pub stations_left_out: usize,
    /// Content of the accumulating belts and tables (of the first 300), in line order.
    pub contents: Vec<ContentLine>,
    /// Good packs every few minutes.
    pub output: OutputLine,
    /// What the longest own stop of any station did to the others; `None` without an own stop.
    pub wake: Option<Wake>,
}

impl ShiftTimeline {
    /// All marks together.
    #[must_use]
    pub fn marks(&self) -> usize {
        let bands: usize = self.stations.iter().map(|station| station.bands.len()).sum();
        let cells: usize = self.contents.iter().map(|line| line.cells.len()).sum();
        bands + cells + self.output.cells.len() + self.wake.as_ref().map_or(0, |wake| wake.reaches.len() + 1)
    }
}

/// The states of one station over time.
#[derive(Clone, Debug, PartialEq)]
pub struct StationBands {
    /// Place of the station in the line.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// Its kind, as in a model file.
    pub kind: String,
    /// Bands in order of time, from the start of the window to its end without a gap.
    pub bands: Vec<Band>,
}

/// What a band shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BandState {
    /// Working on something.
    Running,
    /// Waiting for something from upstream.
    Starved,
    /// Waiting for room downstream.
    Blocked,
    /// An own stop, waiting for an operator and being put right.
    Stopped,
    /// A planned stop.
    Planned,
    /// The log does not tell the state.
    Unknown,
}

impl BandState {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Running => "running",
            Self::Starved => "starved",
            Self::Blocked => "blocked",
            Self::Stopped => "stopped",
            Self::Planned => "planned",
            Self::Unknown => "unknown",
        }
    }
}

/// A stretch of time of one station.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Start; the end of the band before.
    pub start: Moment,
    /// End.
    pub end: Moment,
    /// What it shows.
    pub shows: BandState,
    /// Reason of the (longest) stop that it shows; empty where it shows none.
    pub reason: String,
    /// Time in each state within the band, exact.
    pub times: StateTimes,
    /// Time within the band in which the log does not tell the state.
    pub unknown: Span,
    /// Own and planned stops in it; one that a break interrupts counts before and after.
    pub stops: u64,
}

/// Content of one belt or table over time.
#[derive(Clone, Debug, PartialEq)]
pub struct ContentLine {
    /// Place of the station in the line.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// Capacity in pieces, where it has one.
    pub capacity_pieces: Option<u32>,
    /// Cells in order of time, from the start of the window to its end without a gap.
    pub cells: Vec<ContentCell>,
}

/// Content in a stretch of time, in pieces. It is known at its rows (every 10 s where it has changed) and taken to
/// stand until the next one; before the first one it is 0, since a run starts empty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ContentCell {
    /// Start.
    pub start: Moment,
    /// End.
    pub end: Moment,
    /// Smallest content.
    pub lowest_pieces: u32,
    /// Largest content.
    pub highest_pieces: u32,
    /// Mean over the time.
    pub mean_pieces: f64,
}

/// Good packs over time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OutputLine {
    /// Length of a cell; the last one may be shorter.
    pub cell: Span,
    /// Packs that a full cell would have at the design rate.
    pub design_packs: f64,
    /// Good packs in each cell, in order of time from the start of the window. Counters are written every 10 s, so a
    /// pack can be counted up to 10 s late.
    pub cells: Vec<u64>,
}

/// What the longest own stop (without breaks in it) did to the stations up- and downstream of it.
///
/// Rule: from the stop, stations are followed downstream as long as they starve and upstream as long as they block.
/// A station is reached if it waits at an instant between the begin of the wait (or stop) of the one before it and that
/// one's end plus the empty-line transit time between them; belts and tables without states are passed through, and so is
/// a rigid belt that moves on empty. The first other station that is not reached ends the wake. Its wait counts from the
/// begin of the stop at the earliest. Waits shorter than a pixel do not count: machines wait so between two pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct Wake {
    /// Place of the station that stopped.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// Reason of the stop.
    pub reason: String,
    /// Begin of the stop.
    pub start: Moment,
    /// Its end.
    pub end: Moment,
    /// Its length without breaks in it.
    pub stopped: Span,
    /// The stations that it reached, in line order.
    pub reaches: Vec<WakeReach>,
}

/// One station that a stop starved or blocked.
#[derive(Clone, Debug, PartialEq)]
pub struct WakeReach {
    /// Place of the station.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// [`BandState::Starved`] downstream of the stop, [`BandState::Blocked`] upstream of it.
    pub state: BandState,
    /// Begin of its wait.
    pub start: Moment,
    /// End of its wait.
    pub end: Moment,
    /// Time waited between the two: less than all of it where it worked in between.
    pub waited: Span,
}
