//! `linewake weights`: which target weight, for which regime, and what the weight feedback does.
//!
//! Options and the model's figures become a question ([`asked`]), its answer becomes the folder.

mod asked;
mod regime_file;
mod results;

use crate::args::weights::Weights;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::pictures::pictures;
use crate::report_folder;
use asked::LineFigures;
use linewake_report::input::WeightsReport;
use linewake_report::problems;
use linewake_study::replicate::Workers;
use linewake_weights::feedback::FeedbackError;
use linewake_weights::planning::PlanningError;
use linewake_weights::target::TargetError;
use std::path::{Path, PathBuf};

pub(crate) fn weights(options: &Weights, console: &mut Console<'_>) -> Result<Exit, Failure> {
    if let Some(id) = &options.print_regime {
        console.print(regime_file::text_of(id)?)?;
        return Ok(Exit::Done);
    }
    let Some(path) = &options.model else {
        return Err(Failure::usage("no model is named", "give a model file"));
    };
    let file = ModelFile::read(path)?;
    if let (Err(problems), true) = (&file.model, options.json) {
        let refusal = serde_json::json!({ "schema": results::SCHEMA, "problems": problems::json(problems) });
        console.print(&format!("{refusal:#}\n"))?;
        return Err(Failure::InvalidModel);
    }
    let line = &file.checked(console)?.line;
    let regime = regime_file::regime(&options.regime)?;
    let seed = options.seed.settle();
    let figures = LineFigures::of(line, options, &regime)?;
    let question = figures.question(options, &regime, seed)?;
    let target = options.out.clone().unwrap_or_else(|| default_folder(&file));
    let mut folder = OutputFolder::begin(&target, options.force)?;
    let found = question.answer().map_err(|error| no_answer(&error))?;
    console.go_on()?;
    let report = WeightsReport {
        model: report_folder::identity(line, &file),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed,
        command: asked::as_typed(options, &file.name, seed),
        assumed: figures.assumed,
        found,
    };
    let results = results::text(&report);
    let workers = Workers::new(None, console.stop)?;
    write(&report, &results, &file, &workers, &mut folder)?;
    folder.finish()?;
    if options.json {
        console.print(&results)?;
    } else {
        console.print(&linewake_report::weights_text(&report))?;
        console.print(&format!("\nReport: {}\n", target.join("report.html").display()))?;
    }
    Ok(Exit::Done)
}

fn write(
    report: &WeightsReport,
    results: &str,
    model: &ModelFile,
    workers: &Workers<'_>,
    folder: &mut OutputFolder,
) -> Result<(), Failure> {
    folder.write("report.html", linewake_report::weights_html(report).as_bytes())?;
    let charts = linewake_report::weights_charts(report);
    for (name, picture) in pictures(&charts, workers)? {
        folder.write(&format!("charts/{name}"), &picture)?;
    }
    for (name, chart) in charts {
        folder.write(&format!("charts/{name}"), chart.as_bytes())?;
    }
    for (name, table) in linewake_report::weights_tables(report) {
        folder.write(&format!("tables/{name}"), table.as_bytes())?;
    }
    folder.write("results.json", results.as_bytes())?;
    folder.write("model.json", model.text.as_bytes())
}

/// `linewake-out/`, the name of the model file, and "weights".
fn default_folder(file: &ModelFile) -> PathBuf {
    let stem = Path::new(&file.name).file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let name = match (&file.model, stem) {
        (Ok(checked), _) if file.name == "standard input" => report_folder::plain_name(&checked.line.name),
        (_, stem) => stem.unwrap_or_else(|| "line".to_owned()),
    };
    Path::new("linewake-out").join(format!("{name}-weights"))
}

/// Why there is no answer, with what would help.
fn no_answer(error: &PlanningError) -> Failure {
    let hint = match error {
        PlanningError::Lookup(_) => {
            "see --table, --plan, --nominal, --lot and --moisture in linewake weights --help"
        }
        PlanningError::Target(TargetError::Unreachable { .. }) => {
            "ask for less (--rejected, --below-t1, --below-t2, --lot-passes), or move the reject limits of the model"
        }
        PlanningError::Target(TargetError::NoSecondLimit | TargetError::NoTest) => {
            "leave the option away, or choose a regime that has it"
        }
        PlanningError::Feedback(FeedbackError::TargetOutsideLimits { .. }) => {
            "move the reject limits or the target of the model"
        }
        _ => "",
    };
    Failure::Invalid { what: error.to_string(), hint: hint.to_owned() }
}
