//! The line in motion: clock, timers, station frames, and what stations ask of each other.
//!
//! Two clocks: *line time* stands still in breaks of the whole line, *calendar time* does not. Everything mechanical
//! runs on line time; a break is then a jump of the calendar at one instant of line time (see `breaks`).

use crate::books::Books;
use crate::changes::Changed;
use crate::crew::Crew;
use crate::frame::Frame;
use crate::piece::Piece;
use crate::plan::RunPlan;
use crate::queue::{Timer, Timers};
use crate::station::Unit;
use linewake_log::event::{Event, EventKind, EventSink, NO_CONTENT, NO_ITEM, PackStep, StationState};
use linewake_model::line::{Break, Line, StationIndex};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// What a timer does when it fires.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Task {
    /// The station's main motion ends.
    Motion,
    /// The station's second motion ends (belt A of the loader, the infeed of a rigid belt).
    SecondMotion,
    /// A running-time or calendar stop strikes.
    Strike,
    /// The own stop, or the challenge, is over.
    StopEnds,
    /// A routine challenge is due.
    ChallengeDue,
    /// The k-th injected stop strikes.
    Injected(u32),
    /// Logged stops take the place of drawn ones from now on.
    TraceBegins,
    /// The k-th operator arrives.
    OperatorArrives(u32),
}

impl Task {
    /// It belongs to its station, not to the crew or the whole line.
    pub(crate) fn is_of_station(self) -> bool {
        !matches!(self, Self::TraceBegins | Self::OperatorArrives(_))
    }

    /// What has happened when it fires, in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Motion => "motion ends",
            Self::SecondMotion => "second motion ends",
            Self::Strike => "stop strikes",
            Self::StopEnds => "stop ends",
            Self::ChallengeDue => "challenge due",
            Self::Injected(_) => "injected stop strikes",
            Self::TraceBegins => "logged stops begin",
            Self::OperatorArrives(_) => "operator arrives",
        }
    }
}

/// What a timer stands for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Alarm {
    pub(crate) station: u32,
    pub(crate) task: Task,
    /// How often it has fired: events worked off so far.
    pub(crate) fired: u64,
}

/// Everything of one run.
pub(crate) struct World<'a> {
    pub(crate) line: &'a Line,
    pub(crate) plan: &'a RunPlan,
    /// Line time.
    pub(crate) now: Moment,
    /// Calendar time less line time: the breaks so far.
    pub(crate) break_time: Span,
    pub(crate) timers: Timers,
    /// What each timer stands for, by its place.
    pub(crate) alarms: Vec<Alarm>,
    /// What all stations have in common, in line order.
    pub(crate) frames: Vec<Frame>,
    /// What is special to each, in line order.
    pub(crate) units: Vec<Unit>,
    pub(crate) crew: Crew,
    pub(crate) books: Books,
    /// Stations whose state, or its reason, has changed in this instant.
    pub(crate) changed: Changed,
    /// Breaks of the run in rising order, and how many have passed.
    pub(crate) breaks: Vec<Break>,
    pub(crate) breaks_passed: usize,
    pub(crate) warm_up_ended: bool,
    /// Next multiple of the snapshot interval, in calendar time.
    pub(crate) next_snapshot: Moment,
    /// Line time from which on the clock may not move without looking at breaks, the warm-up and snapshots.
    pub(crate) next_mark: Moment,
    /// Contents as last written, in line order.
    pub(crate) contents_written: Vec<u32>,
    /// Station whose hand-over makes a pack good.
    pub(crate) good_after: StationIndex,
    pub(crate) packs_wanted: bool,
    /// Who is told. One compiled engine serves every sink.
    pub(crate) sink: &'a mut dyn EventSink,
}

impl World<'_> {
    /// Calendar time.
    pub(crate) fn calendar(&self) -> Moment {
        self.now + self.break_time
    }

    // ----- telling

    pub(crate) fn emit(&mut self, station: StationIndex, kind: EventKind) {
        let event = Event { at: self.calendar(), station: station as u16, kind };
        self.sink.record(&event);
    }

    /// A step of a portion or pack; costs nothing when nobody wants to know.
    #[inline]
    pub(crate) fn tell(&mut self, station: StationIndex, step: PackStep, piece: &Piece, reason: Reason) {
        self.tell_into(station, step, piece, NO_ITEM, reason);
    }

    #[inline]
    pub(crate) fn tell_into(
        &mut self,
        station: StationIndex,
        step: PackStep,
        piece: &Piece,
        into: u64,
        reason: Reason,
    ) {
        if self.packs_wanted {
            self.told(station, step, piece, into, reason);
        }
    }

    // Out of the way: studies and reports want no packs, and what moves them should fit into the cache of instructions.
    #[cold]
    #[inline(never)]
    fn told(&mut self, station: StationIndex, step: PackStep, piece: &Piece, into: u64, reason: Reason) {
        let kind = EventKind::Pack { step, item: piece.id, into, reason, weight_ug: piece.weight_ug };
        self.emit(station, kind);
    }

    // ----- states

    /// The station is now running, starved or blocked, as far as its own work goes; a stop that it is in hides this.
    #[inline]
    pub(crate) fn set_base(&mut self, station: StationIndex, base: StationState) {
        let frame = &mut self.frames[station];
        if frame.base == base {
            return;
        }
        let was_running = frame.is_running();
        frame.base = base;
        if frame.hold.is_none() {
            self.changed.insert(station);
            if frame.keeps_running_time {
                self.run_clock_follows(station, was_running);
            }
        }
    }

    /// The station goes into a stop (or its next part), or out of it.
    pub(crate) fn set_hold(&mut self, station: StationIndex, hold: Option<(StationState, Reason)>) {
        let frame = &mut self.frames[station];
        let was_running = frame.is_running();
        match (frame.hold.is_some(), hold.is_some()) {
            (false, true) => frame.rare.held_since = self.now,
            (true, false) => frame.rare.held += self.now.since(frame.rare.held_since),
            _ => {}
        }
        frame.hold = hold;
        self.changed.insert(station);
        self.run_clock_follows(station, was_running);
    }

    /// Running-time clocks run while the station is running; the strike timer follows.
    #[inline]
    fn run_clock_follows(&mut self, station: StationIndex, was_running: bool) {
        let frame = &mut self.frames[station];
        let running = frame.is_running();
        if running == was_running || !frame.keeps_running_time {
            return;
        }
        if running {
            frame.running_since = self.now;
        } else {
            frame.ran += self.now.since(frame.running_since);
        }
        if frame.has_other_clocks {
            self.set_strike(station);
        } else if running && let Some(due) = frame.running_stop_due() {
            // A wait only puts the stop off, so that the timer may be left where it is; see `strike`.
            self.timers.set_no_later(frame.strike, due);
        }
    }

    /// Writes the state changes of this instant, in line order; a state of length zero leaves no row.
    pub(crate) fn flush(&mut self) {
        while let Some(station) = self.changed.take_first() {
            self.write_state(station);
        }
    }

    /// Writes the state of the station if it is not the one last written.
    #[inline]
    fn write_state(&mut self, station: StationIndex) {
        let frame = &mut self.frames[station];
        let (to, reason) = frame.shown();
        let (from, reason_before) = frame.written;
        let follows_on = std::mem::take(&mut frame.stop_began) && frame.is_held();
        if ((from, reason_before) == (to, reason) && !follows_on) || !frame.has_states {
            return;
        }
        frame.written = (to, reason);
        let kind = self.state_row(station, from, to, reason);
        self.emit(station, kind);
    }

    #[inline]
    pub(crate) fn state_row(
        &self,
        station: StationIndex,
        from: StationState,
        to: StationState,
        reason: Reason,
    ) -> EventKind {
        EventKind::State {
            from,
            to,
            reason,
            made: self.frames[station].flow.made,
            content_before: station.checked_sub(1).map_or(NO_CONTENT, |before| self.buffer_content(before)),
            content_after: self.buffer_content(station + 1),
        }
    }

    /// Content of the belt or table at that place, [`NO_CONTENT`] if it is none.
    #[inline]
    fn buffer_content(&self, station: StationIndex) -> u32 {
        self.frames.get(station).map_or(NO_CONTENT, |frame| frame.buffer_content)
    }

    // ----- handing pieces on

    /// The station offers a piece to the next one, which takes it or not. A piece handed on by the last station leaves
    /// the line.
    #[inline]
    pub(crate) fn offer(&mut self, from: StationIndex, piece: &Piece) -> bool {
        let to = from + 1;
        if to == self.units.len() {
            self.handed_over(from, piece);
            self.leaves_line(from, piece, PackStep::Left, NO_ITEM);
            return true;
        }
        let taken = self.take_in(to, piece);
        if taken {
            self.handed_over(from, piece);
        } else {
            self.frames[from].waits_for_room = true;
        }
        taken
    }

    /// False if the station would refuse a piece, and nothing else would come of the offer.
    #[inline]
    pub(crate) fn may_take(&self, station: StationIndex) -> bool {
        match self.units.get(station) {
            Some(Unit::Machine(machine)) => machine.in_hand.is_none() && !self.frames[station].is_held(),
            Some(Unit::Gate(gate)) => gate.in_hand.is_none() && !self.frames[station].is_held(),
            _ => true,
        }
    }

    /// The station takes the piece if it can.
    #[inline(always)]
    fn take_in(&mut self, station: StationIndex, piece: &Piece) -> bool {
        match &self.units[station] {
            Unit::Accumulator(_) => self.accumulator_takes(station, piece),
            Unit::Loader(_) => self.loader_takes(station, piece),
            Unit::RigidBelt(_) => self.belt_takes(station, std::slice::from_ref(piece)),
            Unit::Gate(_) => self.gate_takes(station, piece),
            Unit::CasePacker(_) => self.packer_takes(station, piece),
            Unit::Machine(_) => self.machine_takes(station, piece),
            Unit::Supply(_) | Unit::Portioner(_) | Unit::Former(_) | Unit::Robot(_) | Unit::Arrivals(_) => {
                false
            }
        }
    }

    /// The station has room again: a neighbour before it that was refused tries once more.
    #[inline]
    pub(crate) fn room_made(&mut self, station: StationIndex) {
        // At the head of the line the station itself stands there, and waits for nobody.
        let before = self.frames[station].asks_for_room;
        if before < station && std::mem::take(&mut self.frames[before].waits_for_room) {
            self.hand_over(before);
        }
    }

    /// The station hands on what it has finished, if anything, and goes on with its work.
    pub(crate) fn hand_over(&mut self, station: StationIndex) {
        match &self.units[station] {
            Unit::Accumulator(_) => self.accumulator_hands_over(station),
            Unit::Portioner(_) => self.portioner_hands_over(station),
            Unit::Robot(_) => self.robot_hands_over(station),
            Unit::RigidBelt(_) => self.belt_hands_over(station),
            Unit::Gate(_) => self.gate_hands_over(station),
            Unit::Machine(_) => self.machine_hands_over(station),
            Unit::Arrivals(_) => self.arrivals_hand_over(station),
            Unit::Supply(_) | Unit::Loader(_) | Unit::Former(_) | Unit::CasePacker(_) => {}
        }
    }

    /// Books a piece that the next station has taken.
    #[inline]
    pub(crate) fn handed_over(&mut self, from: StationIndex, piece: &Piece) {
        self.frames[from].flow.handed_over += 1;
        if piece.defects != 0 && from == self.good_after {
            self.defects_escape(from, piece.defects);
        }
    }

    #[cold]
    fn defects_escape(&mut self, from: StationIndex, defects: u64) {
        for defect in crate::piece::defects_of(self.line, defects) {
            self.books.escaped(from, defect);
        }
    }

    /// Books a piece that leaves the line for good.
    pub(crate) fn leaves_line(&mut self, station: StationIndex, piece: &Piece, step: PackStep, into: u64) {
        self.books.left_line(station, self.now.since(piece.born));
        self.tell_into(station, step, piece, into, Reason::NONE);
    }

    /// Books a reject.
    pub(crate) fn reject(&mut self, station: StationIndex, piece: &Piece, reason: Reason) {
        self.books.rejected(station, reason);
        self.tell(station, PackStep::Rejected, piece, reason);
    }

    // ----- timers

    #[inline]
    pub(crate) fn set_in(&mut self, timer: Timer, length: Span) {
        self.timers.set(timer, self.now + length);
    }

    /// Works off one timer.
    #[inline(always)]
    pub(crate) fn fire(&mut self, timer: Timer, station: StationIndex, task: Task) {
        self.timers.fire(timer);
        match task {
            Task::Motion => self.motion_ends(station),
            Task::SecondMotion => match &self.units[station] {
                Unit::Loader(_) => self.loader_took(station),
                _ => self.belt_infeed_free(station),
            },
            Task::Strike => self.strike(timer, station),
            Task::StopEnds => self.stop_ends(station),
            Task::ChallengeDue => self.challenge_due(station),
            Task::Injected(which) => self.inject(station, which as usize),
            Task::TraceBegins => self.trace_begins(),
            Task::OperatorArrives(which) => self.operator_arrives(which as usize),
        }
    }

    /// The timer of that task, if the run has one.
    pub(crate) fn timer_for(&self, station: StationIndex, task: Task) -> Option<Timer> {
        let is_it = |alarm: &Alarm| alarm.station as StationIndex == station && alarm.task == task;
        self.alarms.iter().position(is_it).map(Timer::at)
    }

    // Inlined into the main loop, its only caller.
    #[inline(always)]
    fn motion_ends(&mut self, station: StationIndex) {
        match &self.units[station] {
            Unit::Supply(_) => self.supply_prepared(station),
            Unit::Portioner(_) => self.portioner_cut(station),
            Unit::Accumulator(_) => self.accumulator_hands_over(station),
            Unit::Loader(_) => self.loader_moved(station),
            Unit::Former(_) => self.former_moved(station),
            Unit::Robot(_) => self.robot_moved(station),
            Unit::RigidBelt(_) => self.belt_head_arrives(station),
            Unit::Gate(_) => self.gate_judges(station),
            Unit::CasePacker(_) => self.packer_cycled(station),
            Unit::Machine(_) => self.machine_finished(station),
            Unit::Arrivals(_) => self.piece_arrives(station),
        }
    }

    /// Speed of the station as a share of its set speed, in force from its next cycle on.
    #[inline]
    pub(crate) fn speed(&self, station: StationIndex) -> f64 {
        self.frames[station].share
    }

    /// The content of a watched belt or table has changed: speed relays follow.
    #[inline]
    pub(crate) fn content_changed(&mut self, watched: StationIndex, content: u32) {
        let frame = &mut self.frames[watched];
        frame.buffer_content = content;
        if frame.is_watched {
            self.relays_see(watched, content);
        }
    }

    #[inline(never)]
    fn relays_see(&mut self, watched: StationIndex, content: u32) {
        for frame in &mut self.frames {
            if let Some(relay) = &mut frame.rare.speed {
                relay.sees(watched, content);
                frame.share = relay.share();
            }
        }
    }
}
