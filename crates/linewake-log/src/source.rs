//! The bytes of a log, unpacked if they are gzip.

use flate2::read::MultiGzDecoder;
use std::io::{self, Chain, Cursor, Read};

/// First two bytes of a gzip file (RFC 1952).
const GZIP: [u8; 2] = [0x1f, 0x8b];

type Whole<R> = Chain<Cursor<Vec<u8>>, R>;

/// Plain or gzip bytes, told apart by their first two.
pub(crate) enum Source<R: Read> {
    Plain(Whole<R>),
    /// All members, one after the other.
    Gzip(Box<MultiGzDecoder<Whole<R>>>),
}

impl<R: Read> Source<R> {
    pub(crate) fn new(mut file: R) -> io::Result<Self> {
        let mut start = Vec::with_capacity(GZIP.len());
        file.by_ref().take(GZIP.len() as u64).read_to_end(&mut start)?;
        let is_gzip = start == GZIP;
        let whole = Cursor::new(start).chain(file);
        Ok(if is_gzip { Self::Gzip(Box::new(MultiGzDecoder::new(whole))) } else { Self::Plain(whole) })
    }
}

impl<R: Read> Read for Source<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        match self {
            Self::Plain(file) => file.read(buffer),
            Self::Gzip(file) => file.read(buffer),
        }
    }
}
