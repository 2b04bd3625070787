//! The log that a model is held against.

use crate::args::MinorStops;
use crate::args::versus::Versus;
use crate::command::report::shifts::{LogsAsked, read};
use crate::console::Console;
use crate::failure::Failure;
use crate::log_files;
use linewake_model::line::Line;
use linewake_model::time::Span;
use linewake_study::plan::{Conditions, StudyError};
use linewake_study::versus::{VersusOptions, VersusStudy};

/// Reads the log and sets the model against it.
pub(super) fn prepare(
    options: &Versus,
    line: &Line,
    conditions: &Conditions,
    console: &mut Console<'_>,
) -> Result<Result<VersusStudy, StudyError>, Failure> {
    let files = log_files::log_files(&options.logs)?;
    if let Some(target) = &options.common.out {
        log_files::outside_of(&files, target)?;
    }
    let asked = LogsAsked {
        mapping: options.mapping.as_deref(),
        counts: &options.counts,
        minor_stops: MinorStops::Performance,
        planned_stops: options.common.planned_stops,
        threads: options.common.threads,
        over_time: false,
    };
    let read = read(&asked, &files, Some(line), console)?;
    console.go_on()?;
    let options = VersusOptions {
        predicting_runs: options.shifts,
        explaining_runs: options.explaining,
        warm_up: Span::from_seconds(options.warm_up),
    };
    Ok(VersusStudy::prepare(line, &read.shifts, options, conditions))
}
