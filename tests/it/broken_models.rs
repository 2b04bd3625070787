//! Broken model files, each with one cause, give the right error at the right place; nothing panics.
//!
//! `tests/broken/expected.csv` says for each file what kind of cause it is (`text`: no JSON; `type`: wrong key, type or
//! unit; `line`: right in type and impossible as a line), where the error stands, and a piece of its message.

use linewake_model::problem::{Problem, Severity};
use linewake_tests::{model_text, workspace_root};
use std::collections::BTreeSet;
use std::path::PathBuf;

struct Expected {
    file: String,
    kind: String,
    line: usize,
    column: usize,
    path: String,
    message: String,
}

fn folder() -> PathBuf {
    workspace_root().join("tests/broken")
}

fn expected() -> Vec<Expected> {
    let path = folder().join("expected.csv");
    let mut reader = csv::Reader::from_path(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"));
    let rows = reader.records().map(|row| {
        let row = row.expect("a row of expected.csv");
        let number = |place: usize| row[place].parse().expect("line and column are numbers");
        Expected {
            file: row[0].to_owned(),
            kind: row[1].to_owned(),
            line: number(2),
            column: number(3),
            path: row[4].to_owned(),
            message: row[5].to_owned(),
        }
    });
    rows.collect()
}

fn problems_of(file: &str) -> Vec<Problem> {
    let path = folder().join(file);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path:?}: {error}"));
    match linewake_model::parse(&text) {
        Ok(_) => Vec::new(),
        Err(problems) => problems,
    }
}

/// One cause, one error, at its place, and it says what is wrong or would be right.
#[test]
fn each_broken_model_gives_its_error_at_its_place() {
    let mut wrong = Vec::new();
    for case in expected() {
        let problems = problems_of(&case.file);
        let printed: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let is_right = match problems.as_slice() {
            [only] => {
                only.severity == Severity::Error
                    && (only.line, only.column) == (case.line, case.column)
                    && only.path == case.path
                    && format!("{}; {}", only.what, only.hint).contains(&case.message)
            }
            _ => false,
        };
        if !is_right {
            let Expected { file, line, column, path, message, .. } = case;
            wrong.push(format!(
                "{file}: due is one error at {line}:{column}, {path}, with \"{message}\", and there is\n  {}",
                printed.join("\n  ")
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The set is what it is said to be: at least fifty causes, half of them right in type.
#[test]
fn the_set_of_broken_models_is_complete() {
    let listed: BTreeSet<String> = expected().into_iter().map(|case| case.file).collect();
    let files: BTreeSet<String> = std::fs::read_dir(folder())
        .expect("the folder of broken models")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".json"))
        .collect();
    assert_eq!(files, listed);
    assert!(listed.len() >= 50, "{} files", listed.len());
    let impossible = expected().iter().filter(|case| case.kind == "line").count();
    assert!(impossible >= 25, "{impossible} files are right in type and impossible as a line");
    let causes: BTreeSet<String> = expected().into_iter().map(|case| case.path + &case.message).collect();
    assert_eq!(causes.len(), listed.len(), "two files have the same cause");
}

/// All problems are reported at once, in the order of the file: wrong types together with impossible figures.
#[test]
fn many_problems_are_reported_together() {
    let text = model_text("tern-quay-fish")
        .replace("\"hopper\": \"100 kg\"", "\"hopper\": \"10 kg\"")
        .replace("\"rate\": \"36/min\"", "\"rate\": 36")
        .replace("\"traverse\": \"0.4 s\"", "\"travers\": \"0.4 s\", \"traverse\": \"0.4 s\"")
        .replace("\"advance\": \"1 s\"", "\"advance\": \"1 kg\"")
        .replace("\"cut\": 6", "\"cut\": 3")
        .replace("\"gripper\": 2", "\"gripper\": 4")
        .replace("\"id\": \"table\"", "\"id\": \"loader\"");
    let problems = linewake_model::parse(&text).expect_err("seven problems");
    let paths: Vec<&str> = problems.iter().map(|problem| problem.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "stations[0].bulk_supply.batch",
            "stations[1].portioner.rate",
            "stations[3].loader.travers",
            "stations[4].former.advance",
            "stations[4].former.positions.cut",
            "stations[5].pick_robot.gripper",
            "stations[9].accumulating_table.id",
        ]
    );
    assert!(problems.is_sorted_by_key(|problem| (problem.line, problem.column)));
}

/// A file that was cut off, or lost a piece, at any place gives errors or (rarely) a model, and never a panic.
#[test]
fn no_damage_makes_the_reader_panic() {
    let text = model_text("low-sallow-burgers");
    for at in (0..text.len()).step_by(41).filter(|at| text.is_char_boundary(*at)) {
        assert!(linewake_model::parse(&text[..at]).is_err(), "cut off after {at} bytes");
        for lost in [1, 2, 5, 17, 60] {
            let Some(rest) = text.get(at + lost..) else { continue };
            let damaged = format!("{}{rest}", &text[..at]);
            if let Err(problems) = linewake_model::parse(&damaged) {
                for problem in problems {
                    assert!(damaged.get(problem.span.clone()).is_some(), "{problem} stands outside the file");
                    assert!(problem.line >= 1 && problem.column >= 1);
                }
            }
        }
    }
}

/// A byte order mark, Windows line ends and letters outside ASCII shift no line and no column.
#[test]
fn places_are_counted_in_characters() {
    let text = "\u{feff}{\r\n  \"näme\": 1, \"model_version\": 1\r\n}";
    let problems = linewake_model::parse(text).expect_err("an unknown key and missing ones");
    let unknown = problems.iter().find(|problem| problem.path == "näme").expect("the unknown key");
    assert_eq!((unknown.line, unknown.column), (2, 3));
    assert_eq!(&text[unknown.span.clone()], "\"näme\"");
    let missing = problems.iter().find(|problem| problem.path == "stations").expect("the missing stations");
    assert_eq!((missing.line, missing.column), (1, 1));
    assert!(linewake_model::parse("").is_err());
    assert!(linewake_model::parse("[]").is_err());
    assert!(linewake_model::parse("{} {}").is_err());
}
