//! Constants of ranking and selection: where both procedures meet, limits, what they promise, bad input. Published
//! values are in the theory tests.

use super::{Procedure, kim_nelson};
use crate::distribution::normal_quantile;
use crate::estimate::{mean, variance};
use crate::stream::Streams;

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

/// For two designs both procedures ask for the same constant.
#[test]
fn both_procedures_meet_at_two_designs() {
    for (first, probability) in [(2, 0.6), (3, 0.9), (6, 0.95), (20, 0.99), (500, 0.9)] {
        let constant = |procedure: Procedure| procedure.constant(2, first, probability).expect("a constant");
        let (one, other) = (constant(Procedure::DudewiczDalal), constant(Procedure::Rinott));
        near(one / other, 1.0, 1e-7);
    }
}

/// Two designs and many first runs: z(P) sqrt 2.
#[test]
fn many_first_runs_are_as_good_as_known_variances() {
    let constant = Procedure::Rinott.constant(2, 200_000, 0.95).expect("a constant");
    near(constant, normal_quantile(0.95) * 2.0_f64.sqrt(), 1e-4);
}

/// Rinott's procedure on five designs in the least favourable case: right in 0.9 of 2,000 choices or more, less 4 standard
/// errors (wrong alarm 3 in 100,000, seed fixed).
#[test]
fn the_best_is_chosen_as_often_as_promised() {
    let (designs, first, indifference) = (5, 10, 1.0);
    let constant = Procedure::Rinott.constant(designs, first, 0.9).expect("a constant");
    let mut stream = Streams::new(51, 0).get("designs");
    let mut right = 0;
    for _ in 0..2000 {
        let means = (0..designs).map(|design| {
            let (centre, deviation) =
                (if design == 0 { indifference } else { 0.0 }, 1.0 + 0.3 * design as f64);
            let mut draw = || centre + deviation * normal_quantile(stream.open01());
            let mut values: Vec<f64> = (0..first).map(|_| draw()).collect();
            let spread = variance(&values).expect("values");
            let total =
                Procedure::Rinott.replications(spread, first, constant, indifference).expect("a number");
            values.extend((first as u64..total).map(|_| draw()));
            mean(&values).expect("values")
        });
        let means: Vec<f64> = means.collect();
        right += i32::from(means[1..].iter().all(|other| *other < means[0]));
    }
    assert!(f64::from(right) / 2000.0 > 0.9 - 4.0 * (0.09 / 2000.0_f64).sqrt(), "{right}");
}

#[test]
fn replications_by_hand() {
    // 4 x 3 / 0.25 = 48; at least 11 or 10.
    for procedure in [Procedure::DudewiczDalal, Procedure::Rinott] {
        assert_eq!(procedure.replications(3.0, 10, 2.0, 0.5), Some(48));
        for (spread, constant, indifference) in [
            (-1.0, 2.0, 1.0),
            (f64::NAN, 2.0, 1.0),
            (1.0, 0.0, 1.0),
            (1.0, 2.0, 0.0),
            (1.0, -2.0, -1.0),
            (1e40, 2.0, 1.0),
        ] {
            assert_eq!(procedure.replications(spread, 10, constant, indifference), None);
        }
    }
    assert_eq!(Procedure::DudewiczDalal.replications(0.0, 10, 2.0, 0.5), Some(11));
    assert_eq!(Procedure::Rinott.replications(0.0, 10, 2.0, 0.5), Some(10));
}

#[test]
fn no_constant_without_sense() {
    for procedure in [Procedure::DudewiczDalal, Procedure::Rinott] {
        for (designs, first, probability) in
            [(1, 10, 0.9), (5, 1, 0.9), (5, 10, 0.2), (5, 10, 1.0), (5, 10, f64::NAN), (0, 0, 0.5)]
        {
            assert_eq!(
                procedure.constant(designs, first, probability),
                None,
                "{designs} {first} {probability}"
            );
        }
        assert!(procedure.constant(3, 2, 0.95).is_some_and(|constant| constant > 5.0));
    }
    for (designs, first, alpha) in
        [(1, 10, 0.05), (5, 1, 0.05), (5, 10, 0.0), (5, 10, 0.8), (5, 10, f64::NAN)]
    {
        assert_eq!(kim_nelson(designs, first, alpha), None);
    }
}
