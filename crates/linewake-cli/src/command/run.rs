//! `linewake run`: many shifts, the summary on the screen, and the folder of results.

mod as_logged;
mod logs;
mod precision;

use crate::args::value::run_length;
use crate::args::{LogCount, Run, WaitingFrom};
use crate::command::study::{results as study_results, work};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::progress::Progress;
use crate::report_folder;
use crate::results_json;
use linewake_engine::plan::RunPlan;
use linewake_kpi::summary::{StartKind, Summary};
use linewake_log::header::LineFacts;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_report::input::{PlanFacts, RunReport, StudyReport};
use linewake_report::problems;
use linewake_study::plan::Conditions;
use linewake_study::replicate::{Workers, replicate, timeline};
use linewake_study::summarise::summarise;
use std::path::{Path, PathBuf};

pub(crate) fn run(options: &Run, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let mut file = ModelFile::read(&options.model)?;
    if let Some(stops) = &options.stops {
        file = file.with_stops(stops, console)?;
    }
    if let (Err(problems), true) = (&file.model, options.json) {
        let refusal =
            serde_json::json!({ "schema": results_json::SCHEMA, "problems": problems::json(problems) });
        console.print(&format!("{refusal:#}\n"))?;
        return Err(Failure::InvalidModel);
    }
    let checked = file.checked(console)?;
    if options.precision.is_none() && options.stops_from.is_empty() {
        enough_shifts_for_logs(options)?;
    }
    let line = &checked.line;
    let seed = options.seed.settle();
    let target = options.out.clone().unwrap_or_else(|| default_folder(&options.model, line));
    let mut folder = OutputFolder::begin(&target, options.force)?;

    if !options.stops_from.is_empty() {
        let report = as_logged::run(options, &file, line, seed, &target, &mut folder, console)?;
        return finish(options, &file, report, None, &target, folder, console).map(|()| Exit::Done);
    }
    let settled = precision::settled(options, &file, line, seed, console)?;
    let options = &settled.options;
    enough_shifts_for_logs(options)?;
    let plans = Plans::of(options, line);
    let (new_rolls, long_run) = simulate(options, line, &plans, seed, console)?;
    logs::write(options, line, &plans, seed, &mut folder, console)?;
    console.go_on()?;

    let report = RunReport {
        model: report_folder::identity(line, &file),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: Some(seed),
        command: command(options, seed),
        plan: PlanFacts {
            shifts: usize::try_from(options.shifts).unwrap_or(usize::MAX),
            hours: plans.new_rolls.horizon.seconds() / 3600.0,
            warm_up_s: options.warm_up.seconds(),
        },
        facts: Some(LineFacts::of(line)),
        summaries: vec![new_rolls, long_run],
        logs: None,
        figures_without_simulation: linewake_report::analytic::figures_without_simulation(line),
        assumptions: linewake_report::assumptions::groups(line),
    };
    let is_reached = settled.is_reached;
    finish(options, &file, report, settled.precision.as_ref(), &target, folder, console)?;
    Ok(if is_reached { Exit::Done } else { Exit::TargetMissed })
}

/// Writes the folder and prints what it holds.
fn finish(
    options: &Run,
    file: &ModelFile,
    report: RunReport,
    precision: Option<&StudyReport>,
    target: &Path,
    mut folder: OutputFolder,
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    let results = results_json::text(&report);
    let workers = Workers::new(options.threads, console.stop)?;
    report_folder::write(&report, &results, Some(file), &workers, &mut folder)?;
    if let Some(page) = precision {
        work::write(page, &study_results::text(page), &[], "precision/", &workers, &mut folder)?;
    }
    console.go_on()?;
    folder.finish()?;

    if options.json {
        return console.print(&results);
    }
    if let Some(page) = precision {
        console.print(&format!("{}\n", linewake_report::study_text(page)))?;
    }
    console.print(&linewake_report::text(&report))?;
    console.print(&format!("\nReport: {}\n", target.join("report.html").display()))
}

fn enough_shifts_for_logs(options: &Run) -> Result<(), Failure> {
    match options.logs {
        LogCount::First(logs) if logs > options.shifts => {
            let what = format!("--logs {logs} asks for more logs than there are shifts ({})", options.shifts);
            Err(Failure::usage(what, "ask for fewer logs, or for more --shifts"))
        }
        _ => Ok(()),
    }
}

/// The two kinds of shift.
struct Plans {
    new_rolls: RunPlan,
    long_run: RunPlan,
}

impl Plans {
    fn of(options: &Run, line: &Line) -> Self {
        let long_run = Conditions {
            start: StartKind::LongRun,
            warm_up: Span::from_seconds(options.warm_up.seconds()),
            length: run_length(options.hours),
            ..Conditions::default()
        };
        let new_rolls = Conditions { start: StartKind::NewRolls, ..long_run.clone() };
        Self { new_rolls: new_rolls.run_plan(line), long_run: long_run.run_plan(line) }
    }
}

fn simulate(
    options: &Run,
    line: &Line,
    plans: &Plans,
    seed: u64,
    console: &mut Console<'_>,
) -> Result<(Summary, Summary), Failure> {
    let workers = Workers::new(options.threads, console.stop)?;
    let progress = Progress::new("shifts", 2 * options.shifts, console);
    let conventions = report_folder::conventions(options.minor_stops, options.planned_stops);
    let summary = |plan: &RunPlan, start| -> Result<Summary, Failure> {
        let done = || progress.step();
        let shifts = replicate(line, plan, conventions, seed, options.shifts, &workers, &done)?;
        let summary = summarise(&LineFacts::of(line), plan.warm_up.since(Moment::ZERO), start, &shifts)
            .ok_or_else(|| Failure::failed("no shift was run", "ask for at least one with --shifts"))?;
        // The first shift over time: its log, if one is written, gives the same.
        Ok(Summary { timeline: Some(timeline(line, plan, seed, 0)), ..summary })
    };
    let new_rolls = summary(&plans.new_rolls, StartKind::NewRolls)?;
    let long_run = summary(&plans.long_run, StartKind::LongRun)?;
    Ok((new_rolls, long_run))
}

/// `linewake-out/` and the name of the model file; for a model from the standard input, the name of the line.
fn default_folder(model: &Path, line: &Line) -> PathBuf {
    let stem = model.file_stem().filter(|stem| *stem != "-").map(|stem| stem.to_string_lossy().into_owned());
    let name = stem.unwrap_or_else(|| report_folder::plain_name(&line.name));
    Path::new("linewake-out").join(name)
}

/// The command that makes the same results again.
fn command(options: &Run, seed: u64) -> String {
    let mut command = format!("linewake run {}", report_folder::quoted(&options.model.display().to_string()));
    if options.stops_from.is_empty() {
        command.push_str(&format!(" --shifts {}", options.shifts));
    }
    command.push_str(&format!(" --seed {seed}"));
    if let Some(stops) = &options.stops {
        command.push_str(&format!(" --stops {}", report_folder::quoted(&stops.display().to_string())));
    }
    for log in &options.stops_from {
        command.push_str(&format!(" --stops-from {}", report_folder::quoted(&log.display().to_string())));
    }
    if let Some(mapping) = &options.mapping {
        command.push_str(&format!(" --mapping {}", report_folder::quoted(&mapping.display().to_string())));
    }
    for counts in &options.counts {
        command.push_str(&format!(" --counts {}", report_folder::quoted(&counts.display().to_string())));
    }
    if options.waiting_from == WaitingFrom::Crew {
        command.push_str(" --waiting-from crew");
    }
    if let Some(hours) = options.hours {
        command.push_str(&format!(" --hours {hours}"));
    }
    command.push_str(&format!(" --warm-up \"{} s\"", options.warm_up.seconds()));
    command.push_str(&report_folder::conventions_as_typed(options.minor_stops, options.planned_stops));
    command
}
