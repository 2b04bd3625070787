//! What a report is made from: plain data, filled in by the caller.

use linewake_kpi::study::StudyResult;
use linewake_kpi::study::fitting::FitResult;
use linewake_kpi::summary::Summary;
use linewake_log::header::LineFacts;
use linewake_model::line::Line;
use linewake_weights::planning::Found;

/// Everything that the report of one run, or of logs, shows.
#[derive(Clone, Debug, PartialEq)]
pub struct RunReport {
    /// Which model.
    pub model: ModelIdentity,
    /// Version of the program, for example "0.1.0".
    pub program_version: String,
    /// Seed of the run; `None` of logs that tell none.
    pub seed: Option<u64>,
    /// The command that makes this result again, as typed.
    pub command: String,
    /// Number of runs for each kind of start, and their length.
    pub plan: PlanFacts,
    /// Facts of the line, as a model or the head of a log tells them: the sketch shows its rates and capacities. `None`
    /// where none are known.
    pub facts: Option<LineFacts>,
    /// One for each kind of start that there is, at least one; a run has shifts that start with new rolls, then those
    /// of the long run.
    pub summaries: Vec<Summary>,
    /// The logs that it was read from; `None` for a report that comes straight from a simulation.
    pub logs: Option<LogsRead>,
    /// Figures that need no simulation, where they are known; may be empty.
    pub figures_without_simulation: Vec<AnalyticFigure>,
    /// What the model assumes, in groups; for example the stations with their stops.
    pub assumptions: Vec<AssumptionGroup>,
}

impl RunReport {
    /// The summary that leads: the last one, which is the long run where there is one.
    ///
    /// # Panics
    /// If there is none.
    #[must_use]
    pub fn main(&self) -> &Summary {
        self.summaries.last().expect("a report has at least one summary")
    }

    /// The other ones, shown beside it or folded away.
    pub fn others(&self) -> impl Iterator<Item = &Summary> {
        self.summaries.iter().rev().skip(1).rev()
    }
}

/// Everything that the page of a study shows.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyReport {
    /// Which model; of a comparison the first one.
    pub model: ModelIdentity,
    /// Version of the program, for example "0.1.0".
    pub program_version: String,
    /// Seed of all runs.
    pub seed: u64,
    /// The command that makes this result again, as typed.
    pub command: String,
    /// How the runs were made, in words: start, warm-up, length, conventions.
    pub conditions: String,
    /// What was found.
    pub result: StudyResult,
}

/// Everything that the page of `linewake weights` shows.
#[derive(Clone, Debug, PartialEq)]
pub struct WeightsReport {
    /// Which model.
    pub model: ModelIdentity,
    /// Version of the program, for example "0.1.0".
    pub program_version: String,
    /// Seed of all chance.
    pub seed: u64,
    /// The command that makes this result again, as typed.
    pub command: String,
    /// What was taken from where, in words.
    pub assumed: Vec<String>,
    /// What was found.
    pub found: Found,
}

/// Everything that the page of a fit shows.
#[derive(Clone, Debug, PartialEq)]
pub struct FitReport {
    /// Version of the program, for example "0.1.0".
    pub program_version: String,
    /// The command that makes this result again, as typed.
    pub command: String,
    /// The logs as named by the user.
    pub files: Vec<String>,
    /// Model into which the stops were put, as named by the user.
    pub into: Option<String>,
    /// What was put into it.
    pub into_placed: Vec<String>,
    /// What was left as it was, and what was added.
    pub into_notes: Vec<String>,
    /// What was fitted.
    pub result: FitResult,
}

/// The logs that a report was read from, and what was wrong with them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LogsRead {
    /// One for each log, in the order in which they were read.
    pub logs: Vec<LogRead>,
    /// What the report of the run itself shows and these logs do not tell, in words.
    pub not_told: Vec<String>,
    /// Figures that need logs at pack detail, in words: they are not in the report.
    pub need_packs: Vec<String>,
}

/// One log.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LogRead {
    /// The file as named by the user.
    pub file: String,
    /// Rows read, those of the header and the column names among them.
    pub rows: u64,
    /// Where and why the log breaks off, in words; `None` for a whole one.
    pub broken_off: Option<String>,
    /// Rows of a stop list that were repaired or left out, listed in tables/dirty-rows.csv.
    pub dirty_rows: Vec<DirtyRow>,
}

/// A row of a stop list that is not as it should be.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DirtyRow {
    /// Line of the file, from 1.
    pub line: u64,
    /// What is wrong, in one word or two.
    pub kind: String,
    /// What is wrong with it, in words.
    pub what: String,
    /// What was done: how it was repaired, or that it was left out.
    pub done: String,
}

/// Which model was run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ModelIdentity {
    /// Name of the line.
    pub name: String,
    /// What it shows and where its figures come from.
    pub about: String,
    /// Digest of the model, in hexadecimal.
    pub digest: String,
    /// The file as typed on the command line; may be empty.
    pub file: String,
}

impl ModelIdentity {
    /// Of that line, from a file that was named so.
    #[must_use]
    pub fn of(line: &Line, file: &str) -> Self {
        Self {
            name: line.name.clone(),
            about: line.about.clone(),
            digest: line.digest.clone(),
            file: file.to_owned(),
        }
    }
}

/// How many shifts were run, and how long they are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PlanFacts {
    /// Shifts for each kind of start.
    pub shifts: usize,
    /// Length of one shift in hours, breaks included.
    pub hours: f64,
    /// Warm-up before a shift of the long run, in seconds.
    pub warm_up_s: f64,
}

/// One figure of the model check, in packs per hour.
#[derive(Clone, Debug, PartialEq)]
pub struct AnalyticFigure {
    /// What it is, for example "no help from buffers".
    pub name: String,
    /// Packs per hour.
    pub packs_per_h: f64,
    /// Lower bound, upper bound or estimate, and why.
    pub text: String,
}

/// Assumptions that belong together, for example those of one station.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AssumptionGroup {
    /// Heading, for example the id of a station.
    pub title: String,
    /// One fact in each row.
    pub rows: Vec<Assumption>,
}

/// One assumption.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Assumption {
    /// What, for example "web tracking".
    pub what: String,
    /// Its value in words with units, for example "running time, Weibull shape 1.3, mean 5400 s".
    pub value: String,
}
