//! A law of one of the fitted families as a point of two coordinates in which the likelihood is nearly quadratic.
//!
//! | family | first | second |
//! | --- | --- | --- |
//! | exponential | unused | ln mean |
//! | Weibull | ln shape | ln scale |
//! | lognormal | ln sigma | mu |
//! | gamma | ln shape | ln scale |

use crate::distribution::Distribution;
use crate::distribution::normal::normal_cdf;
use crate::fit::Family;
use crate::special::{incomplete_gamma, log_normal_tail};

/// The coordinates of a law.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LawPoint {
    /// First: of the shape.
    pub first: f64,
    /// Second: of the scale.
    pub second: f64,
}

impl LawPoint {
    /// The coordinates of a distribution; `None` of another family.
    #[must_use]
    pub fn of(distribution: &Distribution) -> Option<Self> {
        let (first, second) = match *distribution {
            Distribution::Exponential { mean } => (0.0, libm::log(mean)),
            Distribution::Weibull { shape, scale } | Distribution::Gamma { shape, scale } => {
                (libm::log(shape), libm::log(scale))
            }
            Distribution::Lognormal { median, sigma } => (libm::log(sigma), libm::log(median)),
            _ => return None,
        };
        Some(Self { first, second })
    }
}

/// What is held fast on the way along a profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// Shape or sigma.
    First,
    /// Scale or median.
    Second,
    /// Mean.
    Mean,
}

/// A law that can be calculated with.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Law {
    Exponential { scale: f64 },
    Weibull { shape: f64, scale: f64, log_scale: f64 },
    Lognormal { mu: f64, sigma: f64, log_sigma: f64 },
    Gamma { shape: f64, scale: f64, log_scale: f64, log_gamma: f64 },
}

/// Natural logarithms of the shapes and sigmas that can be calculated with.
fn shapes(family: Family) -> (f64, f64) {
    match family {
        Family::Exponential => (f64::NEG_INFINITY, f64::INFINITY),
        Family::Weibull => (-2.995_732_273_553_991, 6.907_755_278_982_137), // 0.05 to 1000
        Family::Lognormal => (-20.0, core::f64::consts::LN_10),             // to 10
        Family::Gamma => (-4.605_170_185_988_091, 13.815_510_557_964_274),  // 0.01 to 1e6
    }
}

impl Law {
    /// The law at a point; `None` where the family cannot be calculated with.
    pub(crate) fn at(family: Family, point: LawPoint) -> Option<Self> {
        let LawPoint { first, second } = point;
        let (least, most) = shapes(family);
        if !(first >= least && first <= most && second.abs() < 600.0) {
            return None;
        }
        let (one, scale) = (libm::exp(first), libm::exp(second));
        Some(match family {
            Family::Exponential => Self::Exponential { scale },
            Family::Weibull => Self::Weibull { shape: one, scale, log_scale: second },
            Family::Lognormal => Self::Lognormal { mu: second, sigma: one, log_sigma: first },
            Family::Gamma => {
                Self::Gamma { shape: one, scale, log_scale: second, log_gamma: libm::lgamma(one) }
            }
        })
    }

    pub(crate) fn distribution(&self) -> Distribution {
        match *self {
            Self::Exponential { scale } => Distribution::Exponential { mean: scale },
            Self::Weibull { shape, scale, .. } => Distribution::Weibull { shape, scale },
            Self::Lognormal { mu, sigma, .. } => Distribution::Lognormal { median: libm::exp(mu), sigma },
            Self::Gamma { shape, scale, .. } => Distribution::Gamma { shape, scale },
        }
    }

    /// The second coordinate at which the law with that first one has a mean of e to the power `log_mean`.
    pub(crate) fn second_of_mean(family: Family, first: f64, log_mean: f64) -> f64 {
        let one = libm::exp(first);
        match family {
            Family::Exponential => log_mean,
            Family::Weibull => log_mean - libm::lgamma(1.0 + 1.0 / one),
            Family::Lognormal => log_mean - 0.5 * one * one,
            Family::Gamma => log_mean - first,
        }
    }

    /// ln of the mean.
    pub(crate) fn log_mean(family: Family, point: LawPoint) -> f64 {
        2.0 * point.second - Self::second_of_mean(family, point.first, point.second)
    }

    /// ln of the density at `x` > 0.
    pub(crate) fn log_density(&self, x: f64) -> f64 {
        match *self {
            Self::Exponential { scale } => -libm::log(scale) - x / scale,
            Self::Weibull { shape, log_scale, .. } => {
                let log = libm::log(x) - log_scale;
                libm::log(shape) - log_scale + (shape - 1.0) * log - libm::exp(shape * log)
            }
            Self::Lognormal { mu, sigma, log_sigma } => {
                let log = libm::log(x);
                let z = (log - mu) / sigma;
                -0.918_938_533_204_672_7 - log_sigma - log - 0.5 * z * z
            }
            Self::Gamma { shape, scale, log_scale, log_gamma } => {
                (shape - 1.0) * (libm::log(x) - log_scale) - x / scale - log_scale - log_gamma
            }
        }
    }

    /// ln of the probability that a time is longer than `x` >= 0.
    pub(crate) fn log_survival(&self, x: f64) -> f64 {
        if x <= 0.0 {
            return 0.0;
        }
        match *self {
            Self::Exponential { scale } => -x / scale,
            Self::Weibull { shape, log_scale, .. } => -libm::exp(shape * (libm::log(x) - log_scale)),
            Self::Lognormal { mu, sigma, .. } => log_normal_tail((libm::log(x) - mu) / sigma),
            Self::Gamma { .. } => {
                let (below, above) = self.tails(x);
                if above > 1e-290 {
                    return if below < 0.5 { libm::log1p(-below) } else { libm::log(above) };
                }
                // Far out the density is nearly the tail; their ratio moves slowly.
                self.log_density(x) + libm::log(x)
            }
        }
    }

    /// Probabilities of a time up to `x` and above it, each to its own relative accuracy.
    pub(crate) fn tails(&self, x: f64) -> (f64, f64) {
        if x <= 0.0 {
            return (0.0, 1.0);
        }
        let of_hazard = |hazard: f64| (-libm::expm1(-hazard), libm::exp(-hazard));
        match *self {
            Self::Exponential { scale } => of_hazard(x / scale),
            Self::Weibull { shape, log_scale, .. } => {
                of_hazard(libm::exp(shape * (libm::log(x) - log_scale)))
            }
            Self::Lognormal { mu, sigma, .. } => {
                let z = (libm::log(x) - mu) / sigma;
                (normal_cdf(z), normal_cdf(-z))
            }
            Self::Gamma { shape, scale, .. } => incomplete_gamma(shape, x / scale),
        }
    }

    /// The areas below the distribution function up to `x`, and below the survival function from `x` on: both as the
    /// first moment on that side less x times what is on that side.
    pub(crate) fn areas(&self, x: f64) -> (f64, f64) {
        let mean = self.distribution().mean();
        if x <= 0.0 {
            return (0.0, mean - x);
        }
        let (below, above) = self.tails(x);
        let (moment_below, moment_above) = match *self {
            Self::Exponential { scale } => {
                let tail = above * (x + scale);
                (incomplete_gamma(2.0, x / scale).0 * scale, tail)
            }
            Self::Weibull { shape, log_scale, .. } => {
                let hazard = libm::exp(shape * (libm::log(x) - log_scale));
                let (low, high) = incomplete_gamma(1.0 + 1.0 / shape, hazard);
                (mean * low, mean * high)
            }
            Self::Lognormal { mu, sigma, .. } => {
                let z = (libm::log(x) - mu - sigma * sigma) / sigma;
                (mean * normal_cdf(z), mean * normal_cdf(-z))
            }
            Self::Gamma { shape, scale, .. } => {
                let (low, high) = incomplete_gamma(shape + 1.0, x / scale);
                (mean * low, mean * high)
            }
        };
        ((x * below - moment_below).max(0.0), (moment_above - x * above).max(0.0))
    }

    /// A length over which the law changes: its standard deviation, or less where it is skew.
    pub(crate) fn width(&self) -> f64 {
        let distribution = self.distribution();
        libm::sqrt(distribution.variance()).min(distribution.mean())
    }
}
