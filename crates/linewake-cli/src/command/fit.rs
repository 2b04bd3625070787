//! `linewake fit`: logs of a line, to the stop modes that they show.

use crate::args::fit::{Few, Fit};
use crate::command::report::shifts::{each_stop_list, facts_of, no_shift_twice, open, opened, wrong};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::log_files::{self, LogFile};
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::pictures::pictures;
use crate::progress::Progress;
use crate::report_folder::{plain_name, quoted};
use crate::seed::Seed;
use linewake_kpi::study::fitting::FitResult;
use linewake_log::header::{LineFacts, LogHeader, ShiftStart};
use linewake_log::weigher_file;
use linewake_model::line::Line;
use linewake_model::spec::line::LineSpec;
use linewake_model::spec::station::StationSpec;
use linewake_report::input::FitReport;
use linewake_study::fitting::weights::{Weighed, fit_weights};
use linewake_study::fitting::{Asked, FitSettings, IntoModel, ShiftStops, fragment, into_model, read, told};
use linewake_study::logs::ReadError;
use linewake_study::replicate::Workers;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Name and version of the form of results.json; within a version keys are only added.
const SCHEMA: &str = "linewake.fit/1";

pub(crate) fn fit(options: &Fit, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let seed = options.seed.settle();
    let files = log_files::log_files(&options.logs)?;
    let model = options.into.as_deref().map(ModelFile::read).transpose()?;
    let model = match &model {
        Some(file) => {
            let line = &file.checked(console)?.line;
            let spec = linewake_model::spec_of(&file.text).map_err(|_| Failure::InvalidModel)?;
            Some((file, line, spec))
        }
        None => None,
    };
    let line = model.as_ref().map(|(_, line, _)| *line);
    let logs = match &options.mapping {
        Some(mapping) => stop_lists(options, mapping, &files, line, console)?,
        None => shifts_of(options, &files, line, console)?,
    };
    let settings = FitSettings {
        level: options.confidence,
        seed,
        most_draws: usize::try_from(options.draws).unwrap_or(usize::MAX),
    };
    let workers = Workers::new(options.threads, console.stop)?;
    let name = logs.head.model_name.clone();
    let asked = Asked {
        line: &name,
        facts: &logs.head.facts,
        model: model.as_ref().map(|(_, _, spec)| spec),
        settings,
        family_for_few: options.few == Few::Family,
    };
    let mut result = {
        let progress = Progress::begin("reasons", None, console);
        linewake_study::fitting::fit(&asked, logs.shifts, &workers, &|| progress.step())?
    };
    if result.stops.is_empty() {
        return Err(Failure::Invalid {
            what: "there is no stop in these logs, so there is nothing to fit".to_owned(),
            hint: "give more shifts, or look whether the log tells states of machines".to_owned(),
        });
    }
    if logs.dirty_rows > 0 {
        result.notes.push(format!(
            "{} rows of the stop list were repaired or left out; linewake report lists them",
            logs.dirty_rows
        ));
    }
    if logs.twins > 0 {
        result.notes.push(format!(
            "{} simulated shifts that start with new rolls were left out: those of the long run with the same seed have the \
             same luck, so their stops are the same draws",
            logs.twins
        ));
    }
    if let Some(path) = &options.weights {
        let spec = model.as_ref().map(|(_, _, spec)| spec);
        result.weights = Some(weights(path, spec, settings)?);
    }
    let into = match &model {
        Some((file, _, spec)) => Some(into_model(&file.text, spec, &result).map_err(|problems| {
            let first = problems.first().map_or_else(String::new, ToString::to_string);
            Failure::failed(
                format!("the fitted stops make no valid model: {first}"),
                "keep stops.json and paste by hand",
            )
        })?),
        None => None,
    };
    console.go_on()?;
    finish(options, seed, &files, result, into, &workers, console)
}

fn finish(
    options: &Fit,
    seed: u64,
    files: &[LogFile],
    result: FitResult,
    into: Option<IntoModel>,
    workers: &Workers<'_>,
    console: &mut Console<'_>,
) -> Result<Exit, Failure> {
    let target = options
        .out
        .clone()
        .unwrap_or_else(|| Path::new("linewake-out").join(format!("{}-fit", plain_name(&result.line))));
    log_files::outside_of(files, &target)?;
    let stops = fragment(&result);
    let report = FitReport {
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        command: command(options, seed),
        files: files.iter().map(|file| file.name.clone()).collect(),
        into: options.into.as_ref().map(|path| path.display().to_string()),
        into_placed: into.as_ref().map_or_else(Vec::new, |into| into.placed.clone()),
        into_notes: into.as_ref().map_or_else(Vec::new, |into| into.notes.clone()),
        result,
    };
    let results = results(&report);
    let mut folder = OutputFolder::begin(&target, options.force)?;
    folder.write("report.html", linewake_report::fit_html(&report).as_bytes())?;
    let charts = linewake_report::fit_charts(&report);
    for (name, picture) in pictures(&charts, workers)? {
        folder.write(&format!("charts/{name}"), &picture)?;
    }
    for (name, chart) in charts {
        folder.write(&format!("charts/{name}"), chart.as_bytes())?;
    }
    for (name, table) in linewake_report::fit_tables(&report) {
        folder.write(&format!("tables/{name}"), table.as_bytes())?;
    }
    folder.write("results.json", results.as_bytes())?;
    folder.write("stops.json", stops.as_bytes())?;
    if let Some(into) = &into {
        folder.write("fitted-model.json", into.text.as_bytes())?;
    }
    console.go_on()?;
    folder.finish()?;
    if options.json {
        console.print(&results)?;
    } else {
        console.print(&linewake_report::fit_text(&report))?;
        console.print(&format!("\nReport: {}\n", target.join("report.html").display()))?;
        console
            .print(&format!("Stops as a model file has them: {}\n", target.join("stops.json").display()))?;
        if into.is_some() {
            console.print(&format!("Fitted model: {}\n", target.join("fitted-model.json").display()))?;
        }
    }
    Ok(Exit::Done)
}

/// The shifts of one line.
struct Logs {
    head: LogHeader,
    shifts: Vec<ShiftStops>,
    /// Rows of stop lists that were repaired or left out.
    dirty_rows: usize,
    /// Simulated shifts that were left out, since others have the same luck.
    twins: usize,
}

fn shifts_of(
    options: &Fit,
    files: &[LogFile],
    line: Option<&Line>,
    console: &mut Console<'_>,
) -> Result<Logs, Failure> {
    let mut heads = Vec::new();
    for file in files {
        heads.push(open(file)?.header().clone());
    }
    let named: Vec<(String, &LogHeader)> =
        files.iter().map(|file| file.path.display().to_string()).zip(&heads).collect();
    facts_of(&named, line.map(LineFacts::of).as_ref())?;
    no_shift_twice(&named)?;
    let all = files.len();
    let files: Vec<&LogFile> = files
        .iter()
        .zip(&heads)
        .filter(|(_, head)| !has_a_twin(head, &heads))
        .map(|(file, _)| file)
        .collect();
    let twins = all - files.len();
    let (workers, stop) = (Workers::new(options.threads, console.stop)?, console.stop);
    let progress = Progress::new("logs", files.len() as u64, console);
    let one = |number: u64| -> Option<Result<ShiftStops, Failure>> {
        let file = files.get(usize::try_from(number).ok()?)?;
        Some(open(file).and_then(|log| {
            read(log, stop).map_err(|error| match error {
                ReadError::Log(error) => wrong(file, &error),
                ReadError::Interrupted => Failure::Interrupted,
            })
        }))
    };
    let shifts = workers.each(files.len() as u64, &|| progress.step(), one)?;
    let shifts = shifts.into_iter().flatten().collect::<Result<Vec<ShiftStops>, Failure>>()?;
    Ok(Logs { head: heads.into_iter().next().unwrap_or_default(), shifts, dirty_rows: 0, twins })
}

/// A simulated shift that starts with new rolls has the luck of the one of the long run with the same seed and number: their
/// stops are the same draws, and taken together they would count twice.
fn has_a_twin(head: &LogHeader, all: &[LogHeader]) -> bool {
    let shift = |head: &LogHeader| (head.seed, head.replication, head.model_digest.clone());
    head.seed.is_some()
        && head.start != Some(ShiftStart::LongRun)
        && all.iter().any(|other| other.start == Some(ShiftStart::LongRun) && shift(other) == shift(head))
}

fn stop_lists(
    options: &Fit,
    mapping: &Path,
    files: &[LogFile],
    line: Option<&Line>,
    console: &mut Console<'_>,
) -> Result<Logs, Failure> {
    let (mut shifts, mut heads, mut dirty_rows) = (Vec::new(), Vec::new(), 0);
    let model = line.map(LineFacts::of);
    each_stop_list(mapping, &options.counts, files, model.as_ref(), console, |file, list| {
        dirty_rows += list.dirty_rows.len();
        for shift in list.shifts {
            shifts.push(told(&shift.events, &shift.header.facts, &shift.name));
            heads.push((format!("{} of {}", shift.name, file.path.display()), shift.header));
        }
    })?;
    let named: Vec<(String, &LogHeader)> = heads.iter().map(|(name, head)| (name.clone(), head)).collect();
    facts_of(&named, None)?;
    let head = heads.into_iter().next().map(|(_, head)| head).unwrap_or_default();
    Ok(Logs { head, shifts, dirty_rows, twins: 0 })
}

fn weights(
    path: &Path,
    model: Option<&LineSpec>,
    settings: FitSettings,
) -> Result<linewake_kpi::study::fitting::WeightsFit, Failure> {
    let invalid = |what: String| Failure::Invalid {
        what: format!("{}: {what}", path.display()),
        hint: "a weigher's file is CSV with a column weight_g: docs/guides/fitting.md".to_owned(),
    };
    let file = weigher_file::read(opened(path)?).map_err(|error| match error {
        weigher_file::WeigherFileError::Read(error) => Failure::of_file("read", path, &error),
        other => invalid(other.to_string()),
    })?;
    let mut steps: Vec<f64> = file.times_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_by(f64::total_cmp);
    let weighers: Vec<f64> = model
        .iter()
        .flat_map(|model| &model.stations)
        .filter_map(|station| match station {
            StationSpec::Checkweigher(spec) => Some(spec.sd_weigh.value()),
            _ => None,
        })
        .collect();
    let weighed = Weighed {
        weights_g: file.weights_g,
        batches: file.batches,
        pack_s: steps.get(steps.len() / 2).copied().filter(|step| *step > 0.0),
        weigher_sd_g: if let [sd] = weighers.as_slice() { *sd } else { 0.0 },
    };
    fit_weights(&weighed, settings).map_err(invalid)
}

#[derive(Serialize)]
struct Results<'a> {
    schema: &'static str,
    logs: &'a [String],
    found: &'a FitResult,
}

fn results(report: &FitReport) -> String {
    let results = Results { schema: SCHEMA, logs: &report.files, found: &report.result };
    let mut text = serde_json::to_string_pretty(&results).unwrap_or_default();
    text.push('\n');
    text
}

/// The command that makes the same result again.
fn command(options: &Fit, seed: u64) -> String {
    let path = |path: &PathBuf| quoted(&path.display().to_string());
    let mut command = "linewake fit".to_owned();
    for log in &options.logs {
        command.push_str(&format!(" {}", path(log)));
    }
    for (option, file) in
        [("--into", &options.into), ("--mapping", &options.mapping), ("--weights", &options.weights)]
    {
        if let Some(file) = file {
            command.push_str(&format!(" {option} {}", path(file)));
        }
    }
    for counts in &options.counts {
        command.push_str(&format!(" --counts {}", path(counts)));
    }
    if options.few == Few::Family {
        command.push_str(" --few family");
    }
    if (options.confidence - 0.95).abs() > 1e-12 {
        command.push_str(&format!(" --confidence {}", options.confidence));
    }
    if options.draws != 199 {
        command.push_str(&format!(" --draws {}", options.draws));
    }
    if options.seed != Seed::Fixed(1) {
        command.push_str(&format!(" --seed {seed}"));
    }
    command
}
