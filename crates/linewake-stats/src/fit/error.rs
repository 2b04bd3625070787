//! Why a sample gives no fit, said so that the giver can put it right.

use super::Family;
use core::fmt;

/// Times that give no sample, or a sample that gives no fit.
///
/// The message is a lower-case fragment that says what is wrong and what would be right.
#[derive(Clone, Debug, PartialEq)]
pub enum FitError {
    /// A complete time is not a number above 0.
    CompleteTime {
        /// Its place, from 0.
        index: usize,
        /// Its value.
        value: f64,
    },
    /// A cut-off time is not a number from 0.
    CutOffTime {
        /// Its place, from 0.
        index: usize,
        /// Its value.
        value: f64,
    },
    /// No complete time.
    NoCompleteTime {
        /// Number of cut-off times.
        cut_off: usize,
    },
    /// All complete times are equal and none is cut off later: the likelihood rises without end.
    NoSpread {
        /// The family.
        family: Family,
        /// The one time.
        value: f64,
    },
    /// The maximum lies where the family cannot be calculated with, or was not found.
    OutOfReach {
        /// The family.
        family: Family,
    },
}

impl fmt::Display for FitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::CompleteTime { index, value } => write!(
                f,
                "complete time {} is {value}; it must be finite and above 0 (a time of 0 has no logarithm: leave it \
                 out or give the resolution of the clock)",
                index + 1
            ),
            Self::CutOffTime { index, value } => {
                write!(f, "cut-off time {} is {value}; it must be finite and not below 0", index + 1)
            }
            Self::NoCompleteTime { cut_off } => {
                write!(f, "none of {cut_off} times is complete; at least one must be seen to its end")
            }
            Self::NoSpread { family, value } => write!(
                f,
                "every complete time is {value} and none is cut off later, so no {} distribution fits best; two \
                 different times are needed",
                family.name()
            ),
            Self::OutOfReach { family } => write!(
                f,
                "the {} distribution that fits best is too narrow or too wide to calculate with; another family may \
                 fit",
                family.name()
            ),
        }
    }
}

impl core::error::Error for FitError {}
