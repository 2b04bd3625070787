//! Sums, means and intervals from samples, the same bits whatever the number of threads: values are taken in the
//! order in which they are given.

use crate::distribution::normal_quantile;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// A mean and how sure it is, from independent values: replications, or means of long batches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Mean of the values.
    pub mean: f64,
    /// Standard error of the mean; `None` from a single value.
    pub standard_error: Option<f64>,
    /// Half the width of the confidence interval of the mean; `None` from a single value.
    pub half_width: Option<f64>,
    /// Confidence level of the interval, between 0 and 1.
    pub level: f64,
    /// Number of values.
    pub n: usize,
}

impl Estimate {
    /// The mean of `values` with its confidence interval at `level` (for example 0.95).
    ///
    /// *Formula*: mean +- t(n - 1, (1 + level) / 2) s / sqrt n, with s^2 of [`variance`] and t of
    /// [`student_t_quantile`]. It holds for values that are independent and about normal.
    ///
    /// `None` when there are no values, when one is not finite, or when `level` does not lie between 0 and 1.
    ///
    /// ```
    /// use linewake_stats::estimate::Estimate;
    /// let estimate = Estimate::of(&[1.0, 2.0, 3.0], 0.95).unwrap();
    /// assert!((estimate.half_width.unwrap() - 4.302_653 / 3_f64.sqrt()).abs() < 1e-6);
    /// ```
    #[must_use]
    pub fn of(values: &[f64], level: f64) -> Option<Self> {
        if !(level > 0.0 && level < 1.0) || values.iter().any(|value| !value.is_finite()) {
            return None;
        }
        let mean = mean(values)?;
        let n = values.len();
        let standard_error = variance(values).map(|variance| libm::sqrt(variance / n as f64));
        let half_width =
            standard_error.map(|error| error * student_t_quantile(0.5 + 0.5 * level, (n - 1) as f64));
        Some(Self { mean, standard_error, half_width, level, n })
    }

    /// Lower end of the confidence interval of the mean.
    #[must_use]
    pub fn low(&self) -> Option<f64> {
        self.half_width.map(|half_width| self.mean - half_width)
    }

    /// Upper end of the confidence interval of the mean.
    #[must_use]
    pub fn high(&self) -> Option<f64> {
        self.half_width.map(|half_width| self.mean + half_width)
    }

    /// Standard deviation of the values themselves (divisor n - 1).
    #[must_use]
    pub fn standard_deviation(&self) -> Option<f64> {
        self.standard_error.map(|error| error * libm::sqrt(self.n as f64))
    }
}

/// Two samples that belong together value by value: two designs run with the same luck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paired {
    /// The first design.
    pub first: Estimate,
    /// The second design.
    pub second: Estimate,
    /// Second less first, from the differences value by value.
    pub difference: Estimate,
}

impl Paired {
    /// The difference of two designs from replications with the same luck, in the same order.
    ///
    /// The interval is that of the mean of the differences (paired t): shared luck makes it narrow, whereas the
    /// intervals of the two designs say nothing about it.
    ///
    /// `None` when the samples differ in length, and whenever [`Estimate::of`] gives `None`.
    #[must_use]
    pub fn of(first: &[f64], second: &[f64], level: f64) -> Option<Self> {
        if first.len() != second.len() {
            return None;
        }
        let differences: Vec<f64> = first.iter().zip(second).map(|(first, second)| second - first).collect();
        Some(Self {
            first: Estimate::of(first, level)?,
            second: Estimate::of(second, level)?,
            difference: Estimate::of(&differences, level)?,
        })
    }
}

/// The sum, with the rounding errors collected and added at the end.
///
/// *Source*: Neumaier (1974), Rundungsfehleranalyse einiger Verfahren zur Summation endlicher Summen, method IV.
#[must_use]
pub fn sum(values: &[f64]) -> f64 {
    sum_of(values.iter().copied())
}

/// The mean; `None` without values.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    if values.is_empty() { None } else { Some(sum(values) / values.len() as f64) }
}

/// The variance with divisor n - 1; `None` from less than two values, NaN if one is not finite.
///
/// *Formula*: (sum of d^2 - (sum of d)^2 / n) / (n - 1), d the deviation from the mean; the second term takes back
/// the rounding of the mean.
/// *Source*: Chan, Golub and LeVeque (1983), The American Statistician 37(3), corrected two-pass algorithm.
#[must_use]
pub fn variance(values: &[f64]) -> Option<f64> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = mean(values)?;
    let deviations = sum_of(values.iter().map(|value| value - mean));
    let squares = sum_of(values.iter().map(|value| (value - mean) * (value - mean)));
    let variance = (squares - deviations * deviations / n) / (n - 1.0);
    // Not `max`, which would make 0 of what is not a number.
    Some(if variance < 0.0 { 0.0 } else { variance })
}

fn sum_of(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut lost) = (0.0_f64, 0.0);
    for value in values {
        let next = sum + value;
        lost += if sum.abs() >= value.abs() { (sum - next) + value } else { (value - next) + sum };
        sum = next;
    }
    // An overflow has no rounding error to take back.
    if sum.is_finite() { sum + lost } else { sum }
}

/// The `p` quantile of a sample in rising order, between neighbours in proportion; `None` for an empty sample or a
/// `p` outside [0, 1].
///
/// *Formula*: with h = (n - 1) p and values x_0 .. x_(n-1): x_floor(h) + (h - floor h) (x_(floor h + 1) - x_floor(h)).
/// *Source*: Hyndman and Fan (1996), Sample Quantiles in Statistical Packages, The American Statistician 50(4),
/// definition 7.
#[must_use]
pub fn quantile_of(sorted: &[f64], p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    let last = sorted.len().checked_sub(1)?;
    let place = last as f64 * p;
    let index = (libm::floor(place) as usize).min(last);
    let below = sorted[index];
    let part = place - index as f64;
    if part <= 0.0 || index == last {
        return Some(below);
    }
    Some(below + part * (sorted[index + 1] - below))
}

/// The `p` quantile of Student's t with `degrees` degrees of freedom; NaN when `p` does not lie between 0 and 1, both
/// left out, or `degrees` is not above 0.
#[must_use]
pub fn student_t_quantile(p: f64, degrees: f64) -> f64 {
    if !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    if degrees >= MANY_DEGREES {
        return many_degrees_quantile(p, degrees);
    }
    match StudentsT::new(0.0, 1.0, degrees) {
        Ok(student) => student.inverse_cdf(p),
        Err(_) => f64::NAN,
    }
}

/// From here on the expansion about the normal is exact to rounding, while the inverse beta function loses digits.
const MANY_DEGREES: f64 = 1000.0;

/// *Source*: Abramowitz and Stegun (1964), Handbook of Mathematical Functions, 26.7.5.
fn many_degrees_quantile(p: f64, degrees: f64) -> f64 {
    let z = normal_quantile(p);
    let square = z * z;
    let terms = [
        1.0,
        (square + 1.0) / 4.0,
        ((5.0 * square + 16.0) * square + 3.0) / 96.0,
        (((3.0 * square + 19.0) * square + 17.0) * square - 15.0) / 384.0,
        ((((79.0 * square + 776.0) * square + 1482.0) * square - 1920.0) * square - 945.0) / 92_160.0,
    ];
    z * terms.iter().rev().fold(0.0, |sum, term| sum / degrees + term)
}

#[cfg(test)]
mod tests;
