//! Figures of one machine over a set of shifts, as plain data: OEE of its own, waits, minor and long stops, mean times
//! with intervals, histograms, elements and KPIs of ISO 22400-2.
//!
//! Types only; they are filled where statistics are known. Definitions stand in [`crate::definition`] under the symbols
//! named here.

use crate::content_times::ContentTimes;
use crate::histogram::TimeHistogram;
use crate::summary::Mean;
use serde::Serialize;

/// Figures of one station, averaged over shifts.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct MachineSummary {
    /// A, P, Q and OEE of the machine by itself; `None` for a station without states.
    pub oee: Option<MachineOee>,
    /// Starved time / window (symbol "starved"); `None` without states.
    pub starved_share: Option<Mean>,
    /// Blocked time / window (symbol "blocked"); `None` without states.
    pub blocked_share: Option<Mean>,
    /// Own stops shorter than the short stop limit; `None` without states.
    pub minor_stops: Option<StopClass>,
    /// Own stops of at least the short stop limit; `None` without states.
    pub long_stops: Option<StopClass>,
    /// Mean running time between own stops (symbol "MTBF"), over all shifts together; `None` without states or running
    /// time.
    pub time_between_stops: Option<MeanTime>,
    /// Mean time to restore (symbol "MTTR"), over all shifts together; `None` without states or stops.
    pub time_to_restore: Option<MeanTime>,
    /// Good / inspected at this station (symbol "FPY"); `None` where nothing is inspected.
    pub first_pass_yield: Option<Mean>,
    /// Pieces an hour of the window (symbol "throughput"); `None` where the log does not count them.
    pub throughput_per_h: Option<Mean>,
    /// Elements and KPIs of ISO 22400-2 that the log tells of this machine, in the order of [`crate::definition::KPIS`];
    /// empty without states.
    pub iso: Vec<KpiValue>,
    /// Histograms of its stops by reason, most stops first; the first row, with an empty reason, is all own stops
    /// together. Empty without stops.
    pub stops: Vec<StopTimes>,
    /// Time at each content, over all shifts together; `None` where the log gives no content.
    pub content_times: Option<ContentTimes>,
}

/// A, P, Q and OEE of one machine by itself: judged like the line at its constraint, against its own best rate and on
/// its own pieces. Waits count as losses; [`KpiValue`] "TE" leaves them out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MachineOee {
    /// Pieces a minute at which P is 1: the design rate at the constraint, else the best rate of the machine; `None`
    /// where nothing limits it, and then there is no P and no OEE.
    pub ideal_rate_per_min: Option<f64>,
    /// A of the machine.
    pub availability: Mean,
    /// P of the machine; `None` without a rate, pieces or A.
    pub performance: Option<Mean>,
    /// Q of the machine: pieces that were neither rejected nor spoilt at it / pieces; `None` without pieces.
    pub quality: Option<Mean>,
    /// A x P x Q; `None` where P is.
    pub oee: Option<Mean>,
    /// A_iso of the machine: running time / planned production time.
    pub availability_iso: Mean,
    /// P_iso of the machine; `None` as for P.
    pub performance_iso: Option<Mean>,
}

/// Own stops of one class of length, a shift. A stop counts in the shift in which it began, with its length up to the
/// end of the window and without breaks in it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct StopClass {
    /// How many.
    pub count: Mean,
    /// Their time, waiting for an operator included.
    pub time_s: Mean,
}

/// A mean time over all shifts together, with its interval at [`crate::summary::Summary::level`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeanTime {
    /// Time / events, in seconds; `None` without events.
    pub mean_s: Option<f64>,
    /// Lower end of the interval; `None` where none follows.
    pub low_s: Option<f64>,
    /// Upper end of the interval; `None` where none follows or it has no upper end (nothing failed).
    pub high_s: Option<f64>,
    /// Time that was watched, in seconds.
    pub time_s: f64,
    /// Stops.
    pub events: u64,
    /// How the interval was worked out and what it rests on, in words.
    pub method: &'static str,
}

/// One figure under a symbol of [`crate::definition`].
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct KpiValue {
    /// The symbol; its name, unit, formula and source stand in the definition.
    pub symbol: &'static str,
    /// The value in the unit of the definition: of an element the mean a shift, of a ratio that of the sums over the
    /// shifts. `None` when there is nothing to divide by.
    pub value: Option<Mean>,
}

/// Histograms of the stops of one station for one reason, exact counts over all shifts together.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct StopTimes {
    /// The reason; empty for all own stops of the station together.
    pub reason: String,
    /// Planned stops.
    pub planned: bool,
    /// Lengths of the stops that ended, waiting included, breaks left out.
    pub lengths: TimeHistogram,
    /// Running times of the station from the end of one stop of this reason to the begin of the next. What was cut off at
    /// the start or the end of a log is not in it.
    pub running_between: TimeHistogram,
}
