//! Accuracy classes of automatic catchweighers, category X: the standard deviation that the weigher may have.

use crate::basis::{Basis, Status};
use crate::regime::{RegimeError, status};
use core::fmt;
use serde::{Deserialize, Serialize};

const FORM: &str = "linewake-weights weigher 1";
const BUILT_IN: &str = include_str!("../data/oiml-r51.json");

/// When the limit holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// At type approval and initial verification.
    Initial,
    /// In service.
    InService,
}

/// The table of standard deviations as data; a user's file of the same form replaces it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeigherTable {
    /// "linewake-weights weigher 1".
    pub form: String,
    /// Short name.
    pub id: String,
    /// Name in words.
    pub title: String,
    /// Edition of the text.
    pub edition: String,
    /// What must be said with the results.
    pub caution: String,
    /// Clause or table.
    pub clause: String,
    /// Where it was read.
    pub source: String,
    /// Rows in rising order; each starts where the one before ends.
    pub rows: Vec<WeigherRow>,
}

/// One row: percentages or amounts, for both stages.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeigherRow {
    /// Up to this net load in grams, included; absent in the last row.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub up_to_g: Option<f64>,
    /// Percentage of the load, initial verification.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub percent_initial: Option<f64>,
    /// Percentage of the load, in service.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub percent_in_service: Option<f64>,
    /// Grams, initial verification.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub initial_g: Option<f64>,
    /// Grams, in service.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_service_g: Option<f64>,
    /// Fields that were read.
    pub read: Vec<String>,
}

/// A limit of the weigher's standard deviation.
#[derive(Clone, Debug, PartialEq)]
pub struct WeigherLimit {
    /// Largest standard deviation in grams.
    pub sd_g: f64,
    /// What it rests on.
    pub basis: Basis,
}

/// Why there is no limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WeigherError {
    /// The load is not above 0 and finite.
    Load(f64),
    /// The factor (x) is above 2 or not 1, 2 or 5 times a power of ten with an exponent of at most 0.
    Factor(f64),
}

impl fmt::Display for WeigherError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Load(value) => write!(f, "the load is {value} g; it must be finite and above 0"),
            Self::Factor(value) => write!(
                f,
                "the class factor is {value}; it must be at most 2 and 1, 2 or 5 times 1, 0.1, 0.01 and so on"
            ),
        }
    }
}

impl core::error::Error for WeigherError {}

impl WeigherTable {
    /// The table that comes with the program: OIML R 51.
    #[must_use]
    #[expect(clippy::missing_panics_doc, reason = "a test parses the file")]
    pub fn oiml_r51() -> Self {
        Self::parse(BUILT_IN).expect("a file that a test parses")
    }

    /// Reads a file of this form.
    ///
    /// # Errors
    /// Text that is not of this form, or rows that make no table; the message says where.
    pub fn parse(text: &str) -> Result<Self, RegimeError> {
        let table: Self = serde_json::from_str(text).map_err(|error| RegimeError::not_of_the_form(&error))?;
        if table.form != FORM {
            return Err(RegimeError::new(
                "form",
                format!("is {:?}; this program reads {FORM:?}", table.form),
            ));
        }
        let mut below = 0.0;
        for (number, row) in table.rows.iter().enumerate() {
            let place = format!("rows, row {}", number + 1);
            let last = number + 1 == table.rows.len();
            if row.up_to_g.is_none() != last
                || row.up_to_g.is_some_and(|top| !(top > below && top.is_finite()))
            {
                return Err(RegimeError::new(
                    place,
                    "up_to_g must rise from row to row, and be absent in the last one only",
                ));
            }
            for stage in [Stage::Initial, Stage::InService] {
                let (percent, amount, _) = row.of(stage);
                let one = percent.is_some() != amount.is_some();
                if !one || !percent.or(amount).is_some_and(|value| value >= 0.0 && value.is_finite()) {
                    return Err(RegimeError::new(
                        place,
                        "needs, for each stage, a percentage or grams, from 0 on",
                    ));
                }
            }
            let known = ["up_to_g", "percent_initial", "percent_in_service", "initial_g", "in_service_g"];
            if let Some(name) = row.read.iter().find(|name| !known.contains(&name.as_str())) {
                return Err(RegimeError::new(
                    place,
                    format!("read names {name:?}; the fields are {known:?}"),
                ));
            }
            below = row.up_to_g.unwrap_or(below);
        }
        if table.rows.is_empty() {
            return Err(RegimeError::new("rows", "is empty"));
        }
        Ok(table)
    }

    /// The largest standard deviation of a weigher of class X(`factor`) at a net load.
    ///
    /// # Errors
    /// A load that is not above 0, or a factor that the classes do not have.
    pub fn limit(&self, factor: f64, stage: Stage, load_g: f64) -> Result<WeigherLimit, WeigherError> {
        if !(load_g > 0.0 && load_g.is_finite()) {
            return Err(WeigherError::Load(load_g));
        }
        if !is_factor(factor) {
            return Err(WeigherError::Factor(factor));
        }
        let place = self.rows.iter().position(|row| row.up_to_g.is_none_or(|top| load_g <= top));
        let row = &self.rows[place.unwrap_or(self.rows.len() - 1)];
        let (percent, amount, field) = row.of(stage);
        let (sd_g, words) = match percent {
            Some(percent) => (factor * percent * load_g / 100.0, format!("{percent} %")),
            None => (factor * amount.unwrap_or(0.0), format!("{} g", amount.unwrap_or(0.0))),
        };
        let top = if row.up_to_g.is_some() { status(&row.read, "up_to_g") } else { Status::Read };
        let stage_words = match stage {
            Stage::Initial => "initial verification",
            Stage::InService => "in service",
        };
        Ok(WeigherLimit {
            sd_g,
            basis: Basis {
                value: format!("standard deviation of class X({factor}), {stage_words}: {factor} x {words}"),
                edition: self.edition.clone(),
                clause: self.clause.clone(),
                source: self.source.clone(),
                status: status(&row.read, field).and(top),
            },
        })
    }
}

impl WeigherRow {
    fn of(&self, stage: Stage) -> (Option<f64>, Option<f64>, &'static str) {
        match stage {
            Stage::Initial if self.percent_initial.is_some() => {
                (self.percent_initial, self.initial_g, "percent_initial")
            }
            Stage::Initial => (None, self.initial_g, "initial_g"),
            Stage::InService if self.percent_in_service.is_some() => {
                (self.percent_in_service, self.in_service_g, "percent_in_service")
            }
            Stage::InService => (None, self.in_service_g, "in_service_g"),
        }
    }
}

/// 1, 2 or 5 times a power of ten of exponent 0 or below, at most 2.
///
/// *Source*: Directive 2014/32/EU, Annex VIII chapter II, 2.2 (read).
fn is_factor(factor: f64) -> bool {
    if !(factor > 0.0 && factor <= 2.0) {
        return false;
    }
    let exponent = libm::floor(libm::log10(factor) + 1e-9);
    let leading = factor / libm::pow(10.0, exponent);
    exponent <= 0.0 && [1.0, 2.0, 5.0].iter().any(|one: &f64| (leading - one).abs() < 1e-9)
}

#[cfg(test)]
mod tests;
