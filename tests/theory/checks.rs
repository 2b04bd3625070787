//! The reference table: data/checks.csv, values with their sources as given.
//!
//! Three kinds of value, told apart in the source: published figures (read, or from memory), exact values of a finite
//! Markov chain or a closed form, and Monte-Carlo references with a stated half-width.

use serde_json::Value;

/// One model of the table with the values that are known of it.
#[derive(Clone, Debug)]
pub(crate) struct Check {
    pub id: String,
    pub kind: String,
    pub parameters: Value,
    pub values: Vec<Reference>,
}

/// One known value.
#[derive(Clone, Debug)]
pub(crate) struct Reference {
    pub quantity: String,
    pub value: f64,
    pub tolerance_text: String,
    pub tolerance: Tolerance,
    pub source: String,
    /// 95 % half-width of a Monte-Carlo reference, from the source column.
    pub half_width: Option<f64>,
}

/// How far ours may lie from the value; the four standard errors come on top.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Tolerance {
    /// So far at most.
    Within(f64),
    /// So far at most, or three combined standard errors if they are more.
    WithinOrThreeErrors(f64),
    /// The table gives the value for information: standard errors alone decide.
    ErrorsAlone,
}

impl Reference {
    /// The words of the table, without its advice on the length of runs.
    pub(crate) fn tolerance_in_words(&self) -> String {
        self.tolerance_text.split_once(';').map_or(&*self.tolerance_text, |(words, _)| words).to_owned()
    }
}

impl Tolerance {
    /// The largest difference allowed, given the combined standard error.
    pub(crate) fn allowed(self, standard_error: f64) -> f64 {
        match self {
            Self::Within(most) => most,
            Self::WithinOrThreeErrors(most) => most.max(3.0 * standard_error),
            Self::ErrorsAlone => f64::INFINITY,
        }
    }

    /// Reads the words of the table: "0.0033 abs (0.5 %); ...", "1.5 %", "max(2 %, 0.02) abs", "1e-6 ...", "exact".
    fn read(text: &str, value: f64) -> Self {
        let number = |text: &str| {
            let end = text.find(|c: char| !(c.is_ascii_digit() || ".e-".contains(c))).unwrap_or(text.len());
            text[..end].parse::<f64>().unwrap_or_else(|_| panic!("no tolerance: {text}"))
        };
        let figure = |text: &str| {
            let text = text.trim();
            let per_cent = text.split_once(' ').is_some_and(|(_, rest)| rest.starts_with('%'));
            if per_cent { number(text) / 100.0 * value.abs() } else { number(text) }
        };
        if text.starts_with("information") {
            Self::ErrorsAlone
        } else if text.starts_with("exact") {
            Self::Within(0.0)
        } else if let Some(rest) = text.strip_prefix("max(") {
            let (first, second) = rest.split_once(", ").expect("two figures");
            if second.starts_with("3 x combined standard error") {
                Self::WithinOrThreeErrors(number(first.split_once("= ").expect("in absolute figures too").1))
            } else {
                Self::Within(figure(first).max(figure(second)))
            }
        } else {
            Self::Within(figure(text))
        }
    }
}

/// The whole table, in its order.
pub(crate) fn all() -> Vec<Check> {
    let mut checks: Vec<Check> = Vec::new();
    let mut reader = csv::Reader::from_reader(include_str!("data/checks.csv").as_bytes());
    for record in reader.records() {
        let record = record.expect("a row of the table");
        let cell = |place: usize| record[place].to_owned();
        let value: f64 = record[4].parse().expect("a value");
        let source = cell(6);
        let half_width =
            source.split_once("half-width ").map(|(_, width)| width.parse().expect("a half-width"));
        let reference = Reference {
            quantity: cell(3),
            value,
            tolerance: Tolerance::read(&record[5], value),
            tolerance_text: cell(5),
            source,
            half_width,
        };
        match checks.last_mut() {
            Some(check) if check.id == record[0] => check.values.push(reference),
            _ => checks.push(Check {
                id: cell(0),
                kind: cell(1),
                parameters: serde_json::from_str(&record[2]).expect("parameters in JSON"),
                values: vec![reference],
            }),
        }
    }
    checks
}

/// The check of that id.
pub(crate) fn one(id: &str) -> Check {
    all().into_iter().find(|check| check.id == id).unwrap_or_else(|| panic!("no check {id}"))
}

#[test]
fn the_table_is_whole() {
    let checks = all();
    let count = |letter: char| checks.iter().filter(|check| check.id.starts_with(letter)).count();
    assert_eq!(checks.iter().map(|check| check.values.len()).sum::<usize>(), 412);
    assert_eq!(checks.len(), 68);
    assert_eq!("ABCDEFGHS".chars().map(count).collect::<Vec<_>>(), [13, 11, 2, 5, 7, 7, 6, 3, 14]);
}

#[test]
fn tolerances_are_read_as_they_are_written() {
    let read = |text| Tolerance::read(text, 2.0);
    assert_eq!(read("0.0033 abs (0.5 %); 3 sigma = 0.5 % at horizon 3e+05"), Tolerance::Within(0.0033));
    assert_eq!(read("1.5 %"), Tolerance::Within(0.03));
    assert_eq!(read("10 % (needs >= 1000 batches)"), Tolerance::Within(0.2));
    assert_eq!(read("max(2 %, 0.02) abs"), Tolerance::Within(0.04));
    assert_eq!(read("max(2 %, 0.05) abs"), Tolerance::Within(0.05));
    assert_eq!(read("1e-6 after warm-up"), Tolerance::Within(1e-6));
    assert_eq!(
        read("max(0.5 % = 0.004, 3 x combined standard error)"),
        Tolerance::WithinOrThreeErrors(0.004)
    );
    assert_eq!(read("information (large-t normal limit)"), Tolerance::ErrorsAlone);
}
