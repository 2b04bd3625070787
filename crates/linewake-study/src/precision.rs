//! How many runs until the figure is sure enough, and how much of a long run to drop.

use crate::contrast::{Reading, good};
use crate::design::Design;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::record::RunRecord;
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums};
use linewake_engine::plan::RunPlan;
use linewake_kpi::study::precision::{Measure, PrecisionResult, PrecisionStep, WarmUp};
use linewake_kpi::study::{Method, StudyKind};
use linewake_kpi::summary::StartKind;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_stats::estimate::Estimate;
use linewake_stats::series::{Precision, is_precise, mser_5, replications_needed};
use serde::Serialize;

/// Steps of the path that are kept.
const MOST_STEPS: usize = 400;

/// How precise, and within what.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PrecisionOptions {
    /// What must be precise.
    pub measure: Measure,
    /// Wanted relative error of the mean, above 0 and below 1.
    pub relative: f64,
    /// Runs before the rule is asked for the first time, at least 10.
    pub first: u64,
    /// The rule ends here.
    pub most: u64,
    /// The warm-up that was found before, to be shown.
    #[serde(skip)]
    pub warm_up: Option<WarmUp>,
}

impl Default for PrecisionOptions {
    fn default() -> Self {
        Self { measure: Measure::Oee, relative: 0.005, first: 20, most: 10_000, warm_up: None }
    }
}

/// The figure of a run that is judged.
pub(crate) fn figure(measure: Measure) -> fn(&RunRecord) -> f64 {
    match measure {
        Measure::Oee => |record| record.oee,
        Measure::GoodPacks => good,
        Measure::PacksPerHour => RunRecord::packs_per_h,
    }
}

/// The first number of values, from `first` on, at which their mean is precise enough.
#[must_use]
pub fn enough_at(values: &[f64], first: usize, level: f64, relative: f64) -> Option<usize> {
    (first.max(2)..=values.len()).find(|&n| {
        let estimate = Estimate::of(&values[..n], level);
        estimate.and_then(|estimate| is_precise(&estimate, Precision::Relative(relative))) == Some(true)
    })
}

/// A precision study that has been set up.
#[derive(Clone, Debug)]
pub struct PrecisionStudy {
    base: BaseModel,
    options: PrecisionOptions,
    plan: StudyPlan,
}

impl PrecisionStudy {
    /// Sets the study up. The number of runs of the conditions does not count.
    ///
    /// # Errors
    /// Figures out of range.
    pub fn prepare(
        base: BaseModel,
        options: PrecisionOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        if !(options.relative > 0.0 && options.relative < 1.0) {
            let hint = "it lies above 0 and below 100 %, as in 0.5 %";
            return Err(StudyError::option("precision", options.relative, hint));
        }
        if options.first < 10 {
            let hint = "at least 10: a small spread seen by chance would end it too early";
            return Err(StudyError::option("first", options.first, hint));
        }
        if options.most < options.first {
            return Err(StudyError::option("most", options.most, "at least as many as the first runs"));
        }
        let designs = vec![base.as_modelled(conditions)];
        let plan = StudyPlan::new(StudyKind::Precision, &base.line, designs, conditions, &options, false)?;
        Ok(Self { base, options, plan })
    }
}

impl Study for PrecisionStudy {
    type Found = PrecisionResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<PrecisionResult, RunError> {
        let options = &self.options;
        let level = self.plan.conditions.level;
        let (mut to, mut stopped) = (options.first, None);
        loop {
            runner.run_block(&[0], 0, to)?;
            let values = runner.values(0, to, figure(options.measure));
            let from = usize::try_from(options.first).unwrap_or(usize::MAX);
            stopped = stopped.or_else(|| enough_at(&values, from, level, options.relative));
            if stopped.is_some() || to >= options.most {
                break;
            }
            // In blocks of a tenth: which runs count depends on the values alone.
            to = (to + (to / 10).max(8)).min(options.most);
        }
        let runs = stopped.map_or(options.most, |runs| runs as u64);
        let values = runner.values(0, runs, figure(options.measure));
        let runs_needed = match stopped {
            Some(_) => None,
            None => replications_needed(&values, level, Precision::Relative(options.relative)),
        };
        let reading = Reading { runner, runs, level };
        let methods = vec![
            Method {
                what: format!(
                    "runs are added one by one until the half width is within the wanted share g of the mean, g / (1 + g), \
                     from {} runs on",
                    options.first
                ),
                source: "Chow and Robbins (1965), Annals of Mathematical Statistics 36, 457-462; Law and Kelton (1982), \
                         Management Science 28, 550-562"
                    .to_owned(),
            },
            ratio_of_sums(),
        ];
        Ok(PrecisionResult {
            head: self.plan.head(StudyKind::Precision, &self.base.line, runs, methods, Vec::new()),
            measure: options.measure,
            wanted_relative: options.relative,
            first_runs: options.first,
            most_runs: options.most,
            runs,
            reached: stopped.is_some(),
            runs_needed,
            good_packs: reading.mean(0, good),
            oee: reading.oee(0),
            path: path(&values, options.first, level),
            warm_up: options.warm_up.clone(),
        })
    }
}

fn path(values: &[f64], first: u64, level: f64) -> Vec<PrecisionStep> {
    let first = usize::try_from(first).unwrap_or(usize::MAX).clamp(2, values.len().max(2));
    let every = ((values.len() + 1).saturating_sub(first)).div_ceil(MOST_STEPS).max(1);
    let mut runs: Vec<usize> = (first..=values.len()).step_by(every).collect();
    if runs.last() != Some(&values.len()) && values.len() >= first {
        runs.push(values.len());
    }
    let steps = runs.into_iter().filter_map(|runs| {
        let estimate = Estimate::of(&values[..runs], level)?;
        Some(PrecisionStep { runs: runs as u64, mean: estimate.mean, half_width: estimate.half_width? })
    });
    steps.collect()
}

/// Looks for the warm-up of a long run: part-used consumables, an empty line, nothing dropped.
#[derive(Clone, Debug)]
pub struct WarmUpStudy {
    line: Line,
    bin: Span,
    plan: StudyPlan,
}

impl WarmUpStudy {
    /// Sets it up: so many runs over two shifts, or twice the stated length.
    ///
    /// # Errors
    /// Figures out of range.
    pub fn prepare(base: BaseModel, conditions: &Conditions) -> Result<Self, StudyError> {
        let length = conditions.length.unwrap_or(base.line.shift.length);
        let horizon = Span(length.0.saturating_mul(2));
        // A bin of a minute, or of a two hundredth of a short run; counters are written every 10 s.
        let bin = Span::from_seconds((horizon.seconds() / 2000.0).floor().clamp(1.0, 6.0) * 10.0);
        let plan = RunPlan {
            horizon: Moment::ZERO + horizon,
            consumables_part_used: true,
            ..RunPlan::shift(&base.line)
        };
        let design = Design { bin: Some(bin), ..Design::new("from an empty line", base.line.clone(), plan) };
        let conditions =
            Conditions { start: StartKind::NewRolls, length: Some(horizon), ..conditions.clone() };
        let plan =
            StudyPlan::new(StudyKind::Precision, &base.line, vec![design], &conditions, "warm-up", true)?;
        Ok(Self { line: base.line, bin, plan })
    }
}

impl Study for WarmUpStudy {
    type Found = WarmUp;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    /// The cut is made on the mean of all runs by [`mser_5`], with bins that meet a break left out.
    fn conclude(&self, runner: &mut Runner<'_>) -> Result<WarmUp, RunError> {
        runner.run_all()?;
        let runs = self.plan.conditions.runs;
        let horizon = self.plan.designs[0].plan.horizon;
        let count = usize::try_from(horizon.0 / self.bin.0.max(1)).unwrap_or(0);
        let mut packs_by_bin = vec![0.0; count];
        for replication in 0..runs {
            let Some(record) = runner.record(0, replication) else { continue };
            for (sum, packs) in packs_by_bin.iter_mut().zip(&record.good_by_bin) {
                *sum += *packs as f64;
            }
        }
        packs_by_bin.iter_mut().for_each(|sum| *sum /= runs as f64);
        let kept: Vec<usize> = (0..count).filter(|bin| !self.meets_a_break(*bin)).collect();
        let series: Vec<f64> = kept.iter().map(|bin| packs_by_bin[*bin]).collect();
        let Some(cut) = mser_5(&series) else {
            return Err(RunError::NoAnswer("the runs are too short to look for a warm-up".to_owned()));
        };
        let found = kept.get(cut.dropped).copied().unwrap_or(count);
        let found_s = found as f64 * self.bin.seconds();
        // The rule drops nothing where the start is lost in the noise of the rest; the empty line is dropped all the same.
        let late = &series[series.len() / 2..];
        let usual = late.iter().sum::<f64>() / late.len() as f64;
        let filled = packs_by_bin.iter().position(|packs| *packs >= 0.5 * usual).map_or(count, |bin| bin + 1);
        let filled_s = filled as f64 * self.bin.seconds();
        Ok(WarmUp {
            filled_s,
            bin_s: self.bin.seconds(),
            packs_by_bin,
            found_s,
            settled: cut.settled,
            used_s: found_s.max(filled_s),
            runs,
        })
    }
}

impl WarmUpStudy {
    fn meets_a_break(&self, bin: usize) -> bool {
        let shift = &self.line.shift;
        let (from, to) = (bin as u64 * self.bin.0, (bin as u64 + 1) * self.bin.0);
        let first = from / shift.length.0.max(1);
        (first.saturating_sub(1)..=first + 1).any(|number| {
            shift.breaks.iter().any(|pause| {
                let start = number * shift.length.0 + pause.start.0;
                // The bin after a break is not like others either: what was in the line comes at once.
                from < start + pause.duration.0 + self.bin.0 && start < to
            })
        })
    }
}

/// The method of the warm-up.
#[must_use]
pub fn warm_up_method() -> Method {
    Method {
        what: "the warm-up is found from the mean of all runs by MSER-5".to_owned(),
        source: "White (1997), Simulation 69(6), 323-334; Hoad, Robinson and Davies (2010), Journal of the Operational \
                 Research Society 61, 1389-1403 (from memory)"
            .to_owned(),
    }
}

#[cfg(test)]
mod tests;
