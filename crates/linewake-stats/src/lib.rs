//! Random streams, distributions, estimates and intervals. Knows no line, no unit and no clock.

pub mod distribution;
pub mod estimate;
pub mod stream;
