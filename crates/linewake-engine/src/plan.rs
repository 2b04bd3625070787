//! What is run: how long, from which start, with what changed on purpose.

use linewake_log::header::ShiftStart;
use linewake_model::line::{Break, Line, StationIndex};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// The plan of one run. The run is `[0, horizon)`: what would fall on the horizon does not happen.
#[derive(Clone, Debug, PartialEq)]
pub struct RunPlan {
    /// End of the run in calendar time. Breaks repeat with every shift length.
    pub horizon: Moment,
    /// Up to this moment nothing is counted by the accounting (the engine runs all the same).
    pub warm_up: Moment,
    /// Consumables start part used (a share drawn uniformly), as in a shift of the long run; where the model states
    /// an `initial` of its own, that stands.
    pub consumables_part_used: bool,
    /// Own stops, fail-safes included, are drawn from the model. False: the line runs without them.
    pub own_stops: bool,
    /// Stops that are switched off one by one.
    pub switched_off: Vec<(StationIndex, Reason)>,
    /// Stops that happen on purpose, besides the drawn ones.
    pub injected: Vec<InjectedStop>,
    /// Logged stops that take the place of drawn ones.
    pub trace: Trace,
    /// Breaks of the run in calendar time, in rising order; `None`: those of the model's shift, again with every shift length.
    pub breaks: Option<Vec<Break>>,
}

/// A stop on purpose: unattended, of a given length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InjectedStop {
    /// Where.
    pub station: StationIndex,
    /// When, in calendar time; if the station is in a stop then, it follows that one.
    pub at: Moment,
    /// How long.
    pub duration: Span,
}

/// Stops that come as a log has them instead of being drawn. Of a station and reason that is traced nothing is drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Trace {
    /// Where on the calendar of the run the log begins. Until then the stops are drawn.
    pub from: Moment,
    /// One for each station and reason that is traced.
    pub stops: Vec<TracedReason>,
}

/// The stops of one station for one reason.
#[derive(Clone, Debug, PartialEq)]
pub struct TracedReason {
    /// Where.
    pub station: StationIndex,
    /// Its reason; one that the model does not have on that station comes on top of the model's.
    pub reason: Reason,
    /// An operator puts it right.
    pub attended: bool,
    /// What the moments of the stops are measured on.
    pub clock: TraceClock,
    /// In the order in which they come. With none, the station has no such stop.
    pub stops: Vec<TracedStop>,
}

/// What brings a traced stop on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TraceClock {
    /// The station has run as long as it had in the log: it strikes in the middle of work.
    RunningTime,
    /// The same, at the end of the cycle in which that is reached, as counts and fail-safes do.
    EndOfCycle,
    /// The station has spent as long outside of own and planned stops as it had in the log, and runs: for logs that do not tell
    /// when a station waits.
    OutsideStops,
    /// The calendar has come as far as it had in the log, whatever the station does.
    CalendarTime,
}

/// One traced stop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TracedStop {
    /// Time on that clock since the start of the log at which it strikes.
    pub after: Span,
    /// Waiting for an operator, as logged: nobody is called, and from then on an operator is kept busy if one is free. `None`
    /// calls an operator of the model's crew, as a drawn stop does.
    pub waiting: Option<Span>,
    /// How long it takes then.
    pub repair: Span,
}

impl RunPlan {
    /// One shift of the line as the model describes it: everything new, no warm-up.
    #[must_use]
    pub fn shift(line: &Line) -> Self {
        Self {
            horizon: Moment::ZERO + line.shift.length,
            warm_up: Moment::ZERO,
            consumables_part_used: false,
            own_stops: true,
            switched_off: Vec::new(),
            injected: Vec::new(),
            trace: Trace::default(),
            breaks: None,
        }
    }

    /// How a shift of this plan begins, as its log tells it; `None` for a plan that is neither of the two promises.
    #[must_use]
    pub fn start(&self) -> Option<ShiftStart> {
        match (self.consumables_part_used, self.warm_up) {
            (true, _) => Some(ShiftStart::LongRun),
            (false, Moment::ZERO) => Some(ShiftStart::NewRolls),
            (false, _) => None,
        }
    }

    /// A shift of the long run: a warm-up first, which is not counted, and consumables part used.
    #[must_use]
    pub fn long_run(line: &Line, warm_up: Span) -> Self {
        let warm_up = Moment::ZERO + warm_up;
        Self {
            horizon: warm_up + line.shift.length,
            warm_up,
            consumables_part_used: true,
            ..Self::shift(line)
        }
    }
}
