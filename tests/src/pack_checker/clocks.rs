//! States and clocks of the stations, taken from the state rows alone; breaks, and line time beside calendar time.

use super::{Check, fail};
use linewake_log::event::StationState;
use linewake_model::line::Line;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// The state rows of one station.
#[derive(Clone, Debug, Default)]
pub(super) struct StateClock {
    /// State and reason in force; none before the first row, and for belts and tables without states.
    pub(super) state: Option<(StationState, Reason)>,
    /// State and reason in force before the present instant.
    pub(super) before: Option<(StationState, Reason)>,
    /// In this instant a stop ended and another one of the same name began.
    repeated: bool,
    since: Moment,
    times: [u64; 6],
}

impl StateClock {
    /// Takes a state row.
    pub(super) fn change(
        &mut self,
        at: Moment,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> Check {
        match self.state {
            None if at != Moment::ZERO || from != to => {
                fail("the first state row is not at 0 with from = to")
            }
            None => {
                self.state = Some((to, reason));
                self.before = self.state;
                Ok(())
            }
            Some((state, _)) if state != from => {
                fail(format!("leaves {} and was {}", from.word(), state.word()))
            }
            // Another stop of the same name that follows at once.
            Some(state) if state == (to, reason) && is_held(to) && reason != Reason::BREAK => {
                self.repeated = true;
                Ok(())
            }
            Some(state) if state == (to, reason) => fail("a state row that changes nothing"),
            Some((state, _)) => {
                if at == self.since {
                    return fail(format!("the state {} has length zero", state.word()));
                }
                self.times[state as usize] += at.since(self.since).0;
                self.before = self.state;
                self.since = at;
                self.state = Some((to, reason));
                Ok(())
            }
        }
    }

    /// The instant is over: the state in force is the one before the next instant.
    pub(super) fn instant_over(&mut self) {
        self.before = self.state;
        self.repeated = false;
    }

    /// Time in that state up to `at`, in microseconds.
    pub(super) fn time_in(&self, state: StationState, at: Moment) -> u64 {
        let now = match self.state {
            Some((current, _)) if current == state => at.since(self.since).0,
            _ => 0,
        };
        self.times[state as usize] + now
    }

    /// Running time up to `at`.
    pub(super) fn ran(&self, at: Moment) -> u64 {
        self.time_in(StationState::Running, at)
    }

    /// Time up to `at` in which the station was in no own and no planned stop.
    pub(super) fn free(&self, at: Moment) -> u64 {
        [StationState::Running, StationState::Starved, StationState::Blocked]
            .iter()
            .map(|state| self.time_in(*state, at))
            .sum()
    }

    /// Time in all states up to `at`.
    pub(super) fn all(&self, at: Moment) -> u64 {
        StationState::ALL.iter().map(|state| self.time_in(*state, at)).sum()
    }

    /// In an own or planned stop.
    pub(super) fn is_held(&self) -> bool {
        self.state.is_some_and(|(state, _)| is_held(state))
    }

    /// In an own or planned stop before this instant, and not let go within it.
    pub(super) fn was_held_throughout(&self) -> bool {
        self.before == self.state && !self.repeated && self.is_held()
    }
}

pub(super) fn is_held(state: StationState) -> bool {
    state.is_own_stop() || state == StationState::Planned
}

/// The breaks of a run in calendar time.
#[derive(Clone, Debug)]
pub(super) struct Breaks(Vec<(Moment, Moment)>);

impl Breaks {
    pub(super) fn of(line: &Line, horizon: Moment) -> Self {
        let mut all = Vec::new();
        let mut shift = Moment::ZERO;
        while shift < horizon && !line.shift.breaks.is_empty() {
            for pause in &line.shift.breaks {
                let start = shift + Span(pause.start.0);
                if start < horizon {
                    all.push((start, (start + pause.duration).min(horizon)));
                }
            }
            shift += line.shift.length;
        }
        Self(all)
    }

    /// The time on which mechanics run: calendar time less the breaks so far.
    pub(super) fn line_time(&self, at: Moment) -> Moment {
        let passed = self.0.iter().take_while(|(start, _)| *start < at);
        let out: u64 = passed.map(|(start, end)| at.min(*end).since(*start).0).sum();
        Moment(at.0 - out)
    }

    /// From the first instant of a break to before its end.
    pub(super) fn within(&self, at: Moment) -> bool {
        self.0.iter().any(|(start, end)| *start <= at && at < *end)
    }

    /// `moment` lies in the break that ends at `end`.
    pub(super) fn within_that_ends(&self, moment: Moment, end: Moment) -> bool {
        self.0.iter().any(|(from, to)| *to == end && *from <= moment && moment < *to)
    }
}
