//! Tests of the feedback loop: onset of hunting, first-order theory, and the bias of leaving rejects out. Seeds are fixed.

use super::*;
use crate::basis::Status;
use crate::packs::{Gate, Packs};
use linewake_stats::stream::Streams;

const LOOP: FeedbackLoop = FeedbackLoop {
    every_packs: 20,
    dead_time_packs: 40,
    gain: 0.2,
    target_g: 505.0,
    lowest_g: -15.0,
    highest_g: 15.0,
    count_rejects: true,
};
const STILL: Deviations =
    Deviations { mean_g: 505.0, sd_pack_g: 6.0, sd_batch_g: 0.0, batch_packs: 1, drift: None };

/// 2 sin(pi / (2 (2 d + 1))): 1 for d = 1, the golden ratio's 0.618 for d = 2, 0.347 for d = 4 (from memory); the loop
/// followed pack by pack is far nearer than 15 %.
#[test]
fn hunting_starts_where_the_formula_says() {
    for (dead, gain) in [(0, 2.0), (1, 1.0), (2, 0.618_034), (4, 0.347_296_4)] {
        assert!((hunting_gain_formula(f64::from(dead)) - gain).abs() < 1e-6, "{dead}");
        for every in [1_u64, 7, 50] {
            let found = hunting_gain(every, u64::from(dead as u32) * every).unwrap();
            assert!((found / gain - 1.0).abs() < 0.005, "{dead}, {every}: {found}");
        }
    }
    // Between whole dead times the gain lies between theirs.
    let between = hunting_gain(10, 15).unwrap();
    assert!(between < 1.0 && between > 0.618, "{between}");
    assert_eq!(hunting_basis().status, Status::Memory);
}

/// Just at the limit the swing has a period of 2 (2 d + 1) corrections: it changes its sign every 2 d + 1.
#[test]
fn the_swing_has_the_period_of_theory() {
    for dead in [1_u64, 2, 4] {
        let swing = swing_after_a_step(5, 5 * dead, hunting_gain_formula(dead as f64), 3000);
        let changes = swing.windows(2).filter(|pair| (pair[0] > 0.0) != (pair[1] > 0.0)).count();
        let expected = 3000.0 / (2 * dead + 1) as f64;
        assert!((changes as f64 / expected - 1.0).abs() < 0.02, "{dead}: {changes} {expected}");
        // And it neither dies out nor grows.
        let largest = |part: &[f64]| part.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
        assert!((largest(&swing[2000..]) / largest(&swing[1000..2000]) - 1.0).abs() < 0.02);
    }
}

/// Without dead time the correction is a first-order autoregression: its variance is G / (2 - G) of that of a mean. The
/// packs' variance is the sum of both, since a pack knows nothing of the correction made before it.
#[test]
fn noise_of_the_correction_agrees_with_theory() {
    for gain in [0.1, 0.5, 1.2] {
        let free = FeedbackLoop { gain, dead_time_packs: 0, lowest_g: -1e3, highest_g: 1e3, ..LOOP };
        let run = free.simulate(&STILL, &Gate::none(), 2_000, 400_000, &Streams::new(2, 0)).unwrap();
        let expected = (gain / (2.0 - gain) * 36.0 / 20.0).sqrt();
        // 20,000 means, correlated with 1 - G: the standard error is about 1.6 % at gain 0.1; four of them.
        assert!(
            (run.correction_sd_g / expected - 1.0).abs() < 0.065,
            "{gain}: {} {expected}",
            run.correction_sd_g
        );
        assert!((run.sd_g - (36.0 + expected * expected).sqrt()).abs() < 0.1);
        assert!((run.mean_g - 505.0).abs() < 0.05 && run.at_limit.abs() < 1e-12);
    }
}

/// Batches that last long are taken off by a modest gain; a gain above the limit hunts between its limits and is worse than
/// none.
#[test]
fn a_modest_gain_helps_and_a_large_one_hunts() {
    let batches = Deviations { sd_batch_g: 4.0, batch_packs: 1000, ..STILL };
    let points = LOOP
        .gains(&[0.0, 0.15, 0.3, 0.9], &batches, &Gate::none(), 5_000, 200_000, &Streams::new(3, 0))
        .unwrap();
    assert_eq!(points.iter().map(|point| point.settles).collect::<Vec<_>>(), [true, true, true, false]);
    let sd: Vec<f64> = points.iter().map(|point| point.run.sd_g).collect();
    assert!((sd[0] - 52.0_f64.sqrt()).abs() < 0.35, "{sd:?}");
    assert!(sd[1] < 6.5 && sd[2] < 6.6 && sd[3] > sd[0] + 3.0, "{sd:?}");
    assert!(points[3].run.at_limit > 0.25 && points[1].run.at_limit < 1e-3, "{points:?}");
    // Slow drift is followed too.
    let drift = Deviations { drift: Some(Drift { sd_g: 4.0, correlation_packs: 4000.0 }), ..STILL };
    let points =
        LOOP.gains(&[0.0, 0.15], &drift, &Gate::none(), 5_000, 400_000, &Streams::new(3, 0)).unwrap();
    assert!(points[1].run.sd_g < 6.4 && points[0].run.sd_g > 6.8, "{points:?}");
}

/// Rejects left out: the packs settle below the target by what the light readings lacked.
#[test]
fn leaving_rejects_out_biases_the_mean() {
    let packs = Packs { mean_g: 0.0, sd_within_g: 6.0, sd_between_g: 0.0 };
    let gate = Gate { sd_g: 1.0, bias_g: 0.0, low_g: Some(498.0), high_g: None };
    let counted = settled(&packs, &gate, 505.0, true).unwrap();
    assert!(counted.bias_g.abs() < 1e-12 && counted.leaving_mean_g > 505.0);
    let left_out = settled(&packs, &gate, 505.0, false).unwrap();
    assert!(left_out.bias_g < -1.0 && left_out.rejected > counted.rejected, "{left_out:?}");
    // Readings of the packs that pass average to the target: worked back from the truncated normal.
    let sd_g = 37.0_f64.sqrt();
    let a = (498.0 - left_out.mean_g) / sd_g;
    use linewake_stats::distribution::normal::{normal_cdf, normal_density};
    assert!((left_out.mean_g + sd_g * normal_density(a) / normal_cdf(-a) - 505.0).abs() < 1e-9);
    // The loop itself settles there.
    let slow = FeedbackLoop { gain: 0.02, count_rejects: false, lowest_g: -60.0, highest_g: 60.0, ..LOOP };
    let run = slow.simulate(&STILL, &gate, 60_000, 600_000, &Streams::new(4, 0)).unwrap();
    assert!((run.mean_g - left_out.mean_g).abs() < 0.12, "{} {}", run.mean_g, left_out.mean_g);
    assert!((run.rejected_low - left_out.rejected).abs() < 0.01);
    let all = FeedbackLoop { count_rejects: true, ..slow };
    let run = all.simulate(&STILL, &gate, 60_000, 600_000, &Streams::new(4, 0)).unwrap();
    assert!((run.mean_g - 505.0).abs() < 0.05, "{}", run.mean_g);
}

#[test]
fn symmetric_limits_do_not_bias_and_a_weighers_bias_does() {
    let packs = Packs { mean_g: 0.0, sd_within_g: 6.0, sd_between_g: 2.0 };
    let both = Gate { sd_g: 1.0, bias_g: 0.0, low_g: Some(495.0), high_g: Some(515.0) };
    assert!(settled(&packs, &both, 505.0, false).unwrap().bias_g.abs() < 1e-9);
    let reads_high = Gate { bias_g: 0.8, ..both };
    for count in [true, false] {
        assert!((settled(&packs, &reads_high, 505.0, count).unwrap().bias_g + 0.8).abs() < 1e-9);
    }
    let heavy_out = Gate { low_g: None, high_g: Some(512.0), ..both };
    assert!(settled(&packs, &heavy_out, 505.0, false).unwrap().bias_g > 0.5);
    for target_g in [495.0, 490.0, 515.0, 520.0] {
        let error = settled(&packs, &both, target_g, false).unwrap_err();
        assert_eq!(error, FeedbackError::TargetOutsideLimits { target: target_g });
    }
}

#[test]
fn figures_that_give_no_loop_are_named() {
    let run = |one: FeedbackLoop, deviations: Deviations| {
        one.simulate(&deviations, &Gate::none(), 0, 100, &Streams::new(1, 0)).unwrap_err().to_string()
    };
    assert!(run(FeedbackLoop { every_packs: 0, ..LOOP }, STILL).contains("between corrections is 0"));
    assert!(run(FeedbackLoop { gain: -0.1, ..LOOP }, STILL).contains("gain is -0.1"));
    assert!(run(FeedbackLoop { gain: f64::NAN, ..LOOP }, STILL).contains("gain"));
    assert!(run(FeedbackLoop { lowest_g: 20.0, ..LOOP }, STILL).contains("highest correction is 15"));
    assert!(run(FeedbackLoop { dead_time_packs: 2_000_000, ..LOOP }, STILL).contains("dead time"));
    assert!(run(LOOP, Deviations { sd_pack_g: -1.0, ..STILL }).contains("pack to pack"));
    assert!(run(LOOP, Deviations { batch_packs: 0, ..STILL }).contains("packs of a batch"));
    assert!(hunting_gain(0, 3).is_err());
}
