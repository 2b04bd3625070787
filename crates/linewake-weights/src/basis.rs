//! What a result rests on: the value, its edition and clause, and whether it was read or is from memory.

use core::fmt;
use serde::Serialize;

/// The caution that goes with every figure of this crate.
pub const CAUTION: &str =
    "Local law governs, editions differ, and qualified people decide; these figures are for planning.";

/// How a value of a table came here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// It stood in a public text that was read.
    Read,
    /// From memory: to be checked in print before it is relied on.
    Memory,
}

impl Status {
    /// The weaker of two.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        self.max(other)
    }
}

/// A value that a result rests on, with where it stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Basis {
    /// The value in words, as in "tolerable negative error: 3 % of over 300 up to 500 g".
    pub value: String,
    /// Edition of the text.
    pub edition: String,
    /// Clause or table within it.
    pub clause: String,
    /// Where it was read, or what is said about it.
    pub source: String,
    /// Read or from memory.
    pub status: Status,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}, {}", self.value, self.edition, self.clause)?;
        match self.status {
            Status::Read => write!(f, ")"),
            Status::Memory => write!(f, "; from memory, to be checked in print)"),
        }
    }
}

/// Whether any of them is from memory, so that the result must say so.
#[must_use]
pub fn any_from_memory(bases: &[Basis]) -> bool {
    bases.iter().any(|basis| basis.status == Status::Memory)
}
