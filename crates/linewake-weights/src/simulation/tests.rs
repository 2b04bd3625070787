//! Tests of simulated lots against closed forms. Seeds are fixed; a share of n tests misses four standard errors with
//! probability 6e-5.

use super::*;
use crate::regime::{LabelUnit, Regime};
use linewake_stats::stream::stream_number;

const TESTS: u64 = 20_000;
const PACKS: Packs = Packs { mean_g: 501.0, sd_within_g: 7.0, sd_between_g: 0.0 };

fn test_of(plan: &str, lot: u64) -> LotTest {
    Regime::eu_76_211().lot_test("tne", plan, 500.0, LabelUnit::Gram, lot).unwrap()
}

#[track_caller]
fn within_errors(share: Share, exact: f64) {
    let error = libm::sqrt(exact * (1.0 - exact) / share.tests as f64).max(1.0 / share.tests as f64);
    assert!((share.value() - exact).abs() < 4.0 * error, "{} is not {exact} +- {error}", share.value());
}

/// Without a weigher both parts have exact probabilities: binomial and non-central t.
#[test]
fn simulated_lots_pass_as_often_as_they_must() {
    for (plan, lot) in [("single", 100), ("double", 501), ("single", 3201), ("single", 60)] {
        let test = test_of(plan, lot);
        let exact = test.passes(&PACKS, &Gate::none(), Makeup::Mixed).unwrap().unwrap();
        let seen = test.simulate(&PACKS, &Gate::none(), Makeup::Mixed, TESTS, &Streams::new(7, 0)).unwrap();
        within_errors(seen.count_passed, exact.count);
        within_errors(seen.mean_passed, exact.mean);
        assert!(
            seen.passed.value() >= exact.at_least() - 0.02 && seen.passed.value() <= exact.at_most() + 0.02
        );
        assert!(seen.passed.hits <= seen.count_passed.hits.min(seen.mean_passed.hits));
    }
}

/// The count behind a weigher is exact too; its mean is an approximation, near here.
#[test]
fn behind_a_weigher_the_count_is_exact() {
    let test = test_of("single", 3201);
    let gate = Gate { sd_g: 2.0, bias_g: 0.3, low_g: Some(481.0), high_g: Some(516.0) };
    let packs = Packs { mean_g: 500.0, sd_within_g: 9.0, sd_between_g: 0.0 };
    let exact = test.passes(&packs, &gate, Makeup::Mixed).unwrap().unwrap();
    let seen = test.simulate(&packs, &gate, Makeup::Mixed, TESTS, &Streams::new(11, 0)).unwrap();
    assert!(exact.count > 0.05 && exact.count < 0.99, "{}", exact.count);
    within_errors(seen.count_passed, exact.count);
    assert!((seen.mean_passed.value() - exact.mean).abs() < 0.02);
}

/// A lot of one batch: the integral over its shift.
#[test]
fn a_lot_of_one_batch_has_its_shift_in_common() {
    let test = test_of("single", 501);
    let packs = Packs { mean_g: 501.0, sd_within_g: 6.0, sd_between_g: 4.0 };
    let one = test.passes(&packs, &Gate::none(), Makeup::Batches(1)).unwrap().unwrap();
    let mixed = test.passes(&packs, &Gate::none(), Makeup::Mixed).unwrap().unwrap();
    let seen = test.simulate(&packs, &Gate::none(), Makeup::Batches(1), TESTS, &Streams::new(3, 0)).unwrap();
    within_errors(seen.count_passed, one.count);
    within_errors(seen.mean_passed, one.mean);
    // Shifts of whole lots fail lots that the same spread, well mixed, would not.
    assert!(one.mean < mixed.mean - 0.05, "{one:?} {mixed:?}");
    assert_eq!(test.passes(&packs, &Gate::none(), Makeup::Batches(3)).unwrap(), None);
    // Many batches come near to a mixed lot.
    let many =
        test.simulate(&packs, &Gate::none(), Makeup::Batches(400), 4_000, &Streams::new(3, 0)).unwrap();
    assert!((many.mean_passed.value() - mixed.mean).abs() < 0.02);
}

/// Category B with a mean of zero error on average: one lot in two fails.
#[test]
fn category_b_fails_every_second_right_lot() {
    let us = Regime::nist_hb133();
    let test = us.lot_test("usda", "category-b", 500.0, LabelUnit::Gram, 1000).unwrap();
    let seen = test
        .simulate(&PACKS.with_mean(500.0), &Gate::none(), Makeup::Mixed, TESTS, &Streams::new(5, 0))
        .unwrap();
    within_errors(seen.mean_passed, 0.5);
}

/// Drawn directly, the packs behind a weigher have the law that the integrals give.
#[test]
fn leaving_packs_are_drawn_from_their_law() {
    let gate = Gate { sd_g: 3.0, bias_g: -0.5, low_g: Some(494.0), high_g: Some(512.0) };
    let packs = Packs { mean_g: 501.0, sd_within_g: 7.0, sd_between_g: 0.0 };
    let leaving = Leaving::of(&packs, &gate).unwrap();
    let mut lot = Lot::new(&packs, &gate, Makeup::Mixed, &Streams::new(1, 0));
    lot.mix(0);
    let drawn: Vec<f64> = (0..40_000).map(|index| lot.pack(index)).collect();
    for weight in [485.0, 494.0, 500.0, 505.0, 514.0] {
        let hits = drawn.iter().filter(|pack| **pack < weight).count() as u64;
        within_errors(Share::of(hits, 40_000), leaving.share_below(weight));
    }
    let mean = drawn.iter().sum::<f64>() / 40_000.0;
    assert!((mean - leaving.leaving_mean_g).abs() < 4.0 * leaving.leaving_sd_g / 200.0);
}

/// The same luck at two targets: a higher one never turns a passed lot into a failed one here, so that the difference of
/// targets is sure.
#[test]
fn a_higher_target_sees_the_same_luck() {
    let test = test_of("single", 501);
    let passed = |mean_g: f64| {
        let packs = PACKS.with_mean(mean_g);
        test.simulate(&packs, &Gate::none(), Makeup::Mixed, 2_000, &Streams::new(9, 0)).unwrap().passed.hits
    };
    let hits: Vec<u64> = (0..12).map(|step| passed(498.0 + 0.5 * f64::from(step))).collect();
    assert!(hits.windows(2).all(|pair| pair[0] <= pair[1]), "{hits:?}");
    assert_eq!(passed(500.0), passed(500.0));
}

#[test]
fn truncated_draws_stay_within() {
    for (a, b) in [
        (-1.0, 2.0),
        (6.0, f64::INFINITY),
        (f64::NEG_INFINITY, -6.0),
        (30.0, 31.0),
        (-31.0, -30.0),
        (50.0, 51.0),
    ] {
        let mut last = f64::NEG_INFINITY;
        for u in [1e-15, 0.1, 0.5, 0.9, 1.0 - 1e-15] {
            let z = Truncated::new(a, b).quantile(u);
            assert!(z >= a && z <= b && z >= last, "{a} {b} {u}: {z}");
            last = z;
        }
    }
}

#[test]
fn nothing_to_simulate_is_said() {
    let test = test_of("single", 501);
    let run = |packs: &Packs, makeup, tests| {
        test.simulate(packs, &Gate::none(), makeup, tests, &Streams::new(1, 0))
    };
    assert_eq!(run(&PACKS, Makeup::Mixed, 0), Err(SimulationError::Nothing));
    assert_eq!(run(&PACKS, Makeup::Batches(0), 10), Err(SimulationError::Nothing));
    assert_eq!(run(&PACKS, Makeup::Mixed, u64::MAX), Err(SimulationError::TooMany));
    assert_eq!(run(&PACKS, Makeup::Batches(u32::MAX), 1), Err(SimulationError::TooMany));
    assert!(run(&PACKS.with_mean(f64::NAN), Makeup::Mixed, 1).is_err());
}

#[test]
fn streams_have_names_of_their_own() {
    let mut numbers = [SHIFT, BATCH, READING, TRUTH].map(stream_number);
    numbers.sort_unstable();
    assert!(numbers.windows(2).all(|pair| pair[0] != pair[1]));
}
