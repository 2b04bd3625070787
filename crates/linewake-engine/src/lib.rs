//! Discrete-event engine: a checked line and a seed become an event log.
//!
//! Same line, plan, seed and replication: the same events, bit for bit, on any machine. A run knows no files, no clock
//! of the machine and no threads; many runs in parallel are many calls of [`run`]. It takes a valid
//! [`Line`] and cannot fail.
//!
//! # How it works
//! Each motion under way (a cut, a dwell, the head pack of a belt, a repair) has one timer; the engine takes the
//! earliest, moves the clock there, and lets the station act. Stations ask their neighbours directly: a finished piece
//! is offered downstream, and room is made known upstream; no message waits in between. State changes of one instant
//! are written when the clock moves on, so that a state of length zero leaves no row.
//!
//! # Order of simultaneous events
//! Downstream stations first, then the order of scheduling; see [`queue`](crate) in the source and
//! docs/concepts/engine.md. Event rows of one moment: what happens is told as it happens (calls, packs), then the state
//! changes of the moment in line order.

mod books;
mod breaks;
mod build;
mod changes;
mod crew;
mod frame;
mod luck;
mod piece;
pub mod plan;
mod queue;

mod station;
mod stops;
mod trace;
mod world;

use linewake_log::event::{Event, EventKind, EventSink};
use linewake_log::header::{LineFacts, LogHeader};
use linewake_model::line::{Line, StationIndex};
use linewake_model::time::Moment;
use plan::RunPlan;
use std::collections::BTreeMap;
use world::World;

/// What is known of a run besides its events.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RunFacts {
    /// Motions worked off.
    pub events: u64,
}

/// How often things of one kind came to their end, or came due, at one station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EventCount {
    /// The station; `None` for the crew and for what concerns the whole line.
    pub station: Option<StationIndex>,
    /// What, in words.
    pub kind: &'static str,
    /// How often in the run.
    pub count: u64,
}

/// The header of the log of a run.
#[must_use]
pub fn header(line: &Line, plan: &RunPlan, seed: u64, replication: u64) -> LogHeader {
    LogHeader {
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        model_name: line.name.clone(),
        model_about: line.about.clone(),
        model_digest: line.digest.clone(),
        seed: Some(seed),
        replication,
        start: plan.start(),
        warm_up: plan.warm_up,
        horizon: plan.horizon,
        facts: LineFacts::of(line),
    }
}

/// Runs the line once and tells the sink what happens.
pub fn run(line: &Line, plan: &RunPlan, seed: u64, replication: u64, mut sink: impl EventSink) -> RunFacts {
    let mut world = build::build(line, plan, seed, replication, &mut sink);
    world.begin();
    world.run();
    RunFacts { events: world.alarms.iter().map(|alarm| alarm.fired).sum() }
}

/// Runs the line once as [`run`] does, and gives its events by station and kind, those of the crew first, then in line
/// order. They add up to [`RunFacts::events`].
pub fn count_events(
    line: &Line,
    plan: &RunPlan,
    seed: u64,
    replication: u64,
    mut sink: impl EventSink,
) -> Vec<EventCount> {
    let mut world = build::build(line, plan, seed, replication, &mut sink);
    world.begin();
    world.run();
    let mut counts = BTreeMap::new();
    for alarm in world.alarms.iter().filter(|alarm| alarm.fired > 0) {
        let station = alarm.task.is_of_station().then_some(alarm.station as StationIndex);
        *counts.entry((station, alarm.task.words())).or_insert(0) += alarm.fired;
    }
    counts.into_iter().map(|((station, kind), count)| EventCount { station, kind, count }).collect()
}

impl World<'_> {
    fn run(&mut self) {
        let horizon = self.line_time(self.plan.horizon);
        loop {
            let (due, timer) = self.timers.next();
            if due > self.now || due >= horizon {
                // A break that lasts to the horizon ends with it, and what falls on the horizon does not happen.
                if self.changed.any() && self.calendar() < self.plan.horizon {
                    self.flush();
                }
                let until = due.min(horizon);
                if until >= self.next_mark {
                    // In a break repairs and the kitchen may go on: what comes next is asked again after it.
                    if self.break_until(until) {
                        continue;
                    }
                    self.pass_marks(until);
                }
                if due >= horizon {
                    break;
                }
                self.now = due;
            }
            let alarm = &mut self.alarms[timer.place()];
            alarm.fired += 1;
            let (station, task) = (alarm.station as StationIndex, alarm.task);
            self.fire(timer, station, task);
        }
        self.advance(horizon);
        self.finish();
    }

    /// Ends the warm-up and writes snapshots, up to that moment of line time.
    fn pass_marks(&mut self, until: Moment) {
        self.advance(until);
        let snapshot = self.next_snapshot.0.saturating_sub(self.break_time.0);
        let warm_up = if self.warm_up_ended || self.plan.warm_up == Moment::ZERO {
            u64::MAX
        } else {
            self.plan.warm_up.0.saturating_sub(self.break_time.0)
        };
        let pause =
            self.breaks.get(self.breaks_passed).map_or(u64::MAX, |pause| pause.start.0 - self.break_time.0);
        self.next_mark = Moment(snapshot.min(warm_up).min(pause));
    }

    /// Lets the next break pass if it begins up to that moment of line time; false if none does. What is due at the very
    /// start of a break happens after it. Stations leave the state of a break at its end, not when the next thing
    /// happens after it; what is due at the very end comes first.
    fn break_until(&mut self, until: Moment) -> bool {
        let Some(pause) = self.breaks.get(self.breaks_passed) else {
            return false;
        };
        let (start, length) = (pause.start, pause.duration);
        let at = Moment(start.0.saturating_sub(self.break_time.0));
        if at > until {
            return false;
        }
        self.breaks_passed += 1;
        self.advance(at);
        self.break_passes(length);
        true
    }

    /// Moves the clock, writing what is due to be written on the way.
    fn advance(&mut self, to: Moment) {
        self.write_until(to + self.break_time, to);
        self.now = to;
    }

    /// Ends the warm-up and writes snapshots, up to that moment of the calendar, at which line time is `to`.
    pub(crate) fn write_until(&mut self, calendar: Moment, to: Moment) {
        self.warm_up_until(calendar, to);
        self.snapshots_until(calendar);
    }

    fn warm_up_until(&mut self, calendar: Moment, to: Moment) {
        let end = self.plan.warm_up;
        if self.warm_up_ended || end == Moment::ZERO || end > calendar || end >= self.plan.horizon {
            return;
        }
        self.snapshots_until(Moment(end.0 - 1));
        self.warm_up_ended = true;
        // Within a break line time stands at its start.
        self.now = self.now.max(Moment(end.0.saturating_sub(self.break_time.0)).min(to));
        self.book_contents();
        self.sink.record(&Event { at: end, station: 0, kind: EventKind::WarmUpEnd });
        self.write_books(end, books::Which::All);
    }

    fn finish(&mut self) {
        let end = self.plan.horizon;
        self.book_contents();
        self.write_books(end, books::Which::All);
        self.sink.record(&Event { at: end, station: 0, kind: EventKind::End });
    }
}
