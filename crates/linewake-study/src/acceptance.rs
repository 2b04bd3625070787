//! What an acceptance run will show: how its figure falls out, what can be promised, and how long the run must be.

use crate::causes::is_consumable;
use crate::contrast::{Reading, histogram, proportion};
use crate::design::Design;
use crate::mean::mean_at;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::precision::figure;
use crate::record::{Keep, RunRecord};
use crate::runner::{RunError, Runner};
use crate::study::Study;
use linewake_kpi::convention::PlannedStops;
use linewake_kpi::study::acceptance::{
    AcceptanceResult, CharacteristicPoint, Guarantee, LengthRow, OutcomeDistribution, Outcomes,
    UncertainInput,
};
use linewake_kpi::study::precision::Measure;
use linewake_kpi::study::{Method, StudyKind};
use linewake_kpi::summary::StartKind;
use linewake_model::change::{ChangeError, ModelTree};
use linewake_model::line::Line;
use linewake_model::time::Span;
use linewake_stats::estimate::{Estimate, quantile_of};
use linewake_stats::interval::reached_with;
use serde::Serialize;

/// Probabilities for which guaranteed values are told.
const SURE: [f64; 3] = [0.8, 0.9, 0.95];

/// How the run is judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AcceptanceOptions {
    /// What it is judged by.
    pub measure: Measure,
    /// The value that must be reached; `None`: the one that the line as designed reaches with 1 - producer's risk.
    pub limit: Option<f64>,
    /// Wanted producer's risk: the line as designed fails. Above 0 and below 0.5.
    pub producer_risk: f64,
    /// Wanted consumer's risk: the degraded line passes.
    pub consumer_risk: f64,
    /// Stops of the degraded line are so many times as frequent, above 1.
    pub degraded_factor: f64,
    /// Further points of the operating characteristic: stops so many times as frequent, above 0.
    pub factors: Vec<f64>,
    /// Lengths of the run that are tried, in whole hours.
    pub lengths_h: Vec<u32>,
    /// Rules for what counts and what is left out, for the protocol.
    #[serde(skip)]
    pub rules: Vec<String>,
}

impl Default for AcceptanceOptions {
    fn default() -> Self {
        Self {
            measure: Measure::Oee,
            limit: None,
            producer_risk: 0.1,
            consumer_risk: 0.1,
            degraded_factor: 1.3,
            factors: vec![0.7, 0.85, 1.15, 1.5, 2.0],
            lengths_h: vec![2, 4, 8, 16, 24],
            rules: Vec::new(),
        }
    }
}

/// An acceptance study that has been set up. The length of its conditions is that of the acceptance run.
#[derive(Clone, Debug)]
pub struct AcceptanceStudy {
    base: BaseModel,
    options: AcceptanceOptions,
    exact: usize,
    /// Stop factors, rising, and their designs; 1 is the line as designed.
    characteristic: Vec<(f64, usize)>,
    /// Designs long enough for all lengths: as designed, degraded.
    long: (usize, usize),
    plan: StudyPlan,
}

impl AcceptanceStudy {
    /// Sets the study up.
    ///
    /// # Errors
    /// Figures out of range, or uncertain inputs whose range does not pass the model check.
    pub fn prepare(
        base: BaseModel,
        mut options: AcceptanceOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        check(&options)?;
        options.lengths_h.sort_unstable();
        options.lengths_h.dedup();
        for uncertain in &base.line.uncertainty {
            for factor in [1.0 - uncertain.relative, 1.0 + uncertain.relative] {
                let label = format!("{} at an end of its range, x {factor}", uncertain.path);
                base.tree
                    .scaled(&uncertain.path, factor)
                    .map_err(|error| StudyError::Design(label, error))?;
            }
        }
        let mut setting = Setting { base: &base, conditions, designs: Vec::new() };
        let designed = setting.add(1.0, true, None)?;
        let exact =
            if base.line.uncertainty.is_empty() { designed } else { setting.add(1.0, false, None)? };
        let degraded = setting.add(options.degraded_factor, true, None)?;
        let mut characteristic = vec![(1.0, designed), (options.degraded_factor, degraded)];
        for &factor in &options.factors {
            if characteristic.iter().all(|(known, _)| (known - factor).abs() > 1e-9) {
                characteristic.push((factor, setting.add(factor, true, None)?));
            }
        }
        characteristic.sort_by(|one, other| one.0.total_cmp(&other.0));
        let run = conditions.length.unwrap_or(base.line.shift.length);
        let longest = options.lengths_h.last().map_or(0.0, |hours| f64::from(*hours) * 3600.0);
        let long = if longest > run.seconds() {
            let length = Some(Span::from_seconds(longest));
            (setting.add(1.0, true, length)?, setting.add(options.degraded_factor, true, length)?)
        } else {
            (designed, degraded)
        };
        let designs = setting.designs;
        let plan = StudyPlan::new(StudyKind::Acceptance, &base.line, designs, conditions, &options, true)?;
        Ok(Self { base, options, exact, characteristic, long, plan })
    }

    fn outcomes(&self, reading: &Reading<'_, '_>, design: usize) -> Outcomes {
        let distribution = |figure: &dyn Fn(&RunRecord) -> f64| {
            let values = reading.values(design, figure);
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            let guarantees = SURE.iter().filter_map(|&probability| {
                let (value, interval) = reached_with(&sorted, probability, reading.level)?;
                let (low, high) = (interval.map(|it| it.low), interval.map(|it| it.high));
                Some(Guarantee { probability, value, low, high })
            });
            OutcomeDistribution {
                mean: mean_at(&values, reading.level),
                standard_deviation: Estimate::of(&values, reading.level)
                    .and_then(|estimate| estimate.standard_deviation())
                    .unwrap_or(0.0),
                guarantees: guarantees.collect(),
                histogram: histogram(&values),
            }
        };
        Outcomes {
            runs: reading.runs,
            oee: distribution(&|record| record.oee),
            packs_per_h: distribution(&RunRecord::packs_per_h),
        }
    }

    fn lengths(&self, reading: &Reading<'_, '_>) -> Vec<LengthRow> {
        let (designed, degraded) = self.long;
        let options = &self.options;
        let row = |&hours: &u32| {
            let run_s = f64::from(hours) * 3600.0;
            let measure = |record: &RunRecord| self.after_hours(record, hours);
            let mut values = reading.values(designed, measure);
            values.sort_by(f64::total_cmp);
            let limit = quantile_of(&values, options.producer_risk)?;
            let producer = proportion(&values, reading.level, |value| value < limit);
            let consumer =
                proportion(&reading.values(degraded, measure), reading.level, |value| value >= limit);
            let holds_both =
                producer.share <= options.producer_risk && consumer.share <= options.consumer_risk;
            Some(LengthRow { run_s, limit, producer, consumer, holds_both })
        };
        options.lengths_h.iter().filter_map(row).collect()
    }

    /// The measure after the first hours of a run.
    fn after_hours(&self, record: &RunRecord, hours: u32) -> f64 {
        let count = usize::try_from(hours).unwrap_or(usize::MAX).min(record.good_by_hour.len());
        let packs = record.good_by_hour[..count].iter().sum::<u64>() as f64;
        let planned_s = self.planned_s(f64::from(hours) * 3600.0);
        if planned_s <= 0.0 {
            return 0.0;
        }
        match self.options.measure {
            Measure::Oee => packs * self.base.line.ideal_time_per_pack_s() / planned_s,
            Measure::GoodPacks => packs,
            Measure::PacksPerHour => packs * 3600.0 / planned_s,
        }
    }

    /// Planned production time of the first so many seconds of the window: breaks are left out if the model or the
    /// conventions say so.
    fn planned_s(&self, window_s: f64) -> f64 {
        let (shift, conditions) = (&self.base.line.shift, &self.plan.conditions);
        let left_out = match conditions.conventions.planned_stops {
            PlannedStops::AsModelled => !shift.breaks_in_planned_production_time,
            PlannedStops::In => false,
            PlannedStops::Out => true,
        };
        if !left_out {
            return window_s;
        }
        let from = if conditions.start == StartKind::LongRun { conditions.warm_up.seconds() } else { 0.0 };
        let to = from + window_s;
        let length = shift.length.seconds();
        let mut breaks_s = 0.0;
        let mut start = 0.0;
        while start < to && length > 0.0 {
            for pause in &shift.breaks {
                let begin = start + pause.start.seconds();
                let end = begin + pause.duration.seconds();
                breaks_s += (end.min(to) - begin.max(from)).max(0.0);
            }
            start += length;
        }
        window_s - breaks_s
    }
}

fn check(options: &AcceptanceOptions) -> Result<(), StudyError> {
    for (name, risk) in
        [("the producer's risk", options.producer_risk), ("the consumer's risk", options.consumer_risk)]
    {
        if !(risk > 0.0 && risk < 0.5) {
            return Err(StudyError::option(name, risk, "it lies above 0 and below 50 %, as in 10 %"));
        }
    }
    if !(options.degraded_factor > 1.0 && options.degraded_factor.is_finite()) {
        let hint = "stops of the degraded line are more frequent: above 1, as in 1.3";
        return Err(StudyError::option("the degraded line", options.degraded_factor, hint));
    }
    if let Some(factor) = options.factors.iter().find(|factor| !(**factor > 0.0 && factor.is_finite())) {
        return Err(StudyError::option("a stop factor", factor, "it is above 0"));
    }
    if options.lengths_h.contains(&0) {
        return Err(StudyError::option("a length", 0, "whole hours from 1"));
    }
    if options.limit.is_some_and(|limit| !(limit > 0.0 && limit.is_finite())) {
        return Err(StudyError::option("the limit", options.limit.unwrap_or(0.0), "it is above 0"));
    }
    Ok(())
}

/// Adds designs with stops more or less frequent.
struct Setting<'s> {
    base: &'s BaseModel,
    conditions: &'s Conditions,
    designs: Vec<Design>,
}

impl Setting<'_> {
    fn add(&mut self, factor: f64, is_drawn: bool, length: Option<Span>) -> Result<usize, StudyError> {
        let label = match (is_drawn, length) {
            (false, _) => "as designed, inputs exact".to_owned(),
            (true, None) => format!("stops {factor} times as frequent"),
            (true, Some(length)) => {
                format!("stops {factor} times as frequent, {} h", length.seconds() / 3600.0)
            }
        };
        let wrong = |error| StudyError::Design(label.clone(), error);
        let tree = with_stops(&self.base.tree, &self.base.line, factor).map_err(wrong)?;
        let line = self.base.line_of(&tree).map_err(wrong)?;
        let conditions = Conditions { length: length.or(self.conditions.length), ..self.conditions.clone() };
        let plan = conditions.run_plan(&line);
        let is_uncertain = is_drawn && !line.uncertainty.is_empty();
        let design = Design::new(label, line, plan);
        self.designs.push(Design {
            keep: Keep { hours: true, ..Keep::default() },
            drawn: is_uncertain.then_some(tree),
            ..design
        });
        Ok(self.designs.len() - 1)
    }
}

/// The model with its stops so many times as frequent; consumables last as long as they last.
fn with_stops(tree: &ModelTree, line: &Line, factor: f64) -> Result<ModelTree, ChangeError> {
    let mut tree = tree.clone();
    if (factor - 1.0).abs() < 1e-12 {
        return Ok(tree);
    }
    for station in &line.stations {
        for (place, stop) in station.stops.iter().enumerate() {
            if is_consumable(stop) {
                continue;
            }
            let reason = line.reason(stop.reason);
            let name = if reason.contains(']') { place.to_string() } else { reason.to_owned() };
            tree.scale(&format!("stations[{}].stops[{name}].after", station.id), 1.0 / factor)?;
        }
    }
    Ok(tree)
}

impl Study for AcceptanceStudy {
    type Found = AcceptanceResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<AcceptanceResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let options = &self.options;
        let of_run = figure(options.measure);
        let designed = self.characteristic.iter().find(|(factor, _)| (factor - 1.0).abs() < 1e-9);
        let designed = designed.map_or(0, |(_, design)| *design);
        let mut values = reading.values(designed, of_run);
        values.sort_by(f64::total_cmp);
        let pass_limit = options.limit.or_else(|| quantile_of(&values, options.producer_risk)).unwrap_or(0.0);
        let point = |&(stop_factor, design): &(f64, usize)| {
            let values = reading.values(design, of_run);
            CharacteristicPoint {
                stop_factor,
                mean: mean_at(&values, reading.level),
                pass: proportion(&values, reading.level, |value| value >= pass_limit),
            }
        };
        let lengths = self.lengths(&reading);
        let line = &self.base.line;
        let uncertain = line.uncertainty.iter().map(|uncertain| UncertainInput {
            path: uncertain.path.clone(),
            as_modelled: uncertain.value.clone(),
            stated: uncertain.stated.clone(),
        });
        let head_runs = runner.records().len() as u64;
        Ok(AcceptanceResult {
            head: self.plan.head(StudyKind::Acceptance, line, head_runs, methods(), self.notes()),
            measure: options.measure,
            run_s: self.plan.conditions.length.unwrap_or(line.shift.length).seconds(),
            rules: options.rules.clone(),
            drawn: self.outcomes(&reading, designed),
            exact: self.outcomes(&reading, self.exact),
            uncertain_inputs: uncertain.collect(),
            pass_limit,
            is_limit_given: options.limit.is_some(),
            producer_risk: options.producer_risk,
            consumer_risk: options.consumer_risk,
            degraded_factor: options.degraded_factor,
            operating_characteristic: self.characteristic.iter().map(point).collect(),
            shortest: lengths.iter().position(|row| row.holds_both),
            lengths,
        })
    }
}

impl AcceptanceStudy {
    fn notes(&self) -> Vec<String> {
        let mut notes = vec![
            "a degraded line has its own stops more frequent; consumables, rejects and speeds are as modelled".to_owned(),
            "the contract and EN 415-11 govern what an acceptance run is; this is a forecast of its outcome".to_owned(),
        ];
        if self.base.line.uncertainty.is_empty() {
            notes.push(
                "the model states no uncertainty of its inputs, so they are taken as exact: the guaranteed values hold only \
                 if the inputs are true"
                    .to_owned(),
            );
        }
        if self.options.lengths_h.iter().any(|hours| *hours > 0) {
            notes.push(
                "lengths are cut at whole hours; of planned stops only breaks are left out there".to_owned(),
            );
        }
        notes
    }
}

fn methods() -> Vec<Method> {
    let method = |what: &str, source: &str| Method { what: what.to_owned(), source: source.to_owned() };
    vec![
        method(
            "guaranteed values are quantiles of the runs, with intervals by order statistics",
            "David and Nagaraja (2003), Order Statistics, 3rd edition, section 7.1 (from memory)",
        ),
        method(
            "shares of runs have exact intervals",
            "Clopper and Pearson (1934), Biometrika 26(4), 404-413",
        ),
        method(
            "uncertain inputs are drawn anew for each run, each uniform over its stated range",
            "common practice",
        ),
    ]
}

#[cfg(test)]
mod tests;
