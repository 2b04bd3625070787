//! What is promised and tried where nothing else is asked for.

use super::{Asked, Tried};
use crate::basis::Basis;
use crate::feedback::{Deviations, FeedbackLoop, hunting_gain};
use crate::regime::{Regime, status};
use crate::target::Levels;

/// A lot passes with at least this probability. Own convention for planning, no rule of any text.
pub const LOT_PASSES: f64 = 0.99;

/// At most this share of packs is rejected. Own convention for planning: without it the lowest target would be one at
/// which the checkweigher makes the mean right by throwing packs away.
pub const REJECTED: f64 = 0.01;

/// Levels that a user states; what is `None` is taken from the regime, or from this module.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StatedLevels {
    /// Share below T1.
    pub below_t1: Option<f64>,
    /// Share below T2.
    pub below_t2: Option<f64>,
    /// Probability that a lot passes.
    pub lot_passes: Option<f64>,
    /// Share rejected.
    pub rejected: Option<f64>,
}

impl StatedLevels {
    /// All levels, and what those rest on that come from the regime.
    #[must_use]
    pub fn filled(&self, regime: &Regime, has_plan: bool) -> (Levels, Vec<Basis>) {
        let shares = regime.shares.first();
        let mut bases = Vec::new();
        let mut take = |stated: Option<f64>, percent: Option<f64>, field: &str, limit: &str| {
            let (None, Some(percent), Some(shares)) = (stated, percent, shares) else { return stated };
            bases.push(Basis {
                value: format!("at most {percent} % of packs below {limit}: {}", shares.title),
                edition: regime.edition.clone(),
                clause: "for planning, no rule of the text".to_owned(),
                source: shares.source.clone(),
                status: status(&shares.read, field),
            });
            Some(percent / 100.0)
        };
        let below_t1 =
            take(self.below_t1, shares.map(|shares| shares.below_t1_percent), "below_t1_percent", "T1");
        let below_t2 =
            take(self.below_t2, shares.and_then(|shares| shares.below_t2_percent), "below_t2_percent", "T2");
        let levels = Levels {
            mean_at_least_reference: true,
            below_t1,
            below_t2,
            lot_passes: if has_plan { Some(self.lot_passes.unwrap_or(LOT_PASSES)) } else { self.lot_passes },
            rejected: Some(self.rejected.unwrap_or(REJECTED)),
        };
        (levels, bases)
    }
}

impl Asked<'_> {
    /// What is tried where nothing else is asked for: a gram more and less of spread, feedback with a quarter and half of
    /// the gain at which it would hunt, and other reject limits.
    #[must_use]
    pub fn usual_trials(&self) -> Tried {
        let sd_pack_g = self.deviations.sd_pack_g;
        let mut tried = Tried::default();
        if sd_pack_g > 1.0 {
            tried.sd_pack_g = vec![sd_pack_g - 1.0, sd_pack_g + 1.0];
        }
        if let Some(studied) = self.studied
            && let Ok(limit) = hunting_gain(studied.every_packs, studied.dead_time_packs)
        {
            if self.feedback.is_some() {
                tried.gains.push(0.0);
            }
            tried.gains.extend([0.25, 0.5].map(|share| two_digits(share * limit)));
        }
        if let Some(low_g) = self.gate.low_g {
            tried.low_g = vec![Some(low_g - 2.0), Some(low_g + 2.0), None];
        }
        if self.gate.high_g.is_some() {
            tried.high_g = vec![None];
        }
        tried
    }
}

/// Weighed packs between two corrections of a feedback that a line could have. Own convention.
const POSSIBLE_EVERY: u64 = 50;

/// The correction of such a feedback reaches so many times the spread of what lasts, or of a quarter of the spread from
/// pack to pack where nothing lasts. Own convention: so far out that it does not matter while the loop settles.
const POSSIBLE_LIMITS: f64 = 6.0;

/// A feedback that a line without could have, not in action: its gain is 0.
#[must_use]
pub fn possible_feedback(
    deviations: &Deviations,
    dead_time_packs: u64,
    every_packs: Option<u64>,
) -> FeedbackLoop {
    let drift_g = deviations.drift.map_or(0.0, |drift| drift.sd_g);
    let lasting_g = libm::hypot(deviations.sd_batch_g, drift_g);
    let limit_g = POSSIBLE_LIMITS * lasting_g.max(0.25 * deviations.sd_pack_g).max(0.1);
    FeedbackLoop {
        every_packs: every_packs.unwrap_or(POSSIBLE_EVERY),
        dead_time_packs,
        gain: 0.0,
        target_g: deviations.mean_g,
        lowest_g: -limit_g,
        highest_g: limit_g,
        count_rejects: true,
    }
}

/// Rounded to two significant digits.
fn two_digits(value: f64) -> f64 {
    if value <= 0.0 {
        return 0.0;
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(value)) - 1.0);
    libm::round(value / step) * step
}
