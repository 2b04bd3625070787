//! One change tried on one line, run by run with the same luck: a lesson, or a what-if of one stop.

use crate::contrast::differences;
use crate::mean::mean;
use crate::replicate::{ReplicateError, Workers, run_once};
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::study::trial::TrialResult;
use linewake_kpi::summary::ShiftRange;
use linewake_model::line::{Line, StationIndex};
use linewake_stats::estimate::quantile_of;

/// A line and how it is run.
#[derive(Clone, Debug, PartialEq)]
pub struct Side {
    /// The line.
    pub line: Line,
    /// The plan of a run.
    pub plan: RunPlan,
}

/// What is looked at; all of it as variant less base.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Good packs.
    GoodPacks,
    /// Seconds in which a station of the variant (the same place as in the base) waited for something from upstream.
    Starved(StationIndex),
    /// Seconds in which it waited for room downstream.
    Blocked(StationIndex),
}

impl Measure {
    fn of(self, run: &ShiftResult) -> f64 {
        let states = |station: StationIndex| run.stations[station].states.unwrap_or_default();
        match self {
            Self::GoodPacks => run.oee.good_packs as f64,
            Self::Starved(station) => states(station).starved.seconds(),
            Self::Blocked(station) => states(station).blocked.seconds(),
        }
    }
}

/// Runs both sides `runs` times (at least 10), replications from 0 of the seed, and gives variant less base. `done` is told
/// after each replication.
///
/// # Errors
/// [`ReplicateError::Interrupted`] if the stop flag of the workers was raised.
pub fn trial(
    base: &Side,
    variant: &Side,
    measure: Measure,
    seed: u64,
    runs: u64,
    workers: &Workers<'_>,
    done: &(dyn Fn() + Sync),
) -> Result<TrialResult, ReplicateError> {
    let value = |side: &Side, replication| {
        measure.of(&run_once(&side.line, &side.plan, Conventions::default(), seed, replication))
    };
    let each = workers
        .each(runs.max(10), done, |replication| (value(base, replication), value(variant, replication)))?;
    let (before, after): (Vec<f64>, Vec<f64>) = each.into_iter().unzip();
    let values = differences(&before, &after);
    let mut sorted = values.clone();
    sorted.sort_by(f64::total_cmp);
    let at = |share| quantile_of(&sorted, share).unwrap_or(0.0);
    Ok(TrialResult { mean: mean(&values), range: ShiftRange { p10: at(0.1), p90: at(0.9) }, values })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{line, machine, table};
    use linewake_engine::plan::InjectedStop;
    use linewake_model::time::{Moment, Span};
    use std::sync::atomic::AtomicBool;

    /// Two machines of 1 s with a table of 10 places. The second stops for 30 s: the table takes 10 pieces, in 10 s, and
    /// the first is then blocked for the 20 s that remain, but for a piece in its own hands.
    #[test]
    fn a_stop_worked_by_hand() {
        let base =
            line("", &[machine("one", "\"1 s\"", ""), table("table", 10), machine("two", "\"1 s\"", "")]);
        let plan =
            RunPlan { horizon: Moment::ZERO + Span::from_seconds(600.0), ..RunPlan::shift(&base.line) };
        let stop = InjectedStop {
            station: 2,
            at: Moment::ZERO + Span::from_seconds(300.0),
            duration: Span::from_seconds(30.0),
        };
        let side = |plan: RunPlan| Side { line: base.line.clone(), plan };
        let (without, with) = (side(plan.clone()), side(RunPlan { injected: vec![stop], ..plan }));
        let flag = AtomicBool::new(false);
        let workers = Workers::new(Some(1), &flag).expect("threads");
        let found = |measure| trial(&without, &with, measure, 1, 10, &workers, &|| {}).expect("not stopped");
        let blocked = found(Measure::Blocked(0));
        assert!((blocked.mean.mean - 20.0).abs() <= 1.0, "{blocked:?}");
        assert!((blocked.range.p90 - blocked.range.p10).abs() < 1e-9, "no chance in it: {blocked:?}");
        assert!(found(Measure::Starved(0)).mean.mean.abs() < 1e-9);
        assert!((found(Measure::GoodPacks).mean.mean + 30.0).abs() <= 1.0);
        assert_eq!(blocked.values.len(), 10);
    }
}
