//! Plans of acceptance tests and the risks they carry: of a mean time between failures, of a share of bad pieces, fixed
//! or decided as pieces come.
//!
//! Producer's risk: that what is as good as promised is turned down. Consumer's risk: that what is only just too bad
//! is taken.

mod error;
mod mtbf;
mod sampling;
mod sequential;

pub use error::PlanError;
pub use mtbf::MtbfPlan;
pub use sampling::SamplingPlan;
pub use sequential::{SequentialPlan, Verdict};

#[cfg(test)]
mod tests;
