//! What a report of a run is made from: plain data, filled in by the caller.

use linewake_kpi::summary::Summary;

/// Everything that the report of one run shows.
#[derive(Clone, Debug, PartialEq)]
pub struct RunReport {
    /// Which model.
    pub model: ModelIdentity,
    /// Version of the program, for example "0.1.0".
    pub program_version: String,
    /// Seed of the run.
    pub seed: u64,
    /// The command that makes this result again, as typed.
    pub command: String,
    /// Number of runs for each kind of start, and their length.
    pub plan: PlanFacts,
    /// Shifts that start with everything new; its `start` is `NewRolls`.
    pub new_rolls: Summary,
    /// Shifts of the long run; its `start` is `LongRun`.
    pub long_run: Summary,
    /// Figures that need no simulation, where they are known; may be empty.
    pub figures_without_simulation: Vec<AnalyticFigure>,
    /// What the model assumes, in groups; for example the stations with their stops.
    pub assumptions: Vec<AssumptionGroup>,
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
