//! The test of one lot: a regime's plan for this nominal quantity and this size of lot.

use crate::basis::Basis;
use crate::regime::status;
use crate::regime::{LabelUnit, Limits, LookupError, LotPlanRow, Plan, Regime};

/// One draw of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Draw {
    /// Packs drawn up to and with this draw.
    pub sample: u64,
    /// The packs pass with at most so many below T1.
    pub accept: u64,
    /// They fail with at least so many.
    pub reject: u64,
}

/// The test of the mean: mean error + factor x s is at least 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeanTest {
    /// The first packs of the sample, so many.
    pub sample: u64,
    /// Factor of the standard deviation of the sample (divisor n - 1).
    pub factor: f64,
    /// A mean that is short by exactly factor x s passes.
    pub equal_passes: bool,
}

/// The test of one lot.
#[derive(Clone, Debug, PartialEq)]
pub struct LotTest {
    /// Regime and plan in words.
    pub name: String,
    /// Packs of the lot.
    pub(crate) lot: u64,
    /// Nominal quantity and limits, before the allowance.
    pub limits: Limits,
    /// Allowance for moisture in grams by which reference and limits are lowered; 0 where there is none.
    pub allowance_g: f64,
    /// Draws; the last decides.
    pub(crate) draws: Vec<Draw>,
    /// Test of the mean; none where the plan has none.
    pub(crate) mean: Option<MeanTest>,
    /// How many packs of the sample may lie below T2; none where the test does not ask.
    pub(crate) accept_below_t2: Option<u64>,
    /// What the figures rest on.
    pub bases: Vec<Basis>,
}

impl Regime {
    /// The plan of that id.
    ///
    /// # Errors
    /// When there is none.
    pub fn plan(&self, id: &str) -> Result<&Plan, LookupError> {
        self.plans.iter().find(|plan| plan.id == id).ok_or_else(|| LookupError::NoPlan {
            id: id.to_owned(),
            known: self.plans.iter().map(|plan| plan.id.clone()).collect(),
        })
    }

    /// The test of a lot of `lot` packs of this nominal quantity (see [`Regime::limits`]).
    ///
    /// # Errors
    /// An unknown table or plan, a nominal quantity that is not above 0, or a lot for which the plan has no row.
    pub fn lot_test(
        &self,
        table: &str,
        plan: &str,
        nominal: f64,
        unit: LabelUnit,
        lot: u64,
    ) -> Result<LotTest, LookupError> {
        let limits = self.limits(table, nominal, unit)?;
        let plan = self.plan(plan)?;
        let row = row_of(plan, lot)?;
        let draws: Vec<Draw> = match row.whole_lot {
            Some(whole) => {
                let share = whole.accept_percent.unwrap_or(0.0) / 100.0;
                let accept = whole.accept.unwrap_or((share * lot as f64 + 1e-9) as u64);
                vec![Draw { sample: lot, accept, reject: accept + 1 }]
            }
            None => row
                .draws
                .iter()
                .map(|draw| Draw { sample: draw.sample, accept: draw.accept, reject: draw.reject })
                .collect(),
        };
        let mean = row.mean.map(|mean| MeanTest {
            sample: mean.sample.unwrap_or(draws[0].sample),
            factor: mean.factor,
            equal_passes: plan.equal_mean_passes,
        });
        let mut bases = limits.bases.clone();
        bases.push(self.row_basis_of_plan(plan, row));
        if let Some(beyond) = &plan.beyond_second_limit {
            bases.push(Basis {
                value: format!("{} packs of the sample may lie below the second limit", beyond.accept),
                edition: self.edition.clone(),
                clause: plan.clause.clone(),
                source: beyond.source.clone(),
                status: status(&beyond.read, "accept"),
            });
        }
        Ok(LotTest {
            name: format!("{}, {}", self.title, plan.title),
            lot,
            limits,
            allowance_g: 0.0,
            draws,
            mean,
            accept_below_t2: plan.beyond_second_limit.as_ref().map(|beyond| beyond.accept),
            bases,
        })
    }

    fn row_basis_of_plan(&self, plan: &Plan, row: &LotPlanRow) -> Basis {
        let part = if row.whole_lot.is_some() { "whole_lot" } else { "draws" };
        let mut worst = status(&row.read, "lot_from").and(status(&row.read, part));
        if row.lot_to.is_some() {
            worst = worst.and(status(&row.read, "lot_to"));
        }
        if row.mean.is_some() {
            worst = worst.and(status(&row.read, "mean"));
        }
        let lots =
            row.lot_to.map_or(format!("{} and more", row.lot_from), |to| format!("{} to {to}", row.lot_from));
        Basis {
            value: format!("{}: plan for lots of {lots} packs", plan.title),
            edition: self.edition.clone(),
            clause: plan.clause.clone(),
            source: plan.source.clone(),
            status: worst,
        }
    }
}

fn row_of(plan: &Plan, lot: u64) -> Result<&LotPlanRow, LookupError> {
    plan.rows.iter().find(|row| lot >= row.lot_from && row.lot_to.is_none_or(|to| lot <= to)).ok_or_else(
        || LookupError::NoLotRow {
            plan: plan.id.clone(),
            lot,
            from: plan.rows.first().map_or(1, |row| row.lot_from),
            to: plan.rows.last().and_then(|row| row.lot_to),
        },
    )
}

impl LotTest {
    /// Packs of the lot.
    #[must_use]
    pub fn lot(&self) -> u64 {
        self.lot
    }

    /// Draws; the last decides.
    #[must_use]
    pub fn draws(&self) -> &[Draw] {
        &self.draws
    }

    /// Test of the mean; none where the plan has none.
    #[must_use]
    pub fn mean(&self) -> Option<MeanTest> {
        self.mean
    }

    /// How many packs of the sample may lie below T2; none where the test does not ask.
    #[must_use]
    pub fn accept_below_t2(&self) -> Option<u64> {
        self.accept_below_t2
    }

    /// The same test with an allowance for moisture: mean and limits are held against the nominal quantity less the
    /// allowance.
    ///
    /// # Errors
    /// An allowance that is negative or takes the whole pack.
    pub fn with_allowance(mut self, allowance_g: f64) -> Result<Self, LookupError> {
        if (0.0..self.limits.nominal_g).contains(&allowance_g) {
            self.allowance_g = allowance_g;
            Ok(self)
        } else {
            Err(LookupError::Allowance(allowance_g))
        }
    }

    /// What the mean is held against, in grams.
    #[must_use]
    pub fn reference_g(&self) -> f64 {
        self.limits.nominal_g - self.allowance_g
    }

    /// T1 less the allowance, in grams.
    #[must_use]
    pub fn t1_g(&self) -> f64 {
        self.limits.t1_g - self.allowance_g
    }

    /// T2 less the allowance, in grams; where the regime has one.
    #[must_use]
    pub fn t2_g(&self) -> Option<f64> {
        self.limits.t2_g.map(|limit| limit - self.allowance_g)
    }

    /// Packs that the test takes at most.
    #[must_use]
    pub fn largest_sample(&self) -> u64 {
        self.draws.last().map_or(0, |draw| draw.sample)
    }
}
