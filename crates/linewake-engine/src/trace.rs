//! Stops that come as a log has them instead of being drawn.
//!
//! A stop comes again when its station has run as long as it had in the log (or when the calendar is as far), in the state
//! that the line is in then. It lasts as long as logged, waiting for an operator included, or with the waiting of the
//! model's own crew.

use crate::frame::StopUnderWay;
use crate::plan::{TraceClock, TracedStop};
use crate::stops::Clock;
use crate::world::World;
use linewake_log::event::{CallStep, StationState};
use linewake_model::line::StationIndex;
use linewake_model::stop::Reason;
use linewake_model::time::Span;
use std::collections::VecDeque;

/// The logged stops of a mode that are still to come.
#[derive(Debug)]
pub(crate) struct StopsToCome {
    stops: VecDeque<TracedStop>,
    /// Value of the mode's clock at which the log begins.
    start: Span,
}

impl StopsToCome {
    /// Value of the clock at which the next stop is due; the largest number if none is left.
    pub(crate) fn next_due(&self) -> u64 {
        self.stops.front().map_or(u64::MAX, |stop| self.start.0.saturating_add(stop.after.0))
    }

    /// The stop that strikes now.
    pub(crate) fn strike(&mut self) -> Option<TracedStop> {
        self.stops.pop_front()
    }
}

impl World<'_> {
    /// Takes the logged stops from the start, or notes that the running time is needed when a trace begins.
    pub(crate) fn prepare_trace(&mut self) {
        for frame in &mut self.frames {
            frame.keeps_running_time = frame.rare.modes.iter().any(|mode| mode.clock == Clock::RunningTime);
        }
        let trace = &self.plan.trace;
        for logged in trace.stops.iter().filter(|logged| logged.clock != TraceClock::CalendarTime) {
            self.frames[logged.station].keeps_running_time = true;
        }
        if trace.from.0 == 0 {
            self.take_traces();
        }
    }

    /// The log begins: what was drawn for these stations and reasons and has not struck is forgotten.
    pub(crate) fn trace_begins(&mut self) {
        self.take_traces();
        for place in 0..self.plan.trace.stops.len() {
            let station = self.plan.trace.stops[place].station;
            let frame = &mut self.frames[station];
            frame.keep_due(|mode| mode.traced.is_none());
            for mode in 0..frame.rare.modes.len() {
                if self.frames[station].rare.modes[mode].traced.is_some() {
                    self.draw_next(station, mode, 0.0);
                }
            }
            self.set_strike(station);
        }
    }

    fn take_traces(&mut self) {
        let (now, calendar) = (self.now, self.calendar());
        for logged in &self.plan.trace.stops {
            let frame = &mut self.frames[logged.station];
            let ran = frame.running_time(now);
            let outside_stops = frame.outside_stops(now);
            let Some(mode) = frame.rare.modes.iter_mut().find(|mode| mode.reason == logged.reason) else {
                continue;
            };
            let (clock, start) = match logged.clock {
                TraceClock::RunningTime => (Clock::RunningTime, ran),
                TraceClock::EndOfCycle => (Clock::EndOfCycle, ran),
                TraceClock::OutsideStops => (Clock::OutsideStops, outside_stops),
                TraceClock::CalendarTime => (Clock::CalendarTime, Span(calendar.0)),
            };
            mode.clock = clock;
            mode.attended = logged.attended;
            mode.group = None;
            mode.traced = Some(StopsToCome { stops: logged.stops.iter().copied().collect(), start });
        }
    }

    /// A logged stop strikes.
    pub(crate) fn traced_stop_strikes(&mut self, station: StationIndex, mode: usize, stop: TracedStop) {
        let frame = &mut self.frames[station];
        let (reason, attended) = (frame.rare.modes[mode].reason, frame.rare.modes[mode].attended);
        frame.stop_began = true;
        frame.rare.stop = Some(StopUnderWay {
            modes: vec![mode],
            began: self.now,
            duration: stop.repair,
            operator: None,
            waits_as_logged: attended && stop.waiting.is_some(),
        });
        let (timer, strike) = (frame.stop_end, frame.strike);
        if !attended {
            self.set_hold(station, Some((StationState::StoppedRepair, reason)));
            self.timers.cancel(strike);
            return self.set_in(timer, stop.waiting.unwrap_or_default() + stop.repair);
        }
        self.set_hold(station, Some((StationState::StoppedWaiting, reason)));
        self.timers.cancel(strike);
        match stop.waiting {
            None => {
                let response = self.frames[station].rare.modes[mode].response.span();
                self.call(station, response);
            }
            Some(waiting) => {
                self.tell_call(station, CallStep::Called);
                if waiting == Span::ZERO {
                    self.logged_waiting_ends(station);
                } else {
                    self.set_in(timer, waiting);
                }
            }
        }
    }

    /// An operator has come, as logged: one that is free is kept busy, if there is one.
    pub(crate) fn logged_waiting_ends(&mut self, station: StationIndex) {
        self.tell_call(station, CallStep::Arrived);
        let operator = self.crew.keep_busy();
        let frame = &mut self.frames[station];
        let reason = frame.hold.map_or(Reason::NONE, |(_, reason)| reason);
        let timer = frame.stop_end;
        if let Some(stop) = &mut frame.rare.stop {
            stop.waits_as_logged = false;
            stop.operator = operator;
            let repair = stop.duration;
            self.set_hold(station, Some((StationState::StoppedRepair, reason)));
            self.set_in(timer, repair);
        }
    }

    /// A stop without an operator is over: that of an attended logged one, for which none was free, is told all the same.
    pub(crate) fn logged_stop_ends(&mut self, station: StationIndex, modes: &[usize]) {
        let frame = &self.frames[station];
        if modes
            .iter()
            .any(|mode| frame.rare.modes[*mode].traced.is_some() && frame.rare.modes[*mode].attended)
        {
            self.tell_call(station, CallStep::Released);
        }
    }
}
