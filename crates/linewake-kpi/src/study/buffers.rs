//! Output against capacity, or against any other value of the model.

use super::{DesignFigures, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of a buffer study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BuffersResult {
    /// Head.
    pub head: StudyHead,
    /// The values that were varied.
    pub varied: Vec<Varied>,
    /// All combinations, or one value at a time.
    pub layout: Layout,
    /// The line as modelled.
    pub base: DesignFigures,
    /// Every design that was run, in the order of the study.
    pub designs: Vec<DesignFigures>,
    /// One curve for each varied value whose designs differ from the model in it alone, or for a single varied value;
    /// empty for a full factorial of several.
    pub curves: Vec<Curve>,
}

/// A value of the model that was varied.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Varied {
    /// Its full path in the model.
    pub path: String,
    /// Id of its station, where it belongs to one.
    pub station: Option<String>,
    /// Value in the model, as typed.
    pub as_modelled: String,
    /// Values that were tried, as typed.
    pub values: Vec<String>,
    /// It is the capacity of a belt or table, in places.
    pub is_capacity: bool,
}

/// How several varied values are combined.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Layout {
    /// Every combination.
    FullFactorial,
    /// One value at a time, the others as modelled.
    OneAtATime,
}

/// Output against one value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Curve {
    /// Place in [`BuffersResult::varied`].
    pub varied: usize,
    /// Points in rising order of the value.
    pub points: Vec<CurvePoint>,
    /// With no place at all; capacities only.
    pub none: Option<CurvePoint>,
    /// Never full; capacities only.
    pub unlimited: Option<CurvePoint>,
    /// The smallest capacity that reaches the wanted share of what an unlimited one gains over none.
    pub smallest: Option<SmallestCapacity>,
    /// Share wanted, for example 0.9.
    pub share_wanted: f64,
    /// Price of a place, where it was given.
    pub price_per_place: Option<f64>,
    /// Value of a pack, where known.
    pub value_per_pack: Option<f64>,
    /// Runs a year that payback is reckoned with, where known.
    pub runs_per_year: Option<f64>,
}

/// One point of a curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// The value as typed; "unlimited" for never full.
    pub value: String,
    /// As a number in base units; `None` for unlimited.
    pub number: Option<f64>,
    /// Good packs a run.
    pub good_packs: Mean,
    /// OEE.
    pub oee: Mean,
    /// Good packs less those of the line as modelled, same luck.
    pub against_base: Mean,
    /// Packs for each further place since the point before, same luck; `None` at the first point.
    pub packs_per_place: Option<Mean>,
    /// Share of what an unlimited capacity gains over none; `None` where it gains nothing that can be told.
    pub share_of_gain: Option<f64>,
    /// What the places beyond those modelled cost and earn; `None` without prices or for fewer places.
    pub payback: Option<Payback>,
}

/// Money of a change.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Payback {
    /// Cost of the further places.
    pub cost: f64,
    /// Value of the further packs in a year.
    pub value_per_year: f64,
    /// Cost / value a year; `None` if nothing is gained.
    pub years: Option<f64>,
    /// The same at the lower end of the interval of the gain (the careful figure); `None` if it gains nothing there.
    pub years_at_low_end: Option<f64>,
}

/// The smallest capacity that is enough.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SmallestCapacity {
    /// Capacity as typed.
    pub value: String,
    /// Its share of the unlimited gain.
    pub share: f64,
    /// It is the smallest that was tried: a smaller one may do.
    pub is_smallest_tried: bool,
}
