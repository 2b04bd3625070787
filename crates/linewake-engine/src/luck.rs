//! Draws of the engine: one stream for each (seed, replication, station, quantity).
//!
//! What belongs to a station is drawn in the order of its events; what belongs to a portion, pocket or pack is drawn
//! by its number. Streams are named by station id and quantity, so a new station or stop mode shifts no other draw.

use linewake_model::time::Span;
use linewake_stats::distribution::{Distribution, normal_quantile};
use linewake_stats::stream::{IndexedChance, IndexedStream, Stream, Streams};

/// A distribution with the stream that it is drawn from. A constant needs no stream, and is rounded once and for all: it is
/// what most machines take for a piece, and lies beside what else they have at hand.
#[derive(Debug)]
pub(crate) enum Draw {
    Constant { value: f64, span: Span },
    Drawn(Box<(Distribution, Stream)>),
}

impl Draw {
    pub(crate) fn new(streams: &Streams, station: &str, quantity: &str, distribution: &Distribution) -> Self {
        match distribution {
            Distribution::Constant { value } => {
                Self::Constant { value: *value, span: Span::from_seconds(*value) }
            }
            _ => Self::Drawn(Box::new((distribution.clone(), streams.get(&name(station, quantity))))),
        }
    }

    /// A time, rounded once to microseconds.
    #[inline]
    pub(crate) fn span(&mut self) -> Span {
        match self {
            Self::Constant { span, .. } => *span,
            Self::Drawn(drawn) => Span::from_seconds(drawn.0.sample(&mut drawn.1)),
        }
    }

    /// A count, rounded up to at least 1.
    pub(crate) fn count(&mut self) -> u64 {
        let value = match self {
            Self::Constant { value, .. } => *value,
            Self::Drawn(drawn) => drawn.0.sample(&mut drawn.1),
        };
        // Constants and geometric counts are whole already; the guard keeps 2.0000000001 from becoming 3.
        (value - 1e-9).ceil().max(1.0) as u64
    }
}

/// A yes-or-no quantity of each portion, pocket or pack.
#[derive(Debug)]
pub(crate) struct Chance(IndexedChance);

impl Chance {
    pub(crate) fn new(streams: &Streams, station: &str, quantity: &str, probability: f64) -> Self {
        Self(streams.chance(&name(station, quantity), probability))
    }

    /// Whether it happens to the item of that number.
    #[inline]
    pub(crate) fn happens(&mut self, item: u64) -> bool {
        self.0.happens_at(item)
    }

    /// Whether it happens to any of so many items from the first one on.
    #[inline]
    pub(crate) fn happens_among(&mut self, first: u64, items: u64) -> bool {
        self.0.happens_among(first, items)
    }
}

/// A normal quantity of each portion or pack.
#[derive(Debug)]
pub(crate) struct Normal {
    sd: f64,
    stream: IndexedStream,
}

impl Normal {
    pub(crate) fn new(streams: &Streams, station: &str, quantity: &str, sd: f64) -> Self {
        Self { sd, stream: streams.indexed(&name(station, quantity)) }
    }

    /// The deviation of the item of that number.
    pub(crate) fn at(&mut self, item: u64) -> f64 {
        if self.sd > 0.0 { self.sd * normal_quantile(self.stream.open01_at(item)) } else { 0.0 }
    }
}

/// Name of the stream of a station's quantity.
pub(crate) fn name(station: &str, quantity: &str) -> String {
    format!("{station}/{quantity}")
}
