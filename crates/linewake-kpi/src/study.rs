//! What the studies found, as plain data: each answers one question of the job, and says how sure it is.
//!
//! Types only, with times in seconds and packs as counts. They are made where runs and statistics are known, and drawn
//! where neither is. "A run" is the window of one replication: a shift, or a run of the stated length.

pub mod acceptance;
pub mod buffers;
pub mod comparison;
pub mod crew;
pub mod fitting;
pub mod losses;
pub mod order;
pub mod paired;
pub mod precision;
pub mod scope;
pub mod sensitivity;
pub mod split;
pub mod trial;
pub mod versus;
pub mod wake;

use crate::summary::{Mean, StartKind};
use serde::Serialize;

/// What stands at the head of every study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StudyHead {
    /// Which study.
    pub kind: StudyKind,
    /// Name of the line.
    pub model_name: String,
    /// SHA-256 of the model.
    pub model_digest: String,
    /// Version of the program.
    pub program_version: String,
    /// Seed of all runs: every design meets the same luck.
    pub seed: u64,
    /// Runs of each design; `None` where the number differs between designs.
    pub replications: Option<u64>,
    /// Runs made in all.
    pub runs: u64,
    /// How a run begins.
    pub start: StartKind,
    /// Length of the window of a run, breaks included.
    pub run_s: f64,
    /// Warm-up dropped before it; 0 if none.
    pub warm_up_s: f64,
    /// Confidence level of the intervals, for example 0.95.
    pub level: f64,
    /// Design rate in packs per minute.
    pub design_rate_per_min: f64,
    /// Currency of the model, where it states one.
    pub currency: Option<String>,
    /// The procedures used, each with its source.
    pub methods: Vec<Method>,
    /// What the reader must know to read the figures rightly, in words.
    pub notes: Vec<String>,
}

/// A procedure and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Method {
    /// What it does here, in words.
    pub what: String,
    /// Its source.
    pub source: String,
}

/// The studies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StudyKind {
    /// How many shifts until the figure is sure enough.
    Precision,
    /// Output against capacity.
    Buffers,
    /// The best way to share out places among several buffers.
    Split,
    /// What each loss really costs.
    Losses,
    /// Two or more models.
    Comparison,
    /// Which input matters.
    Sensitivity,
    /// What an acceptance run will show.
    Acceptance,
    /// Operators and response times.
    Crew,
    /// How long an order takes.
    Order,
    /// Losses by supplier.
    Scope,
    /// The promise against the log.
    Versus,
}

impl StudyKind {
    /// Its word, as on the command line and in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Precision => "precision",
            Self::Buffers => "buffers",
            Self::Split => "split",
            Self::Losses => "losses",
            Self::Comparison => "compare",
            Self::Sensitivity => "sensitivity",
            Self::Acceptance => "acceptance",
            Self::Crew => "crew",
            Self::Order => "order",
            Self::Scope => "scope",
            Self::Versus => "versus",
        }
    }
}

/// What a study found, of whichever kind.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
#[expect(missing_docs, reason = "the results say it")]
pub enum StudyResult {
    Precision(Box<precision::PrecisionResult>),
    Buffers(Box<buffers::BuffersResult>),
    Split(Box<split::SplitResult>),
    Losses(Box<losses::LossesResult>),
    Comparison(Box<comparison::ComparisonResult>),
    Sensitivity(Box<sensitivity::SensitivityResult>),
    Acceptance(Box<acceptance::AcceptanceResult>),
    Crew(Box<crew::CrewResult>),
    Order(Box<order::OrderResult>),
    Scope(Box<scope::ScopeResult>),
    Versus(Box<versus::VersusResult>),
}

impl StudyResult {
    /// Its head.
    #[must_use]
    pub fn head(&self) -> &StudyHead {
        match self {
            Self::Precision(found) => &found.head,
            Self::Buffers(found) => &found.head,
            Self::Split(found) => &found.head,
            Self::Losses(found) => &found.head,
            Self::Comparison(found) => &found.head,
            Self::Sensitivity(found) => &found.head,
            Self::Acceptance(found) => &found.head,
            Self::Crew(found) => &found.head,
            Self::Order(found) => &found.head,
            Self::Scope(found) => &found.head,
            Self::Versus(found) => &found.head,
        }
    }

    /// Its head, to be added to.
    pub fn head_mut(&mut self) -> &mut StudyHead {
        match self {
            Self::Precision(found) => &mut found.head,
            Self::Buffers(found) => &mut found.head,
            Self::Split(found) => &mut found.head,
            Self::Losses(found) => &mut found.head,
            Self::Comparison(found) => &mut found.head,
            Self::Sensitivity(found) => &mut found.head,
            Self::Acceptance(found) => &mut found.head,
            Self::Crew(found) => &mut found.head,
            Self::Order(found) => &mut found.head,
            Self::Scope(found) => &mut found.head,
            Self::Versus(found) => &mut found.head,
        }
    }
}

macro_rules! from_found {
    ($($variant:ident($found:ty)),*) => {
        $(impl From<$found> for StudyResult {
            fn from(found: $found) -> Self {
                Self::$variant(Box::new(found))
            }
        })*
    };
}

from_found!(
    Precision(precision::PrecisionResult),
    Buffers(buffers::BuffersResult),
    Split(split::SplitResult),
    Losses(losses::LossesResult),
    Comparison(comparison::ComparisonResult),
    Sensitivity(sensitivity::SensitivityResult),
    Acceptance(acceptance::AcceptanceResult),
    Crew(crew::CrewResult),
    Order(order::OrderResult),
    Scope(scope::ScopeResult),
    Versus(versus::VersusResult)
);

/// What one design amounts to.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DesignFigures {
    /// Its name: what differs from the model, or "as modelled".
    pub label: String,
    /// The values that were set, in the order of [`buffers::Varied`] or of the study.
    pub values: Vec<String>,
    /// Good packs a run.
    pub good_packs: Mean,
    /// OEE: ratio of sums.
    pub oee: Mean,
    /// Good packs less those of the design that is compared with, run by run with the same luck; `None` for that
    /// design itself.
    pub against_base: Option<Mean>,
}

/// A share counted among trials, with its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Proportion {
    /// Trials in which it was so.
    pub hits: u64,
    /// Trials.
    pub trials: u64,
    /// Hits / trials, 0 to 1.
    pub share: f64,
    /// Lower end of the exact interval (Clopper and Pearson 1934) at the level of the study.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// A column of a histogram.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct HistogramBin {
    /// Lower edge.
    pub from: f64,
    /// Upper edge; the last bin contains it.
    pub to: f64,
    /// Values in it.
    pub count: u64,
}
