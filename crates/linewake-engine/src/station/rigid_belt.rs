//! Rigid belt: packs keep their places; it moves while the pack at its end can leave, or no pack is at its end.
//!
//! The odometer counts time of motion at set speed, in microseconds, so that places are integers.

use crate::piece::Piece;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{PackStep, StationState};
use linewake_model::station;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use std::collections::VecDeque;

#[derive(Debug)]
pub(crate) struct RigidBelt {
    transit: Span,
    pitch: Span,
    /// Packs from the end to the infeed, each with the odometer reading at which it is at the end.
    packs: VecDeque<(Piece, Moment)>,
    /// Odometer reading at `since`.
    odometer: Moment,
    since: Moment,
    moving: bool,
    /// Share of the set speed.
    share: f64,
    /// Reading at which the infeed is free again.
    infeed_free: Moment,
    /// Time of motion with packs on it.
    pub(crate) moved_loaded: Span,
}

impl RigidBelt {
    pub(crate) fn new(spec: &station::RigidBelt) -> Self {
        Self {
            transit: spec.transit(),
            pitch: spec.pitch(),
            packs: VecDeque::new(),
            odometer: Moment::ZERO,
            since: Moment::ZERO,
            moving: true,
            share: 1.0,
            infeed_free: Moment::ZERO,
            moved_loaded: Span::ZERO,
        }
    }

    pub(crate) fn content(&self) -> u32 {
        self.packs.len() as u32
    }

    /// Brings the odometer up to now.
    pub(crate) fn move_to(&mut self, now: Moment) {
        if self.moving {
            let time = now.since(self.since);
            #[expect(clippy::float_cmp, reason = "exactly the set speed needs no rounding")]
            let at_set_speed = self.share == 1.0;
            self.odometer += if at_set_speed { time } else { time.at_speed(1.0 / self.share) };
            if !self.packs.is_empty() {
                self.moved_loaded += time;
            }
        }
        self.since = now;
    }

    /// Time until the odometer stands there, while it moves.
    fn time_to(&self, reading: Moment) -> Span {
        reading.since(self.odometer).at_speed(self.share)
    }
}

unit_getter!(rigid_belt, RigidBelt, RigidBelt);

impl World<'_> {
    /// Takes a placement of one or several packs, if it moves and its infeed is free.
    pub(crate) fn belt_takes(&mut self, station: usize, packs: &[Piece]) -> bool {
        let now = self.now;
        if self.frames[station].is_held() {
            return false;
        }
        let infeed_timer = self.frames[station].second;
        let speed = self.speed(station);
        let belt = self.rigid_belt(station);
        belt.move_to(now);
        if !belt.moving {
            return false;
        }
        if belt.odometer < belt.infeed_free {
            let due = now + belt.time_to(belt.infeed_free).max(Span(1));
            self.timers.set(infeed_timer, due);
            return false;
        }
        // At set speed the pack nearest to the end arrives when it was meant to, whatever comes behind it.
        #[expect(clippy::float_cmp, reason = "exactly the set speed")]
        let head_stays = !belt.packs.is_empty() && speed == 1.0 && belt.share == 1.0;
        belt.change_speed(speed);
        let mut end = belt.odometer + belt.transit;
        for pack in packs {
            belt.packs.push_back((*pack, end));
            end += belt.pitch;
        }
        belt.infeed_free = belt.odometer + Span(belt.pitch.0 * packs.len() as u64);
        let content = belt.content();
        for pack in packs {
            self.tell(station, PackStep::Entered, pack, Reason::NONE);
        }
        if !head_stays {
            self.set_head(station);
        }
        self.content_changed(station, content);
        true
    }

    /// The infeed is free again: whoever waited tries once more.
    pub(crate) fn belt_infeed_free(&mut self, station: usize) {
        self.room_made(station);
    }

    /// The pack at the end has arrived there.
    pub(crate) fn belt_head_arrives(&mut self, station: usize) {
        let now = self.now;
        let belt = self.rigid_belt(station);
        belt.move_to(now);
        // Speeds other than the set one round: the head is where it was meant to be.
        if let Some((_, end)) = belt.packs.front() {
            belt.odometer = *end;
        }
        self.belt_hands_over(station);
    }

    /// Lets the pack at the end go if it is there; else the belt stands.
    pub(crate) fn belt_hands_over(&mut self, station: usize) {
        let now = self.now;
        if self.frames[station].is_held() {
            return;
        }
        let belt = self.rigid_belt(station);
        belt.move_to(now);
        let at_end = belt.packs.front().is_some_and(|(_, end)| *end <= belt.odometer);
        if at_end && let Some((pack, end)) = belt.packs.pop_front() {
            if !self.offer(station, &pack) {
                let belt = self.rigid_belt(station);
                belt.packs.push_front((pack, end));
                belt.moving = false;
                let infeed_timer = self.frames[station].second;
                self.timers.cancel(infeed_timer);
                return self.set_base(station, StationState::Blocked);
            }
            let stop_due = self.cycle_makes(station, 1);
            let content = self.rigid_belt(station).content();
            self.content_changed(station, content);
            if stop_due {
                self.strike_if_due(station);
                if self.frames[station].is_held() {
                    return;
                }
            }
        }
        self.belt_moves(station);
    }

    /// The belt moves (on).
    fn belt_moves(&mut self, station: usize) {
        let now = self.now;
        let speed = self.speed(station);
        let belt = self.rigid_belt(station);
        let stood = !belt.moving;
        belt.moving = true;
        belt.since = now;
        belt.change_speed(speed);
        self.set_base(station, StationState::Running);
        self.set_head(station);
        if stood && station > 0 && self.frames[station - 1].waits_for_room {
            self.room_made(station);
        }
    }

    /// Sets the timer for the arrival of the pack nearest to the end.
    fn set_head(&mut self, station: usize) {
        let timer = self.frames[station].motion;
        let now = self.now;
        let belt = self.rigid_belt(station);
        match belt.packs.front() {
            Some((_, end)) if belt.moving => {
                let due = now + belt.time_to(*end);
                if self.timers.due(timer) != Some(due) {
                    self.timers.set(timer, due);
                }
            }
            _ => self.timers.cancel(timer),
        }
    }

    pub(crate) fn belt_pauses(&mut self, station: usize) {
        let now = self.now;
        let belt = self.rigid_belt(station);
        belt.move_to(now);
        belt.moving = false;
        let (motion, second) = (self.frames[station].motion, self.frames[station].second);
        self.timers.cancel(motion);
        self.timers.cancel(second);
    }

    pub(crate) fn belt_resumes(&mut self, station: usize) {
        let now = self.now;
        self.rigid_belt(station).since = now;
        self.belt_hands_over(station);
    }
}

impl RigidBelt {
    fn change_speed(&mut self, share: f64) {
        self.share = share;
    }
}
