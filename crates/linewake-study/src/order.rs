//! How long an order takes: shift after shift until so many good packs are made.

use crate::contrast::histogram;
use crate::design::Design;
use crate::mean::mean_at;
use crate::plan::{AS_MODELLED, BaseModel, Conditions, StudyError, StudyPlan};
use crate::runner::{RunError, Runner};
use crate::study::Study;
use linewake_engine::plan::RunPlan;
use linewake_kpi::study::StudyKind;
use linewake_kpi::study::order::{OrderResult, TimeQuantile};
use linewake_kpi::summary::StartKind;
use linewake_model::time::{Moment, Span};
use linewake_stats::estimate::quantile_of;
use serde::Serialize;

/// Probability for which the needed shifts are told.
const SURE: f64 = 0.9;

/// The order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OrderOptions {
    /// Good packs, at least 1.
    pub packs: u64,
    /// A run is given up after so many shifts.
    pub most_shifts: u64,
}

/// An order study that has been set up.
#[derive(Clone, Debug)]
pub struct OrderStudy {
    base: BaseModel,
    options: OrderOptions,
    plan: StudyPlan,
}

impl OrderStudy {
    /// Sets the study up. The line starts empty, with consumables new or part used as the conditions say, and no warm-up is
    /// dropped; their length does not count.
    ///
    /// # Errors
    /// Figures out of range.
    pub fn prepare(
        base: BaseModel,
        options: OrderOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        if options.packs == 0 {
            return Err(StudyError::option("the order", 0, "it has at least one pack"));
        }
        let most = base.line.shift.length.0.checked_mul(options.most_shifts).filter(|most| *most > 0);
        let Some(most) = most else {
            let hint = "a run is given up after at least one shift";
            return Err(StudyError::option("the most shifts", options.most_shifts, hint));
        };
        let at_best = base.line.design_rate_per_min / 60.0 * Span(most).seconds();
        if options.packs as f64 > at_best {
            let hint = format!(
                "at the design rate {} shifts make {at_best:.0} packs; allow more shifts",
                options.most_shifts
            );
            return Err(StudyError::option("the order", options.packs, &hint));
        }
        let plan = RunPlan {
            horizon: Moment::ZERO + Span(most),
            consumables_part_used: conditions.start == StartKind::LongRun,
            ..RunPlan::shift(&base.line)
        };
        let design = Design::new(AS_MODELLED, base.line.clone(), plan);
        let design = Design { order_packs: Some(options.packs), ..design };
        let conditions = Conditions { warm_up: Span::ZERO, length: Some(Span(most)), ..conditions.clone() };
        let plan = StudyPlan::new(StudyKind::Order, &base.line, vec![design], &conditions, &options, true)?;
        Ok(Self { base, options, plan })
    }
}

impl Study for OrderStudy {
    type Found = OrderResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<OrderResult, RunError> {
        runner.run_all()?;
        let runs = self.plan.conditions.runs;
        let records = runner.records();
        let mut times: Vec<f64> = records.iter().filter_map(|record| record.finished_s).collect();
        times.sort_by(f64::total_cmp);
        let unfinished = runs - times.len() as u64;
        if times.is_empty() {
            return Err(RunError::NoAnswer(format!(
                "no run made {} packs within {} shifts; allow more shifts",
                self.options.packs, self.options.most_shifts
            )));
        }
        // Runs that did not finish count as longer than any other.
        let quantile = |probability: f64| {
            let mut all = times.clone();
            all.resize(usize::try_from(runs).unwrap_or(times.len()), f64::INFINITY);
            quantile_of(&all, probability).filter(|time| time.is_finite())
        };
        let shift_s = self.base.line.shift.length.seconds();
        let mut done_within_shifts = Vec::new();
        for shifts in 1..=self.options.most_shifts {
            let limit = shifts as f64 * shift_s;
            let done = times.iter().filter(|time| **time <= limit).count() as f64;
            done_within_shifts.push(done / runs as f64);
            if done >= runs as f64 {
                break;
            }
        }
        let shifts_needed = done_within_shifts
            .iter()
            .position(|share| *share >= SURE)
            .map_or(self.options.most_shifts, |place| place as u64 + 1);
        let time_s = mean_at(&times, self.plan.conditions.level);
        let mut notes = Vec::new();
        if unfinished > 0 {
            notes.push(format!(
                "{unfinished} of {runs} runs did not finish within {} shifts: the mean and the histogram leave them out",
                self.options.most_shifts
            ));
        }
        let quantiles = [0.1, 0.5, 0.8, 0.9, 0.95];
        Ok(OrderResult {
            head: self.plan.head(StudyKind::Order, &self.base.line, runs, Vec::new(), notes),
            packs: self.options.packs,
            quantiles: quantiles
                .into_iter()
                .filter_map(|probability| Some(TimeQuantile { probability, time_s: quantile(probability)? }))
                .collect(),
            histogram: histogram(&times),
            spare_capacity: 1.0 - time_s.mean / (shifts_needed as f64 * shift_s),
            time_s,
            shift_s,
            shifts_needed,
            done_within_shifts,
            unfinished,
            most_s: self.options.most_shifts as f64 * shift_s,
        })
    }
}

#[cfg(test)]
mod tests;
