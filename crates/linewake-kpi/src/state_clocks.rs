//! The clock of each station: time in each state, and its stops by reason.
//!
//! A break freezes the line: it hides the state that a station is in and gives it back at its end, so that a stop
//! that a break interrupts is one stop.

use crate::histogram::TimeHistogram;
use linewake_log::event::StationState;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// Clocks of all stations, in line order.
#[derive(Clone, Debug)]
pub(crate) struct StateClocks {
    pub(crate) stations: Vec<StateClock>,
    short_stop_limit: Span,
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
    /// Running time before the window.
    ran_before: u64,
    /// Running time up to the end of the last own stop, from the start of the run.
    ran_at_last_end: Option<u64>,
    /// Running times between own stops of any reason.
    pub(crate) running_between: TimeHistogram,
    /// State rows that did not leave the state the station was in.
    pub(crate) gaps: u64,
}

/// Stops for one reason in the window.
#[derive(Clone, Debug)]
pub(crate) struct StopSum {
    pub(crate) reason: Reason,
    pub(crate) planned: bool,
    pub(crate) count: u64,
    pub(crate) waiting: Span,
    /// Being put right; of a planned stop, its whole time.
    pub(crate) repair: Span,
    /// Stops that began in the window and were shorter than the limit.
    pub(crate) minor: u64,
    pub(crate) minor_time: Span,
    /// Time of all stops that began in the window.
    pub(crate) begun_time: Span,
    /// Lengths of those of them that ended.
    pub(crate) lengths: TimeHistogram,
    /// Sum of them.
    pub(crate) ended_time: Span,
    /// Sum of their squares, in square microseconds.
    pub(crate) squares_us2: u128,
    pub(crate) running_between: TimeHistogram,
    /// Running time up to the end of the last one, from the start of the run.
    ran_at_last_end: Option<u64>,
}

impl StopSum {
    fn new(reason: Reason, planned: bool) -> Self {
        Self {
            reason,
            planned,
            count: 0,
            waiting: Span::ZERO,
            repair: Span::ZERO,
            minor: 0,
            minor_time: Span::ZERO,
            begun_time: Span::ZERO,
            lengths: TimeHistogram::default(),
            ended_time: Span::ZERO,
            squares_us2: 0,
            running_between: TimeHistogram::default(),
            ran_at_last_end: None,
        }
    }

    /// Something of it is in the window.
    pub(crate) fn is_in_window(&self) -> bool {
        self.count > 0 || self.waiting + self.repair > Span::ZERO
    }

    fn book_length(&mut self, length: Span, limit: Span) {
        self.begun_time += length;
        if length < limit {
            self.minor += 1;
            self.minor_time += length;
        }
    }
}

#[derive(Clone, Copy, Debug)]
struct OpenStop {
    state: StationState,
    reason: Reason,
    began: Moment,
    /// Time of all its stops for that reason when it began: what has come since is its length without breaks.
    time_before: Span,
    /// It began in the window.
    in_window: bool,
}

/// A stop that has just ended.
#[derive(Clone, Copy, Debug)]
pub(crate) struct EndedStop {
    pub(crate) reason: Reason,
    pub(crate) own: bool,
    pub(crate) began: Moment,
    /// Its length without breaks, if it began in the window.
    pub(crate) length: Span,
}

/// What a state row meant for the stops of its station.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct StopChange {
    pub(crate) ended: Option<EndedStop>,
    pub(crate) began: bool,
}

impl StateClocks {
    /// Own stops below the limit are minor ones.
    pub(crate) fn new(stations: usize, short_stop_limit: Span) -> Self {
        let clock = StateClock {
            state: None,
            reason: Reason::NONE,
            since: Moment::ZERO,
            times: [0; StationState::ALL.len()],
            stops: Vec::new(),
            stop: None,
            ran_before: 0,
            ran_at_last_end: None,
            running_between: TimeHistogram::default(),
            gaps: 0,
        };
        Self { stations: vec![clock; stations], short_stop_limit }
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
            clock.forget();
        }
    }

    /// The window ends: a stop under way is booked with its length so far. To be called once, after
    /// [`Self::book_up_to`].
    pub(crate) fn close(&mut self) {
        let limit = self.short_stop_limit;
        for clock in &mut self.stations {
            if let Some(stop) = clock.stop.take()
                && stop.in_window
            {
                let sum = clock.sum_of(stop.reason, stop.state == StationState::Planned);
                let length = sum.waiting + sum.repair - stop.time_before;
                sum.book_length(length, limit);
            }
        }
    }

    /// Books a row from work to waiting or back, which is what most rows are: nothing but times. False, and nothing is
    /// booked, if the row is another one; then it is one for [`Self::change`].
    #[inline]
    pub(crate) fn works_or_waits(
        &mut self,
        at: Moment,
        station: usize,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> bool {
        let clock = &mut self.stations[station];
        if clock.state != Some(from) || from.is_stop() || to.is_stop() || clock.stop.is_some() {
            return false;
        }
        clock.times[from as usize] += at.since(clock.since).0;
        clock.since = at;
        clock.state = Some(to);
        clock.reason = reason;
        true
    }

    /// The station goes into a state.
    pub(crate) fn change(
        &mut self,
        at: Moment,
        station: usize,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> StopChange {
        self.stations[station].change(at, from, to, reason, self.short_stop_limit)
    }
}

impl StateClock {
    /// Time in that state, as far as booked.
    pub(crate) fn time(&self, state: StationState) -> Span {
        Span(self.times[state as usize])
    }

    /// Its stops by reason that have something in the window.
    pub(crate) fn stops(&self) -> impl Iterator<Item = &StopSum> {
        self.stops.iter().filter(|sum| sum.is_in_window())
    }

    fn forget(&mut self) {
        self.ran_before = self.ran();
        self.times = [0; StationState::ALL.len()];
        self.running_between = TimeHistogram::default();
        for sum in &mut self.stops {
            *sum = StopSum { ran_at_last_end: sum.ran_at_last_end, ..StopSum::new(sum.reason, sum.planned) };
        }
        if let Some(stop) = &mut self.stop {
            stop.in_window = false;
        }
    }

    /// Running time from the start of the run, as far as booked.
    fn ran(&self) -> u64 {
        self.ran_before + self.times[StationState::Running as usize]
    }

    /// The own stop that the station is in, breaks apart: since when, and why.
    pub(crate) fn own_stop_under_way(&self) -> Option<(Moment, Reason)> {
        self.stop.filter(|stop| stop.state.is_own_stop()).map(|stop| (stop.began, stop.reason))
    }

    /// Length so far of the stop that it is in, without breaks, if it began in the window; as far as booked.
    pub(crate) fn length_so_far(&self) -> Span {
        let Some(stop) = self.stop.filter(|stop| stop.in_window) else { return Span::ZERO };
        let planned = stop.state == StationState::Planned;
        let sum = self.stops.iter().find(|sum| sum.reason == stop.reason && sum.planned == planned);
        sum.map_or(Span::ZERO, |sum| sum.waiting + sum.repair - stop.time_before)
    }

    /// The station stands in a break of the whole line.
    #[inline]
    pub(crate) fn is_in_break(&self) -> bool {
        is_break(self.state, self.reason)
    }

    fn change(
        &mut self,
        at: Moment,
        from: StationState,
        to: StationState,
        reason: Reason,
        limit: Span,
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
        let is_stop = to.is_stop();
        if !is_stop && self.stop.is_none() {
            return StopChange::default();
        }
        // A row from a stop to itself says that another stop of the same name follows at once.
        self.change_stop(at, to, reason, is_stop.then_some(from == to), limit)
    }

    /// `another`: `None` for a state that is no stop, else whether it is another stop whatever its name.
    fn change_stop(
        &mut self,
        at: Moment,
        to: StationState,
        reason: Reason,
        another: Option<bool>,
        limit: Span,
    ) -> StopChange {
        if let Some(stop) = &mut self.stop
            && another == Some(false)
            && stop.goes_on(to, reason)
        {
            stop.state = to;
            return StopChange::default();
        }
        let ended = self.stop.take().map(|stop| self.stop_ends(stop, limit));
        if another.is_some() {
            self.stop_begins(at, to, reason);
        }
        StopChange { ended, began: another.is_some() }
    }

    fn stop_begins(&mut self, at: Moment, state: StationState, reason: Reason) {
        let ran = self.ran();
        let own = state.is_own_stop();
        if let Some(before) = self.ran_at_last_end.filter(|_| own) {
            self.running_between.add(Span(ran - before));
        }
        let sum = self.sum_of(reason, !own);
        sum.count += 1;
        if let Some(before) = sum.ran_at_last_end {
            sum.running_between.add(Span(ran - before));
        }
        let time_before = sum.waiting + sum.repair;
        self.stop = Some(OpenStop { state, reason, began: at, time_before, in_window: true });
    }

    fn stop_ends(&mut self, stop: OpenStop, limit: Span) -> EndedStop {
        let ran = self.ran();
        let own = stop.state.is_own_stop();
        if own {
            self.ran_at_last_end = Some(ran);
        }
        let sum = self.sum_of(stop.reason, !own);
        sum.ran_at_last_end = Some(ran);
        let length = if stop.in_window { sum.waiting + sum.repair - stop.time_before } else { Span::ZERO };
        if stop.in_window {
            sum.book_length(length, limit);
            sum.lengths.add(length);
            sum.ended_time += length;
            sum.squares_us2 = sum.squares_us2.saturating_add(u128::from(length.0) * u128::from(length.0));
        }
        EndedStop { reason: stop.reason, own, began: stop.began, length }
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
            self.stops.push(StopSum::new(reason, planned));
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
