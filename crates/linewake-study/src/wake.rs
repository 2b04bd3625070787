//! What a stop put in on purpose does to the rest of the line: the same run with and without it, same luck.
//!
//! Both runs are held against each other piece by piece (`waits`): so a machine that only works a few seconds later
//! than it would have is not taken for one that waits. What touches the stop, station by station, is its wake (`chain`).

mod absorbed;
mod ask;
mod chain;
mod recovery;
mod replayed;
mod trace;
mod waits;

#[cfg(test)]
mod tests;

pub use ask::{AskError, parse_stop};
pub use replayed::{replay_window, replayed};

use crate::mean::mean;
use crate::replicate::{ReplicateError, Workers, run_once};
use linewake_engine::plan::{InjectedStop, RunPlan};
use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::study::Method;
use linewake_kpi::study::wake::{
    PutInStop, StationWake, WakeOverRuns, WakePacks, WakeRecovery, WakeResult, WakeStretch,
};
use linewake_log::header::LineFacts;
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::StationKind;
use linewake_model::time::{Moment, Span};
use trace::{Trace, What};
use waits::{Extra, extra_waits};

/// Smaller swings of the extra wait are how a station waits between two pieces.
const LEAST_RISE: Span = Span(1_000_000);

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct WakeQuestion {
    /// The stops, at least one.
    pub stops: Vec<InjectedStop>,
    /// The line has its own stops besides.
    pub random_luck: bool,
    /// Seed of both runs.
    pub seed: u64,
    /// Number of the shift, from 0.
    pub replication: u64,
}

impl WakeQuestion {
    /// The plan of the run with the stops: a shift that starts with everything new.
    #[must_use]
    pub fn plan_with(&self, line: &Line) -> RunPlan {
        RunPlan { injected: self.stops.clone(), ..self.plan_without(line) }
    }

    /// The plan of the run without them.
    #[must_use]
    pub fn plan_without(&self, line: &Line) -> RunPlan {
        RunPlan { own_stops: self.random_luck, ..RunPlan::shift(line) }
    }
}

/// Runs the line with and without the stops and tells what they did.
#[must_use]
pub fn wake(line: &Line, question: &WakeQuestion) -> WakeResult {
    let facts = LineFacts::of(line);
    let (with, counted) = traced(line, &facts, question, &question.plan_with(line));
    let (without, counted_without) = traced(line, &facts, question, &question.plan_without(line));
    let end = with.end;

    let put_in = put_in(line, question, &with, end);
    let struck: Vec<(StationIndex, Moment, Moment)> = struck(&with);
    let first = struck.iter().map(|stop| stop.1).min().unwrap_or(end);
    let extra: Vec<Vec<Extra>> = (0..line.stations.len())
        .map(|station| {
            let least = least_rise(line, station);
            extra_waits(&with.stations[station], &without.stations[station], first, end, least)
        })
        .collect();
    let wake = chain::wake_of(line, &facts, &struck, &extra);
    let stations: Vec<StationWake> = (0..line.stations.len())
        .filter(|&station| facts.stations[station].has_states)
        .map(|station| station_wake(&facts, station, &with, &without, &wake[station]))
        .collect();
    let recovery = recovery::recovery(line, &facts, &with, &without, &struck, &wake);
    let free = Span::from_seconds(recovery.free_s);
    let between = absorbed::between(line, &stations, &with, &without, (first, Moment(free.0)));
    WakeResult {
        model_name: line.name.clone(),
        model_digest: line.digest.clone(),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: question.seed,
        replication: question.replication,
        random_luck: question.random_luck,
        run_s: end.seconds(),
        notes: notes(question, &put_in, &recovery),
        stops: put_in,
        stations,
        between,
        packs: packs(&counted, &counted_without),
        recovery,
        over_runs: None,
        methods: methods(),
    }
}

/// Good packs that the stops cost in each of so many shifts, and their mean.
///
/// # Errors
/// [`ReplicateError::Interrupted`] if the stop flag of the workers was raised.
pub fn over_runs(
    line: &Line,
    question: &WakeQuestion,
    runs: u64,
    workers: &Workers<'_>,
    done: &(dyn Fn() + Sync),
) -> Result<WakeOverRuns, ReplicateError> {
    let (with, without) = (question.plan_with(line), question.plan_without(line));
    let good = |plan: &RunPlan, replication| {
        run_once(line, plan, Conventions::default(), question.seed, replication).oee.good_packs as f64
    };
    let lost =
        workers.each(runs, done, |replication| good(&without, replication) - good(&with, replication))?;
    Ok(WakeOverRuns { runs, lost: mean(&lost) })
}

fn traced(line: &Line, facts: &LineFacts, question: &WakeQuestion, plan: &RunPlan) -> (Trace, ShiftResult) {
    let (seed, replication) = (question.seed, question.replication);
    let header = linewake_engine::header(line, plan, seed, replication);
    let mut accumulator = Accumulator::new(&header);
    let mut trace = Trace::of(line, usize::from(facts.good_after));
    linewake_engine::run(line, plan, seed, replication, (&mut accumulator, &mut trace));
    (trace.finish(), accumulator.finish())
}

/// A case packer waits for a whole case: how it does between two packs depends on where the case began.
fn least_rise(line: &Line, station: StationIndex) -> Span {
    match &line.stations[station].kind {
        StationKind::CasePacker(packer) => LEAST_RISE + packer.cycle,
        _ => LEAST_RISE,
    }
}

/// The stops as they struck: station, begin and end.
fn struck(with: &Trace) -> Vec<(StationIndex, Moment, Moment)> {
    let mut found = Vec::new();
    for (station, trace) in with.stations.iter().enumerate() {
        for stretch in trace.stretches.iter().filter(|it| it.what == What::PutIn) {
            found.push((station, stretch.start, stretch.end));
        }
    }
    found.sort_by_key(|stop| (stop.1, stop.0));
    found
}

/// Each stop that was asked for, with when it began and ended: stops of one station strike one after the other.
fn put_in(line: &Line, question: &WakeQuestion, with: &Trace, end: Moment) -> Vec<PutInStop> {
    let mut asked: Vec<&InjectedStop> = question.stops.iter().collect();
    asked.sort_by_key(|stop| (stop.at, stop.station));
    let mut used: Vec<Moment> = vec![Moment::ZERO; with.stations.len()];
    asked
        .into_iter()
        .map(|stop| {
            let trace = &with.stations[stop.station];
            let mut left = stop.duration.0;
            let (mut start, mut over) = (None, None);
            for stretch in trace.stretches.iter().filter(|it| it.what == What::PutIn) {
                let begin = stretch.start.max(used[stop.station]).max(stop.at);
                let length = stretch.end.since(begin).0.min(left);
                if length > 0 {
                    start = start.or(Some(begin));
                    over = Some(begin + Span(length));
                    used[stop.station] = begin + Span(length);
                    left -= length;
                }
            }
            let ended = if left == 0 { over } else { over.map(|_| end) };
            PutInStop {
                station_index: stop.station,
                station: line.stations[stop.station].id.clone(),
                asked_s: stop.at.seconds(),
                duration_s: stop.duration.seconds(),
                start_s: start.map(Moment::seconds),
                end_s: ended.map(Moment::seconds),
            }
        })
        .collect()
}

fn station_wake(
    facts: &LineFacts,
    station: StationIndex,
    with: &Trace,
    without: &Trace,
    wake: &[Extra],
) -> StationWake {
    let in_wake = |what| seconds(wake.iter().filter(|it| it.what == what).map(length));
    let in_run = |trace: &Trace, what| {
        let stretches = trace.stations[station].stretches.iter().filter(|it| it.what == what);
        seconds(stretches.map(|it| it.end.since(it.start).0))
    };
    let more = |what| in_run(with, what) - in_run(without, what);
    StationWake {
        station_index: station,
        station: facts.stations[station].id.clone(),
        kind: facts.stations[station].kind.clone(),
        reached_s: wake.first().map(|it| it.start.seconds()),
        freed_s: wake.iter().map(|it| it.end).max().map(Moment::seconds),
        starved_s: in_wake(What::Starved),
        blocked_s: in_wake(What::Blocked),
        stopped_s: in_run(with, What::PutIn),
        starved_in_run_s: more(What::Starved),
        blocked_in_run_s: more(What::Blocked),
        stretches: wake
            .iter()
            .map(|it| WakeStretch {
                start_s: it.start.seconds(),
                end_s: it.end.seconds(),
                blocked: it.what == What::Blocked,
            })
            .collect(),
    }
}

fn length(extra: &Extra) -> u64 {
    extra.end.since(extra.start).0
}

fn seconds(lengths_us: impl Iterator<Item = u64>) -> f64 {
    Span(lengths_us.sum()).seconds()
}

fn packs(with: &ShiftResult, without: &ShiftResult) -> WakePacks {
    let less = |of: &dyn Fn(&ShiftResult) -> i64| of(without) - of(with);
    WakePacks {
        good_without: without.oee.good_packs,
        good_with: with.oee.good_packs,
        lost: less(&|it| it.oee.good_packs as i64),
        not_made: less(&|it| it.oee.total_packs as i64),
        rejected: -less(&|it| it.packs.rejected_packs as i64),
        still_in_line: -less(&|it| it.packs.in_line_at_end_packs),
    }
}

fn notes(question: &WakeQuestion, stops: &[PutInStop], recovery: &WakeRecovery) -> Vec<String> {
    let mut notes = Vec::new();
    for stop in stops.iter().filter(|stop| stop.start_s.is_none()) {
        notes.push(format!("the stop of {} did not begin within the run", stop.station));
    }
    if question.random_luck {
        notes.push(
            "after the wake both runs go on with the same luck, but their stops may meet differently; that is in the \
             packs and in the seconds over the whole run, not in the wake"
                .to_owned(),
        );
    } else {
        notes.push(
            "the line runs without its own stops; cycle times, rejects and breaks are those of the model"
                .to_owned(),
        );
    }
    if stops.len() > 1 {
        notes.push("of stops whose wakes touch it cannot be told which wait is whose".to_owned());
    }
    if recovery.not_over {
        notes.push("the wake goes on to the end of the run".to_owned());
    }
    notes
}

fn methods() -> Vec<Method> {
    let method = |what: &str| Method {
        what: what.to_owned(),
        source: "own definition; see docs/concepts/wake.md".to_owned(),
    };
    vec![
        method(
            "with and without: the same model, seed and shift; every draw is the same, so a difference comes from the \
             stops alone",
        ),
        method(
            "reached: the first instant at which a station waits before a piece for longer than it waited before the same \
             piece without the stops, and the wait touches the stop from station to station; freed: the end of its last \
             such wait",
        ),
        method("packs lost: good packs of the whole run without the stops, less with them"),
        method("recovery: from the end of the last stop put in until no station waits in the wake any more"),
        method(
            "caught up: the first good pack after the largest delay that comes no more than the ideal time of a pack \
             later than without the stops (breaks left out)",
        ),
        method(
            "absorbed: what one of two neighbouring machines stood in the wake, stopped or waiting, less what the other \
             one did",
        ),
    ]
}
