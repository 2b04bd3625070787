//! Reading a model file, and telling what is wrong with it.

use crate::console::Console;
use crate::failure::Failure;
use linewake_model::Checked;
use linewake_model::problem::Problem;
use linewake_model::stops_file::{StopsFileError, WithStops, with_stops};
use linewake_report::problems::{self, CANNOT_RUN, Look, NOT_PUT_IN};
use std::io::{self, Read};
use std::path::Path;

/// Largest model file that is read. A line of 200 stations is far below a megabyte.
const LARGEST_BYTES: u64 = 16 << 20;

/// A model file.
pub(crate) struct ModelFile {
    /// How the user named it.
    pub(crate) name: String,
    /// Its text.
    pub(crate) text: String,
    /// The model, or everything that is wrong with it.
    pub(crate) model: Result<Checked, Vec<Problem>>,
}

impl ModelFile {
    /// Reads the file ("-": the standard input) and checks the model.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let (name, text) = text_of(path, Kind::Model)?;
        let model = linewake_model::parse(&text);
        Ok(Self { name, text, model })
    }

    /// The model with the stops of that file in place. What is wrong with the file, or with the model that comes of it, is
    /// shown on `err`, and what was put where is told there.
    pub(crate) fn with_stops(self, path: &Path, console: &mut Console<'_>) -> Result<Self, Failure> {
        if self.model.is_err() {
            return Ok(self);
        }
        let (name, stops) = text_of(path, Kind::Stops)?;
        let both = format!("{} with the stops of {name}", self.name);
        match with_stops(&self.text, &stops) {
            Ok(with) => {
                console.tell(&format!("{both}: {}\n", what_was_put(&with)));
                Ok(Self { name: both, model: linewake_model::parse(&with.text), text: with.text })
            }
            Err(StopsFileError::File(problem)) => {
                console.tell(&problems::shown(&name, &stops, &[*problem], NOT_PUT_IN, Look::Coloured));
                Err(Failure::InvalidModel)
            }
            Err(StopsFileError::Model(problems)) => Ok(Self { model: Err(problems), ..self }),
        }
    }

    /// A copy of a model file that the user named so.
    pub(crate) fn copy(path: &Path, name: &str) -> Result<Self, Failure> {
        Ok(Self { name: name.to_owned(), ..Self::read(path)? })
    }

    /// The checked model; its warnings, or everything that is wrong, are shown on `err`.
    pub(crate) fn checked(&self, console: &mut Console<'_>) -> Result<&Checked, Failure> {
        match &self.model {
            Ok(checked) => {
                console.tell(&problems::shown(
                    &self.name,
                    &self.text,
                    &checked.warnings,
                    CANNOT_RUN,
                    Look::Coloured,
                ));
                Ok(checked)
            }
            Err(problems) => {
                console.tell(&problems::shown(&self.name, &self.text, problems, CANNOT_RUN, Look::Coloured));
                Err(Failure::InvalidModel)
            }
        }
    }
}

/// What a file is read for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Model,
    Stops,
}

/// Name and text of a file of the user's ("-": the standard input).
fn text_of(path: &Path, kind: Kind) -> Result<(String, String), Failure> {
    let from_stdin = path.as_os_str() == "-";
    let name = if from_stdin { "standard input".to_owned() } else { path.display().to_string() };
    let bytes =
        if from_stdin { all_of(io::stdin().lock()) } else { std::fs::File::open(path).and_then(all_of) };
    let bytes = bytes.map_err(|error| cannot_read(path, kind, &error))?;
    if bytes.len() as u64 > LARGEST_BYTES {
        let what = format!("{name} is larger than {} MB", LARGEST_BYTES >> 20);
        return Err(Failure::Invalid { what, hint: "such a file is a few kilobytes of JSON".to_owned() });
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..valid].iter().filter(|&&byte| byte == b'\n').count() + 1;
        Failure::Invalid {
            what: format!("{name}:{line}: the text is not UTF-8"),
            hint: "save it as UTF-8".to_owned(),
        }
    })?;
    Ok((name, text))
}

fn what_was_put(with: &WithStops) -> String {
    let mut words = match with.replaced.len() {
        1 => "1 stop replaced".to_owned(),
        stops => format!("{stops} stops replaced"),
    };
    if !with.added.is_empty() {
        let added: Vec<String> =
            with.added.iter().map(|(station, reason)| format!("{reason} at {station}")).collect();
        words.push_str(&format!(", {} added ({})", added.len(), added.join(", ")));
    }
    words
}

fn all_of(file: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.take(LARGEST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn cannot_read(path: &Path, kind: Kind, error: &io::Error) -> Failure {
    let hint = match (error.kind(), kind) {
        (io::ErrorKind::NotFound, Kind::Stops) => {
            "give the path of a file of stops, such as fit writes".to_owned()
        }
        (io::ErrorKind::NotFound, Kind::Model) => match models_beside(path) {
            models if models.is_empty() => "give the path of a model file (JSON)".to_owned(),
            models => format!("models there: {}", models.join(", ")),
        },
        (io::ErrorKind::IsADirectory, Kind::Stops) => {
            "give the stops.json in that folder, not the folder".to_owned()
        }
        (io::ErrorKind::IsADirectory, Kind::Model) => {
            "give a model file in that folder, not the folder".to_owned()
        }
        _ => String::new(),
    };
    let doing = if kind == Kind::Model { "read the model" } else { "read the stops" };
    match Failure::of_file(doing, path, error) {
        Failure::Failed { what, .. } => Failure::Failed { what, hint },
        other => other,
    }
}

/// Model files in the folder in which one was looked for, a few of them.
fn models_beside(path: &Path) -> Vec<String> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut models: Vec<String> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|file| file.extension().is_some_and(|extension| extension == "json"))
        .map(|file| file.display().to_string())
        .collect();
    models.sort();
    models.truncate(5);
    models
}
