//! Options of the promise against the log.

use super::study::{Common, MOST_RUNS};
use clap::{Args, ValueHint};
use std::path::PathBuf;

/// Hold a model against the log of its line: what was promised, what happened, and which stops explain the gap.
///
/// Runs of the model with the length, the breaks and the number of the logged shifts give the range in which OEE, its factors,
/// the output and the stops of each reason fall if the line is as modelled. What lies outside is tested, with the number of
/// tests accounted for. Then the logged stops of each reason take the place of the drawn ones, one reason at a time, and the
/// report shows how many packs of the gap each explains. A log is simulated or real; with --mapping it is a plant's stop list.
/// The folder is that of a study: an interrupted comparison goes on with the same command.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake versus models/tern-quay-fish.json results/fish/logs --shifts 20 --explaining 4
  linewake versus models/tern-quay-fish.json stops.csv --mapping mapping.json --counts counts.csv")]
pub(crate) struct Versus {
    /// The model file
    #[arg(value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) model: PathBuf,

    /// Logs of shifts (.csv or .csv.gz), or folders of them; with --mapping stop lists
    #[arg(value_name = "LOG", required = true, value_hint = ValueHint::AnyPath)]
    pub(crate) logs: Vec<PathBuf>,

    /// The files are stop lists; this file says what their columns, times, machines and reasons mean
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) mapping: Option<PathBuf>,

    /// Counts that stand in a file of their own, one file for each stop list, in the same order
    #[arg(long, value_name = "FILE", requires = "mapping", value_hint = ValueHint::FilePath)]
    pub(crate) counts: Vec<PathBuf>,

    /// Shifts of the model to run for the predicted ranges; at least four times those of the log, and as many of each
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 500, value_parser = clap::value_parser!(u64).range(10..=MOST_RUNS))]
    pub(crate) shifts: u64,

    /// Shifts to run with the logged stops of each reason, at least twice those of the log; 0 leaves out what each explains
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 100, value_parser = clap::value_parser!(u64).range(0..=MOST_RUNS))]
    pub(crate) explaining: u64,

    /// Time that the model runs before a shift of a real line, which begins at work; a simulated log has its own start
    #[arg(long, allow_negative_numbers = true, value_name = "TIME", default_value = "1 h", value_parser = super::warm_up)]
    pub(crate) warm_up: f64,

    #[command(flatten)]
    pub(crate) common: Common,
}
