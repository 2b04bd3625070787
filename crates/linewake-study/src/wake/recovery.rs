//! How the line came back: when the last station was free, and whether the good packs caught up.

use super::trace::Trace;
use super::waits::Extra;
use linewake_kpi::study::wake::WakeRecovery;
use linewake_log::header::LineFacts;
use linewake_model::line::{Line, StationIndex};
use linewake_model::time::{Moment, Span};

/// So many packs, at the design rate, after the way from the farthest station the wake has passed the last gate.
const PACKS_LATER: u64 = 10;

pub(super) fn recovery(
    line: &Line,
    facts: &LineFacts,
    with: &Trace,
    without: &Trace,
    struck: &[(StationIndex, Moment, Moment)],
    wake: &[Vec<Extra>],
) -> WakeRecovery {
    let end = with.end;
    let first = struck.iter().map(|stop| stop.1).min().unwrap_or(end);
    let stop_end = struck.iter().map(|stop| stop.2).max().unwrap_or(end);
    let free = wake.iter().flatten().map(|it| it.end).max().map_or(stop_end, |last| last.max(stop_end));
    let not_over = stop_end >= end || wake.iter().flatten().any(|it| it.end >= end);

    // Delays of the good packs that both runs made, in the order in which they came with the stop, breaks left out.
    let mut delays: Vec<(Moment, i64)> = with
        .good
        .iter()
        .filter_map(|(pack, at)| {
            let other = without.good.get(pack)?;
            let delay = line_time(line, *at) as i64 - line_time(line, *other) as i64;
            (*at > first).then_some((*at, delay))
        })
        .collect();
    delays.sort_unstable();
    // What the last station held up comes to the last gate so much later, at most.
    let way = facts.stations.iter().map(|it| it.transit_to_constraint.0).max().unwrap_or(0);
    let ideal = Span::from_seconds(line.ideal_time_per_pack_s()).0 as i64;
    let until = free + Span(way) + Span(PACKS_LATER * ideal.unsigned_abs());
    let in_wake = delays.iter().filter(|it| it.0 <= until);
    let largest = in_wake.map(|it| it.1).max().unwrap_or(0).max(0);
    let caught_up = if largest <= ideal {
        Some(first)
    } else {
        let peak = delays.iter().position(|it| it.1 == largest).unwrap_or(0);
        delays[peak..].iter().find(|it| it.1 <= ideal).map(|it| it.0)
    };
    WakeRecovery {
        stop_end_s: stop_end.seconds(),
        free_s: free.seconds(),
        recovery_s: free.since(stop_end).seconds(),
        not_over,
        largest_delay_s: largest as f64 / 1e6,
        caught_up_s: caught_up.map(Moment::seconds),
        delay_at_end_s: delays.last().map_or(0.0, |it| it.1 as f64 / 1e6),
    }
}

/// Calendar time less the breaks before it, in microseconds.
fn line_time(line: &Line, at: Moment) -> u64 {
    let before = line.shift.breaks.iter().map(|pause| at.since(pause.start).0.min(pause.duration.0));
    at.0 - before.sum::<u64>()
}
