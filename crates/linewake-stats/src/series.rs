//! Long runs and repeated ones: how much a run says when its values hang together, and when there are enough runs.

mod batch_means;
mod stopping;
mod truncation;

pub use batch_means::{BatchMeans, autocorrelation};
pub use stopping::{Precision, is_precise, replications_needed};
pub use truncation::{Truncation, mser_5};

#[cfg(test)]
mod tests;
