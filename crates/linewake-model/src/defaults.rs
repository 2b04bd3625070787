//! Defaults of the model file, and the limits within which the figures of a line must lie.

use crate::time::Span;

/// Version of the model file that this program reads and writes.
pub const MODEL_VERSION: u32 = 1;

/// Length of a shift that is not given: 8 h (common practice).
pub const SHIFT: Span = Span(8 * 3600 * 1_000_000);

/// Shortest interruption of the constraint that counts against availability: 5 min (common practice, where 1 to 10
/// min are met).
pub const SHORT_STOP_LIMIT: Span = Span(300 * 1_000_000);

/// Longest time that a model may name, in seconds: 10 years. The clock itself reaches 584,000 years.
pub const LONGEST_TIME_S: f64 = 10.0 * 365.0 * 86_400.0;

/// Shortest mean time between two events of one kind, in seconds: stops, arrivals, cycles of a machine.
pub const SHORTEST_CYCLE_S: f64 = 0.001;

/// Fastest rate, per minute: a piece a millisecond.
pub const FASTEST_PER_MIN: f64 = 60_000.0;

/// Most stops and defects of a line together.
pub const MOST_REASONS: usize = 10_000;

/// Shortest interval of a routine challenge, in seconds.
pub const SHORTEST_INTERVAL_S: f64 = 1.0;

/// Largest mass, in grams: 1000 t.
pub const LARGEST_MASS_G: f64 = 1e9;

/// Most lanes or rows of a web, an array or a pocket's loads.
pub const MOST_LANES_OR_ROWS: u32 = 100;

/// Most positions of a web.
pub const MOST_POSITIONS: u32 = 500;

/// Most pieces that a belt, a table or a lane holds, unless it is unlimited.
pub const LARGEST_CAPACITY: u32 = 10_000_000;

/// Most operators.
pub const MOST_OPERATORS: u32 = 1000;

/// Most stations of a line.
pub const MOST_STATIONS: usize = 200;

/// Smallest speed step, as a share of the set speed.
pub const SMALLEST_SPEED_SHARE: f64 = 0.001;

/// Largest speed step, as a share of the set speed.
pub const LARGEST_SPEED_SHARE: f64 = 10.0;
