//! Everything at one target, the curve over targets, and the smallest one.

use super::found::{AtTarget, ClosedForm, LotPasses, WeigherFound, ZoneOfIndecision};
use super::spread::Spread;
use super::{PlanningError, Ready, TARGET_STEP_G};
use crate::giveaway::Giveaway;
use crate::packs::{Gate, Leaving, PacksError};
use crate::simulation::{Makeup, SimulationError};
use crate::target::{SmallestTarget, TargetError};

/// Points of the curve.
const CURVE_POINTS: i32 = 33;
/// Probabilities of a wrong verdict at the ends of a zone of indecision: one in ten, and that of three standard deviations.
const WRONG: [f64; 2] = [0.1, 0.001_349_898];

impl Ready<'_> {
    pub(super) fn smallest(&self, spread: &Spread, gate: &Gate) -> Result<SmallestTarget, TargetError> {
        let (sd_g, reference_g) = (spread.sd_g(), self.reference_g());
        let below = self.limits.tolerable_g.max(4.0 * sd_g).max(1.0);
        let over = gate.low_g.map_or(0.0, |low| (low - reference_g).max(0.0));
        let range = ((reference_g - below).max(TARGET_STEP_G), reference_g + over + below + 12.0 * sd_g);
        self.case(spread, gate).smallest_target(range, TARGET_STEP_G, &self.asked.levels)
    }

    /// Everything at a target: the mean weight of the packs before the weigher.
    pub(super) fn at(&self, spread: &Spread, gate: &Gate, target_g: f64) -> Result<AtTarget, PlanningError> {
        let packs = spread.packs(target_g);
        let leaving = Leaving::of(&packs, gate)?;
        let giveaway = Giveaway::of(&packs, gate, self.limits.nominal_g)?;
        let case = self.case(spread, gate);
        let below_t1 = leaving.share_below(self.limits.t1_g - self.asked.allowance_g);
        let below_t2 =
            self.limits.t2_g.map(|limit| leaving.share_below(limit - self.asked.allowance_g).min(below_t1));
        let lot = match &self.test {
            Some(test) => {
                let simulated = test
                    .simulate(&packs, gate, case.makeup, self.asked.tests, &self.streams)
                    .map_err(TargetError::from)?;
                let exact = test.passes(&packs, gate, case.makeup)?;
                let mixed = match exact {
                    Some(_) => exact,
                    None => test.passes(&packs, gate, Makeup::Mixed)?,
                };
                Some(LotPasses {
                    probability: simulated.passed.value(),
                    low: simulated.passed.interval.low,
                    high: simulated.passed.interval.high,
                    count: simulated.count_passed.value(),
                    mean: simulated.mean_passed.value(),
                    closed_form: mixed.map(|both| ClosedForm {
                        count: both.count,
                        mean: both.mean,
                        at_least: both.at_least(),
                        at_most: both.at_most(),
                        of_a_mixed_lot: exact.is_none(),
                    }),
                })
            }
            None => None,
        };
        let trade = &self.asked.trade;
        let rejected = giveaway.rejected_low + giveaway.rejected_high;
        let rejects_per_shift = trade.packs_per_shift.map(|packs| packs * rejected / (1.0 - rejected));
        let total =
            trade.packs_per_shift.map(|packs| giveaway.over(packs, trade.product_per_kg.unwrap_or(0.0)));
        let money_per_shift = total.filter(|_| trade.product_per_kg.is_some()).map(|total| total.money);
        let reject_money = rejects_per_shift.zip(trade.pack_value).map(|(packs, value)| packs * value);
        let over_year =
            |money: Option<f64>| money.zip(trade.shifts_per_year).map(|(one, shifts)| one * shifts);
        Ok(AtTarget {
            target_g,
            leaving_mean_g: leaving.leaving_mean_g,
            leaving_sd_g: leaving.leaving_sd_g,
            giveaway_g: giveaway.per_pack_g,
            rejected_low: giveaway.rejected_low,
            rejected_high: giveaway.rejected_high,
            below_t1,
            below_t2,
            lot,
            given_away_kg_per_shift: total.map(|total| total.given_away_kg),
            rejected_kg_per_shift: total.map(|total| total.rejected_kg),
            rejects_per_shift,
            giveaway_money_per_shift: money_per_shift,
            giveaway_money_per_year: over_year(money_per_shift),
            rejects_money_per_shift: reject_money,
            rejects_money_per_year: over_year(reject_money),
        })
    }

    /// The curve over the smallest target, the one that the line is set to, and the label: half a standard deviation below
    /// them, one and a half above. The smallest target is one of its points.
    pub(super) fn curve(&self, spread: &Spread, target_g: f64) -> Result<Vec<AtTarget>, PlanningError> {
        let (sd_g, set_g) = (spread.sd_g().max(TARGET_STEP_G), self.asked.set_g);
        let low_g = target_g.min(set_g).min(self.reference_g()) - 0.5 * sd_g;
        let high_g = target_g.max(set_g).max(self.reference_g()) + 1.5 * sd_g;
        let step_g = (high_g - low_g) / f64::from(CURVE_POINTS - 1);
        // Moved by less than a step, so that the smallest target is met.
        let below = libm::floor((target_g - low_g) / step_g);
        let mut points = Vec::new();
        for place in 0..CURVE_POINTS {
            let at_g = target_g + step_g * (f64::from(place) - below);
            match self.at(spread, &self.asked.gate, at_g) {
                Ok(point) => points.push(point),
                Err(error) if is_nothing_left(&error) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(points)
    }

    /// Wrong verdicts at a target; none without reject limits.
    pub(super) fn weigher(
        &self,
        spread: &Spread,
        target_g: f64,
    ) -> Result<Option<WeigherFound>, PlanningError> {
        let gate = &self.asked.gate;
        if gate.low_g.is_none() && gate.high_g.is_none() {
            return Ok(None);
        }
        let packs = spread.packs(target_g);
        let leaving = Leaving::of(&packs, gate)?;
        let mut zones = Vec::new();
        for (limit, is_lower) in [(gate.low_g, true), (gate.high_g, false)] {
            let Some(limit_g) = limit else { continue };
            for wrong in WRONG {
                let Some((from_g, to_g)) = gate.zone_of_indecision(limit_g, wrong) else { continue };
                let share = packs.share_below(to_g) - packs.share_below(from_g);
                zones.push(ZoneOfIndecision { limit_g, is_lower, wrong, from_g, to_g, share });
            }
        }
        let half_g = 5.0 * gate.sd_g;
        let rejects_at = gate.low_g.map_or_else(Vec::new, |limit| {
            (-20..=20)
                .map(|step| {
                    let weight_g = limit - gate.bias_g + half_g * f64::from(step) / 20.0;
                    (weight_g, gate.rejects_low(weight_g))
                })
                .collect()
        });
        Ok(Some(WeigherFound {
            target_g,
            sd_g: gate.sd_g,
            wrong: leaving.wrong_verdicts(),
            zones,
            rejects_at,
        }))
    }
}

/// A weigher that lets nothing through at this target.
pub(super) fn is_nothing_left(error: &PlanningError) -> bool {
    matches!(
        error,
        PlanningError::Packs(PacksError::NothingLeaves)
            | PlanningError::Target(TargetError::Simulation(SimulationError::Packs(
                PacksError::NothingLeaves
            )))
    )
}
