//! What a stop put in on purpose does to the rest of the line.
//!
//! Times are seconds of calendar time since the start of the run, lengths are seconds.

use super::Method;
use crate::summary::Mean;
use serde::Serialize;

/// The same run with and without the stops.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WakeResult {
    /// Name of the line.
    pub model_name: String,
    /// SHA-256 of the model.
    pub model_digest: String,
    /// Version of the program.
    pub program_version: String,
    /// Seed of both runs.
    pub seed: u64,
    /// Number of the shift, from 0.
    pub replication: u64,
    /// The line has its own stops besides; false: it runs without them.
    pub random_luck: bool,
    /// Length of the run, breaks included.
    pub run_s: f64,
    /// The stops, in order of time.
    pub stops: Vec<PutInStop>,
    /// Every station with states, in line order.
    pub stations: Vec<StationWake>,
    /// What lies between neighbouring stations with states, in line order (rigid belts are passed over).
    pub between: Vec<Absorbed>,
    /// Packs with and without.
    pub packs: WakePacks,
    /// How the line came back.
    pub recovery: WakeRecovery,
    /// The same stops in many shifts; `None` for one.
    pub over_runs: Option<WakeOverRuns>,
    /// Definitions.
    pub methods: Vec<Method>,
    /// What the reader must know.
    pub notes: Vec<String>,
}

/// One stop that was put in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PutInStop {
    /// Place of the station.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// When it was asked for.
    pub asked_s: f64,
    /// Its length.
    pub duration_s: f64,
    /// When it began: later than asked for if the station was in another stop or a break; `None`: not within the run.
    pub start_s: Option<f64>,
    /// When it ended, breaks in it included; the end of the run if it lasted longer.
    pub end_s: Option<f64>,
}

/// What reached one station.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationWake {
    /// Place of the station.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// Its kind, as in a model file.
    pub kind: String,
    /// When the wake reached it: from here on it waited and would not have; `None`: never.
    pub reached_s: Option<f64>,
    /// When it was free for the last time in the wake.
    pub freed_s: Option<f64>,
    /// Seconds that it starved in the wake and would not have.
    pub starved_s: f64,
    /// Seconds that it was blocked in the wake and would not have been.
    pub blocked_s: f64,
    /// Seconds that it stood in the stops that were put in.
    pub stopped_s: f64,
    /// Seconds starved over the whole run, with less without.
    pub starved_in_run_s: f64,
    /// Seconds blocked over the whole run, with less without.
    pub blocked_in_run_s: f64,
    /// The stretches in which it waited and would not have.
    pub stretches: Vec<WakeStretch>,
}

/// A stretch of waiting that would not have been.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WakeStretch {
    /// Begin.
    pub start_s: f64,
    /// End.
    pub end_s: f64,
    /// Blocked; else starved.
    pub blocked: bool,
}

/// What lies between two neighbouring stations with states took up the difference of what they stood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Absorbed {
    /// Id of the station before.
    pub before: String,
    /// Id of the station behind.
    pub behind: String,
    /// Seconds that the one before stood in the wake, stopped or waiting.
    pub before_stood_s: f64,
    /// Seconds that the one behind stood.
    pub behind_stood_s: f64,
    /// The difference: what was absorbed between them.
    pub absorbed_s: f64,
    /// A hopper lies between them: it absorbs what its mass allows.
    pub hopper: bool,
    /// Belts, tables and lanes between them; without any, and without a hopper, the difference is slack of the machines.
    pub buffers: Vec<BufferWake>,
}

/// A belt, table or lane in the wake.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BufferWake {
    /// Place of the station.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// Places that it has; `None`: it never fills.
    pub places: Option<u32>,
    /// Pieces in it when the first stop began.
    pub at_stop: u32,
    /// Least content in the wake.
    pub lowest: u32,
    /// Largest content in the wake.
    pub highest: u32,
    /// Most pieces that it held more than without the stop.
    pub most_more: u32,
    /// Most pieces that it held less than without the stop.
    pub most_less: u32,
}

/// Packs with and without the stops, over the whole run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct WakePacks {
    /// Good packs without the stops.
    pub good_without: u64,
    /// Good packs with them.
    pub good_with: u64,
    /// Packs lost in the end: the difference; negative if there are more.
    pub lost: i64,
    /// Of these, not begun: fewer packs cut (pieces begun).
    pub not_made: i64,
    /// Of these, rejected or dropped more.
    pub rejected: i64,
    /// Of these, still in the line at the end more.
    pub still_in_line: i64,
}

/// How the line came back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WakeRecovery {
    /// End of the last stop that was put in.
    pub stop_end_s: f64,
    /// When the last station was free of the wake; the end of the stop if no station was reached.
    pub free_s: f64,
    /// From the end of the stop to then: how long the line took to recover.
    pub recovery_s: f64,
    /// The wake goes on to the end of the run.
    pub not_over: bool,
    /// Largest delay of a good pack until the wake has passed the last gate, against the same pack without the stops; breaks left out.
    pub largest_delay_s: f64,
    /// When the good packs came as early again as without (within the time of a pack at the design rate); `None`: not
    /// within the run: the time is lost for good.
    pub caught_up_s: Option<f64>,
    /// Delay of the last good pack that both runs made.
    pub delay_at_end_s: f64,
}

/// The same stops in many shifts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WakeOverRuns {
    /// Shifts.
    pub runs: u64,
    /// Good packs lost in a shift.
    pub lost: Mean,
}
