//! Estimates against published figures and against hand calculation.

use super::{Estimate, Paired, mean, quantile_of, student_t_quantile, sum, variance};
use crate::distribution::normal_quantile;
use crate::stream::Streams;

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

/// Student's t, table 1.3.6.7.2 of the NIST/SEMATECH e-Handbook (three decimals; from memory), and two closed forms:
/// tan(pi (p - 1/2)) with 1 degree of freedom and (2p - 1) sqrt(2 / (1 - (2p - 1)^2)) with 2.
#[test]
fn student_t_meets_table_and_closed_forms() {
    for (p, degrees, t) in [
        (0.975, 1.0, 12.706),
        (0.975, 4.0, 2.776),
        (0.975, 9.0, 2.262),
        (0.95, 9.0, 1.833),
        (0.995, 29.0, 2.756),
        (0.975, 100.0, 1.984),
    ] {
        close(student_t_quantile(p, degrees), t, 0.000_5);
    }
    for p in [0.001, 0.1, 0.3, 0.6, 0.9, 0.975, 0.999_5] {
        let one = (core::f64::consts::PI * (p - 0.5)).tan();
        close(student_t_quantile(p, 1.0) / one, 1.0, 1e-9);
        let twice: f64 = 2.0 * p - 1.0;
        let two = twice * (2.0 / (1.0 - twice * twice)).sqrt();
        close(student_t_quantile(p, 2.0) / two, 1.0, 1e-9);
    }
    // Many degrees of freedom: normal, with the first term of its expansion (z^3 + z) / (4 degrees).
    let z = normal_quantile(0.975);
    close(student_t_quantile(0.975, 100_000.0), z + (z * z * z + z) / 400_000.0, 1e-8);
    // Two ways meet at 1000 degrees of freedom.
    for p in [0.005, 0.4, 0.9, 0.975, 0.999] {
        close(student_t_quantile(p, 999.999_999) / student_t_quantile(p, 1000.0), 1.0, 1e-6);
    }
}

#[test]
fn student_t_outside_its_domain_is_not_a_number() {
    for (p, degrees) in [(0.0, 3.0), (1.0, 3.0), (-0.1, 3.0), (f64::NAN, 3.0), (0.5, 0.0), (0.5, f64::NAN)] {
        assert!(student_t_quantile(p, degrees).is_nan());
    }
}

/// Ten delays of a bank queue: mean 2.031, variance 0.3091, 90 % half width 0.3223 (Law, Simulation Modeling and
/// Analysis; figures from memory, the arithmetic recomputed).
#[test]
fn interval_of_ten_replications() {
    let delays = [1.53, 1.66, 1.24, 2.34, 2.00, 1.69, 2.69, 2.86, 1.70, 2.60];
    let estimate = Estimate::of(&delays, 0.90).expect("ten finite values");
    close(estimate.mean, 2.031, 1e-12);
    close(variance(&delays).expect("ten values"), 0.309_1, 5e-5);
    close(estimate.half_width.expect("ten values"), 0.322_3, 5e-5);
    close(estimate.low().expect("ten values"), 2.031 - 0.322_3, 5e-5);
    close(estimate.high().expect("ten values"), 2.031 + 0.322_3, 5e-5);
    close(estimate.standard_deviation().expect("ten values"), 0.309_1_f64.sqrt(), 5e-5);
    assert_eq!(estimate.n, 10);
}

#[test]
fn a_single_value_has_a_mean_but_no_interval() {
    let estimate = Estimate::of(&[7.0], 0.95).expect("one value");
    close(estimate.mean, 7.0, 0.0);
    assert_eq!((estimate.standard_error, estimate.half_width, estimate.low()), (None, None, None));
}

#[test]
fn no_estimate_without_sense() {
    assert_eq!(Estimate::of(&[], 0.95), None);
    assert_eq!(Estimate::of(&[1.0, f64::NAN], 0.95), None);
    assert_eq!(Estimate::of(&[1.0, f64::INFINITY], 0.95), None);
    for level in [0.0, 1.0, -0.5, 95.0, f64::NAN] {
        assert_eq!(Estimate::of(&[1.0, 2.0], level), None, "{level}");
    }
}

/// NIST StRD univariate sets NumAcc1 to NumAcc4: hard on summation; means and deviations certified (sets from memory:
/// a middle value and then pairs evenly about it, so the figures also follow by hand).
#[test]
fn mean_and_deviation_of_the_hard_nist_sets() {
    for (middle, step, pairs, mean_expected, deviation) in [
        (10_000_002.0, 1.0, 1, 10_000_002.0, 1.0),
        (1.2, 0.1, 500, 1.2, 0.1),
        (1_000_000.2, 0.1, 500, 1_000_000.2, 0.1),
        (10_000_000.2, 0.1, 500, 10_000_000.2, 0.1),
    ] {
        let mut values = vec![middle];
        for _ in 0..pairs {
            values.extend([middle - step, middle + step]);
        }
        close(mean(&values).expect("values") / mean_expected, 1.0, 1e-15);
        // The values themselves are rounded: step is known to 1e-16 of the middle.
        let tolerance = 4e-16 * mean_expected / deviation + 1e-14;
        close(variance(&values).expect("values").sqrt() / deviation, 1.0, tolerance);
    }
}

#[test]
fn sum_keeps_what_plain_addition_loses() {
    close(sum(&[1.0, 1e100, 1.0, -1e100]), 2.0, 0.0);
    close(sum(&[]), 0.0, 0.0);
    assert!(sum(&[f64::MAX, f64::MAX]).is_infinite());
    assert!(sum(&[f64::NAN, 1.0]).is_nan());
    assert_eq!((mean(&[]), variance(&[3.0])), (None, None));
    close(variance(&[3.0, 3.0, 3.0]).expect("three values"), 0.0, 0.0);
    assert!(variance(&[3.0, f64::NAN]).is_some_and(f64::is_nan));
    assert!(variance(&[3.0, f64::INFINITY]).is_some_and(f64::is_nan));
}

/// Hand calculation with h = (n - 1) p.
#[test]
fn quantile_lies_in_proportion_between_neighbours() {
    let sorted = [1.0, 2.0, 4.0, 8.0, 16.0];
    for (p, expected) in [(0.0, 1.0), (0.25, 2.0), (0.1, 1.4), (0.5, 4.0), (0.9, 12.8), (1.0, 16.0)] {
        close(quantile_of(&sorted, p).expect("five values"), expected, 1e-12);
    }
    close(quantile_of(&[5.0], 0.3).expect("one value"), 5.0, 0.0);
    assert_eq!(quantile_of(&[], 0.5), None);
    assert_eq!(quantile_of(&sorted, 1.1), None);
    assert_eq!(quantile_of(&sorted, f64::NAN), None);
}

/// Differences 1, 2, 3: mean 2, standard error 1 / sqrt 3, by hand.
#[test]
fn paired_difference_is_second_less_first_value_by_value() {
    let paired = Paired::of(&[10.0, 20.0, 30.0], &[11.0, 22.0, 33.0], 0.95).expect("three pairs");
    close(paired.first.mean, 20.0, 1e-12);
    close(paired.second.mean, 22.0, 1e-12);
    close(paired.difference.mean, 2.0, 1e-12);
    close(paired.difference.standard_error.expect("three pairs"), 1.0 / 3.0_f64.sqrt(), 1e-12);
    assert!(paired.difference.half_width < paired.first.half_width);
    assert_eq!(Paired::of(&[1.0], &[1.0, 2.0], 0.95), None);
    assert_eq!(Paired::of(&[], &[], 0.95), None);
}

/// 4,000 intervals of five normal values each at level 0.9: the covered share within 4 standard errors of 0.9 (wrong
/// alarm 6 in 100,000, seed fixed). With normal instead of t quantiles it would be about 0.82.
#[test]
fn interval_covers_the_true_mean_as_often_as_it_says() {
    let mut stream = Streams::new(11, 0).get("coverage");
    let mut covered = 0;
    for _ in 0..4000 {
        let values = [(); 5].map(|()| 3.0 + 2.0 * normal_quantile(stream.open01()));
        let estimate = Estimate::of(&values, 0.9).expect("five finite values");
        covered += i32::from((estimate.mean - 3.0).abs() < estimate.half_width.expect("five values"));
    }
    let share = f64::from(covered) / 4000.0;
    close(share, 0.9, 4.0 * (0.9 * 0.1 / 4000.0_f64).sqrt());
}
