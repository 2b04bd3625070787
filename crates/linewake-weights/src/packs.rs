//! Weights of packs, before and behind a checkweigher with an error of its own.
//!
//! A pack's true weight is normal: a mean, a shift that all packs of a batch share, and what is its own. The weigher
//! reads it with an error, and rejects below or above its limits: near a limit good packs are rejected and bad ones
//! pass, and the packs that leave are no longer normal.

use crate::quadrature::integral;
use core::fmt;
use linewake_stats::distribution::normal::{normal_cdf, normal_density, normal_quantile};
use serde::Serialize;

/// Packs before the checkweigher. Weights in grams.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Packs {
    /// Mean in the long run: the target, if the line holds it.
    pub mean_g: f64,
    /// Standard deviation from pack to pack within a batch.
    pub sd_within_g: f64,
    /// Standard deviation of the shift that the packs of a batch share.
    pub sd_between_g: f64,
}

/// A checkweigher. Weights in grams.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Gate {
    /// Standard deviation of the weigher's own error.
    pub sd_g: f64,
    /// Mean of the weigher's own error.
    pub bias_g: f64,
    /// Reject what reads below this.
    pub low_g: Option<f64>,
    /// Reject what reads above this.
    pub high_g: Option<f64>,
}

/// Figures that describe no packs or no weigher.
#[derive(Clone, Debug, PartialEq)]
pub enum PacksError {
    /// A figure is not finite, or negative where it must not be.
    Figure {
        /// Its name.
        name: &'static str,
        /// Its value.
        value: f64,
    },
    /// The lower limit is not below the upper one.
    Limits {
        /// Lower limit in grams.
        low: f64,
        /// Upper limit in grams.
        high: f64,
    },
    /// The weigher rejects all packs but fewer than one in 10^12.
    NothingLeaves,
}

impl fmt::Display for PacksError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Figure { name, value } => {
                write!(f, "{name} is {value}; it must be finite, and a standard deviation not negative")
            }
            Self::Limits { low, high } => {
                write!(f, "the lower reject limit {low} g must be below the upper one, {high} g")
            }
            Self::NothingLeaves => {
                write!(f, "the checkweigher rejects every pack; move its limits or the target")
            }
        }
    }
}

impl core::error::Error for PacksError {}

impl Packs {
    /// Standard deviation over all batches.
    #[must_use]
    pub fn sd_g(&self) -> f64 {
        libm::hypot(self.sd_within_g, self.sd_between_g)
    }

    /// The same packs with another mean.
    #[must_use]
    pub fn with_mean(&self, mean_g: f64) -> Self {
        Self { mean_g, ..*self }
    }

    /// Share of packs below a weight, before any weigher.
    #[must_use]
    pub fn share_below(&self, weight_g: f64) -> f64 {
        let (sd_g, distance) = (self.sd_g(), weight_g - self.mean_g);
        if sd_g > 0.0 { normal_cdf(distance / sd_g) } else { f64::from(u8::from(distance > 0.0)) }
    }

    pub(crate) fn check(&self) -> Result<(), PacksError> {
        finite("the mean", self.mean_g, f64::NEG_INFINITY)?;
        finite("the standard deviation within batches", self.sd_within_g, 0.0)?;
        finite("the standard deviation between batches", self.sd_between_g, 0.0)
    }
}

fn finite(name: &'static str, value: f64, least: f64) -> Result<(), PacksError> {
    if value.is_finite() && value >= least { Ok(()) } else { Err(PacksError::Figure { name, value }) }
}

impl Gate {
    /// No checkweigher: every pack leaves.
    #[must_use]
    pub fn none() -> Self {
        Self::default()
    }

    pub(crate) fn check(&self) -> Result<(), PacksError> {
        finite("the weigher's standard deviation", self.sd_g, 0.0)?;
        finite("the weigher's bias", self.bias_g, f64::NEG_INFINITY)?;
        for limit in [self.low_g, self.high_g].into_iter().flatten() {
            finite("a reject limit", limit, f64::NEG_INFINITY)?;
        }
        match (self.low_g, self.high_g) {
            (Some(low), Some(high)) if low >= high => Err(PacksError::Limits { low, high }),
            _ => Ok(()),
        }
    }

    /// The limits in which a reading passes.
    pub(crate) fn passes_between(&self) -> (f64, f64) {
        (self.low_g.unwrap_or(f64::NEG_INFINITY), self.high_g.unwrap_or(f64::INFINITY))
    }

    /// The probability that a pack of this true weight is rejected as too light.
    #[must_use]
    pub fn rejects_low(&self, weight_g: f64) -> f64 {
        self.low_g.map_or(0.0, |limit| self.reads_below(weight_g, limit))
    }

    /// The probability that a pack of this true weight is rejected as too heavy.
    #[must_use]
    pub fn rejects_high(&self, weight_g: f64) -> f64 {
        self.high_g.map_or(0.0, |limit| 1.0 - self.reads_below(weight_g, limit))
    }

    fn passes(&self, weight_g: f64) -> f64 {
        (1.0 - self.rejects_low(weight_g) - self.rejects_high(weight_g)).max(0.0)
    }

    fn reads_below(&self, weight_g: f64, limit_g: f64) -> f64 {
        let distance = limit_g - weight_g - self.bias_g;
        if self.sd_g > 0.0 { normal_cdf(distance / self.sd_g) } else { f64::from(u8::from(distance > 0.0)) }
    }

    /// The zone of indecision about a limit: true weights in it get the wrong verdict with more than this probability
    /// (0 to 0.5). The two ends in grams; none for another probability.
    ///
    /// Three standard deviations on either side, a width of six, are the usual figure (from memory): wrong with more than
    /// 0.13 %.
    #[must_use]
    pub fn zone_of_indecision(&self, limit_g: f64, wrong: f64) -> Option<(f64, f64)> {
        let half_g = -normal_quantile(wrong) * self.sd_g;
        let centre_g = limit_g - self.bias_g;
        (wrong > 0.0 && wrong <= 0.5).then_some((centre_g - half_g, centre_g + half_g))
    }
}

/// What becomes of the packs at the checkweigher: shares of all packs, and the law of those that leave.
#[derive(Clone, Copy, Debug)]
pub struct Leaving {
    mean_g: f64,
    sd_g: f64,
    gate: Gate,
    /// Share rejected as too light.
    pub rejected_low: f64,
    /// Share rejected as too heavy.
    pub rejected_high: f64,
    /// Share that leaves.
    pub passed: f64,
    /// Mean true weight of the packs that leave, in grams.
    pub leaving_mean_g: f64,
    /// Standard deviation of their true weights, in grams.
    pub leaving_sd_g: f64,
}

/// Wrong verdicts of a checkweigher, as shares of all packs. A verdict is wrong when the true weight lies on the other
/// side of the limit that it was held against.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct WrongVerdicts {
    /// Rejected as too light, but not below the lower limit.
    pub falsely_rejected_low: f64,
    /// Rejected as too heavy, but not above the upper limit.
    pub falsely_rejected_high: f64,
    /// Not rejected as too light, but below the lower limit.
    pub falsely_passed_low: f64,
    /// Not rejected as too heavy, but above the upper limit.
    pub falsely_passed_high: f64,
}

impl Leaving {
    /// The packs of all batches together.
    ///
    /// # Errors
    /// Figures that are no packs or no weigher, or a weigher that rejects everything.
    pub fn of(packs: &Packs, gate: &Gate) -> Result<Self, PacksError> {
        packs.check()?;
        gate.check()?;
        Self::of_normal(packs.mean_g, packs.sd_g(), gate)
    }

    /// Normal packs with this mean and standard deviation.
    pub(crate) fn of_normal(mean_g: f64, sd_g: f64, gate: &Gate) -> Result<Self, PacksError> {
        let mut leaving = Self {
            mean_g,
            sd_g,
            gate: *gate,
            rejected_low: 0.0,
            rejected_high: 0.0,
            passed: 1.0,
            leaving_mean_g: mean_g,
            leaving_sd_g: sd_g,
        };
        let read_sd_g = libm::hypot(sd_g, gate.sd_g);
        let (low, high) = gate.passes_between();
        if read_sd_g <= 0.0 {
            let read = mean_g + gate.bias_g;
            leaving.rejected_low = f64::from(u8::from(read < low));
            leaving.rejected_high = f64::from(u8::from(read > high));
            leaving.passed = 1.0 - leaving.rejected_low - leaving.rejected_high;
            return if leaving.passed > 0.0 { Ok(leaving) } else { Err(PacksError::NothingLeaves) };
        }
        // The reading is normal too, and the true weight given the reading: so these have closed forms (moments of a
        // truncated normal: Johnson, Kotz and Balakrishnan 1994, Continuous Univariate Distributions 1, 13.10).
        let (a, b) = ((low - mean_g - gate.bias_g) / read_sd_g, (high - mean_g - gate.bias_g) / read_sd_g);
        leaving.rejected_low = normal_cdf(a);
        leaving.rejected_high = normal_cdf(-b);
        leaving.passed =
            if a > 0.0 { normal_cdf(-a) - normal_cdf(-b) } else { normal_cdf(b) - normal_cdf(a) };
        if leaving.passed.is_nan() || leaving.passed < 1e-12 {
            return Err(PacksError::NothingLeaves);
        }
        let (at_a, at_b) = (normal_density(a) / leaving.passed, normal_density(b) / leaving.passed);
        let times = |z: f64, density: f64| if z.is_finite() { z * density } else { 0.0 };
        let shift = at_a - at_b;
        let variance = (1.0 + times(a, at_a) - times(b, at_b) - shift * shift).max(0.0);
        // Share of the spread of readings that is in the packs themselves.
        let own = (sd_g / read_sd_g) * (sd_g / read_sd_g);
        leaving.leaving_mean_g = mean_g + own * read_sd_g * shift;
        leaving.leaving_sd_g = sd_g * libm::sqrt((1.0 - own + own * variance).max(0.0));
        Ok(leaving)
    }

    /// Share of the leaving packs below a weight.
    #[must_use]
    pub fn share_below(&self, weight_g: f64) -> f64 {
        let below = self.share_of_all(weight_g, Side::Below, |weight| self.gate.passes(weight));
        (below / self.passed).clamp(0.0, 1.0)
    }

    /// Wrong verdicts, as shares of all packs.
    #[must_use]
    pub fn wrong_verdicts(&self) -> WrongVerdicts {
        let gate = &self.gate;
        let (low, high) = (gate.low_g, gate.high_g);
        let part = |limit: Option<f64>, side, verdict: &dyn Fn(f64) -> f64| {
            limit.map_or(0.0, |limit| self.share_of_all(limit, side, verdict))
        };
        WrongVerdicts {
            falsely_rejected_low: part(low, Side::Above, &|weight| gate.rejects_low(weight)),
            falsely_rejected_high: part(high, Side::Below, &|weight| gate.rejects_high(weight)),
            falsely_passed_low: part(low, Side::Below, &|weight| 1.0 - gate.rejects_low(weight)),
            falsely_passed_high: part(high, Side::Above, &|weight| 1.0 - gate.rejects_high(weight)),
        }
    }

    /// Share of all packs with a true weight on one side of `weight_g` and the verdict whose probability is given.
    fn share_of_all(&self, weight_g: f64, side: Side, verdict: impl Fn(f64) -> f64) -> f64 {
        if self.sd_g <= 0.0 {
            let there = match side {
                Side::Below => self.mean_g < weight_g,
                Side::Above => self.mean_g >= weight_g,
            };
            return if there { verdict(self.mean_g) } else { 0.0 };
        }
        // Beyond this the normal has less than 1e-22.
        const REACH: f64 = 10.0;
        let (least, most) = (self.mean_g - REACH * self.sd_g, self.mean_g + REACH * self.sd_g);
        let (from, to) = match side {
            Side::Below => (least, weight_g.min(most)),
            Side::Above => (weight_g.max(least), most),
        };
        let mut cuts = vec![self.mean_g];
        for limit in [self.gate.low_g, self.gate.high_g].into_iter().flatten() {
            let centre = limit - self.gate.bias_g;
            cuts.extend([-8.0, -3.0, 0.0, 3.0, 8.0].map(|steps| centre + steps * self.gate.sd_g));
        }
        let density = |weight: f64| normal_density((weight - self.mean_g) / self.sd_g) / self.sd_g;
        integral(|weight| density(weight) * verdict(weight), from, to, &cuts)
    }
}

#[derive(Clone, Copy)]
enum Side {
    Below,
    Above,
}

#[cfg(test)]
mod tests;
