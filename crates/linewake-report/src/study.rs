//! Studies to a page, figures, tables and text.

use crate::input::StudyReport;
use maud::{DOCTYPE, html};

/// The page.
pub(crate) fn page(report: &StudyReport) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { (heading(report)) } }
            body { h1 { (heading(report)) } pre { (text(report)) } }
        }
    };
    page.into_string()
}

/// File name and SVG text of each figure.
pub(crate) fn charts(_report: &StudyReport) -> Vec<(String, String)> {
    Vec::new()
}

/// File name and CSV text of each table.
pub(crate) fn tables(_report: &StudyReport) -> Vec<(String, String)> {
    Vec::new()
}

/// Text for a terminal.
pub(crate) fn text(report: &StudyReport) -> String {
    let head = report.result.head();
    let mut text = format!("{}\n{} runs, seed {}\n", heading(report), head.runs, report.seed);
    for method in &head.methods {
        text.push_str(&format!("{} ({})\n", method.what, method.source));
    }
    text
}

fn heading(report: &StudyReport) -> String {
    format!("{}: {}", report.result.head().kind.word(), report.model.name)
}
