//! results.json of `linewake weights`: everything that it found, for programs. No clock time, no path.

use crate::results_json::Model;
use linewake_report::input::WeightsReport;
use linewake_weights::basis::CAUTION;
use linewake_weights::planning::Found;
use serde::Serialize;

/// Name and version of the form; within a version keys are only added.
pub(crate) const SCHEMA: &str = "linewake.weights/1";

#[derive(Serialize)]
struct Results<'a> {
    schema: &'static str,
    program_version: &'a str,
    model: Model<'a>,
    seed: u64,
    caution: &'static str,
    rests_on_values_from_memory: bool,
    assumed: &'a [String],
    found: &'a Found,
}

/// The text of results.json.
pub(crate) fn text(report: &WeightsReport) -> String {
    let results = Results {
        schema: SCHEMA,
        program_version: &report.program_version,
        model: Model::of(&report.model),
        seed: report.seed,
        caution: CAUTION,
        rests_on_values_from_memory: !report.found.from_memory().is_empty(),
        assumed: &report.assumed,
        found: &report.found,
    };
    let mut text = serde_json::to_string_pretty(&results).unwrap_or_default();
    text.push('\n');
    text
}
