//! The best way to share out a number of places among several buffers, with a stated probability of being right.

use crate::contrast::{differences, good};
use crate::mean::mean_at;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::runner::{RunError, Runner};
use crate::study::{Study, shared_luck};
use linewake_kpi::study::split::{SplitResult, SplitRow};
use linewake_kpi::study::{Method, StudyKind};
use linewake_model::station::StationKind;
use linewake_stats::selection::{Choice, Wish, fully_sequential};
use serde::Serialize;

/// Most ways to share out that are looked at.
const MOST_SPLITS: usize = 2_000;

/// What is shared out, and how sure the choice must be.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SplitOptions {
    /// Paths of the capacities, at least two.
    pub paths: Vec<String>,
    /// Places in all; `None`: as many as the model has there.
    pub total: Option<u32>,
    /// Places are handed out in steps of this size.
    pub step: u32,
    /// Fewest places of each buffer.
    pub least: u32,
    /// Probability of choosing the best, or one within the indifference zone of it; between 1 / splits and 1.
    pub probability: f64,
    /// Differences below so many good packs a run do not matter, above 0.
    pub indifference_packs: f64,
    /// Runs of each split before the first is dropped, at least 10.
    pub first: u64,
    /// Most runs of a split.
    pub most: u64,
}

impl Default for SplitOptions {
    fn default() -> Self {
        Self {
            paths: Vec::new(),
            total: None,
            step: 10,
            least: 0,
            probability: 0.95,
            indifference_packs: 50.0,
            first: 20,
            most: 2_000,
        }
    }
}

/// A split study that has been set up.
#[derive(Clone, Debug)]
pub struct SplitStudy {
    base: BaseModel,
    options: SplitOptions,
    stations: Vec<String>,
    total: u32,
    splits: Vec<Vec<u32>>,
    modelled: Option<usize>,
    plan: StudyPlan,
}

impl SplitStudy {
    /// Sets the study up: one design for each way to share out. The number of runs of the conditions does not count.
    ///
    /// # Errors
    /// Fewer than two paths, a path that is no capacity of a belt or table, a total that the steps do not meet, too many
    /// splits, splits with which the model does not pass its check, figures out of range.
    pub fn prepare(
        base: BaseModel,
        mut options: SplitOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        check(&options)?;
        let mut stations = Vec::new();
        let mut modelled = Vec::new();
        for path in &mut options.paths {
            *path = base.tree.full_path(path)?;
            let id = base.tree.station_of(path)?.unwrap_or_default();
            let kind = base.line.station(&id).map(|at| &base.line.stations[at].kind);
            if !matches!(kind, Some(StationKind::Accumulator(_))) || !path.ends_with(".capacity") {
                let hint = "name the capacity of a belt or table, as in \"stations[table].capacity\"";
                return Err(StudyError::option("a path", &*path, hint));
            }
            if stations.contains(&id) {
                return Err(StudyError::option("a path", &*path, "name each buffer once"));
            }
            modelled.push(base.tree.value(path)?.parse::<u32>().ok());
            stations.push(id);
        }
        let modelled: Option<Vec<u32>> = modelled.into_iter().collect();
        let total = options.total.or_else(|| modelled.as_ref().map(|places| places.iter().sum()));
        let Some(total) = total else {
            let hint = "a buffer of the model is unlimited; say how many places there are to share out";
            return Err(StudyError::option("the total", "missing", hint));
        };
        let splits = splits_of(total, options.paths.len(), options.least, options.step)?;
        let mut designs = Vec::new();
        for places in &splits {
            let settings: Vec<(String, String)> =
                options.paths.iter().cloned().zip(places.iter().map(u32::to_string)).collect();
            designs.push(base.with(&settings, conditions)?);
        }
        let modelled = modelled.and_then(|places| splits.iter().position(|split| *split == places));
        let plan = StudyPlan::new(StudyKind::Split, &base.line, designs, conditions, &options, false)?;
        Ok(Self { base, options, stations, total, splits, modelled, plan })
    }

    fn rows(&self, runner: &Runner<'_>, choice: &Choice) -> Vec<SplitRow> {
        let level = self.plan.conditions.level;
        let values = |design: usize| runner.values(design, choice.observations[design], good);
        let best = values(choice.best);
        // The chosen one, then those that lasted longest; of these the one with most packs first.
        let mut order: Vec<usize> = (0..self.splits.len()).collect();
        let mean = |design: usize| mean_at(&values(design), level).mean;
        order.sort_by(|&one, &other| {
            let is_best = |design: usize| design == choice.best;
            is_best(other)
                .cmp(&is_best(one))
                .then(choice.observations[other].cmp(&choice.observations[one]))
                .then(mean(other).total_cmp(&mean(one)))
        });
        order
            .into_iter()
            .map(|design| {
                let own = values(design);
                SplitRow {
                    places: self.splits[design].clone(),
                    good_packs: mean_at(&own, level),
                    against_chosen: (design != choice.best)
                        .then(|| mean_at(&differences(&best, &own), level)),
                    runs: choice.observations[design],
                    is_dropped: choice.dropped.contains(&design),
                }
            })
            .collect()
    }
}

fn check(options: &SplitOptions) -> Result<(), StudyError> {
    if options.paths.len() < 2 {
        let hint = "name at least two capacities to share the places among";
        return Err(StudyError::option("the number of buffers", options.paths.len(), hint));
    }
    if options.step == 0 {
        return Err(StudyError::option("the step", 0, "places are handed out at least one by one"));
    }
    if !(options.indifference_packs > 0.0 && options.indifference_packs.is_finite()) {
        let hint = "say how many packs a run do not matter, above 0";
        return Err(StudyError::option("the indifference zone", options.indifference_packs, hint));
    }
    if options.first < 10 || options.most < options.first {
        let hint = "at least 10 first runs, and at most as many as the most runs";
        return Err(StudyError::option("the first runs", options.first, hint));
    }
    Ok(())
}

/// All ways to share `total` places out among so many buffers, at least `least` each and the rest in steps of `step`, in
/// rising order of the first buffer's places.
///
/// # Errors
/// A total that this does not meet, only one way, or more than 2,000.
pub fn splits_of(total: u32, buffers: usize, least: u32, step: u32) -> Result<Vec<Vec<u32>>, StudyError> {
    let wrong = |hint: &str| Err(StudyError::option("the total", total, hint));
    let Some(free) = u32::try_from(buffers)
        .ok()
        .and_then(|count| least.checked_mul(count))
        .and_then(|least| total.checked_sub(least))
    else {
        return wrong("it is below the fewest places of all buffers together");
    };
    if step == 0 || free % step != 0 {
        return wrong("less the fewest places it must be a multiple of the step");
    }
    let steps = free / step;
    let mut splits: Vec<Vec<u32>> = vec![Vec::new()];
    for buffer in 0..buffers {
        let is_last = buffer + 1 == buffers;
        let mut longer = Vec::new();
        for split in splits {
            let left = steps - split.iter().sum::<u32>();
            for given in if is_last { left..=left } else { 0..=left } {
                let mut next = split.clone();
                next.push(given);
                longer.push(next);
            }
        }
        splits = longer;
        if splits.len() > MOST_SPLITS {
            return wrong("more than 2,000 ways to share it out; take a larger step");
        }
    }
    if splits.len() < 2 {
        return wrong("there is only one way to share it out; take a smaller step");
    }
    let places = |steps: u32| least + steps * step;
    Ok(splits.into_iter().map(|split| split.into_iter().map(places).collect()).collect())
}

impl Study for SplitStudy {
    type Found = SplitResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<SplitResult, RunError> {
        let options = &self.options;
        let wish = Wish {
            probability: options.probability,
            indifference: options.indifference_packs,
            first: options.first,
            most: options.most,
        };
        let choice = fully_sequential(self.splits.len(), wish, |designs, from, to| {
            runner.run_block(designs, from, to)?;
            let values = designs
                .iter()
                .map(|&design| (from..to).filter_map(|run| runner.record(design, run).map(good)).collect());
            Ok::<Vec<Vec<f64>>, RunError>(values.collect())
        })?;
        let Some(choice) = choice else {
            return Err(RunError::NoAnswer(format!(
                "no procedure chooses among {} splits with probability {}; it lies between 1 / {0} and 1",
                self.splits.len(),
                options.probability
            )));
        };
        let rows = self.rows(runner, &choice);
        let modelled =
            self.modelled.and_then(|design| rows.iter().position(|row| row.places == self.splits[design]));
        let methods = vec![
            Method {
                what: format!(
                    "the best split is chosen with probability {} or more if it is better by {} packs a run; otherwise one \
                     within that of the best (fully sequential procedure, {} first runs)",
                    options.probability, options.indifference_packs, options.first
                ),
                source: "Kim and Nelson (2001), A Fully Sequential Procedure for Indifference-Zone Selection in Simulation, ACM \
                         Transactions on Modeling and Computer Simulation 11(3), 251-273"
                    .to_owned(),
            },
            shared_luck(),
        ];
        let mut notes = Vec::new();
        if !choice.is_decided {
            notes.push(format!(
                "after {} runs of a split the choice was not made yet: the promise does not hold; allow more runs or a larger \
                 indifference zone",
                options.most
            ));
        }
        let runs = choice.observations.iter().sum();
        Ok(SplitResult {
            head: self.plan.head(StudyKind::Split, &self.base.line, runs, methods, notes),
            paths: options.paths.clone(),
            stations: self.stations.clone(),
            total: self.total,
            step: options.step,
            probability: options.probability,
            indifference_packs: options.indifference_packs,
            first_runs: options.first,
            splits: rows,
            as_modelled: modelled,
            is_decided: choice.is_decided,
        })
    }
}

#[cfg(test)]
mod tests;
