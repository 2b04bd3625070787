//! Means and chances of what a model draws: a count rounded up, a whole stop.

use linewake_stats::distribution::Distribution;

/// Mean of a drawn count, which is rounded up to at least 1.
///
/// *Formula*: E max(1, ceil X) = 1 + the sum over k = 1, 2, ... of P(X > k). Where X spreads over more than 5,000
/// counts it is the mean plus 1/2, to less than 1 part in 10,000 of a count.
pub(super) fn mean_count(between: &Distribution) -> f64 {
    const WIDEST_SUM: f64 = 5_000.0;
    const TAIL: f64 = 1e-13;
    match between {
        Distribution::Constant { value } => return value.ceil().max(1.0),
        Distribution::Empirical { values } => {
            return values.iter().map(|value| value.ceil().max(1.0)).sum::<f64>()
                / values.len().max(1) as f64;
        }
        Distribution::Geometric { step, .. } if step.fract() <= 0.0 => return between.mean(),
        _ => {}
    }
    let first = between.quantile(TAIL).floor().max(1.0);
    let last = between.quantile(1.0 - TAIL).ceil();
    if last - first > WIDEST_SUM || !last.is_finite() {
        return between.mean() + 0.5;
    }
    let (mut sum, mut k) = (first, first);
    while k <= last {
        sum += 1.0 - between.cdf(k);
        k += 1.0;
    }
    sum
}

/// A stop from its first second to its last: waiting for an operator who is never short, and the repair.
#[derive(Clone, Copy, Debug)]
pub(super) struct WholeStop<'a> {
    /// Response time in seconds; `None` when nobody needs to come.
    pub(super) response_s: Option<&'a Distribution>,
    /// Repair in seconds.
    pub(super) duration_s: &'a Distribution,
}

impl WholeStop<'_> {
    /// Mean length in seconds.
    pub(super) fn mean_s(&self) -> f64 {
        self.duration_s.mean() + self.response_s.map_or(0.0, Distribution::mean)
    }

    /// Mean length in seconds of the stop that a random second of stopped time belongs to: E W^2 / E W.
    pub(super) fn mean_length_met_s(&self) -> f64 {
        let mean = self.mean_s();
        let variance = self.duration_s.variance() + self.response_s.map_or(0.0, Distribution::variance);
        if mean > 0.0 { mean + variance / mean } else { 0.0 }
    }

    /// Probability that response and repair together exceed a limit in seconds.
    ///
    /// *Formula*: the mean over the response time r of P(repair > limit - r), taken at the middles of 2,000 slices of
    /// equal probability; exact when either is constant.
    pub(super) fn exceeds(&self, limit_s: f64) -> f64 {
        const SLICES: u32 = 2_000;
        let longer = |limit: f64| 1.0 - self.duration_s.cdf(limit);
        match self.response_s {
            None => longer(limit_s),
            Some(response) if response.is_constant() => longer(limit_s - response.mean()),
            Some(response) if self.duration_s.is_constant() => {
                1.0 - response.cdf(limit_s - self.duration_s.mean())
            }
            Some(response) => {
                let middle = |slice: u32| (f64::from(slice) + 0.5) / f64::from(SLICES);
                let sum: f64 =
                    (0..SLICES).map(|slice| longer(limit_s - response.quantile(middle(slice)))).sum();
                sum / f64::from(SLICES)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_rounded_up_to_at_least_one() {
        let near = |between: Distribution, expected: f64| {
            let mean = mean_count(&between);
            assert!((mean - expected).abs() < 1e-6 * expected, "{between:?}: {mean}, expected {expected}");
        };
        near(Distribution::Constant { value: 1999.2 }, 2000.0);
        near(Distribution::Constant { value: 0.0 }, 1.0);
        near(Distribution::Geometric { mean: 350.0, step: 1.0 }, 350.0);
        // Uniform on (0, 10): the count is 1 to 10, each as likely.
        near(Distribution::Uniform { min: 0.0, max: 10.0 }, 5.5);
        // An exponential rounded up is geometric with success 1 - exp(-1 / mean).
        near(Distribution::Exponential { mean: 40.0 }, 1.0 / (1.0 - (-1.0_f64 / 40.0).exp()));
        near(Distribution::Exponential { mean: 40_000.0 }, 1.0 / (1.0 - (-1.0_f64 / 40_000.0).exp()));
        // Nearly constant, a little above a whole number.
        near(Distribution::Uniform { min: 1999.3, max: 1999.9 }, 2000.0);
    }

    #[test]
    fn a_whole_stop_is_response_and_repair() {
        let response = Distribution::Uniform { min: 5.0, max: 25.0 };
        let duration = Distribution::Uniform { min: 90.0, max: 150.0 };
        let stop = WholeStop { response_s: Some(&response), duration_s: &duration };
        assert!((stop.mean_s() - 135.0).abs() < 1e-9);
        // The repair must exceed 120 - r, with r from 5 to 25: (150 - 105) / 60 on average.
        assert!((stop.exceeds(120.0) - 0.75).abs() < 1e-9);
        // Variances 20^2 / 12 and 60^2 / 12.
        assert!((stop.mean_length_met_s() - (135.0 + (400.0 + 3600.0) / 12.0 / 135.0)).abs() < 1e-9);
        let alone = WholeStop { response_s: None, duration_s: &duration };
        assert!((alone.exceeds(120.0) - 0.5).abs() < 1e-12);
    }
}
