//! Output against the number of operators and the time in which they come.

use crate::contrast::{Reading, good, scaled};
use crate::design::Design;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums, shared_luck};
use linewake_kpi::study::StudyKind;
use linewake_kpi::study::crew::{CrewCell, CrewResult};
use serde::Serialize;

/// Which crews.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CrewOptions {
    /// Numbers of operators.
    pub operators: Vec<u32>,
    /// Response times as multiples of the modelled ones, above 0.
    pub response_factors: Vec<f64>,
}

impl Default for CrewOptions {
    fn default() -> Self {
        Self { operators: vec![1, 2, 3, 4], response_factors: vec![0.5, 1.0, 2.0] }
    }
}

/// A crew study that has been set up.
#[derive(Clone, Debug)]
pub struct CrewStudy {
    base: BaseModel,
    options: CrewOptions,
    plan: StudyPlan,
}

impl CrewStudy {
    /// Sets the study up.
    ///
    /// # Errors
    /// A model without operators, no operators or response times to try, one of them twice or out of range.
    pub fn prepare(
        base: BaseModel,
        mut options: CrewOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        if base.tree.value("crew.operators").is_err() {
            let hint = "the model needs a \"crew\", and attended stops, for this study";
            return Err(StudyError::option("crew", "missing", hint));
        }
        options.operators.sort_unstable();
        options.operators.dedup();
        options.response_factors.sort_by(f64::total_cmp);
        options.response_factors.dedup_by(|one, other| (*one - *other).abs() < 1e-9);
        if options.operators.is_empty() {
            return Err(StudyError::option("operators", "missing", "name the numbers to try, as in 1,2,3"));
        }
        if options.response_factors.is_empty() {
            options.response_factors.push(1.0);
        }
        if let Some(factor) =
            options.response_factors.iter().find(|factor| !(**factor > 0.0 && factor.is_finite()))
        {
            return Err(StudyError::option("a response factor", factor, "it is above 0"));
        }
        let mut designs = vec![base.as_modelled(conditions)];
        for &operators in &options.operators {
            for &factor in &options.response_factors {
                designs.push(design(&base, operators, factor, conditions)?);
            }
        }
        let plan = StudyPlan::new(StudyKind::Crew, &base.line, designs, conditions, &options, true)?;
        Ok(Self { base, options, plan })
    }
}

fn design(
    base: &BaseModel,
    operators: u32,
    factor: f64,
    conditions: &Conditions,
) -> Result<Design, StudyError> {
    let label = format!("{operators} operators, response x {factor}");
    let wrong = |error| StudyError::Design(label.clone(), error);
    let mut tree = base.tree.clone();
    tree.set("crew.operators", &operators.to_string())?;
    let own = base.line.stations.iter().filter(|station| station.response_s.is_some());
    let mut responses: Vec<String> =
        own.map(|station| format!("stations[{}].response", station.id)).collect();
    responses.push("crew.response".to_owned());
    if (factor - 1.0).abs() > 1e-9 {
        for path in &responses {
            tree.scale(path, factor).map_err(wrong)?;
        }
    }
    let line = tree.check().map_err(wrong)?.line;
    let plan = conditions.run_plan(&line);
    let values = vec![operators.to_string(), factor.to_string()];
    Ok(Design { values, ..Design::new(label, line, plan) })
}

impl Study for CrewStudy {
    type Found = CrewResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<CrewResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let (operators, factors) = (&self.options.operators, &self.options.response_factors);
        let place = |crew: usize, factor: usize| 1 + crew * factors.len() + factor;
        let mut cells = Vec::new();
        for (crew, &count) in operators.iter().enumerate() {
            for (number, &response_factor) in factors.iter().enumerate() {
                let design = place(crew, number);
                let packs_per_operator = crew.checked_sub(1).map(|before| {
                    let more = f64::from(count - operators[before]);
                    scaled(reading.difference(place(before, number), design, good), 1.0 / more)
                });
                cells.push(CrewCell {
                    operators: count,
                    response_factor,
                    figures: reading.figures(design, 0),
                    waiting_s: reading.mean(design, |record| record.waiting_s),
                    packs_per_operator,
                });
            }
        }
        // At the response time nearest to the modelled one.
        let usual = (0..factors.len())
            .min_by(|&one, &other| (factors[one] - 1.0).abs().total_cmp(&(factors[other] - 1.0).abs()))
            .unwrap_or(0);
        let most = place(operators.len() - 1, usual);
        let enough = operators.iter().enumerate().find(|(crew, _)| {
            let design = place(*crew, usual);
            let lost = reading.difference(design, most, good);
            design == most || lost.mean <= lost.half_width.unwrap_or(0.0)
        });
        let runs = runner.records().len() as u64;
        let methods = vec![shared_luck(), ratio_of_sums()];
        Ok(CrewResult {
            head: self.plan.head(StudyKind::Crew, &self.base.line, runs, methods, Vec::new()),
            base: reading.figures(0, 0),
            operators_as_modelled: self.base.line.crew.operators,
            operators: operators.clone(),
            response_factors: factors.clone(),
            cells,
            enough: enough.map(|(_, operators)| *operators),
        })
    }
}

#[cfg(test)]
mod tests;
