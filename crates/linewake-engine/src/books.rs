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
pub(crate) struct Flow {
    /// Pieces finished.
    pub(crate) made: u64,
    /// Pieces handed over.
    pub(crate) handed_over: u64,
}

/// All counters of a run but the two that every station has, which stand in its frame.
#[derive(Debug)]
pub(crate) struct Books {
    accounts: Vec<Vec<Row>>,
    /// Of the two that stand in the frames, what was last written.
    flows_written: Vec<Flow>,
    /// Where the time that pieces spent in the line is counted: station and row, once a piece has left.
    time_in_line: Option<(StationIndex, usize)>,
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
        Self {
            accounts: vec![Vec::new(); stations],
            flows_written: vec![Flow::default(); stations],
            time_in_line: None,
        }
    }

    pub(crate) fn rejected(&mut self, station: StationIndex, reason: Reason) {
        self.add(station, Counter::Rejected, reason, 1);
    }

    pub(crate) fn escaped(&mut self, station: StationIndex, defect: Reason) {
        self.add(station, Counter::Escaped, defect, 1);
    }

    pub(crate) fn left_line(&mut self, station: StationIndex, after: Span) {
        let row = match self.time_in_line {
            Some((at, row)) if at == station => row,
            _ => self.row(station, Counter::TimeInLine, Reason::NONE),
        };
        self.time_in_line = Some((station, row));
        self.accounts[station][row].value += after.0;
    }

    /// Adds to a counter, which comes into being with its first count.
    pub(crate) fn add(&mut self, station: StationIndex, counter: Counter, reason: Reason, count: u64) {
        let row = self.row(station, counter, reason);
        self.accounts[station][row].value += count;
    }

    /// Sets a counter that is computed elsewhere.
    pub(crate) fn set(&mut self, station: StationIndex, counter: Counter, value: u64) {
        let row = self.row(station, counter, Reason::NONE);
        self.accounts[station][row].value = value;
    }

    fn row(&mut self, station: StationIndex, counter: Counter, reason: Reason) -> usize {
        let account = &mut self.accounts[station];
        let place = account.iter().position(|row| row.counter == counter && row.reason == reason);
        place.unwrap_or_else(|| {
            account.push(Row { counter, reason, value: 0, written: 0 });
            account.len() - 1
        })
    }

    /// Calls `write` for each counter to be written, stations in line order.
    pub(crate) fn write(
        &mut self,
        which: Which,
        flows: impl Iterator<Item = Flow>,
        mut write: impl FnMut(StationIndex, Counter, Reason, u64),
    ) {
        let kept = self.flows_written.iter_mut().zip(&mut self.accounts);
        for (station, (flow, (written, account))) in flows.zip(kept).enumerate() {
            if which == Which::All || flow.made != written.made {
                write(station, Counter::Made, Reason::NONE, flow.made);
            }
            if which == Which::All || flow.handed_over != written.handed_over {
                write(station, Counter::HandedOver, Reason::NONE, flow.handed_over);
            }
            *written = flow;
            for row in account {
                if which == Which::All || row.value != row.written {
                    row.written = row.value;
                    write(station, row.counter, row.reason, row.value);
                }
            }
        }
    }
}
