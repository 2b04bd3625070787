//! Effects of inputs that are known.

use super::*;
use crate::testing::{conclusion, conditions, line, machine, near, stop};

fn base(extra: &str) -> BaseModel {
    line(extra, &[machine("one", "\"1 s\"", &stop("jam", 300.0, 100.0))])
}

/// A machine of 1 s with stops of a third of its running time: 20 % more process time makes 1 / 1.2 of the pieces for the
/// same running time. The start of a run and the ends of stops are no tenth of a per cent.
#[test]
fn inputs_are_moved_to_both_ends_and_ranked() {
    let extra = r#""uncertainty": [{ "path": "stations[one].stops[jam].duration", "plus_minus": "5 s" }],"#;
    let extra_relative = extra.replace("\"plus_minus\": \"5 s\"", "\"relative\": 0.05");
    // An amount is no half range of a distribution.
    assert!(
        BaseModel::parse(&base("").tree.text().replace("\"name\"", &format!("{extra} \"name\""))).is_err()
    );
    let base = base(&extra_relative);
    let study = SensitivityStudy::prepare(base, SensitivityOptions::default(), &conditions(30, 36_000.0));
    let result = conclusion(&study.expect("a study"));
    let paths: Vec<&str> = result.rows.iter().map(|row| row.path.as_str()).collect();
    assert_eq!(
        paths,
        [
            "stations[one].process",
            "stations[one].stops[jam].after.running_time",
            "stations[one].stops[jam].duration"
        ]
    );
    let process = &result.rows[0];
    assert_eq!((process.range, process.as_modelled.as_str()), (RangeSource::Default, "1 s"));
    let (low, high) = (process.low.as_ref().expect("0.8 s"), process.high.as_ref().expect("1.2 s"));
    assert_eq!((low.value.as_str(), high.value.as_str()), ("0.8 s", "1.2 s"));
    let packs = result.base.good_packs.mean;
    near(low.against_base.mean, packs * 0.25, packs * 0.01);
    near(high.against_base.mean, -packs / 6.0, packs * 0.01);
    let duration = &result.rows[2];
    assert_eq!(duration.range, RangeSource::Stated);
    near(duration.high.as_ref().expect("105 s").factor, 1.05, 1e-12);
    // 300 / 405 against 300 / 400, of 36,000.
    near(duration.high.as_ref().expect("105 s").against_base.mean, -333.0, 60.0);
    assert!(result.not_moved.is_empty());
}

#[test]
fn a_choice_of_inputs() {
    let prepare = |options| SensitivityStudy::prepare(base(""), options, &conditions(2, 100.0));
    let only =
        |path: &str| SensitivityOptions { only: vec![path.to_owned()], ..SensitivityOptions::default() };
    assert_eq!(prepare(only("stations[one].stops")).expect("a study").moved.len(), 2);
    assert!(prepare(only("crew")).expect_err("no crew").to_string().contains("crew"));
    assert!(prepare(SensitivityOptions { stated_only: true, ..SensitivityOptions::default() }).is_err());
    assert!(prepare(SensitivityOptions { relative: 1.0, ..SensitivityOptions::default() }).is_err());
}

#[test]
fn every_input_of_the_reference_line_moves_or_says_why_not() {
    let base = BaseModel::parse(crate::testing::MINCE).expect("a model");
    let inputs = base.tree.inputs().len();
    let study = SensitivityStudy::prepare(base, SensitivityOptions::default(), &conditions(2, 100.0))
        .expect("a study");
    assert_eq!(study.moved.len() + study.not_moved.len(), inputs);
    assert!(study.moved.len() > 50, "{:?}", study.not_moved);
    for not in &study.not_moved {
        assert!(!not.why.is_empty(), "{}", not.path);
    }
}

#[test]
fn paths_in_words() {
    let path = "stations[former].stops[web tracking].after.running_time";
    assert_eq!(in_words(path, Some("former")), "web tracking, after, running time");
    assert_eq!(in_words("crew.operators", None), "crew, operators");
}
