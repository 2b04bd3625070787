//! The rows of a file as text: decoding, delimiter, headings, and what can be wrong with a row as such.

use super::StopListProblem;
use super::dirt::{DirtKind, ListFile};
use super::dirt_book::DirtBook;
use super::mapping::{Form, folded};
use super::number::shown;
use super::spec::{ColumnSpec, EncodingSpec};
use crate::source::Source;
use csv::ByteRecord;
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use linewake_model::spec::suggest;
use std::io::Read;

/// Largest file that is read, unpacked: a stop list of ten years is far below.
const LARGEST_BYTES: u64 = 256 << 20;

/// A row, with its cells without blanks around.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Line of the file on which it begins, from 1.
    pub(crate) line: u64,
    pub(crate) cells: Vec<String>,
}

impl Row {
    /// The text of a cell; empty if there is none, or no such column is named.
    pub(crate) fn cell(&self, place: Option<usize>) -> &str {
        place.and_then(|place| self.cells.get(place)).map_or("", String::as_str)
    }
}

/// A file as rows.
#[derive(Debug)]
pub(crate) struct Sheet {
    file: ListFile,
    headings: Option<Row>,
    pub(crate) rows: Vec<Row>,
    /// Rows of the file, headings and rows that are left out among them.
    pub(crate) rows_read: u64,
}

impl Sheet {
    /// Reads the file; rows that cannot be rows of the list go to `dirt`.
    pub(crate) fn read(
        file: ListFile,
        bytes: impl Read,
        form: &Form,
        dirt: &mut DirtBook,
    ) -> Result<Self, StopListProblem> {
        let failed = |error| StopListProblem::Read(file, error);
        let mut whole = Vec::new();
        let source = Source::new(bytes).map_err(failed)?;
        source.take(LARGEST_BYTES + 1).read_to_end(&mut whole).map_err(failed)?;
        if whole.len() as u64 > LARGEST_BYTES {
            let what = "the file has more than 256 MB; a stop list is a list of stops, not of readings";
            return Err(StopListProblem::File { file, line: 1, what: what.to_owned() });
        }
        let (bytes, encoding) = without_mark(file, whole, form.encoding, dirt);
        let bytes = with_plain_line_ends(bytes);
        let (bytes, skipped) = without_lines(&bytes, form.skip_lines);
        let mut sheet = Self { file, headings: None, rows: Vec::new(), rows_read: skipped };
        let mut rows = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(form.delimiter)
            .from_reader(bytes);
        let mut record = ByteRecord::new();
        loop {
            match rows.read_byte_record(&mut record) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => {
                    let line = skipped + rows.position().line();
                    let what = format!("this is no CSV row: {error}");
                    return Err(StopListProblem::File { file, line, what });
                }
            }
            let line = skipped + record.position().map_or(0, csv::Position::line);
            sheet.rows_read += 1;
            sheet.take(line, &record, encoding, form, dirt);
        }
        if sheet.rows_read == skipped {
            let what = "the file is empty".to_owned();
            return Err(StopListProblem::File { file, line: 1, what });
        }
        Ok(sheet)
    }

    fn take(
        &mut self,
        line: u64,
        record: &ByteRecord,
        encoding: &'static Encoding,
        form: &Form,
        dirt: &mut DirtBook,
    ) {
        let file = self.file;
        let mut odd_bytes = false;
        let mut texts: Vec<String> = Vec::with_capacity(record.len());
        for cell in record {
            let (text, malformed) = encoding.decode_without_bom_handling(cell);
            if malformed {
                odd_bytes = true;
                texts.push(WINDOWS_1252.decode_without_bom_handling(cell).0.into_owned());
            } else {
                texts.push(text.into_owned());
            }
        }
        if odd_bytes {
            let what = format!("the row has bytes that are not {}", encoding.name());
            dirt.note(file, line, DirtKind::Encoding, what, "read as windows-1252");
        }
        if form.headings && self.headings.is_none() {
            self.headings = Some(Row { line, cells: texts.iter().map(|text| one_line(text)).collect() });
            return;
        }
        let delimiter = char::from(form.delimiter);
        let width = self.headings.as_ref().or(self.rows.first()).map_or(texts.len(), |row| row.cells.len());
        let swallows = |text: &String| {
            let lines = text.lines().count();
            lines > 1 && text.matches(delimiter).count() >= width.saturating_sub(1).max(1)
        };
        if let Some(text) = texts.iter().find(|text| swallows(text)) {
            let lines = text.lines().count() as u64;
            let what = format!("a quote opens that takes in {} lines up to line {}", lines, line + lines - 1);
            dirt.note(file, line, DirtKind::OpenQuote, what, "these lines were left out");
            return;
        }
        if texts.iter().any(|text| text.trim().contains(['\n', '\r'])) {
            let what = "a cell holds a line break";
            dirt.note(file, line, DirtKind::LineBreak, what, "read as a blank");
        }
        let cells: Vec<String> = texts.iter().map(|text| one_line(text)).collect();
        if cells.iter().all(String::is_empty) {
            dirt.note(file, line, DirtKind::EmptyRow, "all cells are empty", "left out");
            return;
        }
        if self.headings.as_ref().is_some_and(|headings| headings.cells == cells) {
            let what = "the headings stand here once more";
            dirt.note(file, line, DirtKind::RepeatedHeading, what, "left out");
            return;
        }
        let beyond = cells.get(width..).unwrap_or(&[]);
        if cells.len() < width || beyond.iter().any(|cell| !cell.is_empty()) {
            let what = format!("the row has {} cells, and {width} are due", cells.len());
            let done = if cells.len() < width {
                "the missing ones were taken as empty"
            } else {
                "those beyond were left out"
            };
            dirt.note(file, line, DirtKind::Width, what, done);
        }
        self.rows.push(Row { line, cells });
    }

    /// Place of a column, from 0; `None` if no column is named.
    ///
    /// # Errors
    /// The file has no such column, or two of that heading.
    pub(crate) fn place(&self, column: Option<&ColumnSpec>) -> Result<Option<usize>, StopListProblem> {
        let Some(column) = column else { return Ok(None) };
        let line = self.headings.as_ref().map_or(1, |row| row.line);
        let problem = |what: String| StopListProblem::File { file: self.file, line, what };
        match column {
            ColumnSpec::Place(place) => {
                let place = usize::try_from(*place).unwrap_or(usize::MAX) - 1;
                let width = self.headings.as_ref().or(self.rows.first()).map_or(0, |row| row.cells.len());
                if place >= width {
                    return Err(problem(format!("there is no column {}; the row has {width}", place + 1)));
                }
                Ok(Some(place))
            }
            ColumnSpec::Heading(heading) => {
                let Some(headings) = &self.headings else {
                    let what = format!("column \"{heading}\" is named, and the file has no headings");
                    return Err(problem(what));
                };
                let wanted = folded(heading);
                let mut places =
                    (0..headings.cells.len()).filter(|&at| folded(&headings.cells[at]) == wanted);
                match (places.next(), places.next()) {
                    (Some(place), None) => Ok(Some(place)),
                    (Some(_), Some(_)) => Err(problem(format!(
                        "two columns have the heading \"{heading}\"; name them by place"
                    ))),
                    (None, _) => {
                        let known: Vec<&str> = headings.cells.iter().take(60).map(String::as_str).collect();
                        let mut what = format!("there is no column \"{}\"", shown(heading));
                        if known.len() < 2 {
                            what.push_str(", and only one column at all; is the delimiter right?");
                        } else {
                            what.push_str("; ");
                            what.push_str(&suggest::hint(heading, &known));
                        }
                        Err(problem(what))
                    }
                }
            }
        }
    }
}

/// The text in one line, single blanks, none around.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The bytes behind a byte-order mark and the encoding that it tells of, which is stronger than the stated one.
fn without_mark(
    file: ListFile,
    bytes: Vec<u8>,
    stated: EncodingSpec,
    dirt: &mut DirtBook,
) -> (Vec<u8>, &'static Encoding) {
    let stated = match stated {
        EncodingSpec::Utf8 => UTF_8,
        EncodingSpec::Windows1252 => WINDOWS_1252,
    };
    let Some((encoding, length)) = Encoding::for_bom(&bytes) else { return (bytes, stated) };
    let what = format!("the file begins with the byte-order mark of {}", encoding.name());
    let done = if encoding == stated { "skipped" } else { "the file was read in that encoding" };
    dirt.note(file, 1, DirtKind::ByteOrderMark, what, done);
    let rest = &bytes[length..];
    if encoding == UTF_16LE || encoding == UTF_16BE {
        (encoding.decode_without_bom_handling(rest).0.into_owned().into_bytes(), UTF_8)
    } else {
        (rest.to_vec(), UTF_8)
    }
}

/// Each line end as one line feed, a lone carriage return too, so that lines are counted as editors count them.
fn with_plain_line_ends(bytes: Vec<u8>) -> Vec<u8> {
    if !bytes.contains(&b'\r') {
        return bytes;
    }
    let mut plain = Vec::with_capacity(bytes.len());
    for (place, &byte) in bytes.iter().enumerate() {
        match byte {
            b'\r' if bytes.get(place + 1) == Some(&b'\n') => {}
            b'\r' => plain.push(b'\n'),
            other => plain.push(other),
        }
    }
    plain
}

/// The bytes behind so many lines, and how many there were.
fn without_lines(bytes: &[u8], lines: u32) -> (&[u8], u64) {
    let (mut rest, mut skipped) = (bytes, 0);
    while skipped < u64::from(lines) {
        let Some(end) = rest.iter().position(|&byte| byte == b'\n') else { break };
        rest = &rest[end + 1..];
        skipped += 1;
    }
    (rest, skipped)
}
