//! What is kept of one run of a study: one line of JSON.

use linewake_kpi::convention::Conventions;
use linewake_kpi::result::{CauseKind, ShiftResult};
use serde::{Deserialize, Serialize};

/// The figures of one run. All times are seconds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunRecord {
    /// Number of the job, from 0: designs within replications, see [`crate::plan::StudyPlan`].
    pub job: u64,
    /// Place of the design in the plan.
    pub design: u32,
    /// Replication: runs of the same number share their luck.
    pub replication: u64,
    /// Good packs.
    pub good_packs: u64,
    /// Packs cut.
    pub total_packs: u64,
    /// OEE.
    pub oee: f64,
    /// Planned production time.
    pub planned_production_time_s: f64,
    /// Planned production time x design rate.
    pub design_packs: f64,
    /// Time in which stops waited for an operator, over all stations.
    pub waiting_s: f64,
    /// Good packs of each hour of the window, where the study asks for them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub good_by_hour: Vec<u64>,
    /// Good packs of each bin from the start of the run, warm-up included, where the study asks for them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub good_by_bin: Vec<u64>,
    /// From design to good, where the study asks for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ledger: Option<LedgerRecord>,
    /// When the order was done; `None` if it was not, or there was none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finished_s: Option<f64>,
}

/// Losses of one run.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LedgerRecord {
    /// Time of the constraint, charged to causes.
    pub causes: Vec<CauseRecord>,
    /// Rejects and scrap.
    pub rejects: Vec<RejectRecord>,
    /// Stops of the stations.
    pub stops: Vec<StopRecord>,
    /// Interruptions of the constraint of at least the short stop limit: what availability loses.
    #[serde(default)]
    pub long_interruptions_s: f64,
    /// Slow cycles; may be negative.
    pub slow_cycles_packs: f64,
    /// Empty pockets cut.
    pub empty_pockets: u64,
    /// Change of what is still in the line.
    pub still_in_line_packs: i64,
}

/// A row of the ledger.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CauseRecord {
    /// Sort of cause.
    pub kind: CauseKind,
    /// Place of the station in the line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<usize>,
    /// Reason.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub reason: String,
    /// Packs.
    pub packs: f64,
    /// Packs tagged as a consequence.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub consequent_packs: u64,
}

/// Rejects for one reason in one bin.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RejectRecord {
    /// Place of the station whose bin they are in.
    pub station: usize,
    /// Reason.
    pub reason: String,
    /// Packs.
    pub packs: u64,
}

/// Stops of one station for one reason.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StopRecord {
    /// Place of the station.
    pub station: usize,
    /// Reason.
    pub reason: String,
    /// A planned stop.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub planned: bool,
    /// Stops that began.
    pub count: u64,
    /// Their time, waiting included.
    pub time_s: f64,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
fn is_zero(count: &u64) -> bool {
    *count == 0
}

/// What a study asks of its runs besides the plain figures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Keep {
    /// Good packs by the hour.
    pub hours: bool,
    /// The ledger of losses.
    pub ledger: bool,
}

impl RunRecord {
    /// The record of a run.
    #[must_use]
    pub fn of(job: u64, design: u32, replication: u64, result: &ShiftResult, keep: Keep) -> Self {
        let waiting = |station: &linewake_kpi::result::StationResult| {
            station.states.as_ref().map_or(0.0, |states| states.stopped_waiting.seconds())
        };
        Self {
            job,
            design,
            replication,
            good_packs: result.oee.good_packs,
            total_packs: result.oee.total_packs,
            oee: result.oee.oee,
            planned_production_time_s: result.oee.planned_production_time.seconds(),
            design_packs: result.ledger.design_packs,
            waiting_s: result.stations.iter().map(waiting).sum(),
            good_by_hour: if keep.hours {
                result.output.iter().map(|bin| bin.good_packs).collect()
            } else {
                Vec::new()
            },
            good_by_bin: Vec::new(),
            ledger: keep.ledger.then(|| LedgerRecord::of(result)),
            finished_s: None,
        }
    }

    /// Good packs an hour of planned production time; 0 without any.
    #[must_use]
    pub fn packs_per_h(&self) -> f64 {
        if self.planned_production_time_s > 0.0 {
            self.good_packs as f64 * 3600.0 / self.planned_production_time_s
        } else {
            0.0
        }
    }
}

impl LedgerRecord {
    fn of(result: &ShiftResult) -> Self {
        let ledger = &result.ledger;
        let causes = ledger.causes.iter().map(|row| CauseRecord {
            kind: row.kind,
            station: row.station_index,
            reason: row.reason.clone(),
            packs: row.packs,
            consequent_packs: row.consequent_packs,
        });
        let rejects = ledger.rejects.iter().map(|row| RejectRecord {
            station: row.station_index,
            reason: row.reason.clone(),
            packs: row.packs,
        });
        let stops = result.stations.iter().enumerate().flat_map(|(place, station)| {
            station.stops.iter().map(move |stop| StopRecord {
                station: place,
                reason: stop.reason.clone(),
                planned: stop.planned,
                count: stop.count,
                time_s: stop.time().seconds(),
            })
        });
        Self {
            causes: causes.collect(),
            rejects: rejects.collect(),
            stops: stops.collect(),
            long_interruptions_s: result.oee.long_interruption_time.seconds(),
            slow_cycles_packs: ledger.slow_cycles_packs,
            empty_pockets: ledger.empty_pockets,
            still_in_line_packs: ledger.still_in_line_packs,
        }
    }

    /// Packs that the log charges to an own stop (`planned`: a planned one): the constraint's lost time with recovery, and
    /// the packs spoilt by it.
    #[must_use]
    pub fn charged_to_stop(&self, station: usize, reason: &str, planned: bool) -> f64 {
        let kind = if planned { CauseKind::Planned } else { CauseKind::Stop };
        let rows = self.causes.iter().filter(|row| {
            let is_kind = row.kind == kind || row.kind == CauseKind::Recovery && !row.reason.is_empty();
            is_kind && row.station == Some(station) && row.reason == reason
        });
        rows.map(|row| row.packs + row.consequent_packs as f64).sum()
    }

    /// Packs rejected for a reason, in the bin of a station or in all.
    #[must_use]
    pub fn rejected(&self, station: Option<usize>, reason: &str) -> f64 {
        let rows = self
            .rejects
            .iter()
            .filter(|row| row.reason == reason && station.is_none_or(|station| station == row.station));
        rows.map(|row| row.packs as f64).sum()
    }

    /// Count and time of the stops of a station for a reason.
    #[must_use]
    pub fn stops_of(&self, station: usize, reason: &str) -> (f64, f64) {
        let rows = self.stops.iter().filter(|row| row.station == station && row.reason == reason);
        rows.fold((0.0, 0.0), |(count, time), row| (count + row.count as f64, time + row.time_s))
    }
}

/// What was chosen where published metrics contradict each other, in the head of a journal.
pub(crate) fn convention_words(conventions: Conventions) -> String {
    format!("{conventions:?}")
}
