//! What is wrong with a regime file, said so that its writer can put it right.

use core::fmt;

/// A regime file that is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RegimeError {
    /// Where, as in "plans, single, row 2".
    pub place: String,
    /// What is wrong there, and what would be right.
    pub problem: String,
}

impl RegimeError {
    pub(crate) fn new(place: impl Into<String>, problem: impl Into<String>) -> Self {
        Self { place: place.into(), problem: problem.into() }
    }

    pub(crate) fn not_of_the_form(error: &serde_json::Error) -> Self {
        Self::new(format!("line {}, column {}", error.line(), error.column()), error.to_string())
    }
}

impl fmt::Display for RegimeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.problem)
    }
}

impl core::error::Error for RegimeError {}
