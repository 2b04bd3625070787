//! The pages of the studies: what each found as an answer in words, figures, tables and text.
//!
//! One module for each study makes [`Findings`]; page, files and text are made from these in one way for all.

mod acceptance;
mod buffers;
mod comparison;
mod crew;
mod frame;
mod grid;
mod losses;
mod order;
mod phrases;
mod plot;
mod precision;
mod protocol;
mod scope;
mod sensitivity;
mod slope;
mod split;
mod versus;
pub(crate) mod weights;

#[cfg(test)]
mod example;
#[cfg(test)]
mod tests;

use crate::figure::Figure;
use crate::input::StudyReport;
use crate::number::plain_characters;
use crate::table::Table;
use crate::text::filled;
use linewake_kpi::study::{StudyKind, StudyResult};
use maud::Markup;
use std::borrow::Cow;

pub(crate) use frame::STUDY_SHEET;
pub(crate) use phrases::sentence;

/// Rows of a table that a terminal gets; the files have them all.
const TEXT_ROWS: usize = 14;

/// What a study found, ready to be shown.
struct Findings {
    /// The answer in words with numbers.
    answer: String,
    /// What must be read beside it.
    beside: Vec<String>,
    /// The parts, the most important first.
    parts: Vec<Part>,
    /// A sheet to be filled in and signed.
    protocol: Option<Markup>,
    /// Cautions of this study alone.
    cautions: Vec<String>,
}

/// A part of the page.
struct Part {
    /// Its address on the page.
    id: Cow<'static, str>,
    /// Its heading.
    title: String,
    /// Paragraphs before the figures.
    words: Vec<String>,
    /// The figures.
    figures: Vec<Figure>,
    /// The numbers behind them; the first is shown, the others are folded away.
    tables: Vec<Table>,
}

fn findings(report: &StudyReport) -> Findings {
    match &report.result {
        StudyResult::Losses(found) => losses::findings(found),
        StudyResult::Buffers(found) => buffers::findings(found),
        StudyResult::Acceptance(found) => acceptance::findings(found),
        StudyResult::Comparison(found) => comparison::findings(found),
        StudyResult::Sensitivity(found) => sensitivity::findings(found),
        StudyResult::Crew(found) => crew::findings(found),
        StudyResult::Order(found) => order::findings(found),
        StudyResult::Scope(found) => scope::findings(found),
        StudyResult::Split(found) => split::findings(found),
        StudyResult::Precision(found) => precision::findings(found),
        StudyResult::Versus(found) => versus::findings(found),
    }
}

/// The question that a study answers.
fn question(kind: StudyKind) -> &'static str {
    match kind {
        StudyKind::Precision => "How sure is the figure?",
        StudyKind::Buffers => "How much buffer is enough?",
        StudyKind::Split => "How are the places best shared out?",
        StudyKind::Losses => "Which loss is worth mending first?",
        StudyKind::Comparison => "Which one makes more?",
        StudyKind::Sensitivity => "Which input matters most?",
        StudyKind::Acceptance => "What can be promised, and how is it proven?",
        StudyKind::Crew => "How many operators are enough?",
        StudyKind::Order => "How long does the order take?",
        StudyKind::Scope => "Who answers for which loss?",
        StudyKind::Versus => "Does the log keep the promise?",
    }
}

/// The page.
pub(crate) fn page(report: &StudyReport) -> String {
    frame::page(report, &findings(report))
}

/// File name and SVG text of each figure.
pub(crate) fn charts(report: &StudyReport) -> Vec<(String, String)> {
    let figures = findings(report).parts.into_iter().flat_map(|part| part.figures);
    figures.map(|figure| (format!("{}.svg", figure.name), figure.wide.svg)).collect()
}

/// File name and CSV text of each table.
pub(crate) fn tables(report: &StudyReport) -> Vec<(String, String)> {
    let tables = findings(report).parts.into_iter().flat_map(|part| part.tables);
    tables.map(|table| (format!("{}.csv", table.name), table.csv())).collect()
}

/// Text for a terminal.
pub(crate) fn text(report: &StudyReport) -> String {
    let head = report.result.head();
    let found = findings(report);
    let mut text = filled(&format!("{}: {}", report.model.name, question(head.kind)));
    text.push('\n');
    text.push_str(&filled(&found.answer));
    text.push('\n');
    for table in found.parts.iter().filter_map(|part| part.tables.first()).filter(|it| !it.rows.is_empty()) {
        text.push_str(&filled(&format!("{}:", table.caption)));
        text.push_str(&table.text(TEXT_ROWS));
        text.push('\n');
    }
    for note in found.beside.iter().chain(&head.notes) {
        text.push_str(&filled(&phrases::sentence(note)));
    }
    text.push_str(&filled(&phrases::basis(head)));
    text.push_str(&plain_characters(&format!("Made again by: {}", report.command)));
    text.push('\n');
    text
}
