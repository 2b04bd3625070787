//! How long a belt or table held how much, in bounded memory.
//!
//! A content is known at its rows (every 10 s where it has changed) and taken to stand until the next one. Times at
//! empty and at full are counted exactly by the line itself and stand elsewhere.

use linewake_model::time::Span;
use serde::Serialize;

/// Most classes of content.
pub const MOST_CLASSES: usize = 128;

/// Time at each content: classes of `pieces_per_class` pieces, the first from 0. Where the content goes beyond
/// [`MOST_CLASSES`] classes, neighbours are put together, so `pieces_per_class` is a power of two.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ContentTimes {
    pieces_per_class: u32,
    times: Vec<Span>,
}

/// One class of content.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ContentClass {
    /// Smallest content of the class, in pieces.
    pub from_pieces: u32,
    /// Largest content of the class, in pieces.
    pub to_pieces: u32,
    /// Time at it, in seconds, over all shifts together.
    pub time_s: f64,
    /// Share of all time, 0 to 1.
    pub share: f64,
}

impl Default for ContentTimes {
    fn default() -> Self {
        Self { pieces_per_class: 1, times: Vec::new() }
    }
}

impl ContentTimes {
    /// Adds time at a content.
    pub fn add(&mut self, pieces: u32, time: Span) {
        if time == Span::ZERO {
            return;
        }
        while pieces / self.pieces_per_class >= MOST_CLASSES as u32 {
            self.put_neighbours_together();
        }
        let class = (pieces / self.pieces_per_class) as usize;
        if self.times.len() <= class {
            self.times.resize(class + 1, Span::ZERO);
        }
        self.times[class] += time;
    }

    /// Adds all times of another one; the wider classes of the two stay.
    pub fn merge(&mut self, other: &Self) {
        while self.pieces_per_class < other.pieces_per_class {
            self.put_neighbours_together();
        }
        for (class, &time) in other.times.iter().enumerate() {
            self.add(other.pieces_per_class * class as u32, time);
        }
    }

    /// All time.
    #[must_use]
    pub fn total(&self) -> Span {
        self.times.iter().fold(Span::ZERO, |sum, &time| sum + time)
    }

    /// The classes from 0 to the largest content, in rising order.
    #[must_use]
    pub fn classes(&self) -> Vec<ContentClass> {
        let total = self.total().seconds();
        let classes = self.times.iter().enumerate().map(|(class, time)| {
            let from_pieces = self.pieces_per_class * class as u32;
            ContentClass {
                from_pieces,
                to_pieces: from_pieces.saturating_add(self.pieces_per_class - 1),
                time_s: time.seconds(),
                share: if total > 0.0 { time.seconds() / total } else { 0.0 },
            }
        });
        classes.collect()
    }

    fn put_neighbours_together(&mut self) {
        self.pieces_per_class *= 2;
        self.times =
            self.times.chunks(2).map(|pair| pair.iter().fold(Span::ZERO, |sum, &time| sum + time)).collect();
    }
}

impl Serialize for ContentTimes {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.classes().serialize(serializer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn classes_widen_when_the_content_grows() {
        let mut times = ContentTimes::default();
        times.add(0, Span(3_000_000));
        times.add(127, Span(1_000_000));
        assert_eq!(times.classes().len(), MOST_CLASSES);
        times.add(128, Span(4_000_000));
        let classes = times.classes();
        assert_eq!((classes[0].from_pieces, classes[0].to_pieces), (0, 1));
        assert_eq!(classes.iter().filter(|class| class.time_s > 0.0).count(), 3);
        assert!((classes[64].share - 0.5).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn no_time_is_lost(one in prop::collection::vec((0_u32..5000, 0_u64..1 << 40), 0..30),
                           other in prop::collection::vec((any::<u32>(), 0_u64..1 << 40), 0..30)) {
            let of = |rows: &[(u32, u64)]| {
                let mut times = ContentTimes::default();
                rows.iter().for_each(|&(pieces, time)| times.add(pieces, Span(time)));
                times
            };
            let mut merged = of(&one);
            merged.merge(&of(&other));
            let all: Vec<(u32, u64)> = one.iter().chain(&other).copied().collect();
            prop_assert_eq!(&merged, &of(&all));
            prop_assert_eq!(merged.total().0, all.iter().map(|row| row.1).sum::<u64>());
            prop_assert!(merged.classes().len() <= MOST_CLASSES);
        }
    }
}
