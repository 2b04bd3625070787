//! What one run (or the window of it after the warm-up) amounted to, as plain data.
//!
//! Times are integer microseconds in memory ([`Span`], [`Moment`]) and seconds when serialised, under keys that
//! end in `_s`. Ids and reasons are the words of the model.

use crate::content_times::ContentTimes;
use crate::convention::{Conventions, MinorStops, Split};
use crate::histogram::TimeHistogram;
use linewake_model::time::{Moment, Span};
use serde::{Deserialize, Serialize, Serializer};

/// The result of one run, or of its window after the warm-up.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ShiftResult {
    /// Start of the window: 0, or the end of the warm-up.
    #[serde(rename = "window_start_s", serialize_with = "moment_in_seconds")]
    pub window_start: Moment,
    /// End of the window: the horizon.
    #[serde(rename = "window_end_s", serialize_with = "moment_in_seconds")]
    pub window_end: Moment,
    /// Design rate in packs per minute.
    pub design_rate_per_min: f64,
    /// Shortest interruption that counts against availability; to be printed beside A and P.
    #[serde(rename = "short_stop_limit_s", serialize_with = "span_in_seconds")]
    pub short_stop_limit: Span,
    /// What was chosen where published metrics contradict each other; to be named beside OEE and its factors.
    pub conventions: Conventions,
    /// Id of the station on which the OEE is judged.
    pub constraint: String,
    /// Id of the station whose hand-over makes a pack good.
    pub good_after: String,
    /// Id of the station that counts the total: the former, or in a line without one the constraint (the station
    /// of `good_after` if the constraint lies behind that).
    pub total_at: String,
    /// OEE and its factors.
    pub oee: Oee,
    /// Where the packs are.
    pub packs: Packs,
    /// From design to good.
    pub ledger: Ledger,
    /// One per station, in line order.
    pub stations: Vec<StationResult>,
    /// Good packs by the hour, from the start of the window.
    pub output: Vec<OutputBin>,
    /// What is wrong with the log, if anything; to be printed beside the result.
    pub doubts: Vec<Doubt>,
}

/// OEE and its factors, with the times and packs that they are made of.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Oee {
    /// Window less the planned stops that are left out.
    #[serde(rename = "planned_production_time_s", serialize_with = "span_in_seconds")]
    pub planned_production_time: Span,
    /// Planned stops that are left out.
    #[serde(rename = "left_out_s", serialize_with = "span_in_seconds")]
    pub left_out: Span,
    /// Time in which the constraint was running.
    #[serde(rename = "running_s", serialize_with = "span_in_seconds")]
    pub running: Span,
    /// Interruptions of the constraint of at least the short stop limit: how many.
    pub long_interruptions: u64,
    /// Their time: what availability loses.
    #[serde(rename = "long_interruption_time_s", serialize_with = "span_in_seconds")]
    pub long_interruption_time: Span,
    /// Shorter interruptions of the constraint: how many.
    pub short_interruptions: u64,
    /// Their time: a part of what performance loses.
    #[serde(rename = "short_interruption_time_s", serialize_with = "span_in_seconds")]
    pub short_interruption_time: Span,
    /// 60 / design rate.
    pub ideal_time_per_pack_s: f64,
    /// Packs cut (empty pockets are none), in the window.
    pub total_packs: u64,
    /// Packs handed over by the last gate in the window; escapes are in it.
    pub good_packs: u64,
    /// A.
    pub availability: f64,
    /// P; `None` when total or A is zero. It may exceed 1: then the design rate is below what the line did.
    pub performance: Option<f64>,
    /// Q; `None` when total or A is zero. What is still in the line counts in total.
    pub quality: Option<f64>,
    /// OEE = A x P x Q; 0 when total or A is zero.
    pub oee: f64,
    /// A_iso: running time / planned production time, the split in which every minor stop is an availability loss.
    pub availability_iso: f64,
    /// P_iso: total x ideal time per pack / running time; `None` when total, A or running time is zero.
    pub performance_iso: Option<f64>,
    /// Good / (total - still in the line), for information; `None` when there is nothing to divide by.
    pub quality_without_in_line: Option<f64>,
}

impl Oee {
    /// Availability and performance under that choice; the OEE is the same under either.
    #[must_use]
    pub fn split(&self, minor_stops: MinorStops) -> Split<f64> {
        match minor_stops {
            MinorStops::Performance => {
                Split { availability: self.availability, performance: self.performance }
            }
            MinorStops::Availability => {
                Split { availability: self.availability_iso, performance: self.performance_iso }
            }
        }
    }
}

/// Where the packs of the window are.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Packs {
    /// Good packs that are in a case; `None` if the line does not end in a case packer, or the log does not count there.
    pub good_in_cases_packs: Option<u64>,
    /// Good packs that wait for a case: the change in the window; `None` where it is of those in a case.
    pub good_waiting_packs: Option<i64>,
    /// Cases made.
    pub cases: u64,
    /// Good packs with a defect that nothing found, by defect.
    pub escaped: Vec<ReasonCount>,
    /// Packs rejected or scrapped between cutting and the last gate.
    pub rejected_packs: u64,
    /// Empty pockets cut.
    pub empty_pockets: u64,
    /// Packs cut and not yet past the last gate at the start of the window.
    pub in_line_at_start_packs: i64,
    /// Packs cut and not yet past the last gate at the end.
    pub in_line_at_end_packs: i64,
}

/// So many packs for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReasonCount {
    /// The reason.
    pub reason: String,
    /// Packs.
    pub packs: u64,
}

/// The losses from design to good: design - stops and waits - slow cycles - empty pockets - rejects - still in the
/// line = good.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ledger {
    /// Planned production time x design rate.
    pub design_packs: f64,
    /// Every second in which the constraint did not run, charged to one cause; largest first.
    pub causes: Vec<CauseRow>,
    /// Running time x design rate - packs cut - empty pockets; may be negative.
    pub slow_cycles_packs: f64,
    /// Empty pockets cut.
    pub empty_pockets: u64,
    /// Rejects and scrap by place and reason; largest first.
    pub rejects: Vec<RejectRow>,
    /// Change of what is still in the line; may be negative after a warm-up.
    pub still_in_line_packs: i64,
    /// Good packs.
    pub good_packs: u64,
}

impl Ledger {
    /// Design less all rows less good, in packs: nothing but the rounding of floating-point sums.
    #[must_use]
    pub fn residual_packs(&self) -> f64 {
        let stops: f64 = self.causes.iter().map(|row| row.packs).sum();
        let rejects: u64 = self.rejects.iter().map(|row| row.packs).sum();
        self.design_packs
            - stops
            - self.slow_cycles_packs
            - self.empty_pockets as f64
            - rejects as f64
            - self.still_in_line_packs as f64
            - self.good_packs as f64
    }

    /// All time charged to causes: the constraint's time not running within planned production time.
    #[must_use]
    pub fn charged_time(&self) -> Span {
        self.causes.iter().fold(Span::ZERO, |sum, row| sum + row.time)
    }
}

/// Why the constraint did not run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CauseKind {
    /// An own stop of a station.
    Stop,
    /// A planned stop that counts as downtime.
    Planned,
    /// The hopper was empty.
    Supply,
    /// Refilling after the last stop on the path.
    Recovery,
    /// No stop: the slowest station of the path.
    Rate,
    /// Waiting for the first product.
    StartUp,
    /// The log does not tell the state of the constraint.
    Unknown,
}

impl CauseKind {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::Planned => "planned stop",
            Self::Supply => "supply",
            Self::Recovery => "recovery",
            Self::Rate => "rate",
            Self::StartUp => "start-up",
            Self::Unknown => "unknown",
        }
    }
}

/// Time charged to one cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CauseRow {
    /// What sort of cause.
    pub kind: CauseKind,
    /// Place of the station in `stations`; `None` for start-up and unknown.
    pub station_index: Option<usize>,
    /// Id of the station; empty for start-up and unknown.
    pub station: String,
    /// Reason of the stop (for recovery: of the stop that it follows); empty for supply, rate, start-up, unknown.
    pub reason: String,
    /// Time charged.
    #[serde(rename = "time_s", serialize_with = "span_in_seconds")]
    pub time: Span,
    /// The part of it in which the stop waited for an operator.
    #[serde(rename = "waiting_s", serialize_with = "span_in_seconds")]
    pub waiting: Span,
    /// Time charged x design rate.
    pub packs: f64,
    /// Waiting x design rate.
    pub waiting_packs: f64,
    /// Packs tagged as a consequence of this stop (held_in_seal, first_off, aged). They are lost in the reject rows,
    /// and are shown here besides.
    pub consequent_packs: u64,
}

/// Packs rejected or scrapped at one place for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RejectRow {
    /// Place of the station in `stations`.
    pub station_index: usize,
    /// Id of the station whose bin they are in.
    pub station: String,
    /// The reason of the verdict or tag.
    pub reason: String,
    /// Packs.
    pub packs: u64,
    /// The reason is the consequence of a stop.
    pub consequence_of_stop: bool,
}

/// What one station did in the window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationResult {
    /// Id of the station.
    pub id: String,
    /// Its kind.
    pub kind: String,
    /// Who supplies it, where stated.
    pub supplier: Option<String>,
    /// Time in each state; `None` for a belt or table without states. They add up to the window exactly.
    pub states: Option<StateTimes>,
    /// Planned time and interruptions of this station; `None` without states.
    pub planned_times: Option<PlannedTimes>,
    /// Best rate of the station in its own pieces a minute, at the constraint the design rate; `None` where nothing limits
    /// it.
    pub ideal_rate_per_min: Option<f64>,
    /// Own and planned stops by reason; longest first.
    pub stops: Vec<StopResult>,
    /// Running times between own stops of any reason.
    #[serde(rename = "running_between_s")]
    pub running_between: TimeHistogram,
    /// Content, where the log gives one.
    pub content: Option<ContentResult>,
    /// Time at each content, where the log gives one.
    pub content_times: Option<ContentTimes>,
    /// Counters that moved in the window.
    pub counters: Vec<CounterResult>,
}

impl StationResult {
    /// What the counter of that word (see [`linewake_log::event::Counter::word`]) gained in the window, over all reasons.
    #[must_use]
    pub fn counted(&self, counter: linewake_log::event::Counter) -> u64 {
        self.counters.iter().filter(|row| row.counter == counter.word()).map(|row| row.value).sum()
    }

    /// Own stops that began in the window.
    #[must_use]
    pub fn own_stops(&self) -> u64 {
        self.stops.iter().filter(|stop| !stop.planned).map(|stop| stop.count).sum()
    }

    /// Running time / own stops, in seconds: the everyday estimator of the mean time between failures, dividing by
    /// the number of failures (the printed ISO 22400-2:2014 divides by that number + 1; from memory). `None` without
    /// stops or states.
    #[must_use]
    pub fn running_time_between_stops_s(&self) -> Option<f64> {
        let stops = self.own_stops();
        let states = self.states.as_ref()?;
        (stops > 0).then(|| states.running.seconds() / stops as f64)
    }

    /// Time in own stops / own stops, in seconds, waiting included. `None` without stops or states.
    #[must_use]
    pub fn time_to_restore_s(&self) -> Option<f64> {
        let stops = self.own_stops();
        let states = self.states.as_ref()?;
        (stops > 0).then(|| states.stopped().seconds() / stops as f64)
    }
}

/// Time of a station in each state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct StateTimes {
    /// Working on something.
    #[serde(rename = "running_s", serialize_with = "span_in_seconds")]
    pub running: Span,
    /// Waiting for something from upstream.
    #[serde(rename = "starved_s", serialize_with = "span_in_seconds")]
    pub starved: Span,
    /// Waiting for room downstream.
    #[serde(rename = "blocked_s", serialize_with = "span_in_seconds")]
    pub blocked: Span,
    /// In an own stop, waiting for an operator.
    #[serde(rename = "stopped_waiting_s", serialize_with = "span_in_seconds")]
    pub stopped_waiting: Span,
    /// In an own stop, being put right.
    #[serde(rename = "stopped_repair_s", serialize_with = "span_in_seconds")]
    pub stopped_repair: Span,
    /// In a planned stop.
    #[serde(rename = "planned_s", serialize_with = "span_in_seconds")]
    pub planned: Span,
}

impl StateTimes {
    /// Time in own stops.
    #[must_use]
    pub fn stopped(&self) -> Span {
        self.stopped_waiting + self.stopped_repair
    }

    /// Time in all states.
    #[must_use]
    pub fn all(&self) -> Span {
        self.running + self.starved + self.blocked + self.stopped() + self.planned
    }
}

/// Planned production time and interruptions of one station, as [`Oee`] has them for the constraint.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct PlannedTimes {
    /// Window less the planned stops of the station that are left out.
    #[serde(rename = "planned_production_time_s", serialize_with = "span_in_seconds")]
    pub planned_production_time: Span,
    /// Planned stops that are left out.
    #[serde(rename = "left_out_s", serialize_with = "span_in_seconds")]
    pub left_out: Span,
    /// Planned stops that count in planned production time and are neither a break nor a routine test.
    #[serde(rename = "set_up_s", serialize_with = "span_in_seconds")]
    pub set_up: Span,
    /// Interruptions of at least the short stop limit.
    pub long_interruptions: u64,
    /// Their time.
    #[serde(rename = "long_interruption_time_s", serialize_with = "span_in_seconds")]
    pub long_interruption_time: Span,
    /// Shorter interruptions.
    pub short_interruptions: u64,
    /// Their time.
    #[serde(rename = "short_interruption_time_s", serialize_with = "span_in_seconds")]
    pub short_interruption_time: Span,
}

/// Stops of a station for one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StopResult {
    /// The reason.
    pub reason: String,
    /// A planned stop: break, challenge, changeover.
    pub planned: bool,
    /// Stops that began in the window.
    pub count: u64,
    /// Time waiting for an operator.
    #[serde(rename = "waiting_s", serialize_with = "span_in_seconds")]
    pub waiting: Span,
    /// Time being put right; of a planned stop, its whole time.
    #[serde(rename = "repair_s", serialize_with = "span_in_seconds")]
    pub repair: Span,
    /// Stops that began in the window and were shorter than the short stop limit: of one under way at the end, by its
    /// length so far; breaks left out.
    pub minor_count: u64,
    /// Their time.
    #[serde(rename = "minor_time_s", serialize_with = "span_in_seconds")]
    pub minor_time: Span,
    /// Time of all stops that began in the window; less than the time of the stops where one was under way at its start.
    #[serde(rename = "begun_time_s", serialize_with = "span_in_seconds")]
    pub begun_time: Span,
    /// Lengths of the stops that began and ended in the window, breaks left out.
    #[serde(rename = "lengths_s")]
    pub lengths: TimeHistogram,
    /// Sum of those lengths.
    #[serde(rename = "ended_time_s", serialize_with = "span_in_seconds")]
    pub ended_time: Span,
    /// Sum of the squares of those lengths, in square microseconds.
    #[serde(skip)]
    pub length_squares_us2: u128,
    /// Running times of the station from the end of one stop of this reason to the begin of the next, for those that
    /// began in the window.
    #[serde(rename = "running_between_s")]
    pub running_between: TimeHistogram,
}

impl StopResult {
    /// Waiting and repair.
    #[must_use]
    pub fn time(&self) -> Span {
        self.waiting + self.repair
    }
}

/// Content of a belt, table, loader, web, gate or lane, in pieces.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ContentResult {
    /// Capacity, where it has one.
    pub capacity_pieces: Option<u32>,
    /// Content at the start of the window.
    pub at_start_pieces: u32,
    /// Content at the end.
    pub at_end_pieces: u32,
    /// Mean over the window; `None` where the log does not count it.
    pub mean_pieces: Option<f64>,
    /// Time full.
    #[serde(rename = "full_s", serialize_with = "span_in_seconds")]
    pub full: Span,
    /// Time empty.
    #[serde(rename = "empty_s", serialize_with = "span_in_seconds")]
    pub empty: Span,
}

/// What a counter gained in the window.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct CounterResult {
    /// Word of the counter, as in the log.
    pub counter: &'static str,
    /// Its reason; empty if it has none.
    pub reason: String,
    /// Gain in the window, in the unit of the counter.
    pub value: u64,
}

/// Good packs of one hour of the window (the last may be shorter). Counters are written every 10 s, so packs can be
/// counted up to 10 s late when the hour does not end on a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct OutputBin {
    /// Start of the hour.
    #[serde(rename = "start_s", serialize_with = "moment_in_seconds")]
    pub start: Moment,
    /// Its length within the window.
    #[serde(rename = "length_s", serialize_with = "span_in_seconds")]
    pub length: Span,
    /// Good packs.
    pub good_packs: u64,
}

/// Something wrong with a log, so that its result cannot be trusted as it stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// No `end` event: the result stops at the last event.
    NoEnd,
    /// The header tells of a warm-up, and its end is not in the log: everything was counted.
    NoWarmUpEnd,
    /// A station that should have states has none at some time; its id.
    NoState(String),
    /// A state row names another state than the one the station was in; id of the station and number of such rows.
    StateGap(String, u64),
    /// So many events lie before the one they follow.
    TimeGoesBack(u64),
    /// So many events name a station or reason that the header does not.
    UnknownName(u64),
}

pub(crate) fn span_in_seconds<S: Serializer>(span: &Span, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(span.seconds())
}

pub(crate) fn moment_in_seconds<S: Serializer>(moment: &Moment, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(moment.seconds())
}
