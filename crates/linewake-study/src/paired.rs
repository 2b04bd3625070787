//! Two lines that met the same luck, compared shift by shift.

use crate::contrast::differences;
use crate::mean::mean_at;
use linewake_kpi::convention::MinorStops;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::study::paired::PairedDifference;

/// The difference of two lists of shifts, the same replications of the same seed in the same order. A and P are those of
/// the convention that `minor_stops` names. `None` without a shift, or if the lists differ in length.
///
/// *Source*: paired-t interval on common random numbers, Law, Simulation Modeling and Analysis.
#[must_use]
pub fn paired_difference(
    base: &[ShiftResult],
    variant: &[ShiftResult],
    minor_stops: MinorStops,
    level: f64,
) -> Option<PairedDifference> {
    if base.is_empty() || base.len() != variant.len() {
        return None;
    }
    let of = |figure: &dyn Fn(&ShiftResult) -> f64| {
        let values = |shifts: &[ShiftResult]| shifts.iter().map(figure).collect::<Vec<f64>>();
        mean_at(&differences(&values(base), &values(variant)), level)
    };
    let of_some = |figure: &dyn Fn(&ShiftResult) -> Option<f64>| {
        let all_have_it = base.iter().chain(variant).all(|shift| figure(shift).is_some());
        all_have_it.then(|| of(&|shift| figure(shift).unwrap_or(0.0)))
    };
    Some(PairedDifference {
        good_packs: of(&|shift| shift.oee.good_packs as f64),
        oee: of(&|shift| shift.oee.oee),
        availability: of(&|shift| shift.oee.split(minor_stops).availability),
        performance: of_some(&|shift| shift.oee.split(minor_stops).performance),
        quality: of_some(&|shift| shift.oee.quality),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::BaseModel;
    use crate::replicate::run_once;
    use crate::testing::{conditions, line, machine, stop};

    /// 8 runs of two machines, once with a slower second one; the interval of the differences by hand.
    #[test]
    fn differences_are_taken_shift_by_shift() {
        let machines = [machine("one", "\"1 s\"", &stop("jam", 300.0, 30.0)), machine("two", "\"1 s\"", "")];
        let base = line("", &machines);
        let slower =
            base.variant(&[("stations[two].process".to_owned(), "1.1 s".to_owned())]).expect("a variant");
        let conditions = conditions(8, 3600.0);
        let shifts = |model: &BaseModel| -> Vec<ShiftResult> {
            let plan = conditions.run_plan(&model.line);
            (0..8).map(|shift| run_once(&model.line, &plan, conditions.conventions, 3, shift)).collect()
        };
        let (one, other) = (shifts(&base), shifts(&slower));
        let found = paired_difference(&one, &other, MinorStops::Performance, 0.95).expect("shifts");
        let apart: Vec<f64> = one
            .iter()
            .zip(&other)
            .map(|(one, other)| other.oee.good_packs as f64 - one.oee.good_packs as f64)
            .collect();
        let mean = apart.iter().sum::<f64>() / 8.0;
        let variance = apart.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / 7.0;
        assert!((found.good_packs.mean - mean).abs() < 1e-9 && mean < 0.0);
        // t(7, 0.975) = 2.364624 (table of Student's t).
        let half_width = found.good_packs.half_width.expect("eight shifts");
        assert!((half_width - 2.364_624 * (variance / 8.0).sqrt()).abs() < 1e-4);
        assert!(found.oee.mean < 0.0 && found.quality.is_some());
        assert_eq!(paired_difference(&one, &other[..7], MinorStops::Performance, 0.95), None);
        assert_eq!(paired_difference(&[], &[], MinorStops::Performance, 0.95), None);
    }
}
