//! Results to tables and figures: SVG, text, CSV, and one self-contained HTML page. Returns strings; knows no engine
//! and no file.
//!
//! [`input::RunReport`] is what a report of a run is made from. [`html`], [`charts`], [`tables`] and [`text`] show the
//! same figures: what is rounded on the page is in full in the tables.

pub mod analytic;
pub mod assumptions;
mod bars;
mod canvas;
mod figure;
mod fitting;
pub mod input;
pub mod live;
mod losses;
mod number;
mod page;
mod png;
pub mod problems;
mod study;
mod style;
mod table;
mod tables;
mod text;
mod wake;
mod wording;

#[cfg(test)]
mod example;

use figure::Figure;
use input::{FitReport, RunReport, StudyReport, WeightsReport};
use table::Table;

pub use png::{PngError, png};
pub use wake::WakeReport;

/// The report as one self-contained HTML page: no script, no outside address.
#[must_use]
pub fn html(report: &RunReport) -> String {
    page::page(report)
}

/// The figures as files: file name and SVG text.
///
/// *Shape*: `line.svg`, `shifts.svg` and `oee.svg`, then for each kind of start (`new-rolls`, `long-run`) `chain-`,
/// `losses-`, `stops-`, `stations-`, `hours-` and, where there is something to draw, `bands-`, `wake-`, `contents-`,
/// `stop-lengths-`, `between-stops-` and `rejects-`. The numbers behind each are in [`tables`].
#[must_use]
pub fn charts(report: &RunReport) -> Vec<(String, String)> {
    let file = |figure: Figure| (format!("{}.svg", figure.name), figure.wide.svg);
    let [shifts, oee] = [figure::shifts(&report.summaries), figure::oee(&report.summaries)];
    let mut files: Vec<(String, String)> = [page::sketch(report), shifts, oee].map(file).to_vec();
    for summary in &report.summaries {
        files.extend(figure::of_summary(summary).into_iter().map(file));
    }
    files
}

/// The tables as files: file name and CSV text with a heading row; units are in the column names, shares are 0 to 1,
/// times are seconds, and numbers are in full.
///
/// *Shape*: `headline.csv`; of logs `logs.csv` and `dirty-rows.csv`; then for each kind of start `ledger-`, `stops-`,
/// `stations-`, `hours-`, `rejects-`, `contents-`, `shifts-`, `machines-`, `waits-`, `stop-classes-`, `iso-`,
/// `iso-machines-`, `isa-states-` and, where they were drawn up, `balance-`, `bands-`, `wake-`, `contents-over-time-`,
/// `content-times-`, `stop-lengths-` and `between-stops-`.
#[must_use]
pub fn tables(report: &RunReport) -> Vec<(String, String)> {
    let file = |table: Table| (format!("{}.csv", table.name), table.csv());
    let mut files = vec![file(tables::headline(&report.summaries))];
    if let Some(logs) = &report.logs {
        files.extend([tables::logs(logs), tables::dirty_rows(logs)].map(file));
    }
    for summary in &report.summaries {
        files.extend(
            [
                tables::ledger(summary),
                tables::stops(summary),
                tables::stations(summary),
                tables::hours(summary),
                tables::rejects(summary),
                tables::contents(summary),
                tables::shifts(summary),
                tables::machines(summary),
                tables::waits(summary),
                tables::stop_classes(summary),
                tables::iso_line(summary),
                tables::iso_machines(summary),
                tables::isa_states(summary),
            ]
            .map(file),
        );
        files.extend(tables::balance(summary).map(file));
        files.extend([tables::bands(summary), tables::wake(summary)].into_iter().flatten().map(file));
        files.extend(
            [tables::contents_over_time(summary), tables::content_times(summary)]
                .into_iter()
                .flatten()
                .map(file),
        );
        files.extend(
            [tables::stop_lengths(summary), tables::between_stops(summary)].into_iter().flatten().map(file),
        );
    }
    files
}

/// The result in a few aligned tables of plain text, for a terminal: no colours, no box drawing, and no control
/// character of an id gets through.
#[must_use]
pub fn text(report: &RunReport) -> String {
    text::text(report)
}

/// The style sheet of the moving picture that [`linewake_replay::script`] draws, with its colours.
#[must_use]
pub fn replay_sheet() -> String {
    style::replay_sheet()
}

/// The page of a wake: one self-contained HTML page with a script of its own and the data that it draws; no outside
/// address. Without script it shows a still picture and the tables.
#[must_use]
pub fn wake_html(report: &WakeReport) -> String {
    wake::page(report)
}

/// The figures of a wake as files: file name and SVG text.
#[must_use]
pub fn wake_charts(report: &WakeReport) -> Vec<(String, String)> {
    wake::charts(report)
}

/// The tables of a wake as files: file name and CSV text, in the form of [`tables`].
#[must_use]
pub fn wake_tables(report: &WakeReport) -> Vec<(String, String)> {
    wake::csv(report)
}

/// What a wake is, in a few lines and aligned tables of plain text for a terminal.
#[must_use]
pub fn wake_text(report: &WakeReport) -> String {
    wake::text(report)
}

/// The page of a study: one self-contained HTML page, no script, no outside address.
#[must_use]
pub fn study_html(report: &StudyReport) -> String {
    study::page(report)
}

/// The figures of a study as files: file name and SVG text. The numbers behind each are in [`study_tables`].
#[must_use]
pub fn study_charts(report: &StudyReport) -> Vec<(String, String)> {
    study::charts(report)
}

/// The tables of a study as files: file name and CSV text, in the form of [`tables`].
#[must_use]
pub fn study_tables(report: &StudyReport) -> Vec<(String, String)> {
    study::tables(report)
}

/// What a study found, in a few lines and aligned tables of plain text for a terminal.
#[must_use]
pub fn study_text(report: &StudyReport) -> String {
    study::text(report)
}

/// The page of `linewake weights`: one self-contained HTML page, no script, no outside address.
#[must_use]
pub fn weights_html(report: &WeightsReport) -> String {
    study::weights::page(report)
}

/// The figures of that page as files: file name and SVG text. The numbers behind each are in [`weights_tables`].
#[must_use]
pub fn weights_charts(report: &WeightsReport) -> Vec<(String, String)> {
    study::weights::charts(report)
}

/// Its tables as files: file name and CSV text, in the form of [`tables`].
#[must_use]
pub fn weights_tables(report: &WeightsReport) -> Vec<(String, String)> {
    study::weights::tables(report)
}

/// The answer in a few lines and aligned tables of plain text for a terminal.
#[must_use]
pub fn weights_text(report: &WeightsReport) -> String {
    study::weights::text(report)
}

/// The page of a fit: one self-contained HTML page, no script, no outside address.
#[must_use]
pub fn fit_html(report: &FitReport) -> String {
    fitting::page(report)
}

/// The figures of a fit as files: file name and SVG text, one for each sample, and those of the portion weights.
#[must_use]
pub fn fit_charts(report: &FitReport) -> Vec<(String, String)> {
    fitting::charts(report)
}

/// The tables of a fit as files: `stops.csv`, `laws.csv` and `warnings.csv`, in the form of [`tables`].
#[must_use]
pub fn fit_tables(report: &FitReport) -> Vec<(String, String)> {
    fitting::tables(report)
}

/// What was fitted, in a few lines and aligned tables of plain text for a terminal.
#[must_use]
pub fn fit_text(report: &FitReport) -> String {
    fitting::text(report)
}
