//! Pending motions: a winner tree over a fixed set of timers.
//!
//! A line has few things under way at once (a cut, a head pack on a belt, a dwell, a repair), and each has one timer
//! of its own for the whole run. So the pending event set is a fixed array of due times under a tournament: setting
//! or cancelling a timer replays the matches on its path to the root.
//!
//! # Order of equal times
//! Of two timers due at the same microsecond the one of the station further downstream fires first; of two timers of
//! one station the one that was set first. Crew timers (an operator arrives) come before all stations.

use linewake_model::time::{Moment, Span};

/// A timer of the run, made once by [`Timers::add`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Timer(u32);

impl Timer {
    /// Its number, in the order of [`Timers::add`].
    pub(crate) fn number(self) -> usize {
        self.0 as usize
    }
}

/// Not due: later than every key.
const IDLE: u128 = u128::MAX;

/// All timers of a run.
#[derive(Debug, Default)]
pub(crate) struct Timers {
    /// Due time, rank and order of setting, packed so that one comparison decides; one per timer, padded to a power of two.
    keys: Vec<u128>,
    /// Rank of the timer's station: small fires first among equals. Shifted into place.
    ranks: Vec<u64>,
    /// Time that was left when the timer was paused.
    left: Vec<Option<Span>>,
    /// Winner of each match; node 1 is the root, leaves are not stored.
    winners: Vec<u32>,
    /// Leaves of the tree.
    leaves: usize,
    /// Order of setting.
    sequence: u64,
    /// The timer that is firing and has not been set again: its path is replayed once, at the end.
    firing: Option<Timer>,
}

impl Timers {
    /// Adds a timer whose station has this rank: 0 fires before 1 at equal times.
    pub(crate) fn add(&mut self, rank: u16) -> Timer {
        let timer = Timer(self.keys.len() as u32);
        self.keys.push(IDLE);
        self.ranks.push(u64::from(rank) << 48);
        self.left.push(None);
        timer
    }

    /// The timer of that number.
    pub(crate) fn of_number(&self, number: usize) -> Timer {
        Timer(number as u32)
    }

    /// Builds the tree; no timer may be added afterwards.
    pub(crate) fn close(&mut self) {
        self.leaves = self.keys.len().next_power_of_two().max(2);
        self.keys.resize(self.leaves, IDLE);
        self.winners = vec![0; self.leaves];
        for node in (1..self.leaves).rev() {
            self.winners[node] = self.match_at(node);
        }
    }

    /// The next timer and its due time; [`Moment::NEVER`] if none is set.
    pub(crate) fn next(&self) -> (Moment, Timer) {
        let winner = self.winners[1];
        (Moment((self.keys[winner as usize] >> 64) as u64), Timer(winner))
    }

    /// Takes the timer off; it may be set again by what it triggers. To be followed by [`Timers::fired`].
    pub(crate) fn fire(&mut self, timer: Timer) {
        self.keys[timer.0 as usize] = IDLE;
        self.firing = Some(timer);
    }

    /// Ends what [`Timers::fire`] began.
    pub(crate) fn fired(&mut self) {
        if let Some(timer) = self.firing.take() {
            self.replay(timer);
        }
    }

    /// Sets the timer, whether it was set before or not.
    pub(crate) fn set(&mut self, timer: Timer, due: Moment) {
        let index = timer.0 as usize;
        self.sequence += 1;
        self.keys[index] =
            (u128::from(due.0) << 64) | u128::from(self.ranks[index] | self.sequence & 0xFFFF_FFFF_FFFF);
        self.left[index] = None;
        if self.firing != Some(timer) {
            self.replay(timer);
        }
    }

    /// Takes the timer off.
    pub(crate) fn cancel(&mut self, timer: Timer) {
        let index = timer.0 as usize;
        self.left[index] = None;
        if self.keys[index] != IDLE {
            self.keys[index] = IDLE;
            if self.firing != Some(timer) {
                self.replay(timer);
            }
        }
    }

    /// When the timer is due, if it is set.
    pub(crate) fn due(&self, timer: Timer) -> Option<Moment> {
        let key = self.keys[timer.0 as usize];
        (key != IDLE).then_some(Moment((key >> 64) as u64))
    }

    /// Stops the clock of the timer, keeping what is left; nothing if it is not set.
    pub(crate) fn pause(&mut self, timer: Timer, now: Moment) {
        if let Some(due) = self.due(timer) {
            self.cancel(timer);
            self.left[timer.0 as usize] = Some(due.since(now));
        }
    }

    /// Lets the clock of a paused timer go on; nothing if it was not paused.
    pub(crate) fn resume(&mut self, timer: Timer, now: Moment) {
        if let Some(left) = self.left[timer.0 as usize].take() {
            self.set(timer, now + left);
        }
    }

    fn replay(&mut self, timer: Timer) {
        let mut node = (self.leaves + timer.0 as usize) >> 1;
        while node > 0 {
            self.winners[node] = self.match_at(node);
            node >>= 1;
        }
    }

    fn match_at(&self, node: usize) -> u32 {
        let (left, right) = (self.contender(2 * node), self.contender(2 * node + 1));
        if self.keys[left as usize] <= self.keys[right as usize] { left } else { right }
    }

    fn contender(&self, node: usize) -> u32 {
        if node >= self.leaves { (node - self.leaves) as u32 } else { self.winners[node] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drain(timers: &mut Timers) -> Vec<(u64, u32)> {
        let mut out = Vec::new();
        loop {
            let (at, timer) = timers.next();
            if at == Moment::NEVER {
                return out;
            }
            timers.fire(timer);
            timers.fired();
            out.push((at.0, timer.0));
        }
    }

    #[test]
    fn downstream_first_then_order_of_setting() {
        let mut timers = Timers::default();
        let upstream = timers.add(2);
        let upstream_too = timers.add(2);
        let downstream = timers.add(1);
        timers.close();
        timers.set(upstream_too, Moment(5));
        timers.set(upstream, Moment(5));
        timers.set(downstream, Moment(5));
        assert_eq!(drain(&mut timers), [(5, 2), (5, 1), (5, 0)]);
    }

    #[test]
    fn a_paused_timer_keeps_what_is_left() {
        let mut timers = Timers::default();
        let timer = timers.add(1);
        timers.close();
        timers.set(timer, Moment(100));
        timers.pause(timer, Moment(40));
        assert_eq!(timers.next().0, Moment::NEVER);
        timers.resume(timer, Moment(1000));
        assert_eq!(timers.due(timer), Some(Moment(1060)));
        timers.resume(timer, Moment(2000));
        assert_eq!(timers.due(timer), Some(Moment(1060)), "resuming twice changes nothing");
    }

    #[test]
    fn setting_others_while_one_fires_keeps_the_tree_right() {
        // A linear congruential walk (Lehmer 1951) drives sets, cancels and re-sets; each step is compared with a scan.
        let mut timers = Timers::default();
        let all: Vec<Timer> = (0..37).map(|i| timers.add(i % 7)).collect();
        timers.close();
        let mut x: u64 = 12345;
        let mut draw = move |n: u64| {
            x = x.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (x >> 33) % n
        };
        for timer in &all {
            timers.set(*timer, Moment(draw(1000)));
        }
        for _ in 0..20_000 {
            let smallest = timers.keys.iter().copied().min().unwrap();
            let (at, timer) = timers.next();
            assert_eq!(u128::from(at.0), smallest >> 64);
            assert_eq!(timers.keys[timer.0 as usize], smallest);
            timers.fire(timer);
            for _ in 0..draw(3) {
                timers.set(all[draw(37) as usize], at + Span(draw(500)));
            }
            if draw(4) == 0 {
                timers.cancel(all[draw(37) as usize]);
            }
            if draw(2) == 0 || timers.keys.iter().all(|k| *k == IDLE) {
                timers.set(timer, at + Span(1 + draw(500)));
            }
            timers.fired();
        }
    }
}
