//! Options of the fit.

use super::{threads, value};
use crate::seed::Seed;
use clap::{Args, ValueEnum, ValueHint};
use std::path::PathBuf;

/// Fit stop modes to the logs of a line: how often each machine stops for each reason, and for how long.
///
/// Exponential, Weibull, lognormal and gamma laws are fitted to the times between stops and to their durations, with times
/// cut off at the end of a shift and records that stand on a grid (a poll every 15 s) taken as what they are; the page
/// shows how well each fits and what speaks against it. The folder holds report.html, charts (SVG and PNG), tables (CSV),
/// results.json, and stops.json, the stops as a model file has them. With --into a model is written in which they stand.
#[derive(Clone, Debug, Args)]
#[command(before_long_help = "\
Examples:
  linewake fit results/mince/logs
  linewake fit results/mince/logs --into models/alder-hill-mince.json --out results/fitted
  linewake run models/alder-hill-mince.json --stops results/fitted/stops.json")]
pub(crate) struct Fit {
    /// Logs (.csv or .csv.gz), or folders of them; a folder that linewake made stands for the logs in it
    #[arg(value_name = "LOG", required = true, value_hint = ValueHint::AnyPath)]
    pub(crate) logs: Vec<PathBuf>,

    /// Model of the line: a new one, fitted-model.json, is written with the fitted stops in it, each number with a comment
    /// on where it comes from; clocks and consumables are those of the model
    #[arg(long, value_name = "MODEL", value_hint = ValueHint::FilePath)]
    pub(crate) into: Option<PathBuf>,

    /// The files are stop lists; this file says what their columns, times, machines and reasons mean
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) mapping: Option<PathBuf>,

    /// Counts that stand in a file of their own, one file for each stop list, in the same order
    #[arg(long, value_name = "FILE", requires = "mapping", value_hint = ValueHint::FilePath)]
    pub(crate) counts: Vec<PathBuf>,

    /// Weights of a weigher (CSV with a column weight_g, and batch and time_s where there are such): portion weights are
    /// fitted as well
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub(crate) weights: Option<PathBuf>,

    /// What is proposed for a reason with fewer than 20 times: what its own data say, or what they and the other reasons of
    /// its machine say together. The page shows both
    #[arg(long, value_name = "FROM", default_value = "own")]
    pub(crate) few: Few,

    /// Confidence level of the intervals
    #[arg(long, allow_negative_numbers = true, value_name = "SHARE", default_value = "95%", value_parser = value::level)]
    pub(crate) confidence: f64,

    /// Most records drawn to judge a law for which there is no table
    #[arg(long, allow_negative_numbers = true, value_name = "N", default_value_t = 199, value_parser = clap::value_parser!(u64).range(19..=9999))]
    pub(crate) draws: u64,

    /// Seed of the drawn records: a whole number, or "random" (the seed taken is printed)
    #[arg(
        long,
        allow_negative_numbers = true,
        value_name = "SEED",
        default_value = "1",
        env = "LINEWAKE_SEED",
        hide_env_values = true
    )]
    pub(crate) seed: Seed,

    /// Threads to work with; without it, one for each core. The results do not depend on it
    #[arg(long, allow_negative_numbers = true, value_name = "N", env = "LINEWAKE_THREADS", hide_env_values = true, value_parser = threads)]
    pub(crate) threads: Option<usize>,

    /// Folder of the results; without it, linewake-out/ and the name of the line with "-fit"
    #[arg(long, value_name = "FOLDER", value_hint = ValueHint::DirPath)]
    pub(crate) out: Option<PathBuf>,

    /// Replace a folder that linewake made even if it holds files of others
    #[arg(long)]
    pub(crate) force: bool,

    /// Print the results as JSON (as in results.json), and nothing else
    #[arg(long)]
    pub(crate) json: bool,
}

/// What is proposed where the data are few.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Few {
    /// What the own data say.
    Own,
    /// What they and the other reasons say together.
    Family,
}
