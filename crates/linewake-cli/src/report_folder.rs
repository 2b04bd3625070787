//! What `run` and `report` have in common: the folder of a report, and what is told of a model in it.

use crate::args;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::pictures::pictures;
use linewake_kpi::convention::{Conventions, MinorStops, PlannedStops};
use linewake_model::line::Line;
use linewake_report::input::{ModelIdentity, RunReport};
use linewake_study::replicate::Workers;

/// Writes page, figures, tables, results and, where there is one, a copy of the model.
pub(crate) fn write(
    report: &RunReport,
    results: &str,
    model: Option<&ModelFile>,
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
    match model {
        Some(file) => folder.write("model.json", file.text.as_bytes()),
        None => Ok(()),
    }
}

/// Which model.
pub(crate) fn identity(line: &Line, file: &ModelFile) -> ModelIdentity {
    ModelIdentity::of(line, &file.name)
}

/// The conventions that are asked for.
pub(crate) fn conventions(minor_stops: args::MinorStops, planned_stops: args::PlannedStops) -> Conventions {
    Conventions {
        minor_stops: match minor_stops {
            args::MinorStops::Performance => MinorStops::Performance,
            args::MinorStops::Availability => MinorStops::Availability,
        },
        planned_stops: match planned_stops {
            args::PlannedStops::AsModelled => PlannedStops::AsModelled,
            args::PlannedStops::In => PlannedStops::In,
            args::PlannedStops::Out => PlannedStops::Out,
        },
    }
}

/// The options that ask for them; the default choices are left away.
pub(crate) fn conventions_as_typed(
    minor_stops: args::MinorStops,
    planned_stops: args::PlannedStops,
) -> String {
    let minor = match minor_stops {
        args::MinorStops::Performance => "",
        args::MinorStops::Availability => " --minor-stops availability",
    };
    let planned = match planned_stops {
        args::PlannedStops::AsModelled => "",
        args::PlannedStops::In => " --planned-stops in",
        args::PlannedStops::Out => " --planned-stops out",
    };
    format!("{minor}{planned}")
}

/// A name without anything that a file system could take amiss.
pub(crate) fn plain_name(name: &str) -> String {
    let words: Vec<String> = name
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    if words.is_empty() { "line".to_owned() } else { words.join("-") }
}

/// A word of a command, in quotes where it needs them.
pub(crate) fn quoted(text: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "-_./\\:".contains(letter);
    if text.chars().all(plain) { text.to_owned() } else { format!("\"{}\"", text.replace('"', "\\\"")) }
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
