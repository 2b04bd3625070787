//! The waits that one station would not have had: its two runs held against each other, piece by piece.

use super::trace::{StationTrace, What};
use linewake_model::time::{Moment, Span};
use std::collections::BTreeMap;

/// A stretch in which a station waits and would not have waited.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Extra {
    pub(super) start: Moment,
    pub(super) end: Moment,
    pub(super) what: What,
}

/// How the extra wait up to a piece stands.
struct Point {
    at: Moment,
    /// Waited with the stop less without, in microseconds.
    extra: i64,
}

/// The extra waits from that moment on.
///
/// *Rule*: W(n) is the time that the station has waited when piece n comes in (of the former: when the web has moved on n
/// times), in either run; the extra wait is E(n) = W with - W without, for the pieces that come in in both. Rises of E
/// of at least `least` count; smaller swings are how a station waits between two pieces. Of the wait before a piece its
/// last part counts: the first part it would have waited anyway.
pub(super) fn extra_waits(
    with: &StationTrace,
    without: &StationTrace,
    from: Moment,
    end: Moment,
    least: Span,
) -> Vec<Extra> {
    let points = points(with, without, from, end);
    let mut found = Vec::new();
    for (low, high) in rises(&points, least.0 as i64) {
        for pair in points[low..=high].windows(2) {
            let more = pair[1].extra - pair[0].extra;
            if more > 0 {
                last_waits(with, pair[0].at, pair[1].at, more as u64, &mut found);
            }
        }
    }
    joined(found)
}

fn points(with: &StationTrace, without: &StationTrace, from: Moment, end: Moment) -> Vec<Point> {
    let known: BTreeMap<u64, usize> =
        without.entries.iter().enumerate().map(|(place, entry)| (entry.number, place)).collect();
    let mut points = vec![Point { at: from, extra: 0 }];
    let mut last: Option<(usize, u64)> = None;
    for entry in &with.entries {
        let Some(place) = known.get(&entry.number) else { continue };
        if entry.at > from {
            let extra = entry.waited as i64 - without.entries[*place].waited as i64;
            points.push(Point { at: entry.at, extra });
        }
        last = Some((*place, entry.waited));
    }
    // After the last piece that came in: against the wait before the next piece without the stop.
    if let (Some((place, waited)), Some(point)) = (last, points.last()) {
        let whole = waits_within(with, Moment::ZERO, end);
        let allowed = without.entries.get(place + 1).map(|next| next.waited - without.entries[place].waited);
        if let Some(allowed) = allowed {
            let more = (whole.saturating_sub(waited)).saturating_sub(allowed) as i64;
            let extra = point.extra + more;
            points.push(Point { at: end, extra });
        }
    }
    points
}

fn waits_within(station: &StationTrace, from: Moment, to: Moment) -> u64 {
    let waits = station.stretches.iter().filter(|it| it.what != What::PutIn);
    waits.map(|it| it.end.min(to).since(it.start.max(from)).0).sum()
}

/// From a low to a high of the extra wait, by places in the list.
fn rises(points: &[Point], least: i64) -> Vec<(usize, usize)> {
    let mut legs = Vec::new();
    let (mut low, mut high, mut rising) = (0, 0, false);
    for place in 0..points.len() {
        let extra = points[place].extra;
        if rising {
            if extra > points[high].extra {
                high = place;
            } else if points[high].extra - extra >= least {
                legs.push((low, high));
                (rising, low) = (false, place);
            }
        } else if extra <= points[low].extra {
            low = place;
        } else if extra - points[low].extra >= least {
            (rising, high) = (true, place);
        }
    }
    if rising {
        legs.push((low, high));
    }
    legs
}

/// The last `length` microseconds of waiting between the two moments.
fn last_waits(station: &StationTrace, from: Moment, to: Moment, length: u64, into: &mut Vec<Extra>) {
    let mut left = length;
    let upto = station.stretches.partition_point(|it| it.start < to);
    let mut taken = Vec::new();
    for stretch in station.stretches[..upto].iter().rev() {
        if stretch.end <= from || left == 0 {
            break;
        }
        if stretch.what == What::PutIn {
            continue;
        }
        let (start, end) = (stretch.start.max(from), stretch.end.min(to));
        let take = left.min(end.since(start).0);
        left -= take;
        if take > 0 {
            taken.push(Extra { start: Moment(end.0 - take), end, what: stretch.what });
        }
    }
    into.extend(taken.into_iter().rev());
}

fn joined(found: Vec<Extra>) -> Vec<Extra> {
    let mut joined: Vec<Extra> = Vec::new();
    for extra in found {
        match joined.last_mut() {
            Some(last) if last.what == extra.what && last.end == extra.start => last.end = extra.end,
            _ => joined.push(extra),
        }
    }
    joined
}
