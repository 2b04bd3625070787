//! Intervals that mean what they say: of a proportion, of a mean time between failures, of the difference of two
//! means, for the next value and for most values.
//!
//! The interval of a mean stands in [`crate::estimate`], beside the mean. Every function gives `None` for figures from
//! which no interval follows (too few values, a level that does not lie between 0 and 1, figures not finite).

mod difference;
mod mtbf;
mod normal;
mod proportion;
mod quantile;

pub use difference::{Welch, shared_luck_ratio, welch};
pub use mtbf::{Ending, mtbf_lower, mtbf_two_sided, mtbf_upper};
pub use normal::{
    mean_half_width, prediction_factor, tolerance_one_sided, tolerance_one_sided_approximate,
    tolerance_two_sided, tolerance_two_sided_howe,
};
pub use proportion::{clopper_pearson, wilson};
pub use quantile::{quantile_interval, reached_with};

/// The two ends of an interval; a side without an end is infinite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    fn finite_or_none(low: f64, high: f64) -> Option<Self> {
        (!low.is_nan() && !high.is_nan()).then_some(Self { low, high })
    }

    /// Whether the interval covers `value`, ends included.
    #[must_use]
    pub fn covers(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// Whether a probability lies strictly between 0 and 1.
fn is_level(level: f64) -> bool {
    level > 0.0 && level < 1.0
}

#[cfg(test)]
mod tests;
