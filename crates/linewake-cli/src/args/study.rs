//! Options of the studies.

use super::value::{Vary, WarmUp, limit, positive, share, vary, warm_up_or_auto};
use super::versus::Versus;
use super::{PlannedStops, hours, threads};
use crate::seed::Seed;
use clap::{Args, Subcommand, ValueEnum, ValueHint};
use linewake_study::journal::Part;
use std::path::PathBuf;

/// Most runs of a design.
pub(super) const MOST_RUNS: u64 = 1_000_000;

/// Answer a question of the job by many runs: which buffer, which loss first, A or B, what to promise, how to prove it.
///
/// All designs of a study meet the same luck, and every figure says how sure it is. The folder holds report.html, charts
/// (SVG and PNG), tables (CSV), results.json, a copy of the model, and the journal of all runs. An interrupted study keeps
/// the runs that are done, and the same command goes on from there. With --part a study is cut for several machines, and
/// linewake merge puts the parts together. The results are the same bytes for any number of threads and parts.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study buffers models/tern-quay-fish.json --vary stations[table].capacity=10,40 --shifts 3
  linewake study losses models/tern-quay-fish.json --shifts 3 --hours 1")]
pub(crate) struct Study {
    /// The question.
    #[command(subcommand)]
    pub(crate) question: Question,
}

/// The questions.
#[derive(Clone, Debug, Subcommand)]
pub(crate) enum Question {
    Buffers(Buffers),
    Split(Split),
    Losses(Losses),
    Compare(Compare),
    Sensitivity(Sensitivity),
    Acceptance(Acceptance),
    Crew(Crew),
    Order(Order),
    Scope(Scope),
    /// A command of its own.
    #[command(skip)]
    Versus(Box<Versus>),
}

/// What all studies ask.
#[derive(Clone, Debug, Args)]
pub(crate) struct Common {
    /// Seed of all chance: a whole number, or "random" (the seed taken is printed)
    #[arg(
        long,
        allow_negative_numbers = true,
        value_name = "SEED",
        default_value = "1",
        env = "LINEWAKE_SEED",
        hide_env_values = true
    )]
    pub(crate) seed: Seed,

    /// Confidence level of the intervals
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "95%", value_parser = share)]
    pub(crate) confidence: f64,

    /// Planned stops of the constraint, breaks among them, in planned production time (as downtime) or out of it. OEE
    /// depends on it
    #[arg(long, value_name = "WHERE", default_value = "as-modelled")]
    pub(crate) planned_stops: PlannedStops,

    /// Threads to work with; without it, one for each core. The results do not depend on it
    #[arg(long, allow_negative_numbers = true, value_name = "N", env = "LINEWAKE_THREADS", hide_env_values = true, value_parser = threads)]
    pub(crate) threads: Option<usize>,

    /// Folder of the results and of the journal; without it, linewake-out/ and the names of model and study
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: Option<PathBuf>,

    /// Replace a folder that linewake made even if it holds another study or files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Print the results as JSON (as in results.json), and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}

/// How long a run is, and how it begins.
#[derive(Clone, Debug, Args)]
pub(crate) struct Shape {
    /// Length of a run in hours; without it, the model's shift
    #[arg(long, allow_negative_numbers = true, value_name = "HOURS", value_parser = hours)]
    pub(crate) hours: Option<f64>,

    /// How a run starts: as a shift of the long run (consumables part used, a warm-up that does not count), or with
    /// everything new
    #[arg(long, value_name = "START", default_value = "long-run")]
    pub(crate) start: Start,

    /// Time before a run of the long run that does not count, such as "30 min"; "auto" finds it from the data
    #[arg(long, allow_negative_numbers = true, value_name = "TIME", default_value = "1 h", value_parser = warm_up_or_auto)]
    pub(crate) warm_up: WarmUp,
}

/// How many runs, of a study that knows it beforehand.
#[derive(Clone, Copy, Debug, Args)]
pub(crate) struct Runs {
    /// Runs of each design
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 50, value_parser = clap::value_parser!(u64).range(2..=MOST_RUNS))]
    pub(crate) shifts: u64,

    /// Make this part of the study only, such as 3/8; linewake merge puts the parts together
    #[arg(long, value_name = "I/N", value_parser = Part::parse)]
    pub(crate) part: Option<Part>,
}

/// How a run starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Start {
    /// Everything new and the line empty.
    NewRolls,
    /// Consumables part used, after a warm-up.
    LongRun,
}

/// Output against the capacity of a buffer, or against any other value of the model.
///
/// A capacity is also tried at 0 and without limit: the report gives the packs for each further place, and the smallest
/// capacity that is enough. A value is named by its path, as the model check names it: stations[table].capacity,
/// crew.operators. Of several values every combination is run, or with --one-at-a-time each alone.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study buffers models/tern-quay-fish.json --vary stations[table].capacity=10,40 --shifts 3
  linewake study buffers models/tern-quay-fish.json --vary \"stations[table].capacity=0..60 step 20\"")]
pub(crate) struct Buffers {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// A value and what it is to be, as a list or a range: PATH=0,20,40 or "PATH=0..120 step 20"; may be repeated
    #[arg(long, value_name = "PATH=LIST", required = true, value_parser = vary)]
    pub(crate) vary: Vec<Vary>,

    /// Vary one value at a time, the others as modelled
    #[arg(long)]
    pub(crate) one_at_a_time: bool,

    /// Share of what an unlimited capacity gains over none that is enough
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "90%", value_parser = share)]
    pub(crate) share: f64,

    /// Price of a place, in the currency of the model: the report shows the payback
    #[arg(long, allow_negative_numbers = true, value_name = "PRICE", value_parser = positive)]
    pub(crate) price_per_place: Option<f64>,

    /// Value of a good pack; without it, the model's
    #[arg(long, allow_negative_numbers = true, value_name = "VALUE", value_parser = positive)]
    pub(crate) value_per_pack: Option<f64>,

    /// Runs a year, for the payback; without it, the model's shifts a day and days a year
    #[arg(long, allow_negative_numbers = true, value_name = "N", value_parser = positive)]
    pub(crate) runs_per_year: Option<f64>,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// The best way to share out a number of places among several buffers.
///
/// Ways that fall behind are dropped on the way; the best is chosen with a stated probability of being right, or of being
/// within the difference that does not matter. How many runs it takes shows on the way, so it has no parts.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study split models/merrow-three-machines.json --total 20 --step 10
  linewake study split models/merrow-three-machines.json --total 40 --step 5 --indifference 20")]
pub(crate) struct Split {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// A buffer by the path of its capacity, such as stations[table].capacity; without it, all belts and tables; may be
    /// repeated
    #[arg(long, value_name = "PATH")]
    pub(crate) buffer: Vec<String>,

    /// Places to share out; without it, as many as the model has in these buffers
    #[arg(long, allow_negative_numbers = true, value_name = "PLACES", value_parser = clap::value_parser!(u32).range(1..))]
    pub(crate) total: Option<u32>,

    /// Places are handed out in steps of this size
    #[arg(long, allow_negative_numbers = true, value_name = "PLACES", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..))]
    pub(crate) step: u32,

    /// Fewest places of each buffer
    #[arg(long, allow_negative_numbers = true, value_name = "PLACES", default_value_t = 0)]
    pub(crate) least: u32,

    /// Probability of choosing right
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "95%", value_parser = share)]
    pub(crate) probability: f64,

    /// Difference in good packs a run that does not matter
    #[arg(long, allow_negative_numbers = true, value_name = "PACKS", default_value = "50", value_parser = positive)]
    pub(crate) indifference: f64,

    /// Runs of each way before the first is dropped
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 20, value_parser = clap::value_parser!(u64).range(10..=MOST_RUNS))]
    pub(crate) first_shifts: u64,

    /// Most runs of a way
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u64).range(10..=MOST_RUNS))]
    pub(crate) most_shifts: u64,

    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// What each loss really costs: the same runs once more without that one thing.
///
/// Each stop, consumable, reject cause and speed limit is switched off alone. What is gained stands beside what the log
/// charges to it, and the report says why the two differ.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study losses models/tern-quay-fish.json --shifts 3 --hours 1
  linewake study losses models/alder-hill-mince.json --shifts 200 --station former")]
pub(crate) struct Losses {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Only the losses of this station; may be repeated
    #[arg(long, value_name = "STATION")]
    pub(crate) station: Vec<String>,

    /// Leave the speed limits out
    #[arg(long)]
    pub(crate) without_speed_limits: bool,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// Two or more models, or variants of one, with the same luck.
///
/// Differences are judged run by run, and corrected for their number.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study compare models/alder-hill-mince.json models/alder-hill-mince-feedback.json
  linewake study compare models/tern-quay-fish.json --vary stations[table].capacity=40 --shifts 3")]
pub(crate) struct Compare {
    /// The model files
    #[arg(value_name = "MODEL", required = true, value_hint = ValueHint::FilePath)]
    pub(crate) models: Vec<PathBuf>,

    /// A value of the first model and what it is to be: each value is a variant; may be repeated
    #[arg(long, value_name = "PATH=LIST", value_parser = vary)]
    pub(crate) vary: Vec<Vary>,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// Which input matters: every input moved by what is not known of it.
///
/// An input whose uncertainty the model states is moved by that, any other by --relative.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study sensitivity models/tern-quay-fish.json --shifts 2 --only stations[table]
  linewake study sensitivity models/alder-hill-mince.json --shifts 100")]
pub(crate) struct Sensitivity {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Inputs without a stated uncertainty are moved up and down by this share
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "20%", value_parser = share)]
    pub(crate) relative: f64,

    /// Only inputs whose path begins so; may be repeated
    #[arg(long, value_name = "PATH")]
    pub(crate) only: Vec<String>,

    /// Only inputs whose uncertainty the model states
    #[arg(long)]
    pub(crate) stated_only: bool,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// What an acceptance run will show, what can be promised, and how long the run must be.
///
/// The inputs are drawn over their stated uncertainty in each run; beside it stands the figure with inputs taken as exact.
/// The report ends in a protocol to fill in and sign. What is guaranteed is a matter of the contract.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study acceptance models/tern-quay-fish.json --shifts 20 --hours 1 --lengths 1,2
  linewake study acceptance models/alder-hill-mince.json --shifts 1000 --degraded 1.5")]
pub(crate) struct Acceptance {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// What the run is judged by
    #[arg(long, value_name = "FIGURE", default_value = "oee")]
    pub(crate) measure: Measure,

    /// Value that must be reached (OEE as a share); without it, the one that the line as designed reaches with one less the
    /// producer's risk
    #[arg(long, allow_negative_numbers = true, value_name = "VALUE", value_parser = limit)]
    pub(crate) limit: Option<f64>,

    /// Wanted producer's risk: the line as designed fails
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "10%", value_parser = share)]
    pub(crate) producer_risk: f64,

    /// Wanted consumer's risk: the degraded line passes
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "10%", value_parser = share)]
    pub(crate) consumer_risk: f64,

    /// Stops of the degraded line are so many times as frequent
    #[arg(long, allow_negative_numbers = true, value_name = "TIMES", default_value = "1.3", value_parser = positive)]
    pub(crate) degraded: f64,

    /// Further frequencies of stops for the operating characteristic, as multiples of those modelled
    #[arg(
        long,
        value_name = "LIST",
        value_delimiter = ',',
        default_value = "0.7,0.85,1.15,1.5,2",
        value_parser = positive
    )]
    pub(crate) factors: Vec<f64>,

    /// Lengths of the run to try, in whole hours
    #[arg(long, value_name = "LIST", value_delimiter = ',', default_value = "2,4,8,16,24", value_parser = clap::value_parser!(u32).range(1..=8760))]
    pub(crate) lengths: Vec<u32>,

    /// A rule for what counts and what is left out, for the protocol; may be repeated
    #[arg(long, value_name = "TEXT")]
    pub(crate) rule: Vec<String>,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// A figure of a run that is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Measure {
    /// OEE of the run.
    Oee,
    /// Good packs of the run.
    GoodPacks,
    /// Good packs an hour of planned production time.
    PacksPerHour,
}

/// Output against the number of operators and the time in which they come.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study crew models/tern-quay-fish.json --operators 1,2 --response 1 --shifts 3 --hours 1
  linewake study crew models/alder-hill-mince.json --operators 1,2,3 --response 0.5,1,2")]
pub(crate) struct Crew {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Numbers of operators
    #[arg(long, value_name = "LIST", value_delimiter = ',', default_value = "1,2,3,4", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) operators: Vec<u32>,

    /// Response times, as multiples of those modelled
    #[arg(long, value_name = "LIST", value_delimiter = ',', default_value = "0.5,1,2", value_parser = positive)]
    pub(crate) response: Vec<f64>,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// How long an order takes: shift after shift until its good packs are made.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study order models/tern-quay-fish.json --packs 5000 --shifts 3
  linewake study order models/alder-hill-mince.json --packs 200000 --shifts 200")]
pub(crate) struct Order {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Good packs of the order
    #[arg(long, allow_negative_numbers = true, value_name = "PACKS", value_parser = clap::value_parser!(u64).range(1..))]
    pub(crate) packs: u64,

    /// A run is given up after so many shifts
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=100_000))]
    pub(crate) most_shifts: u64,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// Losses by supplier, and guarantees for each that add up to the line's.
///
/// The stations of the model name their suppliers.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake study scope models/low-sallow-burgers.json --shifts 10 --hours 1
  linewake study scope models/low-sallow-burgers.json --shifts 200 --probability 95%")]
pub(crate) struct Scope {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Probability with which the line reaches its guaranteed value in a run
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "90%", value_parser = share)]
    pub(crate) probability: f64,

    #[command(flatten)]
    pub(crate) runs: Runs,
    #[command(flatten)]
    pub(crate) shape: Shape,
    #[command(flatten)]
    pub(crate) common: Common,
}

/// Put the parts of a study together: the same bytes as if one machine had run it.
///
/// No part may be missing, double, not complete, or from another model, seed or set of options.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake merge parts/1 parts/2 parts/3 --out results/losses")]
pub(crate) struct Merge {
    /// Folders of the parts, or the journals in them
    #[arg(value_name = "PART", required = true, value_hint = ValueHint::AnyPath)]
    pub(crate) parts: Vec<PathBuf>,

    /// Threads to work with; without it, one for each core
    #[arg(long, allow_negative_numbers = true, value_name = "N", env = "LINEWAKE_THREADS", hide_env_values = true, value_parser = threads)]
    pub(crate) threads: Option<usize>,

    /// Folder of the results
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: PathBuf,

    /// Replace a folder that linewake made even if it holds another study or files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Print the results as JSON (as in results.json), and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}
