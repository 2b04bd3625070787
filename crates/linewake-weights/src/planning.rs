//! One line at one regime: giveaway, rejects, lots, the smallest target and what would change it.
//!
//! [`Asked`] is what is asked, [`Asked::answer`] works it out, [`Found`] is plain data for a page or a file. The line is
//! known only by the weights of its packs, its checkweigher and its feedback.

mod at_target;
mod feedback_study;
mod found;
mod spread;
mod usual;
mod variants;

pub use found::{
    Agreement, AtTarget, ClosedForm, FeedbackStudy, Found, GainRow, LessSpread, LimitsFound, LotPasses,
    Money, RegimeFound, RejectsLeftOut, SmallestFound, SpreadFound, Swing, Variant, WeigherFound,
    ZoneOfIndecision,
};

pub use usual::{LOT_PASSES, REJECTED, StatedLevels, possible_feedback};

use crate::basis::Basis;
use crate::feedback::{Deviations, FeedbackError, FeedbackLoop, settled};
use crate::lot_test::LotTest;
use crate::packs::{Gate, Packs, PacksError};
use crate::regime::{LabelUnit, Limits, LookupError, Regime};
use crate::target::{Case, Levels, TargetError};
use core::fmt;
use linewake_stats::stream::Streams;
use spread::Spread;

/// Steps in which a target is sought, in grams.
pub const TARGET_STEP_G: f64 = 0.1;

/// Most simulated lots for each target.
const MOST_TESTS: u64 = 1_000_000;

/// What is asked. Masses in grams.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    /// Tables and plans.
    pub regime: &'a Regime,
    /// Id of the table.
    pub table: &'a str,
    /// Id of the plan; none for a regime without plans.
    pub plan: Option<&'a str>,
    /// Nominal quantity, in the label's unit.
    pub nominal: f64,
    /// Unit of the label.
    pub unit: LabelUnit,
    /// Allowance for moisture.
    pub allowance_g: f64,
    /// Packs of a lot.
    pub lot_packs: u64,
    /// Target that the line is set to: the mean weight of its packs, or what the feedback holds.
    pub set_g: f64,
    /// What makes packs differ, before any correction; its mean is of no account.
    pub deviations: Deviations,
    /// The checkweigher.
    pub gate: Gate,
    /// The feedback as modelled; its target is of no account, limits of the correction are about the target.
    pub feedback: Option<FeedbackLoop>,
    /// The loop that is studied: the modelled one, or one that the line could have. None without a checkweigher.
    pub studied: Option<FeedbackLoop>,
    /// What is promised.
    pub levels: Levels,
    /// What the levels rest on, where they come from the regime.
    pub level_bases: Vec<Basis>,
    /// Packs and prices.
    pub trade: TradeFigures,
    /// What else is tried.
    pub tried: Tried,
    /// Lots simulated at each target.
    pub tests: u64,
    /// Packs followed for each gain of a feedback.
    pub follow_packs: u64,
    /// Seed of all chance.
    pub seed: u64,
}

/// Packs and prices; what is not known is left out of the results.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TradeFigures {
    /// Currency of the prices.
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

/// Changes of the line that are tried, each alone. Masses in grams.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tried {
    /// Standard deviations from pack to pack.
    pub sd_pack_g: Vec<f64>,
    /// Gains of the feedback, for a pack; 0 is no feedback.
    pub gains: Vec<f64>,
    /// Lower reject limits; `None`: without.
    pub low_g: Vec<Option<f64>>,
    /// Upper reject limits; `None`: without.
    pub high_g: Vec<Option<f64>>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanningError {
    /// Table, plan, nominal quantity or lot.
    Lookup(LookupError),
    /// The packs or the weigher.
    Packs(PacksError),
    /// The feedback.
    Feedback(FeedbackError),
    /// No target keeps what is promised.
    Target(TargetError),
    /// A count out of range.
    Count {
        /// Its name.
        name: &'static str,
        /// Its value.
        value: u64,
        /// It may be at most this, and must be at least 1.
        most: u64,
    },
}

impl fmt::Display for PlanningError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Lookup(error) => error.fmt(f),
            Self::Packs(error) => error.fmt(f),
            Self::Feedback(error) => error.fmt(f),
            Self::Target(error) => error.fmt(f),
            Self::Count { name, value, most } => {
                write!(f, "{name}: {value}; it must lie between 1 and {most}")
            }
        }
    }
}

impl core::error::Error for PlanningError {}

impl From<LookupError> for PlanningError {
    fn from(error: LookupError) -> Self {
        Self::Lookup(error)
    }
}

impl From<PacksError> for PlanningError {
    fn from(error: PacksError) -> Self {
        Self::Packs(error)
    }
}

impl From<FeedbackError> for PlanningError {
    fn from(error: FeedbackError) -> Self {
        Self::Feedback(error)
    }
}

impl From<TargetError> for PlanningError {
    fn from(error: TargetError) -> Self {
        Self::Target(error)
    }
}

/// What is asked, with limits and test looked up.
struct Ready<'a> {
    asked: &'a Asked<'a>,
    limits: Limits,
    test: Option<LotTest>,
    streams: Streams,
}

impl Asked<'_> {
    /// Works everything out. The same question has the same answer, to the bit.
    ///
    /// # Errors
    /// A table, plan, nominal quantity, lot or allowance that is none, figures that are no packs, weigher or feedback, or no
    /// target that keeps what is promised.
    pub fn answer(&self) -> Result<Found, PlanningError> {
        for (name, value, most) in [
            ("lots simulated at each target", self.tests, MOST_TESTS),
            ("packs followed for each gain", self.follow_packs, 100_000_000),
        ] {
            if !(1..=most).contains(&value) {
                return Err(PlanningError::Count { name, value, most });
            }
        }
        let ready = self.ready()?;
        let spread = Spread::of(&self.deviations, self.feedback.as_ref(), &self.gate, self)?;
        let packs = spread.packs(self.set_g);
        packs.check()?;
        self.gate.check()?;
        let sought = ready.smallest(&spread, &self.gate)?;
        let set_mean_g = self.set_mean_g(&packs)?;
        let as_set = ready.at(&spread, &self.gate, set_mean_g)?;
        let smallest = ready.at(&spread, &self.gate, sought.target_g)?;
        Ok(Found {
            regime: ready.regime(),
            limits: LimitsFound::of(&ready.limits, self.allowance_g),
            levels: self.levels,
            trade: Money::of(&self.trade),
            gate: self.gate,
            spread: SpreadFound::of(&spread, self),
            set_g: self.set_g,
            set_mean_g,
            as_set,
            less_spread: variants::less_spread(&ready, &smallest)?,
            variants: variants::variants(&ready, &smallest)?,
            curve: ready.curve(&spread, sought.target_g)?,
            weigher: ready.weigher(&spread, sought.target_g)?,
            feedback: self.studied.map(|studied| feedback_study::study(self, &studied)).transpose()?,
            smallest: SmallestFound::of(smallest, &sought),
            bases: ready.bases(),
            tests: self.tests,
        })
    }

    fn ready(&self) -> Result<Ready<'_>, PlanningError> {
        let limits = self.regime.limits(self.table, self.nominal, self.unit)?;
        let test = match self.plan {
            Some(plan) => {
                let test = self.regime.lot_test(self.table, plan, self.nominal, self.unit, self.lot_packs)?;
                Some(test.with_allowance(self.allowance_g)?)
            }
            None if (0.0..limits.nominal_g).contains(&self.allowance_g) => None,
            None => return Err(LookupError::Allowance(self.allowance_g).into()),
        };
        Ok(Ready { asked: self, limits, test, streams: Streams::new(self.seed, 0) })
    }

    /// Mean weight of the packs as the line is set: what the feedback settles at where rejects are left out of its mean.
    fn set_mean_g(&self, packs: &Packs) -> Result<f64, PlanningError> {
        match self.feedback {
            Some(feedback) => Ok(settled(packs, &self.gate, self.set_g, feedback.count_rejects)?.mean_g),
            None => Ok(self.set_g),
        }
    }
}

impl Ready<'_> {
    fn reference_g(&self) -> f64 {
        self.limits.nominal_g - self.asked.allowance_g
    }

    fn case<'b>(&'b self, spread: &Spread, gate: &Gate) -> Case<'b> {
        Case {
            packs: spread.packs(self.reference_g()),
            gate: *gate,
            limits: &self.limits,
            allowance_g: self.asked.allowance_g,
            test: self.test.as_ref(),
            makeup: spread.makeup(self.asked.lot_packs),
            tests: self.asked.tests,
            streams: self.streams,
        }
    }

    fn regime(&self) -> RegimeFound {
        let regime = self.asked.regime;
        let title = regime.tables.iter().find(|table| table.id == self.asked.table);
        let plan = self.asked.plan.and_then(|plan| regime.plans.iter().find(|one| one.id == plan));
        RegimeFound {
            id: regime.id.clone(),
            title: regime.title.clone(),
            edition: regime.edition.clone(),
            caution: regime.caution.clone(),
            note: regime.note.clone(),
            table: self.asked.table.to_owned(),
            table_title: title.map_or_else(String::new, |table| table.title.clone()),
            plan: plan.map(|plan| plan.id.clone()),
            plan_title: plan.map(|plan| plan.title.clone()),
            lot_packs: self.asked.lot_packs,
            first_sample: self.test.as_ref().and_then(|test| test.draws().first().map(|draw| draw.sample)),
            largest_sample: self.test.as_ref().map(LotTest::largest_sample),
            mean_factor: self.test.as_ref().and_then(|test| test.mean().map(|mean| mean.factor)),
        }
    }

    fn bases(&self) -> Vec<Basis> {
        let mut bases =
            self.test.as_ref().map_or_else(|| self.limits.bases.clone(), |test| test.bases.clone());
        bases.extend(self.asked.level_bases.iter().cloned());
        bases.dedup();
        bases
    }
}

#[cfg(test)]
mod tests;
