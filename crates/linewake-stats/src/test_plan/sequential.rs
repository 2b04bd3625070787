//! A sequential test of a share of bad pieces: after each piece accept, reject or go on.

use super::error::{PlanError, between_0_and_1, risks};

/// Two parallel lines on a chart of bad pieces over pieces drawn.
///
/// *Formula*: with k = ln(p2 (1 - p1) / (p1 (1 - p2))): slope s = ln((1 - p1) / (1 - p2)) / k,
/// h1 = ln((1 - alpha) / beta) / k, h2 = ln((1 - beta) / alpha) / k; accept at or below s n - h1, reject at or above
/// s n + h2.
/// *Source*: Wald (1947), Sequential Analysis, section 5.3; NIST/SEMATECH e-Handbook 6.2.6.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SequentialPlan {
    /// Rise of both lines for each piece.
    pub slope: f64,
    /// How far the acceptance line lies below the origin (h1).
    pub accept_below: f64,
    /// How far the rejection line lies above the origin (h2).
    pub reject_above: f64,
}

/// What a sequential test says after a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Accept.
    Accept,
    /// Reject.
    Reject,
    /// Draw another piece.
    GoOn,
}

impl SequentialPlan {
    /// The plan that turns down a share `good` with about `producer` and accepts a share `bad` with about
    /// `consumer`.
    ///
    /// # Errors
    /// A share or risk outside (0, 1), risks of 1 or more together, or `bad` not above `good`.
    pub fn new(good: f64, bad: f64, producer: f64, consumer: f64) -> Result<Self, PlanError> {
        between_0_and_1("the good share", good)?;
        between_0_and_1("the bad share", bad)?;
        risks(producer, consumer)?;
        if bad <= good {
            return Err(PlanError::NotAbove {
                upper: "the bad share",
                upper_value: bad,
                lower: "the good share",
                lower_value: good,
            });
        }
        let fewer_good = libm::log1p(-good) - libm::log1p(-bad);
        let k = libm::log(bad) - libm::log(good) + fewer_good;
        Ok(Self {
            slope: fewer_good / k,
            accept_below: libm::log((1.0 - producer) / consumer) / k,
            reject_above: libm::log((1.0 - consumer) / producer) / k,
        })
    }

    /// Accept if at most this many of `pieces` are bad; `None` while it is too early to accept.
    ///
    /// *Formula*: floor(s n - h1).
    #[must_use]
    pub fn accept_number(&self, pieces: u64) -> Option<u64> {
        let line = libm::floor(self.slope * pieces as f64 - self.accept_below);
        (line >= 0.0).then_some(line as u64)
    }

    /// Reject if at least this many of `pieces` are bad; `None` while it is too early to reject (more than have been
    /// drawn).
    ///
    /// *Formula*: ceil(s n + h2).
    #[must_use]
    pub fn reject_number(&self, pieces: u64) -> Option<u64> {
        let line = libm::ceil(self.slope * pieces as f64 + self.reject_above);
        (line <= pieces as f64).then_some(line as u64)
    }

    /// The verdict when `bad` of `pieces` are bad.
    #[must_use]
    pub fn verdict(&self, pieces: u64, bad: u64) -> Verdict {
        if self.accept_number(pieces).is_some_and(|most| bad <= most) {
            Verdict::Accept
        } else if self.reject_number(pieces).is_some_and(|least| bad >= least) {
            Verdict::Reject
        } else {
            Verdict::GoOn
        }
    }
}
