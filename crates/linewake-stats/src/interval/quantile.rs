//! The interval of a quantile, from the order of the values alone.

use crate::estimate::quantile_of;
use crate::sampling_law::binomial_at_most;

use super::{Interval, is_level};

/// The interval of the `p` quantile of a distribution of any shape, from a sample in rising order.
///
/// *Formula*: from the l-th to the u-th value (from 1), l the largest with P(B <= l - 1) <= (1 - level) / 2 and u the smallest
/// with P(B <= u - 1) >= (1 + level) / 2, B binomial of n and p. It covers the quantile with probability `level` or more.
/// *Source*: David and Nagaraja (2003), Order Statistics, 3rd edition, section 7.1 (from memory).
///
/// `None` if the sample is too small for one of the ends, or for a `p` or `level` outside (0, 1).
#[must_use]
pub fn quantile_interval(sorted: &[f64], p: f64, level: f64) -> Option<Interval> {
    if !is_level(level) || !is_level(p) {
        return None;
    }
    let trials = sorted.len() as u64;
    let tail = 0.5 - 0.5 * level;
    let at_most = |count: u64| binomial_at_most(count, trials, p);
    // Smallest count that is passed with that probability, by halving.
    let first = |is_enough: &dyn Fn(u64) -> bool| -> u64 {
        let (mut low, mut high) = (0, trials);
        while low < high {
            let middle = low + (high - low) / 2;
            if is_enough(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        low
    };
    let lower = first(&|count| at_most(count) > tail);
    let upper = first(&|count| at_most(count) >= 1.0 - tail) + 1;
    // `lower` counts from 1 already: P(B <= lower - 1) <= tail.
    if lower == 0 || upper > trials {
        return None;
    }
    let at = |rank: u64| sorted.get(usize::try_from(rank).ok()?.checked_sub(1)?).copied();
    Interval::finite_or_none(at(lower)?, at(upper)?)
}

/// The value that is exceeded or reached with probability `probability`, with its interval.
///
/// `None` without values, or for a probability outside (0, 1).
#[must_use]
pub fn reached_with(sorted: &[f64], probability: f64, level: f64) -> Option<(f64, Option<Interval>)> {
    if !(probability > 0.0 && probability < 1.0) {
        return None;
    }
    let value = quantile_of(sorted, 1.0 - probability)?;
    Some((value, quantile_interval(sorted, 1.0 - probability, level)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stream::Streams;

    /// The median of 10 values at 95 %: from the 2nd to the 9th, which covers with 1 - 2 x 11 / 1024 = 0.9785 (table of
    /// the sign test); of 5 values there is none (2 / 32 is above 0.05).
    #[test]
    fn ranks_of_the_median() {
        let ten: Vec<f64> = (1..=10).map(f64::from).collect();
        let interval = quantile_interval(&ten, 0.5, 0.95).expect("ten values");
        assert!((interval.low - 2.0).abs() < 1e-12 && (interval.high - 9.0).abs() < 1e-12, "{interval:?}");
        assert_eq!(quantile_interval(&ten[..5], 0.5, 0.95), None);
        assert_eq!(quantile_interval(&ten, 1.0, 0.95), None);
    }

    /// Of 1,000 samples of 200 uniform values the interval of the 10 % quantile covers 0.1 in 95 % or more; less than 930
    /// of 1,000 happens with probability 0.003 if it covers in 95 % (seed fixed).
    #[test]
    fn it_covers() {
        let mut stream = Streams::new(11, 0).get("samples");
        let mut hits = 0;
        for _ in 0..1000 {
            let mut values: Vec<f64> = (0..200).map(|_| stream.open01()).collect();
            values.sort_by(f64::total_cmp);
            hits += u32::from(quantile_interval(&values, 0.1, 0.95).expect("enough").covers(0.1));
        }
        assert!(hits >= 930, "{hits}");
    }

    #[test]
    fn what_is_reached_with_nine_tenths_is_the_tenth_percentile() {
        let hundred: Vec<f64> = (0..=100).map(f64::from).collect();
        let (value, interval) = reached_with(&hundred, 0.9, 0.95).expect("values");
        assert!((value - 10.0).abs() < 1e-9);
        assert!(interval.expect("enough values").covers(10.0));
        assert_eq!(reached_with(&[], 0.9, 0.95), None);
    }
}
