//! The folder of a study while it runs: its journal, and what is needed to go on from it or to merge it.

use crate::args::study::Question;
use crate::failure::Failure;
use crate::model_file::ModelFile;
use crate::output_folder::{self, OutputFolder};
use linewake_study::journal::{Journal, JournalError, JournalHead};
use serde::{Deserialize, Serialize};
use std::fs::{self, File};
use std::io::{self, BufReader, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Name of the journal.
pub(crate) const JOURNAL: &str = "journal.jsonl";

/// Name of the file that says what was asked.
pub(crate) const COMMAND: &str = "study.json";

/// Name and version of the form of that file.
const SCHEMA: &str = "linewake.study-command/1";

/// What was asked, as words of the command line.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct StudyCommand {
    schema: String,
    /// Word of the study.
    pub(crate) study: String,
    /// Models as the user named them.
    pub(crate) models: Vec<String>,
    /// Options, but for those that change no result.
    pub(crate) options: Vec<String>,
}

impl StudyCommand {
    /// Of that question.
    pub(crate) fn of(question: &Question, models: &[ModelFile]) -> Self {
        Self {
            schema: SCHEMA.to_owned(),
            study: question.word().to_owned(),
            models: models.iter().map(|file| file.name.clone()).collect(),
            options: question.options(),
        }
    }

    /// Study and options in one line.
    pub(crate) fn words(&self) -> String {
        format!("{} {}", self.study, self.options.join(" "))
    }

    /// Its text in the file.
    pub(crate) fn text(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).unwrap_or_default();
        text.push('\n');
        text
    }

    /// Reads it from the folder of a study.
    pub(crate) fn read(folder: &Path) -> Result<Self, Failure> {
        let path = folder.join(COMMAND);
        let text =
            fs::read_to_string(&path).map_err(|error| match Failure::of_file("read", &path, &error) {
                Failure::Failed { what, .. } => {
                    Failure::failed(what, "give the folder that linewake study --part made, whole")
                }
                other => other,
            })?;
        match serde_json::from_str::<Self>(&text) {
            Ok(command) if command.schema == SCHEMA => Ok(command),
            _ => Err(Failure::Invalid {
                what: format!("{} is not what linewake study writes", path.display()),
                hint: "run the part again".to_owned(),
            }),
        }
    }
}

/// Name of the copy of a model in the folder.
pub(crate) fn model_name(place: usize) -> String {
    if place == 0 { "model.json".to_owned() } else { format!("model-{}.json", place + 1) }
}

/// The folder of a study that runs.
pub(crate) struct StudyFolder {
    target: PathBuf,
    force: bool,
    /// The journal, open at its end.
    pub(crate) journal: File,
}

impl StudyFolder {
    /// Opens the folder: a journal of the same study in it is read, to go on from there. `given` is a whole journal that
    /// takes its place.
    pub(crate) fn open(
        target: &Path,
        force: bool,
        head: &JournalHead,
        given: Option<&[u8]>,
        files: &[(String, String)],
    ) -> Result<(Self, Option<Journal>), Failure> {
        output_folder::look_at(target, force)?;
        let path = target.join(JOURNAL);
        let mut anew = false;
        let mut earlier = match earlier(&path, head) {
            Ok(earlier) => earlier,
            Err(_) if force => {
                anew = true;
                None
            }
            Err(failure) => return Err(failure),
        };
        let mut names: Vec<String> = files.iter().map(|(name, _)| name.clone()).collect();
        names.push(JOURNAL.to_owned());
        output_folder::open_for(target, force, anew, &names)?;
        let failed = |error: io::Error| Failure::of_file("write", &path, &error);
        let mut journal = File::options()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(failed)?;
        if journal.try_lock().is_err() {
            let what = format!("another linewake is at work in {}", target.display());
            return Err(Failure::failed(what, "wait for it, or choose another folder with --out"));
        }
        if let Some(given) = given {
            journal.set_len(0).and_then(|()| journal.write_all(given)).map_err(failed)?;
            earlier = Some(Journal::read(given).map_err(|error| refused(&path, &error))?);
        } else {
            // What was cut off in writing is overwritten.
            journal.set_len(earlier.as_ref().map_or(0, |journal| journal.good_bytes)).map_err(failed)?;
            journal.seek(SeekFrom::End(0)).map_err(failed)?;
        }
        for (name, text) in files {
            let path = target.join(name);
            fs::write(&path, text).map_err(|error| Failure::of_file("write", &path, &error))?;
        }
        Ok((Self { target: target.to_owned(), force, journal }, earlier))
    }

    /// Path of the journal.
    pub(crate) fn journal_path(&self) -> PathBuf {
        self.target.join(JOURNAL)
    }

    /// The study is done: the folder appears with everything that `write` puts into it, and the journal.
    pub(crate) fn finish(
        self,
        write: impl FnOnce(&mut OutputFolder) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let mut folder = OutputFolder::begin(&self.target, self.force)?;
        write(&mut folder)?;
        let path = self.journal_path();
        let mut copy = folder.create(JOURNAL)?;
        let mut journal = self.journal;
        journal
            .seek(SeekFrom::Start(0))
            .and_then(|_| io::copy(&mut journal, &mut copy))
            .map_err(|error| Failure::of_file("write", &path, &error))?;
        drop((journal, copy));
        folder.finish()
    }
}

/// The journal that is there, if it belongs to the study.
fn earlier(path: &Path, head: &JournalHead) -> Result<Option<Journal>, Failure> {
    match fs::metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(Failure::of_file("read", path, &error)),
        Ok(metadata) if !metadata.is_file() => {
            return Err(Failure::failed(
                format!("{} is no file", path.display()),
                "choose another folder with --out",
            ));
        }
        Ok(_) => {}
    }
    let file = File::open(path).map_err(|error| Failure::of_file("read", path, &error))?;
    match Journal::read(BufReader::new(file)) {
        Ok(journal) => match journal.belongs_to(head) {
            Ok(()) => Ok(Some(journal)),
            Err(error) => Err(refused(path, &error)),
        },
        Err(JournalError::Empty) => Ok(None),
        Err(error) => Err(refused(path, &error)),
    }
}

/// What the user is told of a journal that is of no use.
fn refused(path: &Path, error: &JournalError) -> Failure {
    match error {
        JournalError::Io(error) => Failure::of_file("read", path, error),
        JournalError::Stranger { .. } => Failure::failed(
            format!("{}: {error}", path.display()),
            "choose another folder with --out, or give up the runs in this one with --force",
        ),
        _ => Failure::Invalid {
            what: format!("{}: {error}", path.display()),
            hint: "choose another folder with --out, or give up the runs in this one with --force".to_owned(),
        },
    }
}
