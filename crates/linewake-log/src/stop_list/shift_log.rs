//! One shift as a log: state rows and counts in order of time, then the end.

use super::counts::{Counted, Increment};
use super::layout::Stretch;
use super::mapping::Mapping;
use super::spec::CountedSpec;
use super::windows::Window;
use crate::event::{Counter, Event, EventKind, NO_CONTENT, StationState};
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use std::collections::BTreeMap;

/// Which figures of the line the list counts.
#[derive(Clone, Copy, Debug, Default)]
struct Told {
    total: bool,
    good: bool,
}

/// The events of a shift, and whether good and rejected packs are more than its total.
pub(crate) fn events_of(
    mapping: &Mapping,
    window: &Window,
    stations: &[Vec<Stretch>],
    named: &[bool],
    increments: &[Increment],
) -> (Vec<Event>, bool) {
    let mut changes = state_changes(window, stations, named);
    changes.sort_by_key(|change| (change.at, change.station));
    let counts = Counts::new(mapping);
    let has_made = vec![false; stations.len()];
    let mut log = Log { window, counts, has_made, events: Vec::new() };
    let mut increments = increments.chunk_by(|one, other| one.at == other.at).peekable();
    for change in changes {
        while let Some(chunk) = increments.next_if(|chunk| chunk[0].at < change.at) {
            log.count(chunk);
        }
        log.state(&change);
    }
    for chunk in increments {
        log.count(chunk);
    }
    let at = log.moment(window.end);
    log.events.push(Event { at, station: 0, kind: EventKind::End });
    (log.events, log.counts.disagree)
}

/// A station goes from one state into another.
struct Change {
    at: i64,
    station: u16,
    from: StationState,
    to: StationState,
    reason: Reason,
}

fn state_changes(window: &Window, stations: &[Vec<Stretch>], named: &[bool]) -> Vec<Change> {
    let mut changes = Vec::new();
    let named = (0_u16..).zip(stations).zip(named).filter(|(_, is_named)| **is_named);
    for ((station, stretches), _) in named {
        let first = stretches.partition_point(|it| it.end <= window.start);
        let stretches = stretches[first..].iter().take_while(|it| it.start < window.end);
        let mut state = StationState::Running;
        let mut since = window.start;
        let mut is_first = true;
        for it in stretches {
            if it.start > since {
                let from = if is_first { StationState::Running } else { state };
                let to = StationState::Running;
                changes.push(Change { at: since, station, from, to, reason: Reason::NONE });
                (state, is_first) = (to, false);
            }
            let from = if is_first { it.state } else { state };
            changes.push(Change { at: it.start, station, from, to: it.state, reason: it.reason });
            (state, is_first, since) = (it.state, false, it.end);
        }
        if since < window.end {
            let from = if is_first { StationState::Running } else { state };
            let to = StationState::Running;
            changes.push(Change { at: since, station, from, to, reason: Reason::NONE });
        }
    }
    changes
}

struct Log<'w> {
    window: &'w Window,
    counts: Counts,
    /// Stations that have run in this shift.
    has_made: Vec<bool>,
    events: Vec<Event>,
}

impl Log<'_> {
    fn moment(&self, at: i64) -> Moment {
        Moment(u64::try_from(at - self.window.start).unwrap_or(0))
    }

    fn state(&mut self, change: &Change) {
        let counted = self.counts.sums.get(&(change.station, Counter::Made, Reason::NONE)).copied();
        // Counts come by the hour or the shift. A machine that has run has made something, so that a wait later in the
        // shift is no start-up.
        let has_run = change.from == StationState::Running && change.at > self.window.start;
        let has_made = &mut self.has_made[usize::from(change.station)];
        *has_made |= has_run;
        let made = counted.unwrap_or(0).max(u64::from(*has_made));
        let kind = EventKind::State {
            from: change.from,
            to: change.to,
            reason: change.reason,
            made,
            content_before: NO_CONTENT,
            content_after: NO_CONTENT,
        };
        self.events.push(Event { at: self.moment(change.at), station: change.station, kind });
    }

    /// The counts of one moment.
    fn count(&mut self, increments: &[Increment]) {
        let at = self.moment(increments[0].at);
        for ((station, counter, reason), value) in self.counts.add(increments) {
            self.events.push(Event { at, station, kind: EventKind::Count { counter, reason, value } });
        }
    }
}

/// Counts since the start of the shift.
struct Counts {
    sums: BTreeMap<Counted, u64>,
    told: Told,
    total: Counted,
    good: Counted,
    disagree: bool,
}

impl Counts {
    fn new(mapping: &Mapping) -> Self {
        let total = (mapping.facts.total_at(), Counter::Made, Reason::NONE);
        let good = (mapping.facts.good_after, Counter::HandedOver, Reason::NONE);
        let values = mapping.counts.iter().flat_map(|counts| &counts.values);
        let mut told = Told::default();
        for value in values {
            told.good |= value.counted == CountedSpec::Good;
            let at_total = value.station.is_none_or(|station| station == total.0);
            told.total |=
                value.counted == CountedSpec::Total || value.counted == CountedSpec::Made && at_total;
        }
        Self { sums: BTreeMap::new(), told, total, good, disagree: false }
    }

    /// Adds what was counted by one moment; gives the counters that moved. Of total, good and rejected packs two say
    /// the third, if it is total or good.
    fn add(&mut self, increments: &[Increment]) -> BTreeMap<Counted, u64> {
        let mut moved = BTreeMap::new();
        for increment in increments {
            let sum = self.sums.entry(increment.counted).or_default();
            *sum = sum.saturating_add(increment.pieces);
            moved.insert(increment.counted, *sum);
        }
        let of = |sums: &BTreeMap<Counted, u64>, key| sums.get(&key).copied().unwrap_or(0);
        let between = self.total.0..=self.good.0;
        let rejected = self
            .sums
            .iter()
            .filter(|((station, counter, _), _)| *counter == Counter::Rejected && between.contains(station));
        let rejected: u64 = rejected.map(|(_, sum)| *sum).sum();
        let (total, good) = (of(&self.sums, self.total), of(&self.sums, self.good));
        match self.told {
            Told { total: false, good: true } => {
                self.sums.insert(self.total, good + rejected);
                moved.insert(self.total, good + rejected);
            }
            Told { total: true, good: false } => {
                self.disagree = rejected > total;
                let good = total.saturating_sub(rejected);
                self.sums.insert(self.good, good);
                moved.insert(self.good, good);
            }
            Told { total: true, good: true } => self.disagree = good.saturating_add(rejected) > total,
            Told { total: false, good: false } => {}
        }
        moved
    }
}
