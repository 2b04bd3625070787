//! Losses by supplier, and guarantees that add up to the line's.

use crate::contrast::{Reading, good, proportion};
use crate::design::Design;
use crate::mean::mean_at;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::record::{Keep, RunRecord};
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums, shared_luck};
use linewake_engine::plan::RunPlan;
use linewake_kpi::result::CauseKind;
use linewake_kpi::study::StudyKind;
use linewake_kpi::study::scope::{ScopeResult, SupplierRow};
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::StationKind;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_stats::estimate::quantile_of;
use serde::Serialize;

/// How sure the guarantee is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ScopeOptions {
    /// Probability with which the line reaches its value in one run, between 0.5 and 1.
    pub probability: f64,
}

impl Default for ScopeOptions {
    fn default() -> Self {
        Self { probability: 0.9 }
    }
}

/// A scope study that has been set up.
#[derive(Clone, Debug)]
pub struct ScopeStudy {
    base: BaseModel,
    options: ScopeOptions,
    suppliers: Vec<Option<String>>,
    plan: StudyPlan,
}

impl ScopeStudy {
    /// Sets the study up.
    ///
    /// # Errors
    /// A model in which no station names its supplier, figures out of range.
    pub fn prepare(
        base: BaseModel,
        options: ScopeOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        if !(options.probability > 0.5 && options.probability < 1.0) {
            let hint = "it lies above 50 % and below 100 %, as in 90 %";
            return Err(StudyError::option("the probability", options.probability, hint));
        }
        let mut suppliers: Vec<Option<String>> = Vec::new();
        for station in &base.line.stations {
            if station.supplier.is_some() && !suppliers.contains(&station.supplier) {
                suppliers.push(station.supplier.clone());
            }
        }
        if suppliers.is_empty() {
            let hint = "name the supplier of at least one station in the model (\"supplier\": \"...\")";
            return Err(StudyError::option("the suppliers", "none", hint));
        }
        let keep = Keep { ledger: true, ..Keep::default() };
        let mut designs = vec![Design { keep, ..base.as_modelled(conditions) }];
        for supplier in &suppliers {
            let switched_off = all_stops(&base.line, supplier.as_deref());
            let plan = RunPlan { switched_off, ..conditions.run_plan(&base.line) };
            let name = supplier.as_deref().unwrap_or_default();
            designs.push(Design::new(format!("without stops of {name}"), base.line.clone(), plan));
        }
        suppliers.push(None);
        let plan = StudyPlan::new(StudyKind::Scope, &base.line, designs, conditions, options, true)?;
        Ok(Self { base, options, suppliers, plan })
    }

    /// Packs of a run that are charged to each supplier, in their order; they add up to design less good.
    fn charges(&self, record: &RunRecord) -> Vec<f64> {
        let line = &self.base.line;
        let mut charges = vec![0.0; self.suppliers.len()];
        let last = charges.len() - 1;
        let place = |station: Option<StationIndex>| {
            let supplier = station.and_then(|at| line.stations.get(at)?.supplier.clone());
            self.suppliers.iter().position(|known| supplier.is_some() && *known == supplier).unwrap_or(last)
        };
        let Some(ledger) = &record.ledger else { return charges };
        for cause in &ledger.causes {
            let whose = match cause.kind {
                CauseKind::StartUp | CauseKind::Unknown => last,
                _ => place(cause.station),
            };
            charges[whose] += cause.packs;
        }
        for reject in &ledger.rejects {
            charges[place(origin(line, reject.station, &reject.reason))] += reject.packs as f64;
        }
        let constraint = place(Some(line.constraint));
        charges[constraint] += ledger.slow_cycles_packs + ledger.empty_pockets as f64;
        charges[last] += ledger.still_in_line_packs as f64;
        charges
    }
}

/// Every stop of the stations of a supplier.
fn all_stops(line: &Line, supplier: Option<&str>) -> Vec<(StationIndex, Reason)> {
    let own = line.stations.iter().enumerate();
    own.filter(|(_, station)| station.supplier.as_deref() == supplier)
        .flat_map(|(place, station)| {
            let fail_safes = [Reason::REJECTS_IN_ROW, Reason::BIN_FULL, Reason::TAGS_IN_ROW];
            let reasons = station.stops.iter().map(|stop| stop.reason).chain(fail_safes);
            reasons.map(move |reason| (place, reason)).collect::<Vec<_>>()
        })
        .collect()
}

/// The station that answers for a reject, which may lie in the bin of another; `None`: the product itself, or a defect of the
/// model's own.
fn origin(line: &Line, bin: StationIndex, reason: &str) -> Option<StationIndex> {
    let kind = |is: fn(&StationKind) -> bool| line.stations.iter().position(|station| is(&station.kind));
    let former = || kind(|kind| matches!(kind, StationKind::Former(_)));
    let fixed = FIXED_REASONS.iter().position(|known| *known == reason).map(|place| Reason(place as u16));
    match fixed {
        Some(Reason::MISPRINT | Reason::LABEL_MISSING | Reason::LEAK | Reason::FALSE_TAG) => former(),
        Some(Reason::HELD_IN_SEAL | Reason::FIRST_OFF | Reason::AGED) => former(),
        Some(Reason::UNDERWEIGHT | Reason::OVERWEIGHT) => {
            kind(|kind| matches!(kind, StationKind::Portioner(_)))
        }
        Some(Reason::DROPPED | Reason::FALSE_REJECT) => Some(bin),
        Some(Reason::CONTAMINATED) | None => None,
        Some(_) => Some(bin),
    }
}

impl Study for ScopeStudy {
    type Found = ScopeResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<ScopeResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let (level, runs) = (reading.level, reading.runs);
        let records: Vec<&RunRecord> = (0..runs).filter_map(|number| runner.record(0, number)).collect();
        let charges: Vec<Vec<f64>> = records.iter().map(|record| self.charges(record)).collect();
        let design_packs = reading.mean(0, |record| record.design_packs).mean;
        let mut packs = reading.values(0, good);
        packs.sort_by(f64::total_cmp);
        let guaranteed = quantile_of(&packs, 1.0 - self.options.probability).unwrap_or(0.0);
        let allowance = design_packs - guaranteed;
        let columns: Vec<Vec<f64>> =
            (0..self.suppliers.len()).map(|place| charges.iter().map(|row| row[place]).collect()).collect();
        let means: Vec<f64> = columns.iter().map(|column| mean_at(column, level).mean).collect();
        // What a supplier makes up for (a negative charge) gives it no negative allowance.
        let positive: f64 = means.iter().map(|mean| mean.max(0.0)).sum();
        let mut rows = Vec::new();
        for (place, supplier) in self.suppliers.iter().enumerate() {
            let share = if positive > 0.0 { means[place].max(0.0) / positive } else { 0.0 };
            let allowance_packs = allowance * share;
            let mut sorted = columns[place].clone();
            sorted.sort_by(f64::total_cmp);
            let stations = self.base.line.stations.iter().filter(|station| station.supplier == *supplier);
            rows.push(SupplierRow {
                supplier: supplier.clone(),
                stations: stations.map(|station| station.id.clone()).collect(),
                charged_packs: mean_at(&columns[place], level),
                gain_packs: supplier.as_ref().map(|_| reading.difference(0, place + 1, good)),
                allowance_packs,
                allowance_share: if design_packs > 0.0 { allowance_packs / design_packs } else { 0.0 },
                alone_packs: quantile_of(&sorted, self.options.probability).unwrap_or(0.0),
                within_allowance: proportion(&columns[place], level, |charge| charge <= allowance_packs),
            });
        }
        let notes = vec![
            "the allowances and the guaranteed packs add up to the design; each supplier's own limit at the same probability \
             would not, since not all are unlucky in the same run"
                .to_owned(),
            "rejects are charged to the station at which the defect arises: print, label, seal and packs spoilt by stops to \
             the former, weights to the portioner, false rejects to their gate; contaminated packs and the model's own \
             defects to no supplier"
                .to_owned(),
        ];
        let methods = vec![shared_luck(), ratio_of_sums()];
        let runs = runner.records().len() as u64;
        Ok(ScopeResult {
            head: self.plan.head(StudyKind::Scope, &self.base.line, runs, methods, notes),
            base: reading.figures(0, 0),
            design_packs,
            probability: self.options.probability,
            guaranteed_good_packs: guaranteed,
            suppliers: rows,
        })
    }
}

#[cfg(test)]
mod tests;
