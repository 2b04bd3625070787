//! Rows on their way to a file: texts and exact decimals from integers, without floating-point formatting.
//!
//! A row is a dozen short texts. Each is copied as a block of fixed size, of which only its length counts: one instruction or
//! two, where a copy of just so many bytes is a call.

use linewake_model::time::MICROS_PER_SECOND;

/// Bytes of a block: most names are no longer.
const BLOCK: usize = 32;

/// "00" to "99".
const PAIRS: [[u8; 2]; 100] = {
    let (mut pairs, mut number) = ([[0; 2]; 100], 0);
    while number < pairs.len() {
        pairs[number] = [b'0' + (number / 10) as u8, b'0' + (number % 10) as u8];
        number += 1;
    }
    pairs
};

/// A text that is put into many rows.
pub(crate) struct Text {
    block: [u8; BLOCK],
    length: usize,
    /// The whole of one that is longer than a block.
    long: Option<Box<[u8]>>,
}

impl Text {
    pub(crate) fn new(text: &[u8]) -> Self {
        let mut block = [0; BLOCK];
        for (to, from) in block.iter_mut().zip(text) {
            *to = *from;
        }
        Self { block, length: text.len(), long: (text.len() > BLOCK).then(|| text.into()) }
    }

    /// A word of the log, with the comma after it.
    pub(crate) fn word(word: &str) -> Self {
        Self::new(format!("{word},").as_bytes())
    }
}

/// Gathers rows.
pub(crate) struct RowBuffer {
    bytes: Vec<u8>,
    end: usize,
}

impl RowBuffer {
    /// An empty one, with room for so many bytes and a few more; it grows where that is too little.
    pub(crate) fn new(bytes: usize) -> Self {
        Self { bytes: vec![0; bytes + BLOCK], end: 0 }
    }

    /// What was put into it.
    pub(crate) fn bytes(&self) -> &[u8] {
        &self.bytes[..self.end]
    }

    pub(crate) fn clear(&mut self) {
        self.end = 0;
    }

    /// The next `N` bytes.
    #[inline]
    fn room<const N: usize>(&mut self) -> &mut [u8; N] {
        if self.bytes.len() < self.end + N {
            self.grow(N);
        }
        match self.bytes[self.end..].first_chunk_mut() {
            Some(room) => room,
            None => unreachable!("there is room, or it was made"),
        }
    }

    #[cold]
    fn grow(&mut self, more: usize) {
        self.bytes.resize(2 * (self.end + more), 0);
    }

    #[inline]
    pub(crate) fn put(&mut self, text: &Text) {
        match &text.long {
            None => {
                *self.room() = text.block;
                self.end += text.length;
            }
            Some(long) => self.put_slice(long),
        }
    }

    #[inline]
    pub(crate) fn put_array<const N: usize>(&mut self, text: &[u8; N]) {
        *self.room() = *text;
        self.end += N;
    }

    #[inline]
    pub(crate) fn put_slice(&mut self, text: &[u8]) {
        if self.bytes.len() < self.end + text.len() {
            self.grow(text.len());
        }
        self.bytes[self.end..self.end + text.len()].copy_from_slice(text);
        self.end += text.len();
    }

    /// Puts an integer.
    #[inline]
    pub(crate) fn put_integer(&mut self, mut number: u64) {
        let digits = digits_of(number);
        let room = self.room::<BLOCK>();
        let mut place = digits;
        while place > 1 {
            place -= 2;
            [room[place], room[place + 1]] = PAIRS[(number % 100) as usize];
            number /= 100;
        }
        if place == 1 {
            room[0] = b'0' + number as u8;
        }
        self.end += digits;
    }

    /// Puts millionths with six decimals: microseconds as seconds, micrograms as grams.
    #[inline]
    pub(crate) fn put_millionths(&mut self, millionths: u64) {
        self.put_integer(millionths / MICROS_PER_SECOND);
        let rest = (millionths % MICROS_PER_SECOND) as u32;
        let [a, b] = PAIRS[(rest / 10_000 % 100) as usize];
        let [c, d] = PAIRS[(rest / 100 % 100) as usize];
        let [e, f] = PAIRS[(rest % 100) as usize];
        self.put_array(&[b'.', a, b, c, d, e, f]);
    }

    /// What was put since it held so many bytes; for times, which are shorter than a block.
    #[inline]
    pub(crate) fn block_since(&mut self, start: usize) -> Text {
        let length = self.end - start;
        match self.bytes[start..].first_chunk() {
            Some(block) if length <= BLOCK => Text { block: *block, length, long: None },
            _ => Text::new(&self.bytes[start..self.end]),
        }
    }

    /// How many bytes it holds.
    #[inline]
    pub(crate) fn len(&self) -> usize {
        self.end
    }
}

/// How many digits a number has; most numbers of a log are small.
#[inline]
fn digits_of(number: u64) -> usize {
    match number {
        0..10 => 1,
        10..100 => 2,
        100..1_000 => 3,
        1_000..10_000 => 4,
        10_000..100_000 => 5,
        _ => number.ilog10() as usize + 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::row::millionths;

    fn text(put: impl Fn(&mut RowBuffer)) -> String {
        let mut out = RowBuffer::new(0);
        put(&mut out);
        String::from_utf8(out.bytes().to_vec()).unwrap()
    }

    #[test]
    fn integers_of_every_length_are_written_as_the_standard_library_does() {
        let mut number = 1_u64;
        for _ in 0..20 {
            for near in [number - 1, number, number + 1, number.wrapping_mul(7)] {
                assert_eq!(text(|out| out.put_integer(near)), near.to_string());
            }
            number = number.saturating_mul(10);
        }
        assert_eq!(text(|out| out.put_integer(u64::MAX)), u64::MAX.to_string());
    }

    #[test]
    fn millionths_have_six_decimals_and_come_back() {
        assert_eq!(text(|out| out.put_millionths(0)), "0.000000");
        assert_eq!(text(|out| out.put_millionths(4_615_385)), "4.615385");
        assert_eq!(text(|out| out.put_millionths(28_800_000_001)), "28800.000001");
        assert_eq!(text(|out| out.put_millionths(u64::MAX)), "18446744073709.551615");
        for value in [0, 1, 99, 1_000_000, 405_123_456, u64::MAX] {
            assert_eq!(millionths(text(|out| out.put_millionths(value)).as_bytes()), Some(value));
        }
    }

    #[test]
    fn texts_of_every_length_stand_whole_one_after_the_other() {
        let mut out = RowBuffer::new(0);
        let mut due = Vec::new();
        for length in 0..3 * BLOCK {
            let piece: Vec<u8> = (0..length).map(|place| b'a' + (place % 26) as u8).collect();
            let start = out.len();
            out.put(&Text::new(&piece));
            let again = out.block_since(start);
            out.put_array(b",\n");
            out.put_slice(&piece);
            out.put(&again);
            due.extend([&piece[..], b",\n", &piece, &piece].concat());
        }
        assert_eq!(out.bytes(), due);
        out.clear();
        out.put(&Text::word("former"));
        assert_eq!(out.bytes(), b"former,");
    }
}
