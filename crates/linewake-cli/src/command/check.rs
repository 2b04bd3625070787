//! `linewake check`: problems of a model, then what can be told of its line without a simulation.

use crate::args::Check;
use crate::console::Console;
use crate::exit::Exit;
use crate::facts_text;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use linewake_model::facts::{Facts, facts};
use linewake_model::problem::Problem;
use linewake_report::problems;
use serde::Serialize;

/// Name and version of the form of `--json`; within a version keys are only added.
const SCHEMA: &str = "linewake.check/1";

#[derive(Serialize)]
struct Answer<'a> {
    schema: &'static str,
    valid: bool,
    problems: serde_json::Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    model: Option<Model<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    facts: Option<Facts>,
}

#[derive(Serialize)]
struct Model<'a> {
    name: &'a str,
    about: &'a str,
    digest_sha256: &'a str,
}

pub(crate) fn check(options: &Check, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let file = ModelFile::read(&options.model)?;
    if options.json {
        return check_json(&file, console);
    }
    let checked = file.checked(console)?;
    let facts = facts(&checked.line);
    console.print(&facts_text::text(&file.name, &checked.line, &facts, checked.warnings.len()))?;
    Ok(Exit::Done)
}

fn check_json(file: &ModelFile, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let (answer, exit) = match &file.model {
        Ok(checked) => {
            let line = &checked.line;
            let model = Model { name: &line.name, about: &line.about, digest_sha256: &line.digest };
            (answer(&checked.warnings, Some(model), Some(facts(line))), Exit::Done)
        }
        Err(problems) => (answer(problems, None, None), Exit::Invalid),
    };
    let mut text = serde_json::to_string_pretty(&answer)
        .map_err(|error| Failure::failed(format!("cannot write the answer: {error}"), ""))?;
    text.push('\n');
    console.print(&text)?;
    Ok(exit)
}

fn answer<'a>(problems: &[Problem], model: Option<Model<'a>>, facts: Option<Facts>) -> Answer<'a> {
    Answer { schema: SCHEMA, valid: facts.is_some(), problems: problems::json(problems), model, facts }
}
