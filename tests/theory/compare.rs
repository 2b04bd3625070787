//! The rule by which a simulated value agrees with a published one.
//!
//! It lies within the tolerance of the reference table, and within four combined standard errors. With 200
//! replications a right value misses four errors with a probability of 9e-5 (Student's t), so that the whole family of
//! some 330 values has an error probability of about 3 %. A value past three errors is run once more with the
//! next seed and four times the length; both are shown, both must lie within four errors, and the longer one within the tolerance.

use crate::checks::Reference;
use crate::measured::Measured;
use crate::row::{Row, Verdict};

/// Standard errors at which a value is run again.
const SUSPECT: f64 = 3.0;
/// Standard errors at which it differs.
const WRONG: f64 = 4.0;

/// A measured value beside its reference.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sample {
    pub ours: Measured,
    /// Standard error of the reference; 0 if it is exact.
    pub reference_error: f64,
}

impl Sample {
    fn combined_error(&self) -> f64 {
        self.ours.standard_error.hypot(self.reference_error)
    }

    /// Difference over combined standard error; `None` where there is no chance.
    pub(crate) fn standardised(&self, value: f64) -> Option<f64> {
        let error = self.combined_error();
        (error > 0.0).then(|| (self.ours.mean - value) / error)
    }

    fn within_errors(&self, value: f64) -> bool {
        self.standardised(value).is_none_or(|z| z.abs() <= WRONG)
    }

    fn within_tolerance(&self, reference: &Reference) -> bool {
        let difference = (self.ours.mean - reference.value).abs();
        difference <= reference.tolerance.allowed(self.combined_error())
    }
}

/// Judges one value; `again` runs it once more, longer.
pub(crate) fn judge(row: Row, reference: &Reference, first: Sample, again: impl FnOnce() -> Sample) -> Row {
    let value = reference.value;
    let suspect = first.standardised(value).is_some_and(|z| z.abs() > SUSPECT);
    let mut notes = Vec::new();
    if !row.note.is_empty() {
        notes.push(row.note.clone());
    }
    let agrees = if suspect {
        let second = again();
        notes.push(format!(
            "past three errors, so run again with the next seed and four times the length: {} ({})",
            crate::page::with_interval(second.ours.mean, second.ours.half_width()),
            crate::page::errors(second.standardised(value)),
        ));
        first.within_errors(value) && second.within_errors(value) && second.within_tolerance(reference)
    } else {
        first.within_errors(value) && first.within_tolerance(reference)
    };
    Row {
        quantity: reference.quantity.clone(),
        source: reference.source.clone(),
        published: value,
        ours: first.ours.mean,
        half_width: first.ours.half_width(),
        standardised: first.standardised(value),
        tolerance: reference.tolerance_in_words(),
        verdict: if agrees { Verdict::Agrees } else { Verdict::Differs },
        note: notes.join("; "),
        ..row
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::Tolerance;

    fn reference() -> Reference {
        Reference {
            quantity: "throughput".to_owned(),
            value: 1.0,
            tolerance_text: "0.01".to_owned(),
            tolerance: Tolerance::Within(0.01),
            source: "made up".to_owned(),
            half_width: None,
        }
    }

    fn sample(mean: f64, standard_error: f64) -> Sample {
        Sample { ours: Measured { mean, standard_error, n: 100 }, reference_error: 0.0 }
    }

    fn verdict(first: Sample, second: Option<Sample>) -> Verdict {
        judge(Row::default(), &reference(), first, || second.expect("no second run")).verdict
    }

    #[test]
    fn both_conditions_count() {
        assert_eq!(verdict(sample(1.005, 0.002), None), Verdict::Agrees);
        assert_eq!(verdict(sample(1.012, 0.005), None), Verdict::Differs, "past the tolerance");
        let far = sample(1.009, 0.001);
        assert_eq!(verdict(far, Some(sample(1.0, 0.001))), Verdict::Differs, "nine errors");
        assert_eq!(verdict(sample(1.02, 0.0), None), Verdict::Differs, "no chance, past the tolerance");
    }

    #[test]
    fn a_suspect_value_is_run_again_and_both_are_shown() {
        let row = judge(Row::default(), &reference(), sample(1.0035, 0.001), || sample(1.0005, 0.0005));
        assert_eq!(row.verdict, Verdict::Agrees);
        assert!(row.note.contains("1.00050 ± 0.00099"), "{}", row.note);
        assert_eq!(verdict(sample(1.0035, 0.001), Some(sample(1.0025, 0.0005))), Verdict::Differs);
        assert_eq!(verdict(sample(1.0035, 0.001), Some(sample(1.011, 0.005))), Verdict::Differs);
    }
}
