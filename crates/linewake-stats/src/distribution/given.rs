//! Distributions from the figures by which people give them, checked.
//!
//! | family | by its parameters | by its mean | by median and 90th percentile |
//! | --- | --- | --- | --- |
//! | constant | [`constant`] | | |
//! | exponential | [`exponential`] | [`exponential`] | one quantile is enough: [`exponential_by_median`], [`exponential_by_quantile`] |
//! | uniform | [`uniform`] | [`uniform_by_half_width`] | [`uniform_by_p90`] |
//! | triangular | [`triangular`] | [`triangular_by_half_width`] (symmetric) | [`triangular_by_p90`] (symmetric) |
//! | truncated normal | [`truncated_normal`] (mean and sd of the parent) | | [`truncated_normal_by_p90`] |
//! | lognormal | [`lognormal`] | [`lognormal_by_cv`] | [`lognormal_by_p90`] |
//! | Weibull | [`weibull`] | [`weibull_by_mean`] | [`weibull_by_p90`] |
//! | gamma | [`gamma`] | [`gamma_by_mean`], [`gamma_by_cv`] | [`gamma_by_p90`] |
//! | empirical | [`empirical`] | | |
//! | geometric | [`geometric`] | [`geometric`] | |
//!
//! Every constructor gives an error for a figure that is not finite or out of range, and for figures that no
//! distribution of the family has. A mean, median or scale of a family that starts at 0 must be above 0; the others
//! may lie anywhere, so whoever needs a time checks [`Distribution::smallest`].

mod error;
mod solve;

pub use error::GivenError;

use super::{Distribution, gamma, truncated_normal, weibull};
use error::{above, finite, positive, within};
use solve::bisect;

/// The result of every constructor here.
pub type Given = Result<Distribution, GivenError>;

/// Normal 90th percentile, [`super::normal_quantile`] of 0.9.
const Z90: f64 = 1.281_551_565_544_600_4;
/// ln 10: how many means the 90th percentile of an exponential lies up.
const LN_10: f64 = core::f64::consts::LN_10;
const LN_2: f64 = core::f64::consts::LN_2;
/// Shapes of a Weibull distribution: beyond them its figures overflow or it is as good as constant.
const WEIBULL_SHAPES: (f64, f64) = (0.05, 1000.0);
/// A lognormal of sigma 10 already spreads over eleven powers of ten between its 10th and 90th percentile.
const LARGEST_SIGMA: f64 = 10.0;
/// The least share of the parent that may lie between the ends of a truncated normal.
const LEAST_SHARE: f64 = 1e-9;

/// Checks the parameters of a distribution that was put together by hand.
///
/// # Errors
/// A parameter that is not finite or out of range; parameters that contradict each other; a mean or variance that
/// overflows.
pub fn check(distribution: &Distribution) -> Result<(), GivenError> {
    match *distribution {
        Distribution::Constant { value } => finite("value", value)?,
        Distribution::Exponential { mean } => positive("mean", mean)?,
        Distribution::Uniform { min, max } => {
            finite("min", min)?;
            finite("max", max)?;
            above("max", max, "min", min)?;
        }
        Distribution::Triangular { min, mode, max } => check_triangular(min, mode, max)?,
        Distribution::TruncatedNormal { mean, sd, min, max } => check_truncated_normal(mean, sd, min, max)?,
        Distribution::Lognormal { median, sigma } => {
            positive("median", median)?;
            positive("sigma", sigma)?;
            within("sigma", sigma, (0.0, LARGEST_SIGMA))?;
        }
        Distribution::Weibull { shape, scale } => {
            within("shape", shape, WEIBULL_SHAPES)?;
            positive("scale", scale)?;
        }
        Distribution::Gamma { shape, scale } => {
            within("shape", shape, gamma::SHAPES)?;
            positive("scale", scale)?;
        }
        Distribution::Empirical { ref values } => check_values(values)?,
        Distribution::Geometric { mean, step } => {
            finite("mean", mean)?;
            if mean < 1.0 {
                return Err(GivenError::BelowOneStep { mean });
            }
            positive("step", step)?;
        }
    }
    if distribution.mean().is_finite() && distribution.variance().is_finite() {
        Ok(())
    } else {
        Err(GivenError::Overflow)
    }
}

fn checked(distribution: Distribution) -> Given {
    check(&distribution)?;
    Ok(distribution)
}

fn check_triangular(min: f64, mode: f64, max: f64) -> Result<(), GivenError> {
    finite("min", min)?;
    finite("mode", mode)?;
    finite("max", max)?;
    above("max", max, "min", min)?;
    if mode < min || mode > max { Err(GivenError::ModeOutside { min, mode, max }) } else { Ok(()) }
}

fn check_truncated_normal(mean: f64, sd: f64, min: f64, max: f64) -> Result<(), GivenError> {
    finite("mean", mean)?;
    positive("sd", sd)?;
    check_ends(min, max)?;
    let share = truncated_normal::share(mean, sd, min, max);
    if share < LEAST_SHARE { Err(GivenError::NothingBetween { mean, sd, min, max }) } else { Ok(()) }
}

/// Minus infinity below and infinity above mean that there is no end.
fn check_ends(min: f64, max: f64) -> Result<(), GivenError> {
    if min > f64::NEG_INFINITY {
        finite("min", min)?;
    }
    if max < f64::INFINITY {
        finite("max", max)?;
    }
    if min.is_nan() || max.is_nan() || max <= min {
        above("max", max, "min", min)?;
    }
    Ok(())
}

fn check_values(values: &[f64]) -> Result<(), GivenError> {
    if values.is_empty() {
        return Err(GivenError::NoValues);
    }
    for value in values {
        finite("values", *value)?;
    }
    match values.windows(2).position(|pair| pair[0] > pair[1]) {
        Some(position) => Err(GivenError::NotInOrder { position: position + 1 }),
        None => Ok(()),
    }
}

/// A median above 0 and a 90th percentile above it.
fn check_quantiles(median: f64, p90: f64) -> Result<(), GivenError> {
    positive("median", median)?;
    check_rising(median, p90)
}

fn check_rising(median: f64, p90: f64) -> Result<(), GivenError> {
    finite("median", median)?;
    finite("p90", p90)?;
    above("p90", p90, "median", median)
}

/// Always `value`.
///
/// # Errors
/// `value` not finite.
pub fn constant(value: f64) -> Given {
    checked(Distribution::Constant { value })
}

/// Exponential by its mean.
///
/// # Errors
/// `mean` not above 0.
pub fn exponential(mean: f64) -> Given {
    checked(Distribution::Exponential { mean })
}

/// Exponential by its median: mean = median / ln 2.
///
/// # Errors
/// `median` not above 0.
pub fn exponential_by_median(median: f64) -> Given {
    positive("median", median)?;
    exponential(median / LN_2)
}

/// Exponential by any one quantile: `value` is not exceeded with probability `p`; mean = -value / ln(1 - p).
///
/// # Errors
/// `p` not between 0 and 1, both left out; `value` not above 0.
pub fn exponential_by_quantile(p: f64, value: f64) -> Given {
    finite("p", p)?;
    if p <= 0.0 || p >= 1.0 {
        return Err(GivenError::NotAProbability { p });
    }
    positive("value", value)?;
    exponential(-value / libm::log1p(-p))
}

/// Uniform by its ends.
///
/// # Errors
/// An end not finite; `max` not above `min`.
pub fn uniform(min: f64, max: f64) -> Given {
    checked(Distribution::Uniform { min, max })
}

/// Uniform from `mean - half_width` to `mean + half_width`.
///
/// # Errors
/// `mean` not finite; `half_width` not above 0, or lost in the rounding of `mean`.
pub fn uniform_by_half_width(mean: f64, half_width: f64) -> Given {
    finite("mean", mean)?;
    positive("half_width", half_width)?;
    uniform(mean - half_width, mean + half_width)
}

/// Uniform by median and 90th percentile: the half width is (p90 - median) / 0.8.
///
/// # Errors
/// A figure not finite; `p90` not above `median`.
pub fn uniform_by_p90(median: f64, p90: f64) -> Given {
    check_rising(median, p90)?;
    // From the median to the 90th percentile lie 0.4 of a width of two halves.
    uniform_by_half_width(median, (p90 - median) / 0.8)
}

/// Triangular by its ends and its most likely value.
///
/// # Errors
/// A figure not finite; `max` not above `min`; `mode` outside them.
pub fn triangular(min: f64, mode: f64, max: f64) -> Given {
    checked(Distribution::Triangular { min, mode, max })
}

/// Symmetric triangular from `mean - half_width` to `mean + half_width`.
///
/// # Errors
/// `mean` not finite; `half_width` not above 0, or lost in the rounding of `mean`.
pub fn triangular_by_half_width(mean: f64, half_width: f64) -> Given {
    finite("mean", mean)?;
    positive("half_width", half_width)?;
    triangular(mean - half_width, mean, mean + half_width)
}

/// Symmetric triangular by median and 90th percentile: the half width is (p90 - median) / (1 - sqrt 0.2).
///
/// # Errors
/// A figure not finite; `p90` not above `median`.
pub fn triangular_by_p90(median: f64, p90: f64) -> Given {
    check_rising(median, p90)?;
    triangular_by_half_width(median, (p90 - median) / (1.0 - libm::sqrt(0.2)))
}

/// Truncated normal by mean and standard deviation of the parent (the whole bell) and the ends.
///
/// An end that is not wanted is minus infinity below, infinity above.
///
/// # Errors
/// `mean` not finite; `sd` not above 0; an end NaN; `max` not above `min`; less than 1e-9 of the parent between them.
pub fn truncated_normal(mean: f64, sd: f64, min: f64, max: f64) -> Given {
    checked(Distribution::TruncatedNormal { mean, sd, min, max })
}

/// Truncated normal by its own median and 90th percentile (not those of the parent) and the ends.
///
/// An end that is not wanted is minus infinity below, infinity above.
///
/// # Errors
/// A figure not finite; not `min` < `median` < `p90` < `max`; figures so far apart that no truncated normal has
/// them: the flattest one without an upper end is close to an exponential (90th percentile 3.3 medians above `min`).
pub fn truncated_normal_by_p90(median: f64, p90: f64, min: f64, max: f64) -> Given {
    check_rising(median, p90)?;
    check_ends(min, max)?;
    above("median", median, "min", min)?;
    above("max", max, "p90", p90)?;
    match solve::parent_of_truncated_normal(median, p90, min, max) {
        Some((mean, sd)) => truncated_normal(mean, sd, min, max),
        None => Err(GivenError::TooSpread { family: "truncated normal", median, p90 }),
    }
}

/// Lognormal by its median and the standard deviation of the natural logarithm.
///
/// # Errors
/// `median` or `sigma` not above 0; `sigma` above 10.
pub fn lognormal(median: f64, sigma: f64) -> Given {
    checked(Distribution::Lognormal { median, sigma })
}

/// Lognormal by its mean and its coefficient of variation (standard deviation over mean):
/// sigma^2 = ln(1 + cv^2), median = mean / sqrt(1 + cv^2).
///
/// # Errors
/// `mean` or `cv` not above 0; a sigma above 10.
pub fn lognormal_by_cv(mean: f64, cv: f64) -> Given {
    positive("mean", mean)?;
    positive("cv", cv)?;
    lognormal(mean / libm::hypot(1.0, cv), libm::sqrt(libm::log1p(cv * cv)))
}

/// Lognormal by median and 90th percentile: sigma = ln(p90 / median) / 1.2816.
///
/// # Errors
/// `median` not above 0; `p90` not above `median`; a sigma above 10.
pub fn lognormal_by_p90(median: f64, p90: f64) -> Given {
    check_quantiles(median, p90)?;
    lognormal(median, libm::log(p90 / median) / Z90)
}

/// Weibull by shape (a bare number) and scale (the 63.2 % point).
///
/// # Errors
/// `shape` outside 0.05 to 1000; `scale` not above 0.
pub fn weibull(shape: f64, scale: f64) -> Given {
    checked(Distribution::Weibull { shape, scale })
}

/// Weibull by its mean and its shape: scale = mean / Gamma(1 + 1 / shape).
///
/// # Errors
/// `mean` not above 0; `shape` outside 0.05 to 1000.
pub fn weibull_by_mean(mean: f64, shape: f64) -> Given {
    positive("mean", mean)?;
    within("shape", shape, WEIBULL_SHAPES)?;
    weibull(shape, mean / weibull::mean_over_scale(shape))
}

/// Weibull by median and 90th percentile: shape = ln(ln 10 / ln 2) / ln(p90 / median),
/// scale = median / (ln 2)^(1 / shape).
///
/// # Errors
/// `median` not above 0; `p90` not above `median`; a shape outside 0.05 to 1000.
pub fn weibull_by_p90(median: f64, p90: f64) -> Given {
    check_quantiles(median, p90)?;
    let shape = libm::log(LN_10 / LN_2) / libm::log(p90 / median);
    within("shape", shape, WEIBULL_SHAPES)?;
    weibull(shape, median / libm::pow(LN_2, 1.0 / shape))
}

/// Gamma by shape (a bare number) and scale.
///
/// # Errors
/// `shape` outside 0.01 to 1e6; `scale` not above 0.
pub fn gamma(shape: f64, scale: f64) -> Given {
    checked(Distribution::Gamma { shape, scale })
}

/// Gamma by its mean and its shape: scale = mean / shape.
///
/// # Errors
/// `mean` not above 0; `shape` outside 0.01 to 1e6.
pub fn gamma_by_mean(mean: f64, shape: f64) -> Given {
    positive("mean", mean)?;
    within("shape", shape, gamma::SHAPES)?;
    gamma(shape, mean / shape)
}

/// Gamma by its mean and its coefficient of variation (standard deviation over mean): shape = 1 / cv^2.
///
/// # Errors
/// `mean` not above 0; `cv` outside 0.001 to 10.
pub fn gamma_by_cv(mean: f64, cv: f64) -> Given {
    positive("mean", mean)?;
    within("cv", cv, (0.001, 10.0))?;
    gamma_by_mean(mean, (1.0 / (cv * cv)).clamp(gamma::SHAPES.0, gamma::SHAPES.1))
}

/// Gamma by median and 90th percentile; the shape is solved for numerically and rounded to twelve digits.
///
/// # Errors
/// `median` not above 0; `p90` not above `median`; a shape outside 0.01 to 1e6.
pub fn gamma_by_p90(median: f64, p90: f64) -> Given {
    check_quantiles(median, p90)?;
    let log_ratio = libm::log(p90 / median);
    // The ratio of the two quantiles falls as the shape rises.
    let excess = |log_shape: f64| {
        let shape = libm::exp(log_shape);
        libm::log(gamma::quantile(shape, 1.0, 0.9) / gamma::quantile(shape, 1.0, 0.5)) - log_ratio
    };
    let ends = (libm::log(gamma::SHAPES.0), libm::log(gamma::SHAPES.1));
    if excess(ends.0) < 0.0 {
        return Err(GivenError::TooSpread { family: "gamma", median, p90 });
    }
    if excess(ends.1) > 0.0 {
        return Err(GivenError::TooNarrow { family: "gamma", median, p90 });
    }
    let shape = solve::rounded(libm::exp(bisect(ends, |log_shape| -excess(log_shape))));
    gamma(shape, solve::rounded(median / gamma::quantile(shape, 1.0, 0.5)))
}

/// One of these observed values, each as likely as any other; they may come in any order.
///
/// # Errors
/// No value at all; a value not finite.
pub fn empirical(mut values: Vec<f64>) -> Given {
    values.sort_by(f64::total_cmp);
    checked(Distribution::Empirical { values })
}

/// Geometric: `step` times the number of trials up to the first hit, `mean` trials on average.
///
/// # Errors
/// `mean` below 1 or not finite; `step` not above 0.
pub fn geometric(mean: f64, step: f64) -> Given {
    checked(Distribution::Geometric { mean, step })
}

#[cfg(test)]
mod tests;
