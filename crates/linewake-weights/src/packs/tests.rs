//! Tests of packs at a weigher: closed forms, limits of no error and no spread, and balance of shares.

use super::*;

const PACKS: Packs = Packs { mean_g: 505.0, sd_within_g: 6.0, sd_between_g: 2.5 };

fn gate(sd_g: f64) -> Gate {
    Gate { sd_g, bias_g: 0.0, low_g: Some(492.0), high_g: Some(520.0) }
}

#[track_caller]
fn near(ours: f64, expected: f64, within: f64) {
    assert!((ours - expected).abs() <= within, "{ours} is not {expected}");
}

#[test]
fn without_a_weigher_packs_are_normal() {
    let leaving = Leaving::of(&PACKS, &Gate::none()).unwrap();
    near(PACKS.sd_g(), 6.5, 1e-12);
    near(leaving.passed, 1.0, 1e-15);
    near(leaving.leaving_mean_g, 505.0, 1e-12);
    near(leaving.leaving_sd_g, 6.5, 1e-12);
    for (weight, z) in [(485.0, -20.0 / 6.5), (505.0, 0.0), (515.0, 10.0 / 6.5)] {
        near(leaving.share_below(weight), normal_cdf(z), 1e-13);
        near(PACKS.share_below(weight), normal_cdf(z), 1e-15);
    }
    // 2 % below T1 at 2.054 standard deviations: read in a German example (500 ml, T1 485, sd 7.30).
    let filled = Packs { mean_g: 500.0, sd_within_g: 7.30, sd_between_g: 0.0 };
    near(filled.share_below(485.0), 0.02, 1e-4);
}

/// A weigher without error cuts the normal at its limits.
#[test]
fn a_perfect_weigher_truncates() {
    let leaving = Leaving::of(&PACKS, &gate(0.0)).unwrap();
    let (a, b) = (-2.0, 15.0 / 6.5);
    let passed = normal_cdf(b) - normal_cdf(a);
    near(leaving.passed, passed, 1e-14);
    near(leaving.rejected_low, normal_cdf(-2.0), 1e-15);
    near(leaving.leaving_mean_g, 505.0 + 6.5 * (normal_density(a) - normal_density(b)) / passed, 1e-10);
    near(leaving.share_below(492.0), 0.0, 1e-15);
    near(leaving.share_below(500.0), (normal_cdf(-5.0 / 6.5) - normal_cdf(a)) / passed, 1e-12);
    let wrong = leaving.wrong_verdicts();
    for share in [
        wrong.falsely_rejected_low,
        wrong.falsely_rejected_high,
        wrong.falsely_passed_low,
        wrong.falsely_passed_high,
    ] {
        near(share, 0.0, 1e-15);
    }
}

/// The closed forms of mean and spread agree with integrals over the leaving packs (by steps of the distribution).
#[test]
fn moments_of_leaving_packs_agree_with_their_distribution() {
    for weigher in
        [Gate { bias_g: 0.7, ..gate(1.5) }, gate(4.0), gate(0.2), Gate { high_g: None, ..gate(2.0) }]
    {
        let leaving = Leaving::of(&PACKS, &weigher).unwrap();
        let step = 0.05;
        let (mut mass, mut mean, mut square) = (0.0, 0.0, 0.0);
        let mut below = 0.0;
        for k in 0..2600 {
            let left = 440.0 + step * f64::from(k);
            let up_to = leaving.share_below(left + step);
            let (share, middle) = (up_to - below, left + 0.5 * step);
            below = up_to;
            mass += share;
            mean += share * middle;
            square += share * middle * middle;
        }
        near(mass, 1.0, 1e-10);
        near(leaving.leaving_mean_g, mean, 1e-4);
        near(leaving.leaving_sd_g, libm::sqrt(square - mean * mean), 1e-3);
    }
}

/// Light packs that pass and right ones that are rejected: the rejects are the light packs, less the one, plus the other.
#[test]
fn wrong_verdicts_balance_the_rejects() {
    for weigher in [gate(0.5), gate(2.0), Gate { bias_g: -1.0, ..gate(1.0) }] {
        let leaving = Leaving::of(&PACKS, &weigher).unwrap();
        let wrong = leaving.wrong_verdicts();
        let light = PACKS.share_below(492.0);
        near(leaving.rejected_low, light - wrong.falsely_passed_low + wrong.falsely_rejected_low, 1e-12);
        let heavy = 1.0 - PACKS.share_below(520.0);
        near(leaving.rejected_high, heavy - wrong.falsely_passed_high + wrong.falsely_rejected_high, 1e-12);
        assert!(wrong.falsely_passed_low > 0.0 && wrong.falsely_rejected_low > 0.0);
    }
    // The joint law of weight and reading is a binormal one; at the mean of both a quarter plus the angle (Sheppard 1898).
    let middle = Gate { sd_g: 6.5, bias_g: 0.0, low_g: Some(505.0), high_g: None };
    let wrong = Leaving::of(&PACKS, &middle).unwrap().wrong_verdicts();
    let correlation: f64 = core::f64::consts::FRAC_1_SQRT_2;
    let quadrant = 0.25 + libm::asin(correlation) / core::f64::consts::TAU;
    near(wrong.falsely_passed_low, 0.5 - quadrant, 1e-12);
    near(wrong.falsely_rejected_low, 0.5 - quadrant, 1e-12);
}

#[test]
fn the_zone_of_indecision_is_six_standard_deviations_wide() {
    let weigher = gate(0.8);
    let (from, to) = weigher.zone_of_indecision(492.0, normal_cdf(-3.0)).unwrap();
    near(to - from, 6.0 * 0.8, 1e-9);
    near(weigher.rejects_low(to), normal_cdf(-3.0), 1e-12);
    near(1.0 - weigher.rejects_low(from), normal_cdf(-3.0), 1e-12);
    near(weigher.rejects_low(492.0), 0.5, 1e-15);
    near(weigher.rejects_high(520.0), 0.5, 1e-15);
    // A weigher that reads a gram high decides a gram lower.
    let (from, to) = Gate { bias_g: 1.0, ..weigher }.zone_of_indecision(492.0, 0.1).unwrap();
    near(0.5 * (from + to), 491.0, 1e-12);
    for bad in [0.0, 0.6, -0.1, f64::NAN] {
        assert_eq!(weigher.zone_of_indecision(492.0, bad), None);
    }
}

#[test]
fn packs_without_spread() {
    let still = Packs { mean_g: 500.0, sd_within_g: 0.0, sd_between_g: 0.0 };
    let sure = Leaving::of(&still, &gate(0.0)).unwrap();
    near(sure.passed, 1.0, 1e-15);
    near(sure.share_below(500.0), 0.0, 1e-15);
    near(sure.share_below(500.1), 1.0, 1e-15);
    let noisy = Leaving::of(&still, &gate(4.0)).unwrap();
    near(noisy.rejected_low, normal_cdf(-2.0), 1e-14);
    near(noisy.leaving_mean_g, 500.0, 1e-12);
    near(noisy.leaving_sd_g, 0.0, 1e-12);
    near(noisy.wrong_verdicts().falsely_rejected_low, normal_cdf(-2.0), 1e-14);
    assert_eq!(Leaving::of(&still.with_mean(480.0), &gate(0.0)).unwrap_err(), PacksError::NothingLeaves);
}

#[test]
fn figures_that_are_none_are_named() {
    let error = |packs: Packs, gate: Gate| Leaving::of(&packs, &gate).unwrap_err().to_string();
    assert!(error(Packs { sd_within_g: -1.0, ..PACKS }, gate(1.0)).contains("within batches is -1"));
    assert!(error(PACKS.with_mean(f64::NAN), gate(1.0)).contains("the mean"));
    assert!(error(PACKS, gate(-2.0)).contains("weigher"));
    assert!(error(PACKS, Gate { high_g: Some(490.0), ..gate(1.0) }).contains("below the upper one"));
    assert!(error(PACKS.with_mean(900.0), gate(1.0)).contains("rejects every pack"));
}
