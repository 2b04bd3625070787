//! When enough replications have been made: the half width of the interval against what is wanted.

use crate::estimate::{Estimate, student_t_quantile};

/// How precise a mean is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Precision {
    /// Half width of the interval at most this, above 0, in the unit of the mean.
    Absolute(f64),
    /// Error of the mean at most this share of the true mean, above 0 and below 1.
    Relative(f64),
}

impl Precision {
    /// The half width allowed about `mean`.
    ///
    /// *Formula*: for a relative error g, g / (1 + g) of the mean: an error of that share of the estimate is at most g
    /// of the truth.
    ///
    /// `None` for a wish out of range, or a relative one about a mean of 0.
    fn allowed(self, mean: f64) -> Option<f64> {
        let allowed = match self {
            Self::Absolute(error) => error,
            Self::Relative(share) if share > 0.0 && share < 1.0 => share / (1.0 + share) * mean.abs(),
            Self::Relative(_) => return None,
        };
        (allowed > 0.0 && allowed.is_finite()).then_some(allowed)
    }
}

/// Whether the replications made so far are enough: the sequential rule, asked after each one.
///
/// *Source*: Chow and Robbins (1965), On the Asymptotic Theory of Fixed-Width Sequential Confidence Intervals, Annals of
/// Mathematical Statistics 36, 457-462; with the relative error of Law and Kelton (1982), Confidence Intervals for
/// Steady-State Simulations II, Management Science 28, 550-562. At least 10 replications should have been made, since a
/// small variance seen by chance stops too early.
///
/// `None` when the wish is out of range or the estimate has no interval.
#[must_use]
pub fn is_precise(estimate: &Estimate, precision: Precision) -> Option<bool> {
    Some(estimate.half_width? <= precision.allowed(estimate.mean)?)
}

/// How many replications will be needed, if the mean and variance seen in the first ones hold.
///
/// *Formula*: the least i, from the number of values up, with t(i - 1, (1 + level) / 2) s / sqrt i within what is
/// allowed.
/// *Source*: Law, Simulation Modeling and Analysis, section on the precision of a mean from replications.
///
/// `None` when [`Estimate::of`] gives no interval, the wish is out of range, or more than 1e15 would be needed.
#[must_use]
pub fn replications_needed(values: &[f64], level: f64, precision: Precision) -> Option<u64> {
    const MOST: u64 = 1_000_000_000_000_000;
    let estimate = Estimate::of(values, level)?;
    let allowed = precision.allowed(estimate.mean)?;
    let deviation = estimate.standard_deviation()?;
    let enough = |n: u64| {
        student_t_quantile(0.5 + 0.5 * level, (n - 1) as f64) * deviation / libm::sqrt(n as f64) <= allowed
    };
    let mut low = values.len() as u64;
    if enough(low) {
        return Some(low);
    }
    // The half width falls with n: double until it is enough, then halve the gap.
    let mut high = low;
    while !enough(high) {
        if high > MOST {
            return None;
        }
        low = high;
        high *= 2;
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}
