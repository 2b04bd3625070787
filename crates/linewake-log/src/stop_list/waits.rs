//! What lies between a constraint that waits and the stop that it waits for.
//!
//! A list tells stops, and of the constraint perhaps that it waited; it does not tell that the machines between waited
//! too. While the constraint waits for room, those between it and the nearest stop behind it are taken to wait for room
//! as well, and the same for product before it: otherwise they would seem to run, and the wait could not be charged to
//! the stop. Where no machine is stopped, nothing is taken to wait.

use super::layout::Stretch;
use crate::event::StationState;

/// Adds the waits of the machines between, for those that the list names.
pub(crate) fn pass_on(stations: &mut [Vec<Stretch>], constraint: usize, named: &[bool]) {
    let waits: Vec<Stretch> = stations.get(constraint).cloned().unwrap_or_default();
    let mut added: Vec<Vec<Stretch>> = vec![Vec::new(); stations.len()];
    for wait in &waits {
        let side: Vec<usize> = match wait.state {
            StationState::Blocked => (constraint + 1..stations.len()).collect(),
            StationState::Starved => (0..constraint).rev().collect(),
            _ => continue,
        };
        let mut bounds = vec![wait.start, wait.end];
        for &station in &side {
            let within = overlapping(&stations[station], wait.start, wait.end);
            bounds.extend(within.flat_map(|it| [it.start, it.end]));
        }
        bounds.retain(|&at| wait.start <= at && at <= wait.end);
        bounds.sort_unstable();
        bounds.dedup();
        for pair in bounds.windows(2) {
            let (start, end) = (pair[0], pair[1]);
            let doing = |station: usize| overlapping(&stations[station], start, end).next();
            let is_stop = |it: &Stretch| it.state.is_own_stop() || it.state == StationState::Planned;
            let Some(stop) = side.iter().position(|&station| doing(station).is_some_and(is_stop)) else {
                continue;
            };
            for &station in &side[..stop] {
                if named[station] && doing(station).is_none() {
                    add(&mut added[station], Stretch { line: 0, start, end, ..*wait });
                }
            }
        }
    }
    for (station, added) in stations.iter_mut().zip(added) {
        if !added.is_empty() {
            station.extend(added);
            station.sort_by_key(|it| it.start);
        }
    }
}

/// Adds a stretch to those before it, or makes the last one longer.
fn add(stretches: &mut Vec<Stretch>, next: Stretch) {
    match stretches.last_mut() {
        Some(last) if last.end == next.start && last.state == next.state => last.end = next.end,
        _ => stretches.push(next),
    }
}

/// Those of a station that overlap a stretch of time.
fn overlapping(stretches: &[Stretch], start: i64, end: i64) -> impl Iterator<Item = &Stretch> {
    let first = stretches.partition_point(|it| it.end <= start);
    stretches[first..].iter().take_while(move |it| it.start < end)
}
