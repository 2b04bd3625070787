//! Reads a log: its header, then event by event. Whatever the bytes, the answer is an event or an error that names
//! the line of the file and says what would be right.

mod event_row;
mod known_rows;

use crate::columns::{COLUMNS, event, place};
use crate::event::{Detail, Event, EventKind};
use crate::header::LogHeader;
use crate::header_rows::HeaderRows;
use crate::rows::{LONGEST_ROW_BYTES, Record, RowError, Rows};
use crate::source::Source;
use event_row::{EventRow, Names};
use known_rows::KnownRows;
use linewake_model::time::Moment;
use std::fmt;
use std::io::{self, Read};

/// What is wrong with a log.
#[derive(Debug)]
pub enum LogError {
    /// The file cannot be read, or its compression is damaged.
    Read(io::Error),
    /// A row is wrong.
    Row {
        /// Line of the file, from 1.
        line: u64,
        /// What is wrong and what would be right.
        what: String,
    },
    /// The log ends before its `end` row, in mid-row or between two; the events up to there are whole.
    BrokenOff {
        /// Line of the file, from 1.
        line: u64,
        /// In which way.
        what: String,
    },
}

impl fmt::Display for LogError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read(error) => write!(f, "the log cannot be read: {error}"),
            Self::Row { line, what } | Self::BrokenOff { line, what } => write!(f, "line {line}: {what}"),
        }
    }
}

impl std::error::Error for LogError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Read(error) => Some(error),
            Self::Row { .. } | Self::BrokenOff { .. } => None,
        }
    }
}

/// Reads the events of a log, plain or gzip (also several gzip members one after the other).
///
/// An iterator of `Result<Event, LogError>`. After an error in a row it goes on with the next; after an error in
/// reading it ends. A log that breaks off before its `end` row gives [`LogError::BrokenOff`] at its end. Memory does not
/// grow with the log.
pub struct LogReader<R: Read> {
    rows: Rows<R>,
    /// A row is read that is not yet given out.
    pending: bool,
    header: LogHeader,
    detail: Detail,
    names: Names,
    known: KnownRows,
    last_at: Moment,
    ended: bool,
    exhausted: bool,
}

impl<R: Read> LogReader<R> {
    /// Reads the header of a log.
    ///
    /// # Errors
    /// The file cannot be read, its columns are not those of a log, a row of the header is wrong or missing, or the log
    /// has a format version that this program does not know.
    pub fn new(file: R) -> Result<Self, LogError> {
        let mut rows = Rows::new(Source::new(file).map_err(LogError::Read)?);
        let found = advance(&mut rows)?;
        if !found || !has_columns(&rows.record()) {
            let what =
                format!("this is no log: the first line must be the column names {}", COLUMNS.join(","));
            return Err(LogError::Row { line: 1, what });
        }
        let mut header = HeaderRows::default();
        let mut pending = false;
        while advance(&mut rows)? {
            let (line, record) = (rows.line(), rows.record());
            check_width(&record).map_err(|what| LogError::Row { line, what })?;
            if &record[place::EVENT] != event::META {
                pending = true;
                break;
            }
            header.take(&record).map_err(|what| LogError::Row { line, what })?;
        }
        let line = rows.line();
        let (header, detail) = header.finish().map_err(|what| LogError::Row { line, what })?;
        Ok(Self {
            names: Names::of(&header.facts),
            rows,
            pending,
            header,
            detail,
            known: KnownRows::new(),
            last_at: Moment::ZERO,
            ended: false,
            exhausted: false,
        })
    }

    /// The header.
    #[must_use]
    pub fn header(&self) -> &LogHeader {
        &self.header
    }

    /// How much the log tells.
    #[must_use]
    pub fn detail(&self) -> Detail {
        self.detail
    }

    /// Rows read so far, the column names and the header among them.
    #[must_use]
    pub fn rows(&self) -> u64 {
        self.rows.rows()
    }

    /// The next row, if it is one of those that most are; `None` leaves it to [`Self::event`].
    #[inline]
    fn known_event(&mut self) -> Option<Event> {
        let row = self.known.read(self.rows.ahead())?;
        let at = Moment(row.at_us);
        if at < self.last_at || at > self.header.horizon || self.ended {
            return None;
        }
        self.rows.pass(row.length);
        self.last_at = at;
        Some(Event { at, station: row.station, kind: row.kind })
    }

    fn event(&mut self) -> Result<Event, String> {
        let record = self.rows.record();
        check_width(&record)?;
        if self.ended {
            return Err("a row follows the `end` row; nothing may".to_owned());
        }
        let row = EventRow { record, names: &self.names };
        let at = Moment(row.millionths(place::TIME)?);
        if at < self.last_at {
            return Err(format!(
                "time goes back from {} to {at}; rows must be in order of time",
                self.last_at
            ));
        }
        if at > self.header.horizon {
            return Err(format!("{at} lies behind the end of the run, {}", self.header.horizon));
        }
        self.last_at = at;
        let (station, kind) = (row.station()?, row.kind()?);
        self.ended = kind == EventKind::End;
        if let Some(words) = self.rows.text_of(place::EVENT, place::KEY) {
            self.known.learn(words, station, kind);
        }
        Ok(Event { at: self.last_at, station, kind })
    }

    fn broken_off(&self, how: &str) -> LogError {
        let what = format!("the log breaks off here: {how}; was the run or the copy interrupted?");
        LogError::BrokenOff { line: self.rows.line(), what }
    }
}

impl<R: Read> Iterator for LogReader<R> {
    type Item = Result<Event, LogError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.exhausted {
            return None;
        }
        if !std::mem::take(&mut self.pending) {
            if let Some(event) = self.known_event() {
                return Some(Ok(event));
            }
            match advance(&mut self.rows) {
                Ok(true) => {}
                Ok(false) => {
                    self.exhausted = true;
                    return (!self.ended).then(|| Err(self.broken_off("its last row must be `end`")));
                }
                Err(LogError::Read(error)) if error.kind() == io::ErrorKind::UnexpectedEof => {
                    self.exhausted = true;
                    return Some(Err(self.broken_off("the compressed file is cut off")));
                }
                Err(error) => {
                    self.exhausted = true;
                    return Some(Err(error));
                }
            }
        }
        let line = self.rows.line();
        let event = self.event();
        // What is left of a row that is cut may look like a whole one: only `end` is known to be whole.
        let whole = !self.rows.is_cut() || matches!(event, Ok(Event { kind: EventKind::End, .. }));
        if !whole {
            self.exhausted = true;
            return Some(Err(self.broken_off("it is cut off in mid-row")));
        }
        Some(event.map_err(|what| LogError::Row { line, what }))
    }
}

/// Goes on to the next row; false at the end of the file.
fn advance<R: Read>(rows: &mut Rows<R>) -> Result<bool, LogError> {
    rows.advance().map_err(|error| match error {
        RowError::Read(error) => LogError::Read(error),
        RowError::TooLong => {
            let what = format!(
                "the row is longer than {} kB; is a quote (\") without its partner in it?",
                LONGEST_ROW_BYTES / 1024
            );
            LogError::Row { line: rows.line(), what }
        }
    })
}

/// The first row has the column names, after the byte order mark that spreadsheets like to put there.
fn has_columns(record: &Record<'_>) -> bool {
    let mark = "\u{feff}".as_bytes();
    let names = (0..record.len()).map(|place| match record[place].strip_prefix(mark) {
        Some(rest) if place == 0 => rest,
        _ => &record[place],
    });
    names.eq(COLUMNS.iter().map(|column| column.as_bytes()))
}

fn check_width(record: &Record<'_>) -> Result<(), String> {
    if record.len() == COLUMNS.len() {
        return Ok(());
    }
    Err(format!("the row has {} columns; a log has {}: {}", record.len(), COLUMNS.len(), COLUMNS.join(",")))
}

/// A field in a message: text, cut where it is long.
pub(crate) fn shown(field: &[u8]) -> String {
    let text = String::from_utf8_lossy(field);
    let mut start: String = text.chars().take(60).collect();
    if start.len() < text.len() {
        start.push_str("...");
    }
    start
}

#[cfg(test)]
mod tests;
