//! Counters of the stations, and which of their values have been written to the log.

use linewake_log::event::Counter;
use linewake_model::line::StationIndex;
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// One counter of one station, for one reason.
#[derive(Clone, Copy, Debug)]
struct Row {
    counter: Counter,
    reason: Reason,
    value: u64,
    written: u64,
}

/// Places of the two counters that every station has.
const MADE: usize = 0;
const HANDED_OVER: usize = 1;

/// All counters of a run.
#[derive(Debug)]
pub(crate) struct Books {
    accounts: Vec<Vec<Row>>,
}

/// Which counters are to be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Which {
    /// Those that have changed since they were last written.
    Changed,
    /// All that exist.
    All,
}

impl Books {
    pub(crate) fn new(stations: usize) -> Self {
        let row = |counter| Row { counter, reason: Reason::NONE, value: 0, written: 0 };
        Self { accounts: vec![vec![row(Counter::Made), row(Counter::HandedOver)]; stations] }
    }

    pub(crate) fn made(&self, station: StationIndex) -> u64 {
        self.accounts[station][MADE].value
    }

    pub(crate) fn add_made(&mut self, station: StationIndex, pieces: u64) {
        self.accounts[station][MADE].value += pieces;
    }

    pub(crate) fn handed_over(&mut self, station: StationIndex) {
        self.accounts[station][HANDED_OVER].value += 1;
    }

    pub(crate) fn rejected(&mut self, station: StationIndex, reason: Reason) {
        self.add(station, Counter::Rejected, reason, 1);
    }

    pub(crate) fn escaped(&mut self, station: StationIndex, defect: Reason) {
        self.add(station, Counter::Escaped, defect, 1);
    }

    pub(crate) fn left_line(&mut self, station: StationIndex, after: Span) {
        self.add(station, Counter::TimeInLine, Reason::NONE, after.0);
    }

    /// Adds to a counter, which comes into being with its first count.
    pub(crate) fn add(&mut self, station: StationIndex, counter: Counter, reason: Reason, count: u64) {
        *self.value(station, counter, reason) += count;
    }

    /// Sets a counter that is computed elsewhere.
    pub(crate) fn set(&mut self, station: StationIndex, counter: Counter, value: u64) {
        *self.value(station, counter, Reason::NONE) = value;
    }

    fn value(&mut self, station: StationIndex, counter: Counter, reason: Reason) -> &mut u64 {
        let account = &mut self.accounts[station];
        let place = account.iter().position(|row| row.counter == counter && row.reason == reason);
        let place = place.unwrap_or_else(|| {
            account.push(Row { counter, reason, value: 0, written: 0 });
            account.len() - 1
        });
        &mut account[place].value
    }

    /// Calls `write` for each counter to be written, stations in line order.
    pub(crate) fn write(&mut self, which: Which, mut write: impl FnMut(StationIndex, Counter, Reason, u64)) {
        for (station, account) in self.accounts.iter_mut().enumerate() {
            for row in account {
                if which == Which::All || row.value != row.written {
                    row.written = row.value;
                    write(station, row.counter, row.reason, row.value);
                }
            }
        }
    }
}
