//! Means from independent replications, with their standard errors.

use linewake_stats::estimate::{mean, student_t_quantile, sum, variance};

/// A simulated value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Measured {
    pub mean: f64,
    /// Standard error of the mean; 0 where the run has no chance in it.
    pub standard_error: f64,
    /// Independent replications.
    pub n: usize,
}

impl Measured {
    /// Mean of one value a replication.
    pub(crate) fn mean_of(values: &[f64]) -> Self {
        let n = values.len();
        let spread = variance(values).unwrap_or(0.0);
        Self {
            mean: mean(values).expect("at least one replication"),
            standard_error: (spread / n as f64).sqrt(),
            n,
        }
    }

    /// Sum of numerators over sum of denominators.
    ///
    /// *Source*: Cochran (1977), Sampling Techniques, 3rd edition, section 6.4 (from memory): the standard error is that
    /// of the mean of y - R x, over the mean of x.
    pub(crate) fn ratio_of(numerators: &[f64], denominators: &[f64]) -> Self {
        let total = sum(denominators);
        let ratio = sum(numerators) / total;
        let rests: Vec<f64> = numerators.iter().zip(denominators).map(|(y, x)| y - ratio * x).collect();
        let rest = Self::mean_of(&rests);
        let n = denominators.len();
        Self { mean: ratio, standard_error: rest.standard_error / (total / n as f64), n }
    }

    /// A share of so many independent trials.
    pub(crate) fn share(hits: u64, trials: u64) -> Self {
        let share = hits as f64 / trials as f64;
        let standard_error = (share * (1.0 - share) / trials as f64).sqrt();
        Self { mean: share, standard_error, n: trials as usize }
    }

    /// Half the width of the 95 % interval (Student's t); `None` where there is no chance.
    pub(crate) fn half_width(&self) -> Option<f64> {
        let degrees = (self.n - 1) as f64;
        (self.n > 1).then(|| student_t_quantile(0.975, degrees) * self.standard_error)
    }
}

/// Limit of Var N(t) / t from the counts of batches: within each replication the variance of its batches over their
/// length; the replications give the standard error.
///
/// Var N(t) / t differs from its limit by a constant over t (Cox and Miller 1965, from memory), so batches must be long
/// beside the memory of the line: with batches of 100 units instead of 500, A11 lies 3 % too high.
pub(crate) fn variance_rate(replications: &[Vec<u64>], batch_units: f64) -> Measured {
    let rates: Vec<f64> = replications
        .iter()
        .map(|batches| {
            let counts: Vec<f64> = batches.iter().map(|count| *count as f64).collect();
            variance(&counts).expect("several batches") / batch_units
        })
        .collect();
    Measured::mean_of(&rates)
}

#[test]
fn a_ratio_worked_by_hand() {
    // y = 1, 3; x = 1, 2: R = 4/3, rests -1/3 and 1/3, variance 2/9; error sqrt(2/9/2) / 1.5.
    let ratio = Measured::ratio_of(&[1.0, 3.0], &[1.0, 2.0]);
    assert!((ratio.mean - 4.0 / 3.0).abs() < 1e-12);
    assert!((ratio.standard_error - 1.0 / 3.0 / 1.5).abs() < 1e-12);
}

#[test]
fn a_variance_rate_worked_by_hand() {
    // Variances 2 and 8 over batches of 4 units: rates 0.5 and 2; mean 1.25, error 1.5 / 2.
    let rate = variance_rate(&[vec![1, 3], vec![5, 9]], 4.0);
    assert!((rate.mean - 1.25).abs() < 1e-12);
    assert!((rate.standard_error - 0.75).abs() < 1e-12);
}
