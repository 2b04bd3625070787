//! The values of a model that a user changes, each with a slider, a number and a unit.

use linewake_model::change::{Input, InputKind, ModelTree, number_and_unit};
use linewake_model::line::Line;
use serde::Serialize;
use serde_json::Value;

/// Values of a distribution by which it is shown and moved, the first that it has.
const LEADING: [&str; 8] = ["mean", "median", "mode", "max", "p90", "min", "half_width", "scale"];

/// A value with its slider.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Field {
    /// Its path.
    pub(super) path: String,
    /// Station, or what else it belongs to.
    pub(super) group: String,
    /// What it is.
    pub(super) label: String,
    /// Number.
    pub(super) value: f64,
    /// Unit behind it; empty for a bare number.
    pub(super) unit: String,
    /// Ends of the slider. The number beside it may lie outside.
    pub(super) low: f64,
    pub(super) high: f64,
    /// Step of the slider.
    pub(super) step: f64,
    /// What else moves with it, in words; may be empty.
    pub(super) note: String,
}

/// All values that can be changed, in the order of the line.
pub(super) fn fields(tree: &ModelTree, line: &Line) -> Vec<Field> {
    let mut inputs = tree.inputs();
    // A capacity of 0 is no quantity that a study scales, and yet one that people change.
    for station in &line.stations {
        let path = format!("stations[{}].capacity", station.id);
        let is_zero = tree.value(&path).is_ok_and(|value| value == "0");
        if is_zero && let Ok(path) = tree.full_path(&path) {
            let value = "0".to_owned();
            inputs.push(Input { path, station: Some(station.id.clone()), value, kind: InputKind::Number });
        }
    }
    let mut fields: Vec<Field> = inputs.iter().filter_map(field).collect();
    let order = |field: &Field| {
        let place = line.stations.iter().position(|station| station.id == field.group);
        (place.map_or(0, |place| place + 1), rank(&field.path))
    };
    fields.sort_by_key(order);
    fields
}

/// Within a group: what the station is, then its stops.
fn rank(path: &str) -> u8 {
    let is_main = ["capacity", "rate", "operators", "max_cycles", "max_rate", "cycle", "process"]
        .iter()
        .any(|key| path.ends_with(&format!(".{key}")));
    match path {
        _ if is_main => 0,
        _ if path.contains(".stops[") => 2,
        _ => 1,
    }
}

fn field(input: &Input) -> Option<Field> {
    let (shown, note, of_what) = match input.kind {
        InputKind::Distribution => leading(&input.value)?,
        InputKind::Quantity | InputKind::Number => (input.value.clone(), String::new(), String::new()),
    };
    let (value, unit) = number_and_unit(&shown)?;
    let is_whole = unit.is_empty() && value.fract().abs() < f64::EPSILON && value.abs() > 1.5
        || input.path.ends_with("capacity")
        || input.path.ends_with("operators");
    let (low, high, step) = slider(value, unit, is_whole, input);
    let mut label = label(input);
    if !of_what.is_empty() {
        label.push_str(&format!(", {of_what}"));
    }
    let group = match &input.station {
        Some(station) => station.clone(),
        None if input.path.starts_with("crew") => "crew".to_owned(),
        None => "line".to_owned(),
    };
    Some(Field {
        path: input.path.clone(),
        group,
        label,
        value,
        unit: unit.to_owned(),
        low,
        high,
        step,
        note,
    })
}

/// The leading value of a distribution, what moves with it, and its name: of `{"lognormal":{"median":"20 s","p90":"50 s"}}`
/// "20 s", "lognormal; p90 50 s moves with it", "median".
fn leading(typed: &str) -> Option<(String, String, String)> {
    let tree: Value = serde_json::from_str(typed).ok()?;
    let (family, inner) = tree.as_object()?.iter().next()?;
    let text = |value: &Value| match value {
        Value::String(text) => Some(text.clone()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    };
    let family_words = family.replace('_', " ");
    let Some(parts) = inner.as_object() else {
        let shown = text(inner)?;
        return (number_and_unit(&shown)?.0 > 0.0).then(|| (shown, family_words, String::new()));
    };
    let key = LEADING.into_iter().find(|key| {
        parts
            .get(*key)
            .and_then(text)
            .and_then(|it| number_and_unit(&it))
            .is_some_and(|(number, _)| number > 0.0)
    })?;
    let others: Vec<String> = parts
        .iter()
        .filter(|(other, _)| *other != key)
        .filter_map(|(other, value)| Some(format!("{} {}", other.replace('_', " "), text(value)?)))
        .collect();
    let note = match others.len() {
        0 => family_words,
        _ => format!("{family_words}, with {}; moved as a whole", others.join(", ")),
    };
    Some((text(parts.get(key)?)?, note, key.replace('_', " ")))
}

/// Changes a value of the form; a distribution is made larger or smaller as a whole.
///
/// # Errors
/// In words: no such place, or no size.
pub(super) fn set(tree: &mut ModelTree, path: &str, number: f64) -> Result<(), String> {
    if !number.is_finite() {
        return Err(format!("{path}: give a number"));
    }
    let before = tree.value(path).map_err(|error| error.to_string())?;
    if let Some((_, unit)) = number_and_unit(&before) {
        let gap = if unit.is_empty() || unit.starts_with('/') { "" } else { " " };
        return tree.set(path, &format!("{number}{gap}{unit}")).map_err(|error| error.to_string());
    }
    let Some((shown, _, _)) = leading(&before) else {
        return Err(format!("{path} is no quantity: change it in the text of the model"));
    };
    let Some((old, _)) = number_and_unit(&shown) else { return Err(format!("{path} is no quantity")) };
    if number <= 0.0 {
        return Err(format!("{path} is a distribution, moved as a whole: give a value above 0"));
    }
    match tree.scaled_to_nearest(path, number / old) {
        Ok((scaled, _, _)) => *tree = scaled,
        // What is wrong with it is told with line and column when the text is checked.
        Err(_) => tree.scale(path, number / old).map_err(|error| error.to_string())?,
    }
    Ok(())
}

/// The slider of a value: from about a fifth to about three times, in round numbers.
fn slider(value: f64, unit: &str, is_whole: bool, input: &Input) -> (f64, f64, f64) {
    if is_whole {
        let low = if input.path.ends_with("operators") { 1.0 } else { 0.0 };
        let most = if input.path.ends_with("operators") { 10.0 } else { 60.0 };
        let high = round_up((value * 3.0).max(most));
        return (low, high, if high > 1000.0 { round_up(high / 500.0) } else { 1.0 });
    }
    let is_share = unit == "%" || unit.is_empty() && value <= 1.0;
    let high = round_up(value * 3.0);
    let high = if is_share { high.min(if unit == "%" { 100.0 } else { 1.0 }) } else { high };
    let step = round_up(high / 300.0);
    let low = if is_share { 0.0 } else { (value / 5.0 / step).floor().max(1.0) * step };
    (low, high, step)
}

/// The next of 1, 2, 5, 10, ...
fn round_up(value: f64) -> f64 {
    let power = 10_f64.powi(value.log10().floor() as i32);
    let digit = [1.0, 2.0, 3.0, 5.0].into_iter().find(|digit| digit * power >= value * (1.0 - 1e-9));
    // Through decimal text, so that 0.1 + 0.2 is 0.3.
    let rounded = digit.unwrap_or(10.0) * power;
    format!("{rounded:.6e}").parse().unwrap_or(rounded)
}

/// What it is, in words.
fn label(input: &Input) -> String {
    let inside = match &input.station {
        Some(_) => input.path.split_once("].").map_or(input.path.as_str(), |(_, rest)| rest),
        None => input.path.strip_prefix("crew.").unwrap_or(&input.path),
    };
    if let Some((reason, rest)) = inside.strip_prefix("stops[").and_then(|it| it.split_once("].")) {
        return format!("{reason}: {}", of_stop(rest));
    }
    let words: Vec<String> = inside
        .split('.')
        .map(|part| match part.split_once('[') {
            Some((_, name)) => name.trim_end_matches(']').to_owned(),
            None => part.replace('_', " "),
        })
        .collect();
    let text = words.join(", ");
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn of_stop(rest: &str) -> String {
    match rest {
        "duration" => "how long it takes".to_owned(),
        "after.running_time" => "running time between stops".to_owned(),
        "after.calendar_time" => "calendar time between stops".to_owned(),
        "after.roll.length" => "length of a roll".to_owned(),
        "after.magazine.pieces" => "pieces in a full magazine".to_owned(),
        "scrap_after" => "indexes scrapped after it".to_owned(),
        other => match other.strip_prefix("after.") {
            Some(count) => format!("{} between stops", count.replace('_', " ")),
            None => other.replace('_', " "),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MINCE: &str = include_str!("../../../../models/alder-hill-mince.json");

    fn mince() -> (ModelTree, Line) {
        let tree = ModelTree::parse(MINCE).expect("a model");
        (tree, linewake_model::parse(MINCE).expect("a model").line)
    }

    #[test]
    fn sliders_hold_their_values() {
        let (tree, line) = mince();
        let fields = fields(&tree, &line);
        assert!(fields.len() > 40);
        for field in &fields {
            assert!(field.low <= field.value && field.value <= field.high, "{field:?}");
            assert!(field.step > 0.0 && field.high > field.low, "{field:?}");
            assert!(!field.label.contains(['_', '[', '{']), "{field:?}");
        }
        for (group, label) in [("crew", "Operators"), ("table", "Capacity")] {
            assert!(
                fields.iter().any(|field| field.group == group && field.label == label),
                "{group} {label}"
            );
        }
    }

    /// Every value of the form can be moved, and moved back to the same model.
    #[test]
    fn what_is_moved_and_moved_back_is_the_same() {
        let (tree, line) = mince();
        for field in fields(&tree, &line) {
            let mut moved = tree.clone();
            let other = if field.step >= 1.0 { field.value + 1.0 } else { field.value * 1.5 };
            set(&mut moved, &field.path, other).unwrap_or_else(|error| panic!("{field:?}: {error}"));
            assert_ne!(moved, tree, "{field:?}");
            set(&mut moved, &field.path, field.value).unwrap_or_else(|error| panic!("{field:?}: {error}"));
            let digest = |tree: &ModelTree| tree.check().expect("a model").line.digest;
            assert_eq!(digest(&moved), digest(&tree), "{field:?}");
        }
    }

    #[test]
    fn a_capacity_of_nothing_stays_in_the_form() {
        let (mut tree, _) = mince();
        set(&mut tree, "stations[table].capacity", 0.0).expect("a path");
        let line = tree.check().expect("a model").line;
        assert!(fields(&tree, &line).iter().any(|it| it.group == "table" && it.label == "Capacity"));
    }

    #[test]
    fn what_cannot_be_moved_says_why() {
        let (mut tree, _) = mince();
        assert!(set(&mut tree, "stations[nothing].capacity", 1.0).is_err());
        assert!(set(&mut tree, "name", 1.0).is_err());
        assert!(set(&mut tree, "crew.response", 0.0).is_err());
        assert!(set(&mut tree, "crew.operators", f64::NAN).is_err());
    }

    #[test]
    fn round_numbers() {
        let near = |value: f64, expected: f64| assert!((round_up(value) - expected).abs() < 1e-12, "{value}");
        near(0.07, 0.1);
        near(1.0, 1.0);
        near(21.0, 30.0);
        near(450.0, 500.0);
        near(0.000_021, 0.000_03);
    }
}
