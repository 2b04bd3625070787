//! What every station has, whatever its kind: state, stops, running-time clock, speed relay.

use crate::books::Flow;
use crate::queue::Timer;
use crate::stops::Mode;
use linewake_log::event::StationState;
use linewake_model::line::StationIndex;
use linewake_model::station::{SpeedControl, SpeedStep};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use std::collections::VecDeque;

/// The common part of a station. It fills two lines of the processor's cache, and begins with one.
#[derive(Debug)]
#[repr(align(64))]
pub(crate) struct Frame {
    /// False for belts and tables that have content only.
    pub(crate) has_states: bool,
    /// State as far as the station's own work goes.
    pub(crate) base: StationState,
    /// The stop (or planned stop) that hides it.
    pub(crate) hold: Option<(StationState, Reason)>,
    /// State and reason last written.
    pub(crate) written: (StationState, Reason),
    /// A stop has begun since then: it gets a row of its own even if the one before bore the same name.
    pub(crate) stop_began: bool,
    /// It has a piece ready that the next station refused.
    pub(crate) waits_for_room: bool,

    /// The station that is told when there is room again: the one before, past belts and tables of no capacity.
    pub(crate) asks_for_room: StationIndex,
    /// Pieces made and handed over.
    pub(crate) flow: Flow,
    /// Content of a belt or table, [`linewake_log::event::NO_CONTENT`] of other stations.
    pub(crate) buffer_content: u32,

    /// Main motion.
    pub(crate) motion: Timer,
    /// Second motion; the same timer as the main one where there is none.
    pub(crate) second: Timer,
    /// Next running-time or calendar stop.
    pub(crate) strike: Timer,
    /// End of the stop, or of the challenge.
    pub(crate) stop_end: Timer,

    /// A stop is due: one of `rare.due`.
    pub(crate) any_due: bool,
    /// Running time up to `running_since`.
    pub(crate) ran: Span,
    /// Since when the station has been running, if it is.
    pub(crate) running_since: Moment,
    /// Some mode needs the running time, now or when a trace begins.
    pub(crate) keeps_running_time: bool,
    /// Smallest due value of the running-time modes; the largest number if there are none.
    pub(crate) next_running_due: Span,
    /// Some mode strikes by the calendar, or by the time outside of stops.
    pub(crate) has_other_clocks: bool,
    /// Cycles so far, for counts.
    pub(crate) cycles: u64,
    /// Smallest due value of the count modes; largest number if there are none.
    pub(crate) next_count_due: u64,

    /// Speed as a share of the set speed, in force from the next cycle on.
    pub(crate) share: f64,
    /// Some station's speed follows the content of this one.
    pub(crate) is_watched: bool,
    /// What is seldom looked at.
    pub(crate) rare: Box<Rare>,
}

/// What of the common part is looked at in stops and at changes of speed only. It lies together, so that the rest of all
/// frames fits into the nearest cache.
#[derive(Debug)]
pub(crate) struct Rare {
    /// Stop modes; fail-safes, injected stops and traced ones that the model does not have come
    /// after those of the model.
    pub(crate) modes: Vec<Mode>,
    /// Modes whose stop is due, in the order in which they strike.
    pub(crate) due: VecDeque<usize>,
    /// The stop under way.
    pub(crate) stop: Option<StopUnderWay>,
    /// Time in own and planned stops up to `held_since`.
    pub(crate) held: Span,
    /// Since when the station has been in a stop, if it is.
    pub(crate) held_since: Moment,
    /// Speed steps.
    pub(crate) speed: Option<SpeedRelay>,
}

/// A stop that has struck and is not over.
#[derive(Debug)]
pub(crate) struct StopUnderWay {
    /// The modes it stands for; several if they share a group.
    pub(crate) modes: Vec<usize>,
    /// When it struck.
    pub(crate) began: Moment,
    /// How long putting it right takes.
    pub(crate) duration: Span,
    /// Operator at work.
    pub(crate) operator: Option<usize>,
    /// A traced stop in its waiting: the timer of its end is that of the waiting.
    pub(crate) waits_as_logged: bool,
}

/// No stop comes with running time.
pub(crate) const NO_STOP: Span = Span(u64::MAX);

impl Frame {
    /// Lets the stop of that mode strike when it can, if it is not due already.
    pub(crate) fn make_due(&mut self, mode: usize) {
        if !self.rare.due.contains(&mode) {
            self.rare.due.push_back(mode);
        }
        self.any_due = true;
    }

    /// The mode of the stop that strikes first of those that are due, which is due no longer.
    pub(crate) fn take_first_due(&mut self) -> Option<usize> {
        let first = self.rare.due.pop_front();
        self.any_due = !self.rare.due.is_empty();
        first
    }

    /// Forgets the due stops of modes that are not to be kept.
    pub(crate) fn keep_due(&mut self, keeps: impl Fn(&Mode) -> bool) {
        let modes = &self.rare.modes;
        self.rare.due.retain(|number| keeps(&modes[*number]));
        self.any_due = !self.rare.due.is_empty();
    }

    /// Running in fact: no stop, and its own work goes on.
    pub(crate) fn is_running(&self) -> bool {
        self.base == StationState::Running && self.hold.is_none()
    }

    /// When the next running-time stop strikes if the station goes on running.
    #[inline]
    pub(crate) fn running_stop_due(&self) -> Option<Moment> {
        let due = self.next_running_due;
        (due < NO_STOP).then(|| self.running_since + (due - self.ran))
    }

    /// In an own or planned stop.
    pub(crate) fn is_held(&self) -> bool {
        self.hold.is_some()
    }

    /// Line time spent outside of own and planned stops.
    pub(crate) fn outside_stops(&self, now: Moment) -> Span {
        let (held, held_since) = (self.rare.held, self.rare.held_since);
        let held = if self.is_held() { held + now.since(held_since) } else { held };
        now.since(Moment::ZERO + held)
    }

    /// State and reason as they are to be written.
    pub(crate) fn shown(&self) -> (StationState, Reason) {
        self.hold.unwrap_or((self.base, Reason::NONE))
    }

    /// Running time so far.
    pub(crate) fn running_time(&self, now: Moment) -> Span {
        if self.is_running() { self.ran + now.since(self.running_since) } else { self.ran }
    }
}

/// A line of fifty stations and as many buffers is worked on from the nearest cache only while this holds.
const _: () = assert!(size_of::<Frame>() <= 128);

/// Chooses a speed step by the content of a belt or table, with hysteresis.
#[derive(Clone, Debug)]
pub(crate) struct SpeedRelay {
    watch: StationIndex,
    steps: Vec<SpeedStep>,
    step: usize,
}

impl SpeedRelay {
    pub(crate) fn new(control: &SpeedControl) -> Self {
        Self { watch: control.watch, steps: control.steps.clone(), step: 0 }
    }

    pub(crate) fn watches(&self) -> StationIndex {
        self.watch
    }

    pub(crate) fn share(&self) -> f64 {
        self.steps[self.step].share
    }

    pub(crate) fn sees(&mut self, watched: StationIndex, content: u32) {
        if watched != self.watch {
            return;
        }
        while self.steps.get(self.step + 1).is_some_and(|next| content >= next.enter_at) {
            self.step += 1;
        }
        while self.step > 0 && content <= self.steps[self.step].leave_at {
            self.step -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_relay_has_hysteresis() {
        let step = |share, enter_at, leave_at| SpeedStep { share, enter_at, leave_at };
        let control =
            SpeedControl { watch: 3, steps: vec![step(1.1, 0, 0), step(1.0, 20, 10), step(0.8, 50, 40)] };
        let mut relay = SpeedRelay::new(&control);
        let mut seen = Vec::new();
        for content in [0, 19, 20, 11, 10, 20, 55, 41, 40, 9, 60, 0] {
            relay.sees(3, content);
            relay.sees(4, 1000); // another table
            seen.push(relay.share());
        }
        assert_eq!(seen, [1.1, 1.1, 1.0, 1.0, 1.1, 1.0, 0.8, 0.8, 1.0, 1.1, 0.8, 1.1]);
    }
}
