//! Published test vectors of statistics: fits, goodness of fit, intervals, stopping rules, ranking and selection,
//! tolerance limits, test plans and the univariate reference sets of NIST.
//!
//! Inputs, expected values, tolerances and sources stand in data/vectors.csv, one vector a line; what is from memory
//! or recomputed says so there. Each number of a vector becomes a row. A value that is printed in a source but is not
//! what it is said to be becomes a row too, with the reason.

mod comparisons;
mod fits;
mod goodness;
mod selection;
mod univariate;

use crate::row::{Row, RunSet, Verdict};
use serde_json::Value;

/// One vector of the file.
pub(crate) struct Vector {
    pub(crate) id: String,
    topic: String,
    pub(crate) input: Value,
    expected: Value,
    tolerance: String,
    source: String,
}

/// Our value of one number of a vector.
pub(crate) struct Ours {
    /// Where it stands in the expected values, as in "weibull[0]".
    path: String,
    value: f64,
    /// Half the width of the 95 % interval of a simulated value.
    half_width: Option<f64>,
    /// Why the number is no value of this quantity: the row is then not expressible.
    not_expressible: bool,
    note: String,
}

impl Ours {
    pub(crate) fn new(path: impl Into<String>, value: impl Into<Option<f64>>) -> Self {
        Self {
            path: path.into(),
            value: value.into().unwrap_or(f64::NAN),
            half_width: None,
            not_expressible: false,
            note: String::new(),
        }
    }

    /// Values of a list.
    pub(crate) fn list(path: &str, values: impl IntoIterator<Item = Option<f64>>) -> Vec<Self> {
        values
            .into_iter()
            .enumerate()
            .map(|(index, value)| Self::new(format!("{path}[{index}]"), value))
            .collect()
    }

    pub(crate) fn simulated(mut self, half_width: f64) -> Self {
        self.half_width = Some(half_width);
        self
    }

    pub(crate) fn noted(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }

    pub(crate) fn not_expressible(mut self) -> Self {
        self.not_expressible = true;
        self
    }
}

/// How far ours may lie from the expected value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Within {
    Absolute(f64),
    Relative(f64),
}

impl Within {
    pub(crate) fn holds(self, expected: f64, ours: f64) -> bool {
        let most = match self {
            Self::Absolute(most) => most,
            Self::Relative(share) => share * expected.abs(),
        };
        (ours - expected).abs() <= most
    }
}

/// The rows of the page.
pub(crate) fn rows(set: RunSet) -> Vec<Row> {
    all().iter().flat_map(|vector| rows_of(vector, set)).collect()
}

/// The whole file, in its order.
fn all() -> Vec<Vector> {
    let mut reader = csv::Reader::from_reader(include_str!("data/vectors.csv").as_bytes());
    let mut vectors = Vec::new();
    for record in reader.records() {
        let record = record.expect("a line of the file");
        let json = |place: usize| serde_json::from_str(&record[place]).expect("JSON");
        vectors.push(Vector {
            id: record[0].to_owned(),
            topic: record[1].to_owned(),
            input: json(2),
            expected: json(3),
            tolerance: record[4].to_owned(),
            source: format!("{} [{}]", &record[5], record[6].to_lowercase()),
        });
    }
    vectors
}

fn rows_of(vector: &Vector, set: RunSet) -> Vec<Row> {
    let kind = vector.id.split('-').next().expect("an id");
    let (family, mut ours) = match kind {
        "FIT" => ("T. Fits of distributions to published samples", fits::ours(vector)),
        "GOF" => ("U. Goodness of fit", goodness::ours(vector, set)),
        "CI" | "CRN" | "REP" => ("V. Intervals, comparisons and stopping", comparisons::ours(vector)),
        "RS" => ("W. Ranking and selection", selection::ours(vector)),
        "TOL" | "PRED" | "PLAN" => {
            ("Z. Tolerance and prediction limits, test plans", comparisons::limits(vector))
        }
        "STRD" => ("Y. NIST StRD univariate sets", univariate::ours(vector)),
        _ => panic!("{}: whose vector is this?", vector.id),
    };
    let mut expected = Vec::new();
    flatten("", &vector.expected, &mut expected);
    let rows = expected.iter().map(|(path, published)| {
        let place = ours.iter().position(|ours| ours.path == *path);
        let ours = place.map_or_else(
            || Ours::new(path.clone(), f64::NAN).noted("no value of ours"),
            |place| ours.remove(place),
        );
        let near = tolerance(&vector.id, path).holds(*published, ours.value);
        let verdict = match (ours.not_expressible, near) {
            (true, _) => Verdict::NotExpressible,
            (false, true) => Verdict::Agrees,
            (false, false) => Verdict::Differs,
        };
        Row {
            family,
            id: vector.id.clone(),
            model: vector.topic.replace('_', " "),
            quantity: label(vector, path),
            source: vector.source.clone(),
            published: *published,
            ours: ours.value,
            half_width: ours.half_width,
            // What is simulated here is held against tables that are themselves only about right.
            standardised: None,
            tolerance: vector.tolerance.clone(),
            verdict,
            note: ours.note,
        }
    });
    let rows = rows.collect();
    let unknown: Vec<&str> = ours.iter().map(|ours| ours.path.as_str()).collect();
    assert!(unknown.is_empty(), "{}: nothing is expected of {unknown:?}", vector.id);
    rows
}

/// Every number below `value` with its path; a truth counts 1, a falsehood 0.
fn flatten(path: &str, value: &Value, into: &mut Vec<(String, f64)>) {
    match value {
        Value::Array(list) => {
            for (index, value) in list.iter().enumerate() {
                flatten(&format!("{path}[{index}]"), value, into);
            }
        }
        Value::Object(entries) => {
            for (key, value) in entries {
                flatten(key, value, into);
            }
        }
        Value::Bool(truth) => into.push((path.to_owned(), f64::from(u8::from(*truth)))),
        other => into.push((path.to_owned(), other.as_f64().expect("a number"))),
    }
}

/// The path in words: which entry of a list is meant.
fn label(vector: &Vector, path: &str) -> String {
    let Some((name, rest)) = path.split_once('[') else {
        return path.to_owned();
    };
    let places: Vec<usize> =
        rest.trim_end_matches(']').split("][").map(|place| place.parse().expect("a place")).collect();
    let of = |list: &str, place: usize| vector.input[list][place].to_string();
    let which = match (vector.id.as_str(), name) {
        ("RS-1" | "RS-2", _) => format!("{} designs", of("k", places[0])),
        ("RS-4", _) => {
            let pair = &vector.input["k_n0"][places[0]];
            format!("{} designs, {} first runs", pair[0], pair[1])
        }
        ("RS-5", _) => format!("design {}", places[0] + 1),
        ("PRED-1", _) => format!("n {}", of("n", places[0])),
        ("TOL-2", _) => format!("n {}, coverage {}", of("n", places[0]), of("cover", places[1])),
        ("GOF-3", _) => format!("level {}", of("levels", places[0])),
        (_, "ci") => ["low", "high"][places[0]].to_owned(),
        (_, "lognormal") => ["mu", "sigma"][places[0]].to_owned(),
        _ => ["shape", "scale"][places[0]].to_owned(),
    };
    format!("{name}: {which}")
}

/// What the words of the file mean for one number.
fn tolerance(id: &str, path: &str) -> Within {
    use Within::{Absolute, Relative};
    let name = path.split('[').next().expect("a name");
    match (id, name) {
        ("FIT-1", "shape") => Absolute(5e-5),
        ("FIT-1", "loglik") => Absolute(5e-4),
        ("FIT-1" | "FIT-2", "AIC") => Absolute(0.005),
        ("FIT-1", _) => Absolute(1e-3),
        ("FIT-2", _) => Absolute(1e-5),
        ("FIT-5", "shape") => Absolute(5e-5),
        ("FIT-5", _) => Absolute(1e-4),
        ("FIT-7", _) => Absolute(1e-5),
        ("FIT-3" | "FIT-8" | "FIT-9" | "FIT-10", _) => Relative(1e-5),
        ("GOF-3", _) | (_, "reject_5pct") => Absolute(0.0),
        ("GOF-4", _) => Absolute(0.01),
        (_, "D" | "KS_mod" | "A2" | "A2_mod") => Absolute(1e-7),
        ("CI-1", "t") => Absolute(1e-5),
        ("CI-1", "df") => Absolute(1e-4),
        ("CI-1", _) => Relative(1e-3),
        ("CI-2", _) => Absolute(1.5e-6),
        ("CRN-3", "ratio") => Absolute(1e-4),
        ("CRN-3", _) => Absolute(5e-4),
        ("REP-1", _) => Absolute(1e-9),
        ("REP-2" | "RS-5", _) | ("PLAN-1", "accept") => Absolute(0.0),
        ("RS-1", _) => Absolute(5e-4),
        ("RS-2", _) => Absolute(1e-3),
        ("PRED-1", _) => Absolute(1e-7),
        ("TOL-1", "high") => Absolute(5e-6),
        ("TOL-2", _) => Absolute(0.005),
        ("TOL-3", _) => Absolute(5e-4),
        ("PLAN-1", _) => Absolute(0.5),
        (_, "n") => Absolute(0.0),
        ("STRD-NumAcc2" | "STRD-NumAcc3" | "STRD-NumAcc4", "mean") => Relative(1e-14),
        ("STRD-NumAcc2" | "STRD-NumAcc3" | "STRD-NumAcc4", "lag1") => Absolute(1e-6),
        ("STRD-NumAcc2", "sd") => Absolute(1e-13),
        ("STRD-NumAcc3", "sd") => Absolute(1e-9),
        ("STRD-NumAcc4", "sd") => Absolute(1e-7),
        (id, _) if id.starts_with("STRD-") => Relative(1e-12),
        ("CRN-1" | "CRN-2" | "RS-4" | "TOL-1", _) => Absolute(1e-6),
        _ => panic!("{id} {path}: no tolerance"),
    }
}

/// The numbers of a list of the input.
pub(crate) fn numbers(vector: &Vector, name: &str) -> Vec<f64> {
    let list = vector.input[name].as_array().unwrap_or_else(|| panic!("{}: no list {name}", vector.id));
    list.iter().map(|value| value.as_f64().expect("a number")).collect()
}

/// A number of the input.
pub(crate) fn number(vector: &Vector, name: &str) -> f64 {
    vector.input[name].as_f64().unwrap_or_else(|| panic!("{}: no number {name}", vector.id))
}

#[test]
fn every_vector_agrees_or_says_why_not() {
    let rows = rows(RunSet::asked_for());
    let bad: Vec<&Row> = rows.iter().filter(|row| row.verdict == Verdict::Differs).collect();
    assert!(bad.is_empty(), "{bad:#?}");
    let unsaid = rows.iter().find(|row| row.verdict == Verdict::NotExpressible && row.note.is_empty());
    assert_eq!(unsaid, None, "a value that cannot be had needs its reason");
    assert_eq!((all().len(), rows.len()), (37, 209));
}

/// A check that cannot fail is none: each value, moved by three times its tolerance, no longer agrees.
#[test]
fn tolerances_are_narrow() {
    for vector in all() {
        let mut expected = Vec::new();
        flatten("", &vector.expected, &mut expected);
        for (path, value) in expected {
            let within = tolerance(&vector.id, &path);
            let moved = match within {
                Within::Absolute(most) => value + 3.0 * most + 1e-9 * value.abs().max(1e-3),
                Within::Relative(share) => value * (1.0 + 3.0 * share),
            };
            assert!(within.holds(value, value) && !within.holds(value, moved), "{} {path}", vector.id);
        }
    }
}
