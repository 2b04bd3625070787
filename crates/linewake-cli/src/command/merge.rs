//! `linewake merge`: the parts of a study to the whole.

use crate::args::study::{Merge, Question};
use crate::args::{Arguments, Command};
use crate::command::study::folder::{JOURNAL, StudyCommand, model_name};
use crate::command::study::{Asked, ask};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use clap::Parser;
use linewake_study::journal::{Journal, JournalError, merge as merge_journals};
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

pub(crate) fn merge(options: &Merge, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let mut parts = Vec::new();
    for path in &options.parts {
        parts.push(Part::read(path)?);
    }
    let mut first = 0;
    for (place, part) in parts.iter().enumerate() {
        if part.command.study != parts[0].command.study || part.command.options != parts[0].command.options {
            return Err(Failure::Invalid {
                what: format!(
                    "{} and {} are parts of different studies: \"{}\" there and \"{}\" here",
                    parts[0].folder.display(),
                    part.folder.display(),
                    parts[0].command.words(),
                    part.command.words()
                ),
                hint: "merge parts that were made by the same command but for --part and --out".to_owned(),
            });
        }
        if part.journal.head.part.number < parts[first].journal.head.part.number {
            first = place;
        }
    }
    let (folder, command) = (parts[first].folder.clone(), parts[first].command.clone());
    let journals: Vec<Journal> = parts.into_iter().map(|part| part.journal).collect();
    let mut whole = Vec::new();
    merge_journals(&journals, &mut whole).map_err(|error| refused(None, &error))?;

    let mut question = question(&folder, &command)?;
    let common = question.common_mut();
    common.out = Some(options.out.clone());
    common.threads = options.threads;
    common.force = options.force;
    common.json = options.json;
    let mut models = Vec::new();
    for (place, name) in command.models.iter().enumerate() {
        let file = ModelFile::copy(&folder.join(model_name(place)), name)?;
        file.checked(console)?;
        models.push(file);
    }
    ask::answer(&Asked { question, models, merged: Some(whole) }, console)
}

/// A part that was read.
struct Part {
    folder: PathBuf,
    command: StudyCommand,
    journal: Journal,
}

impl Part {
    /// `path` is the folder of a part, or the journal in it.
    fn read(path: &Path) -> Result<Self, Failure> {
        let (folder, journal) = if path.is_dir() {
            (path.to_owned(), path.join(JOURNAL))
        } else {
            (path.parent().map(Path::to_owned).unwrap_or_default(), path.to_owned())
        };
        let file = File::open(&journal).map_err(|error| Failure::of_file("read", &journal, &error))?;
        let read = Journal::read(BufReader::new(file)).map_err(|error| refused(Some(&journal), &error))?;
        Ok(Self { command: StudyCommand::read(&folder)?, folder, journal: read })
    }
}

/// The question as it was typed for the parts.
fn question(folder: &Path, command: &StudyCommand) -> Result<Question, Failure> {
    let words = ["linewake", "study", command.study.as_str()];
    let words = words.into_iter().chain(command.options.iter().map(String::as_str)).chain(["--"]);
    let words = words.chain(command.models.iter().map(String::as_str));
    match Arguments::try_parse_from(words).map(|arguments| arguments.command) {
        Ok(Command::Study(study)) => Ok(study.question),
        _ => Err(Failure::Invalid {
            what: format!("{} does not hold a question that linewake study knows", folder.display()),
            hint: "run the part again".to_owned(),
        }),
    }
}

fn refused(path: Option<&Path>, error: &JournalError) -> Failure {
    if let (Some(path), JournalError::Io(error)) = (path, error) {
        return Failure::of_file("read", path, error);
    }
    let what = path.map_or_else(|| error.to_string(), |path| format!("{}: {error}", path.display()));
    Failure::Invalid { what, hint: "nothing was merged".to_owned() }
}
