//! Own stops: when they strike, what they hold up, when they are over.

use crate::frame::{NO_STOP, StopUnderWay};
use crate::luck::Draw;
use crate::queue::Timer;
use crate::station::Unit;
use crate::trace::StopsToCome;
use crate::world::World;
use linewake_log::event::StationState;
use linewake_model::line::StationIndex;
use linewake_model::stop::{Basis, Reason};
use linewake_model::time::{Moment, Span};

/// What makes a stop mode due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Clock {
    /// The station's running time reaches `due_time`.
    RunningTime,
    /// Calendar time reaches `due_time`.
    CalendarTime,
    /// The station's cycles reach `due_count`.
    Count,
    /// The station's running time reaches `due_time`; strikes at the end of that cycle (traced stops only).
    EndOfCycle,
    /// The station's time outside of stops reaches `due_time`; strikes as soon as it runs (traced stops only).
    OutsideStops,
    /// Something else calls it: a fail-safe, or an injected stop.
    Called,
}

/// A stop mode with its clock and its luck.
#[derive(Debug)]
pub(crate) struct Mode {
    pub(crate) reason: Reason,
    pub(crate) clock: Clock,
    pub(crate) between: Option<Draw>,
    pub(crate) duration: Draw,
    pub(crate) response: Draw,
    pub(crate) attended: bool,
    pub(crate) group: Option<u16>,
    pub(crate) scrap_after_indexes: u32,
    /// The logged stops that are still to come; `None` of a mode that is drawn.
    pub(crate) traced: Option<StopsToCome>,
    /// Due value of the running-time or calendar clock, in microseconds; largest number if it never strikes.
    pub(crate) due_time: u64,
    /// Due value of the count.
    pub(crate) due_count: u64,
}

impl From<Basis> for Clock {
    fn from(basis: Basis) -> Self {
        match basis {
            Basis::RunningTime => Self::RunningTime,
            Basis::CalendarTime => Self::CalendarTime,
            Basis::Count => Self::Count,
        }
    }
}

impl World<'_> {
    /// Draws when the mode strikes next. `used` is the share of the first time or count that is gone already.
    pub(crate) fn draw_next(&mut self, station: StationIndex, mode: usize, used: f64) {
        let (now, calendar) = (self.now, self.calendar());
        let frame = &mut self.frames[station];
        let (ran, cycles) = (frame.running_time(now), frame.cycles);
        let mode = &mut frame.rare.modes[mode];
        if let Some(trace) = &mut mode.traced {
            mode.due_time = trace.next_due();
            return self.note_next_due(station);
        }
        let Some(between) = &mut mode.between else {
            return;
        };
        let rest = 1.0 - used;
        match mode.clock {
            Clock::RunningTime => mode.due_time = ran.0.saturating_add(left(between.span(), rest).0),
            Clock::CalendarTime => mode.due_time = calendar.0.saturating_add(left(between.span(), rest).0),
            Clock::Count => {
                let count = between.count();
                let count = if used > 0.0 {
                    ((count as f64 * rest - 1e-9).ceil() as u64).clamp(1, count)
                } else {
                    count
                };
                mode.due_count = cycles.saturating_add(count);
            }
            Clock::EndOfCycle | Clock::OutsideStops | Clock::Called => {}
        }
        self.note_next_due(station);
    }

    pub(crate) fn note_next_due(&mut self, station: StationIndex) {
        let frame = &mut self.frames[station];
        let running = frame.rare.modes.iter().filter(|mode| mode.clock == Clock::RunningTime);
        frame.next_running_due = running.map(|mode| Span(mode.due_time)).min().unwrap_or(NO_STOP);
        let counts = frame.rare.modes.iter().filter(|mode| mode.clock == Clock::Count);
        frame.next_count_due = counts.map(|mode| mode.due_count).min().unwrap_or(u64::MAX);
        let is_other = |mode: &Mode| matches!(mode.clock, Clock::OutsideStops | Clock::CalendarTime);
        frame.has_other_clocks = frame.rare.modes.iter().any(is_other);
        if frame.rare.modes.iter().any(|mode| mode.clock == Clock::EndOfCycle) {
            // Each cycle is looked at.
            frame.next_count_due = 0;
        }
    }

    /// Sets the strike timer to the next running-time or calendar stop; neither strikes within a stop.
    pub(crate) fn set_strike(&mut self, station: StationIndex) {
        let frame = &self.frames[station];
        let timer = frame.strike;
        if frame.is_held() {
            return self.timers.cancel(timer);
        }
        let mut next = Moment::NEVER;
        if frame.is_running()
            && let Some(due) = frame.running_stop_due()
        {
            next = due;
        }
        if frame.has_other_clocks {
            for mode in &frame.rare.modes {
                let due = match mode.clock {
                    Clock::OutsideStops if frame.is_running() => {
                        Moment(mode.due_time.saturating_add(frame.rare.held.0))
                    }
                    Clock::CalendarTime => self.line_time(Moment(mode.due_time)),
                    _ => continue,
                };
                next = next.min(due.max(self.now));
            }
        }
        if next == Moment::NEVER { self.timers.cancel(timer) } else { self.timers.set(timer, next) }
    }

    /// The strike timer has fired: every mode whose clock is there is due, in listed order.
    ///
    /// A station that starts and stops running with each piece would set its timer twice a piece for a stop that strikes
    /// once in hundreds of them. So the timer stays when the station waits, and fires too early by what it has waited:
    /// then it is put off, or taken off until the station runs again, and nothing has happened.
    pub(crate) fn strike(&mut self, timer: Timer, station: StationIndex) {
        let frame = &self.frames[station];
        if !frame.has_other_clocks {
            let due = if frame.is_running() { frame.running_stop_due() } else { None };
            if due.is_none_or(|due| due > self.now) {
                self.alarms[timer.place()].fired -= 1;
                if let Some(due) = due {
                    self.timers.put_off(timer, due);
                }
                return;
            }
        }
        self.collect_due(station, true);
        if self.frames[station].any_due { self.stop_strikes(station) } else { self.set_strike(station) }
    }

    /// Puts the modes whose clocks have come into the queue of due stops.
    fn collect_due(&mut self, station: StationIndex, running_too: bool) {
        let calendar = self.calendar();
        let frame = &mut self.frames[station];
        let (ran, outside_stops) = (frame.running_time(self.now), frame.outside_stops(self.now));
        for number in 0..frame.rare.modes.len() {
            let mode = &frame.rare.modes[number];
            let is_due = match mode.clock {
                Clock::RunningTime => running_too && mode.due_time <= ran.0,
                Clock::OutsideStops => running_too && mode.due_time <= outside_stops.0,
                Clock::CalendarTime => mode.due_time <= calendar.0,
                Clock::Count | Clock::EndOfCycle | Clock::Called => false,
            };
            if is_due {
                frame.make_due(number);
            }
        }
    }

    /// Counts one cycle of the station; true if a stop is now due, which strikes at the end of the cycle.
    #[inline]
    pub(crate) fn count_cycle(&mut self, station: StationIndex) -> bool {
        self.cycle_makes(station, 0)
    }

    /// Counts one cycle of the station that has made so many pieces, as [`Self::count_cycle`] does.
    #[inline]
    pub(crate) fn cycle_makes(&mut self, station: StationIndex, pieces: u64) -> bool {
        let frame = &mut self.frames[station];
        frame.flow.made += pieces;
        frame.cycles += 1;
        if frame.cycles < frame.next_count_due {
            return frame.any_due;
        }
        self.counts_come_due(station)
    }

    #[cold]
    fn counts_come_due(&mut self, station: StationIndex) -> bool {
        let frame = &mut self.frames[station];
        let ran = frame.running_time(self.now);
        for number in 0..frame.rare.modes.len() {
            let mode = &frame.rare.modes[number];
            let is_due = match mode.clock {
                Clock::Count => mode.due_count <= frame.cycles,
                Clock::EndOfCycle => mode.due_time <= ran.0,
                Clock::RunningTime | Clock::OutsideStops | Clock::CalendarTime | Clock::Called => false,
            };
            if is_due {
                frame.make_due(number);
            }
        }
        frame.any_due
    }

    /// A fail-safe calls for its stop. One that is traced comes when it came in the log.
    pub(crate) fn make_due(&mut self, station: StationIndex, mode: usize) {
        let frame = &mut self.frames[station];
        if frame.rare.modes[mode].traced.is_none() {
            frame.make_due(mode);
        }
    }

    /// An injected stop strikes now, or after the stop that the station is in.
    pub(crate) fn inject(&mut self, station: StationIndex, which: usize) {
        let injected = self.plan.injected.iter().take(which).filter(|stop| stop.station == station).count();
        let first = self.frames[station].rare.modes.iter().position(|mode| mode.reason == Reason::INJECTED);
        if let Some(first) = first {
            self.make_due(station, first + injected);
            self.strike_if_due(station);
        }
    }

    /// Lets due stops strike unless the station is held already.
    pub(crate) fn strike_if_due(&mut self, station: StationIndex) {
        if self.frames[station].any_due && !self.frames[station].is_held() {
            self.stop_strikes(station);
        }
    }

    /// The first due stop strikes: the work under way is kept and goes on afterwards.
    fn stop_strikes(&mut self, station: StationIndex) {
        if !self.frames[station].is_held() {
            self.pause(station);
        }
        self.next_stop(station);
    }

    fn next_stop(&mut self, station: StationIndex) {
        let frame = &mut self.frames[station];
        let Some(first) = frame.take_first_due() else {
            return;
        };
        if let Some(stop) = frame.rare.modes[first].traced.as_mut().and_then(StopsToCome::strike) {
            return self.traced_stop_strikes(station, first, stop);
        }
        let mut modes = vec![first];
        if let Some(group) = frame.rare.modes[first].group {
            let same = |number: &usize| frame.rare.modes[*number].group == Some(group);
            modes.extend(frame.rare.due.iter().copied().filter(same));
            frame.keep_due(|mode| mode.group != Some(group));
        }
        let mut duration = Span::ZERO;
        let mut response = Span::ZERO;
        let (mut named, mut attended) = (first, false);
        for &number in &modes {
            let mode = &mut frame.rare.modes[number];
            let drawn = mode.duration.span();
            if drawn > duration {
                (duration, named) = (drawn, number);
            }
            if mode.attended {
                let drawn = mode.response.span();
                response = if attended { response } else { drawn };
                attended = true;
            }
        }
        let reason = frame.rare.modes[named].reason;
        let timer = frame.stop_end;
        frame.stop_began = true;
        frame.rare.stop =
            Some(StopUnderWay { modes, began: self.now, duration, operator: None, waits_as_logged: false });
        if attended {
            self.set_hold(station, Some((StationState::StoppedWaiting, reason)));
            self.timers.cancel(self.frames[station].strike);
            self.call(station, response);
        } else {
            self.set_hold(station, Some((StationState::StoppedRepair, reason)));
            self.timers.cancel(self.frames[station].strike);
            self.set_in(timer, duration);
        }
    }

    /// The stop, or the challenge, is over.
    pub(crate) fn stop_ends(&mut self, station: StationIndex) {
        if self.frames[station].rare.stop.as_ref().is_some_and(|stop| stop.waits_as_logged) {
            return self.logged_waiting_ends(station);
        }
        let Some(stop) = self.frames[station].rare.stop.take() else {
            return self.challenge_ends(station);
        };
        for &mode in &stop.modes {
            self.draw_next(station, mode, 0.0);
            self.fail_safe_done(station, mode);
            let indexes = self.frames[station].rare.modes[mode].scrap_after_indexes;
            self.first_off(indexes);
        }
        self.stop_scrap(station, self.now.since(stop.began));
        match stop.operator {
            Some(operator) => self.release(operator, station),
            None => self.logged_stop_ends(station, &stop.modes),
        }
        self.go_on(station);
    }

    /// After a stop or challenge: the next due stop, else a pending challenge, else work.
    pub(crate) fn go_on(&mut self, station: StationIndex) {
        self.collect_due(station, false);
        if self.frames[station].any_due {
            return self.next_stop(station);
        }
        if self.challenge_starts(station) {
            return;
        }
        self.set_hold(station, None);
        self.set_strike(station);
        self.resume(station);
    }

    /// The motions of the station stand still.
    fn pause(&mut self, station: StationIndex) {
        let frame = &self.frames[station];
        let (motion, second) = (frame.motion, frame.second);
        match &self.units[station] {
            Unit::RigidBelt(_) => self.belt_pauses(station),
            Unit::Former(_) => self.former_pauses(station),
            Unit::Accumulator(_) => self.accumulator_pauses(station),
            Unit::Machine(_) => {
                self.timers.pause(motion, self.now);
                let machine = self.machine(station);
                machine.holds_piece |= machine.holds_in_stops;
            }
            // Product prepared, arriving or cut keeps what is left of its time.
            _ => {
                self.timers.pause(motion, self.now);
                self.timers.pause(second, self.now);
            }
        }
    }

    /// The motions of the station go on, and it looks for work.
    fn resume(&mut self, station: StationIndex) {
        let frame = &self.frames[station];
        let (motion, second) = (frame.motion, frame.second);
        self.timers.resume(motion, self.now);
        self.timers.resume(second, self.now);
        match &self.units[station] {
            Unit::Supply(_) => self.supply_resumes(),
            Unit::Portioner(_) => self.portioner_hands_over(station),
            Unit::Accumulator(_) => self.accumulator_resumes(station),
            Unit::Loader(_) => self.loader_resumes(station),
            Unit::Former(_) => self.former_resumes(station),
            Unit::Robot(_) => self.robot_resumes(station),
            Unit::RigidBelt(_) => self.belt_resumes(station),
            Unit::Gate(_) => self.gate_resumes(station),
            Unit::CasePacker(_) => self.packer_starts(station),
            Unit::Machine(_) => self.machine_resumes(station),
            Unit::Arrivals(_) => self.arrivals_hand_over(station),
        }
    }
}

fn left(drawn: Span, rest: f64) -> Span {
    if rest < 1.0 { Span::from_seconds(drawn.seconds() * rest) } else { drawn }
}
