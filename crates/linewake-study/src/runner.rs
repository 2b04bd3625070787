//! Makes the runs of a study on all threads, in an order that does not depend on how many, and keeps them.

use crate::journal::{Journal, JournalError, JournalHead, Part, Records, write_head, write_record};
use crate::plan::{Job, StudyPlan};
use crate::record::RunRecord;
use crate::replicate::{ReplicateError, Workers};
use linewake_model::change::ChangeError;
use std::collections::BTreeMap;
use std::fmt;
use std::io::{self, Write};

/// Why a study did not come to its end.
#[derive(Debug)]
pub enum RunError {
    /// The stop flag was raised. What was done is in the journal.
    Interrupted,
    /// The machine gave no threads.
    NoThreads(String),
    /// The journal could not be written.
    Journal(io::Error),
    /// Drawn inputs that make no line: of which design and replication, and what is wrong.
    Drawn(String, u64, ChangeError),
    /// The study decides on the way and has no parts.
    NoParts,
    /// The runs say nothing, in words.
    NoAnswer(String),
}

impl fmt::Display for RunError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Interrupted => f.write_str("interrupted"),
            Self::NoThreads(why) => {
                write!(f, "the machine gave no worker threads ({why}); ask for fewer")
            }
            Self::Journal(error) => write!(f, "the journal cannot be written: {error}"),
            Self::Drawn(label, replication, error) => {
                write!(f, "run {replication} of \"{label}\", inputs drawn over their uncertainty: {error}")
            }
            Self::NoParts => JournalError::NoParts.fmt(f),
            Self::NoAnswer(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for RunError {}

impl From<ReplicateError> for RunError {
    fn from(error: ReplicateError) -> Self {
        match error {
            ReplicateError::Interrupted => Self::Interrupted,
            ReplicateError::NoThreads(why) => Self::NoThreads(why),
        }
    }
}

/// Makes and keeps the runs of one plan.
pub struct Runner<'a> {
    plan: &'a StudyPlan,
    workers: &'a Workers<'a>,
    done: &'a (dyn Fn() + Sync),
    journal: Option<&'a mut (dyn Write + Send)>,
    records: Records,
}

impl fmt::Debug for Runner<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Runner").field("records", &self.records.len()).finish_non_exhaustive()
    }
}

impl<'a> Runner<'a> {
    /// Without a journal. `done` is told after each run that is made (from any thread).
    #[must_use]
    pub fn new(plan: &'a StudyPlan, workers: &'a Workers<'a>, done: &'a (dyn Fn() + Sync)) -> Self {
        Self { plan, workers, done, journal: None, records: Records::default() }
    }

    /// With the runs of a journal that was read; each further run is written to `journal`, in the order of the jobs, so
    /// that what was done is never lost. `earlier: None` begins a new journal with its head.
    ///
    /// # Errors
    /// [`JournalError::Stranger`] if the journal belongs to another study, and what the writer says.
    pub fn resume(
        mut self,
        part: Part,
        earlier: Option<Journal>,
        journal: &'a mut (dyn Write + Send),
    ) -> Result<Self, JournalError> {
        let head = JournalHead::of(self.plan, part);
        match earlier {
            Some(earlier) => {
                earlier.belongs_to(&head)?;
                self.records = earlier.records;
            }
            None => write_head(&head, journal)?,
        }
        self.journal = Some(journal);
        Ok(self)
    }

    /// With the runs of a whole journal, which is only read: what is missing is run and not kept.
    ///
    /// # Errors
    /// [`JournalError::Stranger`] if the journal belongs to another study.
    pub fn with(mut self, earlier: Journal) -> Result<Self, JournalError> {
        earlier.belongs_to(&JournalHead::of(self.plan, Part::WHOLE))?;
        self.records = earlier.records;
        Ok(self)
    }

    /// With runs that were made for another study, of which the caller knows that its designs of the same numbers are the same:
    /// what a model predicts can be held against many logs.
    #[must_use]
    pub fn with_records(mut self, records: Records) -> Self {
        self.records = records;
        self
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &'a StudyPlan {
        self.plan
    }

    /// Runs that are there.
    #[must_use]
    pub fn records(&self) -> &Records {
        &self.records
    }

    /// Jobs of a part that have not been run.
    #[must_use]
    pub fn missing(&self, part: Part) -> Vec<Job> {
        let jobs = 0..self.plan.job_count().unwrap_or(0);
        let missing = jobs.filter(|job| part.has(*job) && self.records.get(*job).is_none());
        missing.map(|job| self.plan.job(job)).collect()
    }

    /// Makes all runs of a part.
    ///
    /// # Errors
    /// As [`Self::run`], and [`RunError::NoParts`] for a study that decides on the way.
    pub fn run_part(&mut self, part: Part) -> Result<(), RunError> {
        if self.plan.job_count().is_none() {
            return Err(RunError::NoParts);
        }
        self.run(&self.missing(part))
    }

    /// Makes all runs of a fixed plan.
    ///
    /// # Errors
    /// As [`Self::run_part`].
    pub fn run_all(&mut self) -> Result<(), RunError> {
        self.run_part(Part::WHOLE)
    }

    /// Makes the runs of `designs` with replications from `from` to before `to`, those that are not there yet.
    ///
    /// # Errors
    /// As [`Self::run`].
    pub fn run_block(&mut self, designs: &[usize], from: u64, to: u64) -> Result<(), RunError> {
        let jobs: Vec<Job> = (from..to)
            .flat_map(|replication| designs.iter().map(move |&design| (design, replication)))
            .map(|(design, replication)| self.plan.job(self.plan.number(design, replication)))
            .filter(|job| self.records.get(job.number).is_none())
            .collect();
        self.run(&jobs)
    }

    /// Makes these runs.
    ///
    /// # Errors
    /// If the stop flag was raised, the journal could not be written, or drawn inputs make no line. Runs that were made
    /// before are kept.
    pub fn run(&mut self, jobs: &[Job]) -> Result<(), RunError> {
        let mut outcome = Ok(());
        let (plan, done) = (self.plan, self.done);
        let mut order = InOrder { next: 0, waiting: BTreeMap::new() };
        let (records, journal) = (&mut self.records, &mut self.journal);
        let mut keep = |place: usize, record: Result<RunRecord, RunError>| -> bool {
            for record in order.take(place, record) {
                let kept = record.and_then(|record| {
                    if let Some(journal) = journal {
                        write_record(&record, *journal).map_err(RunError::Journal)?;
                    }
                    records.insert(record);
                    Ok(())
                });
                if let Err(error) = kept {
                    outcome = Err(error);
                    return false;
                }
            }
            true
        };
        let work = |place: usize| {
            let job = jobs[place];
            let design = &plan.designs[job.design];
            let number = u32::try_from(job.design).unwrap_or(u32::MAX);
            let conventions = plan.conditions.conventions;
            let record = design.run(job.number, number, plan.conditions.seed, job.replication, conventions);
            done();
            record.map_err(|error| RunError::Drawn(design.label.clone(), job.replication, error))
        };
        let stopped = self.workers.in_order(jobs.len(), &work, &mut keep);
        outcome?;
        stopped.map_err(RunError::from)
    }

    /// The record of a design and replication.
    #[must_use]
    pub fn record(&self, design: usize, replication: u64) -> Option<&RunRecord> {
        self.records.get(self.plan.number(design, replication))
    }

    /// A figure of a design over replications 0 to before `runs`, as far as they are there without a gap.
    #[must_use]
    pub fn values(&self, design: usize, runs: u64, figure: impl Fn(&RunRecord) -> f64) -> Vec<f64> {
        (0..runs).map_while(|replication| self.record(design, replication).map(&figure)).collect()
    }
}

/// Puts what comes in any order into the order of the jobs.
struct InOrder {
    next: usize,
    waiting: BTreeMap<usize, Result<RunRecord, RunError>>,
}

impl InOrder {
    fn take(
        &mut self,
        place: usize,
        record: Result<RunRecord, RunError>,
    ) -> Vec<Result<RunRecord, RunError>> {
        self.waiting.insert(place, record);
        let mut ready = Vec::new();
        while let Some(record) = self.waiting.remove(&self.next) {
            ready.push(record);
            self.next += 1;
        }
        ready
    }
}

#[cfg(test)]
mod tests;
