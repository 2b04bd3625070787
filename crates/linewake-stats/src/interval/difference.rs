//! The difference of two means from independent samples, and what shared luck saves.
//!
//! The difference of samples that belong together value by value (paired t) stands in
//! [`crate::estimate::Paired`].

use super::{Interval, is_level};
use crate::estimate::{student_t_quantile, variance};
use crate::sampling_law::student_t_tail;

/// First mean less second, from two independent samples whose variances may differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Welch {
    /// First mean less second.
    pub difference: f64,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// Degrees of freedom, not whole as a rule.
    pub degrees: f64,
    /// The difference in standard errors.
    pub t: f64,
    /// Probability of a difference at least this large, either way, if the true means are equal.
    pub p_value: f64,
    /// Half the width of the interval of the difference at the level asked for.
    pub half_width: f64,
}

impl Welch {
    /// The interval of the difference.
    #[must_use]
    pub fn interval(&self) -> Interval {
        Interval { low: self.difference - self.half_width, high: self.difference + self.half_width }
    }
}

/// Compares two independent samples, each given as (number of values, mean, standard deviation with divisor n - 1).
///
/// *Formula*: with e_i = s_i^2 / n_i, standard error sqrt(e_1 + e_2) and degrees of freedom
/// (e_1 + e_2)^2 / (e_1^2 / (n_1 - 1) + e_2^2 / (n_2 - 1)).
/// *Source*: Welch (1938), The Significance of the Difference Between Two Means when the Population Variances are
/// Unequal, Biometrika 29, 350-362.
///
/// `None` for fewer than two values in a sample, a negative or infinite figure, two deviations of 0, or a `level`
/// outside (0, 1).
#[must_use]
pub fn welch(first: (usize, f64, f64), second: (usize, f64, f64), level: f64) -> Option<Welch> {
    let share = |(n, mean, deviation): (usize, f64, f64)| {
        (n >= 2 && mean.is_finite() && deviation >= 0.0).then(|| deviation * (deviation / n as f64))
    };
    let (one, two) = (share(first)?, share(second)?);
    let both = one + two;
    if !(both > 0.0 && both.is_finite() && is_level(level)) {
        return None;
    }
    let (part_one, part_two) = (one / both, two / both);
    let degrees =
        1.0 / (part_one * part_one / (first.0 - 1) as f64 + part_two * part_two / (second.0 - 1) as f64);
    let standard_error = libm::sqrt(both);
    let difference = first.1 - second.1;
    let t = difference / standard_error;
    Some(Welch {
        difference,
        standard_error,
        degrees,
        t,
        p_value: 2.0 * student_t_tail(t.abs(), degrees),
        half_width: standard_error * student_t_quantile(0.5 + 0.5 * level, degrees),
    })
}

/// What shared luck (common random numbers) saves in a comparison: the variance of the difference of values that
/// belong together, over what it would be if they were independent.
///
/// *Formula*: Var(x - y) / (Var x + Var y). Below 1 when shared luck helps; 0.05 means a twentieth of the runs.
///
/// `None` for samples of different length, of fewer than two values, with a value that is not finite, or without any
/// variance.
#[must_use]
pub fn shared_luck_ratio(first: &[f64], second: &[f64]) -> Option<f64> {
    if first.len() != second.len() {
        return None;
    }
    let differences: Vec<f64> = first.iter().zip(second).map(|(one, other)| one - other).collect();
    let independent = variance(first)? + variance(second)?;
    let ratio = variance(&differences)? / independent;
    (independent > 0.0 && ratio.is_finite()).then_some(ratio)
}
