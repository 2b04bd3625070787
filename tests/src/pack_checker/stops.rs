//! State rows, own stops and planned stops, and the crew.

use super::clocks::is_held;
use super::{Check, PackChecker, Unit, fail};
use linewake_engine::plan::RunPlan;
use linewake_log::event::{CallStep, StationState};
use linewake_model::line::{CallOrder, Line};
use linewake_model::station::{Station, StationKind};
use linewake_model::stop::{Basis, Initial, Reason};
use linewake_model::time::{Moment, Span};

/// A mode whose stops can be foretold: a constant between, all new at the start, alone in its group.
#[derive(Clone, Copy, Debug)]
struct Foretold {
    reason: Reason,
    basis: Basis,
    between: u64,
    /// Clock or count at which it strikes next.
    due: u64,
}

/// The stops of one station.
#[derive(Clone, Debug)]
pub(super) struct StopWatch {
    foretold: Vec<Foretold>,
    /// Stop under way: reason, calendar and line time of its begin.
    open: Option<(Reason, Moment, Moment)>,
    /// State before a break that is under way.
    before_break: Option<(StationState, Reason)>,
}

impl StopWatch {
    pub(super) fn new(line: &Line, station: &Station, plan: &RunPlan) -> Self {
        // A kitchen that works in breaks runs in them, but the clocks of its stops stand still.
        let has_two_clocks =
            matches!(station.kind, StationKind::BulkSupply(_)) && line.shift.supply_in_breaks;
        let foretold =
            station.stops.iter().filter(|mode| !has_two_clocks || mode.basis != Basis::RunningTime);
        let foretold = foretold.filter(|mode| {
            let new = mode.initial == Initial::New && !(mode.consumable && plan.consumables_part_used);
            mode.between.is_constant() && new && mode.group.is_none() && plan.own_stops
        });
        let foretold = foretold.map(|mode| {
            let between = match mode.basis {
                Basis::Count => mode.between.mean().ceil() as u64,
                Basis::RunningTime | Basis::CalendarTime => Span::from_seconds(mode.between.mean()).0,
            };
            Foretold { reason: mode.reason, basis: mode.basis, between, due: between }
        });
        // A stop switched off, or stops that a log tells, are not foretold.
        let is_drawn = plan.switched_off.is_empty() && plan.trace.stops.is_empty();
        let foretold = if is_drawn { foretold.collect() } else { Vec::new() };
        Self { foretold, open: None, before_break: None }
    }
}

/// Calls for operators.
#[derive(Clone, Debug)]
pub(super) struct CrewCheck {
    /// Open calls: station, when it called, place in the order of calls.
    waiting: Vec<(usize, Moment, u64)>,
    /// Stations at which an operator works.
    at_work: Vec<usize>,
    calls: u64,
    operators: usize,
}

impl CrewCheck {
    pub(super) fn new(line: &Line) -> Self {
        let operators = line.crew.operators as usize;
        Self { waiting: Vec::new(), at_work: Vec::new(), calls: 0, operators }
    }

    pub(super) fn call(
        &mut self,
        line: &Line,
        station: usize,
        step: CallStep,
        reason: Reason,
        at: Moment,
    ) -> Check {
        let waits = self.waiting.iter().position(|(place, ..)| *place == station);
        let works = self.at_work.iter().position(|place| *place == station);
        match (step, waits, works) {
            (CallStep::Called, None, None) => {
                self.waiting.push((station, at, self.calls));
                self.calls += 1;
            }
            (CallStep::Arrived, Some(place), None) => {
                let rank = |(station, _, order): &(usize, Moment, u64)| match line.crew.order {
                    CallOrder::FirstCome => (0, *order),
                    CallOrder::StationPriority => (line.stations[*station].call_priority, *order),
                };
                let first = self.waiting.iter().min_by_key(|call| rank(call));
                let (_, called, _) = self.waiting[place];
                if first.is_some_and(|(first, ..)| *first != station) && called != at {
                    return fail(format!(
                        "an operator arrives, and another call comes first: {:?}",
                        self.waiting
                    ));
                }
                self.waiting.remove(place);
                self.at_work.push(station);
            }
            (CallStep::Released, None, Some(place)) => {
                self.at_work.remove(place);
            }
            _ => return fail(format!("{} at the wrong time", step.word())),
        }
        if self.at_work.len() > self.operators {
            return fail(format!("{} operators are at work, of {}", self.at_work.len(), self.operators));
        }
        if reason == Reason::NONE { fail("a call without a reason") } else { Ok(()) }
    }

    fn waits_for(&self, station: usize) -> bool {
        self.waiting.iter().any(|(place, ..)| *place == station)
    }

    fn works_at(&self, station: usize) -> bool {
        self.at_work.contains(&station)
    }
}

impl PackChecker<'_> {
    pub(super) fn state(
        &mut self,
        station: usize,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> Check {
        if is_held(to) == (reason == Reason::NONE) {
            return fail("stops have a reason, and nothing else has");
        }
        let (before, since_start) = (self.clocks[station].state, self.now > Moment::ZERO);
        self.clocks[station].change(self.now, from, to, reason)?;
        if to == StationState::Planned && reason == Reason::BREAK {
            let supply_works = self.line.shift.supply_in_breaks && self.kind_is_supply(station);
            if !self.breaks.within(self.now) || supply_works {
                return fail("a break that is none");
            }
            self.watches[station].before_break = before;
            return Ok(());
        }
        // What was before a break goes on after it.
        let after_break = before == Some((StationState::Planned, Reason::BREAK));
        let before = if after_break { self.watches[station].before_break.take() } else { before };
        if !since_start || after_break && before == Some((to, reason)) {
            return Ok(());
        }
        self.stop_changes(station, before, (to, reason))
    }

    fn kind_is_supply(&self, station: usize) -> bool {
        matches!(self.line.stations[station].kind, StationKind::BulkSupply(_))
    }

    fn stop_changes(
        &mut self,
        station: usize,
        before: Option<(StationState, Reason)>,
        now: (StationState, Reason),
    ) -> Check {
        let Some(before) = before else { return fail("no state before") };
        // From waiting to repair is one stop; from a state to itself are two.
        let arrives = (before.0, now.0) == (StationState::StoppedWaiting, StationState::StoppedRepair);
        if arrives && before.1 == now.1 {
            return Ok(());
        }
        if before.0.is_own_stop() {
            self.stop_ends(station)?;
        }
        if now.0.is_own_stop() {
            self.stop_begins(station, now)?;
        }
        if now == (StationState::Planned, Reason::CHALLENGE) {
            return self.challenge_begins(station);
        }
        if now.0 == StationState::Planned { fail("no such planned stop") } else { Ok(()) }
    }

    fn stop_begins(&mut self, station: usize, (state, reason): (StationState, Reason)) -> Check {
        let line_time = self.breaks.line_time(self.now);
        self.watches[station].open = Some((reason, self.now, line_time));
        *self.totals.stops.entry((station, reason)).or_default() += 1;
        let injected =
            reason == Reason::INJECTED && self.plan.injected.iter().any(|stop| stop.station == station);
        if injected {
            return Ok(());
        }
        if !self.plan.own_stops || self.plan.switched_off.contains(&(station, reason)) {
            return fail(format!("{reason:?} is switched off"));
        }
        let (attended, row) = match (&mut self.units[station], reason) {
            (Unit::Gate(gate), Reason::REJECTS_IN_ROW | Reason::BIN_FULL) => {
                gate.fail_safe_strikes(reason)?;
                (true, u64::from(if reason == Reason::BIN_FULL { gate.bin } else { gate.row }))
            }
            (_, Reason::TAGS_IN_ROW) => {
                let Some(web) = self.web.as_mut().filter(|_| station == 4) else {
                    return fail("no vision here");
                };
                web.rule_strikes()?;
                (true, 0)
            }
            _ => {
                let modes = &self.line.stations[station].stops;
                let Some(mode) = modes.iter().find(|mode| mode.reason == reason) else {
                    return fail(format!("the station has no stop {reason:?}"));
                };
                let in_group = |other: &&linewake_model::stop::StopMode| {
                    mode.group.is_some() && other.group == mode.group || other.reason == reason
                };
                (modes.iter().filter(in_group).any(|mode| mode.attended), 0)
            }
        };
        if row > 0 {
            self.totals.strikes.push((station, reason, row));
        }
        if state == StationState::StoppedWaiting && !attended {
            return fail("an unattended stop waits for an operator");
        }
        self.was_foretold(station, reason)
    }

    /// A stop with a constant between strikes exactly when its clock or count is there.
    fn was_foretold(&mut self, station: usize, reason: Reason) -> Check {
        let (ran, cycles, now) = (self.clocks[station].ran(self.now), self.cycles(station), self.now);
        let was_held = self.clocks[station].before.is_some_and(|(state, _)| is_held(state));
        let breaks = &self.breaks;
        let Some(mode) = self.watches[station].foretold.iter_mut().find(|mode| mode.reason == reason) else {
            return Ok(());
        };
        let right = match mode.basis {
            Basis::RunningTime => ran == mode.due,
            Basis::Count => (cycles.0..=cycles.1).contains(&mode.due),
            Basis::CalendarTime => {
                now.0 == mode.due
                    || now.0 > mode.due && (was_held || breaks.within_that_ends(Moment(mode.due), now))
            }
        };
        if !right {
            let due = mode.due;
            return fail(format!("{reason:?} is due at {due}; running time {ran} us, cycles {cycles:?}"));
        }
        // A calendar stop is drawn afresh at its end.
        mode.due = if mode.basis == Basis::CalendarTime { u64::MAX } else { mode.due + mode.between };
        Ok(())
    }

    fn stop_ends(&mut self, station: usize) -> Check {
        let Some((reason, _, began)) = self.watches[station].open.take() else { return fail("no stop ends") };
        if let Unit::Gate(gate) = &mut self.units[station] {
            gate.fail_safe_over(reason);
        }
        let now = self.now.0;
        let ended = self.watches[station].foretold.iter_mut().find(|mode| mode.reason == reason);
        if let Some(mode) = ended.filter(|mode| mode.basis == Basis::CalendarTime) {
            mode.due = now + mode.between;
        }
        let length = self.breaks.line_time(self.now).since(began);
        if let Some(web) = self.web.as_mut().filter(|_| station == 4)
            && web.spec.stop_scrap.as_ref().is_some_and(|scrap| length > scrap.longer_than)
        {
            web.long_stop_ended = Some(self.now);
            return self.scrap_is_complete();
        }
        Ok(())
    }

    /// After a stop longer than the limit every pack at the listed positions is tagged.
    fn scrap_is_complete(&self) -> Check {
        let Some(web) = &self.web else { return Ok(()) };
        let Some(frames) = web.scrap_frames(self.time(4).ran) else { return Ok(()) };
        for frame in frames {
            let pockets = frame * web.pockets..(frame + 1) * web.pockets;
            if let Some((pocket, _)) = self.packs.range(pockets).find(|(_, pack)| pack.tag == Reason::NONE) {
                return fail(format!("a long stop has ended and pack {pocket} is not tagged"));
            }
        }
        Ok(())
    }

    fn challenge_begins(&mut self, station: usize) -> Check {
        let now = self.now;
        let content = self.content(station);
        let Unit::Gate(gate) = &mut self.units[station] else { return fail("no gate") };
        let Some(challenge) = &gate.spec.challenge else { return fail("the gate has no challenge") };
        gate.challenges += 1;
        if now.0 < challenge.interval.0 * gate.challenges {
            return fail(format!("challenge {} comes too early", gate.challenges));
        }
        if content > 0 { fail("a challenge while a pack is in the gate") } else { Ok(()) }
    }

    /// At the end of an instant: states, calls and breaks agree, and no stop or challenge is overdue.
    pub(super) fn stops_over(&self) -> Check {
        let in_break = self.breaks.within(self.now);
        for (station, clock) in self.clocks.iter().enumerate() {
            let Some((state, reason)) = clock.state else { continue };
            let id = &self.line.stations[station].id;
            let works = self.line.shift.supply_in_breaks && self.kind_is_supply(station);
            let shows_break = (state, reason) == (StationState::Planned, Reason::BREAK);
            if shows_break != (in_break && !works) {
                return fail(format!("{id} is {} ({reason:?}); break: {in_break}", state.word()));
            }
            if shows_break {
                continue;
            }
            let (waits, works) = (self.crew.waits_for(station), self.crew.works_at(station));
            if waits != (state == StationState::StoppedWaiting)
                || works && state != StationState::StoppedRepair
            {
                return fail(format!(
                    "{id} is {} while a call waits: {waits}, is served: {works}",
                    state.word()
                ));
            }
            if !in_break {
                self.none_is_overdue(station)?;
            }
        }
        Ok(())
    }

    fn none_is_overdue(&self, station: usize) -> Check {
        let clock = &self.clocks[station];
        let id = &self.line.stations[station].id;
        if let Unit::Gate(gate) = &self.units[station]
            && let Some(challenge) = &gate.spec.challenge
        {
            let due = self.now.0 / challenge.interval.0;
            if due > gate.challenges && gate.in_hand.is_none() && !clock.is_held() {
                return fail(format!("{id} has had {} challenges of {due}", gate.challenges));
            }
        }
        if clock.is_held() {
            return Ok(());
        }
        for mode in &self.watches[station].foretold {
            let reached = match mode.basis {
                Basis::RunningTime => clock.ran(self.now),
                Basis::CalendarTime => self.now.0,
                Basis::Count => self.cycles(station).0,
            };
            if reached >= mode.due && reached > 0 {
                return fail(format!("{:?} of {id} is overdue: {reached} of {}", mode.reason, mode.due));
            }
        }
        Ok(())
    }
}
