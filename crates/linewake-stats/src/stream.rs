//! Named random streams: the only file that names a generator.
//!
//! Every random quantity asks for a stream by its own name. A stream depends on nothing but (seed, replication,
//! name), so a new station or a changed parameter disturbs no other stream, and two models that run with one seed
//! see the same luck wherever they ask the same question (common random numbers).
//!
//! Scheme, version [`SCHEME_VERSION`]:
//! - generator: ChaCha with 8 rounds (Bernstein 2008), 64-bit block counter, 64-bit stream number;
//! - key (32 bytes): seed, 8 bytes little-endian; replication, 8 bytes little-endian; 16 zero bytes;
//! - stream number: [`stream_number`] of the name, a 64-bit FNV-1a hash of its UTF-8 bytes;
//! - value k (from 0) of a stream: words 2k (low half) and 2k + 1 (high half) of the key stream.

use core::convert::Infallible;
use rand::rngs::ChaCha8Rng;
use rand::{Rng, SeedableRng, TryRng};

/// Version of the rule that turns (seed, replication, name, index) into random bits.
///
/// It belongs into the header of whatever is kept of a run. Any change to the bits is a new version.
pub const SCHEME_VERSION: u32 = 1;

/// The family of streams of one replication of one seed.
///
/// ```
/// use linewake_stats::stream::Streams;
/// let streams = Streams::new(1, 0);
/// let mut in_turn = streams.get("loader/jam/between");
/// let mut by_index = streams.indexed("loader/jam/between");
/// assert_eq!(by_index.u64_at(1), { in_turn.next_u64(); in_turn.next_u64() });
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Streams {
    seed: u64,
    replication: u64,
}

impl Streams {
    /// The streams of replication `replication` (counted from 0) of `seed`.
    #[must_use]
    pub fn new(seed: u64, replication: u64) -> Self {
        Self { seed, replication }
    }

    /// The stream of that name, at its beginning, to be drawn from in turn.
    #[must_use]
    pub fn get(&self, name: &str) -> Stream {
        Stream { generator: self.generator(name) }
    }

    /// The stream of that name, to be read at any index.
    #[must_use]
    pub fn indexed(&self, name: &str) -> IndexedStream {
        let source = Windows { generator: self.generator(name), next: 0 };
        IndexedStream { source, start: NO_WINDOW, window: [0; WINDOW] }
    }

    /// What of the stream of that name lies below this probability, to be read at any index.
    #[must_use]
    pub fn chance(&self, name: &str, probability: f64) -> IndexedChance {
        let source = Windows { generator: self.generator(name), next: 0 };
        // ((bits >> 12) + 1/2) / 2^52 < p means bits >> 12 < p 2^52 - 1/2, and all of this is exact.
        let limit = (probability * (1_u64 << 52) as f64 - 0.5).ceil() as u64;
        IndexedChance { source, probability, limit, start: NO_WINDOW, happens: 0 }
    }

    fn generator(&self, name: &str) -> ChaCha8Rng {
        let mut key = [0; 32];
        key[..8].copy_from_slice(&self.seed.to_le_bytes());
        key[8..16].copy_from_slice(&self.replication.to_le_bytes());
        let mut generator = ChaCha8Rng::from_seed(key);
        generator.set_stream(stream_number(name));
        generator
    }
}

/// One random stream, drawn from in turn.
#[derive(Debug)]
pub struct Stream {
    generator: ChaCha8Rng,
}

impl Stream {
    /// The next 64 random bits.
    #[inline]
    pub fn next_u64(&mut self) -> u64 {
        self.generator.next_u64()
    }

    /// The next uniform number in the open interval (0, 1): never 0 and never 1.
    ///
    /// An odd multiple of 2^-53 (52 random bits), so that u and 1 - u are both exact.
    #[inline]
    pub fn open01(&mut self) -> f64 {
        to_open01(self.next_u64())
    }
}

/// Lets a [`Stream`] feed samplers of the `rand` family. Each call uses up whole 64-bit values, so that value k of
/// the stream stays value k whatever is asked for.
impl TryRng for Stream {
    type Error = Infallible;

    #[inline]
    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        Ok((self.generator.next_u64() >> 32) as u32)
    }

    #[inline]
    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        Ok(self.generator.next_u64())
    }

    fn try_fill_bytes(&mut self, bytes: &mut [u8]) -> Result<(), Infallible> {
        for chunk in bytes.chunks_mut(8) {
            let value = self.generator.next_u64().to_le_bytes();
            chunk.copy_from_slice(&value[..chunk.len()]);
        }
        Ok(())
    }
}

/// Values that are made at once and kept: 64 words, what the generator makes in one go.
const WINDOW: usize = 32;
/// No window starts here, since every start is a multiple of [`WINDOW`].
const NO_WINDOW: u64 = u64::MAX;

/// A generator that gives a stream by windows.
#[derive(Debug)]
struct Windows {
    generator: ChaCha8Rng,
    /// Index of the value that the generator makes next.
    next: u64,
}

impl Windows {
    /// Calls `each` with place and value of each value of the window that starts at that index.
    #[inline]
    fn read(&mut self, start: u64, mut each: impl FnMut(usize, u64)) {
        if start != self.next {
            self.generator.set_word_pos(2 * u128::from(start));
        }
        for place in 0..WINDOW {
            each(place, self.generator.next_u64());
        }
        // Behind the last window the generator goes on, not back to index 0.
        self.next = start.checked_add(WINDOW as u64).unwrap_or(NO_WINDOW);
    }
}

/// One random stream, read at any index: value k is value k of the [`Stream`] of the same name.
///
/// Reading upwards, or again within 32 neighbours, costs a few nanoseconds; a jump costs a refill (about 100 ns).
#[derive(Debug)]
pub struct IndexedStream {
    source: Windows,
    /// Index of the first value in the window.
    start: u64,
    window: [u64; WINDOW],
}

impl IndexedStream {
    /// The 64 random bits at `index`.
    #[inline]
    pub fn u64_at(&mut self, index: u64) -> u64 {
        let within = (index % WINDOW as u64) as usize;
        if index - within as u64 != self.start {
            self.fill(index - within as u64);
        }
        self.window[within]
    }

    /// The uniform number in the open interval (0, 1) at `index`; see [`Stream::open01`].
    #[inline]
    pub fn open01_at(&mut self, index: u64) -> f64 {
        to_open01(self.u64_at(index))
    }

    #[cold]
    fn fill(&mut self, start: u64) {
        let window = &mut self.window;
        self.source.read(start, |place, value| window[place] = value);
        self.start = start;
    }
}

/// What happens with one probability, read at any index: at k if value k of the [`Stream`] of the same name, as a
/// uniform number, is below the probability.
///
/// What happens at a small probability happens at a larger one too. At 0 or below nothing is drawn and nothing happens;
/// at 1 or above it always does.
#[derive(Debug)]
pub struct IndexedChance {
    source: Windows,
    probability: f64,
    /// It happens if the upper 52 bits of the value are below this.
    limit: u64,
    /// Index of the first bit of `happens`.
    start: u64,
    /// Whether it happens, one bit an index.
    happens: u32,
}

impl IndexedChance {
    /// Whether it happens at `index`.
    #[inline]
    pub fn happens_at(&mut self, index: u64) -> bool {
        self.probability > 0.0
            && (self.probability >= 1.0 || self.window_of(index) >> (index % WINDOW as u64) & 1 == 1)
    }

    /// Whether it happens at any of so many indexes from the first one on.
    #[inline]
    pub fn happens_among(&mut self, first: u64, count: u64) -> bool {
        if self.probability <= 0.0 || count == 0 {
            return false;
        }
        if self.probability >= 1.0 {
            return true;
        }
        let mut index = first;
        let mut left = count;
        while left > 0 {
            let within = index % WINDOW as u64;
            let here = left.min(WINDOW as u64 - within);
            let wanted = (u32::MAX >> (WINDOW as u64 - here)) << within;
            if self.window_of(index) & wanted != 0 {
                return true;
            }
            index += here;
            left -= here;
        }
        false
    }

    #[inline]
    fn window_of(&mut self, index: u64) -> u32 {
        let start = index - index % WINDOW as u64;
        if start != self.start {
            self.fill(start);
        }
        self.happens
    }

    #[cold]
    fn fill(&mut self, start: u64) {
        let (mut happens, limit) = (0, self.limit);
        self.source.read(start, |place, value| happens |= u32::from(value >> 12 < limit) << place);
        self.happens = happens;
        self.start = start;
    }
}

/// The number of the stream of that name: 64-bit FNV-1a of the UTF-8 bytes.
///
/// Two names with one number would share their luck; who makes up names can compare the numbers.
///
/// *Source*: Fowler, Noll and Vo, FNV-1a with the 64-bit offset basis and prime of RFC 9923.
#[must_use]
pub fn stream_number(name: &str) -> u64 {
    const OFFSET_BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0000_0100_0000_01b3;
    name.bytes().fold(OFFSET_BASIS, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(PRIME))
}

/// With 53 bits the largest value would round to 1; with 52 every value is exact.
#[inline]
fn to_open01(bits: u64) -> f64 {
    const TO_UNIT: f64 = 1.0 / (1_u64 << 52) as f64;
    ((bits >> 12) as f64 + 0.5) * TO_UNIT
}

#[cfg(test)]
mod tests;
