//! Numbers that may also be written in per cent: probabilities and shares.

use super::json::Json;
use super::typed::{Reader, Typed};
use crate::quantity::{self, Quantity};
use jsonc_parser::ast::Value;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use std::borrow::Cow;

/// A probability or a share, as typed: 0.002 or "0.2 %".
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ShareSpec {
    /// A bare number; 1 is the whole.
    Number(f64),
    /// In per cent.
    PerCent(Quantity<quantity::Share>),
}

impl ShareSpec {
    /// As a number; 1 is the whole.
    #[must_use]
    pub fn value(self) -> f64 {
        match self {
            Self::Number(number) => number,
            Self::PerCent(quantity) => quantity.value(),
        }
    }
}

impl Typed for ShareSpec {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::StringLit(_) => Quantity::read(value, reader).map(Self::PerCent),
            Value::NumberLit(_) => f64::read(value, reader).map(Self::Number),
            _ => reader.refuse_kind("a number from 0 to 1", value, "or in per cent, as in \"0.2 %\""),
        }
    }
    fn write(&self) -> Option<Json> {
        match self {
            Self::Number(number) => number.write(),
            Self::PerCent(quantity) => quantity.write(),
        }
    }
}

impl JsonSchema for ShareSpec {
    fn schema_name() -> Cow<'static, str> {
        "Share".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "A probability or a share: a number (1 is the whole) or in per cent.",
            "anyOf": [
                { "type": "number", "minimum": 0 },
                { "type": "string", "pattern": quantity::pattern(crate::units::Kind::Share) }
            ],
            "examples": [0.002, "0.2 %"]
        })
    }
}

/// What part of the first time or count between stops is used already at time 0, as typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum InitialSpec {
    /// "new".
    New,
    /// "uniform".
    Uniform,
    /// A share of it.
    Part(ShareSpec),
}

impl Typed for InitialSpec {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        const HINT: &str = "\"new\", \"uniform\", or the part that is used already, as in 0.3 or \"30 %\"";
        match value {
            Value::StringLit(text) if text.value == "new" => Some(Self::New),
            Value::StringLit(text) if text.value == "uniform" => Some(Self::Uniform),
            Value::StringLit(text) if !text.value.contains('%') => {
                reader.refuse(format!("\"{}\" says nothing about the first stop", text.value), HINT)
            }
            Value::StringLit(_) | Value::NumberLit(_) => ShareSpec::read(value, reader).map(Self::Part),
            _ => reader.refuse_kind("a word or a share", value, HINT),
        }
    }
    fn write(&self) -> Option<Json> {
        match self {
            Self::New => Some(Json::Text("new".to_owned())),
            Self::Uniform => Some(Json::Text("uniform".to_owned())),
            Self::Part(share) => share.write(),
        }
    }
}

impl JsonSchema for InitialSpec {
    fn schema_name() -> Cow<'static, str> {
        "Initial".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let share = generator.subschema_for::<ShareSpec>();
        json_schema!({
            "description": "What part of the first time or count is used already at the start: \"new\" (none, the \
                default), \"uniform\" (drawn for each run: part-used rolls) or a share.",
            "anyOf": [{ "enum": ["new", "uniform"] }, share]
        })
    }
}

/// How many pieces a belt or table holds, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CapacitySpec {
    /// So many; 0 is a direct hand-over.
    Pieces(u32),
    /// "unlimited".
    Unlimited,
}

impl Typed for CapacitySpec {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        const HINT: &str = "write a whole number of pieces or \"unlimited\"";
        match value {
            Value::StringLit(text) if text.value == "unlimited" => Some(Self::Unlimited),
            Value::NumberLit(_) => u32::read(value, reader).map(Self::Pieces),
            _ => reader.refuse_kind("a capacity", value, HINT),
        }
    }
    fn write(&self) -> Option<Json> {
        match self {
            Self::Pieces(count) => count.write(),
            Self::Unlimited => Some(Json::Text("unlimited".to_owned())),
        }
    }
}

impl JsonSchema for CapacitySpec {
    fn schema_name() -> Cow<'static, str> {
        "Capacity".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Pieces in transit and queued at most: a whole number (0 is a direct hand-over) or \
                \"unlimited\".",
            "anyOf": [{ "type": "integer", "minimum": 0 }, { "enum": ["unlimited"] }]
        })
    }
}
