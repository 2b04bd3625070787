//! A plain stop list as a plant keeps it (CSV: machine, start, end or duration, reason; counts by hour or by shift),
//! read through a small mapping file into the events that the accounting takes, one log for each shift.
//!
//! Nothing is dropped in silence: whatever is not as it should be is a [`DirtyRow`] with its line in the file, what
//! is wrong, and what was done by which rule. The rules are in docs/reference/stop-lists.md.

mod check;
mod clock;
mod counts;
mod dirt;
mod dirt_book;
mod layout;
mod mapping;
mod number;
mod pairing;
mod sheet;
mod shift_log;
pub mod spec;
mod stops;
mod waits;
mod windows;

pub use dirt::{DirtKind, DirtyRow, ListFile};
pub use mapping::Mapping;

use crate::event::Event;
use crate::header::{LineFacts, LogHeader};
use dirt_book::DirtBook;
use layout::Layout;
use linewake_model::time::Moment;
use mapping::Effect;
use sheet::{Row, Sheet};
use std::fmt;
use std::io::{self, Read};
use stops::Claim;
use windows::{Window, Windows};

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
    /// The header that the accounting takes; a real line has neither version, digest, seed nor start.
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

/// The JSON Schema (draft 2020-12) of the mapping file, for editors that complete and check while one types.
#[must_use]
pub fn schema() -> String {
    linewake_model::schema_of::<spec::MappingSpec>()
}

/// Reads a stop list, and the counts if they stand in a file of their own; plain or gzip.
///
/// # Errors
/// A file cannot be read, is not in the stated form (no such column, no rows), or no row lies in a shift. Whatever
/// is wrong with single rows is no error; it is in [`StopList::dirty_rows`].
pub fn read(
    mapping: &Mapping,
    list: impl Read,
    counts: Option<impl Read>,
) -> Result<StopList, StopListProblem> {
    let problem = |file, what: &str| Err(StopListProblem::File { file, line: 1, what: what.to_owned() });
    match (mapping.has_file_of_counts(), counts.is_some()) {
        (true, false) => {
            let what = "the mapping tells of counts in a file of their own, and there is none";
            return problem(ListFile::Counts, what);
        }
        (false, true) => {
            return problem(ListFile::Counts, "the mapping does not tell how to read this file");
        }
        _ => {}
    }
    let mut dirt = DirtBook::default();
    let sheet = Sheet::read(ListFile::Stops, list, &mapping.stops.form, &mut dirt)?;
    let mut rows = sheet.rows_read;
    let counts_sheet = match (&mapping.counts, counts) {
        (Some(form), Some(counts)) => {
            let sheet = Sheet::read(ListFile::Counts, counts, &form.form, &mut dirt)?;
            rows += sheet.rows_read;
            Some(sheet)
        }
        _ => None,
    };
    let choice = mapping.counts.as_ref().and_then(|counts| counts.in_list.as_ref());
    let place = sheet.place(choice.map(|(column, _)| column))?;
    let is_count =
        |row: &Row| choice.is_some_and(|(_, words)| words.contains(&mapping::folded(row.cell(place))));

    let mut facts = mapping.facts.clone();
    let is_stop = |row: &Row| !is_count(row);
    let claims = stops::claims(mapping, &sheet, is_stop, &mut facts.reasons, &mut dirt)?;
    let mut windows = Windows::new(mapping);
    for claim in &claims {
        windows.work_by_stop(claim.start, claim.end, claim.meaning.effect == Effect::PlannedLeftOut);
    }
    let counts_file = if counts_sheet.is_some() { ListFile::Counts } else { ListFile::Stops };
    let increments = match (&mapping.counts, &counts_sheet) {
        (Some(form), Some(sheet)) => {
            counts::increments(mapping, form, sheet, counts_file, |_| true, &mut windows, &mut dirt)?
        }
        (Some(form), None) => {
            counts::increments(mapping, form, &sheet, counts_file, is_count, &mut windows, &mut dirt)?
        }
        (None, _) => Vec::new(),
    };
    let constraint = usize::from(facts.constraint);
    for (place, station) in facts.stations.iter_mut().enumerate() {
        // Of a machine that no row names the list does not tell whether it ran.
        let names = |claim: &Claim| usize::from(claim.station) == place && !claim.meaning.whole_line;
        station.has_states = place == constraint || claims.iter().any(names);
    }
    let named: Vec<bool> = facts.stations.iter().map(|station| station.has_states).collect();
    let layout = Layout::new(&claims, &named, constraint, &windows, &mapping.clock, &mut dirt);
    let mut shifts = Vec::new();
    for window in windows.worked() {
        let first = increments.partition_point(|it| it.at <= window.start);
        let last = increments.partition_point(|it| it.at <= window.end);
        let increments = &increments[first..last];
        let (events, disagree) = shift_log::events_of(mapping, window, &layout.stations, &named, increments);
        if let Some(last) = increments.last().filter(|_| disagree) {
            let what = format!("good and rejected packs of {} are more than its total", window.name);
            dirt.note(counts_file, last.line, DirtKind::CountsDisagree, what, "taken as they stand");
        }
        shifts.push(StopListShift {
            name: window.name.clone(),
            start: mapping.clock.with_offset(window.start),
            header: header_of(mapping, &facts, window),
            events,
        });
    }
    if shifts.is_empty() {
        return problem(ListFile::Stops, &no_shift(&dirt.finish(&layout.counted)));
    }
    Ok(StopList { shifts, dirty_rows: dirt.finish(&layout.counted), rows })
}

fn header_of(mapping: &Mapping, facts: &LineFacts, window: &Window) -> LogHeader {
    LogHeader {
        model_name: mapping.name.clone(),
        model_about: mapping.about.clone(),
        horizon: Moment(u64::try_from(window.end - window.start).unwrap_or(0)),
        facts: facts.clone(),
        ..LogHeader::default()
    }
}

/// That no row lies in a shift, with the first thing that is wrong.
fn no_shift(dirty: &[DirtyRow]) -> String {
    let mut what = "no row of the list lies in a shift, so there is nothing to report".to_owned();
    if let Some(first) = dirty.first() {
        let DirtyRow { file, line, kind, what: why, .. } = first;
        what.push_str(&format!("; {} rows are not as they should be, the first: ", dirty.len()));
        what.push_str(&format!("{file}, line {line}, {kind}: {why}"));
    }
    what
}
