//! `linewake run`: many shifts, the summary on the screen, and the folder of results.

use crate::args::{self, LogDetail, LogFormat, Run};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::pictures::pictures;
use crate::problems;
use crate::progress::Progress;
use crate::results_json;
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::{Conventions, MinorStops, PlannedStops};
use linewake_kpi::summary::{StartKind, Summary};
use linewake_log::event::Detail;
use linewake_log::header::LineFacts;
use linewake_log::writer::{LogWriter, gzip_writer};
use linewake_model::facts::{FigureKind, OutputFigure, OutputFigures, facts};
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_report::input::{AnalyticFigure, ModelIdentity, PlanFacts, RunReport};
use linewake_study::replicate::{Workers, replicate, timeline};
use linewake_study::summarise::summarise;
use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

pub(crate) fn run(options: &Run, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let file = ModelFile::read(&options.model)?;
    if let (Err(problems), true) = (&file.model, options.json) {
        let refusal =
            serde_json::json!({ "schema": results_json::SCHEMA, "problems": problems::json(problems) });
        console.print(&format!("{refusal:#}\n"))?;
        return Err(Failure::InvalidModel);
    }
    let checked = file.checked(console)?;
    if options.logs > options.shifts {
        let what =
            format!("--logs {} asks for more logs than there are shifts ({})", options.logs, options.shifts);
        return Err(Failure::usage(what, "ask for fewer logs, or for more --shifts"));
    }
    let line = &checked.line;
    let seed = options.seed.settle();
    let target = options.out.clone().unwrap_or_else(|| default_folder(&options.model, line));
    let mut folder = OutputFolder::begin(&target, options.force)?;

    let plans = Plans::of(options, line);
    let (new_rolls, long_run) = simulate(options, line, &plans, seed, console)?;
    write_logs(options, line, &plans.new_rolls, seed, &mut folder, console)?;
    console.go_on()?;

    let report = RunReport {
        model: ModelIdentity {
            name: line.name.clone(),
            about: line.about.clone(),
            digest: line.digest.clone(),
            file: file.name.clone(),
        },
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: Some(seed),
        command: command(options, seed),
        plan: PlanFacts {
            shifts: usize::try_from(options.shifts).unwrap_or(usize::MAX),
            hours: plans.new_rolls.horizon.seconds() / 3600.0,
            warm_up_s: options.warm_up,
        },
        facts: Some(LineFacts::of(line)),
        summaries: vec![new_rolls, long_run],
        logs: None,
        figures_without_simulation: figures(&facts(line).output),
        assumptions: linewake_report::assumptions::groups(line),
    };
    let results = results_json::text(&report);
    let workers = Workers::new(options.threads, console.stop)?;
    write_folder(&report, &results, &file, &workers, &mut folder)?;
    console.go_on()?;
    folder.finish()?;

    if options.json {
        console.print(&results)?;
    } else {
        console.print(&linewake_report::text(&report))?;
        console.print(&format!("\nReport: {}\n", target.join("report.html").display()))?;
    }
    Ok(Exit::Done)
}

/// The two kinds of shift.
struct Plans {
    new_rolls: RunPlan,
    long_run: RunPlan,
}

impl Plans {
    fn of(options: &Run, line: &Line) -> Self {
        let length = options.hours.map_or(line.shift.length, |hours| Span::from_seconds(hours * 3600.0));
        let warm_up = Span::from_seconds(options.warm_up);
        Self {
            new_rolls: RunPlan { horizon: Moment::ZERO + length, ..RunPlan::shift(line) },
            long_run: RunPlan {
                horizon: Moment::ZERO + warm_up + length,
                ..RunPlan::long_run(line, warm_up)
            },
        }
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
    let summary = |plan: &RunPlan, start| -> Result<Summary, Failure> {
        let done = || progress.step();
        let shifts = replicate(line, plan, conventions(options), seed, options.shifts, &workers, &done)?;
        let summary = summarise(&LineFacts::of(line), plan.warm_up.since(Moment::ZERO), start, &shifts)
            .ok_or_else(|| Failure::failed("no shift was run", "ask for at least one with --shifts"))?;
        // The first shift over time: its log, if one is written, gives the same.
        Ok(Summary { timeline: Some(timeline(line, plan, seed, 0)), ..summary })
    };
    let new_rolls = summary(&plans.new_rolls, StartKind::NewRolls)?;
    let long_run = summary(&plans.long_run, StartKind::LongRun)?;
    Ok((new_rolls, long_run))
}

fn conventions(options: &Run) -> Conventions {
    Conventions {
        minor_stops: match options.minor_stops {
            args::MinorStops::Performance => MinorStops::Performance,
            args::MinorStops::Availability => MinorStops::Availability,
        },
        planned_stops: match options.planned_stops {
            args::PlannedStops::AsModelled => PlannedStops::AsModelled,
            args::PlannedStops::In => PlannedStops::In,
            args::PlannedStops::Out => PlannedStops::Out,
        },
    }
}

/// Runs the first shifts once more, with a log each: the same luck, so the same shifts.
fn write_logs(
    options: &Run,
    line: &Line,
    plan: &RunPlan,
    seed: u64,
    folder: &mut OutputFolder,
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    let ending = match options.log_format {
        LogFormat::CsvGz => "csv.gz",
        LogFormat::Csv => "csv",
    };
    let mut files = Vec::new();
    for shift in 1..=options.logs {
        let name = format!("logs/shift-{shift:04}.{ending}");
        files.push((folder.shown(&name), Mutex::new(Some(folder.create(&name)?))));
    }
    let workers = Workers::new(options.threads, console.stop)?;
    let progress = Progress::new("logs", options.logs, console);
    let write = |replication: u64| -> Result<(), Failure> {
        let Some((shown, file)) = usize::try_from(replication).ok().and_then(|place| files.get(place)) else {
            return Ok(());
        };
        let Some(file) = file.lock().ok().and_then(|mut file| file.take()) else { return Ok(()) };
        write_log(options, line, plan, seed, replication, file)
            .map_err(|error| Failure::of_file("write", shown, &error))
    };
    workers.each(options.logs, &|| progress.step(), write)?.into_iter().collect()
}

fn write_log(
    options: &Run,
    line: &Line,
    plan: &RunPlan,
    seed: u64,
    replication: u64,
    file: File,
) -> io::Result<()> {
    let detail = match options.log_detail {
        LogDetail::States => Detail::States,
        LogDetail::Packs => Detail::Packs,
    };
    let header = linewake_engine::header(line, plan, seed, replication);
    match options.log_format {
        LogFormat::Csv => {
            let mut log = LogWriter::new(file, &header, detail);
            linewake_engine::run(line, plan, seed, replication, &mut log);
            log.finish()?.flush()
        }
        LogFormat::CsvGz => {
            let mut log = LogWriter::new(gzip_writer(file), &header, detail);
            linewake_engine::run(line, plan, seed, replication, &mut log);
            log.finish()?.finish()?.flush()
        }
    }
}

fn write_folder(
    report: &RunReport,
    results: &str,
    file: &ModelFile,
    workers: &Workers<'_>,
    folder: &mut OutputFolder,
) -> Result<(), Failure> {
    folder.write("report.html", linewake_report::html(report).as_bytes())?;
    let charts = linewake_report::charts(report);
    for (name, picture) in pictures(&charts, workers)? {
        folder.write(&format!("charts/{name}"), &picture)?;
    }
    for (name, chart) in charts {
        folder.write(&format!("charts/{name}"), chart.as_bytes())?;
    }
    for (name, table) in linewake_report::tables(report) {
        folder.write(&format!("tables/{name}"), table.as_bytes())?;
    }
    folder.write("results.json", results.as_bytes())?;
    folder.write("model.json", file.text.as_bytes())
}

/// `linewake-out/` and the name of the model file; for a model from the standard input, the name of the line.
fn default_folder(model: &Path, line: &Line) -> PathBuf {
    let stem = model.file_stem().filter(|stem| *stem != "-").map(|stem| stem.to_string_lossy().into_owned());
    let name = stem.unwrap_or_else(|| plain_name(&line.name));
    Path::new("linewake-out").join(name)
}

/// A name without anything that a file system could take amiss.
fn plain_name(name: &str) -> String {
    let words: Vec<String> = name
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    if words.is_empty() { "line".to_owned() } else { words.join("-") }
}

/// The command that makes the same results again.
fn command(options: &Run, seed: u64) -> String {
    let mut command = format!("linewake run {}", quoted(&options.model.display().to_string()));
    command.push_str(&format!(" --shifts {} --seed {seed}", options.shifts));
    if let Some(hours) = options.hours {
        command.push_str(&format!(" --hours {hours}"));
    }
    command.push_str(&format!(" --warm-up \"{} s\"", options.warm_up));
    // The default choices are left away.
    match options.minor_stops {
        args::MinorStops::Performance => {}
        args::MinorStops::Availability => command.push_str(" --minor-stops availability"),
    }
    match options.planned_stops {
        args::PlannedStops::AsModelled => {}
        args::PlannedStops::In => command.push_str(" --planned-stops in"),
        args::PlannedStops::Out => command.push_str(" --planned-stops out"),
    }
    command
}

fn quoted(text: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "-_./\\:".contains(letter);
    if text.chars().all(plain) { text.to_owned() } else { format!("\"{}\"", text.replace('"', "\\\"")) }
}

fn figures(output: &OutputFigures) -> Vec<AnalyticFigure> {
    let figure = |name: &str, figure: &OutputFigure| AnalyticFigure {
        name: name.to_owned(),
        packs_per_h: figure.good_packs_per_h,
        text: format!("{}: {}", kind_words(figure.kind), figure.reasons.join("; ")),
    };
    vec![
        figure("no help from buffers", &output.no_help),
        figure("weakest block without a buffer", &output.weakest_block),
        figure("full help from buffers", &output.full_help),
    ]
}

/// What a figure is, in words.
pub(crate) fn kind_words(kind: FigureKind) -> &'static str {
    match kind {
        FigureKind::LowerBound => "lower bound",
        FigureKind::UpperBound => "upper bound",
        FigureKind::Estimate => "estimate",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_folders_are_plain() {
        assert_eq!(plain_name("Alder Hill: mince, 400 g"), "alder-hill-mince-400-g");
        assert_eq!(plain_name("../.."), "line");
    }

    #[test]
    fn paths_with_blanks_are_quoted() {
        assert_eq!(quoted("models/a.json"), "models/a.json");
        assert_eq!(quoted("my models/a.json"), "\"my models/a.json\"");
    }
}
