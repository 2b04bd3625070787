//! Stop Pareto: which stops cost how much, reason by station, over one or more shifts.

use crate::result::{CauseKind, ShiftResult, span_in_seconds};
use linewake_model::time::Span;
use serde::Serialize;
use std::collections::BTreeMap;

/// The stops of one or more shifts, the costliest first.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StopPareto {
    /// Shifts that the sums are over.
    pub shifts: usize,
    /// Packs charged to all rows, over all shifts.
    pub charged_packs: f64,
    /// One per station and reason.
    pub rows: Vec<ParetoRow>,
}

/// One reason at one station: sums over the shifts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ParetoRow {
    /// [`CauseKind::Stop`], [`CauseKind::Planned`] or [`CauseKind::Supply`].
    pub kind: CauseKind,
    /// Place of the station in the line.
    pub station_index: usize,
    /// Id of the station.
    pub station: String,
    /// Reason; empty for supply.
    pub reason: String,
    /// Stops that began (supply: not counted).
    pub count: u64,
    /// Time of the station in these stops, whether or not it held the constraint up (supply: time charged).
    #[serde(rename = "stopped_s", serialize_with = "span_in_seconds")]
    pub stopped: Span,
    /// The part of it in which the stop waited for an operator.
    #[serde(rename = "waiting_s", serialize_with = "span_in_seconds")]
    pub waiting: Span,
    /// Packs that the constraint did not make because of these stops, recovery from them included.
    pub packs: f64,
    /// The part of it that is recovery.
    pub recovery_packs: f64,
    /// Packs tagged as a consequence; not in `packs`.
    pub consequent_packs: u64,
    /// Share of all packs charged to stops, 0 to 1.
    pub share: f64,
    /// Sum of the shares down to this row, 0 to 1.
    pub cumulative_share: f64,
}

impl StopPareto {
    /// The Pareto of these shifts; rows with most packs first, then longest, then in line order. A planned stop that
    /// is left out of planned production time has its minutes and no packs.
    #[must_use]
    pub fn of(shifts: &[ShiftResult]) -> Self {
        let mut rows: BTreeMap<(usize, CauseKind, String), ParetoRow> = BTreeMap::new();
        for shift in shifts {
            add_stops(&mut rows, shift);
            add_causes(&mut rows, shift);
        }
        let mut rows: Vec<ParetoRow> = rows.into_values().collect();
        rows.sort_by(|one, other| other.packs.total_cmp(&one.packs).then(other.stopped.cmp(&one.stopped)));
        let charged_packs = rows.iter().map(|row| row.packs).sum();
        let mut cumulative = 0.0;
        for row in &mut rows {
            row.share = if charged_packs > 0.0 { row.packs / charged_packs } else { 0.0 };
            cumulative += row.share;
            row.cumulative_share = cumulative;
        }
        Self { shifts: shifts.len(), charged_packs, rows }
    }
}

type Rows = BTreeMap<(usize, CauseKind, String), ParetoRow>;

fn add_stops(rows: &mut Rows, shift: &ShiftResult) {
    for (place, station) in shift.stations.iter().enumerate() {
        for stop in &station.stops {
            let kind = if stop.planned { CauseKind::Planned } else { CauseKind::Stop };
            let row = row_of(rows, kind, place, &station.id, &stop.reason);
            row.count += stop.count;
            row.stopped += stop.time();
            row.waiting += stop.waiting;
        }
    }
}

fn add_causes(rows: &mut Rows, shift: &ShiftResult) {
    for cause in &shift.ledger.causes {
        let Some(place) = cause.station_index else { continue };
        let kind = match cause.kind {
            CauseKind::Stop | CauseKind::Planned | CauseKind::Supply => cause.kind,
            CauseKind::Recovery => stop_recovered_from(shift, place, &cause.reason),
            CauseKind::Rate | CauseKind::StartUp | CauseKind::Unknown => continue,
        };
        let row = row_of(rows, kind, place, &cause.station, &cause.reason);
        row.packs += cause.packs;
        row.consequent_packs += cause.consequent_packs;
        if cause.kind == CauseKind::Recovery {
            row.recovery_packs += cause.packs;
        }
        if kind == CauseKind::Supply {
            row.stopped += cause.time;
        }
    }
}

/// Recovery follows an empty hopper (no reason), a planned stop or an own stop.
fn stop_recovered_from(shift: &ShiftResult, place: usize, reason: &str) -> CauseKind {
    if reason.is_empty() {
        return CauseKind::Supply;
    }
    let stops = shift.stations.get(place).map(|station| station.stops.as_slice()).unwrap_or_default();
    match stops.iter().find(|stop| stop.reason == reason) {
        Some(stop) if stop.planned => CauseKind::Planned,
        _ => CauseKind::Stop,
    }
}

fn row_of<'a>(
    rows: &'a mut Rows,
    kind: CauseKind,
    place: usize,
    station: &str,
    reason: &str,
) -> &'a mut ParetoRow {
    rows.entry((place, kind, reason.to_owned())).or_insert_with(|| ParetoRow {
        kind,
        station_index: place,
        station: station.to_owned(),
        reason: reason.to_owned(),
        count: 0,
        stopped: Span::ZERO,
        waiting: Span::ZERO,
        packs: 0.0,
        recovery_packs: 0.0,
        consequent_packs: 0,
        share: 0.0,
        cumulative_share: 0.0,
    })
}
