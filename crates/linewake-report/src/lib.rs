//! Results to tables and figures: SVG, text, CSV, and one self-contained HTML page. Returns strings; knows no engine
//! and no file.

pub mod input;

use input::RunReport;

/// The report as one self-contained HTML page.
#[must_use]
pub fn html(_report: &RunReport) -> String {
    String::new()
}

/// The figures as files: name and SVG text.
#[must_use]
pub fn charts(_report: &RunReport) -> Vec<(String, String)> {
    Vec::new()
}

/// The tables as files: name and CSV text.
#[must_use]
pub fn tables(_report: &RunReport) -> Vec<(String, String)> {
    Vec::new()
}

/// The result in a few aligned lines of plain text.
#[must_use]
pub fn text(_report: &RunReport) -> String {
    String::new()
}
