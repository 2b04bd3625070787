//! Rows of a log, split into fields without a copy: one buffer, one pass over the bytes.
//!
//! The rules are those of RFC 4180: fields between commas, quoted where they hold a comma, a quote or a line end, quotes
//! doubled. Line ends are LF or CR LF; empty lines are passed over. A log has a few dozen bytes in a row and hardly a
//! quote, and for that it is made: a general reader of CSV takes twice as long for the same bytes.

use crate::source::Source;
use std::io::{self, Read};
use std::ops::Index;

/// Bytes asked for at a time.
const BUFFER_BYTES: usize = 1 << 16;

/// Longest row. A quote without its partner would make a row of the whole file, and memory would grow with it.
pub(crate) const LONGEST_ROW_BYTES: usize = 1 << 20;

/// Fields whose place is kept; a row may have more, and then it is wrong.
const MOST_FIELDS: usize = 16;

/// The rows of a file.
pub(crate) struct Rows<R: Read> {
    source: Source<R>,
    buffer: Vec<u8>,
    /// What is read and not yet passed, in `buffer`.
    start: usize,
    end: usize,
    /// The source has no more.
    at_end: bool,
    /// Line on which the present row begins, from 1, and that of the row after it.
    line: u64,
    next_line: u64,
    rows: u64,
    fields: Fields,
    /// Where the present row begins in `buffer`, unless its quotes were taken off into `plain`.
    base: usize,
    plain: Vec<u8>,
    is_plain: bool,
    cut: bool,
}

/// Where the fields of a row end, from its beginning.
#[derive(Default)]
struct Fields {
    ends: [u32; MOST_FIELDS],
    count: usize,
    /// A bit for each of the first fields that is not empty.
    filled: u32,
}

impl Fields {
    #[inline]
    fn close(&mut self, start: usize, end: usize) {
        if self.count < MOST_FIELDS {
            self.ends[self.count] = end as u32;
            self.filled |= u32::from(end > start) << self.count;
        }
        self.count += 1;
    }
}

/// One row.
#[derive(Clone, Copy)]
pub(crate) struct Record<'a> {
    bytes: &'a [u8],
    fields: &'a Fields,
}

impl Record<'_> {
    /// Number of fields.
    pub(crate) fn len(&self) -> usize {
        self.fields.count
    }

    /// A bit for each field that is not empty.
    pub(crate) fn filled(&self) -> u32 {
        self.fields.filled
    }
}

impl Index<usize> for Record<'_> {
    type Output = [u8];

    /// A field; empty where the row is too short.
    #[inline]
    fn index(&self, place: usize) -> &[u8] {
        if place >= self.fields.count.min(MOST_FIELDS) {
            return &[];
        }
        let start = if place == 0 { 0 } else { self.fields.ends[place - 1] as usize + 1 };
        &self.bytes[start..self.fields.ends[place] as usize]
    }
}

/// Why there is no next row.
#[derive(Debug)]
pub(crate) enum RowError {
    /// Reading failed.
    Read(io::Error),
    /// The row that begins here does not end within [`LONGEST_ROW_BYTES`].
    TooLong,
}

impl<R: Read> Rows<R> {
    pub(crate) fn new(source: Source<R>) -> Self {
        Self {
            source,
            buffer: vec![0; BUFFER_BYTES],
            start: 0,
            end: 0,
            at_end: false,
            line: 1,
            next_line: 1,
            rows: 0,
            fields: Fields::default(),
            base: 0,
            plain: Vec::new(),
            is_plain: false,
            cut: false,
        }
    }

    /// Goes on to the next row; false at the end of the file.
    #[inline]
    pub(crate) fn advance(&mut self) -> Result<bool, RowError> {
        loop {
            self.line = self.next_line;
            let Some(length) = self.split()? else { return Ok(false) };
            self.base = self.start;
            self.start += length;
            // An empty line is no row.
            if self.fields.count > 1 || self.fields.filled != 0 || self.is_plain {
                self.rows += 1;
                return Ok(true);
            }
        }
    }

    /// The row of the last [`Self::advance`].
    #[inline]
    pub(crate) fn record(&self) -> Record<'_> {
        let bytes = if self.is_plain { &self.plain[..] } else { &self.buffer[self.base..] };
        Record { bytes, fields: &self.fields }
    }

    /// Its text from one field to another with the comma after each; `None` where its quotes were taken off, or it has no
    /// field after them.
    pub(crate) fn text_of(&self, from: usize, to: usize) -> Option<&[u8]> {
        let ends = &self.fields.ends[..self.fields.count.min(MOST_FIELDS)];
        if self.is_plain || to + 1 >= ends.len() {
            return None;
        }
        let start = from.checked_sub(1).map_or(0, |before| ends[before] as usize + 1);
        self.buffer[self.base..].get(start..=ends[to] as usize)
    }

    /// What is read and not yet passed.
    #[inline]
    pub(crate) fn ahead(&self) -> &[u8] {
        &self.buffer[self.start..self.end]
    }

    /// Passes a row that is no longer than what is [`Self::ahead`] and ends with the only line end in it.
    #[inline]
    pub(crate) fn pass(&mut self, length: usize) {
        self.start += length;
        self.line = self.next_line;
        self.next_line += 1;
        self.rows += 1;
    }

    /// Line of the file on which it begins, from 1; at the end of the file the line after the last one.
    pub(crate) fn line(&self) -> u64 {
        self.line
    }

    /// Rows up to it.
    pub(crate) fn rows(&self) -> u64 {
        self.rows
    }

    /// The file ends within it: there is no line end after it.
    pub(crate) fn is_cut(&self) -> bool {
        self.cut
    }

    /// Splits the next row and gives the bytes that it takes, its line end included; `None` at the end of the file.
    fn split(&mut self) -> Result<Option<usize>, RowError> {
        loop {
            if let Some(length) = self.split_without_quotes() {
                return Ok(Some(length));
            }
            if let Some(length) = self.split_with_quotes() {
                return Ok(Some(length));
            }
            if self.at_end {
                return Ok(None);
            }
            self.fill()?;
        }
    }

    /// The row that is common: no quote in it and its end in the buffer.
    #[inline]
    fn split_without_quotes(&mut self) -> Option<usize> {
        let bytes = &self.buffer[self.start..self.end];
        let fields = &mut self.fields;
        (fields.count, fields.filled) = (0, 0);
        let mut from = 0;
        for (number, eight) in bytes.chunks(8).enumerate() {
            let mut marks = marks(eight);
            while marks != 0 {
                let place = 8 * number + marks.trailing_zeros() as usize / 8;
                marks &= marks - 1;
                match bytes[place] {
                    b',' => {
                        fields.close(from, place);
                        from = place + 1;
                    }
                    b'\n' => {
                        let end = if place > from && bytes[place - 1] == b'\r' { place - 1 } else { place };
                        fields.close(from, end);
                        self.is_plain = false;
                        self.cut = false;
                        self.next_line = self.line + 1;
                        return Some(place + 1);
                    }
                    b'"' => return None,
                    _ => {}
                }
            }
        }
        None
    }

    /// Any row; `None` if its end is not in the buffer and more may follow.
    fn split_with_quotes(&mut self) -> Option<usize> {
        let bytes = &self.buffer[self.start..self.end];
        let (mut quoted, mut field_begins, mut lines, mut from, mut place) = (false, true, 0, 0, 0);
        self.plain.clear();
        self.fields = Fields::default();
        let mut terminated = false;
        while let Some(&byte) = bytes.get(place) {
            place += 1;
            lines += u64::from(byte == b'\n');
            match byte {
                b'"' if quoted && bytes.get(place) == Some(&b'"') => {
                    self.plain.push(b'"');
                    place += 1;
                }
                b'"' if quoted => quoted = false,
                b'"' if field_begins => quoted = true,
                b',' if !quoted => {
                    self.fields.close(from, self.plain.len());
                    self.plain.push(b',');
                    from = self.plain.len();
                    field_begins = true;
                    continue;
                }
                b'\n' if !quoted => {
                    terminated = true;
                    break;
                }
                _ => self.plain.push(byte),
            }
            field_begins = false;
        }
        let is_last = self.at_end && place > 0;
        if !terminated && !is_last {
            return None;
        }
        if terminated && bytes[..place - 1].ends_with(b"\r") && self.plain.last() == Some(&b'\r') {
            self.plain.pop();
        }
        self.fields.close(from, self.plain.len().max(from));
        self.is_plain = true;
        self.cut = !terminated;
        self.next_line = self.line + lines;
        Some(place)
    }

    /// Reads more behind what is left of the buffer.
    fn fill(&mut self) -> Result<(), RowError> {
        self.buffer.copy_within(self.start..self.end, 0);
        self.end -= self.start;
        self.start = 0;
        if self.end >= LONGEST_ROW_BYTES {
            return Err(RowError::TooLong);
        }
        if self.end == self.buffer.len() {
            self.buffer.resize(2 * self.buffer.len(), 0);
        }
        loop {
            match self.source.read(&mut self.buffer[self.end..]) {
                Ok(read) => {
                    self.end += read;
                    self.at_end = read == 0;
                    return Ok(());
                }
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(RowError::Read(error)),
            }
        }
    }
}

/// The high bit of each byte that can be a comma, quote or line end: those below `-`. Eight bytes at a time (fewer at the
/// end of the buffer): letters, digits and the decimal point need no look of their own.
#[inline]
fn marks(bytes: &[u8]) -> u64 {
    const ONES: u64 = u64::MAX / 255;
    const HIGH: u64 = 128 * ONES;
    let eight = match bytes.try_into() {
        Ok(eight) => u64::from_le_bytes(eight),
        Err(_) => bytes.iter().rev().fold(0, |all, &byte| all << 8 | u64::from(byte)),
    };
    let here = if bytes.len() < 8 { (1 << (8 * bytes.len())) - 1 } else { u64::MAX };
    // With its high bit set no byte borrows from the next one.
    let not_below = (eight | HIGH) - u64::from(b'-') * ONES;
    !not_below & !eight & HIGH & here
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Gives its bytes a few at a time.
    struct Drops<'a>(&'a [u8], usize);

    impl Read for Drops<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            let many = self.1.min(self.0.len()).min(buffer.len());
            buffer[..many].copy_from_slice(&self.0[..many]);
            self.0 = &self.0[many..];
            Ok(many)
        }
    }

    fn rows_of(bytes: &[u8], drop: usize) -> Vec<(u64, Vec<Vec<u8>>)> {
        let mut rows = Rows::new(Source::new(Drops(bytes, drop)).unwrap());
        let mut found = Vec::new();
        while rows.advance().unwrap() {
            let record = rows.record();
            let fields: Vec<Vec<u8>> = (0..record.len()).map(|place| record[place].to_vec()).collect();
            for (place, field) in fields.iter().enumerate() {
                assert_eq!(record.filled() >> place & 1 == 1, !field.is_empty());
            }
            found.push((rows.line(), fields));
        }
        assert_eq!(rows.rows(), found.len() as u64);
        found
    }

    fn rows_of_csv_crate(bytes: &[u8]) -> Vec<(u64, Vec<Vec<u8>>)> {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
        let rows = reader.byte_records().map(|record| {
            let record = record.unwrap();
            (record.position().unwrap().line(), record.iter().map(<[u8]>::to_vec).collect())
        });
        rows.collect()
    }

    #[test]
    fn a_cut_row_is_known() {
        for (text, cut) in
            [("a,b\n", false), ("a,b", true), ("a,\"b\nc\"\r\n", false), ("a,\"b\nc", true), ("a,", true)]
        {
            let mut rows = Rows::new(Source::new(text.as_bytes()).unwrap());
            assert!(rows.advance().unwrap());
            assert_eq!(rows.is_cut(), cut, "{text:?}");
            assert_eq!(rows.record().len(), 2, "{text:?}");
            assert!(!rows.advance().unwrap());
        }
    }

    #[test]
    fn a_quote_without_its_partner_does_not_swallow_the_file() {
        let text = ["a,\"b\n", &"c,d\n".repeat(LONGEST_ROW_BYTES)].concat();
        let mut rows = Rows::new(Source::new(text.as_bytes()).unwrap());
        assert!(matches!(rows.advance(), Err(RowError::TooLong)));
        assert!(rows.buffer.len() <= 2 * LONGEST_ROW_BYTES);
    }

    proptest! {
        /// The same rows and lines as the csv crate finds. Left out: a CR that is no part of a line end, which that crate
        /// takes for one.
        #[test]
        fn rows_are_those_of_a_general_reader(
            text in prop::collection::vec(prop::sample::select(vec!["a", "bc", ",", ",", "\n", "\r\n", "\"", "\"\""]), 0..60),
            drop in 1_usize..40,
        ) {
            let text = text.concat();
            let ours = rows_of(text.as_bytes(), drop);
            let theirs = rows_of_csv_crate(text.as_bytes());
            let fields = |rows: &[(u64, Vec<Vec<u8>>)]| rows.iter().map(|row| row.1.clone()).collect::<Vec<_>>();
            prop_assert_eq!(fields(&ours), fields(&theirs));
        }
    }
}
