//! Tests of tests: vectors, and limits from both sides.

use super::*;
use crate::gross;
use crate::regime::{LabelUnit, Regime};

fn of(regime: &Regime, table: &str, plan: &str, nominal_g: f64, lot: u64) -> LotTest {
    regime.lot_test(table, plan, nominal_g, LabelUnit::Gram, lot).unwrap()
}

/// `n` packs with this mean and exactly this standard deviation.
fn sample(n: usize, mean_g: f64, sd_g: f64) -> Vec<f64> {
    let step = sd_g * libm::sqrt((n - 1) as f64 / n as f64);
    (0..n).map(|place| if place % 2 == 0 { mean_g + step } else { mean_g - step }).collect()
}

/// Vector EU-MEAN-2: the rule read in UK SI 2006/659 Schedule 2, numbers made up: 500 - 0.379 x 4 = 498.484.
#[test]
fn the_limit_of_a_mean() {
    let test = of(&Regime::eu_76_211(), "tne", "double", 500.0, 1000);
    for (mean_g, accepted) in [(498.5, true), (498.4, false)] {
        let outcome = test.evaluate(&sample(50, mean_g, 4.0)).unwrap();
        let mean = outcome.mean.unwrap();
        assert!((mean.sd_g - 4.0).abs() < 1e-9 && (mean.limit_g() - 498.484).abs() < 1e-9, "{mean:?}");
        assert_eq!(mean.passes, accepted);
        assert_eq!(outcome.verdict == Verdict::Accepted, accepted);
    }
    // Just at the limit passes: the table says "at least".
    assert!(test.evaluate(&sample(50, 498.484, 4.0)).unwrap().mean.unwrap().passes);
}

/// Vector HB133-9: the rule read in HB 133 2.3.7, factor and MAV from memory, errors made up.
#[test]
fn twelve_errors_by_the_handbook() {
    let us = Regime::nist_hb133();
    let errors = [-4.0, -2.0, 1.0, -3.0, -5.0, 0.0, 2.0, -6.0, -1.0, -4.0, -2.0, -3.0];
    let weights: Vec<f64> = errors.iter().map(|error| 500.0 + error).collect();
    let a = of(&us, "mav", "category-a", 500.0, 250);
    assert!((a.limits.tolerable_g - 21.7).abs() < 1e-12);
    let outcome = a.evaluate(&weights).unwrap();
    let mean = outcome.mean.unwrap();
    assert!((mean.error_g + 2.25).abs() < 1e-9);
    assert!((mean.sd_g - 2.416_797_279_646_99).abs() < 1e-9);
    assert!((mean.allowed_g - 1.534_666_272_575_838_8).abs() < 1e-9);
    assert_eq!((outcome.counted.below_t1, mean.passes, outcome.verdict), (0, false, Verdict::Rejected));
    let b = of(&us, "usda", "category-b", 500.0, 250);
    assert!(!b.evaluate(&weights).unwrap().mean.unwrap().passes);
    // The sample error limit makes up for less than an ounce of bad luck in category A alone.
    let lucky: Vec<f64> = weights.iter().map(|weight| weight + 1.0).collect();
    assert!(a.evaluate(&lucky).unwrap().mean.unwrap().passes);
    assert!(!b.evaluate(&lucky).unwrap().mean.unwrap().passes);
}

/// A mean that is short by exactly the sample error limit: not defined in the handbook, fails here; a mean of no error
/// passes in both categories.
#[test]
fn equality_by_the_handbook() {
    let us = Regime::nist_hb133();
    let a = of(&us, "mav", "category-a", 500.0, 250);
    let b = of(&us, "usda", "category-b", 500.0, 250);
    let limit = 500.0 - 0.635 * 4.0;
    assert!(!a.evaluate(&sample(12, limit, 4.0)).unwrap().mean.unwrap().passes);
    assert!(a.evaluate(&sample(12, limit + 1e-6, 4.0)).unwrap().mean.unwrap().passes);
    for test in [&a, &b] {
        assert!(test.evaluate(&sample(12, 500.0, 4.0)).unwrap().mean.unwrap().passes);
        assert!(test.evaluate(&sample(12, 500.0, 0.0)).unwrap().mean.unwrap().passes);
    }
    assert!(!b.evaluate(&sample(12, 499.999_999, 4.0)).unwrap().mean.unwrap().passes);
}

/// Vectors HB133-1 and HB133-2: NIST HB 133 (2026) chapter 2, 2.3.8 (read).
#[test]
fn moisture_and_tare_by_the_handbook() {
    let us = Regime::nist_hb133();
    let percent = us.moisture.iter().find(|one| one.product == "flour").unwrap().percent;
    let allowance_g = gross::to_division(gross::moisture_allowance_g(907.0, percent), 1.0);
    assert!((allowance_g - 27.0).abs() < 1e-12);
    assert!((gross::nominal_gross_g(907.0, 14.0) - 921.0).abs() < 1e-12);
    assert!((gross::adjusted_nominal_gross_g(907.0, 14.0, allowance_g) - 894.0).abs() < 1e-12);
    assert!((gross::adjusted_sample_error_limit(0.023, 0.06) - 0.083).abs() < 1e-9);
    assert!((gross::adjusted_variation(31.7, 27.0) - 58.7).abs() < 1e-9);
    // The same in a test: a pack may be short by the variation and the allowance together.
    let test = of(&us, "mav", "category-a", 907.0, 250).with_allowance(allowance_g).unwrap();
    assert!((test.reference_g() - 880.0).abs() < 1e-9 && (test.t1_g() - (907.0 - 58.7)).abs() < 1e-9);
    for bad in [-1.0, 907.0, f64::NAN] {
        assert!(of(&us, "mav", "category-a", 907.0, 250).with_allowance(bad).is_err());
    }
}

/// A pack of just T1 is not below it; one microgram less is.
#[test]
fn limits_from_both_sides() {
    let r87 = Regime::oiml_r87();
    let test = of(&r87, "tne", "lots", 150.0, 500);
    // 150 - 6.8 is no exact binary number.
    assert!((test.t1_g() - 143.2).abs() < 1e-9 && (test.t2_g().unwrap() - 136.4).abs() < 1e-9);
    let with = |weight: f64, times: usize| {
        let mut packs = vec![153.0; 50];
        packs[..times].fill(weight);
        let outcome = test.evaluate(&packs).unwrap();
        (outcome.counted.below_t1, outcome.counted.below_t2, outcome.counted.verdict)
    };
    assert_eq!(with(143.2, 9), (0, 0, Verdict::Accepted));
    assert_eq!(with(143.199_999, 3), (3, 0, Verdict::Accepted));
    assert_eq!(with(143.199_999, 4), (4, 0, Verdict::Rejected));
    assert_eq!(with(136.4, 1), (1, 0, Verdict::Accepted));
    assert_eq!(with(136.399_999, 1), (1, 1, Verdict::Rejected));
}

/// The double plan of a lot of 100: accepted, rejected, or decided by the second draw.
#[test]
fn a_double_plan_draws_again_when_in_doubt() {
    let test = of(&Regime::eu_76_211(), "tne", "double", 500.0, 100);
    let packs = |first: usize, second: usize, n: usize| {
        let mut packs = vec![506.0; n];
        packs[..first].fill(480.0);
        if n > 30 {
            packs[30..30 + second].fill(480.0);
        }
        test.evaluate(&packs).unwrap().counted.verdict
    };
    assert_eq!(packs(1, 0, 30), Verdict::Accepted);
    assert_eq!(packs(2, 0, 30), Verdict::DrawMore { total: 60 });
    assert_eq!(packs(3, 0, 30), Verdict::Rejected);
    assert_eq!(packs(2, 2, 60), Verdict::Accepted);
    assert_eq!(packs(2, 3, 60), Verdict::Rejected);
    assert_eq!(packs(1, 20, 60), Verdict::Accepted, "the second draw is not looked at");
    // A mean that fails needs no second draw.
    let mut light = vec![495.0; 30];
    light[..2].fill(480.0);
    assert_eq!(test.evaluate(&light).unwrap().verdict, Verdict::Rejected);
}

#[test]
fn weights_that_are_none_are_named() {
    let test = of(&Regime::eu_76_211(), "tne", "single", 500.0, 100);
    let mut packs = vec![500.0; 50];
    assert!(test.evaluate(&packs[..49]).unwrap_err().to_string().contains("49 packs"));
    packs[7] = -1.0;
    assert!(test.evaluate(&packs).unwrap_err().to_string().contains("weight 8"));
    packs[7] = f64::NAN;
    assert!(test.evaluate(&packs).is_err());
}

/// A lot of one pack by the handbook has no test of the mean.
#[test]
fn a_lot_of_one_pack() {
    let test = of(&Regime::nist_hb133(), "mav", "category-a", 500.0, 1);
    assert_eq!(test.evaluate(&[479.0]).unwrap().verdict, Verdict::Accepted);
    assert_eq!(test.evaluate(&[478.2]).unwrap().verdict, Verdict::Rejected);
    let aqs = of(&Regime::nz_aqs(), "tne", "lots", 500.0, 1);
    assert_eq!(aqs.evaluate(&[500.0]).unwrap().verdict, Verdict::Accepted);
    assert_eq!(aqs.evaluate(&[499.9]).unwrap().verdict, Verdict::Rejected);
}
