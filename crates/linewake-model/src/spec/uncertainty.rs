//! How sure the values of the model are, as typed.

use super::json::Json;
use super::share::ShareSpec;
use super::typed::{Reader, Typed, spec_object};
use crate::quantity;
use crate::units::{self, Kind};
use jsonc_parser::ast::Value;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;

spec_object! {
    /// How far a value of the model may be from the truth: it lies anywhere within its range, each value of the range as
    /// likely as any other. Either `relative` or `plus_minus` is given.
    pub struct UncertaintySpec {
        /// Path of the value, as in `stations[former].stops[web tracking].duration`; of a distribution as a whole, all its
        /// values move in proportion.
        pub path: String,
        /// Half of the range as a share of the value.
        pub relative: Option<ShareSpec>,
        /// Half of the range as an amount; not for distributions.
        pub plus_minus: Option<AmountSpec>,
    }
}

/// A bare number or a quantity of any kind, as typed.
#[derive(Clone, Debug, PartialEq)]
pub enum AmountSpec {
    /// A number.
    Number(f64),
    /// A quantity with its unit.
    Quantity(String),
}

impl AmountSpec {
    /// As it is written, without quotes.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Number(number) => number.to_string(),
            Self::Quantity(text) => text.clone(),
        }
    }
}

impl Typed for AmountSpec {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::NumberLit(_) => f64::read(value, reader).map(Self::Number),
            Value::StringLit(text) => Some(Self::Quantity(text.value.clone().into_owned())),
            _ => reader.refuse_kind("an amount", value, "a number, or a quantity as in \"2 s\""),
        }
    }
    fn write(&self) -> Option<Json> {
        match self {
            Self::Number(number) => number.write(),
            Self::Quantity(text) => text.write(),
        }
    }
}

impl JsonSchema for AmountSpec {
    fn schema_name() -> Cow<'static, str> {
        "Amount".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let kinds = [Kind::Time, Kind::Rate, Kind::Mass, Kind::Length, Kind::Speed, Kind::Share];
        let units: Vec<String> = kinds.into_iter().map(units::listed).collect();
        let patterns: Vec<_> = kinds
            .into_iter()
            .map(|kind| serde_json::json!({ "type": "string", "pattern": quantity::pattern(kind) }))
            .collect();
        let mut choices = vec![serde_json::json!({ "type": "number", "exclusiveMinimum": 0 })];
        choices.extend(patterns);
        json_schema!({
            "description": format!(
                "An amount in the unit of the value it goes with: a number, or a quantity ({}).",
                units.join("; ")
            ),
            "anyOf": choices,
            "examples": ["2 s", 0.0005]
        })
    }
}
