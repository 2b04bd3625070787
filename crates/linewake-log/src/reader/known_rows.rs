//! Rows whose words have been seen before. All but the numbers of a log repeats itself: a few dozen times event, station,
//! states, reason and key, in row after row. What such words mean is worked out once, by [`super::event_row`], and kept;
//! of a row that begins with them only time and numbers are left to read.
//!
//! Nothing is judged here. A row that is not of the plainest form (other words, a quote, a number that is missing, too
//! large or of unusual form) is left to the reading of rows by their fields, which takes it or says what is wrong.

use super::event_row::{MOST_OF_TIME_AND_MASS, MOST_PIECES, most_of};
use crate::event::{EventKind, NO_CONTENT, NO_ITEM};

/// Most words that are kept, so that no file fills the memory.
const MOST_KNOWN: usize = 1 << 12;

/// Longest words that are kept, in bytes.
const LONGEST_BYTES: usize = 256;

/// Commas of the words: those of the columns event, station, from, to, reason and key.
const COMMAS: u32 = 6;

/// Most digits of a number here: what has more may be too large for the computer's.
const MOST_DIGITS: usize = 18;

const ONES: u64 = u64::MAX / 255;
const LOW: u64 = 127 * ONES;

/// What words mean, found by their text: an open hash table, the same on every machine.
pub(super) struct KnownRows {
    known: Vec<Known>,
    /// Place in `known` + 1, or 0; the length is a power of two.
    table: Vec<u16>,
}

struct Known {
    /// The text of the columns event to key, with the comma after each.
    words: Box<[u8]>,
    hash: u64,
    station: u16,
    /// An event of this kind; its numbers are those of some row.
    kind: EventKind,
}

/// A row as it was read: time in microseconds, station, what happened, and its length in bytes.
pub(super) struct KnownRow {
    pub(super) at_us: u64,
    pub(super) station: u16,
    pub(super) kind: EventKind,
    pub(super) length: usize,
}

impl KnownRows {
    pub(super) fn new() -> Self {
        Self { known: Vec::new(), table: vec![0; 2 * MOST_KNOWN] }
    }

    /// Keeps what words mean: `text` is that of the columns event to key of a row without quotes, with the comma after
    /// each, and `kind` what the row told.
    #[cold]
    pub(super) fn learn(&mut self, text: &[u8], station: u16, kind: EventKind) {
        let mut padded = text.to_vec();
        padded.extend_from_slice(&[0; 8]);
        let Some((length, hash)) = words_of(&padded).filter(|(length, _)| *length == text.len()) else {
            return;
        };
        if self.known.len() >= MOST_KNOWN || length > LONGEST_BYTES || self.find(text, hash).is_some() {
            return;
        }
        let mut place = self.place(hash);
        while self.table[place] != 0 {
            place = self.after(place);
        }
        self.known.push(Known { words: text.into(), hash, station, kind });
        self.table[place] = self.known.len() as u16;
    }

    /// Reads the row with which the bytes begin, if its words are known, all of it is here, and it is plain.
    #[inline]
    pub(super) fn read(&self, bytes: &[u8]) -> Option<KnownRow> {
        let mut rest = Rest(bytes);
        let at_us = rest.millionths()?;
        rest.byte(b',')?;
        let (length, hash) = words_of(rest.0)?;
        let (words, numbers) = rest.0.split_at_checked(length)?;
        let known = self.find(words, hash)?;
        rest = Rest(numbers);
        let kind = rest.numbers_of(known.kind)?;
        Some(KnownRow { at_us, station: known.station, kind, length: bytes.len() - rest.0.len() })
    }

    #[inline]
    fn find(&self, words: &[u8], hash: u64) -> Option<&Known> {
        let mut place = self.place(hash);
        loop {
            let known = self.known.get(usize::from(self.table[place]).checked_sub(1)?)?;
            if known.hash == hash && *known.words == *words {
                return Some(known);
            }
            place = self.after(place);
        }
    }

    #[inline]
    fn place(&self, hash: u64) -> usize {
        (hash >> 32) as usize & (self.table.len() - 1)
    }

    #[inline]
    fn after(&self, place: usize) -> usize {
        (place + 1) & (self.table.len() - 1)
    }
}

/// Length of the words with which the bytes begin, their last comma included, and their hash: eight bytes at a time. `None`
/// if less than eight bytes follow somewhere on the way.
#[inline]
fn words_of(bytes: &[u8]) -> Option<(usize, u64)> {
    let (mut hash, mut commas, mut length) = (0_u64, 0, 0);
    loop {
        let eight = u64::from_le_bytes(*bytes.get(length..)?.first_chunk()?);
        let other = eight ^ (u64::from(b',') * ONES);
        // The high bit of each byte that is a comma.
        let mut marks = !(((other & LOW) + LOW) | other | LOW);
        while marks != 0 {
            commas += 1;
            if commas == COMMAS {
                let bits = marks.trailing_zeros() + 1;
                let ours = eight & (u64::MAX >> (64 - bits));
                return Some((length + bits as usize / 8, mixed(hash, ours)));
            }
            marks &= marks - 1;
        }
        hash = mixed(hash, eight);
        length += 8;
        if length > LONGEST_BYTES {
            return None;
        }
    }
}

/// A multiplicative hash, whose high bits depend on all others.
#[inline]
fn mixed(hash: u64, eight: u64) -> u64 {
    (hash.rotate_left(23) ^ eight).wrapping_mul(0x9e37_79b9_7f4a_7c15)
}

/// What is left of a row.
struct Rest<'a>(&'a [u8]);

impl Rest<'_> {
    /// Reads the numbers of an event of the kind, and the end of the row.
    #[inline]
    fn numbers_of(&mut self, kind: EventKind) -> Option<EventKind> {
        Some(match kind {
            EventKind::State { from, to, reason, .. } => {
                self.byte(b',')?;
                let made = self.at_most(MOST_PIECES)?;
                self.byte(b',')?;
                let content_before = self.content_or_none()?;
                self.byte(b',')?;
                let content_after = self.content_or_none()?;
                self.text(b",,,")?;
                self.line_end()?;
                EventKind::State { from, to, reason, made, content_before, content_after }
            }
            EventKind::Count { counter, reason, .. } => {
                let value = self.at_most(most_of(counter))?;
                self.text(b",,,,,,")?;
                self.line_end()?;
                EventKind::Count { counter, reason, value }
            }
            EventKind::Content { .. } => {
                let pieces = self.content()?;
                self.text(b",,,,,,")?;
                self.line_end()?;
                EventKind::Content { pieces }
            }
            EventKind::Pack { step, reason, .. } => {
                self.text(b",,,,")?;
                let item = self.item_or_none()?;
                self.byte(b',')?;
                let into = self.item_or_none()?;
                self.byte(b',')?;
                let weight_ug = if self.0.first()?.is_ascii_digit() { self.millionths()? } else { 0 };
                self.line_end()?;
                EventKind::Pack { step, item, into, reason, weight_ug }
            }
            EventKind::Call { .. } => {
                self.text(b",,,,,,")?;
                self.line_end()?;
                kind
            }
            // Once in a log.
            EventKind::WarmUpEnd | EventKind::End => return None,
        })
    }

    #[inline]
    fn byte(&mut self, due: u8) -> Option<()> {
        let (&first, rest) = self.0.split_first()?;
        self.0 = rest;
        (first == due).then_some(())
    }

    #[inline]
    fn text<const N: usize>(&mut self, due: &[u8; N]) -> Option<()> {
        let (first, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        (first == due).then_some(())
    }

    #[inline]
    fn line_end(&mut self) -> Option<()> {
        if *self.0.first()? == b'\r' {
            self.byte(b'\r')?;
        }
        self.byte(b'\n')
    }

    /// A whole number, and how many digits it has: at least one.
    #[inline]
    fn digits(&mut self) -> Option<(u64, usize)> {
        let (mut number, mut digits) = (0_u64, 0);
        loop {
            let digit = self.0.get(digits)?.wrapping_sub(b'0');
            if digit > 9 {
                break;
            }
            number = number.wrapping_mul(10).wrapping_add(u64::from(digit));
            digits += 1;
        }
        self.0 = self.0.get(digits..)?;
        (1..=MOST_DIGITS).contains(&digits).then_some((number, digits))
    }

    #[inline]
    fn at_most(&mut self, most: u64) -> Option<u64> {
        self.digits().map(|(number, _)| number).filter(|&number| number <= most)
    }

    /// A number with a point and six decimals.
    #[inline]
    fn millionths(&mut self) -> Option<u64> {
        let (whole, _) = self.digits()?;
        self.byte(b'.')?;
        let (decimals, digits) = self.digits()?;
        // No time or mass of a log has so many seconds or grams; below it the sum fits, so it is worked out only then.
        (digits == 6 && whole < MOST_OF_TIME_AND_MASS >> 20).then(|| whole * 1_000_000 + decimals)
    }

    #[inline]
    fn content(&mut self) -> Option<u32> {
        self.at_most(u64::from(NO_CONTENT) - 1).map(|pieces| pieces as u32)
    }

    #[inline]
    fn content_or_none(&mut self) -> Option<u32> {
        if *self.0.first()? == b',' { Some(NO_CONTENT) } else { self.content() }
    }

    #[inline]
    fn item_or_none(&mut self) -> Option<u64> {
        if *self.0.first()? == b',' { Some(NO_ITEM) } else { self.at_most(NO_ITEM - 1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::{Counter, StationState};
    use linewake_model::stop::Reason;

    fn count(value: u64) -> EventKind {
        EventKind::Count { counter: Counter::Made, reason: Reason::NONE, value }
    }

    #[test]
    fn a_row_with_known_words_is_read_and_no_other() {
        let mut known = KnownRows::new();
        let row = b"12.345678,count,former,,,,made,1234,,,,,,\n12.345678,count";
        assert!(known.read(row).is_none(), "nothing is known yet");
        known.learn(b"count,former,,,,made,", 3, count(1));
        let read = known.read(row).map(|row| (row.at_us, row.station, row.kind, row.length));
        assert_eq!(read, Some((12_345_678, 3, count(1234), row.len() - b"12.345678,count".len())));
        let others: [&[u8]; 7] = [
            b"12.345678,count,former,,,,cased,1234,,,,,,\n",
            b"12.345678,count,former,,,,made,,,,,,,\n..",
            b"12.345678,count,former,,,,made,1234,,,,,,",
            b"12.34567,count,former,,,,made,1234,,,,,,\n",
            b"12.345678,count,former,,,,made,12345678901234567,,,,,,\n",
            b"12.345678,count,former,,,,made,1234,,,,,\n,",
            b"999999999999999999.000000,count,former,,,,made,1234,,,,,,\n",
        ];
        for other in others {
            assert!(known.read(other).is_none(), "{}", String::from_utf8_lossy(other));
        }
    }

    #[test]
    fn every_kind_of_words_is_told_apart_and_there_are_not_too_many() {
        let mut known = KnownRows::new();
        let words = |station: usize| format!("state,station {station},running,starved,,,");
        let (from, to) = (StationState::Running, StationState::Starved);
        let kind = |made| {
            let (content_before, content_after) = (NO_CONTENT, 7);
            EventKind::State { from, to, reason: Reason::NONE, made, content_before, content_after }
        };
        for station in 0..2 * MOST_KNOWN {
            known.learn(words(station).as_bytes(), station as u16, kind(0));
        }
        assert_eq!(known.known.len(), MOST_KNOWN);
        for station in 0..2 * MOST_KNOWN {
            let row = format!("1.000000,{},5,,7,,,\r\n", words(station));
            let read = known.read(row.as_bytes()).map(|row| (row.station, row.kind, row.length));
            let due = (station as u16, kind(5), row.len());
            assert_eq!(read, (station < MOST_KNOWN).then_some(due));
        }
    }
}
