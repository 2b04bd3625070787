//! What a set of shifts amounted to, as plain data: means with their intervals, and the range of one shift.
//!
//! Types only. The averaging is done where statistics are known; tables, pages and files are made elsewhere. All
//! times are seconds. "A shift" is the window of one run: the whole run, or what follows its warm-up.

use crate::convention::{Conventions, MinorStops, Split};
use crate::machine::{KpiValue, MachineSummary};
use crate::result::CauseKind;
use crate::timeline::ShiftTimeline;
use linewake_log::header::ShiftStart;
use serde::Serialize;

/// A figure a shift, averaged over shifts, and how sure the average is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Mean {
    /// Mean over the shifts. Of a share (A, P, Q, OEE): sum of numerators / sum of denominators, so that OEE =
    /// A x P x Q holds for the summary as for one shift.
    pub mean: f64,
    /// Half the width of the confidence interval of the mean at [`Summary::level`]; `None` from a single shift.
    pub half_width: Option<f64>,
    /// Shifts that it is the mean of.
    pub n: usize,
}

/// The range in which one shift falls: 10th to 90th percentile of the shifts. It says nothing of the mean.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ShiftRange {
    /// 10th percentile.
    pub p10: f64,
    /// 90th percentile.
    pub p90: f64,
}

/// How a shift begins: two different promises.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StartKind {
    /// Everything new and the line empty: a shift that starts with new rolls.
    NewRolls,
    /// Consumables part used, warm-up dropped: a shift of the long run.
    LongRun,
    /// As a log has it that does not tell how its shift began, such as one of a real line.
    Logged,
}

impl StartKind {
    /// What the log of a shift tells of its start.
    #[must_use]
    pub fn of(told: Option<ShiftStart>) -> Self {
        match told {
            Some(ShiftStart::NewRolls) => Self::NewRolls,
            Some(ShiftStart::LongRun) => Self::LongRun,
            None => Self::Logged,
        }
    }
}

/// What the shifts of one kind of start amounted to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summary {
    /// How a shift begins.
    pub start: StartKind,
    /// Confidence level of all intervals, for example 0.95.
    pub level: f64,
    /// Length of the window of one shift, breaks included.
    pub window_s: f64,
    /// Warm-up dropped before it; 0 if none.
    pub warm_up_s: f64,
    /// Design rate in packs per minute.
    pub design_rate_per_min: f64,
    /// Shortest interruption that counts against availability; to be printed beside A and P.
    pub short_stop_limit_s: f64,
    /// What was chosen where published metrics contradict each other; to be named beside OEE and its factors.
    pub conventions: Conventions,
    /// Id of the station on which the OEE is judged.
    pub constraint: String,
    /// Id of the station whose hand-over makes a pack good.
    pub good_after: String,
    /// Id of the station that counts the total.
    pub total_at: String,
    /// Mean planned production time of a shift.
    pub planned_production_time_s: f64,
    /// Mean time of the planned stops that are left out of it.
    pub left_out_s: f64,
    /// Good packs a shift.
    pub good_packs: Mean,
    /// Range of the good packs of one shift; `None` from less than ten shifts.
    pub good_packs_range: Option<ShiftRange>,
    /// OEE.
    pub oee: Mean,
    /// Range of the OEE of one shift; `None` from less than ten shifts.
    pub oee_range: Option<ShiftRange>,
    /// A: minor stops are a performance loss.
    pub availability: Mean,
    /// P; `None` when total or A is zero in all shifts.
    pub performance: Option<Mean>,
    /// Q; `None` when total or A is zero in all shifts.
    pub quality: Option<Mean>,
    /// A_iso: running time / planned production time, the split in which every minor stop is an availability loss.
    pub availability_iso: Mean,
    /// P_iso, which goes with it; `None` when total, A or running time is zero in all shifts.
    pub performance_iso: Option<Mean>,
    /// Good / (total - still in the line), for information; `None` when there is nothing to divide by.
    pub quality_without_in_line: Option<Mean>,
    /// Interruptions of the constraint of at least the short stop limit, a shift.
    pub long_interruptions: Mean,
    /// Their time a shift.
    pub long_interruption_time_s: Mean,
    /// Shorter interruptions of the constraint, a shift.
    pub short_interruptions: Mean,
    /// Their time a shift.
    pub short_interruption_time_s: Mean,
    /// Where the packs are.
    pub packs: PacksSummary,
    /// From design to good, a shift.
    pub ledger: LedgerSummary,
    /// Stops by station and reason, most packs first; complete.
    pub pareto: Vec<ParetoSummaryRow>,
    /// One per station, in line order.
    pub stations: Vec<StationSummary>,
    /// Elements and KPIs of ISO 22400-2 that the logs tell of the line at its constraint, in the order of
    /// [`crate::definition::KPIS`].
    pub iso: Vec<KpiValue>,
    /// One shift over time, for the pictures; not in a file of results. `None` where it was not drawn up.
    #[serde(skip)]
    pub timeline: Option<ShiftTimeline>,
    /// Good packs by the hour of the window.
    pub output: Vec<HourSummary>,
    /// Where every portion is, over all shifts together; `None` where it was not drawn up.
    pub balance: Option<Balance>,
    /// One per shift, in order of replication.
    pub shifts: Vec<ShiftFigures>,
    /// What is wrong with a log, in words, if anything; to be printed beside the result.
    pub doubts: Vec<String>,
}

impl Summary {
    /// The split that the conventions choose.
    #[must_use]
    pub fn split(&self) -> Split<Mean> {
        self.split_by(self.conventions.minor_stops)
    }

    /// Availability and performance under that choice; the OEE is the same under either.
    #[must_use]
    pub fn split_by(&self, minor_stops: MinorStops) -> Split<Mean> {
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

/// Where the packs of a shift are.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PacksSummary {
    /// Packs cut.
    pub total_packs: Mean,
    /// Good packs in a case; `None` if the line does not end in a case packer.
    pub good_in_cases_packs: Option<Mean>,
    /// Good packs that wait for a case (change in the window); `None` if the line does not end in a case packer.
    pub good_waiting_packs: Option<Mean>,
    /// Cases made.
    pub cases: Mean,
    /// Good packs with a defect that nothing found, by defect.
    pub escaped: Vec<ReasonMean>,
    /// Packs rejected or scrapped between cutting and the last gate.
    pub rejected_packs: Mean,
    /// Empty pockets cut.
    pub empty_pockets: Mean,
    /// Packs cut and not yet past the last gate at the start of the window.
    pub in_line_at_start_packs: Mean,
    /// Packs cut and not yet past the last gate at the end.
    pub in_line_at_end_packs: Mean,
}

/// So many packs a shift for one reason.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReasonMean {
    /// The reason.
    pub reason: String,
    /// Packs.
    pub packs: Mean,
}

/// Mean losses from design to good: design - causes - slow cycles - empty pockets - rejects - still in the line =
/// good, up to the rounding of floating-point sums.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LedgerSummary {
    /// Planned production time x design rate.
    pub design_packs: Mean,
    /// Time in which the constraint did not run, by cause; largest first; complete. A cause that is missing in a
    /// shift counts there as 0.
    pub causes: Vec<CauseSummary>,
    /// Running time x design rate - packs cut - empty pockets; may be negative.
    pub slow_cycles_packs: Mean,
    /// Empty pockets cut.
    pub empty_pockets: Mean,
    /// Rejects and scrap by place and reason; largest first; complete.
    pub rejects: Vec<RejectSummary>,
    /// Change of what is still in the line; may be negative after a warm-up.
    pub still_in_line_packs: Mean,
    /// Good packs.
    pub good_packs: Mean,
}

impl LedgerSummary {
    /// Design less all rows less good, in packs: nothing but the rounding of floating-point sums.
    #[must_use]
    pub fn residual_packs(&self) -> f64 {
        let stops: f64 = self.causes.iter().map(|row| row.packs.mean).sum();
        let rejects: f64 = self.rejects.iter().map(|row| row.packs.mean).sum();
        self.design_packs.mean
            - stops
            - self.slow_cycles_packs.mean
            - self.empty_pockets.mean
            - rejects
            - self.still_in_line_packs.mean
            - self.good_packs.mean
    }
}

/// Time a shift charged to one cause.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CauseSummary {
    /// What sort of cause.
    pub kind: CauseKind,
    /// Place of the station in `stations`; `None` for start-up and unknown.
    pub station_index: Option<usize>,
    /// Id of the station; empty for start-up and unknown.
    pub station: String,
    /// Reason of the stop (for recovery: of the stop that it follows); empty for supply, rate, start-up, unknown.
    pub reason: String,
    /// Time charged.
    pub time_s: f64,
    /// The part of it in which the stop waited for an operator.
    pub waiting_s: f64,
    /// Packs: time charged x design rate.
    pub packs: Mean,
    /// Packs of the waiting.
    pub waiting_packs: f64,
    /// Packs tagged as a consequence; they are lost in the reject rows and shown here besides.
    pub consequent_packs: f64,
}

/// Packs a shift rejected or scrapped at one place for one reason.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RejectSummary {
    /// Place of the station in `stations`.
    pub station_index: usize,
    /// Id of the station whose bin they are in.
    pub station: String,
    /// The reason of the verdict or tag.
    pub reason: String,
    /// Packs.
    pub packs: Mean,
    /// The reason is the consequence of a stop.
    pub consequence_of_stop: bool,
}

/// One reason at one station, a shift (see [`crate::pareto::ParetoRow`]).
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ParetoSummaryRow {
    /// [`CauseKind::Stop`], [`CauseKind::Planned`] or [`CauseKind::Supply`].
    pub kind: CauseKind,
    /// Place of the station in the line.
    pub station_index: usize,
    /// Id of the station.
    pub station: String,
    /// Reason; empty for supply.
    pub reason: String,
    /// Stops that began; `None` for supply, whose waits are not counted.
    pub count: Option<Mean>,
    /// Time of the station in these stops (supply: time charged), waiting and repair.
    pub stopped_s: Mean,
    /// The part of it in which the stop waited for an operator.
    pub waiting_s: f64,
    /// Packs that the constraint did not make because of these stops, recovery included.
    pub packs: Mean,
    /// The part of it that is recovery.
    pub recovery_packs: f64,
    /// Packs tagged as a consequence; not in `packs`.
    pub consequent_packs: f64,
    /// Share of all packs charged to the rows, 0 to 1.
    pub share: f64,
    /// Sum of the shares down to this row, 0 to 1.
    pub cumulative_share: f64,
}

impl ParetoSummaryRow {
    /// Time of the stops in which somebody put them right (or they cleared by themselves).
    #[must_use]
    pub fn repair_s(&self) -> f64 {
        self.stopped_s.mean - self.waiting_s
    }
}

/// What one station did in a shift.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationSummary {
    /// Id of the station.
    pub id: String,
    /// Its kind, as in a model file.
    pub kind: String,
    /// Mean time in each state; `None` for a belt or table without states. They add up to the window.
    pub states: Option<StateMeans>,
    /// Own stops that began.
    pub own_stops: f64,
    /// Running time / own stops, over all shifts together; `None` without stops or states.
    pub running_time_between_stops_s: Option<f64>,
    /// Time in own stops / own stops, over all shifts together; `None` without stops or states.
    pub time_to_restore_s: Option<f64>,
    /// Pieces finished.
    pub made_pieces: f64,
    /// Content of a belt, table, loader, web or lane; `None` where the log gives none.
    pub content: Option<ContentSummary>,
    /// OEE of its own, minor and long stops, mean times, histograms and ISO 22400-2 figures.
    pub machine: MachineSummary,
}

/// Mean time a shift in each state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct StateMeans {
    /// Working on something.
    pub running_s: f64,
    /// Waiting for something from upstream.
    pub starved_s: f64,
    /// Waiting for room downstream.
    pub blocked_s: f64,
    /// In an own stop, waiting for an operator.
    pub stopped_waiting_s: f64,
    /// In an own stop, being put right.
    pub stopped_repair_s: f64,
    /// In a planned stop.
    pub planned_s: f64,
}

impl StateMeans {
    /// Time in any state but running.
    #[must_use]
    pub fn not_running_s(&self) -> f64 {
        self.starved_s + self.blocked_s + self.stopped_waiting_s + self.stopped_repair_s + self.planned_s
    }
}

/// Content of a belt, table, loader, web or lane, in pieces.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ContentSummary {
    /// Capacity, where it has one.
    pub capacity_pieces: Option<u32>,
    /// Mean over the windows; `None` where the log does not count it.
    pub mean_pieces: Option<f64>,
    /// Share of the windows in which it was full, 0 to 1.
    pub full_share: f64,
    /// Share of the windows in which it was empty, 0 to 1.
    pub empty_share: f64,
}

/// Good packs of one hour of the window (the last may be shorter).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HourSummary {
    /// Start of the hour, from the start of the run.
    pub start_s: f64,
    /// Its length within the window.
    pub length_s: f64,
    /// Good packs.
    pub good_packs: Mean,
    /// Range of this hour in one shift; `None` from less than ten shifts.
    pub range: Option<ShiftRange>,
}

/// Where every portion is, over all shifts together: came in = the sum of the rows, exactly.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Balance {
    /// Word for what is counted: "portions", or "pieces" in a line of generic machines.
    pub unit: String,
    /// Portions cut by the portioner (or pieces that arrived) in the windows.
    pub came_in: u64,
    /// Where they went; in the line: content at the end less content at the start, which may be negative after a
    /// warm-up.
    pub rows: Vec<BalanceRow>,
}

impl Balance {
    /// Came in less the sum of the rows: 0 when every portion is accounted for.
    #[must_use]
    pub fn difference(&self) -> i64 {
        let sum: i64 = self.rows.iter().map(|row| row.count).sum();
        i64::try_from(self.came_in).unwrap_or(i64::MAX).saturating_sub(sum)
    }
}

/// Portions that went one way.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct BalanceRow {
    /// Which way.
    pub place: BalancePlace,
    /// Id of the station.
    pub station: String,
    /// Reason; empty where there is none.
    pub reason: String,
    /// Portions.
    pub count: i64,
}

/// Where a portion can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BalancePlace {
    /// In a case, or past the end of a line that does not end in a case packer.
    Case,
    /// In a reject bin.
    Bin,
    /// Scrapped before or between, such as dropped, or lost because an arrival found no room.
    Scrap,
    /// Still in the line.
    Line,
}

impl BalancePlace {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Case => "in a case",
            Self::Bin => "in a reject bin",
            Self::Scrap => "scrapped",
            Self::Line => "in the line",
        }
    }
}

/// The figures of one shift, for the table of shifts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ShiftFigures {
    /// Number of the replication, from 0.
    pub replication: u64,
    /// Good packs.
    pub good_packs: u64,
    /// Packs cut.
    pub total_packs: u64,
    /// OEE.
    pub oee: f64,
    /// A.
    pub availability: f64,
    /// P; `None` when total or A is zero.
    pub performance: Option<f64>,
    /// Q; `None` when total or A is zero.
    pub quality: Option<f64>,
    /// A_iso: running time / planned production time.
    pub availability_iso: f64,
    /// P_iso; `None` when total, A or running time is zero.
    pub performance_iso: Option<f64>,
}
