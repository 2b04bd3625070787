//! The steady rate of the line without stops, where the stations wait for one another.
//!
//! The slowest station sets it, unless two of them share a moment: the array must be loaded in a dwell, the web may
//! advance only once the pick zone is clear, and a gripper places only where the belt has room. These are followed
//! portion by portion and index by index, with mean work times, until the start has long been forgotten.

use super::pace::{cap_s, pace};
use super::shape::{Shape, stores};
use crate::line::{Line, StationIndex};
use crate::station::{PickRobot, StationKind};
use std::collections::VecDeque;
use std::ops::Range;

/// Seconds for each pack cut, without stops, when all stations of `range` must keep up with one another.
pub(super) fn seconds_per_pack(
    line: &Line,
    shape: &Shape<'_>,
    range: Range<StationIndex>,
    picks_per_pack: f64,
) -> f64 {
    let slowest = range
        .clone()
        .map(|station| pace(line, shape, station, picks_per_pack, 1.0).time_s)
        .fold(0.0, f64::max);
    let has_former = shape.former.is_some_and(|(former, _)| range.contains(&former));
    let together = if has_former { front_end_s(line, shape, &range) } else { 0.0 };
    slowest.max(together)
}

/// The part of the line from the portioner to the pick robot, as far as it lies in `range`.
fn front_end_s(line: &Line, shape: &Shape<'_>, range: &Range<StationIndex>) -> f64 {
    const ZONES: usize = 2_000;
    let Some((_, former)) = shape.former else {
        return 0.0;
    };
    let (dwell, advance, cap) = (former.dwell().seconds(), former.advance.seconds(), cap_s(former));
    let mut infeed = Infeed::of(line, shape, range);
    let mut loader = shape.loader.filter(|_| range.start < shape.former.map_or(0, |(former, _)| former));
    if loader.is_some_and(|loader| loader.lanes == 0 || loader.array_rows == 0) {
        loader = None;
    }
    let indexes = loader.map_or(1, |loader| loader.indexes_per_array.max(1));
    let mut pick_zone = PickZone::of(line, shape, range);
    let (mut dwell_start, mut belt_b_ready, mut belt_a_free) = (0.0_f64, 0.0_f64, 0.0_f64);
    let mut half_way = 0.0;
    for zone in 0..ZONES {
        if zone == ZONES / 2 {
            half_way = dwell_start;
        }
        let mut loaded = dwell_start;
        if let Some(loader) = loader {
            for _ in 0..loader.loads_per_zone.max(1) {
                let mut ready = 0.0;
                for lane in 0..loader.lanes {
                    for _ in 0..loader.array_rows {
                        belt_a_free = infeed.take(belt_a_free) + loader.take.seconds();
                    }
                    ready = belt_a_free.max(belt_b_ready) + loader.file_transfer.seconds();
                    belt_a_free = ready;
                    belt_b_ready =
                        ready + if lane + 1 < loader.lanes { loader.traverse.seconds() } else { 0.0 };
                }
                loaded = loaded.max(ready) + loader.load.seconds();
                belt_b_ready = loaded + loader.return_.seconds();
            }
        }
        for index in 0..indexes {
            let functions = dwell_start + dwell;
            let done = if index == 0 { functions.max(loaded) } else { functions };
            let arrives = done.max(pick_zone.clear) + advance;
            pick_zone.pick(arrives);
            dwell_start = arrives.max(dwell_start + cap);
        }
    }
    let packs = (ZONES / 2) as f64 * f64::from(indexes) * shape.packs_per_index();
    (dwell_start - half_way) / packs
}

/// Portioner and infeed belts: when the loader can take its next portion.
struct Infeed {
    cut_s: f64,
    transit_s: f64,
    release_s: f64,
    capacity: usize,
    /// When the portioner may begin its next cut.
    cut_start: f64,
    last_take: f64,
    /// Takes of the last `capacity` portions.
    takes: VecDeque<f64>,
}

impl Infeed {
    fn of(line: &Line, shape: &Shape<'_>, range: &Range<StationIndex>) -> Self {
        let mut infeed = Self {
            cut_s: 0.0,
            transit_s: 0.0,
            release_s: 0.0,
            capacity: 0,
            cut_start: 0.0,
            last_take: f64::NEG_INFINITY,
            takes: VecDeque::new(),
        };
        for station in range.clone().filter(|station| shape.is_before_packs(*station)) {
            match &line.stations[station].kind {
                StationKind::Portioner(_) => {
                    infeed.cut_s = pace(line, shape, station, 0.0, 1.0).time_s / shape.portions_per_pack;
                }
                StationKind::Accumulator(belt) if stores(belt) => {
                    infeed.capacity = infeed.capacity.saturating_add(belt.capacity as usize);
                    infeed.transit_s += belt.transit.seconds();
                    infeed.release_s = infeed.release_s.max(belt.release.seconds());
                }
                StationKind::RigidBelt(belt) => {
                    infeed.capacity = infeed.capacity.saturating_add((belt.length_m / belt.pitch_m) as usize);
                    infeed.transit_s += belt.transit().seconds();
                    infeed.release_s = infeed.release_s.max(belt.pitch().seconds());
                }
                _ => {}
            }
        }
        infeed
    }

    /// Takes the next portion, from `free` on.
    fn take(&mut self, free: f64) -> f64 {
        let cut = self.cut_start + self.cut_s;
        let spaced = self.last_take + self.release_s;
        let take = if self.capacity == 0 {
            let take = cut.max(free);
            self.cut_start = take;
            take
        } else {
            let room =
                if self.takes.len() >= self.capacity { self.takes.pop_front().unwrap_or(cut) } else { cut };
            let on_belt = cut.max(room);
            self.cut_start = on_belt;
            (on_belt + self.transit_s).max(free).max(spaced)
        };
        // A belt that never fills needs no memory of its takes.
        if self.capacity > 0 && self.capacity < 1_000_000 {
            self.takes.push_back(take);
        }
        self.last_take = take;
        take
    }
}

/// Pick robot and the belt behind it: when the pick zone is clear.
struct PickZone {
    groups: u32,
    pick_s: f64,
    place_s: f64,
    /// Time in which what lies behind the robot takes the packs of one gripper.
    slot_s: f64,
    robot_free: f64,
    last_place: f64,
    clear: f64,
}

impl PickZone {
    fn of(line: &Line, shape: &Shape<'_>, range: &Range<StationIndex>) -> Self {
        let mut zone = Self {
            groups: 0,
            pick_s: 0.0,
            place_s: 0.0,
            slot_s: 0.0,
            robot_free: 0.0,
            last_place: f64::NEG_INFINITY,
            clear: 0.0,
        };
        let robot = shape.robot.filter(|(station, _)| range.contains(station));
        if let (Some((station, robot)), Some((_, former))) = (robot, shape.former) {
            zone.groups = groups(robot, former.pockets());
            zone.pick_s = robot.pick_s.mean();
            zone.place_s = robot.place_s.mean();
            zone.slot_s = f64::from(robot.gripper) * pack_slot_s(line, shape, station + 1..range.end);
        }
        zone
    }

    fn pick(&mut self, arrives: f64) {
        let mut now = arrives.max(self.robot_free);
        self.clear = arrives.min(now);
        for _ in 0..self.groups {
            self.clear = now + self.pick_s;
            now = (self.clear + self.place_s).max(self.last_place + self.slot_s);
            self.last_place = now;
        }
        self.robot_free = now;
    }
}

/// Gripper groups of an index.
pub(super) fn groups(robot: &PickRobot, pockets: usize) -> u32 {
    u32::try_from(pockets).unwrap_or(u32::MAX).div_ceil(robot.gripper.max(1))
}

/// Longest time for one pack of the stations that follow without a store between them.
fn pack_slot_s(line: &Line, shape: &Shape<'_>, stations: Range<StationIndex>) -> f64 {
    let mut slot = 0.0_f64;
    for station in stations {
        match &line.stations[station].kind {
            StationKind::RigidBelt(_) | StationKind::Gate(_) | StationKind::Machine(_) => {
                slot = slot.max(pace(line, shape, station, 0.0, 1.0).time_s);
            }
            StationKind::Accumulator(table) if !stores(table) => {}
            _ => break,
        }
    }
    slot
}
