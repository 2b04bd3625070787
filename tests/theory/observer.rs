//! What is seen of a run: a sink that adds up state times, counters, output by batches and waits in a queue.

use linewake_log::event::{CallStep, Counter, Detail, Event, EventKind, EventSink, PackStep, StationState};
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use std::collections::{BTreeMap, VecDeque};

/// States that a station can be in.
const STATES: usize = StationState::ALL.len();

/// What happened at one station within the window (after the warm-up); times in microseconds.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct StationTotals {
    /// Time in each state, by its number.
    pub time_us: [u64; STATES],
    /// Changes into each state, by its number.
    pub entries: [u64; STATES],
    /// Time in own stops by reason.
    pub stopped_us: BTreeMap<Reason, u64>,
    /// Calls for an operator.
    pub calls: u64,
    /// Counters without a reason, by their number.
    counters: Counters,
    /// Pieces in the storage when the run ended.
    pub content_at_end: u32,
    /// Counters from the start of the run, the warm-up included.
    whole_run: Counters,
}

/// Counters by their number.
type Counters = [u64; Counter::ALL.len()];

impl StationTotals {
    /// Time in that state, in microseconds.
    pub(crate) fn in_state(&self, state: StationState) -> f64 {
        self.time_us[state as usize] as f64
    }

    /// Time in own stops, waiting for an operator included, in microseconds.
    pub(crate) fn down(&self) -> f64 {
        self.in_state(StationState::StoppedWaiting) + self.in_state(StationState::StoppedRepair)
    }

    /// A counter over the window.
    pub(crate) fn counted(&self, counter: Counter) -> f64 {
        self.counters[counter as usize] as f64
    }

    /// A counter over the whole run.
    pub(crate) fn counted_from_start(&self, counter: Counter) -> u64 {
        self.whole_run[counter as usize]
    }
}

/// One run after its warm-up.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Window {
    pub length_us: u64,
    pub stations: Vec<StationTotals>,
    /// Pieces out of the line in each batch.
    pub batches: Vec<u64>,
    /// Pieces that began service within the window, and the time that they waited for it in all, in microseconds.
    pub waits: (u64, u64),
}

/// The waits of a queue are looked for at this station.
#[derive(Debug)]
struct Queue {
    server: u16,
    arrived: VecDeque<Moment>,
}

/// The sink.
#[derive(Debug)]
pub(crate) struct Observer {
    begin: Moment,
    end: Moment,
    batch_us: u64,
    state: Vec<(StationState, Reason, Moment)>,
    counts: Vec<Counters>,
    counts_before: Vec<Counters>,
    in_window: bool,
    next_batch: Moment,
    output_before: u64,
    queue: Option<Queue>,
    window: Window,
}

impl Observer {
    /// Of a line of so many stations; the warm-up ends at `begin`, the run at `end`. Batches are so many microseconds
    /// long, a multiple of the 10 s at which counters are written. `server`: the station before which pieces queue.
    pub(crate) fn new(
        stations: usize,
        begin: Moment,
        end: Moment,
        batch_us: u64,
        server: Option<usize>,
    ) -> Self {
        assert!(batch_us.is_multiple_of(10_000_000) && begin.0.is_multiple_of(10_000_000));
        Self {
            begin,
            end,
            batch_us,
            state: vec![(StationState::Starved, Reason::NONE, Moment::ZERO); stations],
            counts: vec![Counters::default(); stations],
            counts_before: vec![Counters::default(); stations],
            in_window: begin == Moment::ZERO,
            next_batch: Moment(begin.0 + batch_us),
            output_before: 0,
            queue: server.map(|server| Queue { server: server as u16, arrived: VecDeque::new() }),
            window: Window {
                length_us: end.0 - begin.0,
                stations: vec![StationTotals::default(); stations],
                batches: Vec::new(),
                waits: (0, 0),
            },
        }
    }

    /// What was seen.
    pub(crate) fn finish(mut self) -> Window {
        for station in 0..self.state.len() {
            self.book_state(station, self.end);
            let (now, before) = (&self.counts[station], &self.counts_before[station]);
            let totals = &mut self.window.stations[station];
            totals.counters = std::array::from_fn(|counter| now[counter] - before[counter]);
            totals.whole_run = *now;
        }
        self.window
    }

    fn book_state(&mut self, station: usize, now: Moment) {
        let (state, reason, since) = self.state[station];
        let time = now.since(since.max(self.begin)).0;
        let totals = &mut self.window.stations[station];
        totals.time_us[state as usize] += time;
        if state.is_own_stop() && time > 0 {
            *totals.stopped_us.entry(reason).or_default() += time;
        }
    }

    fn output(&self) -> u64 {
        self.counts.last().map_or(0, |last| last[Counter::HandedOver as usize])
    }

    fn close_batches(&mut self, until: Moment) {
        while self.next_batch < until {
            self.next_batch.0 += self.batch_us;
            let output = self.output();
            self.window.batches.push(output - self.output_before);
            self.output_before = output;
        }
    }

    fn pack(&mut self, at: Moment, station: u16, step: PackStep) {
        let Some(queue) = &mut self.queue else { return };
        match step {
            PackStep::Portioned => queue.arrived.push_back(at),
            PackStep::Entered if station == queue.server => {
                let arrived = queue.arrived.pop_front().expect("first come, first served");
                if self.in_window {
                    self.window.waits.0 += 1;
                    self.window.waits.1 += at.since(arrived).0;
                }
            }
            _ => {}
        }
    }
}

impl EventSink for Observer {
    fn detail(&self) -> Detail {
        if self.queue.is_some() { Detail::Packs } else { Detail::States }
    }

    fn record(&mut self, event: &Event) {
        let station = usize::from(event.station);
        if event.at > self.next_batch {
            self.close_batches(event.at);
        }
        match event.kind {
            EventKind::State { from, to, reason, .. } => {
                self.book_state(station, event.at);
                self.state[station] = (to, reason, event.at);
                if self.in_window && from != to {
                    self.window.stations[station].entries[to as usize] += 1;
                }
            }
            EventKind::Count { counter, reason: Reason::NONE, value } => {
                self.counts[station][counter as usize] = value;
                // All counters are written at the end of the warm-up, after its row.
                if self.in_window && event.at == self.begin {
                    self.counts_before[station][counter as usize] = value;
                    self.output_before = self.output();
                }
            }
            EventKind::Content { pieces } => self.window.stations[station].content_at_end = pieces,
            EventKind::Call { step: CallStep::Called, .. } if self.in_window => {
                self.window.stations[station].calls += 1;
            }
            EventKind::Pack { step, .. } => self.pack(event.at, event.station, step),
            EventKind::WarmUpEnd => self.in_window = true,
            EventKind::End => self.close_batches(Moment(self.end.0 + 1)),
            _ => {}
        }
    }
}
