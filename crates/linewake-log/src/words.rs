//! Finds the number of a word: a small open hash table, the same on every machine.

use std::borrow::Cow;

/// Words with their numbers, 0, 1, 2, ... in the order given.
pub(crate) struct Words {
    words: Vec<Box<[u8]>>,
    /// A word's key and its number + 1, or 0 where there is none; the length is a power of two.
    table: Vec<(Key, u32)>,
}

/// Length, begin and end of a word; of up to 16 bytes it is the whole word.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
struct Key {
    length: usize,
    begin: u64,
    end: u64,
}

impl Key {
    #[inline]
    fn of(word: &[u8]) -> Self {
        let length = word.len();
        let (begin, end) = if let (Some(begin), Some(end)) = (word.first_chunk(), word.last_chunk()) {
            (u64::from_le_bytes(*begin), u64::from_le_bytes(*end))
        } else if let (Some(begin), Some(end)) = (word.first_chunk(), word.last_chunk()) {
            (u64::from(u32::from_le_bytes(*begin)), u64::from(u32::from_le_bytes(*end)))
        } else {
            (word.iter().fold(0, |all, &byte| all << 8 | u64::from(byte)), 0)
        };
        Self { length, begin, end }
    }

    /// Spreads words over the table: a multiplicative hash, whose high bits depend on all others.
    #[inline]
    fn place(&self) -> usize {
        let mixed = self.begin ^ self.end.rotate_left(29) ^ self.length as u64;
        (mixed.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 32) as usize
    }
}

impl Words {
    /// Numbers the words; of equal ones the first is found.
    pub(crate) fn new<'a>(words: impl Iterator<Item = &'a str>) -> Self {
        let words: Vec<Box<[u8]>> = words.map(|word| word.as_bytes().into()).collect();
        let mut table = vec![(Key::default(), 0); (4 * words.len()).next_power_of_two()];
        let last = table.len() - 1;
        for (number, word) in (1..).zip(&words) {
            let key = Key::of(word);
            let mut place = key.place() & last;
            while table[place].1 != 0 {
                place = (place + 1) & last;
            }
            table[place] = (key, number);
        }
        Self { words, table }
    }

    /// The number of the word.
    #[inline]
    pub(crate) fn find(&self, word: &[u8]) -> Option<usize> {
        let last = self.table.len() - 1;
        let key = Key::of(word);
        let mut place = key.place() & last;
        loop {
            let (known, number) = self.table[place];
            let number = (number as usize).checked_sub(1)?;
            if known == key && (word.len() <= 16 || *self.words[number] == *word) {
                return Some(number);
            }
            place = (place + 1) & last;
        }
    }

    /// All words, for messages.
    pub(crate) fn all(&self) -> impl Iterator<Item = Cow<'_, str>> {
        self.words.iter().map(|word| String::from_utf8_lossy(word))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_is_found_and_no_other() {
        for before in ["", "s", "stat", "the station with the number", "station "] {
            let words: Vec<String> = (0..2000).map(|number| format!("{before}{number}")).collect();
            let table = Words::new(words.iter().map(String::as_str));
            for (number, word) in words.iter().enumerate() {
                assert_eq!(table.find(word.as_bytes()), Some(number));
            }
            assert_eq!(table.find(format!("{before}2000").as_bytes()), None);
            assert_eq!(table.find(b"\0"), None);
            assert_eq!(table.find(b""), None);
        }
        assert_eq!(Words::new(std::iter::empty()).find(b"former"), None);
        assert_eq!(Words::new(["", "jam", ""].into_iter()).find(b""), Some(0));
    }
}
