//! results.json of a study: everything that it found, for programs. No clock time, no path, no number of threads.

use crate::results_json::Model;
use linewake_kpi::study::StudyResult;
use linewake_report::input::StudyReport;
use serde::Serialize;

/// Name and version of the form; within a version keys are only added.
pub(crate) const SCHEMA: &str = "linewake.study/1";

#[derive(Serialize)]
struct Results<'a> {
    schema: &'static str,
    study: &'static str,
    program_version: &'a str,
    model: Model<'a>,
    seed: u64,
    found: &'a StudyResult,
}

/// The text of results.json.
pub(crate) fn text(report: &StudyReport) -> String {
    let results = Results {
        schema: SCHEMA,
        study: report.result.head().kind.word(),
        program_version: &report.program_version,
        model: Model::of(&report.model),
        seed: report.seed,
        found: &report.result,
    };
    let mut text = serde_json::to_string_pretty(&results).unwrap_or_default();
    text.push('\n');
    text
}
