//! Expected stops and stand-alone efficiency of each station; how often consumables are changed.

use super::demand::Demand;
use super::expectation::mean_count;
use super::shape::{Shape, kind_words};
use super::stops::{Comes, StopRate};
use crate::line::Line;
use crate::stop::{Basis, StopMode};
use serde::Serialize;

/// What a station's own stops cost it when it never waits for others and the crew is never short.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StationStops {
    /// Station id.
    pub station: String,
    /// What it is.
    pub kind: &'static str,
    /// Own and planned stops in an hour of its running time.
    pub stops_per_running_h: f64,
    /// Stopped minutes, response included, for an hour of its running time.
    pub stopped_min_per_running_h: f64,
    /// Share of its time in which it is not stopped, 0 to 1, response included.
    pub stand_alone_efficiency: f64,
    /// Stop by stop: own modes in listed order, then fail-safes, then the challenge.
    pub modes: Vec<ModeStops>,
}

/// One stop mode of a station.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ModeStops {
    /// Reason.
    pub reason: String,
    /// An operator must come first.
    pub attended: bool,
    /// A planned stop.
    pub planned: bool,
    /// Stops in an hour of the station's running time.
    pub stops_per_running_h: f64,
    /// Mean length, response included.
    pub mean_length_s: f64,
    /// Stopped minutes for an hour of the station's running time.
    pub stopped_min_per_running_h: f64,
}

/// How often a consumable is changed: a stop whose count is that of a roll or magazine, or always the same.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ConsumableChange {
    /// Station id.
    pub station: String,
    /// Reason of the stop.
    pub reason: String,
    /// Mean cycles of the station between changes.
    pub cycles: f64,
    /// Packs cut between changes.
    pub packs: f64,
    /// Time between changes at the design rate, without stops.
    pub interval_s: f64,
    /// Mean length of the change, without response.
    pub change_s: f64,
}

pub(super) fn station_stops(line: &Line, shape: &Shape<'_>, demand: &Demand<'_>) -> Vec<StationStops> {
    let mut all = Vec::new();
    for (station, asked) in line.stations.iter().zip(&demand.stations) {
        if asked.stops.is_empty() {
            continue;
        }
        // A station without a time of its own (a table that only hands on) is taken as running all the time.
        let running_s = if asked.running_s() > 0.0 { asked.running_s() } else { 1.0 };
        let time_s = asked.time_s().max(running_s);
        let (mut per_pack, mut of_time) = (0.0, 0.0);
        for stop in &asked.stops {
            let (packs, seconds) = stop.alone(shape, 0.0);
            per_pack += packs * stop.whole.mean_s();
            of_time += seconds * stop.whole.mean_s();
        }
        let whole_s = (time_s + per_pack) / (1.0 - of_time).max(f64::MIN_POSITIVE);
        let modes: Vec<_> = asked
            .stops
            .iter()
            .map(|stop| {
                let stops_per_running_h = 3600.0 * stops_per_running_s(stop, shape, running_s, whole_s);
                let mean_length_s = stop.whole.mean_s();
                ModeStops {
                    reason: stop.reason.clone(),
                    attended: stop.attended,
                    planned: stop.planned,
                    stops_per_running_h,
                    mean_length_s,
                    stopped_min_per_running_h: stops_per_running_h * mean_length_s / 60.0,
                }
            })
            .collect();
        all.push(StationStops {
            station: station.id.clone(),
            kind: kind_words(&station.kind),
            stops_per_running_h: modes.iter().map(|mode| mode.stops_per_running_h).sum(),
            stopped_min_per_running_h: modes.iter().map(|mode| mode.stopped_min_per_running_h).sum(),
            stand_alone_efficiency: time_s / whole_s,
            modes,
        });
    }
    all
}

fn stops_per_running_s(stop: &StopRate<'_>, shape: &Shape<'_>, running_s: f64, whole_s: f64) -> f64 {
    match stop.comes {
        Comes::OnRunningBelt { between_s, .. } => 1.0 / between_s,
        _ => {
            let (per_pack, per_second) = stop.alone(shape, 0.0);
            (per_pack + per_second * whole_s) / running_s
        }
    }
}

pub(super) fn consumables(line: &Line, demand: &Demand<'_>) -> Vec<ConsumableChange> {
    let mut all = Vec::new();
    for (station, asked) in line.stations.iter().zip(&demand.stations) {
        let cycles_per_pack = asked.pace.cycles * asked.share;
        let is_consumable =
            |mode: &&StopMode| mode.basis == Basis::Count && (mode.consumable || mode.between.is_constant());
        for mode in station.stops.iter().filter(is_consumable) {
            let cycles = mean_count(&mode.between);
            let packs = if cycles_per_pack > 0.0 { cycles / cycles_per_pack } else { f64::INFINITY };
            all.push(ConsumableChange {
                station: station.id.clone(),
                reason: line.reason(mode.reason).to_owned(),
                cycles,
                packs,
                interval_s: packs * line.ideal_time_per_pack_s(),
                change_s: mode.duration_s.mean(),
            });
        }
    }
    all
}
