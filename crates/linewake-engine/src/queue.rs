//! Pending motions: one due time for each of a fixed set of timers.
//!
//! A line has few things under way at once (a cut, a head pack on a belt, a dwell, a repair), and each has one timer
//! of its own for the whole run. So the pending event set is an array of keys in blocks of sixteen, each block with its
//! smallest key kept: setting a timer is a store, and the next timer is found by looking again at the one or two blocks
//! that lost their smallest. Main motions come first in the array, so that what is seldom set (strikes, ends of stops)
//! lies in blocks that are seldom looked at.
//!
//! # Order of equal times
//! Of two timers due at the same microsecond the one of the station further downstream fires first; of two timers of
//! one station the one that was set first. Crew timers (an operator arrives) come before all stations.

use linewake_model::time::{Moment, Span};

/// A timer of the run: its place in the array of keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Timer(u32);

impl Timer {
    /// The timer at that place.
    pub(crate) fn at(place: usize) -> Self {
        Self(place as u32)
    }

    /// Its place: an index for what is kept for each timer.
    pub(crate) fn place(self) -> usize {
        self.0 as usize
    }
}

/// Not due: later than every key.
const IDLE: u64 = u64::MAX;

/// Keys of a block.
const BLOCK: usize = 16;

/// Bits of a key that hold the place of its timer; the rest is the due time, which reaches for over a century.
const PLACE_BITS: u32 = 12;

/// Due times later than this are never reached: a run is shorter.
const LATEST: u64 = (1 << (64 - PLACE_BITS)) - 2;

/// Smallest of a block, in pairs: a chain of sixteen comparisons would wait for itself.
#[inline]
fn least(keys: &[u64; BLOCK]) -> u64 {
    let pair = |a: usize| keys[a].min(keys[a + 8]);
    let four = |a: usize| pair(a).min(pair(a + 4));
    four(0).min(four(2)).min(four(1).min(four(3)))
}

/// A timer that is asked for before the array is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Wanted {
    /// Small fires first among equals: the crew 0, the last station 1, and so on upstream.
    pub(crate) rank: u16,
    /// A main motion, set again and again, as opposed to what is seldom set.
    pub(crate) is_motion: bool,
}

/// What is kept of a timer besides its key.
#[derive(Clone, Copy, Debug)]
struct Note {
    /// When it was set, as a count.
    set_as: u64,
    /// Time that was left when it was paused; the largest number if it was not.
    left: u64,
}

/// All timers of a run.
#[derive(Debug, Default)]
pub(crate) struct Timers {
    /// Due time and place in one number, so that one comparison decides; a multiple of [`BLOCK`] of them.
    keys: Vec<u64>,
    /// Smallest key of each block.
    smallest: Vec<u64>,
    /// Blocks whose smallest key has gone: one bit each.
    stale: u64,
    /// Rank of each timer.
    ranks: Vec<u16>,
    /// What else is known of each timer.
    notes: Vec<Note>,
    sequence: u64,
}

impl Timers {
    /// Lays out the timers; `place[k]` of the result is the timer for `wanted[k]`.
    pub(crate) fn new(wanted: &[Wanted]) -> (Self, Vec<Timer>) {
        let mut order: Vec<usize> = (0..wanted.len()).collect();
        order.sort_by_key(|number| (!wanted[*number].is_motion, wanted[*number].rank));
        // Motions fill whole blocks, so that within a block the first place has the smallest rank.
        let motions = wanted.iter().filter(|wanted| wanted.is_motion).count();
        let gap = motions.next_multiple_of(BLOCK) - motions;
        let mut timers = vec![Timer(0); wanted.len()];
        for (place, number) in order.iter().enumerate() {
            let place = if place < motions { place } else { place + gap };
            timers[*number] = Timer(place as u32);
        }
        let places = (wanted.len() + gap).next_multiple_of(BLOCK).max(BLOCK);
        assert!(places <= 1 << PLACE_BITS && places / BLOCK <= 64, "a checked line has fewer stations");
        let mut ranks = vec![u16::MAX; places];
        for (number, timer) in timers.iter().enumerate() {
            ranks[timer.place()] = wanted[number].rank;
        }
        let empty = Self {
            keys: vec![IDLE; places],
            smallest: vec![IDLE; places / BLOCK],
            stale: 0,
            ranks,
            notes: vec![Note { set_as: 0, left: u64::MAX }; places],
            sequence: 0,
        };
        (empty, timers)
    }

    /// The next timer and its due time; [`Moment::NEVER`] if none is set.
    #[inline]
    pub(crate) fn next(&mut self) -> (Moment, Timer) {
        while self.stale != 0 {
            let block = self.stale.trailing_zeros() as usize;
            self.stale &= self.stale - 1;
            self.look_again(block);
        }
        // The two smallest of all blocks: the second only to see whether it is of the same moment.
        let (mut key, mut second) = (IDLE, IDLE);
        for smallest in &self.smallest {
            second = second.min(key.max(*smallest));
            key = key.min(*smallest);
        }
        if key == IDLE {
            return (Moment::NEVER, Timer(0));
        }
        let due = key >> PLACE_BITS;
        let place = (key & ((1 << PLACE_BITS) - 1)) as usize;
        // Within a block the first place has the smallest rank. What is left to settle is a timer of the same moment in
        // another block, or another timer of the same station, which lies right behind.
        let same_moment_behind = self.keys.get(place + 1).is_some_and(|key| *key >> PLACE_BITS == due);
        if second >> PLACE_BITS == due || same_moment_behind {
            return (Moment(due), self.first_among_equals(due, place));
        }
        (Moment(due), Timer(place as u32))
    }

    #[inline]
    fn look_again(&mut self, block: usize) {
        if let Some(keys) = self.keys.as_chunks::<BLOCK>().0.get(block) {
            self.smallest[block] = least(keys);
        }
    }

    /// Of all timers of that moment the one with the smallest rank that was set first.
    fn first_among_equals(&self, due: u64, place: usize) -> Timer {
        let mut best = place;
        for (other, key) in self.keys.iter().enumerate() {
            if *key >> PLACE_BITS == due
                && (self.ranks[other], self.notes[other].set_as) < (self.ranks[best], self.notes[best].set_as)
            {
                best = other;
            }
        }
        Timer(best as u32)
    }

    /// Sets the timer, whether it was set before or not.
    #[inline]
    pub(crate) fn set(&mut self, timer: Timer, due: Moment) {
        let place = timer.place();
        self.sequence += 1;
        self.notes[place] = Note { set_as: self.sequence, left: u64::MAX };
        self.store(place, due.0.min(LATEST) << PLACE_BITS | place as u64);
    }

    /// Takes the timer off.
    #[inline]
    pub(crate) fn cancel(&mut self, timer: Timer) {
        self.notes[timer.place()].left = u64::MAX;
        self.store(timer.place(), IDLE);
    }

    /// Takes off the timer that [`Timers::next`] has given; it may be set again by what it triggers.
    #[inline]
    pub(crate) fn fire(&mut self, timer: Timer) {
        let place = timer.place();
        self.keys[place] = IDLE;
        self.stale |= 1 << (place / BLOCK);
    }

    #[inline]
    fn store(&mut self, place: usize, key: u64) {
        let before = std::mem::replace(&mut self.keys[place], key);
        let block = place / BLOCK;
        let smallest = &mut self.smallest[block];
        if key < *smallest {
            *smallest = key;
        } else if before == *smallest && key != before {
            self.stale |= 1 << block;
        }
    }

    /// When the timer is due, if it is set.
    pub(crate) fn due(&self, timer: Timer) -> Option<Moment> {
        let key = self.keys[timer.place()];
        (key != IDLE).then_some(Moment(key >> PLACE_BITS))
    }

    /// Stops the clock of the timer, keeping what is left; nothing if it is not set.
    pub(crate) fn pause(&mut self, timer: Timer, now: Moment) {
        if let Some(due) = self.due(timer) {
            self.cancel(timer);
            self.notes[timer.place()].left = due.since(now).0;
        }
    }

    /// Lets the clock of a paused timer go on; nothing if it was not paused.
    pub(crate) fn resume(&mut self, timer: Timer, now: Moment) {
        let left = std::mem::replace(&mut self.notes[timer.place()].left, u64::MAX);
        if left != u64::MAX {
            self.set(timer, now + Span(left));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn timers(ranks: &[(u16, bool)]) -> (Timers, Vec<Timer>) {
        let wanted: Vec<Wanted> =
            ranks.iter().map(|(rank, is_motion)| Wanted { rank: *rank, is_motion: *is_motion }).collect();
        Timers::new(&wanted)
    }

    fn drain(timers: &mut Timers) -> Vec<(u64, Timer)> {
        let mut out = Vec::new();
        loop {
            let (at, timer) = timers.next();
            if at == Moment::NEVER {
                return out;
            }
            timers.cancel(timer);
            out.push((at.0, timer));
        }
    }

    #[test]
    fn downstream_first_then_order_of_setting() {
        let (mut all, t) = timers(&[(2, true), (2, false), (1, false), (0, false), (3, true)]);
        for timer in [t[4], t[1], t[0], t[2], t[3]] {
            all.set(timer, Moment(5));
        }
        assert_eq!(drain(&mut all), [(5, t[3]), (5, t[2]), (5, t[1]), (5, t[0]), (5, t[4])]);
    }

    #[test]
    fn a_paused_timer_keeps_what_is_left() {
        let (mut all, t) = timers(&[(1, true)]);
        all.set(t[0], Moment(100));
        all.pause(t[0], Moment(40));
        assert_eq!(all.next().0, Moment::NEVER);
        all.resume(t[0], Moment(1000));
        assert_eq!(all.due(t[0]), Some(Moment(1060)));
        all.resume(t[0], Moment(2000));
        assert_eq!(all.due(t[0]), Some(Moment(1060)), "resuming twice changes nothing");
    }

    /// A pseudo-random walk of sets and cancels (Knuth's MMIX multiplier); each next timer is compared with a plain
    /// search by (time, rank, order of setting).
    #[test]
    fn the_next_timer_is_the_one_that_a_plain_search_finds() {
        let ranks: Vec<(u16, bool)> = (0..70).map(|i| (1 + i % 23, i % 3 == 0)).collect();
        let (mut all, t) = timers(&ranks);
        let mut x: u64 = 12345;
        let mut draw = move |n: u64| {
            x = x.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (x >> 33) % n
        };
        for timer in &t {
            all.set(*timer, Moment(draw(50)));
        }
        for _ in 0..50_000 {
            let (at, timer) = all.next();
            let order = |timer: &Timer| {
                (all.due(*timer).unwrap().0, all.ranks[timer.place()], all.notes[timer.place()].set_as)
            };
            let plain =
                t.iter().filter(|timer| all.due(**timer).is_some()).min_by_key(|timer| order(timer)).unwrap();
            assert_eq!((at, timer), (all.due(*plain).unwrap(), *plain));
            all.cancel(timer);
            for _ in 0..draw(3) {
                all.set(t[draw(70) as usize], at + Span(draw(20)));
            }
            if draw(4) == 0 {
                all.cancel(t[draw(70) as usize]);
            }
            all.set(t[draw(70) as usize], at + Span(draw(20)));
        }
    }
}
