//! The clock of each station: time in each state, and its stops by reason.
//!
//! A break freezes the line: it hides the state that a station is in and gives it back at its end, so that a stop
//! that a break interrupts is one stop.

use linewake_log::event::StationState;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// Clocks of all stations, in line order.
#[derive(Clone, Debug)]
pub(crate) struct StateClocks {
    pub(crate) stations: Vec<StateClock>,
}

/// Clock of one station.
#[derive(Clone, Debug)]
pub(crate) struct StateClock {
    /// The state it is in; `None` before its first row.
    pub(crate) state: Option<StationState>,
    /// Reason of that state.
    pub(crate) reason: Reason,
    /// Since when the time in this state is not yet booked.
    since: Moment,
    times: [u64; StationState::ALL.len()],
    stops: Vec<StopSum>,
    /// The own or planned stop that it is in, breaks apart.
    stop: Option<OpenStop>,
    /// State rows that did not leave the state the station was in.
    pub(crate) gaps: u64,
}

/// Stops for one reason in the window.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StopSum {
    pub(crate) reason: Reason,
    pub(crate) planned: bool,
    pub(crate) count: u64,
    pub(crate) waiting: Span,
    /// Being put right; of a planned stop, its whole time.
    pub(crate) repair: Span,
}

#[derive(Clone, Copy, Debug)]
struct OpenStop {
    state: StationState,
    reason: Reason,
    began: Moment,
}

/// A stop that has just ended.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EndedStop {
    pub(crate) reason: Reason,
    pub(crate) own: bool,
    pub(crate) began: Moment,
}

/// What a state row meant for the stops of its station.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct StopChange {
    pub(crate) ended: Option<EndedStop>,
    pub(crate) began: bool,
}

impl StateClocks {
    pub(crate) fn new(stations: usize) -> Self {
        let clock = StateClock {
            state: None,
            reason: Reason::NONE,
            since: Moment::ZERO,
            times: [0; StationState::ALL.len()],
            stops: Vec::new(),
            stop: None,
            gaps: 0,
        };
        Self { stations: vec![clock; stations] }
    }

    /// Books all time up to `at`.
    pub(crate) fn book_up_to(&mut self, at: Moment) {
        for clock in &mut self.stations {
            clock.book_up_to(at);
        }
    }

    /// Forgets all that was booked: the window begins. A stop that is under way is not counted again.
    pub(crate) fn forget(&mut self) {
        for clock in &mut self.stations {
            clock.times = [0; StationState::ALL.len()];
            clock.stops.clear();
        }
    }
}

impl StateClock {
    /// Time in that state, as far as booked.
    pub(crate) fn time(&self, state: StationState) -> Span {
        Span(self.times[state as usize])
    }

    pub(crate) fn stops(&self) -> &[StopSum] {
        &self.stops
    }

    /// The station stands in a break of the whole line.
    pub(crate) fn is_in_break(&self) -> bool {
        is_break(self.state, self.reason)
    }

    /// The station goes into a state.
    pub(crate) fn change(
        &mut self,
        at: Moment,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> StopChange {
        self.book_up_to(at);
        if self.state.is_some_and(|state| state != from) {
            self.gaps += 1;
        }
        let entered_break = !self.is_in_break();
        self.state = Some(to);
        self.reason = reason;
        self.since = at;
        if is_break(self.state, reason) {
            if entered_break {
                self.sum_of(reason, true).count += 1;
            }
            return StopChange::default();
        }
        let is_stop = to.is_own_stop() || to == StationState::Planned;
        if !is_stop && self.stop.is_none() {
            return StopChange::default();
        }
        // A row from a stop to itself says that another stop of the same name follows at once.
        self.change_stop(at, to, reason, is_stop, from == to)
    }

    fn change_stop(
        &mut self,
        at: Moment,
        to: StationState,
        reason: Reason,
        is_stop: bool,
        another: bool,
    ) -> StopChange {
        if let Some(stop) = &mut self.stop
            && is_stop
            && !another
            && stop.goes_on(to, reason)
        {
            stop.state = to;
            return StopChange::default();
        }
        let ended = self.stop.take().map(|stop| EndedStop {
            reason: stop.reason,
            own: stop.state.is_own_stop(),
            began: stop.began,
        });
        if is_stop {
            self.stop = Some(OpenStop { state: to, reason, began: at });
            self.sum_of(reason, to == StationState::Planned).count += 1;
        }
        StopChange { ended, began: is_stop }
    }

    fn book_up_to(&mut self, at: Moment) {
        let elapsed = at.since(self.since);
        self.since = self.since.max(at);
        let Some(state) = self.state else { return };
        self.times[state as usize] += elapsed.0;
        match state {
            StationState::StoppedWaiting => self.sum_of(self.reason, false).waiting += elapsed,
            StationState::StoppedRepair => self.sum_of(self.reason, false).repair += elapsed,
            StationState::Planned => self.sum_of(self.reason, true).repair += elapsed,
            StationState::Running | StationState::Starved | StationState::Blocked => {}
        }
    }

    fn sum_of(&mut self, reason: Reason, planned: bool) -> &mut StopSum {
        let known = self.stops.iter().position(|sum| sum.reason == reason && sum.planned == planned);
        let place = known.unwrap_or_else(|| {
            self.stops.push(StopSum { reason, planned, count: 0, waiting: Span::ZERO, repair: Span::ZERO });
            self.stops.len() - 1
        });
        &mut self.stops[place]
    }
}

impl OpenStop {
    /// The state is a later part of this stop: the same reason, and not waiting for an operator once more.
    fn goes_on(&self, to: StationState, reason: Reason) -> bool {
        self.reason == reason
            && self.state.is_own_stop() == to.is_own_stop()
            && !(self.state == StationState::StoppedRepair && to == StationState::StoppedWaiting)
    }
}

fn is_break(state: Option<StationState>, reason: Reason) -> bool {
    state == Some(StationState::Planned) && reason == Reason::BREAK
}
