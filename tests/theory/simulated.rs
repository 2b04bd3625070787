//! Families A to H: every line, queue and block of the reference table, run through the engine from a model file.

use crate::acceptance_runs;
use crate::checks::{self, Check, Reference};
use crate::compare::{Sample, judge};
use crate::identities::{self, Deviation};
use crate::measured::Measured;
use crate::model_of::{model_of, model_that_holds};
use crate::quantities::Seen;
use crate::replications::{Lengths, replicate};
use crate::row::{Row, RunSet, Verdict};
use serde_json::Value;
use std::cell::OnceCell;

/// The families, by their letter.
const FAMILIES: [&str; 8] = [
    "A. Serial lines with exponential and Erlang service",
    "B. Lines with operation-dependent failures",
    "C. Lines with time-dependent failures",
    "D. A limited repair crew",
    "E. Fixed cycles and slotted lines",
    "F. Single queues",
    "G. Availability, limits, deterministic lines",
    "H. General distributions (Monte-Carlo references)",
];

/// Pieces of the Monte-Carlo references: 40 x 2 million.
const REFERENCE_PIECES: f64 = 80e6;

/// What is known of the model besides the figures.
fn convention(id: &str) -> &'static str {
    match id.as_bytes()[0] {
        b'C' => "time-dependent failures are calendar-time stops; in a stop a finished piece may leave",
        b'D' if id <= "D03" => {
            "a line of machines with calendar-time stops: what flows does not matter to when they fail"
        }
        b'D' => "repair workers are the crew, response 0",
        b'E' if id <= "E03" => "a jam is a count stop, which holds its piece",
        b'E' if id == "E04" => {
            "the first machine is arrivals that are lost when full; N counts the piece in the second"
        }
        b'E' if id == "E07" => {
            "a jam is a count stop; N counts a piece in either machine, so the storage has N - 2 places"
        }
        b'F' => "arrivals, a table without limit, a machine",
        b'G' if id == "G02" => "one machine with three stop modes",
        _ => "",
    }
}

/// What all the runs gave.
#[derive(Clone, Debug, Default)]
pub(crate) struct Simulated {
    /// Rows of the page.
    pub(crate) rows: Vec<Row>,
    /// How the identities held in the same runs.
    pub(crate) deviations: Vec<Deviation>,
}

/// Runs every check of families A to H.
pub(crate) fn rows(set: RunSet) -> Simulated {
    let mut all = Simulated::default();
    for (place, check) in checks::all().iter().enumerate().filter(|(_, check)| !check.id.starts_with('S')) {
        let one = run_check(check, set, seed_of(place));
        eprintln!("{}: {}", check.id, crate::page::headline(&one.rows.iter().collect::<Vec<_>>()));
        all.rows.extend(one.rows);
        all.deviations.extend(one.deviations);
    }
    all
}

/// Each check has luck of its own, and room for the next seed.
fn seed_of(place: usize) -> u64 {
    1_000 + 10 * place as u64
}

/// Runs one check.
pub(crate) fn run_check(check: &Check, set: RunSet, seed: u64) -> Simulated {
    let only_rows = |rows| Simulated { rows, deviations: Vec::new() };
    let family = FAMILIES[usize::from(check.id.as_bytes()[0] - b'A')];
    let blank = Row { family, id: check.id.clone(), ..Row::default() };
    if check.kind == "interval_availability" {
        return only_rows(acceptance_runs::rows(check, &blank, set, seed));
    }
    let model = match model_of(check) {
        Ok(model) => model,
        Err(why) => {
            let blank = Row { model: describe(&check.parameters), ..blank };
            return only_rows(
                check.values.iter().map(|value| not_expressible(&blank, value, &why)).collect(),
            );
        }
    };
    let lengths = Lengths::of(&check.id, set);
    let mut words = vec![describe(&check.parameters)];
    if !convention(&check.id).is_empty() {
        words.push(convention(&check.id).to_owned());
    }
    words.push(lengths.words());
    let blank = Row { model: words.join("; "), ..blank };
    let waits = check.id.starts_with('F');
    let run = |lengths, seed| Seen { model: &model, windows: replicate(&model, lengths, seed, waits) };
    let first = run(lengths, seed);
    let second: OnceCell<Seen<'_>> = OnceCell::new();
    let judge_one = |value: &Reference| {
        if value.quantity == "throughput_if_down_station_cannot_release" {
            return other_convention(&blank, check, value, lengths, seed);
        }
        let row = Row { note: note_of(check, value), ..blank.clone() };
        let again = || {
            let seen = second.get_or_init(|| run(lengths.four_times(), seed + 1));
            sample(check, value, seen)
        };
        judge(row, value, sample(check, value, &first), again)
    };
    Simulated {
        rows: check.values.iter().map(judge_one).collect(),
        deviations: identities::deviations(check, &first),
    }
}

fn sample(check: &Check, value: &Reference, seen: &Seen<'_>) -> Sample {
    let quantity = &value.quantity;
    let measured = seen.quantity(quantity).unwrap_or_else(|| panic!("{}: what is {quantity}?", check.id));
    let ours = match exact_variance_rate(check) {
        // The exact rate instead of that of a few hundred runs.
        Some(rate) if quantity == "throughput" => {
            Measured { standard_error: (rate / seen.units()).sqrt(), ..measured }
        }
        _ => measured,
    };
    Sample { ours, reference_error: reference_error(check, value, seen, ours) }
}

fn exact_variance_rate(check: &Check) -> Option<f64> {
    check.values.iter().find(|value| value.quantity == "output_variance_rate").map(|value| value.value)
}

/// Standard error of a Monte-Carlo reference: from its stated half-width; where the table states none (state shares from
/// the same runs), ours scaled by the lengths of the two runs.
fn reference_error(check: &Check, value: &Reference, seen: &Seen<'_>, ours: Measured) -> f64 {
    let Some(reference) = check.values.iter().find(|value| value.half_width.is_some()) else {
        return 0.0;
    };
    match value.half_width {
        Some(half_width) => half_width / 1.96,
        None => ours.standard_error * (seen.units() / (REFERENCE_PIECES / reference.value)).sqrt(),
    }
}

fn note_of(check: &Check, value: &Reference) -> String {
    let is_monte_carlo = check.values.iter().any(|value| value.half_width.is_some());
    if is_monte_carlo && value.half_width.is_none() {
        "standard error of the reference: ours, scaled by the lengths of the runs".to_owned()
    } else {
        String::new()
    }
}

/// The throughput when a finished piece stays in a machine during its stops.
fn other_convention(blank: &Row, check: &Check, value: &Reference, lengths: Lengths, seed: u64) -> Row {
    let model = model_that_holds(check);
    let run = |lengths, seed| {
        let seen = Seen { model: &model, windows: replicate(&model, lengths, seed, false) };
        let ours = seen.quantity("throughput").expect("every line has a throughput");
        Sample { ours, reference_error: 0.0 }
    };
    let row = Row {
        model: format!("{}; machines with holds_in_stops: a finished piece stays in a stop", blank.model),
        ..blank.clone()
    };
    judge(row, value, run(lengths, seed), || run(lengths.four_times(), seed + 1))
}

pub(crate) fn not_expressible(blank: &Row, value: &Reference, why: &str) -> Row {
    Row {
        quantity: value.quantity.clone(),
        source: value.source.clone(),
        published: value.value,
        tolerance: value.tolerance_in_words(),
        verdict: Verdict::NotExpressible,
        note: why.to_owned(),
        ..blank.clone()
    }
}

// ----- the model in a few words

/// The parameters as a reader of tables would write them.
pub(crate) fn describe(parameters: &Value) -> String {
    let mut parts = Vec::new();
    if let Some(stations) = parameters["stations"].as_array() {
        let stations: Vec<String> = stations.iter().map(describe_station).collect();
        parts.push(format!("stations: {}", stations.join(" / ")));
    }
    if let Value::Object(keys) = parameters {
        for (key, value) in keys {
            match key.as_str() {
                "stations" | "blocking" | "failure_mode" => {}
                _ => parts.push(format!("{} {}", key.replace('_', " "), describe_value(value))),
            }
        }
    }
    parts.join("; ")
}

fn describe_station(station: &Value) -> String {
    let mut words = describe_value(&station["service"]);
    if let Some(probability) = station["failure_probability_per_item"].as_f64() {
        words += &format!(", jam {probability}");
    }
    if !station["time_to_failure"].is_null() {
        words += &format!(", fails after {}", describe_value(&station["time_to_failure"]));
    }
    if !station["repair"].is_null() {
        words += &format!(", repair {}", describe_value(&station["repair"]));
    }
    words
}

fn describe_value(value: &Value) -> String {
    match value {
        Value::Object(keys) if keys.contains_key("dist") => {
            let family = value["dist"].as_str().unwrap_or_default();
            let figures = keys.iter().filter(|(key, _)| !matches!(key.as_str(), "dist" | "support"));
            let figures: Vec<String> = match family {
                "deterministic" => return format!("fixed {}", value["value"]),
                "exponential" | "geometric" => vec![value["mean"].to_string()],
                _ => figures.map(|(key, figure)| format!("{key} {figure}")).collect(),
            };
            format!("{family}({})", figures.join(", "))
        }
        Value::Object(keys) => {
            let figures: Vec<String> =
                keys.iter().map(|(key, figure)| format!("{key} {}", describe_value(figure))).collect();
            figures.join(", ")
        }
        Value::Array(values) => {
            let values: Vec<String> = values.iter().map(describe_value).collect();
            format!("[{}]", values.join("; "))
        }
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}
