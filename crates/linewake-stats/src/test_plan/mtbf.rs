//! A test of a mean time between failures: run for a time set beforehand and accept if few enough failures came.

use super::error::{PlanError, positive, risks};
use crate::sampling_law::{chi_square_quantile, poisson_at_most};

/// Plans with more failures than this are not tried.
const MOST_FAILURES: u64 = 20_000;

/// A test of fixed length, for exponential times between failures.
///
/// *Formula*: failures in a time T are Poisson with mean T / MTBF.
/// *Source*: MIL-HDBK-781A, fixed-duration test plans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MtbfPlan {
    /// Running time of the test, in the unit of the MTBF.
    pub duration: f64,
    /// Accept if at most this many failures came.
    pub accept: u64,
}

impl MtbfPlan {
    /// The probability that a machine with this MTBF passes: one point of the operating characteristic. NaN for an
    /// MTBF or a duration that is not above 0.
    #[must_use]
    pub fn acceptance_probability(&self, mtbf: f64) -> f64 {
        if mtbf > 0.0 && self.duration > 0.0 {
            poisson_at_most(self.accept, self.duration / mtbf)
        } else {
            f64::NAN
        }
    }

    /// The shortest test that turns down the MTBF `promised` with at most `producer` and accepts the MTBF `too_low`
    /// with at most `consumer`.
    ///
    /// For each number of failures the test is as short as the consumer's risk allows; the first that also keeps the
    /// producer's risk is the shortest.
    ///
    /// ```
    /// use linewake_stats::test_plan::MtbfPlan;
    /// let plan = MtbfPlan::shortest(300.0, 100.0, 0.20, 0.20).unwrap();
    /// assert!(plan.accept == 2 && (plan.duration - 427.9).abs() < 0.01);
    /// ```
    ///
    /// # Errors
    /// A time that is not above 0, `promised` not above `too_low`, a risk outside (0, 1) or both together 1 or more,
    /// or risks and times that ask for more than 20,000 failures.
    pub fn shortest(promised: f64, too_low: f64, producer: f64, consumer: f64) -> Result<Self, PlanError> {
        positive("the promised time", promised)?;
        positive("the time that is too low", too_low)?;
        risks(producer, consumer)?;
        if promised <= too_low {
            return Err(PlanError::NotAbove {
                upper: "the promised time",
                upper_value: promised,
                lower: "the time that is too low",
                lower_value: too_low,
            });
        }
        for accept in 0..=MOST_FAILURES {
            let duration = too_low * (0.5 * chi_square_quantile(1.0 - consumer, 2.0 * accept as f64 + 2.0));
            let plan = Self { duration, accept };
            if 1.0 - plan.acceptance_probability(promised) <= producer {
                return Ok(plan);
            }
        }
        Err(PlanError::TooLong { failures: MOST_FAILURES })
    }
}
