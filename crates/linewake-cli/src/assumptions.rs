//! What a model assumes, in words: its own keys and values, as typed, with the units that they were typed in.

use linewake_model::line::Line;
use linewake_report::input::{Assumption, AssumptionGroup};
use serde_json::{Map, Value};

/// The assumptions of the model, station by station; `text` is that of the model file.
pub(crate) fn of(text: &str, line: &Line) -> Vec<AssumptionGroup> {
    let Some(Value::Object(model)) = as_typed(text) else { return Vec::new() };
    let mut groups = vec![line_group(&model, line)];
    for station in model.get("stations").and_then(Value::as_array).into_iter().flatten() {
        if let Some((kind, Value::Object(fields))) = station.as_object().and_then(|it| it.iter().next()) {
            groups.push(station_group(kind, fields));
        }
    }
    groups
}

/// The model as strict JSON, comments left out.
fn as_typed(text: &str) -> Option<Value> {
    let spec = linewake_model::spec_of(text).ok()?;
    serde_json::from_str(&linewake_model::to_json(&spec)).ok()
}

fn line_group(model: &Map<String, Value>, line: &Line) -> AssumptionGroup {
    const SHOWN_ELSEWHERE: [&str; 5] = ["$schema", "model_version", "name", "about", "stations"];
    let typed = model.iter().filter(|(key, _)| !SHOWN_ELSEWHERE.contains(&key.as_str()));
    let mut rows: Vec<Assumption> = typed.map(|(key, value)| row(&words(key), value)).collect();
    let mut settled = |key: &str, value: String| {
        if !model.contains_key(key) {
            rows.push(Assumption { what: words(key), value });
        }
    };
    settled("constraint", line.stations[line.constraint].id.clone());
    settled("shift", format!("length {} h", line.shift.length.seconds() / 3600.0));
    settled("short_stop_limit", format!("{} s", line.short_stop_limit.seconds()));
    AssumptionGroup { title: "line".to_owned(), rows }
}

fn station_group(kind: &str, fields: &Map<String, Value>) -> AssumptionGroup {
    let id = fields.get("id").and_then(Value::as_str).unwrap_or_default();
    let kind = words(kind);
    let mut group =
        AssumptionGroup { title: if id == kind { kind } else { format!("{id} ({kind})") }, rows: Vec::new() };
    for (key, value) in fields {
        match (key.as_str(), value) {
            ("id", _) => {}
            ("stops" | "functions", Value::Array(items)) => group.rows.extend(items.iter().map(named_row)),
            _ => group.rows.push(row(&words(key), value)),
        }
    }
    group
}

/// A row for an object that has a name of its own: a stop mode, a function.
fn named_row(item: &Value) -> Assumption {
    let name_of = |key: &str| item.get(key).and_then(Value::as_str);
    let name = name_of("reason").or_else(|| name_of("name")).unwrap_or_default().to_owned();
    let rest: Map<String, Value> = item
        .as_object()
        .into_iter()
        .flatten()
        .filter(|(key, _)| !matches!(key.as_str(), "reason" | "name"))
        .map(|(key, value)| (key.clone(), value.clone()))
        .collect();
    Assumption { what: name, value: in_words(&Value::Object(rest), "; ") }
}

fn row(what: &str, value: &Value) -> Assumption {
    Assumption { what: what.to_owned(), value: in_words(value, "; ") }
}

/// A value in words; `separator` stands between the parts of an object or list.
fn in_words(value: &Value, separator: &str) -> String {
    match value {
        Value::Null => "none".to_owned(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.replace('_', " "),
        Value::Array(items) => {
            let items: Vec<String> = items.iter().map(|item| in_words(item, ", ")).collect();
            items.join(separator)
        }
        Value::Object(fields) => {
            let fields: Vec<String> = fields
                .iter()
                .map(|(key, value)| format!("{} {}", words(key), in_words(value, ", ")))
                .collect();
            fields.join(separator)
        }
    }
}

fn words(key: &str) -> String {
    key.replace('_', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stop_mode_in_words() {
        let stop = serde_json::json!({
            "reason": "blade jam",
            "after": { "running_time": { "exponential": { "mean": "2700 s" } } },
            "attended": true,
        });
        let row = named_row(&stop);
        assert_eq!(row.what, "blade jam");
        assert_eq!(row.value, "after running time exponential mean 2700 s; attended yes");
    }
}
