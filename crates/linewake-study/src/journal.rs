//! The journal of a study: a head, then one line of JSON for each run, in the order of the jobs.
//!
//! A journal that was cut off, even in the middle of a line, is good up to its last whole line: the study goes on from
//! there. Files are the caller's: what is here reads and writes through what it is handed.

use crate::plan::{Identity, StudyPlan};
use crate::record::RunRecord;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;
use std::io::{self, BufRead, Write};

/// Version of the format.
pub const FORMAT: u32 = 1;

/// A part of a study: number `number` of `of`, from 1. It has every `of`-th job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Number, from 1.
    pub number: u64,
    /// Parts in all.
    pub of: u64,
}

impl Part {
    /// The whole study.
    pub const WHOLE: Self = Self { number: 1, of: 1 };

    /// Reads `3/8`.
    ///
    /// # Errors
    /// In words: no such form, or a number that is not from 1 to the number of parts.
    pub fn parse(text: &str) -> Result<Self, String> {
        let wrong =
            || format!("\"{text}\" is no part; write its number, from 1, and how many there are, as in 1/8");
        let (number, of) = text.split_once('/').ok_or_else(wrong)?;
        let part = Self {
            number: number.trim().parse().map_err(|_| wrong())?,
            of: of.trim().parse().map_err(|_| wrong())?,
        };
        if part.number >= 1 && part.number <= part.of {
            return Ok(part);
        }
        Err(format!(
            "there is no part {}/{}: parts are numbered from 1 to the number of parts",
            part.number, part.of
        ))
    }

    /// Whether the job belongs to it.
    #[must_use]
    pub fn has(self, job: u64) -> bool {
        job % self.of == self.number - 1
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.number, self.of)
    }
}

/// The first line of a journal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct JournalHead {
    /// Version of the format.
    pub linewake_journal: u32,
    /// What the study is.
    pub identity: Identity,
    /// Jobs of the whole study; `None` if it decides on the way.
    pub jobs: Option<u64>,
    /// Which part of them is in here.
    pub part: Part,
}

impl JournalHead {
    /// The head for a part of a plan.
    #[must_use]
    pub fn of(plan: &StudyPlan, part: Part) -> Self {
        Self { linewake_journal: FORMAT, identity: plan.identity.clone(), jobs: plan.job_count(), part }
    }
}

/// Runs that have been made, by job.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Records {
    records: BTreeMap<u64, RunRecord>,
}

impl Records {
    /// The record of a job.
    #[must_use]
    pub fn get(&self, job: u64) -> Option<&RunRecord> {
        self.records.get(&job)
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.records.len()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.records.is_empty()
    }

    /// All, in the order of the jobs.
    pub fn iter(&self) -> impl Iterator<Item = &RunRecord> {
        self.records.values()
    }

    /// Puts one in; `false` if the job has one already.
    pub fn insert(&mut self, record: RunRecord) -> bool {
        if self.records.contains_key(&record.job) {
            return false;
        }
        self.records.insert(record.job, record);
        true
    }
}

/// A journal that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Journal {
    /// Its head.
    pub head: JournalHead,
    /// Its runs.
    pub records: Records,
    /// Bytes up to the end of the last whole line: what follows was cut off in writing and is to be overwritten.
    pub good_bytes: u64,
}

/// Why a journal is of no use.
#[derive(Debug)]
pub enum JournalError {
    /// It could not be read or written.
    Io(io::Error),
    /// It has no whole head: nothing is in it, and the study can begin anew.
    Empty,
    /// Its first line is no head of a journal that this program knows; what is wrong.
    NoJournal(String),
    /// A line in the middle that is no run: its number from 1, and what is wrong.
    BadLine(u64, String),
    /// It belongs to another study: what differs, there and here.
    Stranger {
        /// What differs.
        what: String,
        /// In the journal.
        there: String,
        /// Wanted.
        here: String,
    },
    /// A job that is twice there.
    Twice(u64),
    /// A job that this part cannot have.
    Foreign(u64),
    /// Parts that are missing from a merge.
    MissingParts(Vec<Part>),
    /// A part that is given twice.
    PartTwice(Part),
    /// A part without all of its runs: the part, runs there, runs due.
    Incomplete(Part, u64, u64),
    /// The study decides on the way and has no parts.
    NoParts,
}

impl fmt::Display for JournalError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Io(error) => error.fmt(f),
            Self::Empty => f.write_str("the journal is empty"),
            Self::NoJournal(why) => write!(f, "this is no journal of a study that this program can read: {why}"),
            Self::BadLine(line, why) => {
                write!(f, "line {line} of the journal is no run: {why}; take the line out, and its run is made again")
            }
            Self::Stranger { what, there, here } => {
                write!(f, "the journal belongs to another study: {what} is {there} there and {here} here")
            }
            Self::Twice(job) => write!(f, "job {job} is there twice"),
            Self::Foreign(job) => write!(f, "job {job} does not belong to this part of the study"),
            Self::MissingParts(parts) => {
                let names: Vec<String> = parts.iter().map(ToString::to_string).collect();
                write!(f, "missing: part {}; run it with --part and merge again", names.join(", "))
            }
            Self::PartTwice(part) => write!(f, "part {part} is given twice; give each part once"),
            Self::Incomplete(part, there, due) => write!(
                f,
                "part {part} has {there} of its {due} runs; run it again with the same journal, and it goes on from there"
            ),
            Self::NoParts => f.write_str(
                "this study decides on the way how many runs it needs, so it cannot be cut into parts; run it on one machine",
            ),
        }
    }
}

impl std::error::Error for JournalError {}

impl From<io::Error> for JournalError {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

impl Journal {
    /// Reads a journal. A last line without its end is left away.
    ///
    /// # Errors
    /// What cannot be read, an empty journal, a first line that is no head, a line that is no run, a job twice or in the
    /// wrong part.
    pub fn read(mut input: impl BufRead) -> Result<Self, JournalError> {
        // Bytes, not text: an interrupt may cut the last line inside a letter.
        let mut line = Vec::new();
        let mut good_bytes = input.read_until(b'\n', &mut line)? as u64;
        if !line.ends_with(b"\n") {
            return Err(JournalError::Empty);
        }
        let head: JournalHead =
            serde_json::from_slice(&line).map_err(|error| JournalError::NoJournal(error.to_string()))?;
        if head.linewake_journal != FORMAT {
            let why =
                format!("it has format {}, and this program reads format {FORMAT}", head.linewake_journal);
            return Err(JournalError::NoJournal(why));
        }
        if head.part.number == 0 || head.part.number > head.part.of {
            return Err(JournalError::NoJournal(format!("it names part {}", head.part)));
        }
        let mut records = Records::default();
        for number in 2.. {
            line.clear();
            let read = input.read_until(b'\n', &mut line)? as u64;
            if !line.ends_with(b"\n") {
                break;
            }
            let record: RunRecord = serde_json::from_slice(&line)
                .map_err(|error| JournalError::BadLine(number, error.to_string()))?;
            let job = record.job;
            if !head.part.has(job) || head.jobs.is_some_and(|jobs| job >= jobs) {
                return Err(JournalError::Foreign(job));
            }
            if !records.insert(record) {
                return Err(JournalError::Twice(job));
            }
            good_bytes += read;
        }
        Ok(Self { head, records, good_bytes })
    }

    /// Whether it belongs to that study.
    ///
    /// # Errors
    /// [`JournalError::Stranger`] with the first thing that differs.
    pub fn belongs_to(&self, head: &JournalHead) -> Result<(), JournalError> {
        same_study(&self.head, head)?;
        let (there, here) = (self.head.part, head.part);
        if there != here {
            return Err(stranger("the part", there, here));
        }
        Ok(())
    }
}

fn stranger(what: &str, there: impl fmt::Display, here: impl fmt::Display) -> JournalError {
    JournalError::Stranger { what: what.to_owned(), there: there.to_string(), here: here.to_string() }
}

fn same_study(there: &JournalHead, here: &JournalHead) -> Result<(), JournalError> {
    let (one, other) = (&there.identity, &here.identity);
    let pairs: [(&str, String, String); 9] = [
        ("the study", one.study.clone(), other.study.clone()),
        ("the line", one.model_name.clone(), other.model_name.clone()),
        ("the model's digest", one.model_digest.clone(), other.model_digest.clone()),
        ("the version of the program", one.program_version.clone(), other.program_version.clone()),
        ("the seed", one.seed.to_string(), other.seed.to_string()),
        ("the number of runs", one.runs.to_string(), other.runs.to_string()),
        ("the number of designs", one.designs.to_string(), other.designs.to_string()),
        ("the run", one.run.clone(), other.run.clone()),
        ("the set of options", one.options.to_string(), other.options.to_string()),
    ];
    for (what, there, here) in pairs {
        if there != here {
            return Err(stranger(what, there, here));
        }
    }
    Ok(())
}

/// Writes the head of a journal.
///
/// # Errors
/// What the writer says.
pub fn write_head(head: &JournalHead, out: &mut dyn Write) -> io::Result<()> {
    write_line(head, out)
}

/// Writes one run.
///
/// # Errors
/// What the writer says.
pub fn write_record(record: &RunRecord, out: &mut dyn Write) -> io::Result<()> {
    write_line(record, out)
}

fn write_line(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    // One write for each line, so that a journal is cut off between lines if it can be.
    let mut line = serde_json::to_vec(value)?;
    line.push(b'\n');
    out.write_all(&line)?;
    out.flush()
}

/// Puts the parts of a study together to the journal of the whole: the same bytes as if it had been run as one.
///
/// # Errors
/// Parts of different studies, a part that is missing, double or not complete, or a study without parts.
pub fn merge(parts: &[Journal], out: &mut dyn Write) -> Result<JournalHead, JournalError> {
    let Some(first) = parts.first() else { return Err(JournalError::Empty) };
    let Some(jobs) = first.head.jobs else { return Err(JournalError::NoParts) };
    let of = first.head.part.of;
    let mut seen: BTreeMap<u64, &Journal> = BTreeMap::new();
    for part in parts {
        same_study(&part.head, &first.head)?;
        if part.head.part.of != of {
            return Err(stranger("the number of parts", part.head.part.of, of));
        }
        if seen.insert(part.head.part.number, part).is_some() {
            return Err(JournalError::PartTwice(part.head.part));
        }
    }
    let missing: Vec<Part> =
        (1..=of).filter(|number| !seen.contains_key(number)).map(|number| Part { number, of }).collect();
    if !missing.is_empty() {
        return Err(JournalError::MissingParts(missing));
    }
    for part in seen.values() {
        let due = (0..jobs).filter(|job| part.head.part.has(*job)).count() as u64;
        let there = part.records.len() as u64;
        if there != due {
            return Err(JournalError::Incomplete(part.head.part, there, due));
        }
    }
    let head = JournalHead { part: Part::WHOLE, ..first.head.clone() };
    write_head(&head, out)?;
    for job in 0..jobs {
        let record = seen.get(&(job % of + 1)).and_then(|part| part.records.get(job));
        if let Some(record) = record {
            write_record(record, out)?;
        }
    }
    Ok(head)
}
