//! Distributions of times, counts and other quantities: one closed set, one file a family.
//!
//! A [`Distribution`] is a value without a unit: what goes in (seconds, counts, grams) comes out. Make one with the
//! constructors of [`given`], which check the parameters; a value put together by hand can be checked with
//! [`given::check`]. With parameters that the check refuses, figures may be NaN, but nothing panics.
//!
//! Samples are drawn by inverse transform, one uniform number a variate and rising with it, so that designs that
//! share a stream share their luck. They use software mathematics (the same bits on every machine), except gamma.

pub mod given;
pub mod normal;

mod empirical;
mod exponential;
mod gamma;
mod geometric;
mod lognormal;
mod triangular;
mod truncated_normal;
mod uniform;
mod weibull;

pub use normal::normal_quantile;

use crate::stream::Stream;

/// A distribution with named parameters; which values they may have is told in [`given`].
#[derive(Clone, Debug, PartialEq)]
pub enum Distribution {
    /// Always the same value; draws nothing.
    Constant {
        /// The value.
        value: f64,
    },
    /// Exponential: what lies ahead does not depend on what has passed.
    Exponential {
        /// Mean, above 0.
        mean: f64,
    },
    /// Uniform: every value between two ends is as likely as any other.
    Uniform {
        /// Lower end.
        min: f64,
        /// Upper end, above `min`.
        max: f64,
    },
    /// Triangular: a most likely value between two ends.
    Triangular {
        /// Lower end.
        min: f64,
        /// Most likely value, from `min` to `max`.
        mode: f64,
        /// Upper end, above `min`.
        max: f64,
    },
    /// A normal distribution (the parent) of which only the part between two ends occurs.
    TruncatedNormal {
        /// Mean of the parent: not that of this distribution, unless the ends lie evenly about it.
        mean: f64,
        /// Standard deviation of the parent, above 0.
        sd: f64,
        /// Lower end; may be minus infinity.
        min: f64,
        /// Upper end, above `min`; may be infinity.
        max: f64,
    },
    /// Lognormal: the logarithm is normal.
    Lognormal {
        /// Median, above 0.
        median: f64,
        /// Standard deviation of the natural logarithm, above 0.
        sigma: f64,
    },
    /// Weibull: wear-out with a shape above 1, early failures with one below 1.
    Weibull {
        /// Shape, above 0, a bare number.
        shape: f64,
        /// Scale (the 63.2 % point), above 0.
        scale: f64,
    },
    /// Gamma: with a whole shape the sum of so many exponentials (Erlang).
    Gamma {
        /// Shape, above 0, a bare number.
        shape: f64,
        /// Scale, above 0; the mean is shape times scale.
        scale: f64,
    },
    /// One of a sample of observed values, each as likely as any other.
    Empirical {
        /// The values in rising order, at least one.
        values: Vec<f64>,
    },
    /// Geometric: the number of trials up to the first that hits (1, 2, 3, ...), times a step.
    Geometric {
        /// Mean number of steps, at least 1.
        mean: f64,
        /// Length of a step, above 0; 1 for a count. The mean of the distribution is `mean` times `step`.
        step: f64,
    },
}

impl Distribution {
    /// The mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        match *self {
            Self::Constant { value } => value,
            Self::Exponential { mean } => mean,
            Self::Uniform { min, max } => uniform::mean(min, max),
            Self::Triangular { min, mode, max } => triangular::mean(min, mode, max),
            Self::TruncatedNormal { mean, sd, min, max } => truncated_normal::mean(mean, sd, min, max),
            Self::Lognormal { median, sigma } => lognormal::mean(median, sigma),
            Self::Weibull { shape, scale } => weibull::mean(shape, scale),
            Self::Gamma { shape, scale } => shape * scale,
            Self::Empirical { ref values } => empirical::mean(values),
            Self::Geometric { mean, step } => mean * step,
        }
    }

    /// The variance: the square of the standard deviation.
    #[must_use]
    pub fn variance(&self) -> f64 {
        match *self {
            Self::Constant { .. } => 0.0,
            Self::Exponential { mean } => mean * mean,
            Self::Uniform { min, max } => uniform::variance(min, max),
            Self::Triangular { min, mode, max } => triangular::variance(min, mode, max),
            Self::TruncatedNormal { mean, sd, min, max } => truncated_normal::variance(mean, sd, min, max),
            Self::Lognormal { median, sigma } => lognormal::variance(median, sigma),
            Self::Weibull { shape, scale } => weibull::variance(shape, scale),
            Self::Gamma { shape, scale } => shape * scale * scale,
            Self::Empirical { ref values } => empirical::variance(values),
            Self::Geometric { mean, step } => geometric::variance(mean, step),
        }
    }

    /// The probability that a value is at most `x`; NaN for NaN.
    #[must_use]
    pub fn cdf(&self, x: f64) -> f64 {
        if x.is_nan() {
            return f64::NAN;
        }
        if x < self.smallest() {
            return 0.0;
        }
        if x >= self.largest() {
            return 1.0;
        }
        match *self {
            Self::Constant { value } => f64::from(x >= value),
            Self::Exponential { mean } => exponential::cdf(mean, x),
            Self::Uniform { min, max } => uniform::cdf(min, max, x),
            Self::Triangular { min, mode, max } => triangular::cdf(min, mode, max, x),
            Self::TruncatedNormal { mean, sd, min, max } => truncated_normal::cdf(mean, sd, min, max, x),
            Self::Lognormal { median, sigma } => lognormal::cdf(median, sigma, x),
            Self::Weibull { shape, scale } => weibull::cdf(shape, scale, x),
            Self::Gamma { shape, scale } => gamma::cdf(shape, scale, x),
            Self::Empirical { ref values } => empirical::cdf(values, x),
            Self::Geometric { mean, step } => geometric::cdf(mean, step, x),
        }
    }

    /// The smallest value that is not exceeded with probability `p` or more; NaN when `p` lies outside [0, 1].
    ///
    /// At 0 it is [`Self::smallest`], at 1 [`Self::largest`].
    #[doc(alias = "inverse_cdf")]
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        if !(0.0..=1.0).contains(&p) {
            return f64::NAN;
        }
        if p <= 0.0 {
            return self.smallest();
        }
        if p >= 1.0 {
            return self.largest();
        }
        match *self {
            Self::Constant { value } => value,
            Self::Exponential { mean } => exponential::quantile(mean, p),
            Self::Uniform { min, max } => uniform::quantile(min, max, p),
            Self::Triangular { min, mode, max } => triangular::quantile(min, mode, max, p),
            Self::TruncatedNormal { mean, sd, min, max } => truncated_normal::quantile(mean, sd, min, max, p),
            Self::Lognormal { median, sigma } => lognormal::quantile(median, sigma, p),
            Self::Weibull { shape, scale } => weibull::quantile(shape, scale, p),
            Self::Gamma { shape, scale } => gamma::quantile(shape, scale, p),
            Self::Empirical { ref values } => empirical::quantile(values, p),
            Self::Geometric { mean, step } => geometric::quantile(mean, step, p),
        }
    }

    /// Draws one value: a constant draws nothing, gamma a few uniform numbers, any other exactly one.
    #[inline]
    pub fn sample(&self, stream: &mut Stream) -> f64 {
        match *self {
            Self::Constant { value } => value,
            Self::Exponential { mean } => exponential::sample(mean, stream.open01()),
            Self::Uniform { min, max } => uniform::quantile(min, max, stream.open01()),
            Self::Triangular { min, mode, max } => triangular::quantile(min, mode, max, stream.open01()),
            Self::TruncatedNormal { mean, sd, min, max } => {
                truncated_normal::quantile(mean, sd, min, max, stream.open01())
            }
            Self::Lognormal { median, sigma } => lognormal::quantile(median, sigma, stream.open01()),
            Self::Weibull { shape, scale } => weibull::sample(shape, scale, stream.open01()),
            Self::Gamma { shape, scale } => gamma::sample(shape, scale, stream),
            Self::Empirical { ref values } => empirical::sample(values, stream.open01()),
            Self::Geometric { mean, step } => geometric::sample(mean, step, stream.open01()),
        }
    }

    /// The lower end of what can occur; 0 for a family that starts there, minus infinity where there is no end.
    #[must_use]
    pub fn smallest(&self) -> f64 {
        match *self {
            Self::Constant { value } => value,
            Self::Exponential { .. } | Self::Lognormal { .. } | Self::Weibull { .. } | Self::Gamma { .. } => {
                0.0
            }
            Self::Uniform { min, .. } | Self::Triangular { min, .. } | Self::TruncatedNormal { min, .. } => {
                min
            }
            Self::Empirical { ref values } => values.first().copied().unwrap_or(f64::NAN),
            Self::Geometric { step, .. } => step,
        }
    }

    /// The upper end of what can occur; infinity where there is no end.
    #[must_use]
    pub fn largest(&self) -> f64 {
        match *self {
            Self::Constant { value } => value,
            Self::Exponential { .. } | Self::Lognormal { .. } | Self::Weibull { .. } | Self::Gamma { .. } => {
                f64::INFINITY
            }
            Self::Uniform { max, .. } | Self::Triangular { max, .. } | Self::TruncatedNormal { max, .. } => {
                max
            }
            Self::Empirical { ref values } => values.last().copied().unwrap_or(f64::NAN),
            Self::Geometric { mean, step } => geometric::largest(mean, step),
        }
    }

    /// Whether only one value can occur.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        self.smallest() >= self.largest()
    }
}

#[cfg(test)]
mod tests;
