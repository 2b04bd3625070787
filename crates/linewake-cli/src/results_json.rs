//! results.json: everything that a run found, for programs. No clock time, no path, no number of threads: the same run
//! gives the same bytes.

use linewake_kpi::convention::{MinorStops, Split};
use linewake_kpi::summary::{Mean, StartKind, Summary};
use linewake_report::input::{AnalyticFigure, RunReport};
use serde::Serialize;

/// Name and version of the form; within a version keys are only added.
pub(crate) const SCHEMA: &str = "linewake.run/1";

#[derive(Serialize)]
struct Results<'a> {
    schema: &'static str,
    program_version: &'a str,
    model: Model<'a>,
    #[serde(skip_serializing_if = "Option::is_none")]
    seed: Option<u64>,
    shifts: usize,
    shift_length_s: f64,
    warm_up_s: f64,
    without_simulation: Vec<Figure<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    new_rolls: Option<Start<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    long_run: Option<Start<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    logged: Option<Start<'a>>,
}

/// The summary of one kind of start. Its keys mean the same whatever the conventions; `split` is what they choose.
#[derive(Serialize)]
struct Start<'a> {
    #[serde(flatten)]
    summary: &'a Summary,
    split: NamedSplit,
}

/// Availability and performance, with the name of the convention that they follow.
#[derive(Serialize)]
struct NamedSplit {
    minor_stops: MinorStops,
    #[serde(flatten)]
    split: Split<Mean>,
}

#[derive(Serialize)]
struct Model<'a> {
    name: &'a str,
    about: &'a str,
    digest_sha256: &'a str,
}

#[derive(Serialize)]
struct Figure<'a> {
    name: &'a str,
    good_packs_per_h: f64,
    text: &'a str,
}

/// The text of results.json.
pub(crate) fn text(report: &RunReport) -> String {
    let start = |kind| report.summaries.iter().find(|summary| summary.start == kind).map(start);
    let results = Results {
        schema: SCHEMA,
        program_version: &report.program_version,
        model: Model {
            name: &report.model.name,
            about: &report.model.about,
            digest_sha256: &report.model.digest,
        },
        seed: report.seed,
        shifts: report.plan.shifts,
        shift_length_s: report.plan.hours * 3600.0,
        warm_up_s: report.plan.warm_up_s,
        without_simulation: report.figures_without_simulation.iter().map(figure).collect(),
        new_rolls: start(StartKind::NewRolls),
        long_run: start(StartKind::LongRun),
        logged: start(StartKind::Logged),
    };
    let mut text = serde_json::to_string_pretty(&results).unwrap_or_default();
    text.push('\n');
    text
}

fn start(summary: &Summary) -> Start<'_> {
    let split = NamedSplit { minor_stops: summary.conventions.minor_stops, split: summary.split() };
    Start { summary, split }
}

fn figure(figure: &AnalyticFigure) -> Figure<'_> {
    Figure { name: &figure.name, good_packs_per_h: figure.packs_per_h, text: &figure.text }
}
