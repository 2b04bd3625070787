//! Identities that hold in the long run of every line, looked at in the runs of the reference table.
//!
//! *Source*: flow balance, Little (1961), Operations Research 9(3), and the renewal-reward theorem (from memory).

use crate::checks::Check;
use crate::observer::Window;
use crate::quantities::Seen;
use linewake_log::event::{Counter, StationState};
use linewake_model::station::{Machine, StationKind};
use linewake_model::stop::{Basis, StopMode};

/// What is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Identity {
    /// The states of each station add up to the length of the window, to the microsecond.
    StatesAddUp,
    /// What a station before a storage handed over has left it or is in it.
    PiecesAreKept,
    /// Time working = pieces x mean service time.
    WorkingTime,
    /// Time under repair = running time (or pieces) / mean between stops x mean repair.
    RepairTime,
    /// Content of the line = throughput x time in line.
    Little,
}

/// How an identity held at one place: the difference in standard errors; for the exact ones the number of failures.
#[derive(Clone, Debug)]
pub(crate) struct Deviation {
    pub(crate) identity: Identity,
    pub(crate) place: String,
    pub(crate) size: f64,
}

/// All identities of one check.
pub(crate) fn deviations(check: &Check, seen: &Seen<'_>) -> Vec<Deviation> {
    let mut all = Vec::new();
    let mut add = |identity, place: &str, size: f64| {
        all.push(Deviation { identity, place: format!("{} {place}", check.id), size });
    };
    for (number, station) in seen.model.line.stations.iter().enumerate() {
        match &station.kind {
            StationKind::Machine(machine) => {
                let wrong = seen
                    .windows
                    .iter()
                    .filter(|window| window.stations[number].time_us.iter().sum::<u64>() != window.length_us);
                add(Identity::StatesAddUp, &station.id, wrong.count() as f64);
                if let Some(size) = working_time(seen, number, machine) {
                    add(Identity::WorkingTime, &station.id, size);
                }
                for stop in &station.stops {
                    if let Some(size) = repair_time(seen, number, stop) {
                        add(Identity::RepairTime, &station.id, size);
                    }
                }
            }
            StationKind::Accumulator(_) => {
                let wrong = seen.windows.iter().filter(|window| !keeps_pieces(window, number));
                add(Identity::PiecesAreKept, &station.id, wrong.count() as f64);
            }
            _ => {}
        }
    }
    if let Some(size) = little(check, seen) {
        add(Identity::Little, "", size);
    }
    all
}

/// Of a mean that is zero in the long run, in its standard errors; `None` where there is no chance.
fn in_errors(seen: &Seen<'_>, difference: impl Fn(&Window) -> f64) -> Option<f64> {
    let mean = seen.share(difference);
    (mean.standard_error > 0.0).then(|| mean.mean / mean.standard_error)
}

fn working_time(seen: &Seen<'_>, number: usize, machine: &Machine) -> Option<f64> {
    let mean_us = machine.process_s.mean() * 1e6;
    in_errors(seen, |window| {
        let station = &window.stations[number];
        station.in_state(StationState::Running) - mean_us * station.counted(Counter::Made)
    })
}

fn repair_time(seen: &Seen<'_>, number: usize, stop: &StopMode) -> Option<f64> {
    let (between, repair_us) = (stop.between.mean(), stop.duration_s.mean() * 1e6);
    let several = seen.model.line.stations[number].stops.len() > 1;
    in_errors(seen, |window| {
        let station = &window.stations[number];
        let stops = match stop.basis {
            Basis::RunningTime => station.in_state(StationState::Running) / (between * 1e6),
            Basis::Count => station.counted(Counter::Made) / between,
            // Up in any state: the clock stands still in the stop alone.
            Basis::CalendarTime => (window.length_us as f64 - station.down()) / (between * 1e6),
        };
        let under_repair = if several {
            station.stopped_us.get(&stop.reason).map_or(0.0, |us| *us as f64)
        } else {
            station.in_state(StationState::StoppedRepair)
        };
        under_repair - stops * repair_us
    })
}

fn keeps_pieces(window: &Window, storage: usize) -> bool {
    let into = window.stations[storage - 1].counted_from_start(Counter::HandedOver);
    let out = window.stations[storage].counted_from_start(Counter::HandedOver);
    into == out + u64::from(window.stations[storage].content_at_end)
}

/// A machine holds a piece unless it is starved; with time-dependent failures it may be down without one, so those
/// lines are left out.
fn little(check: &Check, seen: &Seen<'_>) -> Option<f64> {
    if check.id.starts_with('C') || check.kind == "machine_interference" {
        return None;
    }
    let (machines, storages) = (&seen.model.machines, &seen.model.storages);
    let last = seen.model.line.stations.len() - 1;
    in_errors(seen, |window| {
        let stored: f64 =
            storages.iter().map(|place| window.stations[*place].counted(Counter::ContentTime)).sum();
        let held: f64 = machines
            .iter()
            .map(|place| window.length_us as f64 - window.stations[*place].in_state(StationState::Starved))
            .sum();
        stored + held - window.stations[last].counted(Counter::TimeInLine)
    })
}
