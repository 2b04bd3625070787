//! Rate ladder of the stages, and what gates and belts can pass and hold.

use super::pace::{cap_s, fastest_step, pace};
use super::shape::{Shape, kind_words};
use crate::line::{Line, StationIndex};
use crate::station::StationKind;
use serde::Serialize;

/// One stage of the rate ladder.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rung {
    /// Station id.
    pub station: String,
    /// What it is.
    pub kind: &'static str,
    /// Best rate in packs per minute: never waiting, never stopped, at its fastest speed step.
    pub best_packs_per_min: f64,
    /// How much faster than the constraint it is, as a share of the constraint's best rate; below 0 it is slower.
    pub margin_over_constraint: f64,
    /// What sets the rate, in words.
    pub set_by: String,
}

/// What a gate or belt can pass and hold.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ThroughputCapacity {
    /// Station id.
    pub station: String,
    /// What it is.
    pub kind: &'static str,
    /// Packs per minute that it passes at most; absent where nothing limits it.
    pub packs_per_min: Option<f64>,
    /// The same over the constraint's best rate, less 1.
    pub margin_over_constraint: Option<f64>,
    /// Time from the infeed to the end, or of one verdict.
    pub transit_s: f64,
    /// Pieces that it holds at most; absent for a table that never fills.
    pub holds_pieces: Option<f64>,
}

/// Rate per minute from a time in seconds; infinite where nothing limits.
pub(super) fn per_min(seconds: f64) -> f64 {
    if seconds > 0.0 { 60.0 / seconds } else { f64::INFINITY }
}

/// Picks for each pack when no pack is tagged.
pub(super) fn full_picks(shape: &Shape<'_>) -> f64 {
    shape.robot.map_or(0.0, |(_, robot)| 1.0 / f64::from(robot.gripper.max(1)))
}

/// Best rate of a station in packs per minute, with its fastest speed step.
pub(super) fn best_per_min(line: &Line, shape: &Shape<'_>, station: StationIndex) -> Option<f64> {
    let time_s = pace(line, shape, station, full_picks(shape), fastest_step(line, station)).time_s;
    (time_s > 0.0).then(|| per_min(time_s))
}

/// Best rate of the constraint in packs per minute; the design rate where nothing limits it.
pub(super) fn constraint_per_min(line: &Line, shape: &Shape<'_>) -> f64 {
    best_per_min(line, shape, line.constraint).unwrap_or(line.design_rate_per_min)
}

pub(super) fn ladder(line: &Line, shape: &Shape<'_>) -> Vec<Rung> {
    let constraint = constraint_per_min(line, shape);
    let stations = line.stations.iter().enumerate();
    stations
        .filter_map(|(index, station)| {
            let best = best_per_min(line, shape, index)?;
            Some(Rung {
                station: station.id.clone(),
                kind: kind_words(&station.kind),
                best_packs_per_min: best,
                margin_over_constraint: best / constraint - 1.0,
                set_by: set_by(&station.kind, shape),
            })
        })
        .collect()
}

fn set_by(kind: &StationKind, shape: &Shape<'_>) -> String {
    match kind {
        StationKind::BulkSupply(_) => "mean time of a batch".to_owned(),
        StationKind::Portioner(_) if shape.portions_per_pack > 1.0 => {
            format!("its rate, {} portions to a pack", shape.portions_per_pack)
        }
        StationKind::Portioner(_) => "its rate".to_owned(),
        StationKind::Accumulator(_) => "spacing of pieces, or transit time over capacity".to_owned(),
        StationKind::Loader(_) => "fill, load and return of an array".to_owned(),
        StationKind::Former(former) => {
            if cap_s(former) > former.dwell().seconds() + former.advance.seconds() {
                "the cap on its cycles".to_owned()
            } else {
                "longest function and advance".to_owned()
            }
        }
        StationKind::PickRobot(_) => "pick and place of a frame's groups".to_owned(),
        StationKind::RigidBelt(_) => "speed over pitch".to_owned(),
        StationKind::Gate(_) => "its rate".to_owned(),
        StationKind::CasePacker(_) => "cycle of a case".to_owned(),
        StationKind::Machine(_) => "mean processing time".to_owned(),
        StationKind::Arrivals(_) => "mean time between arrivals".to_owned(),
    }
}

pub(super) fn capacities(line: &Line, shape: &Shape<'_>) -> Vec<ThroughputCapacity> {
    let constraint = constraint_per_min(line, shape);
    let stations = line.stations.iter().enumerate();
    stations
        .filter_map(|(index, station)| {
            let packs_per_min = best_per_min(line, shape, index);
            let (transit_s, holds_pieces) = match &station.kind {
                StationKind::Accumulator(table) => (table.transit.seconds(), super::shape::capacity(table)),
                StationKind::RigidBelt(belt) => {
                    (belt.transit().seconds(), Some((belt.length_m / belt.pitch_m).floor()))
                }
                StationKind::Gate(gate) => (60.0 / gate.max_rate_per_min, Some(1.0)),
                _ => return None,
            };
            Some(ThroughputCapacity {
                station: station.id.clone(),
                kind: kind_words(&station.kind),
                packs_per_min,
                margin_over_constraint: packs_per_min.map(|rate| rate / constraint - 1.0),
                transit_s,
                holds_pieces,
            })
        })
        .collect()
}
