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

/// The two counters that every station has.
#[derive(Clone, Copy, Debug, Default)]
struct Flow {
    made: u64,
    handed_over: u64,
    made_written: u64,
    handed_over_written: u64,
}

/// All counters of a run.
#[derive(Debug)]
pub(crate) struct Books {
    flows: Vec<Flow>,
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
        Self { flows: vec![Flow::default(); stations], accounts: vec![Vec::new(); stations] }
    }

    pub(crate) fn made(&self, station: StationIndex) -> u64 {
        self.flows[station].made
    }

    pub(crate) fn add_made(&mut self, station: StationIndex, pieces: u64) {
        self.flows[station].made += pieces;
    }

    pub(crate) fn handed_over(&mut self, station: StationIndex) {
        self.flows[station].handed_over += 1;
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
        for (station, (flow, account)) in self.flows.iter_mut().zip(&mut self.accounts).enumerate() {
            if which == Which::All || flow.made != flow.made_written {
                flow.made_written = flow.made;
                write(station, Counter::Made, Reason::NONE, flow.made);
            }
            if which == Which::All || flow.handed_over != flow.handed_over_written {
                flow.handed_over_written = flow.handed_over;
                write(station, Counter::HandedOver, Reason::NONE, flow.handed_over);
            }
            for row in account {
                if which == Which::All || row.value != row.written {
                    row.written = row.value;
                    write(station, row.counter, row.reason, row.value);
                }
            }
        }
    }
}
