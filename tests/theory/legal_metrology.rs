//! Legal metrology of prepackages: tables and sampling plans as published, the probability that a lot passes against exact
//! counts, targets against the planning formula, and weight feedback against theory.

mod lots;
mod published;

use crate::row::{Row, RunSet, Verdict};

/// The rows of the page.
pub(crate) fn rows(set: RunSet) -> Vec<Row> {
    let mut rows = published::rows();
    rows.extend(lots::rows(set));
    rows
}

/// Agrees if within `most`.
fn verdict(published: f64, ours: f64, most: f64) -> Verdict {
    if (published - ours).abs() <= most { Verdict::Agrees } else { Verdict::Differs }
}

/// The rows of this part alone, without the long runs of the page.
#[test]
fn legal_metrology_agrees() {
    let rows = rows(RunSet::Short);
    let differing: Vec<&Row> = rows.iter().filter(|row| row.verdict == Verdict::Differs).collect();
    assert!(differing.is_empty(), "{differing:#?}");
    // Only the two wrong values of public code are not ours to meet.
    let apart = rows.iter().filter(|row| row.verdict == Verdict::NotExpressible);
    assert!(apart.clone().count() == 2 && apart.clone().all(|row| row.id == "TNE-2"));
}
