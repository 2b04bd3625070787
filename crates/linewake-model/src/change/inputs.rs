//! Which values of a model are inputs that a study may move: quantities of the line and of its stops, not its layout.

use super::path::{Place, only_key};
use super::{amount, typed};
use serde_json::Value;

/// An input.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Input {
    /// Its path, as people read it.
    pub path: String,
    /// Id of its station, where it belongs to one.
    pub station: Option<String>,
    /// Value as typed.
    pub value: String,
    /// What it is.
    pub kind: InputKind,
}

/// What an input is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InputKind {
    /// A quantity with its unit.
    Quantity,
    /// A bare number: a count, a probability, a share.
    Number,
    /// A distribution as a whole: all its values are moved in proportion.
    Distribution,
}

/// Families of distributions, as their keys.
const FAMILIES: [&str; 10] = [
    "constant",
    "exponential",
    "uniform",
    "triangular",
    "truncated_normal",
    "lognormal",
    "weibull",
    "gamma",
    "empirical",
    "geometric",
];

/// Keys that describe layout, bookkeeping, the product or the study itself, with all that stands under them. Weight and weight
/// limits are one specification: moved alone, all packs would be out of it.
const NO_INPUTS: [&str; 25] = [
    "$schema",
    "model_version",
    "trade",
    "uncertainty",
    "design_rate",
    "short_stop_limit",
    "shift",
    "positions",
    "lanes",
    "rows_per_index",
    "array_rows",
    "indexes_per_array",
    "loads_per_zone",
    "gripper",
    "packs_per_case",
    "call_priority",
    "speed_control",
    "initial",
    "per_cycle",
    "every_packs",
    "target",
    "lowest",
    "highest",
    "low",
    "high",
];

pub(super) fn of(root: &Value) -> Vec<Input> {
    let mut inputs = Vec::new();
    walk(root, &Place::default(), root, &mut inputs);
    inputs
}

fn walk(value: &Value, place: &Place, root: &Value, inputs: &mut Vec<Input>) {
    let mut found = |kind| {
        inputs.push(Input {
            path: place.shown(root),
            station: place.station(root),
            value: typed(value),
            kind,
        });
    };
    match value {
        Value::Object(object) => {
            if only_key(value).is_some_and(|(key, _)| FAMILIES.contains(&key)) {
                found(InputKind::Distribution);
                return;
            }
            for (key, inner) in object {
                let is_product = key == "mean" && place.last_key().is_some_and(|key| key == "weight");
                if !is_product && !NO_INPUTS.contains(&key.as_str()) {
                    walk(inner, &place.then_key(key), root, inputs);
                }
            }
        }
        Value::Array(list) => {
            for (number, inner) in list.iter().enumerate() {
                walk(inner, &place.then_element(number), root, inputs);
            }
        }
        Value::Number(number) if number.as_f64().is_some_and(|number| number > 0.0) => {
            found(InputKind::Number)
        }
        Value::String(text) if amount::split(text).is_some_and(|(number, _)| number > 0.0) => {
            found(InputKind::Quantity);
        }
        _ => {}
    }
}
