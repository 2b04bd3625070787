//! Paired differences, their correction, and the choice of the best.

use super::*;
use crate::testing::{conclusion, conditions, line, machine, near, stop};

fn model(process: &str, mttr: f64) -> BaseModel {
    line("", &[machine("one", process, &stop("jam", 300.0, mttr))])
}

fn compare(models: Vec<(&str, BaseModel)>) -> ComparisonResult {
    let models = models.into_iter().map(|(label, model)| (label.to_owned(), model)).collect();
    conclusion(&ComparisonStudy::prepare(models, &conditions(20, 20_000.0)).expect("a study"))
}

#[test]
fn the_better_model_is_told_and_equal_ones_are_not_told_apart() {
    let result = compare(vec![
        ("a", model("\"1 s\"", 30.0)),
        ("b", model("\"1 s\"", 20.0)),
        ("again a", model("\"1 s\"", 30.0)),
    ]);
    assert_eq!((result.family, result.best, result.pairs.len()), (3, Some(1), 3));
    let pair = |first, second| {
        result.pairs.iter().find(|pair| (pair.first, pair.second) == (first, second)).expect("a pair")
    };
    // 20,000 s x (300 / 320 - 300 / 330) = 568.
    let better = pair(0, 1);
    near(better.good_packs.mean, 568.0, 2.0 * better.good_packs.half_width.expect("20 runs"));
    assert!(better.is_clear && better.p_value.expect("20 runs") < better.p_holm.expect("20 runs"));
    assert!(better.simultaneous_half_width > better.good_packs.half_width);
    assert!(better.shared_luck_ratio.expect("they vary") < 0.5, "the same luck");
    let same = pair(0, 2);
    assert_eq!((same.good_packs.mean.to_bits(), same.is_clear, same.p_value), (0, false, Some(1.0)));
    assert!(pair(1, 2).is_clear && pair(1, 2).good_packs.mean < 0.0);
}

/// Check S12 of the theory tests (values of a textbook, from memory): the difference is 4.978 with t = 3.19, so the p-value
/// lies between those of the table of Student's t for 4 degrees of freedom: 2.776 (0.05) and 3.747 (0.02).
#[test]
fn the_p_value_is_that_of_the_paired_t_test() {
    let first = [126.97, 124.31, 126.68, 122.66, 127.23];
    let second = [118.21, 120.22, 122.45, 122.68, 119.4];
    let p = p_value(&differences(&second, &first)).expect("five pairs");
    assert!(p > 0.02 && p < 0.05, "{p}");
    let (half, t) = (3.328_873_f64, 4.978_f64);
    // The half width at 90 % is t(4, 0.95) = 2.131847 standard errors.
    near(p, 2.0 * student_t_tail(t / (half / 2.131_847), 4.0), 1e-6);
}

#[test]
fn a_comparison_needs_two_names() {
    let one = || ("a".to_owned(), model("\"1 s\"", 30.0));
    assert!(ComparisonStudy::prepare(vec![one()], &conditions(5, 100.0)).is_err());
    assert!(ComparisonStudy::prepare(vec![one(), one()], &conditions(5, 100.0)).is_err());
}
