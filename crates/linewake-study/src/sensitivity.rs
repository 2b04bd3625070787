//! Which input matters: each is moved by what is not known of it, the others stay.

use crate::contrast::{Reading, good};
use crate::design::Design;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums, shared_luck};
use linewake_kpi::study::StudyKind;
use linewake_kpi::study::sensitivity::{
    MovedInput, NotMoved, RangeSource, SensitivityResult, SensitivityRow,
};
use serde::Serialize;

/// What is moved, and how far.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SensitivityOptions {
    /// Inputs without a stated uncertainty are moved by this share, above 0 and below 1.
    pub relative: f64,
    /// Only inputs whose path begins with one of these; empty: all.
    pub only: Vec<String>,
    /// Only inputs with a stated uncertainty.
    pub stated_only: bool,
}

impl Default for SensitivityOptions {
    fn default() -> Self {
        Self { relative: 0.2, only: Vec::new(), stated_only: false }
    }
}

/// A sensitivity study that has been set up.
#[derive(Clone, Debug)]
pub struct SensitivityStudy {
    base: BaseModel,
    options: SensitivityOptions,
    moved: Vec<Moved>,
    not_moved: Vec<NotMoved>,
    plan: StudyPlan,
}

/// An input with the designs at its two ends.
#[derive(Clone, Debug)]
struct Moved {
    path: String,
    station: Option<String>,
    value: String,
    source: RangeSource,
    low: Option<End>,
    high: Option<End>,
}

#[derive(Clone, Debug)]
struct End {
    design: usize,
    value: String,
    factor: f64,
}

/// An input before it is moved.
struct Movable {
    path: String,
    station: Option<String>,
    value: String,
    source: RangeSource,
    relative: f64,
}

impl SensitivityStudy {
    /// Sets the study up.
    ///
    /// # Errors
    /// Figures out of range, or nothing to move.
    pub fn prepare(
        base: BaseModel,
        options: SensitivityOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        if !(options.relative > 0.0 && options.relative < 1.0) {
            let hint = "it lies above 0 and below 1, as in 0.2";
            return Err(StudyError::option("the share", options.relative, hint));
        }
        let inputs = inputs(&base, &options);
        if inputs.is_empty() {
            let hint = "no input of the model begins so, or none has a stated uncertainty";
            return Err(StudyError::option("the choice of inputs", options.only.join(", "), hint));
        }
        let mut designs = vec![base.as_modelled(conditions)];
        let (mut moved, mut not_moved) = (Vec::new(), Vec::new());
        for input in inputs {
            let mut end = |factor: f64| match base.tree.scaled(&input.path, factor) {
                Ok((tree, checked, factor)) => {
                    let value = tree.value(&input.path).unwrap_or_default();
                    let label = format!("{} = {value}", input.path);
                    let plan = conditions.run_plan(&checked.line);
                    let design = Design::new(label, checked.line, plan);
                    designs.push(Design { values: vec![value.clone()], ..design });
                    Ok(End { design: designs.len() - 1, value, factor })
                }
                Err(error) => Err(error.to_string()),
            };
            let (low, high) = (end(1.0 - input.relative), end(1.0 + input.relative));
            if let (Err(why), Err(_)) = (&low, &high) {
                not_moved.push(NotMoved { path: input.path, why: why.clone() });
                continue;
            }
            moved.push(Moved {
                path: input.path,
                station: input.station,
                value: input.value,
                source: input.source,
                low: low.ok(),
                high: high.ok(),
            });
        }
        let plan = StudyPlan::new(StudyKind::Sensitivity, &base.line, designs, conditions, &options, true)?;
        Ok(Self { base, options, moved, not_moved, plan })
    }
}

/// Inputs with a stated uncertainty, and all others at the default; one that is part of another is not moved twice.
fn inputs(base: &BaseModel, options: &SensitivityOptions) -> Vec<Movable> {
    let stated = &base.line.uncertainty;
    let overlaps = |one: &str, other: &str| {
        let within = |inner: &str, outer: &str| {
            inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        within(one, other) || within(other, one)
    };
    let mut all: Vec<Movable> = stated
        .iter()
        .map(|uncertain| Movable {
            path: uncertain.path.clone(),
            station: base.tree.station_of(&uncertain.path).ok().flatten(),
            value: uncertain.value.clone(),
            source: RangeSource::Stated,
            relative: uncertain.relative,
        })
        .collect();
    if !options.stated_only {
        for input in base.tree.inputs() {
            if stated.iter().any(|uncertain| overlaps(&uncertain.path, &input.path)) {
                continue;
            }
            all.push(Movable {
                path: input.path,
                station: input.station,
                value: input.value,
                source: RangeSource::Default,
                relative: options.relative,
            });
        }
    }
    if !options.only.is_empty() {
        all.retain(|input| options.only.iter().any(|only| input.path.starts_with(only.trim())));
    }
    all
}

impl Study for SensitivityStudy {
    type Found = SensitivityResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<SensitivityResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let moved = |end: &End| MovedInput {
            value: end.value.clone(),
            factor: end.factor,
            against_base: reading.difference(0, end.design, good),
            oee: reading.oee(end.design),
        };
        let mut rows: Vec<SensitivityRow> = self
            .moved
            .iter()
            .map(|input| {
                let (low, high) = (input.low.as_ref().map(moved), input.high.as_ref().map(moved));
                let size =
                    |end: &Option<MovedInput>| end.as_ref().map_or(0.0, |end| end.against_base.mean.abs());
                SensitivityRow {
                    effect_packs: size(&low).max(size(&high)),
                    path: input.path.clone(),
                    station: input.station.clone(),
                    what: in_words(&input.path, input.station.as_deref()),
                    as_modelled: input.value.clone(),
                    range: input.source,
                    low,
                    high,
                }
            })
            .collect();
        rows.sort_by(|one, other| other.effect_packs.total_cmp(&one.effect_packs));
        let runs = runner.records().len() as u64;
        let methods = vec![shared_luck(), ratio_of_sums()];
        let notes =
            vec!["each input is moved alone: effects of several together need not be their sum".to_owned()];
        Ok(SensitivityResult {
            head: self.plan.head(StudyKind::Sensitivity, &self.base.line, runs, methods, notes),
            base: reading.figures(0, 0),
            default_relative: self.options.relative,
            rows,
            not_moved: self.not_moved.clone(),
        })
    }
}

/// "web tracking, duration" for "stations[former].stops[web tracking].duration" of the station former.
fn in_words(path: &str, station: Option<&str>) -> String {
    let place = station.map_or(String::new(), |id| format!("stations[{id}]"));
    let rest = path.strip_prefix(&place).unwrap_or(path);
    let mut words: Vec<String> = Vec::new();
    for step in rest.split('.').filter(|step| !step.is_empty()) {
        let step = match step.split_once('[') {
            Some((_, name)) => name.trim_end_matches(']').to_owned(),
            None => step.replace('_', " "),
        };
        words.push(step);
    }
    words.join(", ")
}

#[cfg(test)]
mod tests;
