//! results.json: everything that a run found, for programs. No clock time, no path, no number of threads: the same run
//! gives the same bytes.

use linewake_kpi::convention::{MinorStops, Split};
use linewake_kpi::summary::{Mean, StartKind, Summary};
use linewake_report::input::{AnalyticFigure, LogsRead, ModelIdentity, RunReport};
use serde::Serialize;
use std::collections::BTreeMap;

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
    #[serde(skip_serializing_if = "Option::is_none")]
    without_simulation: Option<Vec<Figure<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    new_rolls: Option<Start<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    long_run: Option<Start<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    logged: Option<Start<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    logs: Option<Logs<'a>>,
}

/// Which logs it was read from.
#[derive(Serialize)]
struct Logs<'a> {
    read: Vec<Log<'a>>,
    not_told: &'a [String],
    need_packs: &'a [String],
}

/// One log. Rows that are not as they should be are in the tables; here is how many of each sort.
#[derive(Serialize)]
struct Log<'a> {
    file: &'a str,
    rows: u64,
    broken_off: Option<&'a str>,
    dirty_rows: BTreeMap<&'a str, usize>,
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

/// Which model.
#[derive(Serialize)]
pub(crate) struct Model<'a> {
    name: &'a str,
    about: &'a str,
    digest_sha256: &'a str,
}

impl<'a> Model<'a> {
    /// Of that model.
    pub(crate) fn of(model: &'a ModelIdentity) -> Self {
        Self { name: &model.name, about: &model.about, digest_sha256: &model.digest }
    }
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
        model: Model::of(&report.model),
        seed: report.seed,
        shifts: report.plan.shifts,
        shift_length_s: report.plan.hours * 3600.0,
        warm_up_s: report.plan.warm_up_s,
        without_simulation: (report.logs.is_none() || !report.figures_without_simulation.is_empty())
            .then(|| report.figures_without_simulation.iter().map(figure).collect()),
        new_rolls: start(StartKind::NewRolls),
        long_run: start(StartKind::LongRun),
        logged: start(StartKind::Logged),
        logs: report.logs.as_ref().map(logs),
    };
    let mut text = serde_json::to_string_pretty(&results).unwrap_or_default();
    text.push('\n');
    text
}

fn logs(logs: &LogsRead) -> Logs<'_> {
    let read = logs.logs.iter().map(|log| {
        let mut dirty_rows = BTreeMap::new();
        for row in &log.dirty_rows {
            *dirty_rows.entry(row.kind.as_str()).or_default() += 1;
        }
        Log { file: &log.file, rows: log.rows, broken_off: log.broken_off.as_deref(), dirty_rows }
    });
    Logs { read: read.collect(), not_told: &logs.not_told, need_packs: &logs.need_packs }
}

fn start(summary: &Summary) -> Start<'_> {
    let split = NamedSplit { minor_stops: summary.conventions.minor_stops, split: summary.split() };
    Start { summary, split }
}

fn figure(figure: &AnalyticFigure) -> Figure<'_> {
    Figure { name: &figure.name, good_packs_per_h: figure.packs_per_h, text: &figure.text }
}
