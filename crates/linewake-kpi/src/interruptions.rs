//! Interruptions of the constraint: what availability and performance are made of.
//!
//! An interruption runs from the instant at which the constraint leaves running to the instant at which it runs
//! again, through whatever states; a planned stop that is left out ends it, and so do the ends of the window.

use crate::convention::PlannedStops;
use linewake_log::event::StationState;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// What the constraint is doing, as far as OEE is concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Doing {
    /// Running.
    Running,
    /// In a planned stop that is left out of planned production time.
    LeftOut,
    /// Anything else.
    Interrupted,
}

impl Doing {
    /// `modelled` are the reasons of the planned stops that the model leaves out.
    #[inline]
    pub(crate) fn of(
        state: Option<StationState>,
        reason: Reason,
        rule: PlannedStops,
        modelled: &[Reason],
    ) -> Self {
        match state {
            Some(StationState::Running) => Self::Running,
            Some(StationState::Planned) if rule.leave_out(modelled, reason) => Self::LeftOut,
            _ => Self::Interrupted,
        }
    }
}

/// Sums over the window.
#[derive(Clone, Debug)]
pub(crate) struct Interruptions {
    short_stop_limit: Span,
    doing: Doing,
    since: Moment,
    pub(crate) running: Span,
    pub(crate) left_out: Span,
    pub(crate) long: u64,
    pub(crate) long_time: Span,
    pub(crate) short: u64,
    pub(crate) short_time: Span,
}

impl Interruptions {
    pub(crate) fn new(short_stop_limit: Span) -> Self {
        Self {
            short_stop_limit,
            doing: Doing::Interrupted,
            since: Moment::ZERO,
            running: Span::ZERO,
            left_out: Span::ZERO,
            long: 0,
            long_time: Span::ZERO,
            short: 0,
            short_time: Span::ZERO,
        }
    }

    /// The constraint changed its state.
    #[inline]
    pub(crate) fn change(&mut self, at: Moment, doing: Doing) {
        if doing != self.doing {
            self.book_up_to(at);
            self.doing = doing;
        }
    }

    /// Ends what is under way at `at`, and begins it anew there: the end of the window, or its start before
    /// [`Self::forget`].
    #[inline]
    pub(crate) fn book_up_to(&mut self, at: Moment) {
        let length = at.since(self.since);
        self.since = self.since.max(at);
        match self.doing {
            Doing::Running => self.running += length,
            Doing::LeftOut => self.left_out += length,
            Doing::Interrupted if length == Span::ZERO => {}
            Doing::Interrupted if length >= self.short_stop_limit => {
                self.long += 1;
                self.long_time += length;
            }
            Doing::Interrupted => {
                self.short += 1;
                self.short_time += length;
            }
        }
    }

    /// Forgets all that was booked: the window begins.
    pub(crate) fn forget(&mut self) {
        let (doing, since) = (self.doing, self.since);
        *self = Self { doing, since, ..Self::new(self.short_stop_limit) };
    }
}
