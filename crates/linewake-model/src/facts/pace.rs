//! The best pace of each station by itself: its own time and running time for a pack that reaches it.

use super::shape::{Shape, array_portions, capacity};
use crate::line::{Line, StationIndex};
use crate::station::{Former, Loader, PickRobot, StationKind};
use crate::time::Span;

/// Own time of a station, in seconds, for each pack that reaches it at set speed.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Pace {
    /// From one pack to the next when it never waits and never stops; 0 where nothing limits it.
    pub(super) time_s: f64,
    /// The part of it in which it is running.
    pub(super) running_s: f64,
    /// Its cycles (portions, arrays, indexes, picks, packs, cases, pieces, batches).
    pub(super) cycles: f64,
    /// The longest wait for the cap on the speed in a cycle. The cap is a limit on the clock: it does not pause in a
    /// stop, so that an own stop costs up to this much less than its length.
    pub(super) wait_for_cap_s: f64,
}

/// The pace of a station at a share of its set speed. `picks_per_pack` is the robot's: fully tagged groups are left
/// behind. The speed of a former is its cap: dwell and advance are no set speed.
pub(super) fn pace(
    line: &Line,
    shape: &Shape<'_>,
    station: StationIndex,
    picks_per_pack: f64,
    speed: f64,
) -> Pace {
    let pieces = shape.pieces_per_pack(station);
    let always = |seconds: f64, cycles: f64| Pace {
        time_s: seconds / speed,
        running_s: seconds / speed,
        cycles,
        ..Pace::default()
    };
    match &line.stations[station].kind {
        StationKind::BulkSupply(supply) => {
            let batches = shape.pack_g().map_or(0.0, |grams| grams * 1e6 / (supply.batch_ug.max(1) as f64));
            always(supply.preparation_s.mean() * batches, batches)
        }
        StationKind::Portioner(portioner) => {
            always(Span::from_seconds(60.0 / portioner.rate_per_min).seconds() * pieces, pieces)
        }
        StationKind::Accumulator(accumulator) => {
            let transit = match capacity(accumulator) {
                Some(capacity) if capacity > 0.0 => accumulator.transit.seconds() / capacity,
                _ => 0.0,
            };
            always(accumulator.release.seconds().max(transit) * pieces, pieces)
        }
        StationKind::Loader(loader) => {
            let times = LoaderTimes::of(loader);
            let arrays = shape.arrays_per_pack();
            let time_s = times.belt_b_s.max(times.belt_a_s) * arrays;
            let running_s = times.belt_b_s * arrays / speed;
            Pace { time_s: time_s / speed, running_s, cycles: arrays, ..Pace::default() }
        }
        StationKind::Former(former) => former_pace(former, shape.loader, speed),
        StationKind::PickRobot(robot) => always(picks_per_pack * robot_group_s(robot), picks_per_pack),
        StationKind::RigidBelt(belt) => always(belt.pitch().seconds() * pieces, pieces),
        StationKind::Gate(gate) => {
            always(Span::from_seconds(60.0 / gate.max_rate_per_min).seconds() * pieces, pieces)
        }
        StationKind::CasePacker(packer) => {
            let cases = 1.0 / f64::from(packer.packs_per_case.max(1));
            always(packer.cycle.seconds() * cases, cases)
        }
        StationKind::Machine(machine) => always(machine.process_s.mean() * pieces, pieces),
        StationKind::Arrivals(arrivals) => always(arrivals.between_s.mean() * pieces, pieces),
    }
}

/// Largest share of its set speed at which a station can run.
pub(super) fn fastest_step(line: &Line, station: StationIndex) -> f64 {
    let steps = line.stations[station].speed_control.iter().flat_map(|control| &control.steps);
    let fastest = steps.map(|step| step.share).fold(0.0, f64::max);
    if fastest > 0.0 { fastest } else { 1.0 }
}

/// Mean time of one gripper cycle in seconds.
pub(super) fn robot_group_s(robot: &PickRobot) -> f64 {
    robot.pick_s.mean() + robot.place_s.mean()
}

/// The times of the loader's two belts for one array, in seconds.
#[derive(Clone, Copy, Debug)]
pub(super) struct LoaderTimes {
    /// Transfers of all files and the traverses between them.
    pub(super) fill_s: f64,
    /// Belt B: fill, load, return.
    pub(super) belt_b_s: f64,
    /// Belt A: takes all portions and passes all files.
    pub(super) belt_a_s: f64,
}

impl LoaderTimes {
    pub(super) fn of(loader: &Loader) -> Self {
        let lanes = f64::from(loader.lanes);
        let transfers = lanes * loader.file_transfer.seconds();
        let fill_s = transfers + (lanes - 1.0).max(0.0) * loader.traverse.seconds();
        Self {
            fill_s,
            belt_b_s: fill_s + loader.load.seconds() + loader.return_.seconds(),
            belt_a_s: array_portions(loader) * loader.take.seconds() + transfers,
        }
    }

    /// Time of all loads into one zone, from the first load's start to the last load's end, when files never lack.
    pub(super) fn zone_load_s(&self, loader: &Loader) -> f64 {
        let loads = f64::from(loader.loads_per_zone.max(1));
        loads * loader.load.seconds() + (loads - 1.0) * (loader.return_.seconds() + self.fill_s)
    }
}

/// Length of a cycle that the cap on the speed asks for, in seconds; 0 without a cap.
pub(super) fn cap_s(former: &Former) -> f64 {
    former.max_cycles_per_min.map_or(0.0, |cap| Span::from_seconds(60.0 / cap).seconds())
}

/// The former by itself: with each zone one dwell waits for its loads if they take longer than the functions.
fn former_pace(former: &Former, loader: Option<&Loader>, speed: f64) -> Pace {
    let (dwell, advance, cap) = (former.dwell().seconds(), former.advance.seconds(), cap_s(former) / speed);
    let own = (dwell + advance).max(cap);
    let (indexes, load) = loader.map_or((1.0, 0.0), |loader| {
        (f64::from(loader.indexes_per_array.max(1)), LoaderTimes::of(loader).zone_load_s(loader))
    });
    let waited = (load - dwell).max(0.0);
    let loaded = (dwell + waited + advance).max(cap);
    let per_pack = 1.0 / (indexes * former.pockets().max(1) as f64);
    let others = (indexes - 1.0) * own;
    Pace {
        time_s: (others + loaded) * per_pack,
        running_s: (others + loaded - waited) * per_pack,
        cycles: indexes * per_pack,
        wait_for_cap_s: (cap - dwell - advance).max(0.0),
    }
}
