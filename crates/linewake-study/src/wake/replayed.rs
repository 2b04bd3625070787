//! The run with the stops as data for the moving picture.

use super::WakeQuestion;
use linewake_kpi::study::wake::WakeResult;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_replay::record::Recorder;
use linewake_replay::{Replay, WakeMark};

/// Shown before the first stop.
const LEAD: Span = Span(90_000_000);
/// Shown after the wake.
const TAIL: Span = Span(180_000_000);
/// Longest stretch of which every pack is kept: about 3 MB of data in a line of 80 packs a minute.
const LONGEST: Span = Span(2_400_000_000);

/// The stretch round the wake of which every pack is kept: from 90 s before the first stop to 180 s after the wake, 40
/// min at most.
#[must_use]
pub fn replay_window(found: &WakeResult) -> (Moment, Moment) {
    let first = found.stops.iter().filter_map(|stop| stop.start_s).fold(f64::INFINITY, f64::min);
    let first = if first.is_finite() { first } else { found.run_s };
    let at = |seconds: f64| Moment(Span::from_seconds(seconds).0);
    let from = Moment(at(first).0.saturating_sub(LEAD.0));
    let to = at(found.recovery.free_s) + TAIL;
    (from, to.min(from + LONGEST).min(at(found.run_s)))
}

/// The run with the stops, to be drawn: its wake marked, and the contents without the stops beside.
#[must_use]
pub fn replayed(line: &Line, question: &WakeQuestion, found: &WakeResult) -> Replay {
    let (from, to) = replay_window(found);
    let of = |plan: &linewake_engine::plan::RunPlan| {
        let mut recorder = Recorder::new(line, plan.horizon, from, to);
        linewake_engine::run(line, plan, question.seed, question.replication, &mut recorder);
        recorder.finish()
    };
    let mut replay = of(&question.plan_with(line));
    replay.beside(&of(&question.plan_without(line)));
    let at = |seconds: f64| Span::from_seconds(seconds).0;
    replay.wake = found
        .stations
        .iter()
        .flat_map(|station| station.stretches.iter().map(move |it| (station.station_index, it)))
        .map(|(station, it)| WakeMark { station, start_us: at(it.start_s), end_us: at(it.end_s) })
        .collect();
    replay
}
