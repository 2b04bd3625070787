//! What the logs of a line say of its stops: laws fitted to the times between stops and to their durations.

use super::{HistogramBin, Method};
use serde::Serialize;

/// What was fitted to the logs of one line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitResult {
    /// Name of the line, as its logs tell it.
    pub line: String,
    /// Version of the program.
    pub program_version: String,
    /// Shifts read.
    pub shifts: u64,
    /// Calendar time that they take in, in seconds.
    pub watched_s: f64,
    /// The logs are of a simulation.
    pub simulated: bool,
    /// Level of the intervals, for example 0.95.
    pub level: f64,
    /// Seed of the records that are drawn to judge a fit.
    pub seed: u64,
    /// Each machine's reasons, machines in line order, the reason with most time stopped first.
    pub stops: Vec<ReasonFit>,
    /// Response of the operators, where the logs tell it: calls made while nobody was called elsewhere.
    pub response: Option<TimesFit>,
    /// Portion weights, where a weigher's file was given.
    pub weights: Option<WeightsFit>,
    /// The procedures used, each with its source.
    pub methods: Vec<Method>,
    /// What must be read beside the figures.
    pub notes: Vec<String>,
}

/// Clock on which the time between stops is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FitClock {
    /// Seconds in which the machine ran.
    RunningTime,
    /// Seconds on the wall.
    CalendarTime,
    /// Cycles of the machine; the word is that of the model file.
    Count(&'static str),
}

/// Whether an operator comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Attendance {
    /// The log tells waiting and repair apart: the duration is that of the repair.
    Attended,
    /// The log tells that nobody was waited for.
    Unattended,
    /// The log does not tell: the duration takes in whatever was waited.
    NotTold,
}

/// One reason of one machine.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReasonFit {
    /// Id of the station.
    pub station: String,
    /// The reason.
    pub reason: String,
    /// Stops that began.
    pub stops: u64,
    /// Time stopped, waiting included, in seconds.
    pub stopped_s: f64,
    /// Whether an operator comes first.
    pub attendance: Attendance,
    /// Clock of the time between stops.
    pub clock: FitClock,
    /// Why that clock.
    pub clock_why: String,
    /// Time or count between stops; `None` of a stop that something else calls (a fail-safe).
    pub between: Option<TimesFit>,
    /// Duration: of the repair where the log tells it apart, else of the whole stop.
    pub duration: TimesFit,
    /// What must be read beside it.
    pub notes: Vec<String>,
}

/// A figure with its interval; an end that the data do not set is missing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bounded {
    /// The figure.
    pub value: f64,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// How the times were written down.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WrittenDown {
    /// To the last digit that matters.
    Exact,
    /// Durations were rounded to this many seconds.
    Rounded {
        /// The step.
        grid_s: f64,
        /// Share of the times on it.
        share: f64,
    },
    /// Start and end were each read in steps of this many seconds: a poll, or a rounded time of day.
    BothEnds {
        /// The step.
        grid_s: f64,
        /// Share of the times on it.
        share: f64,
    },
    /// Counts, rounded up by the machine.
    WholeNumbers,
}

/// Laws fitted to one sample.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TimesFit {
    /// What they are, for example "time between stops".
    pub what: String,
    /// Unit of all values: "s", or what is counted.
    pub unit: &'static str,
    /// Times seen to their end.
    pub complete: u64,
    /// Times that were cut off, of which it is known only that they were longer.
    pub cut_off: u64,
    /// Mean of the complete times.
    pub mean: f64,
    /// Median of the complete times.
    pub median: f64,
    /// Longest complete time.
    pub longest: f64,
    /// How they were written down.
    pub written_down: WrittenDown,
    /// Share of stops that such a record loses, by the chosen law.
    pub unseen: f64,
    /// The laws that could be fitted, the lowest AIC first, then those that could not.
    pub candidates: Vec<Candidate>,
    /// The law that is proposed.
    pub chosen: Chosen,
    /// What speaks against a renewal model, and other doubts.
    pub warnings: Vec<FitWarning>,
    /// What the other reasons of its family say, offered where the data are few.
    pub offer: Option<Offer>,
    /// The data of the figures.
    pub curves: Curves,
}

/// A law that was tried.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// Name of its family.
    pub family: &'static str,
    /// Its parameters; none if it could not be fitted.
    pub parameters: Vec<ParameterFit>,
    /// Its mean.
    pub mean: Option<Bounded>,
    /// ln L at its maximum.
    pub log_likelihood: Option<f64>,
    /// Akaike's criterion.
    pub aic: Option<f64>,
    /// Schwarz's (Bayes) criterion.
    pub bic: Option<f64>,
    /// How well it fits, where that was judged.
    pub goodness: Option<GoodnessOfFit>,
    /// Why it could not be fitted, in words.
    pub why_not: Option<String>,
}

/// A fitted parameter.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ParameterFit {
    /// Its name in the model file.
    pub name: &'static str,
    /// Whether it has the unit of the times.
    pub has_unit: bool,
    /// Value and interval by profile likelihood.
    pub bounded: Bounded,
}

/// How well a law fits.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct GoodnessOfFit {
    /// Anderson-Darling statistic.
    pub anderson_darling: f64,
    /// Share of drawn records with at least this statistic; `None` where a table judged.
    pub p: Option<f64>,
    /// Records drawn.
    pub drawn: Option<u64>,
    /// Of a table: the least of its levels (10, 5, 2.5, 1 %) at which the law is turned down.
    pub turned_down_at: Option<f64>,
    /// Turned down at the 5 % level.
    pub turned_down: bool,
    /// Times that it was worked out from: of a large record a sample.
    pub times: u64,
}

/// The law that is proposed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chosen {
    /// Name of its family.
    pub family: &'static str,
    /// As it stands in a model file.
    pub json: String,
    /// Its mean, with the interval where there is one.
    pub mean: Bounded,
    /// Why this one.
    pub why: String,
}

/// What a warning is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FitWarningKind {
    /// Few data.
    Few,
    /// They change over the watch.
    Trend,
    /// They differ between shifts.
    ByShift,
    /// One tells of the next.
    HangTogether,
    /// No law fits.
    NoLaw,
    /// The record loses the shortest.
    Unseen,
}

/// A doubt about a fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitWarning {
    /// What about.
    pub kind: FitWarningKind,
    /// In words, with its figure.
    pub words: String,
    /// p value of a test, where it comes from one.
    pub p: Option<f64>,
}

/// What the family of reasons says where one has few data.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Offer {
    /// Reasons in the family.
    pub members: u64,
    /// Which they are, in words.
    pub family: String,
    /// The law as it stands in a model file.
    pub json: String,
    /// Mean by the family's prior and the own data.
    pub mean: Bounded,
    /// The proposed law is this one, as was asked for.
    pub taken: bool,
}

/// A point of a curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Time.
    pub x: f64,
    /// Share, or the other time.
    pub y: f64,
}

/// The data of the figures of a sample.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Curves {
    /// Complete times in bins.
    pub bins: Vec<HistogramBin>,
    /// What the proposed law expects in each bin.
    pub expected: Vec<f64>,
    /// Share of times that are longer, from the data (Kaplan and Meier).
    pub survival: Vec<CurvePoint>,
    /// The same by each law that could be fitted, in the order of the candidates.
    pub laws: Vec<LawCurve>,
    /// The proposed law's quantiles (x) beside those of the data (y).
    pub quantiles: Vec<CurvePoint>,
}

/// The survival curve of a law.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LawCurve {
    /// Name of its family.
    pub family: &'static str,
    /// Share of times that are longer.
    pub points: Vec<CurvePoint>,
}

/// Portion weights from a weigher's file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WeightsFit {
    /// Packs weighed.
    pub packs: u64,
    /// Batches; 0 where the file does not tell them.
    pub batches: u64,
    /// Mean, in grams.
    pub mean_g: Bounded,
    /// Standard deviation from portion to portion, in grams.
    pub sd_g: Bounded,
    /// Standard deviation of the shift of a batch; `None` where the file tells fewer than two batches.
    pub sd_batch_g: Option<Bounded>,
    /// Slow drift; `None` where none was found.
    pub drift: Option<DriftFit>,
    /// Half the mean square of differences of packs so many apart, in square grams.
    pub variogram: Vec<CurvePoint>,
    /// What the fitted model expects there.
    pub variogram_fitted: Vec<CurvePoint>,
    /// Weights in bins.
    pub bins: Vec<HistogramBin>,
    /// What the fitted model expects in each.
    pub expected: Vec<f64>,
    /// As it stands in a model file, without the drift if its time is not known.
    pub json: String,
    /// What must be read beside it.
    pub notes: Vec<String>,
}

/// A slow drift of the weight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DriftFit {
    /// Standard deviation in the long run, in grams.
    pub sd_g: Bounded,
    /// Packs after which the correlation has fallen to 37 %.
    pub correlation_packs: Bounded,
    /// The same in seconds, where times were given.
    pub correlation_s: Option<f64>,
}
