//! What all studies have in common.

use crate::plan::StudyPlan;
use crate::runner::{RunError, Runner};
use linewake_kpi::study::Method;

/// A study that has been set up.
pub trait Study {
    /// What it finds.
    type Found: serde::Serialize;

    /// What it runs.
    fn plan(&self) -> &StudyPlan;

    /// How many runs that takes, where it is known although not every design has as many.
    fn runs_due(&self) -> Option<u64> {
        self.plan().job_count()
    }

    /// Makes the runs that are missing and draws the conclusion.
    ///
    /// # Errors
    /// Whatever ends the runs before their time, and runs that say nothing.
    fn conclude(&self, runner: &mut Runner<'_>) -> Result<Self::Found, RunError>;
}

/// The method of all differences.
pub(crate) fn shared_luck() -> Method {
    Method {
        what: "designs are compared run by run with the same luck (common random numbers), with the paired t interval"
            .to_owned(),
        source: "Law, Simulation Modeling and Analysis, sections on the paired-t interval and on common random numbers"
            .to_owned(),
    }
}

/// The method of the OEE over several runs.
pub(crate) fn ratio_of_sums() -> Method {
    Method {
        what: "OEE over several runs is a ratio of sums".to_owned(),
        source: "Cochran (1977), Sampling Techniques, 3rd edition, section 6.4 (from memory)".to_owned(),
    }
}
