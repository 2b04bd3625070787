//! How long each check runs, and its replications on all cores.

use crate::model_of::Model;
use crate::observer::{Observer, Window};
use crate::row::RunSet;
use linewake_engine::plan::RunPlan;
use linewake_model::time::Moment;
use linewake_study::replicate::Workers;
use std::sync::atomic::AtomicBool;

/// Length of the runs of a check, in its time units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lengths {
    /// Independent replications, at least 20.
    pub replications: u64,
    /// Dropped at the start of each.
    pub warm_up: u64,
    /// Length of a batch.
    pub batch: u64,
    /// Batches of a replication.
    pub batches: u64,
}

impl Lengths {
    /// Those of a check. Two hundred replications, so that the tail of Student's t beyond four standard errors is thin.
    pub(crate) fn of(id: &str, set: RunSet) -> Self {
        let (replications, warm_up, batch, batches) = match id {
            // 60 s to the unit and six pieces a unit.
            "A11" => (200, 400, 500, 20),
            // 46 pieces a unit.
            "B04" => (200, 400, 200, 15),
            // Long stops beside small storages: the mean needs more than the others.
            "E02" | "E03" | "E07" | "H01" | "H02" => (200, 2_000, 1_000, 40),
            "H03" => (200, 4_000, 2_000, 20),
            // A storage of 100 places fills and empties slowly.
            "G05" => (200, 20_000, 4_000, 10),
            // A queue near its limit forgets slowly.
            "F01" | "F02" => (200, 2_000, 10_000, 8),
            "F03" => (200, 4_000, 10_000, 16),
            // No chance in it: one run; 8000 is a multiple of its cycle.
            "G03" => (1, 8_000, 8_000, 10),
            "G01" | "G02" => (200, 10_000, 10_000, 10),
            _ if id.starts_with('A') => (200, 1_000, 500, 20),
            _ => (200, 2_000, 1_000, 20),
        };
        // Longer batches too: the variance of a batch over its length comes near the limit only as 1 / length, and more
        // batches alone would show that.
        let (longer, more) = if set == RunSet::Full && replications > 1 { (5, 2) } else { (1, 1) };
        Self { replications, warm_up, batch: longer * batch, batches: more * batches }
    }

    /// Four times as long.
    pub(crate) fn four_times(self) -> Self {
        Self { batches: 4 * self.batches, ..self }
    }

    /// Units in the window of one replication.
    pub(crate) fn window(self) -> u64 {
        self.batch * self.batches
    }

    /// In words.
    pub(crate) fn words(self) -> String {
        format!("{} x {} units after {}", self.replications, self.window(), self.warm_up)
    }
}

/// Runs the model so often and gives what was seen after each warm-up. `waits`: pieces are followed to the machine.
pub(crate) fn replicate(model: &Model, lengths: Lengths, seed: u64, waits: bool) -> Vec<Window> {
    let us = |units: u64| (units as f64 * model.unit_s) as u64 * 1_000_000;
    let begin = Moment(us(lengths.warm_up));
    let end = Moment(begin.0 + us(lengths.window()));
    let plan = RunPlan { horizon: end, warm_up: begin, ..RunPlan::shift(&model.line) };
    let stations = model.line.stations.len();
    let server = waits.then(|| model.machines[0]);
    on_all_cores(lengths.replications, |replication| {
        let mut observer = Observer::new(stations, begin, end, us(lengths.batch), server);
        linewake_engine::run(&model.line, &plan, seed, replication, &mut observer);
        observer.finish()
    })
}

/// Does `work` for each replication and gives the results in their order.
pub(crate) fn on_all_cores<T: Send>(replications: u64, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let stop = AtomicBool::new(false);
    let workers = Workers::new(None, &stop).expect("threads");
    workers.each(replications, &|| {}, work).expect("nobody stops it")
}
