//! `linewake wake`: the same shift with and without a stop that is put in.

use crate::args::{OnOff, Wake};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::pictures::pictures;
use crate::progress::Progress;
use crate::report_folder;
use crate::results_json;
use linewake_engine::plan::InjectedStop;
use linewake_model::line::Line;
use linewake_report::WakeReport;
use linewake_report::problems;
use linewake_study::replicate::Workers;
use linewake_study::wake::{self, WakeQuestion, parse_stop};
use std::path::{Path, PathBuf};

pub(crate) fn wake(options: &Wake, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let file = ModelFile::read(&options.model)?;
    if let (Err(problems), true) = (&file.model, options.json) {
        let refusal =
            serde_json::json!({ "schema": results_json::SCHEMA, "problems": problems::json(problems) });
        console.print(&format!("{refusal:#}\n"))?;
        return Err(Failure::InvalidModel);
    }
    let line = &file.checked(console)?.line;
    let question = WakeQuestion {
        stops: stops(options, line)?,
        random_luck: options.random_luck == OnOff::On,
        seed: options.seed.settle(),
        replication: options.shift - 1,
    };
    let target = options.out.clone().unwrap_or_else(|| default_folder(&options.model, line));
    let mut folder = OutputFolder::begin(&target, options.force)?;
    let workers = Workers::new(options.threads, console.stop)?;

    let mut result = wake::wake(line, &question);
    console.go_on()?;
    if let Some(runs) = options.runs {
        let progress = Progress::new("shifts", runs, console);
        result.over_runs = Some(wake::over_runs(line, &question, runs, &workers, &|| progress.step())?);
    }
    let replay = wake::replayed(line, &question, &result);
    let report = WakeReport {
        model: report_folder::identity(line, &file),
        command: command(options, question.seed),
        result,
        replay,
    };
    let results = results(&report);
    write(&report, &results, &file, &workers, &mut folder)?;
    console.go_on()?;
    folder.finish()?;

    if options.json {
        console.print(&results)?;
    } else {
        console.print(&linewake_report::wake_text(&report))?;
        console.print(&format!("\nPage: {}\n", target.join("wake.html").display()))?;
    }
    Ok(Exit::Done)
}

fn stops(options: &Wake, line: &Line) -> Result<Vec<InjectedStop>, Failure> {
    let read = options.stops.iter().map(|typed| {
        parse_stop(line, typed)
            .map_err(|error| Failure::usage(format!("--stop {}: {}", error.typed, error.what), error.hint))
    });
    read.collect()
}

fn write(
    report: &WakeReport,
    results: &str,
    model: &ModelFile,
    workers: &Workers<'_>,
    folder: &mut OutputFolder,
) -> Result<(), Failure> {
    folder.write("wake.html", linewake_report::wake_html(report).as_bytes())?;
    let charts = linewake_report::wake_charts(report);
    for (name, picture) in pictures(&charts, workers)? {
        folder.write(&format!("charts/{name}"), &picture)?;
    }
    for (name, chart) in charts {
        folder.write(&format!("charts/{name}"), chart.as_bytes())?;
    }
    for (name, table) in linewake_report::wake_tables(report) {
        folder.write(&format!("tables/{name}"), table.as_bytes())?;
    }
    folder.write("results.json", results.as_bytes())?;
    folder.write("model.json", model.text.as_bytes())
}

/// What was found, as JSON; the waits one by one, without the data of the moving picture.
fn results(report: &WakeReport) -> String {
    let value = serde_json::json!({
        "schema": results_json::SCHEMA,
        "command": report.command,
        "wake": report.result,
    });
    format!("{value:#}\n")
}

/// `linewake-out/` and the name of the model file with "-wake"; for a model from the standard input, the name of the line.
fn default_folder(model: &Path, line: &Line) -> PathBuf {
    let stem = model.file_stem().filter(|stem| *stem != "-").map(|stem| stem.to_string_lossy().into_owned());
    let name = stem.unwrap_or_else(|| report_folder::plain_name(&line.name));
    Path::new("linewake-out").join(format!("{name}-wake"))
}

/// The command that makes the same results again.
fn command(options: &Wake, seed: u64) -> String {
    let mut command =
        format!("linewake wake {}", report_folder::quoted(&options.model.display().to_string()));
    for stop in &options.stops {
        command.push_str(&format!(" --stop {}", report_folder::quoted(stop)));
    }
    if options.random_luck == OnOff::Off {
        command.push_str(" --random-luck off");
    }
    command.push_str(&format!(" --seed {seed}"));
    if options.shift != 1 {
        command.push_str(&format!(" --shift {}", options.shift));
    }
    if let Some(runs) = options.runs {
        command.push_str(&format!(" --runs {runs}"));
    }
    command
}
