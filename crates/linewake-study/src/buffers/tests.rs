//! Curves against a closed formula, bounds, prices and bad input.

use super::*;
use crate::testing::{conclusion, conditions, line, machine, near, table};

fn two_machines() -> BaseModel {
    let process = r#"{ "exponential": { "mean": "1 s" } }"#;
    line("", &[machine("one", process, ""), table("table", 2), machine("two", process, "")])
}

fn vary(values: &str) -> BuffersOptions {
    BuffersOptions {
        vary: vec![("stations[table].capacity".to_owned(), values.to_owned())],
        ..BuffersOptions::default()
    }
}

/// *Source*: two machines with exponential service of equal rates and b places between make (b + 2) / (b + 3) pieces in a
/// mean service time: Hunt (1956), Sequential Arrays of Waiting Lines, Operations Research 4(6), 674-683 (from memory).
/// 24 runs of 10,000 s at 99.9 %; a warm-up is not needed, the start is a few pieces. Seven intervals: a right program
/// fails with probability 0.01 (seed fixed).
#[test]
fn the_curve_is_that_of_two_exponential_machines() {
    let (base, options) = (two_machines(), BuffersOptions { share: 0.55, ..vary("1,2,3,4,5") });
    let conditions = Conditions { level: 0.999, ..conditions(24, 10_000.0) };
    let study = BuffersStudy::prepare(base, options, &conditions).expect("a study");
    // As modelled (2), 1, 3, 4, 5, none, unlimited.
    assert_eq!(study.plan().designs.len(), 7);
    let result = conclusion(&study);
    let curve = &result.curves[0];
    let packs = |places: f64| 10_000.0 * (places + 2.0) / (places + 3.0);
    let numbers: Vec<Option<f64>> = curve.points.iter().map(|point| point.number).collect();
    assert_eq!(numbers, [Some(0.0), Some(1.0), Some(2.0), Some(3.0), Some(4.0), Some(5.0), None]);
    for point in &curve.points[..6] {
        let expected = packs(point.number.expect("a number"));
        let half_width = point.good_packs.half_width.expect("24 runs");
        near(point.good_packs.mean, expected, half_width + 5.0);
        assert!(half_width < 150.0, "{half_width}");
    }
    for pair in curve.points[..6].windows(2) {
        let (from, to) = (pair[0].number.expect("a number"), pair[1].number.expect("a number"));
        let gain = pair[1].packs_per_place.expect("a place more");
        near(gain.mean, packs(to) - packs(from), gain.half_width.expect("24 runs") + 5.0);
    }
    assert_eq!(curve.points[0].packs_per_place, None);
    assert_eq!(curve.points[2].against_base.mean.abs().to_bits(), 0, "as modelled");
    let unlimited = curve.unlimited.as_ref().expect("a bound");
    assert!(unlimited.good_packs.mean > packs(60.0) && unlimited.good_packs.mean < 10_100.0);
    near(unlimited.share_of_gain.expect("it gains"), 1.0, 1e-12);
    near(curve.none.as_ref().expect("a bound").share_of_gain.expect("it gains"), 0.0, 1e-12);
    // Of the gain from 2/3 to about 0.99 four places reach (6/7 - 2/3) / 0.325 = 0.58, three 0.51.
    let smallest = curve.smallest.as_ref().expect("one reaches it");
    assert_eq!((smallest.value.as_str(), smallest.is_smallest_tried), ("4", false));
    near(result.base.oee.mean, 0.8, 0.02);
}

#[test]
fn places_pay_back_by_the_packs_they_bring() {
    let options = BuffersOptions {
        price_per_place: Some(100.0),
        value_per_pack: Some(0.5),
        runs_per_year: Some(10.0),
        bounds: false,
        ..vary("1,7")
    };
    let study = BuffersStudy::prepare(two_machines(), options, &conditions(4, 2000.0)).expect("a study");
    let curve = conclusion(&study).curves.remove(0);
    assert_eq!(curve.points[0].payback, None, "fewer places than modelled cost nothing");
    let payback = curve.points[1].payback.expect("five more places");
    near(payback.cost, 500.0, 1e-9);
    near(payback.value_per_year, curve.points[1].against_base.mean * 5.0, 1e-9);
    near(payback.years.expect("it gains"), payback.cost / payback.value_per_year, 1e-9);
    assert_eq!((curve.none, curve.unlimited), (None, None));
    assert_eq!(curve.points[1].share_of_gain, None, "without bounds there is no share");
}

#[test]
fn all_combinations_or_one_at_a_time() {
    let options = |layout| BuffersOptions {
        vary: vec![
            ("stations[table].capacity".to_owned(), "1,2,3".to_owned()),
            ("stations[two].process".to_owned(), "0.5 s, 1.5 s".to_owned()),
        ],
        layout,
        ..BuffersOptions::default()
    };
    let prepare = |layout| {
        BuffersStudy::prepare(two_machines(), options(layout), &conditions(2, 100.0)).expect("a study")
    };
    let all = prepare(Layout::FullFactorial);
    assert_eq!(all.plan().designs.len(), 7);
    assert_eq!(all.plan().designs[6].values, ["3", "1.5 s"]);
    let found = conclusion(&all);
    assert!(found.curves.is_empty() && found.designs.len() == 6);
    let one = prepare(Layout::OneAtATime);
    let found = conclusion(&one);
    assert_eq!(found.curves.len(), 2);
    assert!(found.curves[1].none.is_none(), "a time has no bounds");
    assert_eq!(found.varied[1].station.as_deref(), Some("two"));
}

#[test]
fn bad_input_is_told() {
    let refused = |options: BuffersOptions| {
        let error = BuffersStudy::prepare(two_machines(), options, &conditions(2, 100.0));
        error.expect_err("refused").to_string()
    };
    assert!(refused(BuffersOptions::default()).contains("name a value"));
    assert!(refused(vary("-1")).contains("-1 is below 0"));
    assert!(refused(vary("0..9")).contains("step"));
    let path = |path: &str| BuffersOptions { vary: vec![(path.to_owned(), "1".to_owned())], ..vary("1") };
    assert!(refused(path("stations[tabel].capacity")).contains("stations[table].capacity"));
    assert!(refused(BuffersOptions { share: 1.5, ..vary("1") }).contains("share"));
    let error = BuffersStudy::prepare(two_machines(), vary("1"), &conditions(1, 100.0)).expect_err("one run");
    assert!(error.to_string().contains("at least 2"));
}
