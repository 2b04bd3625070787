//! Which input matters: every input moved by what is not known of it.

use super::{DesignFigures, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of a sensitivity study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SensitivityResult {
    /// Head.
    pub head: StudyHead,
    /// The line as modelled.
    pub base: DesignFigures,
    /// Inputs without a stated uncertainty were moved by this share, for example 0.2.
    pub default_relative: f64,
    /// The inputs, largest effect first.
    pub rows: Vec<SensitivityRow>,
    /// Inputs that could not be moved, with the reason.
    pub not_moved: Vec<NotMoved>,
}

/// One input.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SensitivityRow {
    /// Its full path in the model.
    pub path: String,
    /// Id of its station, where it belongs to one.
    pub station: Option<String>,
    /// What it is, in words.
    pub what: String,
    /// Value in the model, as typed.
    pub as_modelled: String,
    /// Where its range comes from.
    pub range: RangeSource,
    /// At the low end; `None` where only the high end could be run.
    pub low: Option<MovedInput>,
    /// At the high end.
    pub high: Option<MovedInput>,
    /// Larger of the two absolute effects in packs a run: the order of the rows.
    pub effect_packs: f64,
}

/// Where the range of an input comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RangeSource {
    /// The model states its uncertainty.
    Stated,
    /// The same share for every input that states none.
    Default,
}

/// An input moved to one end of its range.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MovedInput {
    /// Its value there, as typed.
    pub value: String,
    /// It is this many times the value in the model.
    pub factor: f64,
    /// Good packs a run less those of the line as modelled, same luck.
    pub against_base: Mean,
    /// OEE there.
    pub oee: Mean,
}

/// An input that was not moved.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NotMoved {
    /// Its full path in the model.
    pub path: String,
    /// Why not.
    pub why: String,
}
