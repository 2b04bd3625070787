//! Figures of designs, and their differences run by run.

use crate::mean::{mean_at, ratio_at};
use crate::record::RunRecord;
use crate::runner::Runner;
use linewake_kpi::study::{DesignFigures, HistogramBin, Proportion};
use linewake_kpi::summary::Mean;
use linewake_stats::interval::clopper_pearson;

/// Good packs of a run.
pub(crate) fn good(record: &RunRecord) -> f64 {
    record.good_packs as f64
}

/// Reads figures of designs from the runs of a study.
pub(crate) struct Reading<'r, 'a> {
    pub(crate) runner: &'r Runner<'a>,
    pub(crate) runs: u64,
    pub(crate) level: f64,
}

impl<'r, 'a> Reading<'r, 'a> {
    /// Of all runs of a fixed plan.
    pub(crate) fn of(runner: &'r Runner<'a>) -> Self {
        let conditions = &runner.plan().conditions;
        Self { runner, runs: conditions.runs, level: conditions.level }
    }

    pub(crate) fn values(&self, design: usize, figure: impl Fn(&RunRecord) -> f64) -> Vec<f64> {
        self.runner.values(design, self.runs, figure)
    }

    pub(crate) fn mean(&self, design: usize, figure: impl Fn(&RunRecord) -> f64) -> Mean {
        mean_at(&self.values(design, figure), self.level)
    }

    /// Mean of `design` less `base`, run by run.
    pub(crate) fn difference(
        &self,
        base: usize,
        design: usize,
        figure: impl Fn(&RunRecord) -> f64 + Copy,
    ) -> Mean {
        mean_at(&differences(&self.values(base, figure), &self.values(design, figure)), self.level)
    }

    /// OEE over the runs: ratio of sums.
    pub(crate) fn oee(&self, design: usize) -> Mean {
        let planned = self.values(design, |record| record.planned_production_time_s);
        let ideal = self.values(design, |record| record.oee * record.planned_production_time_s);
        let none = Mean { mean: 0.0, half_width: None, n: planned.len() };
        ratio_at(&ideal, &planned, self.level).unwrap_or(none)
    }

    /// What the design amounts to, compared with `base` unless it is that itself.
    pub(crate) fn figures(&self, design: usize, base: usize) -> DesignFigures {
        let known = &self.runner.plan().designs[design];
        DesignFigures {
            label: known.label.clone(),
            values: known.values.clone(),
            good_packs: self.mean(design, good),
            oee: self.oee(design),
            against_base: (design != base).then(|| self.difference(base, design, good)),
        }
    }
}

/// Second less first, value by value.
pub(crate) fn differences(first: &[f64], second: &[f64]) -> Vec<f64> {
    first.iter().zip(second).map(|(first, second)| second - first).collect()
}

/// A mean times a number.
pub(crate) fn scaled(mean: Mean, factor: f64) -> Mean {
    Mean {
        mean: mean.mean * factor,
        half_width: mean.half_width.map(|half_width| half_width * factor.abs()),
        n: mean.n,
    }
}

/// Lower end of the interval; the mean itself where there is none.
pub(crate) fn low_end(mean: &Mean) -> f64 {
    mean.mean - mean.half_width.unwrap_or(0.0)
}

/// Whether the interval lies above 0.
pub(crate) fn is_above_zero(mean: &Mean) -> bool {
    mean.half_width.is_some_and(|half_width| mean.mean > half_width)
}

/// How many values it is true of.
pub(crate) fn proportion(values: &[f64], level: f64, is_hit: impl Fn(f64) -> bool) -> Proportion {
    let hits = values.iter().filter(|value| is_hit(**value)).count() as u64;
    let trials = values.len() as u64;
    let interval = clopper_pearson(hits, trials, level);
    Proportion {
        hits,
        trials,
        share: if trials > 0 { hits as f64 / trials as f64 } else { 0.0 },
        low: interval.map_or(0.0, |interval| interval.low),
        high: interval.map_or(1.0, |interval| interval.high),
    }
}

/// A histogram of at most 40 columns of equal width, about the square root of the number of values.
pub(crate) fn histogram(values: &[f64]) -> Vec<HistogramBin> {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if values.is_empty() || !least.is_finite() || !most.is_finite() {
        return Vec::new();
    }
    if most <= least {
        return vec![HistogramBin { from: least, to: most, count: values.len() as u64 }];
    }
    let columns = ((values.len() as f64).sqrt() as usize).clamp(5, 40);
    let width = (most - least) / columns as f64;
    let edge = |column: usize| if column == columns { most } else { least + width * column as f64 };
    let mut bins: Vec<HistogramBin> = (0..columns)
        .map(|column| HistogramBin { from: edge(column), to: edge(column + 1), count: 0 })
        .collect();
    for value in values {
        let column = (((value - least) / width) as usize).min(columns - 1);
        bins[column].count += 1;
    }
    bins
}
