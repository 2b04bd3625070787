//! Several tests at once: what is left of each when all are judged together.

/// The p-values corrected so that the chance of even one false finding among all is kept.
///
/// *Formula*: with the p-values in rising order, the k-th of m (from 0) becomes the largest of (m - j) p_j over j <= k, at
/// most 1.
/// *Source*: Holm (1979), A Simple Sequentially Rejective Multiple Test Procedure, Scandinavian Journal of Statistics 6,
/// 65-70.
///
/// In the order given; NaN stays NaN and comes last.
///
/// ```
/// let corrected = linewake_stats::multiple::holm(&[0.01, 0.04, 0.03]);
/// assert!((corrected[0] - 0.03).abs() < 1e-12 && (corrected[1] - 0.06).abs() < 1e-12);
/// assert!((corrected[2] - 0.06).abs() < 1e-12);
/// ```
#[must_use]
pub fn holm(p_values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|&one, &other| p_values[one].total_cmp(&p_values[other]));
    let mut corrected = p_values.to_vec();
    let mut largest = 0.0_f64;
    for (rank, &place) in order.iter().enumerate() {
        if p_values[place].is_nan() {
            continue;
        }
        largest = largest.max((p_values.len() - rank) as f64 * p_values[place]).min(1.0);
        corrected[place] = largest;
    }
    corrected
}

/// The level of each of `count` intervals that hold all at once with `level`.
///
/// *Formula*: 1 - (1 - level) / count.
/// *Source*: Bonferroni's inequality; Dunn (1961), Multiple Comparisons among Means, Journal of the American Statistical
/// Association 56, 52-64.
#[must_use]
pub fn simultaneous_level(level: f64, count: usize) -> f64 {
    1.0 - (1.0 - level) / count.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corrected_values_never_fall_and_stop_at_one() {
        let corrected = holm(&[0.5, 0.001, 0.5, 0.02]);
        for (value, expected) in corrected.iter().zip([1.0, 0.004, 1.0, 0.06]) {
            assert!((value - expected).abs() < 1e-12, "{corrected:?}");
        }
        assert!(holm(&[f64::NAN, 0.01])[0].is_nan());
        assert!(holm(&[]).is_empty());
    }

    #[test]
    fn the_level_of_one_of_several() {
        assert!((simultaneous_level(0.95, 5) - 0.99).abs() < 1e-12);
        assert!((simultaneous_level(0.95, 1) - 0.95).abs() < 1e-12);
    }
}
