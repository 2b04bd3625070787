//! A test carried out on weighed packs.

use crate::lot_test::LotTest;
use crate::regime::to_micrograms;
use core::fmt;

/// How a test ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// All parts passed.
    Accepted,
    /// A part failed.
    Rejected,
    /// The packs do not decide yet: draw until so many are weighed.
    DrawMore {
        /// Packs weighed in the end, these included.
        total: u64,
    },
}

/// The count of packs below the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counted {
    /// Packs looked at.
    pub packs: u64,
    /// Below T1.
    pub below_t1: u64,
    /// Below T2; 0 where the regime has none.
    pub below_t2: u64,
    /// What this part says.
    pub verdict: Verdict,
}

/// The mean and what it had to reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// Packs of the mean.
    pub packs: u64,
    /// Their mean in grams.
    pub mean_g: f64,
    /// Their standard deviation (divisor n - 1) in grams; 0 for one pack.
    pub sd_g: f64,
    /// Mean less reference, in grams.
    pub error_g: f64,
    /// How far the mean may lie below the reference: factor x standard deviation.
    pub allowed_g: f64,
    /// Whether this part passes.
    pub passes: bool,
}

impl Mean {
    /// The lowest mean that would do, in grams.
    #[must_use]
    pub fn limit_g(&self) -> f64 {
        self.mean_g - self.error_g - self.allowed_g
    }
}

/// A test and its parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// The whole.
    pub verdict: Verdict,
    /// Packs below the limits.
    pub counted: Counted,
    /// The mean; none where the plan has no such part.
    pub mean: Option<Mean>,
}

/// Weights that cannot be tested.
#[derive(Clone, Debug, PartialEq)]
pub enum SampleError {
    /// A weight is negative or not finite.
    Weight {
        /// Its place, from 1.
        place: usize,
        /// The weight in grams.
        value: f64,
    },
    /// Fewer packs than the first draw.
    TooFew {
        /// Packs given.
        given: usize,
        /// Packs of the first draw.
        needed: u64,
    },
}

impl fmt::Display for SampleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Weight { place, value } => {
                write!(f, "weight {place} is {value} g; a net weight is finite and not negative")
            }
            Self::TooFew { given, needed } => write!(f, "{given} packs are weighed; the test takes {needed}"),
        }
    }
}

impl core::error::Error for SampleError {}

impl LotTest {
    /// The test on net weights in grams, in the order in which they were drawn. The mean is taken of the first ones, as
    /// many as its part asks for; packs beyond the last draw are left out.
    ///
    /// Weights and limits are compared in whole micrograms.
    ///
    /// # Errors
    /// Fewer packs than the first draw, or a weight that is negative or not finite.
    pub fn evaluate(&self, weights_g: &[f64]) -> Result<Outcome, SampleError> {
        for (index, &value) in weights_g.iter().enumerate() {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(SampleError::Weight { place: index + 1, value });
            }
        }
        let needed = self.draws[0].sample;
        if (weights_g.len() as u64) < needed {
            return Err(SampleError::TooFew { given: weights_g.len(), needed });
        }
        Ok(self.judged(weights_g))
    }

    /// [`Self::evaluate`] of weights that are known to be enough and finite.
    pub(crate) fn judged(&self, weights_g: &[f64]) -> Outcome {
        let counted = self.count(weights_g);
        let mean = self.mean.map(|test| {
            let sample = &weights_g[..test.sample as usize];
            let mean_g = sample.iter().sum::<f64>() / sample.len() as f64;
            let squares: f64 = sample.iter().map(|weight| (weight - mean_g) * (weight - mean_g)).sum();
            let sd_g = if sample.len() < 2 { 0.0 } else { libm::sqrt(squares / (sample.len() - 1) as f64) };
            let (error_g, allowed_g) = (mean_g - self.reference_g(), test.factor * sd_g);
            // A thousandth of a microgram for the rounding of the sum.
            let passes = error_g >= -ROUNDING_G
                || if test.equal_passes {
                    error_g + allowed_g >= -ROUNDING_G
                } else {
                    error_g + allowed_g > ROUNDING_G
                };
            Mean { packs: test.sample, mean_g, sd_g, error_g, allowed_g, passes }
        });
        let verdict = match counted.verdict {
            Verdict::Rejected => Verdict::Rejected,
            _ if mean.is_some_and(|mean| !mean.passes) => Verdict::Rejected,
            other => other,
        };
        Outcome { verdict, counted, mean }
    }

    fn count(&self, weights_g: &[f64]) -> Counted {
        let t1 = to_micrograms(self.t1_g());
        let t2 = self.t2_g().map(to_micrograms);
        let mut counted = Counted { packs: 0, below_t1: 0, below_t2: 0, verdict: Verdict::Accepted };
        for draw in &self.draws {
            if draw.sample > weights_g.len() as u64 {
                counted.verdict = Verdict::DrawMore { total: draw.sample };
                return counted;
            }
            for &weight in &weights_g[counted.packs as usize..draw.sample as usize] {
                let weight = to_micrograms(weight);
                counted.below_t1 += u64::from(weight < t1);
                counted.below_t2 += u64::from(t2.is_some_and(|limit| weight < limit));
            }
            counted.packs = draw.sample;
            let too_low = self.accept_below_t2.is_some_and(|accept| counted.below_t2 > accept);
            if too_low || counted.below_t1 >= draw.reject {
                counted.verdict = Verdict::Rejected;
                return counted;
            }
            if counted.below_t1 <= draw.accept {
                counted.verdict = Verdict::Accepted;
                return counted;
            }
        }
        counted
    }
}

const ROUNDING_G: f64 = 1e-9;

#[cfg(test)]
mod tests;
