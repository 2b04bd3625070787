//! Why a command ended before its answer, and what the user is told.

use crate::console::Console;
use crate::exit::Exit;
use anstyle::{AnsiColor, Effects, Style};
use linewake_study::replicate::ReplicateError;
use std::fmt::Display;
use std::io;
use std::path::{Path, PathBuf};

/// Style of the word "error".
const ERROR: Style = AnsiColor::BrightRed.on_default().effects(Effects::BOLD);

/// Why a command ended early.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Wrong arguments; the whole text, as it is to be printed.
    Usage(String),
    /// Something went wrong: what, and what to do (perhaps empty).
    Failed {
        /// What is wrong, and with what.
        what: String,
        /// What would help.
        hint: String,
    },
    /// The data that was read is not valid: what, and what would be right.
    Invalid {
        /// What is wrong, and with what.
        what: String,
        /// What would be right.
        hint: String,
    },
    /// The model is not valid, and its problems have been printed.
    InvalidModel,
    /// The reader of the output went away: no error.
    ClosedPipe,
    /// Ctrl-C.
    Interrupted,
    /// Ctrl-C in a study: what is kept, and how to go on.
    Paused {
        /// Runs that are done.
        runs: u64,
        /// The journal that holds them.
        journal: PathBuf,
        /// The command that goes on.
        command: String,
    },
}

impl Failure {
    /// Something went wrong outside model and arguments.
    pub(crate) fn failed(what: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Failed { what: what.into(), hint: hint.into() }
    }

    /// A wrong argument that the parser of the arguments cannot see.
    pub(crate) fn usage(what: impl Display, hint: impl Display) -> Self {
        Self::Usage(format!("{ERROR}error:{ERROR:#} {what}\n  {hint}\n"))
    }

    /// `doing` something with a file met an error.
    pub(crate) fn of_file(doing: &str, path: &Path, error: &io::Error) -> Self {
        let hint = match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                "the disk is full: make room, or choose another folder with --out"
            }
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                "you may not write there: choose another folder with --out"
            }
            _ => "",
        };
        Self::failed(format!("cannot {doing} {}: {}", path.display(), words(error)), hint)
    }

    /// Writing the answer met an error.
    pub(crate) fn of_stdout(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            return Self::ClosedPipe;
        }
        Self::failed(format!("cannot write the answer: {}", words(&error)), "")
    }

    /// Tells the user, and gives the exit code.
    pub(crate) fn tell(self, console: &mut Console<'_>) -> Exit {
        match self {
            Self::Usage(text) => {
                console.tell(&text);
                Exit::Usage
            }
            Self::Failed { what, hint } => {
                console.tell(&message(&what, &hint));
                Exit::Failed
            }
            Self::Invalid { what, hint } => {
                console.tell(&message(&what, &hint));
                Exit::Invalid
            }
            Self::InvalidModel => Exit::Invalid,
            Self::ClosedPipe => Exit::Done,
            Self::Interrupted => {
                console.tell("interrupted: nothing was written\n");
                Exit::Interrupted
            }
            Self::Paused { runs, journal, command } => {
                let text = format!(
                    "interrupted: {runs} runs are kept in {}; go on with\n  {command}\n",
                    journal.display()
                );
                console.tell(&text);
                Exit::Interrupted
            }
        }
    }
}

impl From<ReplicateError> for Failure {
    fn from(error: ReplicateError) -> Self {
        match error {
            ReplicateError::Interrupted => Self::Interrupted,
            ReplicateError::NoThreads(_) => Self::failed(error.to_string(), "ask for fewer with --threads"),
        }
    }
}

fn message(what: &str, hint: &str) -> String {
    let mut text = format!("{ERROR}error:{ERROR:#} {what}\n");
    if !hint.is_empty() {
        text.push_str("  ");
        text.push_str(hint);
        text.push('\n');
    }
    text
}

/// What the system says of an error, without its number.
fn words(error: &io::Error) -> String {
    let text = error.to_string();
    match text.find(" (os error") {
        Some(end) => text[..end].to_lowercase(),
        None => text,
    }
}
