//! The promise against the log: what the model predicts for a log of that length, and what the log shows.

use super::StudyHead;
use crate::summary::Mean;
use serde::Serialize;

/// The result of holding a model against a log.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VersusResult {
    /// Head.
    pub head: StudyHead,
    /// Shifts in the log.
    pub shifts: u64,
    /// Planned production time of the log.
    pub planned_production_time_s: f64,
    /// Runs of a logged shift with drawn stops, over all shifts.
    pub predicting_runs: u64,
    /// Runs with the logged stops of one reason in place of the drawn ones, for each reason; 0 where what each explains was not asked for.
    pub explaining_runs: u64,
    /// The log is of a simulated line.
    pub is_simulated: bool,
    /// OEE, its factors and output.
    pub figures: Vec<FigureRow>,
    /// Stops by station and reason: first those that the log shows beyond chance, then by packs explained.
    pub reasons: Vec<ReasonRow>,
    /// Good packs of the log against the model's.
    pub gap: Gap,
    /// Smallest p-value that a figure of this log can have with so many runs.
    pub smallest_p_value: f64,
    /// What the log does not tell, in words.
    pub lacking: Vec<String>,
}

/// What is predicted and what was observed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// Mean of the model for a log of that length.
    pub predicted: f64,
    /// Lower end of the prediction interval for one such log.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Value of the log; `None` where it does not tell it.
    pub observed: Option<f64>,
    /// Two-sided p-value of the permutation test, this figure alone.
    pub p_value: Option<f64>,
    /// The same corrected for the number of figures that are judged together.
    pub p_corrected: Option<f64>,
    /// How the value stands to the prediction.
    pub verdict: Verdict,
}

/// How an observed value stands to the predicted range.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Beyond chance, the number of figures that are looked at accounted for.
    BeyondChance,
    /// Outside its range; among so many figures that happens.
    OutsideAlone,
    /// Within its range.
    Within,
    /// The log does not tell it.
    NotTold,
    /// Planned by the model itself: shown, and not judged.
    Planned,
}

impl Verdict {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::BeyondChance => "beyond chance",
            Self::OutsideAlone => "outside its range, which happens among so many",
            Self::Within => "within its range",
            Self::NotTold => "not in the log",
            Self::Planned => "planned, not judged",
        }
    }
}

/// A headline figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct FigureRow {
    /// Which.
    pub figure: Figure,
    /// Prediction and observation.
    pub compared: Compared,
}

/// The headline figures, over all shifts of the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// OEE.
    Oee,
    /// Availability.
    Availability,
    /// Performance.
    Performance,
    /// Quality.
    Quality,
    /// Good packs an hour of planned production time.
    PacksPerHour,
}

impl Figure {
    /// In the order of a report.
    pub const ALL: [Self; 5] =
        [Self::Oee, Self::Availability, Self::Performance, Self::Quality, Self::PacksPerHour];

    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Oee => "OEE",
            Self::Availability => "availability A",
            Self::Performance => "performance P",
            Self::Quality => "quality Q",
            Self::PacksPerHour => "good packs an hour",
        }
    }
}

/// The stops of a station for one reason.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReasonRow {
    /// Place of the station in the model.
    pub station_index: usize,
    /// Its id.
    pub station: String,
    /// The reason.
    pub reason: String,
    /// A planned stop other than a break.
    pub planned: bool,
    /// Who knows it.
    pub known: Known,
    /// Stops that began in the log.
    pub count: Compared,
    /// Their time in seconds, waiting included, breaks left out.
    pub time_s: Compared,
    /// Good packs over the log that come of putting the logged stops of this reason into the model in place of the drawn ones,
    /// same luck in all else; negative: they cost packs. `None` for stops that the model plans itself, and where it was not asked
    /// for.
    pub explained_packs: Option<Mean>,
    /// The same as a share of the gap, where the output is outside its range.
    pub explained_share: Option<f64>,
}

impl ReasonRow {
    /// Whether count or time are beyond chance.
    #[must_use]
    pub fn is_beyond_chance(&self) -> bool {
        [self.count, self.time_s].iter().any(|compared| compared.verdict == Verdict::BeyondChance)
    }
}

/// Whether model and log know a reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Known {
    /// Both.
    Both,
    /// The log has it, the model does not.
    LogOnly,
    /// The model has it, the log tells of the station and has none.
    ModelOnly,
    /// The log does not tell of the station.
    StationNotTold,
}

impl Known {
    /// Its words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Both => "in both",
            Self::LogOnly => "not in the model",
            Self::ModelOnly => "not in the log",
            Self::StationNotTold => "the log does not tell of the machine",
        }
    }
}

/// Good packs of the log against those of the model, over the whole log.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// Good packs of the log; `None` where it does not count them.
    pub observed_packs: Option<f64>,
    /// Good packs of the model in as many shifts, with the interval of the mean.
    pub predicted_packs: Mean,
    /// Observed less predicted.
    pub gap_packs: Option<f64>,
    /// What comes of all logged stops at once; `None` where it was not asked for.
    pub all_stops_packs: Option<Mean>,
    /// The gap less that: what stops do not explain (speed, rejects, waits that nobody wrote down).
    pub rest_packs: Option<f64>,
}
