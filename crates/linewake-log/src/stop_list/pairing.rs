//! Which start and which end are meant, where a time can be read in more than one way.
//!
//! Of all readings that one is taken which agrees with the duration, if there is one; then one whose end lies behind
//! its start; then the shortest stop; then the one nearest to
//! the end of the row before; then the one in the first stated form.

use super::clock::{Clock, Reading};
use super::stops::AGREES_WITHIN;

/// How the end lies to the start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Order {
    /// Behind it (or at the same time), as it should be.
    Forward,
    /// Before it on the same date, because the stop lasted over midnight.
    NextDay,
    /// Before it, because they were exchanged.
    Reversed,
}

/// A start and an end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pair {
    pub(crate) start: i64,
    pub(crate) end: i64,
    pub(crate) order: Order,
    /// What the cell of the start means.
    pub(crate) first: Reading,
    /// What the cell of the end means.
    pub(crate) second: Reading,
}

/// The reading nearest to the end of the row before; the first one if there is none.
pub(crate) fn nearest(readings: &[Reading], before: Option<i64>) -> Option<Reading> {
    readings.iter().copied().min_by_key(|reading| distance(reading.at, before))
}

fn distance(at: i64, before: Option<i64>) -> u64 {
    before.map_or(0, |before| at.abs_diff(before))
}

/// The pair that is meant; `ends` has the readings of the end for each of the starts.
pub(crate) fn best(
    clock: &Clock,
    starts: &[Reading],
    ends: &[Vec<Reading>],
    duration: Option<i64>,
    before: Option<i64>,
) -> Option<Pair> {
    let mut pairs = Vec::new();
    for (&first, ends) in starts.iter().zip(ends) {
        for &second in ends {
            pairs.extend(orders(clock, first, second));
        }
    }
    pairs.into_iter().min_by_key(|pair| {
        let length = pair.end - pair.start;
        let disagrees = duration.is_some_and(|duration| (duration - length).abs() > AGREES_WITHIN);
        (disagrees, pair.order != Order::Forward, length, distance(pair.start, before))
    })
}

/// The ways in which a start and an end can be meant.
fn orders(clock: &Clock, first: Reading, second: Reading) -> Vec<Pair> {
    let pair = |start, end, order| Pair { start, end, order, first, second };
    if second.at >= first.at {
        return vec![pair(first.at, second.at, Order::Forward)];
    }
    let mut ways = vec![pair(second.at, first.at, Order::Reversed)];
    if first.civil.date() == second.civil.date()
        && let Ok(next_day) = second.civil.tomorrow()
        && let Some(end) = clock.moment(next_day)
    {
        ways.push(pair(first.at, end, Order::NextDay));
    }
    ways
}
