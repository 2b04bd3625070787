//! What is run: how long, from which start, with what changed on purpose.

use linewake_log::header::ShiftStart;
use linewake_model::line::{Line, StationIndex};
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
