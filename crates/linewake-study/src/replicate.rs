//! Replications on several threads, with results that do not depend on how many.
//!
//! Each replication is a run of its own with its own family of random streams, so the order in which threads take
//! them changes nothing. Results are handed over in replication order.

use linewake_engine::plan::RunPlan;
use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::timeline::{ShiftTimeline, Timeline};
use linewake_model::line::Line;
use rayon::ThreadPool;
use rayon::iter::{IntoParallelIterator, ParallelIterator};
use std::fmt;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// Worker threads, and the flag by which their work is stopped.
#[derive(Debug)]
pub struct Workers<'a> {
    pool: ThreadPool,
    stop: &'a AtomicBool,
}

/// Why replications did not come to an end.
#[derive(Debug)]
pub enum ReplicateError {
    /// The stop flag was raised.
    Interrupted,
    /// The machine gave no worker threads; its words.
    NoThreads(String),
}

impl fmt::Display for ReplicateError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Interrupted => f.write_str("interrupted"),
            Self::NoThreads(why) => {
                write!(f, "the machine gave no worker threads ({why}); ask for fewer")
            }
        }
    }
}

impl std::error::Error for ReplicateError {}

impl<'a> Workers<'a> {
    /// So many worker threads; `None` takes as many as the machine has cores. Raising `stop` ends their work after
    /// the replications under way.
    ///
    /// # Errors
    /// [`ReplicateError::NoThreads`] if the machine gives none.
    pub fn new(threads: Option<usize>, stop: &'a AtomicBool) -> Result<Self, ReplicateError> {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads.unwrap_or(0))
            .thread_name(|number| format!("replications {number}"))
            .build()
            .map_err(|error| ReplicateError::NoThreads(error.to_string()))?;
        Ok(Self { pool, stop })
    }

    /// How many threads there are.
    #[must_use]
    pub fn threads(&self) -> usize {
        self.pool.current_num_threads()
    }

    /// Does `work` for each place from 0 to before `count` and hands the outcomes to `keep`, one at a time, from any
    /// thread. Places are taken up in rising order, and every one that was taken up is handed over, so that after an
    /// interrupt what is there is a beginning without a gap. `keep` may end the work by giving `false`.
    ///
    /// # Errors
    /// [`ReplicateError::Interrupted`] if the stop flag was raised before the last place was taken up.
    pub(crate) fn in_order<T: Send>(
        &self,
        count: usize,
        work: &(dyn Fn(usize) -> T + Sync),
        keep: &mut (dyn FnMut(usize, T) -> bool + Send),
    ) -> Result<(), ReplicateError> {
        let next = AtomicUsize::new(0);
        let ended = AtomicBool::new(false);
        let interrupted = AtomicBool::new(false);
        let keep = Mutex::new(keep);
        self.pool.scope(|scope| {
            for _ in 0..self.threads() {
                scope.spawn(|_| {
                    while !ended.load(Ordering::Relaxed) {
                        if self.stop.load(Ordering::Relaxed) {
                            interrupted.store(next.load(Ordering::SeqCst) < count, Ordering::SeqCst);
                            break;
                        }
                        let place = next.fetch_add(1, Ordering::SeqCst);
                        if place >= count {
                            break;
                        }
                        let outcome = work(place);
                        let mut keep = keep.lock().unwrap_or_else(PoisonError::into_inner);
                        if !keep(place, outcome) {
                            ended.store(true, Ordering::Relaxed);
                        }
                    }
                });
            }
        });
        if interrupted.load(Ordering::SeqCst) && next.load(Ordering::SeqCst) < count {
            return Err(ReplicateError::Interrupted);
        }
        Ok(())
    }

    /// Does `work` for each of `count` replications, numbered from 0, and gives what came of it in that order.
    /// `done` is told after each one (from any thread).
    ///
    /// # Errors
    /// [`ReplicateError::Interrupted`] if the stop flag was raised before the last one was begun.
    pub fn each<T: Send>(
        &self,
        count: u64,
        done: &(dyn Fn() + Sync),
        work: impl Fn(u64) -> T + Sync,
    ) -> Result<Vec<T>, ReplicateError> {
        self.pool.install(|| {
            (0..count)
                .into_par_iter()
                .map(|replication| {
                    if self.stop.load(Ordering::Relaxed) {
                        return Err(ReplicateError::Interrupted);
                    }
                    let result = work(replication);
                    done();
                    Ok(result)
                })
                .collect()
        })
    }
}

/// Runs the line `shifts` times, replications 0 to `shifts` - 1 of the seed, and gives one result each, in that order.
///
/// The results depend on line, plan, conventions, seed and `shifts` alone. A run's memory does not grow with its length; what is kept
/// of it is one [`ShiftResult`]. `done` is told after each shift (from any thread).
///
/// # Errors
/// [`ReplicateError::Interrupted`] if the stop flag of the workers was raised.
pub fn replicate(
    line: &Line,
    plan: &RunPlan,
    conventions: Conventions,
    seed: u64,
    shifts: u64,
    workers: &Workers<'_>,
    done: &(dyn Fn() + Sync),
) -> Result<Vec<ShiftResult>, ReplicateError> {
    workers.each(shifts, done, |replication| run_once(line, plan, conventions, seed, replication))
}

/// Runs the line once and gives the result.
#[must_use]
pub fn run_once(
    line: &Line,
    plan: &RunPlan,
    conventions: Conventions,
    seed: u64,
    replication: u64,
) -> ShiftResult {
    let header = linewake_engine::header(line, plan, seed, replication);
    let mut accumulator = Accumulator::new(&header).under(conventions);
    linewake_engine::run(line, plan, seed, replication, &mut accumulator);
    accumulator.finish()
}

/// Runs the line once and draws up what happened when: the same luck as that replication of [`replicate`].
#[must_use]
pub fn timeline(line: &Line, plan: &RunPlan, seed: u64, replication: u64) -> ShiftTimeline {
    let header = linewake_engine::header(line, plan, seed, replication);
    let mut timeline = Timeline::new(&header);
    linewake_engine::run(line, plan, seed, replication, &mut timeline);
    timeline.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicU64;

    #[test]
    fn results_come_in_replication_order_and_each_is_told() {
        let stop = AtomicBool::new(false);
        for threads in [1, 2, 5] {
            let workers = Workers::new(Some(threads), &stop).expect("threads");
            assert_eq!(workers.threads(), threads);
            let told = AtomicU64::new(0);
            let done = || {
                told.fetch_add(1, Ordering::Relaxed);
            };
            let results =
                workers.each(100, &done, |replication| replication * replication).expect("not stopped");
            assert_eq!(results, (0..100).map(|it| it * it).collect::<Vec<u64>>());
            assert_eq!(told.load(Ordering::Relaxed), 100);
        }
    }

    #[test]
    fn a_raised_flag_ends_the_work() {
        let stop = AtomicBool::new(false);
        let workers = Workers::new(Some(1), &stop).expect("threads");
        let begun = AtomicU64::new(0);
        let outcome = workers.each(1000, &|| {}, |replication| {
            begun.fetch_add(1, Ordering::Relaxed);
            if replication == 3 {
                stop.store(true, Ordering::Relaxed);
            }
        });
        assert!(matches!(outcome, Err(ReplicateError::Interrupted)));
        assert!(begun.load(Ordering::Relaxed) < 1000);
    }
}
