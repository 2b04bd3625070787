//! A plain stop list as a plant keeps it (CSV: machine, start, end or duration, reason; counts by hour or by shift),
//! read through a small mapping file into the events that the accounting takes, one log for each shift.
//!
//! Nothing is dropped in silence: whatever is not as it should be is a [`DirtyRow`] with its line in the file, what
//! is wrong, and what was done by which rule. The rules are in docs/reference/stop-lists.md.

mod dirt;
mod mapping;

pub use dirt::{DirtKind, DirtyRow, ListFile};
pub use mapping::Mapping;

use crate::event::Event;
use crate::header::LogHeader;
use std::fmt;
use std::io::{self, Read};

/// What a stop list tells.
#[derive(Clone, Debug, PartialEq)]
pub struct StopList {
    /// One for each shift in which a row lies, in order of time.
    pub shifts: Vec<StopListShift>,
    /// Every row that is not as it should be: those of the stop list in order of their lines, then those of the counts.
    pub dirty_rows: Vec<DirtyRow>,
    /// Rows of the stop list and of the file of counts, headings among them.
    pub rows: u64,
}

/// One shift: a log of its own, from time 0 to its horizon.
#[derive(Clone, Debug, PartialEq)]
pub struct StopListShift {
    /// Date on which it starts and name of the shift, as "2026-03-02 early".
    pub name: String,
    /// Its start on the plant's clock with the offset from UTC, as "2026-03-02T06:00:00+01:00".
    pub start: String,
    /// The header that the accounting takes; seed and replication are 0.
    pub header: LogHeader,
    /// State rows and counts in order of time; the last one is the end.
    pub events: Vec<Event>,
}

/// Why a stop list cannot be read at all.
#[derive(Debug)]
pub enum StopListProblem {
    /// A file cannot be read, or its compression is damaged.
    Read(ListFile, io::Error),
    /// The file is not what the mapping says.
    File {
        /// Which of the two files.
        file: ListFile,
        /// Line of the file, from 1.
        line: u64,
        /// What is wrong and what would be right.
        what: String,
    },
}

impl fmt::Display for StopListProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read(file, error) => write!(f, "the {file} cannot be read: {error}"),
            Self::File { file, line, what } => write!(f, "{file}, line {line}: {what}"),
        }
    }
}

impl std::error::Error for StopListProblem {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Read(_, error) => Some(error),
            Self::File { .. } => None,
        }
    }
}

/// Reads a stop list, and the counts if they stand in a file of their own; plain or gzip.
///
/// # Errors
/// A file cannot be read, is not in the stated form (no such column, no rows), or no row lies in a shift. Whatever
/// is wrong with single rows is no error; it is in [`StopList::dirty_rows`].
pub fn read(
    _mapping: &Mapping,
    _list: impl Read,
    _counts: Option<impl Read>,
) -> Result<StopList, StopListProblem> {
    let what = "this version knows the form of stop lists and does not read them yet".to_owned();
    Err(StopListProblem::File { file: ListFile::Stops, line: 1, what })
}
