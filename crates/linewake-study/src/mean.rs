//! Means over shifts with their intervals, and ranges of one shift.

use linewake_kpi::summary::{Mean, ShiftRange};
use linewake_stats::estimate::{Estimate, quantile_of, student_t_quantile, sum, variance};

/// Confidence level of all intervals.
pub(crate) const LEVEL: f64 = 0.95;

/// Fewest shifts from which a range of one shift is given: below that the 10th percentile is but the smallest value.
const FEWEST_FOR_RANGE: usize = 10;

/// The mean with its interval (Student t). Without values: 0 of 0.
pub(crate) fn mean(values: &[f64]) -> Mean {
    mean_at(values, LEVEL)
}

/// The same at another level.
pub(crate) fn mean_at(values: &[f64], level: f64) -> Mean {
    match Estimate::of(values, level) {
        Some(estimate) => Mean { mean: estimate.mean, half_width: estimate.half_width, n: estimate.n },
        None => Mean { mean: 0.0, half_width: None, n: values.len() },
    }
}

/// Sum of numerators over sum of denominators; `None` when there is nothing to divide by.
///
/// *Formula*: R = sum y / sum x; half-width t(n - 1) s_e / (sqrt n mean x), with s_e^2 the variance of e = y - R x.
/// *Source*: Cochran (1977), Sampling Techniques, 3rd edition, section 6.4: the ratio estimate and its standard error
/// (from memory). It holds for many shifts; when all x are equal it is the interval of [`mean`].
pub(crate) fn ratio(numerators: &[f64], denominators: &[f64]) -> Option<Mean> {
    ratio_at(numerators, denominators, LEVEL)
}

/// The same at another level.
pub(crate) fn ratio_at(numerators: &[f64], denominators: &[f64], level: f64) -> Option<Mean> {
    let total = sum(denominators);
    if total <= 0.0 {
        return None;
    }
    let (n, ratio) = (denominators.len(), sum(numerators) / total);
    let residuals: Vec<f64> = numerators.iter().zip(denominators).map(|(y, x)| y - ratio * x).collect();
    let half_width = variance(&residuals).map(|variance| {
        let count = n as f64;
        student_t_quantile(0.5 + 0.5 * level, count - 1.0) * (variance / count).sqrt() / (total / count)
    });
    Some(Mean { mean: ratio, half_width, n })
}

/// 10th to 90th percentile; `None` from less than ten values.
pub(crate) fn range(values: &[f64]) -> Option<ShiftRange> {
    if values.len() < FEWEST_FOR_RANGE {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(ShiftRange { p10: quantile_of(&sorted, 0.1)?, p90: quantile_of(&sorted, 0.9)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interval_of_a_mean_worked_by_hand() {
        // 1, 2, 3: s = 1, t(2, 0.975) = 4.302653 (table of Student's t).
        let mean = mean(&[1.0, 2.0, 3.0]);
        assert!((mean.mean - 2.0).abs() < 1e-12);
        assert!((mean.half_width.expect("three values") - 4.302_653 / 3_f64.sqrt()).abs() < 1e-6);
        assert_eq!(super::mean(&[5.0]).half_width, None);
    }

    #[test]
    fn ratio_of_equal_denominators_is_the_mean() {
        let (values, halves) = ([1.0, 2.0, 4.0, 7.0], [2.0; 4]);
        let (one, other) = (ratio(&values, &halves).expect("a ratio"), mean(&values));
        assert!((one.mean - other.mean / 2.0).abs() < 1e-12);
        let widths = one.half_width.zip(other.half_width).expect("four values");
        assert!((widths.0 - widths.1 / 2.0).abs() < 1e-12);
        assert_eq!(ratio(&[1.0], &[0.0]), None);
    }

    #[test]
    fn ratio_worked_by_hand() {
        // y = 1, 3; x = 1, 2: R = 4/3, residuals -1/3 and 1/3, variance 2/9; half-width t(1) sqrt(2/9/2) / 1.5 with
        // t(1, 0.975) = 12.7062 (table of Student's t).
        let ratio = ratio(&[1.0, 3.0], &[1.0, 2.0]).expect("a ratio");
        assert!((ratio.mean - 4.0 / 3.0).abs() < 1e-12);
        assert!((ratio.half_width.expect("two values") - 12.7062 / 3.0 / 1.5).abs() < 1e-4);
    }

    #[test]
    fn a_range_needs_ten_shifts() {
        let ten: Vec<f64> = (0..10).map(f64::from).rev().collect();
        assert_eq!(range(&ten[..9]), None);
        let range = range(&ten).expect("ten values");
        assert!((range.p10 - 0.9).abs() < 1e-12 && (range.p90 - 8.1).abs() < 1e-12);
    }
}
