//! Accumulating belt or table: a transit time, a capacity, and pieces that leave in order or last in first out.

use crate::piece::Piece;
use crate::station::{Unit, unit_getter};
use crate::world::World;
use linewake_log::event::PackStep;
use linewake_model::station::{self, LeaveOrder, UNLIMITED};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use std::collections::VecDeque;

#[derive(Debug)]
#[repr(align(64))]
pub(crate) struct Accumulator {
    pub(crate) spec: station::Accumulator,
    /// Pieces in the order in which they came, each with the end of its transit.
    queue: VecDeque<(Piece, Moment)>,
    /// Once full it takes none until its content is down to `restart_at`.
    closed: bool,
    /// Earliest moment at which the next piece may leave.
    next_release: Moment,
    /// When it was stopped, if it is.
    stopped_at: Option<Moment>,
    /// Nothing on it takes time, pieces leave in order, and it takes them as long as there is room.
    is_instant: bool,
    pub(crate) clock: ContentClock,
}

/// Content over time: mean, time at full, time at empty.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct ContentClock {
    since: Moment,
    pub(crate) piece_time: u64,
    pub(crate) full: Span,
    pub(crate) empty: Span,
}

impl ContentClock {
    /// Books the content that has stood since the last change.
    pub(crate) fn book(&mut self, now: Moment, content: u32, capacity: u32) {
        let span = now.since(self.since);
        self.since = now;
        self.piece_time += span.0 * u64::from(content);
        if content == 0 {
            self.empty += span;
        }
        if content >= capacity {
            self.full += span;
        }
    }
}

impl Accumulator {
    pub(crate) fn new(spec: &station::Accumulator) -> Self {
        Self {
            spec: spec.clone(),
            queue: VecDeque::new(),
            closed: false,
            next_release: Moment::ZERO,
            stopped_at: None,
            is_instant: spec.transit == Span::ZERO
                && spec.release == Span::ZERO
                && spec.order == LeaveOrder::FirstInFirstOut
                && spec.restart_at.is_none()
                && spec.capacity > 0,
            clock: ContentClock::default(),
        }
    }

    pub(crate) fn content(&self) -> u32 {
        self.queue.len() as u32
    }

    /// Capacity 0: no place at all, a direct hand-over.
    pub(crate) fn is_direct(&self) -> bool {
        self.spec.capacity == 0
    }

    pub(crate) fn book(&mut self, now: Moment) {
        self.clock.book(now, self.queue.len() as u32, self.spec.capacity);
    }

    /// The piece that leaves next and when its transit is over: of those that have arrived the first or the last one,
    /// else the one that arrives first.
    fn next_out(&self, now: Moment) -> Option<(usize, Moment)> {
        let place = match self.spec.order {
            LeaveOrder::FirstInFirstOut => 0,
            LeaveOrder::LastInFirstOut => {
                self.queue.iter().rposition(|(_, ready)| *ready <= now).unwrap_or(0)
            }
        };
        self.queue.get(place).map(|(_, ready)| (place, *ready))
    }

    /// Places that it would fill now.
    fn room(&self) -> u32 {
        match (self.closed, self.spec.capacity) {
            (true, _) => 0,
            (false, UNLIMITED) => UNLIMITED,
            (false, capacity) => capacity.saturating_sub(self.content()),
        }
    }
}

unit_getter!(accumulator, Accumulator, Accumulator);

impl World<'_> {
    pub(crate) fn accumulator_takes(&mut self, station: usize, piece: &Piece) -> bool {
        if self.accumulator(station).is_direct() {
            let taken = !self.frames[station].is_held() && self.offer(station, piece);
            if taken && self.cycle_makes(station, 1) {
                self.strike_if_due(station);
            }
            return taken;
        }
        if self.accumulator(station).is_instant {
            return self.instant_buffer_takes(station, piece);
        }
        self.accumulator_takes_all(station, std::slice::from_ref(piece))
    }

    // Inlined, so that one piece is taken without a loop.
    /// Takes a placement of one or several pieces whole, or not at all: nothing leaves before the last one is in.
    #[inline(always)]
    pub(crate) fn accumulator_takes_all(&mut self, station: usize, pieces: &[Piece]) -> bool {
        let held = self.frames[station].is_held();
        let (now, speed) = (self.now, self.speed(station));
        let unit = self.accumulator(station);
        if held || (unit.room() as usize) < pieces.len() {
            return false;
        }
        unit.book(now);
        let ready = now + unit.spec.transit.at_speed(speed);
        let direct = ready <= now;
        let before = unit.content();
        for piece in pieces {
            unit.queue.push_back((*piece, ready));
        }
        let after = unit.content();
        unit.closed |= after == unit.spec.capacity && unit.spec.restart_at.is_some();
        let wakes = before == 0 || (unit.spec.order == LeaveOrder::LastInFirstOut && direct);
        for (content, piece) in (before + 1..).zip(pieces) {
            self.tell(station, PackStep::Entered, piece, Reason::NONE);
            self.content_changed(station, content);
        }
        if wakes && !self.frames[station].waits_for_room {
            if direct {
                self.accumulator_hands_over(station);
            } else {
                let timer = self.frames[station].motion;
                self.timers.set(timer, ready);
            }
        }
        true
    }

    /// Lets go whatever can leave now, and sets the timer for what leaves next.
    pub(crate) fn accumulator_hands_over(&mut self, station: usize) {
        if self.accumulator(station).is_instant {
            return self.instant_buffer_hands_over(station);
        }
        loop {
            let now = self.now;
            let frame = &self.frames[station];
            let timer = frame.motion;
            if frame.is_held() {
                return self.timers.cancel(timer);
            }
            let unit = self.accumulator(station);
            let Some((place, ready)) = unit.next_out(now) else {
                return self.timers.cancel(timer);
            };
            let leaves = ready.max(unit.next_release);
            if leaves > now {
                return self.timers.set(timer, leaves);
            }
            if !self.may_take(station + 1) {
                self.frames[station].waits_for_room = true;
                return self.timers.cancel(timer);
            }
            let unit = self.accumulator(station);
            unit.book(now);
            let taken_out = if place == 0 { unit.queue.pop_front() } else { unit.queue.remove(place) };
            let Some((piece, ready)) = taken_out else {
                return;
            };
            if !self.offer(station, &piece) {
                let queue = &mut self.accumulator(station).queue;
                if place == 0 {
                    queue.push_front((piece, ready))
                } else {
                    queue.insert(place, (piece, ready))
                }
                return self.timers.cancel(timer);
            }
            let stop_due = self.cycle_makes(station, 1);
            let speed = self.speed(station);
            let unit = self.accumulator(station);
            unit.next_release = now + unit.spec.release.at_speed(speed);
            let content = unit.content();
            if unit.spec.restart_at.is_some_and(|restart| content <= restart) {
                unit.closed = false;
            }
            let open = !unit.closed;
            self.content_changed(station, content);
            // A count stop strikes before the room just made lets another piece through.
            if stop_due {
                self.strike_if_due(station);
            }
            if open {
                self.room_made(station);
            }
        }
    }

    // ----- the short way of a buffer on which nothing takes time

    /// As [`Self::accumulator_takes_all`], of one piece. Into an empty buffer it need not be laid if it leaves at once.
    #[inline]
    fn instant_buffer_takes(&mut self, station: usize, piece: &Piece) -> bool {
        let (held, waits) = (self.frames[station].is_held(), self.frames[station].waits_for_room);
        let now = self.now;
        let unit = self.accumulator(station);
        let before = unit.content();
        if held || before >= unit.spec.capacity {
            return false;
        }
        unit.book(now);
        self.tell(station, PackStep::Entered, piece, Reason::NONE);
        self.content_changed(station, before + 1);
        if before == 0 && !waits {
            if self.may_take(station + 1) {
                if self.leaves_instant_buffer(station, piece) {
                    return true;
                }
            } else {
                self.frames[station].waits_for_room = true;
            }
        }
        self.accumulator(station).queue.push_back((*piece, now));
        true
    }

    /// As [`Self::accumulator_hands_over`].
    fn instant_buffer_hands_over(&mut self, station: usize) {
        while !self.frames[station].is_held() && self.accumulator(station).content() > 0 {
            if !self.may_take(station + 1) {
                self.frames[station].waits_for_room = true;
                return;
            }
            let now = self.now;
            let unit = self.accumulator(station);
            unit.book(now);
            let Some((piece, came)) = unit.queue.pop_front() else {
                return;
            };
            if !self.leaves_instant_buffer(station, &piece) {
                return self.accumulator(station).queue.push_front((piece, came));
            }
        }
    }

    /// Offers the piece to the next station, which may take one, and lets the next one in. False if it was refused.
    #[inline]
    fn leaves_instant_buffer(&mut self, station: usize, piece: &Piece) -> bool {
        if let Some(Unit::Machine(_)) = self.units.get(station + 1) {
            // A machine that may take a piece does.
            self.machine_begins(station + 1, piece);
            self.handed_over(station, piece);
        } else if !self.offer(station, piece) {
            return false;
        }
        let stop_due = self.cycle_makes(station, 1);
        let content = self.accumulator(station).content();
        self.content_changed(station, content);
        // A count stop strikes before the room just made lets another piece through.
        if stop_due {
            self.strike_if_due(station);
        }
        self.room_made(station);
        true
    }

    /// Its own stop: nothing moves on it.
    pub(crate) fn accumulator_pauses(&mut self, station: usize) {
        let now = self.now;
        self.accumulator(station).stopped_at = Some(now);
        let timer = self.frames[station].motion;
        self.timers.cancel(timer);
    }

    /// After its own stop what was in transit goes on where it stood.
    pub(crate) fn accumulator_resumes(&mut self, station: usize) {
        let now = self.now;
        let unit = self.accumulator(station);
        if let Some(stopped_at) = unit.stopped_at.take() {
            let stood = now.since(stopped_at);
            for (_, ready) in &mut unit.queue {
                if *ready > stopped_at {
                    *ready += stood;
                }
            }
            if unit.next_release > stopped_at {
                unit.next_release += stood;
            }
        }
        self.accumulator_hands_over(station);
        self.room_made(station);
    }

    /// Books the content clocks of all belts and tables up to now.
    pub(crate) fn book_contents(&mut self) {
        use linewake_log::event::Counter;
        let now = self.now;
        for station in 0..self.units.len() {
            match &mut self.units[station] {
                Unit::Accumulator(unit) => {
                    unit.book(now);
                    let clock = unit.clock;
                    self.books.set(station, Counter::ContentTime, clock.piece_time);
                    self.books.set(station, Counter::FullTime, clock.full.0);
                    self.books.set(station, Counter::EmptyTime, clock.empty.0);
                }
                Unit::RigidBelt(unit) => {
                    unit.move_to(now);
                    let loaded: Span = unit.moved_loaded;
                    self.books.set(station, Counter::MovedLoadedTime, loaded.0);
                }
                _ => {}
            }
        }
    }
}
