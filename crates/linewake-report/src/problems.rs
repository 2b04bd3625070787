//! Problems of a model, for people (with the lines of the file) and for programs.

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use linewake_model::problem::{Problem, Severity};
use serde_json::{Value, json};

/// What errors of a model forbid.
pub const CANNOT_RUN: &str = "the model cannot be run";
/// What errors of a file of stops forbid.
pub const NOT_PUT_IN: &str = "the stops cannot be put into the model";

/// Where it is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// On a terminal, with escape codes for colours.
    Coloured,
    /// Anywhere else.
    Plain,
}

/// Most problems that are shown to people; a program gets all.
const MOST_SHOWN: usize = 20;

/// The problems with the lines of the file that they stand in, and if there are errors a count at the end and what
/// they forbid.
#[must_use]
pub fn shown(file: &str, text: &str, problems: &[Problem], forbidden: &str, look: Look) -> String {
    let renderer = match look {
        Look::Coloured => Renderer::styled(),
        Look::Plain => Renderer::plain(),
    };
    let renderer = renderer.term_width(100);
    let mut shown = String::new();
    for problem in problems.iter().take(MOST_SHOWN) {
        shown.push_str(&renderer.render(&report(file, text, problem)));
        shown.push_str("\n\n");
    }
    let errors = problems.iter().filter(|problem| problem.severity == Severity::Error).count();
    if problems.len() > MOST_SHOWN {
        shown.push_str(&format!("... and {} more\n", problems.len() - MOST_SHOWN));
    }
    if errors > 0 {
        let s = if errors == 1 { "" } else { "s" };
        shown.push_str(&format!("{file}: {errors} error{s}; {forbidden}\n"));
    }
    shown
}

fn report<'a>(file: &'a str, text: &'a str, problem: &'a Problem) -> Vec<Group<'a>> {
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let snippet = Snippet::source(text)
        .path(file)
        .annotation(AnnotationKind::Primary.span(underlined(text, problem)).label(&problem.path));
    let mut group = level.primary_title(&problem.what).element(snippet);
    if !problem.hint.is_empty() {
        group = group.element(Level::HELP.message(&problem.hint));
    }
    vec![group]
}

/// What is underlined: the value, or where it goes over several lines its first one only.
fn underlined(text: &str, problem: &Problem) -> std::ops::Range<usize> {
    let start = boundary(text, problem.span.start);
    let end = boundary(text, problem.span.end).max(start);
    let first_line = text[start..end].find('\n').map_or(end, |length| start + length);
    start..first_line
}

/// The nearest place at or before `at` that does not split a character.
fn boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|&place| text.is_char_boundary(place)).unwrap_or(0)
}

/// The problems for a program, in the order of the file.
#[must_use]
pub fn json(problems: &[Problem]) -> Value {
    let problems = problems.iter().map(|problem| {
        json!({
            "severity": problem.severity.to_string(),
            "line": problem.line,
            "column": problem.column,
            "path": problem.path,
            "what": problem.what,
            "hint": problem.hint,
        })
    });
    Value::Array(problems.collect())
}
