//! The form of a regime file. Every list named `read` names the fields beside it that were read in a public text;
//! what it does not name counts as from memory.

use crate::basis::Status;
use serde::{Deserialize, Serialize};

/// What the field `form` of a regime file says.
pub(crate) const FORM: &str = "linewake-weights regime 1";

/// The rules of one regime.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Regime {
    /// "linewake-weights regime 1".
    pub form: String,
    /// Short name, as in "eu-76-211".
    pub id: String,
    /// Name in words.
    pub title: String,
    /// Edition of the text; every result names it.
    pub edition: String,
    /// What must be said with the results.
    pub caution: String,
    /// How the parts are meant.
    #[serde(default)]
    pub note: String,
    /// Tolerable deficiencies by nominal quantity.
    pub tables: Vec<DeficiencyTable>,
    /// The limit that no pack may fall below, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second_limit: Option<SecondLimit>,
    /// What the checking instrument must do, where it is said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<Instrument>,
    /// Shares of packs below the limits that planning aims at, by country.
    #[serde(default)]
    pub shares: Vec<SharesBelow>,
    /// Allowances for loss of moisture.
    #[serde(default)]
    pub moisture: Vec<Moisture>,
    /// Sampling plans for lots.
    pub plans: Vec<Plan>,
}

/// Tolerable deficiencies by nominal quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeficiencyTable {
    /// Short name.
    pub id: String,
    /// Name in words.
    pub title: String,
    /// Clause or table of the text.
    pub clause: String,
    /// Where it was read.
    pub source: String,
    /// Nominal quantities for which the text holds; outside it the result says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scope: Option<Scope>,
    /// How a deficiency that is given in percent is rounded up, by nominal quantity; not at all if empty.
    #[serde(default)]
    pub rounding: Vec<Rounding>,
    /// Rows in rising order; each starts where the one before ends.
    pub rows: Vec<DeficiencyRow>,
}

/// Nominal quantities for which a table holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scope {
    /// From this nominal quantity, in grams.
    pub from_g: f64,
    /// Up to this one, in grams.
    pub to_g: f64,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// A step to which percentages are rounded up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rounding {
    /// Up to this nominal quantity, included; without it to the end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_to_g: Option<f64>,
    /// The step in grams.
    pub step_g: f64,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// One row: either a percentage of the nominal quantity or an amount.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct DeficiencyRow {
    /// Up to this nominal quantity in grams, included; absent in the last row.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub up_to_g: Option<f64>,
    /// The same for labels in pounds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub up_to_lb: Option<f64>,
    /// The top itself belongs to the next row.
    #[serde(skip_serializing_if = "core::ops::Not::not")]
    pub top_excluded: bool,
    /// Percentage of the nominal quantity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub percent: Option<f64>,
    /// Amount in grams.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amount_g: Option<f64>,
    /// Amount in pounds as printed, which is not always that in grams converted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amount_lb: Option<f64>,
    /// Amount in ounces as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amount_oz: Option<f64>,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// The second limit: nominal - `multiple` x tolerable deficiency.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SecondLimit {
    /// Multiple of the tolerable deficiency.
    pub multiple: f64,
    /// Clause.
    pub clause: String,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// The coarsest instrument: its figure may be at most the tolerable deficiency over `divisor`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// Which figure, as in "scale division".
    pub what: String,
    /// The tolerable deficiency is divided by this.
    pub divisor: f64,
    /// Clause.
    pub clause: String,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// Shares of packs below the limits that planning aims at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SharesBelow {
    /// Short name.
    pub id: String,
    /// Name in words.
    pub title: String,
    /// At most this percentage of packs below the first limit.
    pub below_t1_percent: f64,
    /// At most this percentage of packs below the second limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub below_t2_percent: Option<f64>,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// Allowance for loss of moisture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moisture {
    /// Product.
    pub product: String,
    /// Percentage of the labelled quantity.
    pub percent: f64,
    /// Kind of tare with which it holds: "any", "wet".
    pub tare: String,
    /// Clause.
    pub clause: String,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// A sampling plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Short name.
    pub id: String,
    /// Name in words.
    pub title: String,
    /// Clause or table of the text.
    pub clause: String,
    /// Where it was read.
    pub source: String,
    /// A mean that lies below the reference by exactly the allowed amount passes.
    pub equal_mean_passes: bool,
    /// How many packs of the sample may lie below the second limit; absent where the test does not ask.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beyond_second_limit: Option<BeyondSecondLimit>,
    /// Rows by size of the lot, in rising order without gap.
    pub rows: Vec<LotPlanRow>,
}

/// Packs of a sample that may lie below the second limit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BeyondSecondLimit {
    /// At most so many.
    pub accept: u64,
    /// Where it was read.
    pub source: String,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// The plan for lots of one range of sizes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotPlanRow {
    /// Smallest lot, in packs.
    pub lot_from: u64,
    /// Largest lot; absent in the last row.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot_to: Option<u64>,
    /// Draws with cumulative counts; empty where the whole lot is looked at.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub draws: Vec<DrawRow>,
    /// The whole lot is looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub whole_lot: Option<WholeLot>,
    /// Test of the mean; absent where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mean: Option<MeanRow>,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// One draw of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrawRow {
    /// Packs drawn up to and with this draw.
    pub sample: u64,
    /// The lot passes with at most so many packs below the first limit.
    pub accept: u64,
    /// The lot fails with at least so many.
    pub reject: u64,
}

/// A check of the whole lot: one of the two.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WholeLot {
    /// At most so many packs below the first limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accept: Option<u64>,
    /// At most this percentage of the lot below the first limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accept_percent: Option<f64>,
}

/// Test of the mean: mean + factor x s is at least the reference.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeanRow {
    /// The first packs of the sample, so many; all that are drawn at first where it is absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sample: Option<u64>,
    /// Factor of the sample's standard deviation (divisor n - 1).
    pub factor: f64,
}

/// Read if the field is in the list.
pub(crate) fn status(read: &[String], field: &str) -> Status {
    if read.iter().any(|name| name == field) { Status::Read } else { Status::Memory }
}
