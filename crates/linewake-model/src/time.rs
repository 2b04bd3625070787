//! Simulated time: integer microseconds, so that equal times compare equal on every machine.

use std::fmt;
use std::ops::{Add, AddAssign, Sub};

/// Microseconds in a second.
pub const MICROS_PER_SECOND: u64 = 1_000_000;

/// A point in simulated time, in microseconds since the start of the run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub u64);

/// A length of simulated time, in microseconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span(pub u64);

impl Moment {
    /// The start of the run.
    pub const ZERO: Self = Self(0);
    /// Later than every moment of a run: the due time of what is not scheduled.
    pub const NEVER: Self = Self(u64::MAX);

    /// Seconds since the start of the run.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.0 as f64 / MICROS_PER_SECOND as f64
    }

    /// The time from `earlier` to this moment; zero if `earlier` is later.
    #[must_use]
    pub fn since(self, earlier: Self) -> Span {
        Span(self.0.saturating_sub(earlier.0))
    }
}

impl Span {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// Rounds seconds to the nearest microsecond, halves up. Negative and NaN give zero; what is too
    /// large for the clock gives its largest value.
    #[must_use]
    pub fn from_seconds(seconds: f64) -> Self {
        Self((seconds * MICROS_PER_SECOND as f64 + 0.5).floor() as u64)
    }

    /// Length in seconds.
    #[must_use]
    pub fn seconds(self) -> f64 {
        self.0 as f64 / MICROS_PER_SECOND as f64
    }

    /// This length at a share of the set speed, rounded once, halves up: twice the speed, half the time.
    #[must_use]
    pub fn at_speed(self, share: f64) -> Self {
        #[expect(clippy::float_cmp, reason = "exactly the set speed needs no rounding")]
        if share == 1.0 { self } else { Self((self.0 as f64 / share + 0.5).floor() as u64) }
    }
}

impl Add<Span> for Moment {
    type Output = Self;
    fn add(self, length: Span) -> Self {
        Self(self.0.saturating_add(length.0))
    }
}

impl AddAssign<Span> for Moment {
    fn add_assign(&mut self, length: Span) {
        *self = *self + length;
    }
}

impl Add for Span {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Span {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Sub for Span {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3} s", self.seconds())
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3} s", self.seconds())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_round_half_up_once() {
        assert_eq!(Span::from_seconds(60.0 / 13.0), Span(4_615_385));
        assert_eq!(Span::from_seconds(0.000_000_5), Span(1));
        assert_eq!(Span::from_seconds(-3.0), Span(0));
        assert_eq!(Span::from_seconds(f64::NAN), Span(0));
    }

    #[test]
    fn a_share_of_the_set_speed_stretches_time() {
        assert_eq!(Span(1_000_000).at_speed(0.8), Span(1_250_000));
        assert_eq!(Span(7).at_speed(1.0), Span(7));
    }
}
