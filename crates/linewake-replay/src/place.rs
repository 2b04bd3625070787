//! The one rule of where a piece stands at an instant; `placesAt` in the script is the same, line for line.

use crate::{ItemReplay, Layout, MotionMark, Replay, WebReplay};

/// Where one item stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Its place in [`Replay::items`].
    pub item: usize,
    /// Place of the station in the line.
    pub station: usize,
    /// Where in the station.
    pub spot: Spot,
}

/// Where in a station a piece stands.
#[derive(Clone, Debug, PartialEq)]
pub enum Spot {
    /// In the machine.
    Inside,
    /// Along a belt: 0 at its beginning, 1 at its end.
    Along(f64),
    /// In the loader: the lane and row in which it will lie, counted from 0; its file is complete, or still on belt A
    /// (also complete, while the array before it lies on B).
    Array {
        /// Lane.
        lane: u32,
        /// Row in the file.
        row: u32,
        /// All portions of its file are there, and it belongs to the first array.
        complete: bool,
    },
    /// On the web: positions from forming; whole but during an advance.
    Web {
        /// Position.
        position: f64,
        /// Lane.
        lane: u32,
        /// Row in the index.
        row: u32,
    },
    /// In the robot's gripper.
    Gripper {
        /// Lane in which it lay.
        lane: u32,
        /// Row in which it lay.
        row: u32,
    },
    /// In the lane of the case packer: so many are before it.
    Lane(u32),
}

/// Where every item of the replay stands at that instant, in the order of [`Replay::items`].
///
/// - On a belt or table an item is as far as its motion has brought it since it came, at set speed, but no further than
///   the queue lets it: each item before it takes one place (length over capacity). Before it are those that came
///   earlier; on a side table those that came later.
/// - On a rigid belt it is as far as the belt has moved since it came, at set speed.
/// - On the web it stands at its position; an advance moves it evenly over the last `advance` of the former's running
///   time before the advance is over. In the pick zone it lies still until it is picked.
/// - In the loader the log tells who is there, not on which belt: the n-th of those present lies in the place of the n-th;
///   what belongs to the next array is on A.
#[must_use]
pub fn places_at(replay: &Replay, t_us: u64) -> Vec<Place> {
    let present: Vec<(usize, usize, u64, u64)> = replay
        .items
        .iter()
        .enumerate()
        .filter_map(|(item, it)| current(it, t_us).map(|(station, at, clock)| (item, station, at, clock)))
        .collect();
    let mut of_station: Vec<Vec<(u64, usize)>> = vec![Vec::new(); replay.stations.len()];
    for &(item, station, at, _) in &present {
        of_station[station].push((at, item));
    }
    for queue in &mut of_station {
        queue.sort_unstable();
    }
    let advanced = replay.web.as_ref().map_or(0.0, |web| advances_at(replay, web, t_us));
    present
        .into_iter()
        .map(|(item, station, at, clock)| {
            let queue = &of_station[station];
            let before = queue.partition_point(|entry| *entry < (at, item));
            let spot = spot(replay, item, station, clock, before, queue.len(), advanced, t_us);
            Place { item, station, spot }
        })
        .collect()
}

#[expect(clippy::too_many_arguments, reason = "what the rule of one item rests on")]
fn spot(
    replay: &Replay,
    item: usize,
    station: usize,
    clock: u64,
    before: usize,
    there: usize,
    advanced: f64,
    t_us: u64,
) -> Spot {
    let it = &replay.items[item];
    let moved = || clock_at(&replay.stations[station].motion, t_us) as f64 - clock as f64;
    match replay.stations[station].layout {
        Layout::Hopper | Layout::Single => Spot::Inside,
        Layout::Queue { transit_us, places, last_in_first_out } => {
            let ahead = if last_in_first_out { there - 1 - before } else { before };
            let travelled = if transit_us == 0 { 1.0 } else { moved() / transit_us as f64 };
            let queued = 1.0 - ahead as f64 / f64::from(places.max(1));
            Spot::Along(travelled.min(queued).clamp(0.0, 1.0))
        }
        Layout::Rigid { transit_us, .. } => {
            let travelled = if transit_us == 0 { 1.0 } else { moved() / transit_us as f64 };
            Spot::Along(travelled.clamp(0.0, 1.0))
        }
        Layout::Array { lanes, rows } => {
            let (rows, lanes) = (rows.max(1) as usize, lanes.max(1) as usize);
            let file = before / rows;
            Spot::Array {
                lane: (file % lanes) as u32,
                row: (before % rows) as u32,
                complete: file < lanes && (file + 1) * rows <= there,
            }
        }
        Layout::Web => replay.web.as_ref().map_or(Spot::Inside, |web| {
            let (frame, lane, row) = pocket(web, it.number);
            Spot::Web { position: f64::from(web.cut) - frame as f64 + advanced, lane, row }
        }),
        Layout::PickZone { .. } => replay.web.as_ref().map_or(Spot::Inside, |web| {
            let (_, lane, row) = pocket(web, it.number);
            if it.picked_us.is_some_and(|picked| picked <= t_us) {
                Spot::Gripper { lane, row }
            } else {
                Spot::Web { position: f64::from(web.cut) + 1.0, lane, row }
            }
        }),
        Layout::Lane { .. } => Spot::Lane(before as u32),
    }
}

/// Station, begin and clock reading of where the item is at that instant.
fn current(item: &ItemReplay, t_us: u64) -> Option<(usize, u64, u64)> {
    if item.gone.is_some_and(|gone| gone.at_us <= t_us) {
        return None;
    }
    let visit = item.visits.iter().rev().find(|visit| visit.1 <= t_us)?;
    Some((usize::from(visit.0), visit.1, visit.2))
}

/// Frame, lane and row of a pocket: pockets are numbered frame by frame, lane by lane, in row order.
fn pocket(web: &WebReplay, number: u64) -> (u64, u32, u32) {
    let rows = u64::from(web.rows_per_index.max(1));
    let pockets = u64::from(web.lanes.max(1)) * rows;
    let place = number % pockets;
    (number / pockets, (place / rows) as u32, (place % rows) as u32)
}

/// The clock of motion at that instant.
fn clock_at(motion: &[MotionMark], t_us: u64) -> u64 {
    let after = motion.partition_point(|mark| mark.0 <= t_us);
    match after.checked_sub(1).map(|place| motion[place]) {
        None => motion.first().map_or(0, |mark| mark.1),
        Some(MotionMark(_, clock, 0)) => clock,
        Some(MotionMark(at, clock, _)) => clock + (t_us - at),
    }
}

/// Advances at that instant, with the part of the one under way.
fn advances_at(replay: &Replay, web: &WebReplay, t_us: u64) -> f64 {
    let done = web.advances.partition_point(|advance| advance.0 <= t_us);
    let whole = (web.advances_before + done as u64) as f64;
    let Some(&(_, clock_then)) = web.advances.get(done) else {
        return whole;
    };
    if web.advance_us == 0 {
        return whole;
    }
    let left = clock_then as f64 - clock_at(&replay.stations[web.station].motion, t_us) as f64;
    whole + (1.0 - left / web.advance_us as f64).clamp(0.0, 1.0)
}
