//! Counters and contents of all stations: their values at the start of the window and now.

use crate::content_times::ContentTimes;
use linewake_log::event::Counter;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;

const KINDS: usize = Counter::ALL.len();

/// Counters and contents, from the start of the run and at the start of the window.
#[derive(Clone, Debug)]
pub(crate) struct Counts {
    /// Counters without a reason: [station][counter].
    plain: Vec<[Value; KINDS]>,
    /// Counters with a reason, by station, in the order in which they appeared.
    by_reason: Vec<Vec<ByReason>>,
    contents: Vec<Option<Content>>,
    /// The moment at which the window began, as long as its counters may still follow.
    opening: Option<Moment>,
}

/// A counter's value from the start of the run.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Value {
    now: u64,
    at_start: u64,
}

impl Value {
    pub(crate) fn gain(self) -> u64 {
        self.now.saturating_sub(self.at_start)
    }
}

#[derive(Clone, Copy, Debug)]
struct ByReason {
    counter: Counter,
    reason: Reason,
    value: Value,
}

/// Content in pieces. Before its first row it is 0: a run starts empty.
#[derive(Clone, Debug)]
pub(crate) struct Content {
    pub(crate) at_start: u32,
    pub(crate) now: u32,
    /// Since when it is not yet booked.
    since: Moment,
    pub(crate) times: ContentTimes,
}

impl Content {
    fn new(since: Moment) -> Self {
        Self { at_start: 0, now: 0, since, times: ContentTimes::default() }
    }

    fn book_up_to(&mut self, at: Moment) {
        self.times.add(self.now, at.since(self.since));
        self.since = self.since.max(at);
    }
}

impl Counts {
    pub(crate) fn new(stations: usize) -> Self {
        Self {
            plain: vec![[Value::default(); KINDS]; stations],
            by_reason: vec![Vec::new(); stations],
            contents: vec![None; stations],
            opening: None,
        }
    }

    /// Takes a counter; gives its increase since the row before.
    pub(crate) fn count(
        &mut self,
        at: Moment,
        station: usize,
        counter: Counter,
        reason: Reason,
        value: u64,
    ) -> u64 {
        let opens = self.opening == Some(at);
        let kept = if reason == Reason::NONE {
            &mut self.plain[station][counter as usize]
        } else {
            let rows = &mut self.by_reason[station];
            let known = rows.iter().position(|row| row.counter == counter && row.reason == reason);
            let place = known.unwrap_or_else(|| {
                rows.push(ByReason { counter, reason, value: Value::default() });
                rows.len() - 1
            });
            &mut rows[place].value
        };
        let increase = value.saturating_sub(kept.now);
        kept.now = value;
        if opens {
            kept.at_start = value;
        }
        increase
    }

    /// Takes a content.
    pub(crate) fn content(&mut self, at: Moment, station: usize, pieces: u32) {
        let since = self.opening.unwrap_or(Moment::ZERO);
        let content = self.contents[station].get_or_insert_with(|| Content::new(since));
        content.book_up_to(at);
        content.now = pieces;
        if self.opening == Some(at) {
            content.at_start = pieces;
        }
    }

    /// The window begins: what is known now is its start, and so are the rows of this moment that follow.
    pub(crate) fn open_window(&mut self, at: Moment) {
        self.opening = Some(at);
        for value in self.plain.iter_mut().flatten() {
            value.at_start = value.now;
        }
        for row in self.by_reason.iter_mut().flatten() {
            row.value.at_start = row.value.now;
        }
        for content in self.contents.iter_mut().flatten() {
            content.at_start = content.now;
            content.since = at;
            content.times = ContentTimes::default();
        }
    }

    /// Books the contents up to `at`.
    pub(crate) fn book_contents(&mut self, at: Moment) {
        for content in self.contents.iter_mut().flatten() {
            content.book_up_to(at);
        }
    }

    /// The counter without a reason.
    pub(crate) fn plain(&self, station: usize, counter: Counter) -> Value {
        self.plain[station][counter as usize]
    }

    /// What the counter gained in the window, over all reasons.
    pub(crate) fn gain(&self, station: usize, counter: Counter) -> u64 {
        self.plain(station, counter).gain()
            + self.reasons(station, counter).map(|(_, value)| value.gain()).sum::<u64>()
    }

    /// Value at the start of the window and at the end, over all reasons.
    pub(crate) fn start_and_end(&self, station: usize, counter: Counter) -> (u64, u64) {
        let plain = self.plain(station, counter);
        self.reasons(station, counter).fold((plain.at_start, plain.now), |(start, end), (_, value)| {
            (start + value.at_start, end + value.now)
        })
    }

    /// The counter by reason.
    pub(crate) fn reasons(
        &self,
        station: usize,
        counter: Counter,
    ) -> impl Iterator<Item = (Reason, Value)> + '_ {
        self.by_reason[station]
            .iter()
            .filter(move |row| row.counter == counter)
            .map(|row| (row.reason, row.value))
    }

    /// All counters of a station that gained something, in the order of their numbers, then of their reasons.
    pub(crate) fn gains(&self, station: usize) -> Vec<(Counter, Reason, u64)> {
        let mut gains = Vec::new();
        for counter in Counter::ALL {
            gains.push((counter, Reason::NONE, self.plain(station, counter).gain()));
            let mut rows: Vec<_> = self.reasons(station, counter).collect();
            rows.sort_by_key(|(reason, _)| *reason);
            gains.extend(rows.into_iter().map(|(reason, value)| (counter, reason, value.gain())));
        }
        gains.retain(|(_, _, gain)| *gain > 0);
        gains
    }

    pub(crate) fn contents(&self, station: usize) -> Option<&Content> {
        self.contents[station].as_ref()
    }
}
