//! `run --precision` and `--warm-up auto`: what the data decide before the shifts of the report are run.

use crate::args::Run;
use crate::args::value::{WarmUp, run_length};
use crate::command::study::ask;
use crate::command::study::work;
use crate::console::Console;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::progress::Progress;
use crate::report_folder;
use linewake_kpi::study::StudyResult;
use linewake_kpi::study::precision::Measure;
use linewake_kpi::summary::StartKind;
use linewake_model::line::Line;
use linewake_model::time::Span;
use linewake_report::input::StudyReport;
use linewake_study::plan::{BaseModel, Conditions};
use linewake_study::precision::{PrecisionOptions, PrecisionStudy};
use linewake_study::replicate::Workers;
use linewake_study::runner::Runner;
use linewake_study::study::Study;

/// Options in which nothing is left for the data to decide.
pub(crate) struct Settled {
    /// With the number of shifts and the warm-up.
    pub(crate) options: Run,
    /// How the number of shifts was found, if it was asked for.
    pub(crate) precision: Option<StudyReport>,
    /// The precision was reached, or none was asked for.
    pub(crate) is_reached: bool,
}

/// Settles what is left to the data.
pub(crate) fn settled(
    options: &Run,
    file: &ModelFile,
    line: &Line,
    seed: u64,
    console: &mut Console<'_>,
) -> Result<Settled, Failure> {
    let mut settled = Settled { options: options.clone(), precision: None, is_reached: true };
    if options.precision.is_none() && options.warm_up != WarmUp::Auto {
        return Ok(settled);
    }
    let base = BaseModel::parse(&file.text).map_err(ask::wrong)?;
    let mut conditions = Conditions {
        seed,
        start: StartKind::LongRun,
        length: run_length(options.hours),
        conventions: report_folder::conventions(options.minor_stops, options.planned_stops),
        ..Conditions::default()
    };
    let warm_up = match options.warm_up {
        WarmUp::Auto => Some(ask::find_warm_up(&base, &conditions, options.threads, console)?),
        WarmUp::Fixed(_) => None,
    };
    if let Some(warm_up) = &warm_up {
        settled.options.warm_up = WarmUp::Fixed(warm_up.used_s);
    }
    conditions.warm_up = Span::from_seconds(settled.options.warm_up.seconds());
    let Some(relative) = options.precision else { return Ok(settled) };

    let asked = PrecisionOptions {
        measure: Measure::Oee,
        relative,
        most: options.most_shifts,
        warm_up: warm_up.clone(),
        ..PrecisionOptions::default()
    };
    let study = PrecisionStudy::prepare(base, asked, &conditions).map_err(ask::wrong)?;
    let workers = Workers::new(options.threads, console.stop)?;
    let found = {
        let progress = Progress::begin("shifts until the figure is sure enough", None, console);
        let done = || progress.step();
        study.conclude(&mut Runner::new(study.plan(), &workers, &done)).map_err(ask::not_run)?
    };
    if !found.reached {
        let needed = found.runs_needed.map_or(String::new(), |runs| format!("; about {runs} are needed"));
        let text = format!("warning: the precision is not reached within {} shifts{needed}\n", found.runs);
        console.tell(&text);
    }
    settled.options.shifts = found.runs;
    settled.is_reached = found.reached;
    let mut result = StudyResult::from(found);
    if let Some(warm_up) = &warm_up {
        work::state_warm_up(result.head_mut(), warm_up);
    }
    settled.precision = Some(StudyReport {
        model: report_folder::identity(line, file),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed,
        command: command(options, seed),
        conditions: work::conditions(result.head()),
        result,
    });
    Ok(settled)
}

/// The command that finds the same number of shifts again.
fn command(options: &Run, seed: u64) -> String {
    let mut command = format!("linewake run {}", report_folder::quoted(&options.model.display().to_string()));
    if let Some(precision) = options.precision {
        command.push_str(&format!(" --precision {precision} --most-shifts {}", options.most_shifts));
    }
    command.push_str(&format!(" --seed {seed}"));
    if let Some(hours) = options.hours {
        command.push_str(&format!(" --hours {hours}"));
    }
    match options.warm_up {
        WarmUp::Auto => command.push_str(" --warm-up auto"),
        WarmUp::Fixed(seconds) => command.push_str(&format!(" --warm-up \"{seconds} s\"")),
    }
    command.push_str(&report_folder::conventions_as_typed(options.minor_stops, options.planned_stops));
    command
}
