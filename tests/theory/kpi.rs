//! KPI arithmetic: published worked examples of OEE, the formulas of ISO 22400-2 and of EN 415-11, and both conventions
//! where sources contradict each other.
//!
//! Inputs, expected values, tolerances and sources of the published examples stand in data/kpi.csv. Each example is told
//! as a log and goes through the program's own accounting, the one that reads the logs of simulated and of real lines. What
//! a log cannot say is a row all the same, and says so.

mod contradictions;
mod examples;
mod standards;
mod told_log;

use crate::row::{Row, RunSet, Verdict};
use crate::vectors::Within;
use serde_json::Value;

const FAMILY: &str = "I. KPI arithmetic";

/// The rows of the page.
pub(crate) fn rows(_set: RunSet) -> Vec<Row> {
    let mut rows = Vec::new();
    for example in published() {
        let values = match example.id.as_str() {
            "ISO-1" => standards::iso_22400(&example),
            "EN415-1" => standards::en_415_11(&example),
            _ => examples::values(&example),
        };
        rows.extend(values.into_iter().map(|value| value.row(&example)));
    }
    rows.extend(contradictions::rows());
    rows
}

/// A published example.
struct Example {
    id: String,
    input: Value,
    expected: Value,
    source: String,
}

impl Example {
    /// A number of the input.
    fn number(&self, name: &str) -> f64 {
        self.input[name].as_f64().unwrap_or_else(|| panic!("{}: no number {name}", self.id))
    }

    /// A count of the input.
    fn count(&self, name: &str) -> u64 {
        self.input[name].as_u64().unwrap_or_else(|| panic!("{}: no count {name}", self.id))
    }

    fn expected(&self, name: &str) -> f64 {
        self.expected[name].as_f64().unwrap_or_else(|| panic!("{}: no value {name}", self.id))
    }
}

fn published() -> Vec<Example> {
    let mut reader = csv::Reader::from_reader(include_str!("data/kpi.csv").as_bytes());
    let examples = reader.records().map(|record| {
        let record = record.expect("a line of the file");
        let json = |place: usize| serde_json::from_str(&record[place]).expect("JSON");
        Example {
            id: record[0].to_owned(),
            input: json(2),
            expected: json(3),
            source: format!("{} [{}]", &record[5], record[6].to_lowercase()),
        }
    });
    examples.collect()
}

/// One figure of an example: what is published and what the accounting gives.
#[derive(Debug)]
struct Figure {
    quantity: String,
    published: f64,
    /// `None`: no log of ours can say it.
    ours: Option<f64>,
    within: Within,
    exact: bool,
    note: String,
}

impl Figure {
    fn new(
        quantity: impl Into<String>,
        published: f64,
        ours: impl Into<Option<f64>>,
        within: Within,
    ) -> Self {
        let (quantity, ours) = (quantity.into(), ours.into());
        Self { quantity, published, ours, within, exact: false, note: String::new() }
    }

    /// A figure that is exact but for the rounding of floating-point numbers.
    fn exact(quantity: impl Into<String>, published: f64, ours: impl Into<Option<f64>>) -> Self {
        let within = Within::Absolute(1e-12 * published.abs().max(1.0));
        Self { exact: true, ..Self::new(quantity, published, ours, within) }
    }

    /// A figure printed with few digits.
    fn printed(
        quantity: impl Into<String>,
        published: f64,
        ours: impl Into<Option<f64>>,
        within: f64,
    ) -> Self {
        Self::new(quantity, published, ours, Within::Absolute(within))
    }

    fn noted(self, note: impl Into<String>) -> Self {
        Self { note: note.into(), ..self }
    }

    fn row(self, example: &Example) -> Row {
        let model = match example.id.as_str() {
            "ISO-1" | "EN415-1" => "formulas of a standard on made-up numbers, told as a log",
            _ => "published worked example, told as a log",
        };
        self.row_of(&example.id, model, &example.source)
    }

    fn row_of(self, id: &str, model: &str, source: &str) -> Row {
        let Within::Absolute(most) = self.within else { unreachable!("all of them are absolute") };
        Row {
            family: FAMILY,
            id: id.to_owned(),
            model: model.to_owned(),
            quantity: self.quantity,
            source: source.to_owned(),
            published: self.published,
            ours: self.ours.unwrap_or(f64::NAN),
            tolerance: if self.exact { "1e-12".to_owned() } else { format!("{most} abs") },
            verdict: match self.ours {
                None => Verdict::NotExpressible,
                Some(ours) if self.within.holds(self.published, ours) => Verdict::Agrees,
                Some(_) => Verdict::Differs,
            },
            note: self.note,
            ..Row::default()
        }
    }
}

#[test]
fn every_figure_agrees_or_says_why_not() {
    let rows = rows(RunSet::asked_for());
    let bad: Vec<&Row> = rows.iter().filter(|row| row.verdict == Verdict::Differs).collect();
    assert!(bad.is_empty(), "{bad:#?}");
    let apart: Vec<&Row> = rows.iter().filter(|row| row.verdict == Verdict::NotExpressible).collect();
    assert!(apart.iter().all(|row| !row.note.is_empty()), "{apart:#?}");
    assert_eq!((published().len(), rows.len(), apart.len()), (10, 75, 3));
}

/// A check that cannot fail is none: each published value, moved by three times its tolerance, no longer agrees.
#[test]
fn tolerances_are_narrow() {
    for row in rows(RunSet::Short).iter().filter(|row| row.verdict == Verdict::Agrees) {
        let exact = 1e-12 * row.published.abs().max(1.0);
        let most =
            row.tolerance.strip_suffix(" abs").map_or(exact, |most| most.parse().expect("a tolerance"));
        let within = Within::Absolute(most);
        assert!(!within.holds(row.published + 3.0 * most, row.ours), "{row:?}");
        assert!(most <= 0.01 * row.published.abs().max(1.0), "{row:?}");
    }
}
