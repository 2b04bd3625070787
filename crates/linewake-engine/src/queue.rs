//! Pending motions: one due time for each of a fixed set of timers.
//!
//! A line has few things under way at once (a cut, a head pack on a belt, a dwell, a repair), and each has one timer
//! of its own for the whole run. So the pending event set is an array of keys: setting a timer is a store, and the next
//! one is found by looking at all. What is seldom due (strikes, ends of stops) lies behind in blocks of eight, each with
//! its smallest key kept, and of those only the smallest keys are looked at.
//!
//! Keys are held as floating-point numbers, which are in the order of their bits as long as they are positive: the
//! processor has a minimum of two for those, and none for 64-bit integers.
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
    #[inline]
    pub(crate) fn place(self) -> usize {
        self.0 as usize
    }
}

/// Keys of a block of timers that are seldom due.
const BLOCK: usize = 8;

/// Keys that are looked at in one step.
const STEP: usize = 4;

/// Not due: later than every key.
const IDLE: f64 = f64::INFINITY;

/// Bits of a key that hold the place of its timer; the rest is the due time.
const PLACE_BITS: u32 = 12;

/// Added to every key, so that it is a normal number: the processor is slow with smaller ones.
const SMALLEST_KEY: u64 = 1 << 52;

/// Due times later than this are never reached: a run is shorter than these 71 years.
const LATEST: u64 = (1 << 51) - (1 << 42);

/// Due time and place in one number, so that one comparison decides.
#[inline]
fn key_of(due: Moment, place: usize) -> f64 {
    f64::from_bits((due.0.min(LATEST) << PLACE_BITS | place as u64) + SMALLEST_KEY)
}

#[inline]
fn due_of(key: f64) -> u64 {
    (key.to_bits() - SMALLEST_KEY) >> PLACE_BITS
}

/// The smaller of two keys, which are never NaN: one instruction.
#[inline]
fn smaller(one: f64, other: f64) -> f64 {
    if one < other { one } else { other }
}

/// The smallest key; there are whole steps of them.
#[inline]
fn smallest_of(keys: &[f64]) -> f64 {
    let mut smallest = [IDLE; STEP];
    for step in keys.as_chunks::<STEP>().0 {
        for (kept, key) in smallest.iter_mut().zip(step) {
            *kept = smaller(*key, *kept);
        }
    }
    smaller(smaller(smallest[0], smallest[2]), smaller(smallest[1], smallest[3]))
}

/// A timer that is asked for before the array is laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Wanted {
    /// Small fires first among equals: the crew 0, the last station 1, and so on upstream.
    pub(crate) rank: u16,
    /// A main motion, set again and again, as opposed to what is seldom due.
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
#[derive(Debug)]
pub(crate) struct Timers {
    /// Keys of the motions in the order of their ranks, in whole steps.
    motions: Vec<f64>,
    /// Keys of the other timers, in whole blocks. Their places come behind those of the motions.
    others: Vec<f64>,
    /// Smallest key of each block of the others, in whole steps.
    smallest: Vec<f64>,
    /// Smallest key of all others.
    other: f64,
    notes: Vec<Note>,
    /// The rank of each timer.
    ranks: Vec<u16>,
    sequence: u64,
}

impl Timers {
    /// Lays out the timers; `place[k]` of the result is the timer for `wanted[k]`.
    pub(crate) fn new(wanted: &[Wanted]) -> (Self, Vec<Timer>) {
        let mut order: Vec<usize> = (0..wanted.len()).collect();
        order.sort_by_key(|number| (!wanted[*number].is_motion, wanted[*number].rank));
        let count = wanted.iter().filter(|wanted| wanted.is_motion).count();
        let motions = count.next_multiple_of(STEP);
        let others = (wanted.len() - count).next_multiple_of(BLOCK);
        assert!(motions + others <= 1 << PLACE_BITS, "a checked line has fewer stations");
        let mut timers = vec![Timer(0); wanted.len()];
        let mut ranks = vec![u16::MAX; motions + others];
        for (number, place) in order.iter().zip((0..count).chain(motions..)) {
            timers[*number] = Timer(place as u32);
            ranks[place] = wanted[*number].rank;
        }
        let empty = Self {
            motions: vec![IDLE; motions],
            others: vec![IDLE; others],
            smallest: vec![IDLE; (others / BLOCK).next_multiple_of(STEP)],
            other: IDLE,
            notes: vec![Note { set_as: 0, left: u64::MAX }; motions + others],
            ranks,
            sequence: 0,
        };
        (empty, timers)
    }

    /// The next timer and its due time; [`Moment::NEVER`] if none is set.
    #[inline]
    pub(crate) fn next(&self) -> (Moment, Timer) {
        let key = smaller(smallest_of(&self.motions), self.other);
        let due = due_of(key);
        let place = (key.to_bits() & ((1 << PLACE_BITS) - 1)) as usize;
        // Motions are in the order of their ranks, so that the smallest key is the right one, unless the other motion of
        // the same station, right behind it, is due at this moment, or a timer that is no motion.
        let same_moment = |other: &f64| (other.to_bits() ^ key.to_bits()) >> PLACE_BITS == 0;
        let same_station = || self.ranks[place] == self.ranks[place + 1];
        if same_moment(&self.other) || self.motions.get(place + 1).is_some_and(same_moment) && same_station()
        {
            return self.first_among_equals(key);
        }
        (Moment(due), Timer(place as u32))
    }

    /// Of all timers of that moment the one with the smallest rank that was set first.
    #[cold]
    fn first_among_equals(&self, key: f64) -> (Moment, Timer) {
        if key >= IDLE {
            return (Moment::NEVER, Timer(0));
        }
        let keys = self.motions.iter().chain(&self.others).enumerate();
        let of_this_moment = keys.filter(|(_, other)| **other < IDLE && due_of(**other) == due_of(key));
        let first = of_this_moment.min_by_key(|(place, _)| (self.ranks[*place], self.notes[*place].set_as));
        (Moment(due_of(key)), Timer(first.map_or(0, |(place, _)| place) as u32))
    }

    /// Sets the timer, whether it was set before or not.
    #[inline]
    pub(crate) fn set(&mut self, timer: Timer, due: Moment) {
        let place = timer.place();
        self.sequence += 1;
        let note = &mut self.notes[place];
        note.set_as = self.sequence;
        note.left = u64::MAX;
        self.store(place, key_of(due, place));
    }

    /// Sets the timer as [`Timers::set`] does, but lets it be if it is due before that moment.
    #[inline]
    pub(crate) fn set_no_later(&mut self, timer: Timer, due: Moment) {
        let place = timer.place();
        self.sequence += 1;
        let note = &mut self.notes[place];
        note.set_as = self.sequence;
        note.left = u64::MAX;
        let key = key_of(due, place);
        if key < self.key(place) {
            self.store(place, key);
        }
    }

    /// Sets a timer anew that has fired too early; among equals it counts as set when it was.
    pub(crate) fn put_off(&mut self, timer: Timer, due: Moment) {
        self.store(timer.place(), key_of(due, timer.place()));
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
        self.store(timer.place(), IDLE);
    }

    #[inline]
    fn store(&mut self, place: usize, key: f64) {
        if let Some(kept) = self.motions.get_mut(place) {
            *kept = key;
        } else {
            self.store_other(place - self.motions.len(), key);
        }
    }

    fn store_other(&mut self, place: usize, key: f64) {
        let before = std::mem::replace(&mut self.others[place], key);
        if before >= IDLE && key >= IDLE {
            return;
        }
        let block = place / BLOCK;
        let smallest = smallest_of(&self.others[block * BLOCK..][..BLOCK]);
        let before = std::mem::replace(&mut self.smallest[block], smallest);
        if smallest < self.other || before <= self.other {
            self.other = smallest_of(&self.smallest);
        }
    }

    #[inline]
    fn key(&self, place: usize) -> f64 {
        let motion = self.motions.get(place);
        *motion.unwrap_or_else(|| &self.others[place - self.motions.len()])
    }

    /// When the timer is due, if it is set.
    #[inline]
    pub(crate) fn due(&self, timer: Timer) -> Option<Moment> {
        let key = self.key(timer.place());
        (key < IDLE).then(|| Moment(due_of(key)))
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
    fn of_three_timers_of_a_station_those_due_together_fire_in_the_order_of_setting() {
        let (mut all, t) = timers(&[(1, true), (1, false), (1, false), (1, false)]);
        all.set(t[3], Moment(5));
        all.set(t[1], Moment(5));
        all.set(t[0], Moment(5));
        assert_eq!(drain(&mut all), [(5, t[3]), (5, t[1]), (5, t[0])]);
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
        // Of a rank there are at most two motions, as of a station, and several others.
        let ranks: Vec<(u16, bool)> = (0..70).map(|i| (1 + i % 23, i < 46 && i % 3 > 0)).collect();
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
                let note = all.notes[timer.place()];
                (all.due(*timer).unwrap().0, all.ranks[timer.place()], note.set_as)
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
