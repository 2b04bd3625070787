//! Reads a log: its header, then event by event. Whatever the bytes, the answer is an event or an error that names
//! the line of the file and says what would be right.

use crate::columns::{COLUMNS, event, place};
use crate::event::{
    CallStep, Counter, Detail, Event, EventKind, NO_CONTENT, NO_ITEM, PackStep, StationState,
};
use crate::header::LogHeader;
use crate::header_rows::HeaderRows;
use crate::row::{integer, millionths};
use crate::source::Source;
use csv::ByteRecord;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::Moment;
use std::collections::BTreeMap;
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
}

impl fmt::Display for LogError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read(error) => write!(f, "the log cannot be read: {error}"),
            Self::Row { line, what } => write!(f, "line {line}: {what}"),
        }
    }
}

impl std::error::Error for LogError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Read(error) => Some(error),
            Self::Row { .. } => None,
        }
    }
}

/// Reads the events of a log, plain or gzip (also several gzip members one after the other).
///
/// An iterator of `Result<Event, LogError>`. After an error in a row it goes on with the next; after an error in
/// reading it ends. A log that breaks off before its `end` row gives an error at its end.
pub struct LogReader<R: Read> {
    rows: csv::Reader<Source<R>>,
    record: ByteRecord,
    /// The record holds a row that is not yet given out.
    pending: bool,
    header: LogHeader,
    detail: Detail,
    stations: BTreeMap<Vec<u8>, u16>,
    reasons: BTreeMap<Vec<u8>, u16>,
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
        let source = Source::new(file).map_err(LogError::Read)?;
        let mut rows = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .buffer_capacity(1 << 16)
            .from_reader(source);
        let mut record = ByteRecord::new();
        let found = read(&mut rows, &mut record)?;
        if !found || !has_columns(&record) {
            let what =
                format!("this is no log: the first line must be the column names {}", COLUMNS.join(","));
            return Err(LogError::Row { line: 1, what });
        }
        let mut header = HeaderRows::default();
        let mut pending = false;
        while read(&mut rows, &mut record)? {
            let line = line_of(&record);
            check_width(&record).map_err(|what| LogError::Row { line, what })?;
            if &record[place::EVENT] != event::META {
                pending = true;
                break;
            }
            header.take(&record).map_err(|what| LogError::Row { line, what })?;
        }
        let line = if pending { line_of(&record) } else { rows.position().line() };
        let (header, detail) = header.finish().map_err(|what| LogError::Row { line, what })?;
        let numbered = |texts: Vec<&String>| -> BTreeMap<Vec<u8>, u16> {
            texts.into_iter().zip(0_u16..).map(|(text, number)| (text.clone().into_bytes(), number)).collect()
        };
        Ok(Self {
            stations: numbered(header.facts.stations.iter().map(|station| &station.id).collect()),
            reasons: numbered(header.facts.reasons.iter().collect()),
            rows,
            record,
            pending,
            header,
            detail,
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

    fn event(&mut self) -> Result<Event, String> {
        check_width(&self.record)?;
        if self.ended {
            return Err("a row follows the `end` row; nothing may".to_owned());
        }
        let at = Moment(self.millionths(place::TIME)?);
        if at < self.last_at {
            return Err(format!(
                "time goes back from {} to {at}; rows must be in order of time",
                self.last_at
            ));
        }
        if at > self.header.horizon {
            return Err(format!("{at} lies behind the end of the run, {}", self.header.horizon));
        }
        let station = self.station()?;
        let kind = self.kind()?;
        self.last_at = at;
        self.ended = kind == EventKind::End;
        Ok(Event { at, station, kind })
    }

    fn kind(&self) -> Result<EventKind, String> {
        use place::{CONTENT_AFTER, CONTENT_BEFORE, FROM, INTO, ITEM, KEY, MADE, REASON, TO, VALUE, WEIGHT};
        let word = &self.record[place::EVENT];
        let filled = match word {
            event::STATE => columns(&[FROM, TO, REASON, MADE, CONTENT_BEFORE, CONTENT_AFTER]),
            event::COUNT => columns(&[REASON, KEY, VALUE]),
            event::CONTENT => columns(&[VALUE]),
            event::CALL => columns(&[REASON, KEY]),
            event::PACK => columns(&[REASON, KEY, ITEM, INTO, WEIGHT]),
            event::WARM_UP_END | event::END => 0,
            event::META => return Err("a row `meta` stands among the events; they all come first".to_owned()),
            _ => {
                let what = shown(word);
                return Err(format!("event is \"{what}\"; known are {}", event::ALL));
            }
        };
        self.check_empty(filled)?;
        Ok(match word {
            event::STATE => EventKind::State {
                from: self.word(FROM, &StationState::ALL, StationState::word)?,
                to: self.word(TO, &StationState::ALL, StationState::word)?,
                reason: self.reason()?,
                made: self.integer(MADE)?,
                content_before: self.content_or_none(CONTENT_BEFORE)?,
                content_after: self.content_or_none(CONTENT_AFTER)?,
            },
            event::COUNT => EventKind::Count {
                counter: self.word(KEY, &Counter::ALL, Counter::word)?,
                reason: self.reason()?,
                value: self.integer(VALUE)?,
            },
            event::CONTENT => EventKind::Content { pieces: self.content(VALUE)? },
            event::CALL => EventKind::Call {
                step: self.word(
                    KEY,
                    &[CallStep::Called, CallStep::Arrived, CallStep::Released],
                    CallStep::word,
                )?,
                reason: self.reason()?,
            },
            event::PACK => EventKind::Pack {
                step: self.word(KEY, &PackStep::ALL, PackStep::word)?,
                item: self.item_or_none(ITEM)?,
                into: self.item_or_none(INTO)?,
                reason: self.reason()?,
                weight_ug: if self.record[WEIGHT].is_empty() { 0 } else { self.millionths(WEIGHT)? },
            },
            event::WARM_UP_END => EventKind::WarmUpEnd,
            _ => EventKind::End,
        })
    }

    /// Columns that a row of this event does not use must be empty: else it means something that would be lost.
    fn check_empty(&self, filled: u32) -> Result<(), String> {
        let stray = |column: usize| filled & (1 << column) == 0 && !self.record[column].is_empty();
        (place::FROM..COLUMNS.len()).find(|&column| stray(column)).map_or(Ok(()), |column| {
            let event = shown(&self.record[place::EVENT]);
            Err(format!("column {} must be empty in a row `{event}`", COLUMNS[column]))
        })
    }

    fn station(&self) -> Result<u16, String> {
        let id = &self.record[place::STATION];
        self.stations.get(id).copied().ok_or_else(|| {
            format!(
                "station is \"{}\"; the header has {}",
                shown(id),
                listed(self.header.facts.stations.iter().map(|it| it.id.as_str()))
            )
        })
    }

    fn reason(&self) -> Result<Reason, String> {
        let word = &self.record[place::REASON];
        let (fixed, own) = self.header.facts.reasons.split_at(FIXED_REASONS.len());
        self.reasons.get(word).copied().map(Reason).ok_or_else(|| {
            format!(
                "reason is \"{}\"; the header has {}",
                shown(word),
                listed(own.iter().chain(&fixed[1..]).map(String::as_str))
            )
        })
    }

    fn word<T: Copy>(&self, column: usize, all: &[T], word: fn(T) -> &'static str) -> Result<T, String> {
        let field = &self.record[column];
        let found = all.iter().copied().find(|&it| word(it).as_bytes() == field);
        found.ok_or_else(|| {
            format!(
                "{} is \"{}\"; known are {}",
                COLUMNS[column],
                shown(field),
                listed(all.iter().map(|&it| word(it)))
            )
        })
    }

    fn integer(&self, column: usize) -> Result<u64, String> {
        let field = &self.record[column];
        integer(field)
            .ok_or_else(|| format!("{} is \"{}\"; a whole number is due", COLUMNS[column], shown(field)))
    }

    fn millionths(&self, column: usize) -> Result<u64, String> {
        let field = &self.record[column];
        millionths(field).ok_or_else(|| {
            format!(
                "{} is \"{}\"; a number with at most six decimals is due, such as 4.615385",
                COLUMNS[column],
                shown(field)
            )
        })
    }

    fn content(&self, column: usize) -> Result<u32, String> {
        let pieces = self.integer(column)?;
        u32::try_from(pieces).ok().filter(|&pieces| pieces != NO_CONTENT).ok_or_else(|| {
            format!("{} is {pieces}; at most {} pieces can be told", COLUMNS[column], NO_CONTENT - 1)
        })
    }

    fn content_or_none(&self, column: usize) -> Result<u32, String> {
        if self.record[column].is_empty() { Ok(NO_CONTENT) } else { self.content(column) }
    }

    fn item_or_none(&self, column: usize) -> Result<u64, String> {
        if self.record[column].is_empty() {
            return Ok(NO_ITEM);
        }
        let item = self.integer(column)?;
        if item == NO_ITEM {
            Err(format!("{} is {item}, which is too large", COLUMNS[column]))
        } else {
            Ok(item)
        }
    }
}

impl<R: Read> Iterator for LogReader<R> {
    type Item = Result<Event, LogError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.exhausted {
            return None;
        }
        if !std::mem::take(&mut self.pending) {
            match read(&mut self.rows, &mut self.record) {
                Ok(true) => {}
                Ok(false) => {
                    self.exhausted = true;
                    let what =
                        "the log breaks off here: its last row must be `end`; was the run interrupted?";
                    let line = self.rows.position().line();
                    return (!self.ended).then(|| Err(LogError::Row { line, what: what.to_owned() }));
                }
                Err(error) => {
                    self.exhausted = true;
                    return Some(Err(error));
                }
            }
        }
        let line = line_of(&self.record);
        Some(self.event().map_err(|what| LogError::Row { line, what }))
    }
}

/// Reads the next row; false at the end of the file.
fn read<R: Read>(rows: &mut csv::Reader<R>, record: &mut ByteRecord) -> Result<bool, LogError> {
    rows.read_byte_record(record).map_err(|error| {
        let line = error.position().map_or_else(|| rows.position().line(), csv::Position::line);
        match error.into_kind() {
            csv::ErrorKind::Io(error) => LogError::Read(error),
            other => LogError::Row { line, what: format!("this is no CSV row: {other:?}") },
        }
    })
}

/// The first row has the column names, after the byte order mark that spreadsheets like to put there.
fn has_columns(record: &ByteRecord) -> bool {
    let mark = "\u{feff}".as_bytes();
    let names = record.iter().enumerate().map(|(place, name)| match name.strip_prefix(mark) {
        Some(rest) if place == 0 => rest,
        _ => name,
    });
    names.eq(COLUMNS.iter().map(|column| column.as_bytes()))
}

/// A set of columns, one bit each.
const fn columns(places: &[usize]) -> u32 {
    let (mut set, mut next) = (0, 0);
    while next < places.len() {
        set |= 1 << places[next];
        next += 1;
    }
    set
}

fn line_of(record: &ByteRecord) -> u64 {
    record.position().map_or(0, csv::Position::line)
}

fn check_width(record: &ByteRecord) -> Result<(), String> {
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

fn listed<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests;
