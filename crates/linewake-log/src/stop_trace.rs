//! The stops of a log one by one: when each struck, on the clock of the calendar and on the running time of its station,
//! and how long it lasted. What a run with the same stops needs.

use crate::event::{Detail, Event, EventKind, EventSink, StationState};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// One stop as the log tells it. Its lengths leave out breaks of the whole line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LoggedStop {
    /// Place of the station in the log.
    pub station: u16,
    /// Its reason, by the numbers of the log.
    pub reason: Reason,
    /// A planned stop other than a break: a challenge, a changeover.
    pub planned: bool,
    /// When it struck, on the calendar of the log.
    pub at: Moment,
    /// Running time of the station from the start of the log to then.
    pub ran: Span,
    /// Time that the station had then spent outside of own and planned stops: running, or waiting for its neighbours.
    pub outside_stops: Span,
    /// The station was running when it struck, so that its running time can have brought it on. `None`: it was in another
    /// stop, or in a break.
    pub struck_running: Option<bool>,
    /// Waiting for an operator.
    pub waiting: Span,
    /// Being put right.
    pub repair: Span,
    /// Length of the breaks that began while it was being put right: a repair that goes on in breaks went on in them.
    pub breaks_in_repair: Span,
    /// Its end is in the log; otherwise it was under way at the end, and its lengths are those so far.
    pub ended: bool,
}

impl LoggedStop {
    /// Its length, breaks left out.
    #[must_use]
    pub fn length(&self) -> Span {
        self.waiting + self.repair
    }
}

/// A time in which the whole line stood by plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LoggedBreak {
    /// When it began, on the calendar of the log.
    pub start: Moment,
    /// How long it was.
    pub duration: Span,
}

/// The stops of one log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StopTrace {
    /// In the order in which they struck.
    pub stops: Vec<LoggedStop>,
    /// Breaks of the whole line, in rising order.
    pub breaks: Vec<LoggedBreak>,
    /// End of the log.
    pub end: Moment,
}

/// Takes the events of a log and gives its stops.
///
/// It is an [`EventSink`]: hand it to the engine, or feed it the events of a log file.
#[derive(Clone, Debug, Default)]
pub struct StopTracer {
    trace: StopTrace,
    stations: Vec<Clock>,
    /// Start of the break that the line is in.
    break_since: Option<Moment>,
    /// Length of the breaks that are over.
    break_time: Span,
}

/// Clock of one station; its times are line time, which stands still in breaks.
#[derive(Clone, Copy, Debug, Default)]
struct Clock {
    state: Option<StationState>,
    since: Moment,
    ran: Span,
    outside_stops: Span,
    /// Place of the stop that it is in.
    open: Option<usize>,
    in_break: bool,
}

impl StopTracer {
    /// Before the first event.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// The stops up to the last event.
    #[must_use]
    pub fn finish(mut self) -> StopTrace {
        let end = self.trace.end;
        if let Some(start) = self.break_since.take() {
            self.trace.breaks.push(LoggedBreak { start, duration: end.since(start) });
            self.break_time += end.since(start);
        }
        let now = self.line_time(end);
        for station in 0..self.stations.len() {
            self.book(station, now);
        }
        self.trace
    }

    fn line_time(&self, at: Moment) -> Moment {
        let at = self.break_since.map_or(at, |since| at.min(since));
        Moment(at.0.saturating_sub(self.break_time.0))
    }

    /// Books the time in the present state up to now.
    fn book(&mut self, station: usize, now: Moment) {
        let clock = &mut self.stations[station];
        let spent = now.since(clock.since);
        clock.since = now;
        let stop = clock.open.map(|place| &mut self.trace.stops[place]);
        if clock.state.is_some_and(|state| !state.is_stop()) {
            clock.outside_stops += spent;
        }
        match (clock.state, stop) {
            (Some(StationState::Running), _) => clock.ran += spent,
            (Some(StationState::StoppedWaiting), Some(stop)) => stop.waiting += spent,
            (Some(StationState::StoppedRepair), Some(stop)) => stop.repair += spent,
            (Some(StationState::Planned), Some(stop)) if stop.planned => stop.repair += spent,
            _ => {}
        }
    }

    /// Most rows are from working to waiting and back: of these nothing but their times is kept.
    #[inline]
    fn state(&mut self, at: Moment, station: u16, from: StationState, to: StationState, reason: Reason) {
        let clock = self.stations.get_mut(usize::from(station));
        if let Some(clock) = clock
            && let Some(before) = clock.state
            && !before.is_stop()
            && !to.is_stop()
            && !clock.in_break
            && clock.open.is_none()
            && self.break_since.is_none()
        {
            let now = Moment(at.0.saturating_sub(self.break_time.0));
            let spent = now.since(clock.since);
            clock.outside_stops += spent;
            if before == StationState::Running {
                clock.ran += spent;
            }
            clock.since = now;
            clock.state = Some(to);
            return;
        }
        self.state_with_stops(at, station, from, to, reason);
    }

    fn state_with_stops(
        &mut self,
        at: Moment,
        station: u16,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) {
        let place = usize::from(station);
        if self.stations.len() <= place {
            self.stations.resize(place + 1, Clock::default());
        }
        let to_break = to == StationState::Planned && reason == Reason::BREAK;
        let now = self.line_time(at);
        self.book(place, now);
        if to_break {
            return self.break_begins(at, place);
        }
        let was_in_break = std::mem::take(&mut self.stations[place].in_break);
        if was_in_break && let Some(start) = self.break_since.take() {
            self.trace.breaks.push(LoggedBreak { start, duration: at.since(start) });
            self.break_time += at.since(start);
        }
        // A break leaves line time where it was.
        self.stations[place].since = self.line_time(at);
        let before = self.stations[place].state;
        self.stations[place].state = Some(to);
        let open = self.stations[place].open.and_then(|open| self.trace.stops.get_mut(open));
        let last_break = self.trace.breaks.last().filter(|_| was_in_break);
        let is_stop = to.is_stop();
        if let Some(open) = open {
            if let (Some(last), Some(StationState::StoppedRepair)) = (last_break, before) {
                open.breaks_in_repair += last.duration;
            }
            let goes_on = is_stop
                && open.reason == reason
                && open.planned == (to == StationState::Planned)
                && (was_in_break
                    || from == StationState::StoppedWaiting && to == StationState::StoppedRepair);
            if goes_on {
                return;
            }
            open.ended = true;
            self.stations[place].open = None;
        }
        if is_stop {
            self.stations[place].open = Some(self.trace.stops.len());
            let struck_running = match before.filter(|_| !was_in_break) {
                Some(StationState::Running) => Some(true),
                Some(StationState::Starved | StationState::Blocked) => Some(false),
                _ => None,
            };
            self.trace.stops.push(LoggedStop {
                station,
                reason,
                planned: to == StationState::Planned,
                at,
                ran: self.stations[place].ran,
                outside_stops: self.stations[place].outside_stops,
                struck_running,
                waiting: Span::ZERO,
                repair: Span::ZERO,
                breaks_in_repair: Span::ZERO,
                ended: false,
            });
        }
    }

    fn break_begins(&mut self, at: Moment, place: usize) {
        if self.break_since.is_none() {
            self.break_since = Some(at);
        }
        self.stations[place].in_break = true;
    }
}

impl EventSink for StopTracer {
    fn detail(&self) -> Detail {
        Detail::States
    }

    #[inline]
    fn record(&mut self, event: &Event) {
        self.trace.end = self.trace.end.max(event.at);
        if let EventKind::State { from, to, reason, .. } = event.kind {
            self.state(event.at, event.station, from, to, reason);
        }
    }
}
