//! Takes the events of one run as they happen and gives its result.
//!
//! Memory does not grow with the run, but for one number an hour. A state event costs a few nanoseconds: the clock of
//! its station, and for stops and for the constraint a little more.

use crate::attribution::Attribution;
use crate::convention::Conventions;
use crate::counts::Counts;
use crate::interruptions::{Doing, Interruptions};
use crate::ledger;
use crate::result::{Doubt, ShiftResult};
use crate::state_clocks::{EndedStop, StateClocks};
use linewake_log::event::{Counter, Detail, Event, EventKind, EventSink, StationState};
use linewake_log::header::{LineFacts, LogHeader};
use linewake_model::stop::Reason;
use linewake_model::time::{MICROS_PER_SECOND, Moment};
use std::collections::BTreeMap;

/// An hour in microseconds.
pub(crate) const HOUR_US: u64 = 3600 * MICROS_PER_SECOND;

/// Accumulates the events of one run.
///
/// It is an [`EventSink`]: hand it to the engine, or feed it the events of a log file.
#[derive(Clone, Debug)]
pub struct Accumulator {
    pub(crate) facts: LineFacts,
    pub(crate) conventions: Conventions,
    warm_up: Moment,
    constraint: usize,
    good_after: usize,
    /// Station that counts the total.
    pub(crate) total_at: usize,
    pub(crate) clocks: StateClocks,
    /// Of each station.
    pub(crate) interruptions: Vec<Interruptions>,
    pub(crate) attribution: Attribution,
    pub(crate) counts: Counts,
    /// For each consequence of the facts, the last stop that can have caused it.
    last_causes: Vec<Option<(Moment, usize, Reason)>>,
    /// Packs tagged as a consequence of a stop.
    pub(crate) consequent: BTreeMap<(usize, Reason), u64>,
    pub(crate) window_start: Moment,
    pub(crate) now: Moment,
    pub(crate) good_by_hour: Vec<u64>,
    ended: bool,
    warmed_up: bool,
    backwards: u64,
    unknown: u64,
}

impl Accumulator {
    /// For a run of the line and window that the header tells of.
    #[must_use]
    pub fn new(header: &LogHeader) -> Self {
        Self::of(&header.facts, header.warm_up)
    }

    /// For a run of that line; with a warm-up over zero everything counts from its `warm_up_end` event.
    #[must_use]
    pub fn of(facts: &LineFacts, warm_up: Moment) -> Self {
        let stations = facts.stations.len();
        let constraint = usize::from(facts.constraint);
        let good_after = usize::from(facts.good_after);
        Self {
            facts: facts.clone(),
            conventions: Conventions::default(),
            warm_up,
            constraint,
            good_after,
            total_at: usize::from(facts.total_at()),
            clocks: StateClocks::new(stations, facts.short_stop_limit),
            interruptions: vec![Interruptions::new(facts.short_stop_limit); stations],
            attribution: Attribution::new(facts),
            counts: Counts::new(stations),
            last_causes: vec![None; facts.consequences.len()],
            consequent: BTreeMap::new(),
            window_start: Moment::ZERO,
            now: Moment::ZERO,
            good_by_hour: Vec::new(),
            ended: false,
            warmed_up: false,
            backwards: 0,
            unknown: 0,
        }
    }

    /// The same with other conventions; to be chosen before the first event.
    #[must_use]
    pub fn under(self, conventions: Conventions) -> Self {
        Self { conventions, ..self }
    }

    /// The result of the run, up to its `end` event (or, for want of one, its last event: then with a doubt).
    #[must_use]
    pub fn finish(mut self) -> ShiftResult {
        self.book_up_to(self.now);
        self.clocks.close();
        let doubts = self.doubts();
        ledger::result_of(&self, doubts)
    }

    // Inlined into its only caller: a row from work to waiting, or back, should cost little more than its arithmetic.
    #[inline(always)]
    fn state(
        &mut self,
        at: Moment,
        station: usize,
        from: StationState,
        to: StationState,
        reason: Reason,
        made: u64,
    ) {
        self.attribution.before_change(at, station, &self.clocks);
        let in_break = if self.clocks.works_or_waits(at, station, from, to, reason) {
            self.attribution.station_works_or_waits(at, station, to);
            false
        } else {
            self.stop_changed(at, station, from, to, reason)
        };
        let doing = Doing::of(Some(to), reason, self.conventions.planned_stops, &self.facts.left_out);
        self.interruptions[station].change(at, doing);
        if station == self.constraint {
            self.attribution.constraint_changed(at, to, made, in_break, doing == Doing::Interrupted);
        }
    }

    /// A state row that has to do with a stop or a break, or does not follow on the one before. True if the station is in a
    /// break now.
    #[inline(never)]
    fn stop_changed(
        &mut self,
        at: Moment,
        station: usize,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> bool {
        let stop = self.clocks.change(at, station, from, to, reason);
        let in_break = self.clocks.stations[station].is_in_break();
        if let Some(ended) = stop.ended {
            self.note_cause(at, station, ended);
        }
        self.attribution.after_change(at, station, to, in_break, stop);
        in_break
    }

    /// Keeps the stop as a possible cause of tags.
    fn note_cause(&mut self, at: Moment, station: usize, ended: EndedStop) {
        if !ended.own {
            return;
        }
        let length = at.since(ended.began);
        for (consequence, last) in self.facts.consequences.iter().zip(&mut self.last_causes) {
            let here = consequence.station.is_some_and(|place| usize::from(place) == station);
            let this = consequence.stop == Reason::NONE || consequence.stop == ended.reason;
            if here && this && length > consequence.longer_than {
                *last = Some((at, station, ended.reason));
            }
        }
    }

    fn count(&mut self, at: Moment, station: usize, counter: Counter, reason: Reason, value: u64) {
        let increase = self.counts.count(at, station, counter, reason, value);
        match counter {
            Counter::Tagged if increase > 0 && !self.facts.consequences.is_empty() => {
                self.tagged(reason, increase)
            }
            Counter::HandedOver if station == self.good_after && at > self.window_start => {
                self.good(at, increase)
            }
            _ => {}
        }
    }

    /// Packs were tagged: shown beside the last stop that can have caused it.
    fn tagged(&mut self, tag: Reason, packs: u64) {
        let mut cause: Option<(Moment, usize, Reason)> = None;
        for (consequence, last) in self.facts.consequences.iter().zip(&self.last_causes) {
            if consequence.tag != tag {
                continue;
            }
            let candidate = match consequence.station {
                Some(_) => *last,
                None => {
                    self.attribution.longest_of_late().map(|(station, reason)| (self.now, station, reason))
                }
            };
            cause = cause.max(candidate);
        }
        if let Some((_, station, reason)) = cause {
            *self.consequent.entry((station, reason)).or_default() += packs;
        }
    }

    fn good(&mut self, at: Moment, packs: u64) {
        let hour = (at.since(self.window_start).0 - 1) / HOUR_US;
        let hour = usize::try_from(hour).unwrap_or(usize::MAX - 1);
        if packs > 0 {
            if self.good_by_hour.len() <= hour {
                self.good_by_hour.resize(hour + 1, 0);
            }
            self.good_by_hour[hour] += packs;
        }
    }

    fn warm_up_ends(&mut self, at: Moment) {
        self.book_up_to(at);
        self.clocks.forget();
        self.interruptions.iter_mut().for_each(Interruptions::forget);
        self.attribution.forget();
        self.counts.open_window(at);
        self.consequent.clear();
        self.good_by_hour.clear();
        self.window_start = at;
        self.warmed_up = true;
    }

    fn book_up_to(&mut self, at: Moment) {
        self.attribution.charge_up_to(at, &self.clocks);
        self.clocks.book_up_to(at);
        self.interruptions.iter_mut().for_each(|station| station.book_up_to(at));
        self.counts.book_contents(at);
    }

    fn doubts(&self) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        if !self.ended {
            doubts.push(Doubt::NoEnd);
        }
        if self.warm_up > Moment::ZERO && !self.warmed_up {
            doubts.push(Doubt::NoWarmUpEnd);
        }
        let window = self.now.since(self.window_start);
        for (facts, clock) in self.facts.stations.iter().zip(&self.clocks.stations) {
            let known = StationState::ALL
                .iter()
                .fold(linewake_model::time::Span::ZERO, |sum, &it| sum + clock.time(it));
            if facts.has_states && known != window {
                doubts.push(Doubt::NoState(facts.id.clone()));
            }
            if clock.gaps > 0 {
                doubts.push(Doubt::StateGap(facts.id.clone(), clock.gaps));
            }
        }
        if self.backwards > 0 {
            doubts.push(Doubt::TimeGoesBack(self.backwards));
        }
        if self.unknown > 0 {
            doubts.push(Doubt::UnknownName(self.unknown));
        }
        doubts
    }
}

impl EventSink for Accumulator {
    fn detail(&self) -> Detail {
        Detail::States
    }

    #[inline]
    fn record(&mut self, event: &Event) {
        if event.at < self.now {
            self.backwards += 1;
        }
        let at = event.at.max(self.now);
        self.now = at;
        let station = usize::from(event.station);
        if station >= self.facts.stations.len() {
            self.unknown += 1;
            return;
        }
        match event.kind {
            EventKind::State { from, to, reason, made, .. } => {
                self.state(at, station, from, to, reason, made)
            }
            EventKind::Count { counter, reason, value } => self.count(at, station, counter, reason, value),
            EventKind::Content { pieces } => self.counts.content(at, station, pieces),
            EventKind::WarmUpEnd => self.warm_up_ends(at),
            EventKind::End => self.ended = true,
            EventKind::Call { .. } | EventKind::Pack { .. } => {}
        }
    }
}
