//! Two or more models, run with the same luck.

use crate::contrast::{Reading, differences, good};
use crate::design::Design;
use crate::mean::mean_at;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums, shared_luck};
use linewake_kpi::study::comparison::{ComparedModel, ComparisonResult, PairDifference};
use linewake_kpi::study::{Method, StudyKind};
use linewake_kpi::summary::Mean;
use linewake_stats::interval::shared_luck_ratio;
use linewake_stats::multiple::{holm, simultaneous_level};
use linewake_stats::sampling_law::student_t_tail;
use serde::Serialize;

/// A comparison that has been set up.
#[derive(Clone, Debug)]
pub struct ComparisonStudy {
    models: Vec<(String, BaseModel)>,
    plan: StudyPlan,
}

#[derive(Serialize)]
struct Options<'o> {
    models: Vec<(&'o str, &'o str)>,
}

impl ComparisonStudy {
    /// Sets the study up: two or more models, each with its name.
    ///
    /// # Errors
    /// Fewer than two models, two of the same name, figures out of range.
    pub fn prepare(models: Vec<(String, BaseModel)>, conditions: &Conditions) -> Result<Self, StudyError> {
        let Some((_, first)) = models.first().filter(|_| models.len() >= 2) else {
            return Err(StudyError::option("the number of models", models.len(), "name at least two"));
        };
        for (place, (label, _)) in models.iter().enumerate() {
            if models[..place].iter().any(|(before, _)| before == label) {
                return Err(StudyError::option("a model", label, "give each model a name of its own"));
            }
        }
        let designs = models
            .iter()
            .map(|(label, model)| Design::new(label, model.line.clone(), conditions.run_plan(&model.line)))
            .collect();
        let options = Options {
            models: models
                .iter()
                .map(|(label, model)| (label.as_str(), model.line.digest.as_str()))
                .collect(),
        };
        let plan = StudyPlan::new(StudyKind::Comparison, &first.line, designs, conditions, options, true)?;
        Ok(Self { models, plan })
    }
}

impl Study for ComparisonStudy {
    type Found = ComparisonResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<ComparisonResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let count = self.models.len();
        let models: Vec<ComparedModel> = self
            .models
            .iter()
            .enumerate()
            .map(|(place, (label, model))| ComparedModel {
                label: label.clone(),
                digest: model.line.digest.clone(),
                design_rate_per_min: model.line.design_rate_per_min,
                good_packs: reading.mean(place, good),
                oee: reading.oee(place),
            })
            .collect();
        let packs: Vec<Vec<f64>> = (0..count).map(|place| reading.values(place, good)).collect();
        let family = count * (count - 1) / 2;
        let level = simultaneous_level(reading.level, family);
        let mut pairs = Vec::new();
        for first in 0..count {
            for second in first + 1..count {
                let apart = differences(&packs[first], &packs[second]);
                let difference = mean_at(&apart, reading.level);
                pairs.push(PairDifference {
                    first,
                    second,
                    good_packs: difference,
                    simultaneous_half_width: mean_at(&apart, level).half_width,
                    oee: reading.difference(first, second, |record| record.oee),
                    p_value: p_value(&apart),
                    p_holm: None,
                    is_clear: false,
                    shared_luck_ratio: shared_luck_ratio(&packs[first], &packs[second]),
                });
            }
        }
        let p_values: Vec<f64> = pairs.iter().map(|pair| pair.p_value.unwrap_or(f64::NAN)).collect();
        for (pair, corrected) in pairs.iter_mut().zip(holm(&p_values)) {
            pair.p_holm = pair.p_value.map(|_| corrected);
            pair.is_clear = pair.p_holm.is_some_and(|p| p < 1.0 - reading.level);
        }
        let best =
            (0..count).find(|&place| (0..count).all(|other| other == place || beats(&pairs, place, other)));
        let methods = vec![
            shared_luck(),
            Method {
                what: format!(
                    "{family} differences are judged at once: p-values corrected by Holm, simultaneous intervals by Bonferroni"
                ),
                source: "Holm (1979), Scandinavian Journal of Statistics 6, 65-70; Dunn (1961), Journal of the American \
                         Statistical Association 56, 52-64"
                    .to_owned(),
            },
            ratio_of_sums(),
        ];
        let runs = runner.records().len() as u64;
        let line = &self.models[0].1.line;
        let mut notes = Vec::new();
        if self.models.iter().any(|(_, model)| model.line.shift.length != line.shift.length)
            && self.plan.conditions.length.is_none()
        {
            notes
                .push("the models have shifts of different length: compare OEE, or give a length".to_owned());
        }
        Ok(ComparisonResult {
            head: self.plan.head(StudyKind::Comparison, line, runs, methods, notes),
            models,
            pairs,
            family,
            best,
        })
    }
}

fn beats(pairs: &[PairDifference], one: usize, other: usize) -> bool {
    pairs.iter().any(|pair| {
        let is_better = |mean: &Mean, sign: f64| pair.is_clear && sign * mean.mean > 0.0;
        (pair.first, pair.second) == (other, one) && is_better(&pair.good_packs, 1.0)
            || (pair.first, pair.second) == (one, other) && is_better(&pair.good_packs, -1.0)
    })
}

/// Two-sided p-value of the t-test that the mean of these differences is 0; `None` from less than two.
fn p_value(apart: &[f64]) -> Option<f64> {
    let estimate = linewake_stats::estimate::Estimate::of(apart, 0.95)?;
    let error = estimate.standard_error?;
    if error <= 0.0 {
        // The same difference in every run: none at all, or a certain one.
        return Some(if estimate.mean.abs() > 0.0 { 0.0 } else { 1.0 });
    }
    Some((2.0 * student_t_tail((estimate.mean / error).abs(), (estimate.n - 1) as f64)).min(1.0))
}

#[cfg(test)]
mod tests;
