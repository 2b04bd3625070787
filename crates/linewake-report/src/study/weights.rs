//! The page of `linewake weights`: the target weight first, then why, what would change it, the checkweigher and the
//! feedback, and what the figures rest on.

mod answer;
mod feedback;
mod page;
mod shown;
mod target;
mod variants;
mod weigher;

use super::{Part, TEXT_ROWS, phrases};
use crate::input::WeightsReport;
use crate::number::plain_characters;
use crate::text::filled;

/// The question that the page answers.
const QUESTION: &str = "At which weight is the line to be run?";

/// The parts, the most important first.
fn parts(report: &WeightsReport) -> Vec<Part> {
    let found = &report.found;
    let mut parts =
        vec![target::at_the_target(found), target::promised(found), target::against_target(found)];
    parts.extend(target::lots(found));
    parts.extend(variants::variants(found));
    parts.extend(weigher::weigher(found));
    if let Some(feedback) = &found.feedback {
        parts.push(feedback::gains(feedback));
        parts.push(feedback::left_out(feedback));
    }
    parts.push(page::rests_on(found));
    parts
}

/// The page.
pub(crate) fn page(report: &WeightsReport) -> String {
    page::page(report, &parts(report))
}

/// File name and SVG text of each figure.
pub(crate) fn charts(report: &WeightsReport) -> Vec<(String, String)> {
    let figures = parts(report).into_iter().flat_map(|part| part.figures);
    figures.map(|figure| (format!("{}.svg", figure.name), figure.wide.svg)).collect()
}

/// File name and CSV text of each table.
pub(crate) fn tables(report: &WeightsReport) -> Vec<(String, String)> {
    let tables = parts(report).into_iter().flat_map(|part| part.tables);
    tables.map(|table| (format!("{}.csv", table.name), table.csv())).collect()
}

/// Text for a terminal.
pub(crate) fn text(report: &WeightsReport) -> String {
    let mut text = filled(&format!("{}: {QUESTION}", report.model.name));
    text.push('\n');
    for words in answer::answer(&report.found) {
        text.push_str(&filled(&words));
    }
    text.push('\n');
    let tables: Vec<_> = parts(report).into_iter().filter(|part| part.id != "rests-on").collect();
    for table in tables.iter().flat_map(|part| &part.tables).filter(|it| shown::is_in_text(it)) {
        text.push_str(&filled(&format!("{}:", table.caption)));
        text.push_str(&table.text(TEXT_ROWS));
        text.push('\n');
    }
    for note in answer::notes(report) {
        text.push_str(&filled(&phrases::sentence(&note)));
    }
    text.push_str(&plain_characters(&format!("Made again by: {}", report.command)));
    text.push('\n');
    text
}

#[cfg(test)]
mod tests;
