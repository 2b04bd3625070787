//! The stops of one shift as its events tell them, with what the clocks of each station showed.

use linewake_log::event::{CallStep, Counter, Detail, Event, EventKind, EventSink, StationState};
use linewake_log::header::LineFacts;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;

/// What a station's cycles are counted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum CycleCounter {
    /// Pieces that it has finished; they stand in every row of state.
    Made,
    /// A counter that is written every ten seconds, and stands still in a stop.
    Written(Counter),
}

impl CycleCounter {
    /// That of a kind of station, as in a model file, and the word for its cycles; `None` where the log does not count
    /// them.
    pub(super) fn of_kind(kind: &str) -> Option<(Self, &'static str)> {
        Some(match kind {
            "former" => (Self::Written(Counter::Indexes), "cycles"),
            "case_packer" => (Self::Written(Counter::Cased), "cases"),
            "portioner" => (Self::Made, "portions"),
            "loader" => (Self::Made, "arrays"),
            "machine" => (Self::Made, "pieces"),
            _ => return None,
        })
    }
}

/// What the clocks of a station show.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Clocks {
    /// Calendar time since the start of the shift, in seconds.
    pub(super) calendar_s: f64,
    /// Time in which the station ran, in seconds.
    pub(super) running_s: f64,
    /// Cycles, where they are counted.
    pub(super) cycles: u64,
}

/// An own stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct StopSeen {
    pub(super) reason: Reason,
    /// The clocks as it began.
    pub(super) began: Clocks,
    /// The clocks as it ended; at the end of the shift if it did not.
    pub(super) ended: Clocks,
    /// State before it.
    pub(super) from: StationState,
    /// Time until the operator had come.
    pub(super) waited_s: f64,
    /// Time of being put right.
    pub(super) repaired_s: f64,
    /// It was seen to its end.
    pub(super) is_complete: bool,
    /// An operator was called.
    pub(super) is_attended: bool,
}

/// The stops of one station in one shift.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct StationHistory {
    pub(super) stops: Vec<StopSeen>,
    /// The clocks at the end of the shift.
    pub(super) end: Clocks,
}

/// The stops of one shift.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ShiftHistory {
    /// One for each station, in line order.
    pub(super) stations: Vec<StationHistory>,
    /// Response times of calls made while no other was open, in seconds.
    pub(super) responses_s: Vec<f64>,
}

struct Watch {
    counter: Option<CycleCounter>,
    state: StationState,
    since: Moment,
    ran_us: u64,
    made: u64,
    written: u64,
    open: Option<StopSeen>,
    /// A call whose stop has no row yet: both are of one moment.
    called: Option<Reason>,
    history: StationHistory,
}

impl Watch {
    fn clocks(&self, at: Moment) -> Clocks {
        let going = if self.state == StationState::Running { at.since(self.since).0 } else { 0 };
        let cycles = match self.counter {
            Some(CycleCounter::Written(_)) => self.written,
            _ => self.made,
        };
        let running_s = (self.ran_us + going) as f64 / 1e6;
        Clocks { calendar_s: at.since(Moment::ZERO).seconds(), running_s, cycles }
    }

    fn state(&mut self, at: Moment, from: StationState, to: StationState, reason: Reason) {
        let lasted = at.since(self.since);
        match from {
            StationState::Running => self.ran_us += lasted.0,
            StationState::StoppedWaiting => {
                if let Some(open) = &mut self.open {
                    open.waited_s += lasted.seconds();
                }
            }
            StationState::StoppedRepair => {
                if let Some(open) = &mut self.open {
                    open.repaired_s += lasted.seconds();
                }
            }
            _ => {}
        }
        self.since = at;
        self.state = to;
        let goes_on = self.open.is_some_and(|open| {
            open.reason == reason
                && matches!(
                    (from, to),
                    (StationState::StoppedWaiting, StationState::StoppedRepair)
                        | (StationState::Planned, StationState::StoppedWaiting | StationState::StoppedRepair)
                )
        });
        if goes_on {
            if to == StationState::StoppedWaiting
                && let Some(open) = &mut self.open
            {
                open.is_attended = true;
            }
            return;
        }
        // A break holds up a stop; it goes on afterwards.
        if to == StationState::Planned && from.is_own_stop() {
            return;
        }
        if from == StationState::Planned && self.open.is_some() {
            // It was put right in the break: how long that took, the log does not tell.
            self.close(at, false);
        } else if self.open.is_some() {
            self.close(at, true);
        }
        if to.is_own_stop() {
            let began = self.clocks(at);
            self.open = Some(StopSeen {
                reason,
                began,
                ended: began,
                from,
                waited_s: 0.0,
                repaired_s: 0.0,
                is_complete: false,
                is_attended: to == StationState::StoppedWaiting || self.called.take() == Some(reason),
            });
        }
    }

    /// A stop called for an operator: it is attended, even if one stands there already and it waits for nobody.
    fn call(&mut self, reason: Reason) {
        match &mut self.open {
            Some(open) if open.reason == reason => open.is_attended = true,
            _ => self.called = Some(reason),
        }
    }

    fn close(&mut self, at: Moment, is_complete: bool) {
        let ended = self.clocks(at);
        if let Some(mut stop) = self.open.take() {
            // The counter that is written now and then has been written in the stop, if that was long enough.
            stop.began.cycles = ended.cycles;
            self.history.stops.push(StopSeen { ended, is_complete, ..stop });
        }
    }
}

struct OpenCall {
    station: u16,
    called: Moment,
    /// No other call was open, and no break fell into it.
    is_plain: bool,
    has_come: bool,
}

/// Takes the events of a shift, and keeps its stops.
pub(super) struct StopWatch {
    stations: Vec<Watch>,
    calls: Vec<OpenCall>,
    responses_s: Vec<f64>,
    last: Moment,
}

impl StopWatch {
    pub(super) fn new(facts: &LineFacts) -> Self {
        let watch = |kind: &str| Watch {
            counter: CycleCounter::of_kind(kind).map(|(counter, _)| counter),
            state: StationState::Starved,
            since: Moment::ZERO,
            ran_us: 0,
            made: 0,
            written: 0,
            open: None,
            called: None,
            history: StationHistory::default(),
        };
        Self {
            stations: facts.stations.iter().map(|station| watch(&station.kind)).collect(),
            calls: Vec::new(),
            responses_s: Vec::new(),
            last: Moment::ZERO,
        }
    }

    /// The stops, those that are open cut off at the last event.
    pub(super) fn finish(mut self) -> ShiftHistory {
        let at = self.last;
        for watch in &mut self.stations {
            let state = watch.state;
            if watch.open.is_some() {
                let reason = watch.open.map_or(Reason::NONE, |open| open.reason);
                watch.state(at, state, StationState::Planned, reason);
                watch.close(at, false);
            }
            watch.history.end = watch.clocks(at);
        }
        ShiftHistory {
            stations: self.stations.into_iter().map(|watch| watch.history).collect(),
            responses_s: self.responses_s,
        }
    }

    fn call(&mut self, at: Moment, station: u16, step: CallStep) {
        match step {
            CallStep::Called => {
                let is_plain = self.calls.is_empty();
                self.calls.push(OpenCall { station, called: at, is_plain, has_come: false });
            }
            CallStep::Arrived => {
                let call = self.calls.iter_mut().find(|call| call.station == station && !call.has_come);
                if let Some(call) = call {
                    call.has_come = true;
                    // Who is there already answers at once: that is no response.
                    if call.is_plain && at > call.called {
                        self.responses_s.push(at.since(call.called).seconds());
                    }
                }
            }
            CallStep::Released => {
                if let Some(place) =
                    self.calls.iter().position(|call| call.station == station && call.has_come)
                {
                    self.calls.remove(place);
                }
            }
        }
    }
}

impl EventSink for StopWatch {
    fn detail(&self) -> Detail {
        Detail::States
    }

    fn record(&mut self, event: &Event) {
        self.last = event.at;
        let place = usize::from(event.station);
        match event.kind {
            EventKind::State { from, to, reason, made, .. } => {
                if to == StationState::Planned && reason == Reason::BREAK {
                    self.calls.iter_mut().for_each(|call| call.is_plain = false);
                }
                if let Some(watch) = self.stations.get_mut(place) {
                    watch.made = made;
                    // The first row says in which state the station begins.
                    if event.at == Moment::ZERO && from == to && watch.open.is_none() && !to.is_own_stop() {
                        (watch.state, watch.since) = (to, event.at);
                    } else {
                        watch.state(event.at, from, to, reason);
                    }
                }
            }
            EventKind::Count { counter, reason: Reason::NONE, value } => {
                if let Some(watch) = self.stations.get_mut(place) {
                    if counter == Counter::Made {
                        watch.made = value;
                    }
                    if watch.counter == Some(CycleCounter::Written(counter)) {
                        watch.written = value;
                    }
                }
            }
            EventKind::Call { step, reason } => {
                if let Some(watch) = self.stations.get_mut(place).filter(|_| step == CallStep::Called) {
                    watch.call(reason);
                }
                self.call(event.at, event.station, step);
            }
            _ => {}
        }
    }
}
