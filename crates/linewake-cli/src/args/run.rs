//! Options of a run.

use super::{
    LogCount, LogDetail, LogFormat, MOST_SHIFTS, MinorStops, PlannedStops, WaitingFrom, hours, log_count,
    threads, value,
};
use crate::seed::Seed;
use clap::{Args, ValueHint};
use std::path::PathBuf;

/// Run a line for many shifts, and write the report.
///
/// Every shift is run twice over: once with everything new at its start, and once as a shift of the long run
/// (consumables part used, a warm-up that does not count). The folder holds report.html, charts (SVG and PNG), tables
/// (CSV), results.json, a copy of the model, and the event log of the first shift. It appears when the run is complete:
/// an interrupted run leaves nothing. A folder that linewake made is replaced, any other is left alone.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake run models/alder-hill-mince.json
  linewake run models/alder-hill-mince.json --shifts 100 --seed 7 --out results/mince
  linewake run models/alder-hill-mince.json --hours 4 --logs 3 --log-detail packs
  linewake run models/alder-hill-mince.json --hours 1 --precision 5% --warm-up auto
  linewake run models/alder-hill-mince.json --stops-from results/mince/logs --out results/again")]
pub(crate) struct Run {
    /// The model file; "-" reads it from the standard input
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Shifts to run of each kind
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 30, value_parser = clap::value_parser!(u64).range(1..=MOST_SHIFTS))]
    pub(crate) shifts: u64,

    /// Add shifts until the OEE of a shift of the long run is known to this share of itself, at 95 %, such as 0.5%; the
    /// report of how it was reached is in the folder precision
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", conflicts_with = "shifts", value_parser = value::share)]
    pub(crate) precision: Option<f64>,

    /// Most shifts that --precision takes
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = MOST_SHIFTS, requires = "precision", value_parser = clap::value_parser!(u64).range(20..=MOST_SHIFTS))]
    pub(crate) most_shifts: u64,

    /// Length of a shift in hours; without it, the model's
    #[arg(long, allow_negative_numbers = true, value_name = "HOURS", value_parser = hours)]
    pub(crate) hours: Option<f64>,

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

    /// Time before a shift of the long run that does not count, such as "30 min"; "auto" finds it from the data
    #[arg(long, allow_negative_numbers = true, value_name = "TIME", default_value = "1 h", value_parser = value::warm_up_or_auto)]
    pub(crate) warm_up: value::WarmUp,

    /// What short interruptions of the constraint are a loss of: with performance, the split of OEE is A and P by the
    /// model's short stop limit; with availability it is A_iso and P_iso, as in ISO 22400-2. OEE is the same, and the
    /// report shows both
    #[arg(long, value_name = "LOSS", default_value = "performance")]
    pub(crate) minor_stops: MinorStops,

    /// Planned stops of the constraint, breaks among them, in planned production time (as downtime) or out of it. OEE
    /// depends on it
    #[arg(long, value_name = "WHERE", default_value = "as-modelled")]
    pub(crate) planned_stops: PlannedStops,

    /// Threads to work with; without it, one for each core. The results do not depend on it
    #[arg(long, allow_negative_numbers = true, value_name = "N", env = "LINEWAKE_THREADS", hide_env_values = true, value_parser = threads)]
    pub(crate) threads: Option<usize>,

    /// Folder of the results; without it, linewake-out/ and the name of the model file
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: Option<PathBuf>,

    /// Replace a folder that linewake made even if it holds files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Stops of a file, such as the stops.json that fit writes: each takes the place of the model's stop of the same station
    /// and reason, or is added; the others stay as they are
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) stops: Option<PathBuf>,

    /// Take the stops from these logs instead of drawing them: each logged shift is run once, with its length, breaks and start,
    /// and with its stops as they happened; logs, or folders of them; may be repeated
    #[arg(long, value_name = "LOG", conflicts_with_all = ["shifts", "precision", "hours"], value_hint = ValueHint::AnyPath)]
    pub(crate) stops_from: Vec<PathBuf>,

    /// The files of --stops-from are stop lists of a plant; this file says what they mean
    #[arg(long, value_name = "FILE", requires = "stops_from", value_hint = ValueHint::FilePath)]
    pub(crate) mapping: Option<PathBuf>,

    /// Counts of those stop lists that stand in a file of their own, one file for each, in the same order
    #[arg(long, value_name = "FILE", requires = "mapping", value_hint = ValueHint::FilePath)]
    pub(crate) counts: Vec<PathBuf>,

    /// How long stops from logs wait for an operator: as in the log, or until the model's crew comes
    #[arg(long, value_name = "SOURCE", default_value = "log", requires = "stops_from")]
    pub(crate) waiting_from: WaitingFrom,

    /// Shifts to write the event log of, from the first on (they start with everything new); "all": every shift of both
    /// kinds, and a report from them is that of the run
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value = "1", value_parser = log_count)]
    pub(crate) logs: LogCount,

    /// What a log tells: states, counts and contents, or every pack as well
    #[arg(long, value_name = "DETAIL", default_value = "states")]
    pub(crate) log_detail: LogDetail,

    /// Form of the logs
    #[arg(long, value_name = "FORM", default_value = "csv.gz")]
    pub(crate) log_format: LogFormat,

    /// Print the results as JSON (as in results.json), and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}
