//! Runs shifts and remembers the last ones, so that a pinned line is not run again with every change.

use crate::stream::Teller;
use linewake_engine::plan::RunPlan;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::summary::StartKind;
use linewake_model::line::Line;
use linewake_model::time::Span;
use linewake_study::plan::Conditions;
use linewake_study::replicate::{ReplicateError, Workers, run_once};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, PoisonError};

/// Sets of shifts that are remembered.
const MOST_SETS: usize = 8;
/// Sets larger than this are not.
const LARGEST_SET: u64 = 400;
/// Most shifts that the page may ask for.
pub(crate) const MOST_SHIFTS: u64 = 5_000;
/// Largest seed: every reader of JSON keeps whole numbers up to it (2^53 - 1).
pub(crate) const LARGEST_SEED: u64 = (1 << 53) - 1;
/// Warm-up before a shift of the long run, as in `linewake run`.
pub(crate) const WARM_UP_S: f64 = 3600.0;

/// How shifts are run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Wanted {
    /// How many.
    pub(crate) shifts: u64,
    /// Seed of all chance.
    pub(crate) seed: u64,
    /// How they begin.
    pub(crate) start: Start,
}

/// How a shift begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Start {
    /// With everything new.
    NewRolls,
    /// After a warm-up, consumables part used.
    LongRun,
}

impl Start {
    /// The same in a summary.
    pub(crate) fn kind(self) -> StartKind {
        match self {
            Self::NewRolls => StartKind::NewRolls,
            Self::LongRun => StartKind::LongRun,
        }
    }
}

impl Wanted {
    /// What is wrong with it, if anything.
    pub(crate) fn fault(&self) -> Option<String> {
        if !(2..=MOST_SHIFTS).contains(&self.shifts) {
            return Some(format!("shifts is {}; give a whole number from 2 to {MOST_SHIFTS}", self.shifts));
        }
        (self.seed > LARGEST_SEED)
            .then(|| format!("seed is {}; give a whole number from 0 to {LARGEST_SEED}", self.seed))
    }

    /// The conditions of the runs: those of `linewake run`.
    pub(crate) fn conditions(&self) -> Conditions {
        Conditions {
            seed: self.seed,
            runs: self.shifts,
            start: self.start.kind(),
            warm_up: Span::from_seconds(WARM_UP_S),
            ..Conditions::default()
        }
    }

    /// The plan of a shift of that line.
    pub(crate) fn plan(&self, line: &Line) -> RunPlan {
        self.conditions().run_plan(line)
    }
}

/// A set of shifts: model, seed, start and number.
type Key = (String, u64, StartKind, u64);

/// Sets of shifts that were run lately, the newest last.
#[derive(Default)]
pub(crate) struct Memory(Mutex<Vec<(Key, Arc<Vec<ShiftResult>>)>>);

impl Memory {
    fn get(&self, key: &Key) -> Option<Arc<Vec<ShiftResult>>> {
        let sets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sets.iter().find(|(known, _)| known == key).map(|(_, shifts)| Arc::clone(shifts))
    }

    fn keep(&self, key: Key, shifts: &Arc<Vec<ShiftResult>>) {
        let mut sets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sets.retain(|(known, _)| *known != key);
        sets.push((key, Arc::clone(shifts)));
        if sets.len() > MOST_SETS {
            sets.remove(0);
        }
    }
}

/// Runs the shifts of a line, or takes them from memory. `news` is told all shifts that are done, by replication,
/// whenever there are new ones and it has not been busy.
///
/// # Errors
/// If the page went away, or the machine gave no threads.
pub(crate) fn run(
    memory: &Memory,
    line: &Line,
    wanted: &Wanted,
    teller: &Teller,
    news: &mut dyn FnMut(&BTreeMap<u64, ShiftResult>),
) -> Result<Arc<Vec<ShiftResult>>, ReplicateError> {
    let key = (line.digest.clone(), wanted.seed, wanted.start.kind(), wanted.shifts);
    if let Some(known) = memory.get(&key) {
        return Ok(known);
    }
    let (plan, conditions) = (wanted.plan(line), wanted.conditions());
    let workers = Workers::new(None, teller.stop())?;
    let (results, done) = std::sync::mpsc::channel::<(u64, ShiftResult)>();
    let outcome = std::thread::scope(|scope| {
        let work = scope.spawn(move || {
            workers.each(wanted.shifts, &|| {}, |replication| {
                if teller.stop().load(Ordering::SeqCst) {
                    return;
                }
                let shift = run_once(line, &plan, conditions.conventions, conditions.seed, replication);
                let _nobody_waits = results.send((replication, shift));
            })
        });
        let mut shifts = BTreeMap::new();
        while let Ok((replication, shift)) = done.recv() {
            shifts.insert(replication, shift);
            shifts.extend(done.try_iter());
            if (shifts.len() as u64) < wanted.shifts {
                news(&shifts);
            }
        }
        let ended = work.join().unwrap_or(Err(ReplicateError::Interrupted));
        ended.map(|_| shifts)
    })?;
    if (outcome.len() as u64) < wanted.shifts {
        return Err(ReplicateError::Interrupted);
    }
    let shifts = Arc::new(outcome.into_values().collect::<Vec<_>>());
    if wanted.shifts <= LARGEST_SET {
        memory.keep(key, &shifts);
    }
    Ok(shifts)
}
