//! Notes of dirty rows as they come up.

use super::dirt::{DirtKind, DirtyRow, ListFile};
use linewake_model::time::Span;
use std::collections::BTreeMap;

/// Notes of dirty rows. A fault of a row is noted once.
#[derive(Debug, Default)]
pub(crate) struct DirtBook {
    notes: BTreeMap<(ListFile, u64, DirtKind), (String, String)>,
}

impl DirtBook {
    /// Notes a fault of the row that begins on that line.
    pub(crate) fn note(
        &mut self,
        file: ListFile,
        line: u64,
        kind: DirtKind,
        what: impl Into<String>,
        done: impl Into<String>,
    ) {
        self.notes.entry((file, line, kind)).or_insert_with(|| (what.into(), done.into()));
    }

    /// The notes in order of file and line; `counted`: stop time of the rows of the stop list, by line.
    pub(crate) fn finish(self, counted: &BTreeMap<u64, i64>) -> Vec<DirtyRow> {
        let time_of = |file, line: u64| match file {
            ListFile::Stops => counted.get(&line).map_or(0, |&it| u64::try_from(it).unwrap_or(0)),
            ListFile::Counts => 0,
        };
        let row = |((file, line, kind), (what, done)): ((ListFile, u64, DirtKind), (String, String))| {
            DirtyRow { file, line, kind, what, done, counted: Span(time_of(file, line)) }
        };
        self.notes.into_iter().map(row).collect()
    }
}
