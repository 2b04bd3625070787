//! Histograms of times on a log scale: exact counts, which merge over stations and shifts without loss.
//!
//! Ten classes a decade from 0.1 s to 10^6 s, one below and one above. The edges are 10^(k/10) s rounded to the
//! microsecond, the same for everybody, so that counts of two histograms add class by class.

use linewake_model::time::Span;
use serde::ser::{Serialize, SerializeSeq, Serializer};

/// Classes a decade.
pub const CLASSES_PER_DECADE: usize = 10;

/// Decades from 0.1 s to 10^6 s.
const DECADES: usize = 7;

/// Number of classes with two edges.
pub const CLASSES: usize = CLASSES_PER_DECADE * DECADES;

/// 10^(k/10) in ten-millionths, for k = 0 to 9.
const TENTHS: [u64; CLASSES_PER_DECADE] = [
    10_000_000, 12_589_254, 15_848_932, 19_952_623, 25_118_864, 31_622_777, 39_810_717, 50_118_723,
    63_095_734, 79_432_823,
];

/// The lower edge of a class: class 1 begins at 0.1 s; the edge of [`CLASSES`] + 1 is 10^6 s.
#[must_use]
pub fn lower_edge(class: usize) -> Span {
    let Some(step) = class.checked_sub(1) else { return Span::ZERO };
    let step = step.min(CLASSES);
    let decade = u32::try_from(step / CLASSES_PER_DECADE).unwrap_or(u32::MAX);
    let tenth = TENTHS[step % CLASSES_PER_DECADE];
    let power = 10_u64.pow(decade);
    // tenth x 10^-7 x 10^5 us x 10^decade, rounded half up.
    Span((tenth * power + 50) / 100)
}

/// Number of times in each class.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TimeHistogram {
    /// Class and count, in rising order of class; classes without a count are left out. Class 0 lies below 0.1 s,
    /// class [`CLASSES`] + 1 from 10^6 s on.
    counts: Vec<(u8, u64)>,
}

/// One class of a histogram.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct HistogramClass {
    /// Lower edge, in seconds; it belongs to the class.
    pub from_s: f64,
    /// Upper edge, in seconds; it belongs to the next class. `None` above 10^6 s.
    pub to_s: Option<f64>,
    /// Times in it.
    pub count: u64,
}

impl TimeHistogram {
    /// Counts one time.
    pub fn add(&mut self, time: Span) {
        self.add_to(class_of(time), 1);
    }

    /// Adds all counts of another one.
    pub fn merge(&mut self, other: &Self) {
        for &(class, count) in &other.counts {
            self.add_to(class, count);
        }
    }

    /// All times counted.
    #[must_use]
    pub fn total(&self) -> u64 {
        self.counts.iter().map(|(_, count)| count).sum()
    }

    /// The classes from the first to the last that has a count, those between with 0; in rising order.
    #[must_use]
    pub fn classes(&self) -> Vec<HistogramClass> {
        let (Some((first, _)), Some((last, _))) = (self.counts.first(), self.counts.last()) else {
            return Vec::new();
        };
        let count_of = |class: u8| {
            let found = self.counts.binary_search_by_key(&class, |(class, _)| *class);
            found.map_or(0, |place| self.counts[place].1)
        };
        let classes = (*first..=*last).map(|class| {
            let place = usize::from(class);
            HistogramClass {
                from_s: lower_edge(place).seconds(),
                to_s: (place <= CLASSES).then(|| lower_edge(place + 1).seconds()),
                count: count_of(class),
            }
        });
        classes.collect()
    }

    fn add_to(&mut self, class: u8, count: u64) {
        match self.counts.binary_search_by_key(&class, |(class, _)| *class) {
            Ok(place) => self.counts[place].1 += count,
            Err(place) => self.counts.insert(place, (class, count)),
        }
    }
}

/// The last class whose lower edge is not above the time.
fn class_of(time: Span) -> u8 {
    let (mut low, mut high) = (0, CLASSES + 1);
    while low < high {
        let middle = (low + high).div_ceil(2);
        if lower_edge(middle) <= time { low = middle } else { high = middle - 1 }
    }
    u8::try_from(low).unwrap_or(u8::MAX)
}

impl Serialize for TimeHistogram {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let classes = self.classes();
        let mut rows = serializer.serialize_seq(Some(classes.len()))?;
        for class in &classes {
            rows.serialize_element(class)?;
        }
        rows.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn edges_are_powers_of_ten() {
        assert_eq!(lower_edge(0), Span::ZERO);
        assert_eq!(lower_edge(1), Span(100_000));
        assert_eq!(lower_edge(11), Span(1_000_000));
        assert_eq!(lower_edge(CLASSES + 1), Span(1_000_000_000_000));
        for class in 1..=CLASSES {
            let exact = 1e5 * 10_f64.powf((class - 1) as f64 / 10.0);
            assert!((lower_edge(class).0 as f64 - exact).abs() <= 0.5 + exact * 1e-7, "{class}");
            assert!(lower_edge(class) < lower_edge(class + 1));
        }
    }

    #[test]
    fn an_edge_belongs_to_the_class_above_it() {
        let mut histogram = TimeHistogram::default();
        for time in [Span::ZERO, Span(99_999), Span(100_000), Span(1_000_000), Span(u64::MAX)] {
            histogram.add(time);
        }
        let counted: Vec<(f64, u64)> = histogram
            .classes()
            .into_iter()
            .filter(|class| class.count > 0)
            .map(|class| (class.from_s, class.count))
            .collect();
        assert_eq!(counted, [(0.0, 2), (0.1, 1), (1.0, 1), (1e6, 1)]);
        assert_eq!(histogram.classes().last().and_then(|class| class.to_s), None);
    }

    proptest! {
        #[test]
        fn merged_counts_are_those_of_all_times(one in prop::collection::vec(0_u64..1 << 42, 0..40),
                                                other in prop::collection::vec(0_u64..1 << 42, 0..40)) {
            let of = |times: &[u64]| {
                let mut histogram = TimeHistogram::default();
                times.iter().for_each(|&time| histogram.add(Span(time)));
                histogram
            };
            let mut merged = of(&one);
            merged.merge(&of(&other));
            let all: Vec<u64> = one.iter().chain(&other).copied().collect();
            prop_assert_eq!(&merged, &of(&all));
            prop_assert_eq!(merged.total(), all.len() as u64);
            for class in merged.classes() {
                let inside = all.iter().filter(|&&time| {
                    let time = Span(time).seconds();
                    time >= class.from_s && class.to_s.is_none_or(|to| time < to)
                });
                prop_assert_eq!(inside.count() as u64, class.count);
            }
        }
    }
}
