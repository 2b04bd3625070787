//! What was found: plain data, masses in grams, shares 0 to 1, money in the currency of the prices.

use super::spread::Spread;
use super::{Asked, TradeFigures};
use crate::basis::Basis;
use crate::packs::{Gate, WrongVerdicts};
use crate::regime::Limits;
use crate::simulation::Makeup;
use crate::target::{Kept, Levels, Promise, SmallestTarget};
use serde::Serialize;

/// Everything that was found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Found {
    /// Tables and plan.
    pub regime: RegimeFound,
    /// Nominal quantity and limits.
    pub limits: LimitsFound,
    /// What is promised.
    pub levels: Levels,
    /// Packs and prices.
    pub trade: Money,
    /// The checkweigher.
    pub gate: Gate,
    /// Spread of the packs.
    pub spread: SpreadFound,
    /// Target that the line is set to.
    pub set_g: f64,
    /// Mean weight of its packs there; another than the target where the feedback leaves rejects out.
    pub set_mean_g: f64,
    /// The line as it is set.
    pub as_set: AtTarget,
    /// The smallest target.
    pub smallest: SmallestFound,
    /// What less spread saves; none where the packs have no spread of their own.
    pub less_spread: Option<LessSpread>,
    /// Changes tried, each alone with its own smallest target.
    pub variants: Vec<Variant>,
    /// Rising targets about the smallest one.
    pub curve: Vec<AtTarget>,
    /// Wrong verdicts at the smallest target; none without reject limits.
    pub weigher: Option<WeigherFound>,
    /// The feedback; none without a checkweigher.
    pub feedback: Option<FeedbackStudy>,
    /// What the figures rest on.
    pub bases: Vec<Basis>,
    /// Lots simulated at each target.
    pub tests: u64,
}

impl Found {
    /// Values from memory among what the figures rest on, those of the feedback included.
    #[must_use]
    pub fn from_memory(&self) -> Vec<&Basis> {
        let feedback = self.feedback.iter().map(|feedback| &feedback.basis);
        let all = self.bases.iter().chain(feedback);
        all.filter(|basis| basis.status == crate::basis::Status::Memory).collect()
    }
}

/// Tables and plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RegimeFound {
    /// Id of the regime.
    pub id: String,
    /// Its name.
    pub title: String,
    /// Edition of the text.
    pub edition: String,
    /// Its caution.
    pub caution: String,
    /// How its parts are meant.
    pub note: String,
    /// Id of the table.
    pub table: String,
    /// Its name.
    pub table_title: String,
    /// Id of the plan.
    pub plan: Option<String>,
    /// Its name.
    pub plan_title: Option<String>,
    /// Packs of a lot.
    pub lot_packs: u64,
    /// Packs of the first draw.
    pub first_sample: Option<u64>,
    /// Packs that the test takes at most.
    pub largest_sample: Option<u64>,
    /// Factor of the standard deviation in the test of the mean; none where the plan has no such part.
    pub mean_factor: Option<f64>,
}

/// Nominal quantity and limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LimitsFound {
    /// Nominal quantity.
    pub nominal_g: f64,
    /// Allowance for moisture.
    pub allowance_g: f64,
    /// Tolerable deficiency.
    pub tolerable_g: f64,
    /// First limit, less the allowance.
    pub t1_g: f64,
    /// Second limit, less the allowance; where the regime has one.
    pub t2_g: Option<f64>,
    /// Coarsest figure of the instrument, where the regime says it.
    pub instrument_g: Option<f64>,
    /// The quantity lies within the scope of the table.
    pub in_scope: bool,
}

impl LimitsFound {
    pub(super) fn of(limits: &Limits, allowance_g: f64) -> Self {
        Self {
            nominal_g: limits.nominal_g,
            allowance_g,
            tolerable_g: limits.tolerable_g,
            t1_g: limits.t1_g - allowance_g,
            t2_g: limits.t2_g.map(|limit| limit - allowance_g),
            instrument_g: limits.instrument_g,
            in_scope: limits.in_scope,
        }
    }
}

/// Packs and prices.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Money {
    /// Currency of the prices; empty without prices.
    pub currency: String,
    /// Price of a kilogram of product.
    pub product_per_kg: Option<f64>,
    /// What a rejected pack costs.
    pub pack_value: Option<f64>,
    /// Packs that leave in a shift.
    pub packs_per_shift: Option<f64>,
    /// Shifts a year.
    pub shifts_per_year: Option<f64>,
}

impl Money {
    pub(super) fn of(trade: &TradeFigures) -> Self {
        Self {
            currency: trade.currency.clone(),
            product_per_kg: trade.product_per_kg,
            pack_value: trade.pack_value,
            packs_per_shift: trade.packs_per_shift,
            shifts_per_year: trade.shifts_per_year,
        }
    }
}

/// Spread of the packs.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpreadFound {
    /// From pack to pack.
    pub within_g: f64,
    /// Of what neighbouring packs share: batches, drift, corrections.
    pub between_g: f64,
    /// Over all packs.
    pub sd_g: f64,
    /// The same if there were no feedback; none for a line without.
    pub without_feedback_g: Option<f64>,
    /// Blocks of a lot that share it; none for a lot that is mixed.
    pub blocks_in_lot: Option<u32>,
}

impl SpreadFound {
    pub(super) fn of(spread: &Spread, asked: &Asked<'_>) -> Self {
        let Packed { without_feedback_g, blocks_in_lot } = Packed::of(spread, asked);
        Self {
            within_g: spread.within_g,
            between_g: spread.between_g,
            sd_g: spread.sd_g(),
            without_feedback_g,
            blocks_in_lot,
        }
    }
}

struct Packed {
    without_feedback_g: Option<f64>,
    blocks_in_lot: Option<u32>,
}

impl Packed {
    fn of(spread: &Spread, asked: &Asked<'_>) -> Self {
        let deviations = &asked.deviations;
        let drift_g = deviations.drift.map_or(0.0, |drift| drift.sd_g);
        let still_g = libm::hypot(libm::hypot(deviations.sd_pack_g, deviations.sd_batch_g), drift_g);
        let blocks_in_lot = match spread.makeup(asked.lot_packs) {
            Makeup::Batches(blocks) => Some(blocks),
            Makeup::Mixed => None,
        };
        Self { without_feedback_g: asked.feedback.map(|_| still_g), blocks_in_lot }
    }
}

/// Everything at one target.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AtTarget {
    /// Target: mean weight of the packs before the weigher.
    pub target_g: f64,
    /// Mean weight of the packs that leave.
    pub leaving_mean_g: f64,
    /// Their standard deviation.
    pub leaving_sd_g: f64,
    /// Mean of the packs that leave less the nominal quantity.
    pub giveaway_g: f64,
    /// Share of packs rejected as too light.
    pub rejected_low: f64,
    /// Share of packs rejected as too heavy.
    pub rejected_high: f64,
    /// Share of leaving packs below T1.
    pub below_t1: f64,
    /// Share of leaving packs below T2; where the regime has one.
    pub below_t2: Option<f64>,
    /// The test of a lot; none for a regime without plans.
    pub lot: Option<LotPasses>,
    /// Product given away in a shift, in kilograms.
    pub given_away_kg_per_shift: Option<f64>,
    /// Product in rejected packs of a shift, in kilograms.
    pub rejected_kg_per_shift: Option<f64>,
    /// Packs rejected in a shift.
    pub rejects_per_shift: Option<f64>,
    /// Money given away in a shift.
    pub giveaway_money_per_shift: Option<f64>,
    /// Money given away in a year.
    pub giveaway_money_per_year: Option<f64>,
    /// Value of the packs rejected in a shift.
    pub rejects_money_per_shift: Option<f64>,
    /// Value of the packs rejected in a year.
    pub rejects_money_per_year: Option<f64>,
}

impl AtTarget {
    /// Share of packs rejected.
    #[must_use]
    pub fn rejected(&self) -> f64 {
        self.rejected_low + self.rejected_high
    }
}

/// The probability that a lot passes its test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LotPasses {
    /// Share of the simulated lots that passed.
    pub probability: f64,
    /// Low end of its 95 % interval.
    pub low: f64,
    /// High end of its 95 % interval.
    pub high: f64,
    /// Share of the simulated lots whose count of packs passed.
    pub count: f64,
    /// Share of the simulated lots whose mean passed.
    pub mean: f64,
    /// In closed form.
    pub closed_form: Option<ClosedForm>,
}

/// The probability that a lot passes, in closed form.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ClosedForm {
    /// The count of packs passes (exact).
    pub count: f64,
    /// The mean passes.
    pub mean: f64,
    /// Both pass with at least this probability.
    pub at_least: f64,
    /// And with at most this one.
    pub at_most: f64,
    /// It is that of a mixed lot with the same spread: the lot itself, of several batches, has no closed form.
    pub of_a_mixed_lot: bool,
}

/// The smallest target.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SmallestFound {
    /// Everything at it.
    pub at: AtTarget,
    /// Every promise there.
    pub kept: Vec<Kept>,
    /// What is broken one step below.
    pub binding: Vec<Promise>,
    /// Targets above that were looked at and at which a promise is broken again.
    pub broken_above_g: Vec<f64>,
}

impl SmallestFound {
    pub(super) fn of(at: AtTarget, sought: &SmallestTarget) -> Self {
        Self {
            at,
            kept: sought.kept.clone(),
            binding: sought.binding.clone(),
            broken_above_g: sought.broken_above_g.clone(),
        }
    }
}

/// What less spread from pack to pack saves. A saving below 0 is a loss.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LessSpread {
    /// So much less: a gram, or half of a spread below a gram.
    pub less_g: f64,
    /// Spread from pack to pack with it.
    pub sd_pack_g: f64,
    /// Smallest target with it.
    pub at: AtTarget,
    /// Giveaway saved for each pack.
    pub saves_g: f64,
    /// Product saved in a year, in kilograms.
    pub saves_kg_per_year: Option<f64>,
    /// Money saved in a year.
    pub saves_money_per_year: Option<f64>,
}

/// A change that was tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Variant {
    /// What is changed, in words.
    pub what: String,
    /// Spread from pack to pack.
    pub sd_pack_g: f64,
    /// Gain of the feedback for a pack; 0 without.
    pub gain: f64,
    /// Lower reject limit.
    pub low_g: Option<f64>,
    /// Upper reject limit.
    pub high_g: Option<f64>,
    /// Spread over all packs.
    pub sd_g: f64,
    /// Its smallest target; none where no target keeps what is promised.
    pub at: Option<AtTarget>,
    /// Why there is none.
    pub why_none: Option<String>,
    /// Money saved in a year against the line as modelled at its smallest target: giveaway alone.
    pub saves_money_per_year: Option<f64>,
}

/// Wrong verdicts of the weigher.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WeigherFound {
    /// At this target.
    pub target_g: f64,
    /// Standard deviation of the weigher's own error.
    pub sd_g: f64,
    /// Shares of all packs.
    pub wrong: WrongVerdicts,
    /// Zones of indecision about the limits.
    pub zones: Vec<ZoneOfIndecision>,
    /// True weight and the probability that it is rejected as too light, about the lower limit.
    pub rejects_at: Vec<(f64, f64)>,
}

/// A zone of indecision: true weights that get the wrong verdict with more than a stated probability.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ZoneOfIndecision {
    /// The limit.
    pub limit_g: f64,
    /// It is the lower one.
    pub is_lower: bool,
    /// Probability of a wrong verdict at the ends.
    pub wrong: f64,
    /// Low end.
    pub from_g: f64,
    /// High end.
    pub to_g: f64,
    /// Share of all packs with a true weight in it.
    pub share: f64,
}

/// Weight feedback: gain against stability.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FeedbackStudy {
    /// The line has this feedback; else it is one that it could have.
    pub modelled: bool,
    /// Weighed packs between two corrections.
    pub every_packs: u64,
    /// Packs between the cut and the weigher.
    pub dead_time_packs: u64,
    /// The same in corrections.
    pub dead_time_corrections: f64,
    /// Gain for a pack, as modelled; 0 without feedback.
    pub gain: f64,
    /// Gain at which hunting starts, found by following the loop.
    pub hunting_gain: f64,
    /// The same by the formula.
    pub hunting_gain_formula: f64,
    /// What the formula rests on.
    pub basis: Basis,
    /// Formula and loop at dead times of whole corrections.
    pub agreement: Vec<Agreement>,
    /// Rising gains, each with the same luck.
    pub gains: Vec<GainRow>,
    /// The gain with the least spread among them.
    pub best_gain: f64,
    /// A step taken off, or not, at three gains.
    pub swings: Vec<Swing>,
    /// What it does to leave rejects out of the mean.
    pub rejects_left_out: Vec<RejectsLeftOut>,
    /// Packs followed for each gain.
    pub packs: u64,
}

/// The gain at which hunting starts, found and by the formula.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Agreement {
    /// Dead time in corrections.
    pub dead_time_corrections: u32,
    /// Found by following the loop pack by pack.
    pub found: f64,
    /// 2 sin(pi / (2 (2 d + 1))).
    pub formula: f64,
    /// Found over formula, less 1.
    pub difference: f64,
}

/// What a gain does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GainRow {
    /// Gain for a pack.
    pub gain: f64,
    /// The loop settles; else it hunts.
    pub settles: bool,
    /// Standard deviation of the packs.
    pub sd_g: f64,
    /// Standard deviation of the correction.
    pub correction_sd_g: f64,
    /// Share of corrections that ended at a limit.
    pub at_limit: f64,
    /// Share of packs rejected, at the target that the line is set to.
    pub rejected: f64,
}

/// Deviations of the measured means after all packs became one gram too heavy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Swing {
    /// Gain for a pack.
    pub gain: f64,
    /// It dies out.
    pub settles: bool,
    /// In grams, one for each correction.
    pub deviations_g: Vec<f64>,
}

/// What it does to leave rejects out of the mean.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RejectsLeftOut {
    /// Lower reject limit.
    pub low_g: f64,
    /// It is the one of the line.
    pub modelled: bool,
    /// The feedback's target.
    pub target_g: f64,
    /// Mean at which the packs settle, less the target.
    pub bias_g: f64,
    /// Share rejected there.
    pub rejected: f64,
    /// Share rejected with rejects counted.
    pub rejected_when_counted: f64,
}
