//! Distributions fitted to times by maximum likelihood, with times that were cut off (right-censored): a stop still
//! open at the end of a shift, a machine still running when the watch ended.
//!
//! *Formula*: ln L = sum over complete times of ln f(t) + sum over cut-off times of ln S(t), f the density of t (not
//! of ln t) and S = 1 - F. AIC = 2 k - 2 ln L with k fitted parameters (Akaike 1974).

mod error;
mod exponential;
mod gamma;
mod lognormal;
mod sample;
mod weibull;

pub use error::FitError;
pub use sample::Sample;

use crate::distribution::Distribution;

/// The families that can be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Exponential, one parameter.
    Exponential,
    /// Weibull, two parameters.
    Weibull,
    /// Lognormal, two parameters.
    Lognormal,
    /// Gamma, two parameters.
    Gamma,
}

impl Family {
    /// Every family, in the order in which ties are settled: fewer parameters first.
    pub const ALL: [Self; 4] = [Self::Exponential, Self::Weibull, Self::Lognormal, Self::Gamma];

    /// Name of the family in a sentence.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Exponential => "exponential",
            Self::Weibull => "Weibull",
            Self::Lognormal => "lognormal",
            Self::Gamma => "gamma",
        }
    }

    /// Number of fitted parameters.
    #[must_use]
    pub fn parameters(self) -> u32 {
        match self {
            Self::Exponential => 1,
            Self::Weibull | Self::Lognormal | Self::Gamma => 2,
        }
    }
}

/// A fitted distribution and how well it fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Its family.
    pub family: Family,
    /// The distribution, in the unit of the times.
    pub distribution: Distribution,
    /// Natural logarithm of the likelihood at its maximum.
    pub log_likelihood: f64,
}

impl Fit {
    /// Fits `family` to `sample`.
    ///
    /// ```
    /// use linewake_stats::fit::{Family, Fit, Sample};
    /// let sample = Sample::new(&[2.0, 4.0], &[6.0]).unwrap();
    /// let fit = Fit::of(Family::Exponential, &sample).unwrap();
    /// assert!((fit.distribution.mean() - 6.0).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    /// When the likelihood has no maximum (all complete times equal and none cut off later), or when it lies where
    /// the family cannot be calculated with.
    pub fn of(family: Family, sample: &Sample) -> Result<Self, FitError> {
        let (distribution, log_likelihood) = match family {
            Family::Exponential => exponential::fit(sample),
            Family::Weibull => weibull::fit(sample)?,
            Family::Lognormal => lognormal::fit(sample)?,
            Family::Gamma => gamma::fit(sample)?,
        };
        if !log_likelihood.is_finite() || !distribution.mean().is_finite() {
            return Err(FitError::OutOfReach { family });
        }
        Ok(Self { family, distribution, log_likelihood })
    }

    /// Akaike's information criterion: of fits to one sample the one with the lowest describes it best for the number
    /// of its parameters.
    #[must_use]
    pub fn aic(&self) -> f64 {
        2.0 * (f64::from(self.family.parameters()) - self.log_likelihood)
    }
}

/// All families that can be fitted to `sample`, the lowest [`Fit::aic`] first; empty when none can.
#[must_use]
pub fn all(sample: &Sample) -> Vec<Fit> {
    let mut fits: Vec<Fit> =
        Family::ALL.into_iter().filter_map(|family| Fit::of(family, sample).ok()).collect();
    fits.sort_by(|one, other| one.aic().total_cmp(&other.aic()));
    fits
}

/// ln L of `distribution` on `sample`, whether it was fitted or given; `None` for a family that is not among
/// [`Family::ALL`]. Minus infinity where the sample cannot occur.
#[must_use]
pub fn log_likelihood(distribution: &Distribution, sample: &Sample) -> Option<f64> {
    match *distribution {
        Distribution::Exponential { mean } => Some(exponential::log_likelihood(mean, sample)),
        Distribution::Weibull { shape, scale } => Some(weibull::log_likelihood(shape, scale, sample)),
        Distribution::Lognormal { median, sigma } => {
            Some(lognormal::log_likelihood(libm::log(median), sigma, sample))
        }
        Distribution::Gamma { shape, scale } => Some(gamma::log_likelihood(shape, scale, sample)),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
