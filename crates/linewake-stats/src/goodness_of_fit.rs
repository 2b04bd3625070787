//! Whether a sample can come from a family: how far its empirical distribution function lies from the fitted one.
//!
//! Parameters fitted to the sample itself bring the two closer, so each family has its own modified statistic and
//! its own table. There is no table for gamma or for samples with cut-off times.
//!
//! *Source*: Stephens (1974), EDF Statistics for Goodness of Fit and Some Comparisons, Journal of the American
//! Statistical Association 69, 730-737; D'Agostino and Stephens (1986), Goodness-of-Fit Techniques, chapter 4.

use crate::distribution::Distribution;
use crate::estimate::{mean, variance};
use crate::fit::{Family, Fit, Sample};
use crate::special::log_normal_tail;

/// The probabilities of the tables: that a sample of the family itself gives a larger modified statistic.
pub const LEVELS: [f64; 4] = [0.1, 0.05, 0.025, 0.01];

/// What is compared with the sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tested {
    /// A distribution known beforehand, no parameter fitted.
    Known,
    /// Normal with fitted mean and standard deviation; of the logarithms, if the sample was tested for lognormal.
    Normal,
    /// Gumbel with fitted parameters: minus the logarithms of Weibull times.
    Gumbel,
    /// Exponential with fitted mean.
    Exponential,
}

impl Tested {
    /// Critical values of the modified Anderson-Darling statistic at [`LEVELS`]; `None` where no table is kept.
    ///
    /// *Source*: normal and Gumbel as in D'Agostino and Stephens (1986); exponential as in Stephens (1974), which the
    /// newer table gives a little lower ([`EXPONENTIAL_1986`]).
    #[must_use]
    pub fn anderson_darling_table(self) -> Option<[f64; 4]> {
        match self {
            Self::Known => None,
            Self::Normal => Some([0.631, 0.752, 0.873, 1.035]),
            Self::Gumbel => Some([0.637, 0.757, 0.877, 1.038]),
            Self::Exponential => Some([1.078, 1.341, 1.606, 1.957]),
        }
    }

    /// Critical values of the modified Kolmogorov-Smirnov statistic at [`LEVELS`]; `None` where no table is kept.
    ///
    /// *Source*: Stephens (1974), from memory.
    #[must_use]
    pub fn kolmogorov_smirnov_table(self) -> Option<[f64; 4]> {
        match self {
            Self::Known => Some([1.224, 1.358, 1.48, 1.628]),
            Self::Normal => Some([0.819, 0.895, 0.955, 1.035]),
            Self::Gumbel => None,
            Self::Exponential => Some([0.99, 1.094, 1.19, 1.308]),
        }
    }
}

/// Critical values of the modified Anderson-Darling statistic of an exponential at [`LEVELS`], in the newer table: in
/// simulated samples both tables keep their levels to about a tenth of the level.
pub const EXPONENTIAL_1986: [f64; 4] = [1.062, 1.321, 1.591, 1.959];

/// Distances of a sample from a distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distance {
    /// What was tested.
    pub tested: Tested,
    /// Kolmogorov-Smirnov: the largest difference of the two distribution functions.
    pub kolmogorov_smirnov: f64,
    /// It, modified for its table; `None` where no table is kept.
    pub kolmogorov_smirnov_modified: Option<f64>,
    /// Anderson-Darling: the squared difference, weighted towards the tails.
    pub anderson_darling: f64,
    /// It, modified for its table; `None` where no table is kept.
    pub anderson_darling_modified: Option<f64>,
}

impl Distance {
    /// The least of [`LEVELS`] at which the modified Anderson-Darling statistic turns the family down; `None` when
    /// none does or no table is kept.
    #[must_use]
    pub fn turned_down_at(&self) -> Option<f64> {
        let statistic = self.anderson_darling_modified?;
        let table = self.tested.anderson_darling_table()?;
        LEVELS
            .iter()
            .zip(table)
            .filter(|(_, critical)| statistic > *critical)
            .map(|(level, _)| *level)
            .next_back()
    }
}

/// The distance from a continuous distribution known beforehand.
///
/// `None` for no values, a value that is not a number, or a constant, empirical or geometric distribution.
#[must_use]
pub fn from_known(values: &[f64], distribution: &Distribution) -> Option<Distance> {
    if matches!(
        distribution,
        Distribution::Constant { .. } | Distribution::Empirical { .. } | Distribution::Geometric { .. }
    ) {
        return None;
    }
    distance(Tested::Known, values, |value| {
        let below = distribution.cdf(value);
        (libm::log(below), libm::log1p(-below))
    })
}

/// The distance from the normal distribution of the sample's mean and standard deviation (divisor n - 1).
///
/// `None` for fewer than two values, a value that is not finite, or values that are all equal.
#[must_use]
pub fn from_normal(values: &[f64]) -> Option<Distance> {
    let mean = mean(values)?;
    let deviation = libm::sqrt(variance(values)?);
    if !(deviation > 0.0 && deviation.is_finite()) {
        return None;
    }
    distance(Tested::Normal, values, |value| {
        let z = (value - mean) / deviation;
        (log_normal_tail(-z), log_normal_tail(z))
    })
}

/// The distance from the exponential distribution of the sample's mean.
///
/// `None` for no values, or one that is not finite and above 0.
#[must_use]
pub fn from_exponential(times: &[f64]) -> Option<Distance> {
    let sample = Sample::new(times, &[]).ok()?;
    let mean = Fit::of(Family::Exponential, &sample).ok()?.distribution.mean();
    distance(Tested::Exponential, times, |time| exponential_tails(time / mean))
}

/// The distance from the Weibull distribution that fits the times best, by the Gumbel table.
///
/// `None` for a sample that gives no fit ([`crate::fit::FitError`]).
#[must_use]
pub fn from_weibull(times: &[f64]) -> Option<Distance> {
    let sample = Sample::new(times, &[]).ok()?;
    let Distribution::Weibull { shape, scale } = Fit::of(Family::Weibull, &sample).ok()?.distribution else {
        return None;
    };
    distance(Tested::Gumbel, times, |time| exponential_tails(libm::pow(time / scale, shape)))
}

/// The distance of times from a lognormal distribution: [`from_normal`] of their logarithms.
///
/// `None` as there, and for a time that is not above 0.
#[must_use]
pub fn from_lognormal(times: &[f64]) -> Option<Distance> {
    let logs: Vec<f64> = times.iter().map(|time| libm::log(*time)).collect();
    from_normal(&logs)
}

fn exponential_tails(x: f64) -> (f64, f64) {
    (libm::log(-libm::expm1(-x)), -x)
}

/// `tails` gives the logarithms of the probabilities to lie below and above a value.
///
/// *Formula*: D = max over i of (i / n - F(x_i), F(x_i) - (i - 1) / n); A^2 = -n - sum of (2 i - 1)
/// (ln F(x_i) + ln(1 - F(x_(n + 1 - i)))) / n.
fn distance(tested: Tested, values: &[f64], tails: impl Fn(f64) -> (f64, f64)) -> Option<Distance> {
    if values.is_empty() || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let logs: Vec<(f64, f64)> = sorted.iter().map(|value| tails(*value)).collect();
    let n = sorted.len() as f64;
    let (mut apart, mut weighted) = (0.0_f64, 0.0);
    for (index, &(below, _)) in logs.iter().enumerate() {
        let place = index as f64;
        let share = libm::exp(below);
        apart = apart.max((place + 1.0) / n - share).max(share - place / n);
        weighted += (2.0 * place + 1.0) * (below + logs[logs.len() - 1 - index].1);
    }
    let squared = -n - weighted / n;
    if squared.is_nan() {
        return None;
    }
    let root = libm::sqrt(n);
    let (kolmogorov_smirnov_modified, anderson_darling_modified) = match tested {
        Tested::Known => (Some((root + 0.12 + 0.11 / root) * apart), None),
        Tested::Normal => {
            (Some((root - 0.01 + 0.85 / root) * apart), Some(squared * (1.0 + 0.75 / n + 2.25 / (n * n))))
        }
        Tested::Gumbel => (None, Some(squared * (1.0 + 0.2 / root))),
        Tested::Exponential => {
            (Some((apart - 0.2 / n) * (root + 0.26 + 0.5 / root)), Some(squared * (1.0 + 0.6 / n)))
        }
    };
    Some(Distance {
        tested,
        kolmogorov_smirnov: apart,
        kolmogorov_smirnov_modified,
        anderson_darling: squared,
        anderson_darling_modified,
    })
}

#[cfg(test)]
mod tests;
