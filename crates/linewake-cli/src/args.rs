//! Commands and options, as they are typed. Help texts are written here, and docs/reference/commands.md is made from
//! them.

pub(crate) mod fit;
pub(crate) mod mass;
mod run;
pub(crate) mod study;
pub(crate) mod value;
pub(crate) mod versus;
pub(crate) mod weights;

pub(crate) use run::Run;

use crate::seed::Seed;
use clap::{Args, Parser, Subcommand, ValueEnum, ValueHint};
use linewake_model::quantity::{Quantity, Time};
use std::path::PathBuf;
use std::sync::LazyLock;

/// Version with the machine that it was built for.
static LONG_VERSION: LazyLock<String> = LazyLock::new(|| {
    let (os, processor) = (std::env::consts::OS, std::env::consts::ARCH);
    format!("{} ({processor}, {os})", env!("CARGO_PKG_VERSION"))
});

/// Examples at the head of the long help; a test runs each of them.
const EXAMPLES: &str = "\
Examples:
  linewake check models/alder-hill-mince.json
  linewake run models/alder-hill-mince.json
  linewake run models/alder-hill-mince.json --shifts 100 --seed 7 --out results/mince
  linewake report results/mince/logs
  linewake wake models/alder-hill-mince.json --stop loader@1h20min+40s
  linewake weights models/alder-hill-mince.json
  linewake study losses models/alder-hill-mince.json --shifts 3 --hours 1 --station loader";

/// Simulates a whole portion-to-case line for fresh portioned food, and reports what it makes in a shift, its OEE, and
/// which stops cost it how much.
#[derive(Clone, Debug, Parser)]
#[command(
    name = "linewake",
    version,
    long_version = LONG_VERSION.as_str(),
    before_long_help = EXAMPLES,
    after_long_help = "A result is an estimate of a modelled line. Food safety limits, guarding and legal weights are \
                       for qualified people and local codes.",
    arg_required_else_help = true,
    max_term_width = 100
)]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,

    /// When to colour: on a terminal only, or never
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto", display_order = 900)]
    pub(crate) color: Colour,

    /// No progress and no notes; warnings and errors remain
    #[arg(short, long, global = true, display_order = 901)]
    pub(crate) quiet: bool,
}

/// When to colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Never.
    Never,
}

/// The commands.
#[derive(Clone, Debug, Subcommand)]
pub(crate) enum Command {
    Check(Check),
    Run(Run),
    Report(Report),
    Fit(fit::Fit),
    Wake(Wake),
    Study(study::Study),
    Weights(Box<weights::Weights>),
    Merge(study::Merge),
    #[cfg(feature = "desk")]
    Serve(Serve),
    Versus(Box<versus::Versus>),
    /// Print the JSON Schema of the model file, for editors that complete and check
    Schema,
    /// Print completions for a shell
    #[command(hide = true)]
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    #[command(hide = true)]
    Man,
    /// Print a page of docs/reference that is made from the program
    #[command(hide = true)]
    Reference {
        /// Which page.
        page: ReferencePage,
    },
}

/// Pages of the documentation that are made from the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReferencePage {
    /// docs/reference/commands.md
    Commands,
    /// docs/reference/exit-codes.md
    ExitCodes,
}

/// Check a model, and show what can be told of its line without a simulation.
///
/// All problems are reported at once, each with its place and what would be right. Then come the facts: the best rate
/// of each stage, the former's cycle, loader and robot against it, capacities, buffers in minutes, expected stops, changes
/// of consumables, the way from each detection to the exit, and three figures of the long-run output.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake check models/alder-hill-mince.json
  linewake check models/alder-hill-mince.json --json")]
pub(crate) struct Check {
    /// The model file; "-" reads it from the standard input
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Print the facts (or the problems) as JSON, and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}

/// Put a stop into a shift, and see what it does to the rest of the line.
///
/// The same shift runs with and without the stop, with the same luck. The answer says when each station was reached and
/// freed, seconds starved or blocked more than without, packs lost in the end, how long the line took to recover, and which
/// belt or table absorbed what. The page replays it: bands of states over time, and the line above them with every
/// portion and pack where it stood. The folder holds wake.html, charts, tables and results.json.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake wake models/alder-hill-mince.json --stop loader@1h20min+40s
  linewake wake models/alder-hill-mince.json --stop loader@80min+40s --random-luck off --json
  linewake wake models/alder-hill-mince.json --stop former@1h+2min --stop loader@2h+30s --runs 20")]
pub(crate) struct Wake {
    /// The model file; "-" reads it from the standard input
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// A stop: which station, when in the shift, for how long, such as former@1h20min+40s; may be given several times.
    /// It clears by itself; if the station is in another stop or in a break then, it follows that one
    #[arg(long = "stop", value_name = "STATION@TIME+DURATION", required = true)]
    pub(crate) stops: Vec<String>,

    /// The line's own stops, besides the ones put in: on as in the model, or off, so that the mechanism alone is seen
    #[arg(long, value_name = "ON-OFF", default_value = "on")]
    pub(crate) random_luck: OnOff,

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

    /// Which shift of the seed, from 1
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=MOST_SHIFTS))]
    pub(crate) shift: u64,

    /// Put the same stops into so many shifts, and print the mean of the packs lost with its interval; the page still shows
    /// the one shift
    #[arg(long, allow_negative_numbers = true, value_name = "N", value_parser = clap::value_parser!(u64).range(2..=MOST_SHIFTS))]
    pub(crate) runs: Option<u64>,

    /// Threads to work with; without it, one for each core. The results do not depend on it
    #[arg(long, allow_negative_numbers = true, value_name = "N", env = "LINEWAKE_THREADS", hide_env_values = true, value_parser = threads)]
    pub(crate) threads: Option<usize>,

    /// Folder of the results; without it, linewake-out/ and the name of the model file with "-wake"
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: Option<PathBuf>,

    /// Replace a folder that linewake made even if it holds files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Print the results as JSON, and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}

/// On or off.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum OnOff {
    /// As in the model.
    On,
    /// Without.
    Off,
}

/// Make the report of shifts from their event logs, simulated or real, without a model.
///
/// The report is the one that run makes, from the logs alone. A log is CSV, plain or packed with gzip, one for each shift;
/// several are put together, and they must be of one line. A log that breaks off is read up to there, and the report says
/// so. With --mapping the files are stop lists as a plant keeps them; rows that are not as they should be are repaired by
/// stated rules or left out, and listed. What the logs do not tell is named in the report.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake report results/mince/logs
  linewake report results/mince/logs/shift-0001.csv.gz --out results/first-shift
  linewake report results/mince/logs --model models/alder-hill-mince.json --json")]
pub(crate) struct Report {
    /// Logs (.csv or .csv.gz), or folders of them; a folder that linewake made stands for the logs in it
    #[arg(value_name = "LOG", required = true, value_hint = ValueHint::AnyPath)]
    pub(crate) logs: Vec<PathBuf>,

    /// Model of the line: design rate, constraint, limits and planned stops come from it, and the report has its
    /// assumptions
    #[arg(long, value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: Option<PathBuf>,

    /// The files are stop lists; this file says what their columns, times, machines and reasons mean
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) mapping: Option<PathBuf>,

    /// Counts that stand in a file of their own, one file for each stop list, in the same order
    #[arg(long, value_name = "FILE", requires = "mapping", value_hint = ValueHint::FilePath)]
    pub(crate) counts: Vec<PathBuf>,

    /// What short interruptions of the constraint are a loss of: with performance, the split of OEE is A and P by the
    /// short stop limit; with availability it is A_iso and P_iso, as in ISO 22400-2. OEE is the same, and the report
    /// shows both
    #[arg(long, value_name = "LOSS", default_value = "performance")]
    pub(crate) minor_stops: MinorStops,

    /// Planned stops of the constraint, breaks among them, in planned production time (as downtime) or out of it. OEE
    /// depends on it
    #[arg(long, value_name = "WHERE", default_value = "as-modelled")]
    pub(crate) planned_stops: PlannedStops,

    /// Threads to work with; without it, one for each core. The results do not depend on it
    #[arg(long, allow_negative_numbers = true, value_name = "N", env = "LINEWAKE_THREADS", hide_env_values = true, value_parser = threads)]
    pub(crate) threads: Option<usize>,

    /// Folder of the results; without it, linewake-out/ and the name of the line with "-from-logs"
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: Option<PathBuf>,

    /// Replace a folder that linewake made even if it holds files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Print the results as JSON (as in results.json), and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}

/// Serve the live page: change a line and see what it makes, put stops in, take lessons.
///
/// The page is served on the loopback interface: to this machine alone. The address that is printed carries the key of the
/// session. Models are read from the folder and saved into it; nothing else is read or written, and nothing leaves the
/// machine. Ctrl-C ends it.
#[cfg(feature = "desk")]
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake serve models
  linewake serve models/alder-hill-mince.json --port 8100 --open")]
pub(crate) struct Serve {
    /// Folder of model files, or one model file
    #[arg(value_name = "FOLDER or MODEL", default_value = ".", value_hint = ValueHint::AnyPath)]
    pub(crate) models: PathBuf,

    /// Port of the loopback interface; 0 takes a free one
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    pub(crate) port: u16,

    /// Open the page in a browser
    #[arg(long)]
    pub(crate) open: bool,
}

/// How many shifts leave a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LogCount {
    /// The first ones, which start with everything new.
    First(u64),
    /// All of both kinds.
    All,
}

/// What minor stops are a loss of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum MinorStops {
    /// Of performance, common practice.
    Performance,
    /// Of availability, as in ISO 22400-2.
    Availability,
}

/// Which planned stops are left out of planned production time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PlannedStops {
    /// Those that the model leaves out.
    AsModelled,
    /// All are counted in it, as downtime.
    In,
    /// All are left out, as in ISO 22400-2.
    Out,
}

/// Where the waiting of stops from logs comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum WaitingFrom {
    /// As long as logged.
    Log,
    /// Until the model's crew comes.
    Crew,
}

/// What a log tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum LogDetail {
    /// State changes, counts and contents.
    States,
    /// Every pack as well.
    Packs,
}

/// Form of a log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum LogFormat {
    /// CSV, compressed.
    #[value(name = "csv.gz")]
    CsvGz,
    /// CSV.
    Csv,
}

/// Most shifts: their results, some 15 kB each, are held in memory until they are put together.
const MOST_SHIFTS: u64 = 10_000;

/// Longest shift, in hours: a year.
const LONGEST_SHIFT_H: f64 = 8760.0;

/// Shortest shift, in hours: a second. A second of the clock is what a table still shows.
const SHORTEST_SHIFT_H: f64 = 1.0 / 3600.0;

fn hours(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(hours) if (SHORTEST_SHIFT_H..=LONGEST_SHIFT_H).contains(&hours) => Ok(hours),
        Ok(_) => Err(format!(
            "a shift lasts from a second to a year: give hours up to {LONGEST_SHIFT_H}, such as 8"
        )),
        Err(_) => Err("give a number of hours, such as 8 or 7.5".to_owned()),
    }
}

/// The warm-up in seconds.
fn warm_up(text: &str) -> Result<f64, String> {
    let seconds =
        Quantity::<Time>::parse(text).map_err(|error| format!("{}; {}", error.what, error.hint))?.value();
    if (0.0..=LONGEST_SHIFT_H * 3600.0).contains(&seconds) {
        Ok(seconds)
    } else {
        Err("give a time from \"0 s\" to a year, such as \"1 h\"".to_owned())
    }
}

fn log_count(text: &str) -> Result<LogCount, String> {
    match (text, text.parse()) {
        ("all", _) => Ok(LogCount::All),
        (_, Ok(count)) => Ok(LogCount::First(count)),
        _ => Err("give a whole number of shifts, or \"all\"".to_owned()),
    }
}

fn threads(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(threads) if (1..=1024).contains(&threads) => Ok(threads),
        _ => Err("give a whole number from 1 to 1024".to_owned()),
    }
}
