//! A model being edited: its text with values changed, everything that is wrong with it, and the form of its values.

use super::form::{self, Field};
use crate::answer::{self, Answer};
use axum::http::StatusCode;
use linewake_model::change::ModelTree;
use linewake_model::problem::Problem;
use linewake_model::time::Span;
use linewake_report::problems::{self, CANNOT_RUN, Look};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A text, and values to change in it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Edit {
    /// Name of the file, for the messages.
    name: String,
    text: String,
    #[serde(default)]
    set: Vec<Setting>,
}

/// A value of the form.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Setting {
    path: String,
    value: f64,
}

/// The text, and what can be said of it.
#[derive(Serialize)]
struct Edited {
    text: String,
    /// What is wrong or perhaps not meant so.
    problems: Faults,
    /// The line; `None` if the model has errors.
    line: Option<LineShown>,
    /// The values that can be changed; `None` if the model has errors.
    fields: Option<Vec<Field>>,
}

/// Problems of a model, as the command line tells them.
#[derive(Serialize)]
pub(super) struct Faults {
    /// Whether the model cannot be run.
    errors: usize,
    /// The text that the command line prints.
    shown: String,
    /// One by one.
    list: Value,
}

impl Faults {
    /// Of the text of a file of that name.
    pub(super) fn of(name: &str, text: &str, found: &[Problem]) -> Self {
        let is_error = |problem: &&Problem| problem.severity == linewake_model::problem::Severity::Error;
        Self {
            errors: found.iter().filter(is_error).count(),
            shown: problems::shown(name, text, found, CANNOT_RUN, Look::Plain),
            list: problems::json(found),
        }
    }
}

/// What the page says of a line.
#[derive(Serialize)]
struct LineShown {
    name: String,
    about: String,
    digest: String,
    shift_s: f64,
    stations: Vec<StationShown>,
}

#[derive(Serialize)]
struct StationShown {
    id: String,
    kind: &'static str,
    /// Whether a stop can be put in: it has states.
    has_states: bool,
}

pub(super) fn edit(body: &[u8]) -> Answer {
    let wanted: Edit = match answer::read(body) {
        Ok(wanted) => wanted,
        Err(wrong) => return *wrong,
    };
    match changed(wanted.text, &wanted.set) {
        Ok(text) => answer::json(&looked_at(&wanted.name, text)),
        Err(what) => answer::wrong(StatusCode::UNPROCESSABLE_ENTITY, &what),
    }
}

/// The text with the values set.
fn changed(text: String, settings: &[Setting]) -> Result<String, String> {
    if settings.is_empty() {
        return Ok(text);
    }
    let Ok(before) = ModelTree::parse(&text) else {
        return Err("the model has errors; put them right before values are changed".to_owned());
    };
    let mut after = before.clone();
    for setting in settings {
        form::set(&mut after, &setting.path, setting.value)?;
    }
    Ok(after.written_into(&text, &before))
}

fn looked_at(name: &str, text: String) -> Edited {
    match linewake_model::parse(&text) {
        Ok(checked) => {
            let line = &checked.line;
            let stations = line.stations.iter().map(|station| StationShown {
                id: station.id.clone(),
                kind: linewake_log::facts::kind::word(&station.kind),
                has_states: !matches!(station.kind, linewake_model::station::StationKind::Accumulator(_)),
            });
            let shown = LineShown {
                name: line.name.clone(),
                about: line.about.clone(),
                digest: line.digest.clone(),
                shift_s: Span::seconds(line.shift.length),
                stations: stations.collect(),
            };
            Edited {
                problems: Faults::of(name, &text, &checked.warnings),
                line: Some(shown),
                fields: ModelTree::parse(&text).ok().map(|tree| form::fields(&tree, line)),
                text,
            }
        }
        Err(found) => Edited { problems: Faults::of(name, &text, &found), line: None, fields: None, text },
    }
}
