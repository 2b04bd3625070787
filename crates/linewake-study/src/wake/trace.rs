//! What a run leaves behind for the comparison of a run with and without a stop: waits, entries and contents.

use linewake_log::event::{Detail, Event, EventKind, EventSink, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use std::collections::BTreeMap;

/// A stretch of waiting or of a stop that was put in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) start: Moment,
    pub(super) end: Moment,
    pub(super) what: What,
}

/// What a stretch is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    Starved,
    Blocked,
    PutIn,
}

/// A piece came in (of the former: the web moved on).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Entry {
    pub(super) number: u64,
    pub(super) at: Moment,
    /// Time that the station has waited up to then, starved and blocked, in microseconds.
    pub(super) waited: u64,
}

/// One station.
#[derive(Clone, Debug)]
pub(super) struct StationTrace {
    state: StationState,
    reason: Reason,
    since: Moment,
    waited: u64,
    /// Waits and stops put in, in order of time.
    pub(super) stretches: Vec<Stretch>,
    /// Entries in order of time.
    pub(super) entries: Vec<Entry>,
    /// It has a content that is looked at.
    pub(super) is_buffer: bool,
    content: u32,
    /// From that moment on it holds so many.
    pub(super) contents: Vec<(Moment, u32)>,
}

/// The trace of one run.
#[derive(Clone, Debug)]
pub(super) struct Trace {
    pub(super) stations: Vec<StationTrace>,
    /// When each good pack was handed over by the station that makes packs good, by its number.
    pub(super) good: BTreeMap<u64, Moment>,
    former: Option<usize>,
    good_after: usize,
    /// Where each portion (false) and pack (true) is.
    at: BTreeMap<(bool, u64), usize>,
    /// Time of the last event.
    pub(super) end: Moment,
}

impl Trace {
    pub(super) fn of(line: &Line, good_after: usize) -> Self {
        let station = |kind: &StationKind| StationTrace {
            state: StationState::Running,
            reason: Reason::NONE,
            since: Moment::ZERO,
            waited: 0,
            stretches: Vec::new(),
            entries: Vec::new(),
            is_buffer: match kind {
                StationKind::Accumulator(belt) => belt.capacity > 0,
                StationKind::CasePacker(_) => true,
                _ => false,
            },
            content: 0,
            contents: vec![(Moment::ZERO, 0)],
        };
        Self {
            stations: line.stations.iter().map(|it| station(&it.kind)).collect(),
            good: BTreeMap::new(),
            former: line.stations.iter().position(|it| matches!(it.kind, StationKind::Former(_))),
            good_after,
            at: BTreeMap::new(),
            end: Moment::ZERO,
        }
    }

    /// Closes what is under way at the end of the run.
    pub(super) fn finish(mut self) -> Self {
        let end = self.end;
        for station in &mut self.stations {
            station.change(end, StationState::Running, Reason::NONE);
        }
        self
    }

    fn pack(&mut self, at: Moment, station: usize, step: PackStep, item: u64, into: u64) {
        let is_pack = self.former.is_none_or(|former| station >= former);
        match step {
            PackStep::Tipped | PackStep::Advanced => self.stations[station].enters(at, item),
            PackStep::Portioned | PackStep::Entered => {
                self.stations[station].enters(at, item);
                self.moves(at, (is_pack, item), Some(station));
            }
            PackStep::Loaded => {
                self.moves(at, (false, item), None);
                if let Some(former) = self.former {
                    self.at.insert((true, into), former);
                }
            }
            PackStep::Rejected => {
                self.at.remove(&(is_pack, item)).into_iter().for_each(|left| {
                    self.stations[left].content_changes(at, -1);
                });
            }
            PackStep::Cased | PackStep::Left => self.moves(at, (is_pack, item), None),
            PackStep::Cut | PackStep::Defect | PackStep::Tagged | PackStep::Picked | PackStep::Lost => {}
        }
    }

    fn moves(&mut self, at: Moment, piece: (bool, u64), to: Option<usize>) {
        let left = match to {
            Some(to) => self.at.insert(piece, to),
            None => self.at.remove(&piece),
        };
        if let Some(left) = left {
            self.stations[left].content_changes(at, -1);
            if left <= self.good_after && to.is_none_or(|to| to > self.good_after) && piece.0 {
                self.good.insert(piece.1, at);
            }
        }
        if let Some(to) = to {
            self.stations[to].content_changes(at, 1);
        }
    }
}

impl StationTrace {
    fn change(&mut self, at: Moment, to: StationState, reason: Reason) {
        let what = match self.state {
            StationState::Starved => Some(What::Starved),
            StationState::Blocked => Some(What::Blocked),
            state if state.is_own_stop() && self.reason == Reason::INJECTED => Some(What::PutIn),
            _ => None,
        };
        if let Some(what) = what
            && at > self.since
        {
            self.stretches.push(Stretch { start: self.since, end: at, what });
            if what != What::PutIn {
                self.waited += at.since(self.since).0;
            }
        }
        (self.state, self.reason, self.since) = (to, reason, at);
    }

    fn enters(&mut self, at: Moment, number: u64) {
        let waits = matches!(self.state, StationState::Starved | StationState::Blocked);
        let waited = self.waited + if waits { at.since(self.since).0 } else { 0 };
        self.entries.push(Entry { number, at, waited });
    }

    fn content_changes(&mut self, at: Moment, by: i32) {
        if !self.is_buffer {
            return;
        }
        self.content = self.content.saturating_add_signed(by);
        match self.contents.last_mut() {
            Some(last) if last.0 == at => last.1 = self.content,
            _ => self.contents.push((at, self.content)),
        }
    }

    /// Content at that moment.
    pub(super) fn content_at(&self, at: Moment) -> u32 {
        let after = self.contents.partition_point(|step| step.0 <= at);
        after.checked_sub(1).map_or(0, |place| self.contents[place].1)
    }
}

impl EventSink for Trace {
    fn detail(&self) -> Detail {
        Detail::Packs
    }

    fn record(&mut self, event: &Event) {
        self.end = event.at;
        let station = usize::from(event.station);
        match event.kind {
            EventKind::State { to, reason, .. } => self.stations[station].change(event.at, to, reason),
            EventKind::Pack { step, item, into, .. } => self.pack(event.at, station, step, item, into),
            _ => {}
        }
    }
}
