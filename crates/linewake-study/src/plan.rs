//! What a study runs: its designs, how often, and the numbers of its jobs.

use crate::design::Design;
use crate::record::convention_words;
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_kpi::study::{Method, StudyHead, StudyKind};
use linewake_kpi::summary::StartKind;
use linewake_model::change::{ChangeError, ModelTree, PathError, ValuesError};
use linewake_model::line::Line;
use linewake_model::problem::Problem;
use linewake_model::time::{Moment, Span};
use serde::{Deserialize, Serialize};
use std::fmt;

/// How the runs of a study are made.
#[derive(Clone, Debug, PartialEq)]
pub struct Conditions {
    /// Seed of all runs.
    pub seed: u64,
    /// Runs of each design.
    pub runs: u64,
    /// How a run begins.
    pub start: StartKind,
    /// Warm-up dropped before a run of the long run.
    pub warm_up: Span,
    /// Length of the window of a run; `None`: a shift.
    pub length: Option<Span>,
    /// Conventions of the accounting.
    pub conventions: Conventions,
    /// Confidence level of intervals, between 0 and 1.
    pub level: f64,
}

impl Default for Conditions {
    /// 50 shifts of the long run after a warm-up of 2 h, seed 1, 95 %.
    fn default() -> Self {
        Self {
            seed: 1,
            runs: 50,
            start: StartKind::LongRun,
            warm_up: Span::from_seconds(7200.0),
            length: None,
            conventions: Conventions::default(),
            level: 0.95,
        }
    }
}

impl Conditions {
    /// The plan of one run of that line.
    #[must_use]
    pub fn run_plan(&self, line: &Line) -> RunPlan {
        let length = self.length.unwrap_or(line.shift.length);
        match self.start {
            StartKind::LongRun => RunPlan {
                horizon: Moment::ZERO + self.warm_up + length,
                ..RunPlan::long_run(line, self.warm_up)
            },
            StartKind::NewRolls | StartKind::Logged => {
                RunPlan { horizon: Moment::ZERO + length, ..RunPlan::shift(line) }
            }
        }
    }

    fn warm_up_s(&self) -> f64 {
        if self.start == StartKind::LongRun { self.warm_up.seconds() } else { 0.0 }
    }

    /// Refuses what no study can work with.
    pub(crate) fn check(&self) -> Result<(), StudyError> {
        if self.runs < 2 {
            return Err(StudyError::option(
                "runs",
                self.runs,
                "a study needs at least 2 runs of each design",
            ));
        }
        if !(self.level > 0.0 && self.level < 1.0) {
            return Err(StudyError::option("level", self.level, "it lies between 0 and 1, as in 0.95"));
        }
        if self.length.is_some_and(|length| length == Span::ZERO) {
            return Err(StudyError::option("length", "0", "a run needs some time"));
        }
        Ok(())
    }
}

/// Why a study could not be set up.
#[derive(Clone, Debug, PartialEq)]
pub enum StudyError {
    /// An option that cannot be: its name, its value, and what would be right.
    Option {
        /// Name.
        name: String,
        /// Value as given.
        value: String,
        /// What would be right.
        hint: String,
    },
    /// The model has errors.
    Model(Vec<Problem>),
    /// A path that leads nowhere.
    Path(PathError),
    /// A list of values that cannot be read.
    Values(ValuesError),
    /// A changed model that is not right: what was changed, and the error.
    Design(String, ChangeError),
}

impl StudyError {
    pub(crate) fn option(name: &str, value: impl fmt::Display, hint: &str) -> Self {
        Self::Option { name: name.to_owned(), value: value.to_string(), hint: hint.to_owned() }
    }
}

impl fmt::Display for StudyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Option { name, value, hint } => write!(f, "{name} is {value}; {hint}"),
            Self::Model(problems) => {
                f.write_str("the model has errors")?;
                problems.iter().try_for_each(|problem| write!(f, "; {problem}"))
            }
            Self::Path(error) => error.fmt(f),
            Self::Values(error) => error.fmt(f),
            Self::Design(label, error) => write!(f, "with {label}: {error}"),
        }
    }
}

impl std::error::Error for StudyError {}

impl From<PathError> for StudyError {
    fn from(error: PathError) -> Self {
        Self::Path(error)
    }
}

impl From<ValuesError> for StudyError {
    fn from(error: ValuesError) -> Self {
        Self::Values(error)
    }
}

/// What a study runs. Jobs are numbered replication by replication, designs within: job = replication x designs + design.
/// So an interrupted study has the same runs of every design, but for the last.
#[derive(Clone, Debug)]
pub struct StudyPlan {
    /// What the journal says of it.
    pub identity: Identity,
    /// The designs, the line as modelled first where there is one.
    pub designs: Vec<Design>,
    /// Conditions of all runs.
    pub conditions: Conditions,
    /// Runs of each design are known beforehand: the study can be cut into parts. Otherwise it decides on the way.
    pub is_fixed: bool,
}

/// What makes two journals belong together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Identity {
    /// Word of the study.
    pub study: String,
    /// Name of the line.
    pub model_name: String,
    /// SHA-256 of the model.
    pub model_digest: String,
    /// Options of the study, by name.
    pub options: serde_json::Value,
    /// Seed.
    pub seed: u64,
    /// Runs of each design; of a study that decides on the way: 0.
    pub runs: u64,
    /// Designs.
    pub designs: u64,
    /// How a run begins and how long it is, and the conventions.
    pub run: String,
    /// Version of the program.
    pub program_version: String,
}

/// A job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Job {
    /// Its number.
    pub number: u64,
    /// Place of the design.
    pub design: usize,
    /// Replication.
    pub replication: u64,
}

impl StudyPlan {
    /// The plan of a study of that model. `options` is what distinguishes it from another study of the same kind.
    pub(crate) fn new(
        kind: StudyKind,
        line: &Line,
        designs: Vec<Design>,
        conditions: &Conditions,
        options: impl Serialize,
        is_fixed: bool,
    ) -> Result<Self, StudyError> {
        conditions.check()?;
        let start = match conditions.start {
            StartKind::LongRun => format!("long run after {} s", conditions.warm_up_s()),
            StartKind::NewRolls | StartKind::Logged => "new rolls".to_owned(),
        };
        let length = conditions.length.unwrap_or(line.shift.length).seconds();
        let identity = Identity {
            study: kind.word().to_owned(),
            model_name: line.name.clone(),
            model_digest: line.digest.clone(),
            options: serde_json::to_value(options).unwrap_or_default(),
            seed: conditions.seed,
            runs: if is_fixed { conditions.runs } else { 0 },
            designs: designs.len() as u64,
            run: format!("{start}, {length} s, {}", convention_words(conditions.conventions)),
            program_version: env!("CARGO_PKG_VERSION").to_owned(),
        };
        Ok(Self { identity, designs, conditions: conditions.clone(), is_fixed })
    }

    /// The number of jobs; `None` if it is not known beforehand.
    #[must_use]
    pub fn job_count(&self) -> Option<u64> {
        self.is_fixed.then(|| self.conditions.runs * self.designs.len() as u64)
    }

    /// The job of that number.
    #[must_use]
    pub fn job(&self, number: u64) -> Job {
        let designs = self.designs.len().max(1) as u64;
        Job { number, design: usize::try_from(number % designs).unwrap_or(0), replication: number / designs }
    }

    /// The number of the job of a design and replication.
    #[must_use]
    pub fn number(&self, design: usize, replication: u64) -> u64 {
        replication * self.designs.len() as u64 + design as u64
    }

    /// The head of the results.
    pub(crate) fn head(
        &self,
        kind: StudyKind,
        line: &Line,
        runs: u64,
        methods: Vec<Method>,
        notes: Vec<String>,
    ) -> StudyHead {
        let conditions = &self.conditions;
        StudyHead {
            kind,
            model_name: line.name.clone(),
            model_digest: line.digest.clone(),
            program_version: self.identity.program_version.clone(),
            seed: conditions.seed,
            replications: self.is_fixed.then_some(conditions.runs),
            runs,
            start: conditions.start,
            run_s: conditions.length.unwrap_or(line.shift.length).seconds(),
            warm_up_s: conditions.warm_up_s(),
            level: conditions.level,
            design_rate_per_min: line.design_rate_per_min,
            currency: line.trade.as_ref().map(|trade| trade.currency.clone()).filter(|it| !it.is_empty()),
            methods,
            notes,
        }
    }
}

/// A model that studies start from: its tree and its line.
#[derive(Clone, Debug)]
pub struct BaseModel {
    /// The tree, to be changed. Stated uncertainties are in the line alone: an amount that goes with the value as modelled
    /// says nothing of a changed one.
    pub tree: ModelTree,
    /// The line as modelled.
    pub line: Line,
}

impl BaseModel {
    /// Reads the text of a model file.
    ///
    /// # Errors
    /// [`StudyError::Model`] with all problems.
    pub fn parse(text: &str) -> Result<Self, StudyError> {
        let line = linewake_model::parse(text).map_err(StudyError::Model)?.line;
        let mut tree = ModelTree::parse(text).map_err(StudyError::Model)?;
        if !line.uncertainty.is_empty() {
            tree.remove("uncertainty")?;
        }
        Ok(Self { tree, line })
    }

    /// The line of a tree that was changed, with the uncertainties of this model: in proportion to the changed values.
    ///
    /// # Errors
    /// As [`ModelTree::check`].
    pub fn line_of(&self, tree: &ModelTree) -> Result<Line, ChangeError> {
        let line = tree.check()?.line;
        Ok(Line { uncertainty: self.line.uncertainty.clone(), ..line })
    }

    /// The line as modelled, as a design.
    #[must_use]
    pub fn as_modelled(&self, conditions: &Conditions) -> Design {
        Design::new(AS_MODELLED, self.line.clone(), conditions.run_plan(&self.line))
    }

    /// The model with values set, each by its path: a variant to compare with.
    ///
    /// # Errors
    /// A path that leads nowhere, or values with which the model does not pass its check.
    pub fn variant(&self, settings: &[(String, String)]) -> Result<Self, StudyError> {
        let mut tree = self.tree.clone();
        for (path, value) in settings {
            tree.set(path, value)?;
        }
        let line = self.line_of(&tree).map_err(|error| StudyError::Design(in_words(settings), error))?;
        Ok(Self { tree, line })
    }

    /// A design with values set, each by its path.
    ///
    /// # Errors
    /// A path that leads nowhere, or values with which the model does not pass its check.
    pub fn with(&self, settings: &[(String, String)], conditions: &Conditions) -> Result<Design, StudyError> {
        let line = self.variant(settings)?.line;
        let plan = conditions.run_plan(&line);
        let values = settings.iter().map(|(_, value)| value.clone()).collect();
        Ok(Design { values, ..Design::new(in_words(settings), line, plan) })
    }
}

/// "stations[table].capacity = 12, crew.operators = 3".
fn in_words(settings: &[(String, String)]) -> String {
    let words: Vec<String> = settings.iter().map(|(path, value)| format!("{path} = {value}")).collect();
    words.join(", ")
}

/// Label of the line as modelled.
pub const AS_MODELLED: &str = "as modelled";
