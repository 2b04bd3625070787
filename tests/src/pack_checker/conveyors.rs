//! Belts and tables: order, capacity, transit, pitch.

use super::{Check, Time, fail};
use linewake_model::station::{Accumulator, LeaveOrder, RigidBelt, SpeedControl, UNLIMITED};
use linewake_model::time::Span;
use std::collections::VecDeque;

/// Smallest and largest share of the set speed that a station can run at.
pub(super) fn shares(control: Option<&SpeedControl>) -> (f64, f64) {
    let Some(control) = control else { return (1.0, 1.0) };
    let all = || control.steps.iter().map(|step| step.share);
    (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max))
}

/// Rounding that a changing speed may leave, in microseconds.
const SPEED_ROUNDING: u64 = 1000;

/// A piece on an accumulating belt or table, and the free time of the belt at which it came.
#[derive(Clone, Copy, Debug)]
struct Held {
    item: u64,
    came: u64,
}

/// Accumulating belt or table.
#[derive(Clone, Debug)]
pub(super) struct AccumulatorCheck {
    spec: Accumulator,
    slowest: f64,
    fastest: f64,
    held: VecDeque<Held>,
    last_left: Option<u64>,
    closed: bool,
    /// Content x line time, line time full, line time empty.
    pub(super) content_time: u64,
    pub(super) full_time: u64,
    pub(super) empty_time: u64,
    booked_up_to: u64,
}

impl AccumulatorCheck {
    pub(super) fn new(spec: &Accumulator, control: Option<&SpeedControl>) -> Self {
        let (slowest, fastest) = shares(control);
        Self {
            spec: spec.clone(),
            slowest,
            fastest,
            held: VecDeque::new(),
            last_left: None,
            closed: false,
            content_time: 0,
            full_time: 0,
            empty_time: 0,
            booked_up_to: 0,
        }
    }

    pub(super) fn content(&self) -> usize {
        self.held.len()
    }

    pub(super) fn is_direct(&self) -> bool {
        self.spec.capacity == 0
    }

    /// Brings the content clocks up to that line time.
    pub(super) fn book(&mut self, line: u64) {
        let passed = line - self.booked_up_to;
        self.booked_up_to = line;
        self.content_time += passed * self.held.len() as u64;
        if self.held.is_empty() {
            self.empty_time += passed;
        }
        if self.spec.capacity != UNLIMITED && self.held.len() >= self.spec.capacity as usize {
            self.full_time += passed;
        }
    }

    fn transit(&self, share: f64) -> u64 {
        self.spec.transit.at_speed(share).0
    }

    pub(super) fn has_room(&self) -> bool {
        self.has_room_for(1)
    }

    pub(super) fn has_room_for(&self, pieces: usize) -> bool {
        let full = self.spec.capacity != UNLIMITED && self.held.len() + pieces > self.spec.capacity as usize;
        !self.closed && !full
    }

    pub(super) fn enters(&mut self, item: u64, time: Time) -> Check {
        self.book(time.line);
        if self.closed {
            return fail("a piece enters although the content is not down to restart_at");
        }
        if !self.has_room() {
            return fail(format!("a piece enters a full belt or table of {}", self.spec.capacity));
        }
        self.held.push_back(Held { item, came: time.free });
        if self.spec.restart_at.is_some() && self.held.len() == self.spec.capacity as usize {
            self.closed = true;
        }
        Ok(())
    }

    pub(super) fn leaves(&mut self, item: u64, time: Time) -> Check {
        self.book(time.line);
        let Some(place) = self.held.iter().position(|held| held.item == item) else {
            return fail(format!("piece {item} leaves and is not on it"));
        };
        let least = self.transit(self.fastest);
        let came = self.held[place].came;
        if time.free - came < least {
            return fail(format!(
                "piece {item} leaves after {} us of a transit of {least} us",
                time.free - came
            ));
        }
        match self.spec.order {
            LeaveOrder::FirstInFirstOut if place != 0 => return fail("first in is not first out"),
            LeaveOrder::FirstInFirstOut => {}
            LeaveOrder::LastInFirstOut => {
                let most = self.transit(self.slowest);
                let later = self.held.iter().skip(place + 1).find(|later| later.came + most < time.free);
                if let Some(later) = later {
                    return fail(format!("piece {item} leaves before {}, which came later", later.item));
                }
            }
        }
        let release = self.spec.release.at_speed(self.fastest).0;
        if self.last_left.is_some_and(|last| time.free - last < release) {
            return fail(format!("pieces leave closer than {release} us"));
        }
        self.last_left = Some(time.free);
        self.held.remove(place);
        if self.spec.restart_at.is_some_and(|restart| self.held.len() <= restart as usize) {
            self.closed = false;
        }
        Ok(())
    }

    /// A piece could leave, as far as its transit and the release time go (at the slowest speed).
    pub(super) fn has_ready(&self, free: u64) -> bool {
        let transit = self.transit(self.slowest);
        let release = self.spec.release.at_speed(self.slowest).0;
        self.held.iter().any(|held| held.came + transit <= free)
            && self.last_left.is_none_or(|last| last + release <= free)
    }
}

/// Rigid belt; its odometer is its running time, at the set speed exactly.
#[derive(Clone, Debug)]
pub(super) struct RigidBeltCheck {
    transit: Span,
    pitch: Span,
    /// It always runs at its set speed.
    exact: bool,
    fastest: f64,
    slowest: f64,
    /// Each pack with the odometer reading at which it reaches the end, and the running time at which it came.
    held: VecDeque<(u64, u64, u64)>,
    infeed_free: u64,
    /// The placement of this instant: instant, odometer reading, packs.
    placement: Option<(u64, u64, u64)>,
    /// Robots place several packs at once; all else comes one by one.
    after_robot: bool,
    loaded_since: Option<u64>,
    moved_loaded: u64,
}

impl RigidBeltCheck {
    pub(super) fn new(spec: &RigidBelt, control: Option<&SpeedControl>, after_robot: bool) -> Self {
        let (slowest, fastest) = shares(control);
        Self {
            transit: spec.transit(),
            pitch: spec.pitch(),
            exact: control.is_none(),
            fastest,
            slowest,
            held: VecDeque::new(),
            infeed_free: 0,
            placement: None,
            after_robot,
            loaded_since: None,
            moved_loaded: 0,
        }
    }

    pub(super) fn content(&self) -> usize {
        self.held.len()
    }

    /// Running time with packs on it.
    pub(super) fn moved_loaded(&self, ran: u64) -> u64 {
        self.moved_loaded + self.loaded_since.map_or(0, |since| ran - since)
    }

    pub(super) fn enters(&mut self, item: u64, time: Time) -> Check {
        let (at, x, before) = match self.placement {
            Some((at, x, packs)) if at == time.at && self.after_robot => (at, x, packs),
            _ => {
                let free = if self.exact {
                    self.infeed_free
                } else {
                    // The running time since the last placement at the highest speed is the most it can have moved.
                    let pitch = self.pitch.at_speed(self.fastest).0;
                    self.placement
                        .map_or(0, |(_, x, packs)| (x + pitch * packs).saturating_sub(SPEED_ROUNDING))
                };
                if time.ran < free {
                    return fail(format!("a placement {} us before the infeed is free", free - time.ran));
                }
                (time.at, time.ran, 0)
            }
        };
        self.held.push_back((item, x + self.transit.0 + before * self.pitch.0, x));
        self.placement = Some((at, x, before + 1));
        self.infeed_free = x + self.pitch.0 * (before + 1);
        self.loaded_since.get_or_insert(time.ran);
        Ok(())
    }

    pub(super) fn leaves(&mut self, item: u64, time: Time) -> Check {
        let Some((first, end, came)) = self.held.pop_front() else {
            return fail(format!("pack {item} leaves an empty belt"));
        };
        if first != item {
            return fail(format!("pack {item} leaves before {first}, which is ahead of it"));
        }
        if self.exact && time.ran != end {
            return fail(format!(
                "pack {item} leaves at odometer {} us and its end is at {end} us",
                time.ran
            ));
        }
        let least = self.transit.at_speed(self.fastest).0.saturating_sub(SPEED_ROUNDING);
        let most = (end - came) as f64 / self.slowest + SPEED_ROUNDING as f64;
        if !self.exact && (time.ran - came < least || (time.ran - came) as f64 > most) {
            return fail(format!(
                "pack {item} passed in {} us, not {least} to {most:.0} us",
                time.ran - came
            ));
        }
        if self.held.is_empty()
            && let Some(since) = self.loaded_since.take()
        {
            self.moved_loaded += time.ran - since;
        }
        Ok(())
    }

    /// A pack stands at the end; none if the odometer is not known exactly.
    pub(super) fn pack_at_end(&self, ran: u64) -> Option<bool> {
        self.exact.then(|| self.held.front().is_some_and(|(_, end, _)| *end <= ran))
    }

    /// The infeed is free; none if the odometer is not known exactly.
    pub(super) fn infeed_is_free(&self, ran: u64) -> Option<bool> {
        self.exact.then_some(ran >= self.infeed_free)
    }
}
