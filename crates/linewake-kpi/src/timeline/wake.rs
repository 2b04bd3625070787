//! The wake of a stop: the stations that it starved or blocked, one after the other.

use super::segments::Segment;
use super::{BandState, Wake, WakeReach};
use linewake_log::facts::kind;
use linewake_log::header::LineFacts;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// An own stop.
#[derive(Clone, Copy, Debug)]
pub(super) struct SeenStop {
    pub(super) station: usize,
    pub(super) reason: Reason,
    pub(super) start: Moment,
    pub(super) end: Moment,
    /// Its length without breaks.
    pub(super) length: Span,
}

/// Follows the stop in both directions; `segments` are those of all stations, `None` of one without states.
pub(super) fn wake_of(
    stop: &SeenStop,
    reason: String,
    facts: &LineFacts,
    segments: &[Option<Vec<Segment>>],
    pixel: u64,
) -> Wake {
    let follow = |stations: &mut dyn Iterator<Item = usize>, state: BandState| -> Vec<WakeReach> {
        let mut reaches = Vec::new();
        let (mut before, mut from, mut to) = (stop.station, stop.start, stop.end);
        for station in stations {
            let Some(segments) = segments.get(station).and_then(Option::as_ref) else { continue };
            let waits = segments.iter().filter(|it| it.pure && it.shows == state && it.length() >= pixel);
            let until = to + transit_between(facts, before, station);
            let Some(reach) = reach_of(waits, stop.start, from, until) else {
                // A rigid belt moves on when it is empty: it says nothing of the stations behind it.
                if facts.stations[station].kind == kind::RIGID_BELT {
                    continue;
                }
                break;
            };
            (before, from, to) = (station, reach.0, reach.1);
            reaches.push(WakeReach {
                station_index: station,
                station: facts.stations[station].id.clone(),
                state,
                start: reach.0,
                end: reach.1,
                waited: reach.2,
            });
        }
        reaches
    };
    let mut reaches = follow(&mut (0..stop.station).rev(), BandState::Blocked);
    reaches.reverse();
    reaches.extend(follow(&mut (stop.station + 1..facts.stations.len()), BandState::Starved));
    Wake {
        station_index: stop.station,
        station: facts.stations[stop.station].id.clone(),
        reason,
        start: stop.start,
        end: stop.end,
        stopped: stop.length,
        reaches,
    }
}

/// Start, end and time of the waits that touch the time from `from` to `until`; they count from `earliest` on.
fn reach_of<'a>(
    waits: impl Iterator<Item = &'a Segment>,
    earliest: Moment,
    from: Moment,
    until: Moment,
) -> Option<(Moment, Moment, Span)> {
    let mut reach: Option<(Moment, Moment, Span)> = None;
    for wait in waits.filter(|wait| wait.end > from && wait.start() <= until) {
        let start = wait.start().max(earliest);
        let (begin, _, waited) = reach.unwrap_or((start, start, Span::ZERO));
        reach = Some((begin, wait.end, waited + wait.end.since(start)));
    }
    reach
}

/// Empty-line transit time between two stations, from that of each to the constraint.
fn transit_between(facts: &LineFacts, one: usize, other: usize) -> Span {
    let constraint = usize::from(facts.constraint);
    let transit = |station: usize| facts.stations[station].transit_to_constraint;
    let same_side =
        (one <= constraint) == (other <= constraint) || (one >= constraint) == (other >= constraint);
    let (longer, shorter) = (transit(one).max(transit(other)), transit(one).min(transit(other)));
    if same_side { longer - shorter } else { longer + shorter }
}
