//! Why figures give no plan, said so that the giver can put it right.

use core::fmt;

/// Figures that give no test plan.
///
/// The message is a lower-case fragment that names the figure, its value and what would be right.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanError {
    /// A figure that must be finite and above 0 is not.
    NotPositive {
        /// Name of the figure.
        figure: &'static str,
        /// Its value.
        value: f64,
    },
    /// A risk or share that must lie between 0 and 1 does not.
    NotBetween0And1 {
        /// Name of the figure.
        figure: &'static str,
        /// Its value.
        value: f64,
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
    /// Both risks together make 1 or more: a coin would do.
    RisksTooLarge {
        /// Producer's risk.
        producer: f64,
        /// Consumer's risk.
        consumer: f64,
    },
    /// More pieces may be bad than are drawn.
    AcceptsAll {
        /// Number of pieces drawn.
        pieces: u64,
        /// Number of bad ones accepted.
        accept: u64,
    },
    /// No plan within reach keeps both risks.
    TooLong {
        /// The number of failures up to which plans were tried.
        failures: u64,
    },
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::NotPositive { figure, value } => {
                write!(f, "{figure} is {value}; it must be finite and above 0")
            }
            Self::NotBetween0And1 { figure, value } => {
                write!(f, "{figure} is {value}; it must lie between 0 and 1, both left out")
            }
            Self::NotAbove { upper, upper_value, lower, lower_value } => {
                write!(f, "{upper} is {upper_value}; it must be above {lower}, which is {lower_value}")
            }
            Self::RisksTooLarge { producer, consumer } => write!(
                f,
                "the risks {producer} and {consumer} make 1 or more together; a test must do better than a coin"
            ),
            Self::AcceptsAll { pieces, accept } => write!(
                f,
                "of {pieces} pieces {accept} may be bad, so every lot passes; accept fewer than are drawn"
            ),
            Self::TooLong { failures } => write!(
                f,
                "no test with up to {failures} failures keeps both risks; allow larger risks or a larger ratio of the \
                 two times"
            ),
        }
    }
}

impl core::error::Error for PlanError {}

pub(super) fn positive(figure: &'static str, value: f64) -> Result<(), PlanError> {
    if value > 0.0 && value.is_finite() { Ok(()) } else { Err(PlanError::NotPositive { figure, value }) }
}

pub(super) fn between_0_and_1(figure: &'static str, value: f64) -> Result<(), PlanError> {
    if value > 0.0 && value < 1.0 { Ok(()) } else { Err(PlanError::NotBetween0And1 { figure, value }) }
}

pub(super) fn risks(producer: f64, consumer: f64) -> Result<(), PlanError> {
    between_0_and_1("producer's risk", producer)?;
    between_0_and_1("consumer's risk", consumer)?;
    if producer + consumer < 1.0 { Ok(()) } else { Err(PlanError::RisksTooLarge { producer, consumer }) }
}
