//! What can be wrong with the figures of a distribution, said so that the giver can put it right.

use core::fmt;

/// Figures that give no distribution.
///
/// The message is a lower-case fragment that names the figure, its value and what would be right.
#[derive(Clone, Debug, PartialEq)]
pub enum GivenError {
    /// A figure is infinite or not a number.
    NotFinite {
        /// Name of the figure.
        figure: &'static str,
        /// Its value.
        value: f64,
    },
    /// A figure that must be above 0 is not.
    NotPositive {
        /// Name of the figure.
        figure: &'static str,
        /// Its value.
        value: f64,
    },
    /// A figure lies outside its range.
    OutOfRange {
        /// Name of the figure.
        figure: &'static str,
        /// Its value.
        value: f64,
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        greatest: f64,
    },
    /// Of two figures the one that must be above is not.
    NotAbove {
        /// Name of the figure that must be above.
        upper: &'static str,
        /// Its value.
        upper_value: f64,
        /// Name of the figure that must be below.
        lower: &'static str,
        /// Its value.
        lower_value: f64,
    },
    /// The most likely value of a triangular lies outside its ends.
    ModeOutside {
        /// Lower end.
        min: f64,
        /// Most likely value.
        mode: f64,
        /// Upper end.
        max: f64,
    },
    /// As good as nothing of the parent of a truncated normal lies between the ends.
    NothingBetween {
        /// Mean of the parent.
        mean: f64,
        /// Standard deviation of the parent.
        sd: f64,
        /// Lower end.
        min: f64,
        /// Upper end.
        max: f64,
    },
    /// Median and 90th percentile lie farther apart than the family allows.
    TooSpread {
        /// Name of the family.
        family: &'static str,
        /// The median.
        median: f64,
        /// The 90th percentile.
        p90: f64,
    },
    /// Median and 90th percentile lie so close that the value is as good as constant.
    TooNarrow {
        /// Name of the family.
        family: &'static str,
        /// The median.
        median: f64,
        /// The 90th percentile.
        p90: f64,
    },
    /// A probability is not between 0 and 1.
    NotAProbability {
        /// Its value.
        p: f64,
    },
    /// The mean of a geometric is below one step.
    BelowOneStep {
        /// The mean in steps.
        mean: f64,
    },
    /// A sample without values.
    NoValues,
    /// The values of a sample do not rise.
    NotInOrder {
        /// Index, from 0, of the first value that is smaller than the one before it.
        position: usize,
    },
    /// Mean or variance is too large to be calculated with.
    Overflow,
}

impl GivenError {
    /// Name of the figure to be put right, where it is one; of two that contradict each other, the upper one.
    #[must_use]
    pub fn figure(&self) -> Option<&'static str> {
        match *self {
            Self::NotFinite { figure, .. }
            | Self::NotPositive { figure, .. }
            | Self::OutOfRange { figure, .. }
            | Self::NotAbove { upper: figure, .. } => Some(figure),
            Self::ModeOutside { .. } => Some("mode"),
            Self::TooSpread { .. } | Self::TooNarrow { .. } => Some("p90"),
            Self::NotAProbability { .. } => Some("p"),
            Self::BelowOneStep { .. } => Some("mean"),
            Self::NoValues | Self::NotInOrder { .. } => Some("values"),
            Self::NothingBetween { .. } | Self::Overflow => None,
        }
    }
}

impl fmt::Display for GivenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::NotFinite { figure, value } => write!(f, "{figure} is {value}; it must be a finite number"),
            Self::NotPositive { figure, value } => write!(f, "{figure} is {value}; it must be above 0"),
            Self::OutOfRange { figure, value, least, greatest } => {
                write!(f, "{figure} is {value}; it must lie between {least} and {greatest}")
            }
            Self::NotAbove { upper, upper_value, lower, lower_value } => write!(
                f,
                "{upper} is {upper_value} and {lower} is {lower_value}; {upper} must be above {lower} (for a value \
                 that never varies use a constant)"
            ),
            Self::ModeOutside { min, mode, max } => {
                write!(f, "mode is {mode}; it must lie between min {min} and max {max}")
            }
            Self::NothingBetween { mean, sd, min, max } => write!(
                f,
                "a normal of mean {mean} and sd {sd} has as good as nothing between min {min} and max {max}; move \
                 the mean towards them or raise the sd"
            ),
            Self::TooSpread { family, median, p90 } => write!(
                f,
                "no {family} has median {median} and p90 {p90}; bring p90 closer to the median, or use a lognormal"
            ),
            Self::TooNarrow { family, median, p90 } => {
                write!(f, "no {family} has median {median} and p90 {p90}; raise p90, or use a constant")
            }
            Self::NotAProbability { p } => write!(f, "p is {p}; it must lie between 0 and 1, both left out"),
            Self::BelowOneStep { mean } => {
                write!(f, "mean is {mean} steps; it must be at least 1, since the count starts at 1")
            }
            Self::NoValues => write!(f, "values is empty; it must hold at least one observed value"),
            Self::NotInOrder { position } => {
                write!(
                    f,
                    "values must rise, and the one at index {position} is smaller than the one before it"
                )
            }
            Self::Overflow => {
                write!(f, "mean or variance is too large to calculate with; use smaller figures")
            }
        }
    }
}

impl core::error::Error for GivenError {}

pub(super) fn finite(figure: &'static str, value: f64) -> Result<(), GivenError> {
    if value.is_finite() { Ok(()) } else { Err(GivenError::NotFinite { figure, value }) }
}

pub(super) fn positive(figure: &'static str, value: f64) -> Result<(), GivenError> {
    finite(figure, value)?;
    if value > 0.0 { Ok(()) } else { Err(GivenError::NotPositive { figure, value }) }
}

pub(super) fn within(
    figure: &'static str,
    value: f64,
    (least, greatest): (f64, f64),
) -> Result<(), GivenError> {
    finite(figure, value)?;
    if value >= least && value <= greatest {
        Ok(())
    } else {
        Err(GivenError::OutOfRange { figure, value, least, greatest })
    }
}

pub(super) fn above(
    upper: &'static str,
    upper_value: f64,
    lower: &'static str,
    lower_value: f64,
) -> Result<(), GivenError> {
    if upper_value > lower_value {
        Ok(())
    } else {
        Err(GivenError::NotAbove { upper, upper_value, lower, lower_value })
    }
}
