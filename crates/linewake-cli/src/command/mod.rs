//! The commands, one module each.

pub(crate) mod check;
pub(crate) mod completions;
pub(crate) mod fit;
pub(crate) mod man;
pub(crate) mod merge;
pub(crate) mod reference;
pub(crate) mod report;
pub(crate) mod run;
pub(crate) mod schema;
#[cfg(feature = "desk")]
pub(crate) mod serve;
pub(crate) mod study;
pub(crate) mod versus;
pub(crate) mod wake;
pub(crate) mod weights;
