//! The rule stops where it should, and the warm-up is found.

use super::*;
use crate::testing::{MINCE, conclusion, conditions, line, machine, near, stop};

fn base() -> BaseModel {
    line("", &[machine("one", "\"1 s\"", &stop("jam", 100.0, 20.0))])
}

#[test]
fn runs_are_added_until_the_mean_is_sure() {
    let options = PrecisionOptions { relative: 0.02, first: 10, most: 500, ..PrecisionOptions::default() };
    let study = PrecisionStudy::prepare(base(), options, &conditions(2, 3600.0)).expect("a study");
    let result = conclusion(&study);
    assert!(result.reached && result.runs > 10 && result.runs < 200, "{}", result.runs);
    let step = |runs: u64| result.path.iter().find(|step| step.runs == runs).expect("a step");
    let last = step(result.runs);
    assert!(last.half_width <= 0.02 / 1.02 * last.mean, "{last:?}");
    let before = step(result.runs - 1);
    assert!(before.half_width > 0.02 / 1.02 * before.mean, "one run fewer was not enough: {before:?}");
    assert_eq!(result.good_packs.n as u64, result.runs);
    near(result.oee.mean, 100.0 / 120.0, 0.03);
}

#[test]
fn a_wish_out_of_reach_ends_and_says_what_is_needed() {
    let options = PrecisionOptions { relative: 0.0005, first: 10, most: 25, ..PrecisionOptions::default() };
    let result =
        conclusion(&PrecisionStudy::prepare(base(), options, &conditions(2, 3600.0)).expect("a study"));
    assert!(!result.reached && result.runs == 25);
    assert!(result.runs_needed.expect("from the spread") > 1000);
    for (relative, first, most) in [(0.0, 10, 20), (1.0, 10, 20), (0.1, 9, 20), (0.1, 10, 9)] {
        let options = PrecisionOptions { relative, first, most, ..PrecisionOptions::default() };
        assert!(PrecisionStudy::prepare(base(), options, &conditions(2, 3600.0)).is_err());
    }
}

/// A long transit delays the first pack by 20 min: nothing before it speaks for the long run, and little after it is cut.
#[test]
fn the_warm_up_is_the_time_to_fill_the_line() {
    let belt =
        r#"{ "accumulating_belt": { "id": "belt", "capacity": 2000, "transit": "1200 s" } }"#.to_owned();
    let base = line(
        "",
        &[machine("one", "\"1 s\"", &stop("jam", 100.0, 20.0)), belt, machine("two", "\"1 s\"", "")],
    );
    let study = WarmUpStudy::prepare(base, &conditions(10, 14_400.0)).expect("a study");
    let warm_up = conclusion(&study);
    assert!(warm_up.settled && warm_up.found_s >= 1200.0 && warm_up.found_s <= 3600.0, "{}", warm_up.found_s);
    assert!(warm_up.packs_by_bin[0].abs() < 1e-12);
    near(warm_up.filled_s, 1260.0, 60.0);
    near(warm_up.used_s, warm_up.found_s.max(warm_up.filled_s), 1e-9);
    let packs = warm_up.packs_by_bin.iter().sum::<f64>();
    near(packs, (28_800.0 - 1200.0) / 1.2, 300.0);
}

/// The reference line fills in some minutes; its breaks are not mistaken for a start.
#[test]
fn breaks_are_no_warm_up() {
    let with_break = MINCE.replace(
        "\"shift\": { \"length\": \"8 h\" }",
        "\"shift\": { \"length\": \"4 h\", \"breaks\": [{ \"start\": \"2 h\", \"duration\": \"30 min\" }] }",
    );
    let base = BaseModel::parse(&with_break).expect("a model");
    assert_eq!(base.line.shift.breaks.len(), 1);
    let conditions = Conditions { length: None, ..conditions(6, 1.0) };
    let warm_up = conclusion(&WarmUpStudy::prepare(base, &conditions).expect("a study"));
    assert!(warm_up.settled && warm_up.found_s < 3600.0, "{}", warm_up.found_s);
    assert!(warm_up.filled_s >= 60.0 && warm_up.filled_s <= 600.0, "{}", warm_up.filled_s);
}
