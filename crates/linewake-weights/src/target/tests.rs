//! Tests of the smallest target: planning formulas, the check on either side, promises that cannot be kept.

use super::*;
use crate::regime::{LabelUnit, Regime};
use linewake_stats::distribution::normal::normal_quantile;

const PACKS: Packs = Packs { mean_g: 0.0, sd_within_g: 6.0, sd_between_g: 2.5 };

fn with_case<T>(gate: Gate, look: impl FnOnce(&Case<'_>) -> T) -> T {
    let test = Regime::eu_76_211().lot_test("tne", "double", 500.0, LabelUnit::Gram, 6000).unwrap();
    look(&Case {
        packs: PACKS,
        gate,
        limits: &test.limits,
        allowance_g: 0.0,
        test: Some(&test),
        makeup: Makeup::Batches(6),
        tests: 2_000,
        streams: Streams::new(1, 0),
    })
}

/// Planning formula (from memory): max(Qn, T1 + z(share) sd, T2 + 3.72 sd); 6.5 g of spread in all.
#[test]
fn the_planning_formula_is_met() {
    with_case(Gate::none(), |case| {
        let levels = Levels {
            mean_at_least_reference: true,
            below_t1: Some(0.02),
            below_t2: Some(1e-4),
            ..Levels::default()
        };
        for (sd_within_g, binding) in [(6.0, Promise::Mean), (7.5, Promise::BelowT1), (9.0, Promise::BelowT2)]
        {
            let case = Case { packs: Packs { sd_within_g, ..PACKS }, ..*case };
            let sd_g = case.packs.sd_g();
            let formula = f64::max(
                500.0_f64.max(485.0 - normal_quantile(0.02) * sd_g),
                470.0 - normal_quantile(1e-4) * sd_g,
            );
            let found = case.smallest_target((480.0, 530.0), 0.01, &levels).unwrap();
            assert!(
                found.target_g >= formula - 1e-9 && found.target_g < formula + 0.01,
                "{} {formula}",
                found.target_g
            );
            assert!(found.binding.contains(&binding), "{:?}", found.binding);
            assert!(found.kept.iter().all(|kept| kept.holds) && found.broken_above_g.is_empty());
        }
    });
}

/// The probability that a lot passes: kept at the target, broken a step below.
#[test]
fn the_target_is_the_first_that_keeps_the_lots() {
    with_case(Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(485.0), high_g: None }, |case| {
        let levels = Levels { lot_passes: Some(0.99), ..Levels::default() };
        let found = case.smallest_target((490.0, 515.0), 0.1, &levels).unwrap();
        assert_eq!(found.binding, [Promise::LotPasses]);
        let below = case.kept(found.target_g - 0.1, &levels).unwrap()[0];
        let at = case.kept(found.target_g, &levels).unwrap()[0];
        assert!(below.value < 0.99 && at.value >= 0.99 && at.half_width > 0.0);
        assert!(found.target_g > 498.0 && found.target_g < 505.0, "{}", found.target_g);
    });
}

/// Less spread, lower target: by the share of the binding formula.
#[test]
fn a_gram_less_of_spread_lowers_the_target() {
    with_case(Gate::none(), |case| {
        let levels = Levels { below_t1: Some(0.02), ..Levels::default() };
        let target = |sd_within_g: f64| {
            let case = Case { packs: Packs { sd_within_g, sd_between_g: 0.0, ..PACKS }, ..*case };
            case.smallest_target((480.0, 530.0), 0.001, &levels).unwrap().target_g
        };
        assert!((target(9.0) - target(8.0) - 2.053_748_9).abs() < 0.0011);
    });
}

/// An upper reject limit: rejects come back above the target, and that is told.
#[test]
fn promises_that_break_again_above_are_told() {
    with_case(Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(485.0), high_g: Some(515.0) }, |case| {
        let levels = Levels { mean_at_least_reference: true, rejected: Some(0.05), ..Levels::default() };
        let found = case.smallest_target((480.0, 530.0), 0.1, &levels).unwrap();
        assert!(
            !found.broken_above_g.is_empty()
                && found.broken_above_g.iter().all(|above| *above > found.target_g)
        );
    });
}

/// A window of 0.35 g between too many light and too many heavy packs, in a range of 50 g: the fine grid finds it.
#[test]
fn a_narrow_window_is_found() {
    with_case(Gate { sd_g: 0.0, bias_g: 0.0, low_g: Some(495.0), high_g: Some(515.0) }, |case| {
        let packs = Packs { mean_g: 0.0, sd_within_g: 4.0, sd_between_g: 0.0 };
        let case = Case { packs, ..*case };
        let least = 2.0 * linewake_stats::distribution::normal::normal_cdf(-2.5);
        let levels = Levels { rejected: Some(least * 1.02), ..Levels::default() };
        let found = case.smallest_target((480.03, 530.0), 0.01, &levels).unwrap();
        assert!(
            found.target_g < 505.0 && found.target_g > 504.6 && !found.broken_above_g.is_empty(),
            "{found:?}"
        );
        assert!(case.kept(found.target_g, &levels).unwrap()[0].holds);
        assert!(!case.kept(found.target_g - 0.01, &levels).unwrap()[0].holds);
    });
}

#[test]
fn promises_that_cannot_be_kept_are_named() {
    with_case(Gate::none(), |case| {
        let levels = Levels { below_t1: Some(0.02), ..Levels::default() };
        let error = |range, step, levels: &Levels| case.smallest_target(range, step, levels).unwrap_err();
        let text = error((470.0, 490.0), 0.1, &levels).to_string();
        assert!(text.contains("490") && text.contains("below T1"), "{text}");
        assert!(matches!(error((490.0, 480.0), 0.1, &levels), TargetError::Range { .. }));
        assert!(matches!(error((480.0, 490.0), 0.0, &levels), TargetError::Range { .. }));
        assert_eq!(error((480.0, 490.0), 0.1, &Levels::default()), TargetError::NoPromise);
        let wrong = Levels { below_t1: Some(2.0), ..Levels::default() };
        assert_eq!(error((480.0, 490.0), 0.1, &wrong), TargetError::Level(2.0));
    });
    let us = Regime::nist_hb133();
    let test = us.lot_test("usda", "category-b", 500.0, LabelUnit::Gram, 6000).unwrap();
    with_case(Gate::none(), |case| {
        let case = Case { limits: &test.limits, test: Some(&test), ..*case };
        let levels = Levels { below_t2: Some(1e-4), ..Levels::default() };
        assert_eq!(case.kept(500.0, &levels), Err(TargetError::NoSecondLimit));
    });
}

/// A minimum weight has no test of lots: the target is the nominal quantity and 3.72 standard deviations (1 in 10,000).
#[test]
fn a_minimum_weight_needs_no_test() {
    let limits = Regime::minimum_weight().limits("none", 500.0, LabelUnit::Gram).unwrap();
    with_case(Gate::none(), |case| {
        let case = Case { limits: &limits, test: None, ..*case };
        let levels = Levels { below_t1: Some(1e-4), ..Levels::default() };
        let found = case.smallest_target((500.0, 540.0), 0.01, &levels).unwrap();
        assert!((found.target_g - (500.0 + 3.719_016 * 6.5)).abs() < 0.01, "{}", found.target_g);
        let levels = Levels { lot_passes: Some(0.99), ..levels };
        assert_eq!(case.smallest_target((500.0, 540.0), 0.01, &levels), Err(TargetError::NoTest));
    });
    // An allowance lowers what is to be met.
    with_case(Gate::none(), |case| {
        let case = Case { allowance_g: 10.0, ..*case };
        let levels = Levels { mean_at_least_reference: true, ..Levels::default() };
        let found = case.smallest_target((480.0, 520.0), 0.01, &levels).unwrap();
        assert!((found.target_g - 490.0).abs() < 1e-9, "{}", found.target_g);
    });
}

/// Giveaway rises gram by gram without a weigher; behind one, light packs fall out and the mean rises by what they lacked.
#[test]
fn the_curve_of_giveaway() {
    with_case(Gate::none(), |case| {
        let points = case.curve(&[500.0, 503.0]).unwrap();
        assert!(
            points[0].giveaway.per_pack_g.abs() < 1e-12
                && (points[1].giveaway.per_pack_g - 3.0).abs() < 1e-12
        );
        assert!(points[1].below_t1 < points[0].below_t1 && points[1].below_t2 < points[0].below_t2);
        let shift = points[1].giveaway.over(48_000.0, 6.5);
        assert!((shift.given_away_kg - 144.0).abs() < 1e-9 && (shift.money - 936.0).abs() < 1e-6);
        assert!(shift.rejected_kg.abs() < 1e-12);
    });
    with_case(Gate { sd_g: 0.0, bias_g: 0.0, low_g: Some(495.0), high_g: None }, |case| {
        let points = case.curve(&[502.0]).unwrap();
        let giveaway = points[0].giveaway;
        assert!(giveaway.per_pack_g > 2.0 && giveaway.rejected_low > 0.1);
        // Packs that leave and packs that are rejected make up the target.
        let all = (1.0 - giveaway.rejected_low) * (500.0 + giveaway.per_pack_g)
            + giveaway.rejected_low * giveaway.rejected_mean_g;
        assert!((all - 502.0).abs() < 1e-9);
        assert!(giveaway.rejected_mean_g < 495.0);
        let shift = giveaway.over(1000.0, 1.0);
        let rejected = 1000.0 * giveaway.rejected_low / (1.0 - giveaway.rejected_low);
        assert!((shift.rejected_kg - rejected * giveaway.rejected_mean_g / 1000.0).abs() < 1e-9);
        // Far below the limit nothing leaves; the point is left out.
        assert!(case.curve(&[100.0]).unwrap().is_empty());
    });
}
