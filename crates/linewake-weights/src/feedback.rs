//! Weight feedback from the checkweigher: gain against stability, given the dead time of the line, and what it does to a
//! mean to leave rejects out of it.
//!
//! After each n weighed packs the correction of the portion weight moves by - gain x (mean measured - target), within
//! limits, and acts on portions cut after it. All packs between the cut and the weigher are the dead time: what the
//! loop does shows only when they have passed. With a small gain the loop is slow, with a large one it hunts.
//!
//! The gain here is that of a pack: where a pack holds several portions and each is corrected, it is the stated gain times
//! the portions of a pack.

mod onset;
mod run;
mod settled;

pub use onset::{hunting_basis, hunting_gain, hunting_gain_formula, swing_after_a_step};
pub use run::{Deviations, Drift, FeedbackRun, GainPoint};
pub use settled::{Settled, settled};

use crate::packs::PacksError;
use core::fmt;

/// A feedback loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeedbackLoop {
    /// Weighed (counted) packs between two corrections; at least 1.
    pub every_packs: u64,
    /// Packs between the cut and the weigher: portions cut while one travels.
    pub dead_time_packs: u64,
    /// Share of the measured deviation that one correction takes off; from 0 (no feedback).
    pub gain: f64,
    /// What the mean of readings is held to, in grams.
    pub target_g: f64,
    /// The correction never goes below this, in grams.
    pub lowest_g: f64,
    /// Nor above this, in grams.
    pub highest_g: f64,
    /// Packs rejected for weight count in the mean; leaving them out biases it ([`settled`]).
    pub count_rejects: bool,
}

impl FeedbackLoop {
    /// Dead time in corrections.
    #[must_use]
    pub fn dead_time_corrections(&self) -> f64 {
        self.dead_time_packs as f64 / self.every_packs as f64
    }

    fn check(&self) -> Result<(), FeedbackError> {
        let figures = [
            ("packs between corrections", self.every_packs as f64, 1.0, MOST_PACKS),
            ("dead time in packs", self.dead_time_packs as f64, 0.0, MOST_PACKS),
            ("gain", self.gain, 0.0, 1e6),
            ("target", self.target_g, 0.0, f64::MAX),
            ("lowest correction", self.lowest_g, f64::MIN, f64::MAX),
            ("highest correction", self.highest_g, self.lowest_g, f64::MAX),
        ];
        in_range(&figures)
    }
}

/// More packs than this between cut and weigher, or between corrections, are not followed.
const MOST_PACKS: f64 = 1e6;

fn in_range(figures: &[(&'static str, f64, f64, f64)]) -> Result<(), FeedbackError> {
    match figures.iter().find(|(_, value, least, most)| !(value >= least && value <= most)) {
        Some(&(name, value, least, most)) => Err(FeedbackError::Figure { name, value, least, most }),
        None => Ok(()),
    }
}

/// Figures that give no feedback loop.
#[derive(Clone, Debug, PartialEq)]
pub enum FeedbackError {
    /// A figure out of range.
    Figure {
        /// Its name.
        name: &'static str,
        /// Its value.
        value: f64,
        /// It must be at least this.
        least: f64,
        /// And at most this.
        most: f64,
    },
    /// No mean of the packs that pass meets the target: it lies outside the reject limits.
    TargetOutsideLimits {
        /// Target in grams.
        target: f64,
    },
    /// The packs or the weigher.
    Packs(PacksError),
}

impl fmt::Display for FeedbackError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Figure { name, value, least, most } => {
                write!(f, "{name} is {value}; it must lie between {least} and {most}")
            }
            Self::TargetOutsideLimits { target } => write!(
                f,
                "the target {target} g lies outside the reject limits: no mean of packs that pass can meet it; count \
                 the rejects, or move the limits"
            ),
            Self::Packs(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for FeedbackError {}

impl From<PacksError> for FeedbackError {
    fn from(error: PacksError) -> Self {
        Self::Packs(error)
    }
}

#[cfg(test)]
mod tests;
