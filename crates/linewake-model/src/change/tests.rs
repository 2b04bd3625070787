//! Paths, changes and lists of values by hand.

use super::*;

const MODEL: &str = r#"{ "model_version": 1, "name": "two machines", "design_rate": "60/min",
    "constraint": "first", "crew": { "operators": 2, "response": "10 s" }, "stations": [
    { "machine": { "id": "first", "process": "1 s", "stops": [
        { "reason": "jam", "after": { "running_time": { "exponential": { "mean": "200 s" } } },
          "duration": { "lognormal": { "mean": "20 s", "cv": 0.5 } }, "attended": true },
        { "reason": "roll", "after": { "roll": { "length": "100 m", "per_cycle": "0.5 m" } },
          "duration": "60 s", "attended": false } ] } },
    { "accumulating_table": { "id": "table", "capacity": 10, "transit": "0 s" } },
    { "x_ray": { "id": "x-ray", "max_rate": "100/min", "sensitivity": 0.95, "finds": [
        { "defect": "chip", "probability": 0.9 } ], "false_reject": "2 %" } } ],
    "defects": [ { "name": "chip", "probability": 0.01 } ] }"#;

fn tree() -> ModelTree {
    ModelTree::parse(MODEL).expect("a model")
}

#[test]
fn a_place_has_several_paths_and_one_full_path() {
    let tree = tree();
    for path in [
        "stations[table].capacity",
        "stations[1].capacity",
        "stations[1].accumulating_table.capacity",
        " stations [table] . capacity ",
    ] {
        assert_eq!(tree.full_path(path).as_deref(), Ok("stations[table].capacity"), "{path}");
        assert_eq!(tree.value(path).as_deref(), Ok("10"));
    }
    assert_eq!(tree.value("stations[first].stops[jam].duration.mean").as_deref(), Ok("20 s"));
    assert_eq!(tree.value("defects[chip].probability").as_deref(), Ok("0.01"));
    assert_eq!(tree.station_of("stations[1].capacity").expect("a path").as_deref(), Some("table"));
    assert_eq!(tree.station_of("crew.operators"), Ok(None));
}

#[test]
fn a_path_that_leads_nowhere_names_the_nearest() {
    let mut tree = tree();
    let error = tree.set("stations[tabel].capacity", "3").expect_err("no such station");
    assert_eq!(error.nearest, "stations[table].capacity");
    let error = tree.set("stations[1].accumulation.capacity", "3").expect_err("no such key");
    assert_eq!(error.nearest, "stations[table].capacity");
    let error = tree.set("crew.operator", "3").expect_err("no such key");
    assert_eq!(error.nearest, "crew.operators");
    for path in ["", "stations[table", "..", "stations[9].capacity"] {
        assert!(tree.value(path).is_err(), "{path}");
    }
}

#[test]
fn what_was_set_is_checked_like_any_model() {
    let mut tree = tree();
    tree.set("stations[table].capacity", "unlimited").expect("a path");
    tree.set("stations[table].restart_at", "3").expect("a key that was left out");
    tree.set("crew.order", "first_come").expect("a key that was left out");
    tree.set("stations[table].capacity", "25").expect("a path");
    let line = tree.check().expect("a model").line;
    match &line.stations[1].kind {
        crate::station::StationKind::Accumulator(table) => {
            assert_eq!((table.capacity, table.restart_at), (25, Some(3)));
        }
        other => panic!("{other:?}"),
    }
    tree.set("stations[table].capacity", "-1").expect("a path");
    let error = tree.check().expect_err("a capacity below 0").to_string();
    assert!(error.contains("stations[1].accumulating_table.capacity: -1 is below 0"), "{error}");
    tree.set("stations[table].transit", "4").expect("a path");
    assert!(tree.check().expect_err("no unit").to_string().contains("a unit is missing"));
}

#[test]
fn quantities_numbers_and_distributions_are_scaled() {
    let mut tree = tree();
    for (path, factor, after) in [
        ("crew.response", 1.2, "12 s"),
        ("stations[first].stops[jam].after.running_time", 0.5, r#"{"exponential":{"mean":"100 s"}}"#),
        ("stations[first].stops[jam].duration", 1.5, r#"{"lognormal":{"cv":0.5,"mean":"30 s"}}"#),
        ("stations[first].stops[roll].after.roll", 0.1, r#"{"length":"10 m","per_cycle":"0.5 m"}"#),
        ("defects[chip].probability", 1.2, "0.012"),
        ("stations[table].capacity", 0.5, "5"),
    ] {
        tree.scale(path, factor).expect("a quantity");
        assert_eq!(tree.value(path).as_deref(), Ok(after), "{path}");
    }
    assert!(matches!(tree.scale("name", 2.0), Err(ChangeError::NotScalable(..))));
    assert!(matches!(tree.scale("stations", 2.0), Err(ChangeError::NotScalable(..))));
}

#[test]
fn counts_stay_whole_and_shares_below_one() {
    let tree = tree();
    let (two, _, factor) = tree.scaled("crew.operators", 1.2).expect("3 operators");
    assert_eq!((two.value("crew.operators").as_deref(), factor), (Ok("3"), 1.5));
    let (fewer, _, _) = tree.scaled("crew.operators", 0.8).expect("1 operator");
    assert_eq!(fewer.value("crew.operators").as_deref(), Ok("1"));
    for (factor, count) in [(1.2, "2"), (1.3, "3"), (0.7, "1")] {
        let (drawn, ..) = tree.scaled_to_nearest("crew.operators", factor).expect("operators");
        assert_eq!(drawn.value("crew.operators").as_deref(), Ok(count), "{factor}");
    }
    let (all, _, factor) = tree.scaled("stations[x-ray].finds[0].probability", 1.2).expect("a share");
    assert_eq!(all.value("stations[x-ray].finds[0].probability").as_deref(), Ok("1"));
    assert!((factor - 1.0 / 0.9).abs() < 1e-12);
}

#[test]
fn inputs_are_quantities_and_whole_distributions_but_not_the_layout() {
    let paths: Vec<String> = tree().inputs().into_iter().map(|input| input.path).collect();
    for path in [
        "crew.operators",
        "crew.response",
        "stations[first].process",
        "stations[first].stops[jam].after.running_time",
        "stations[first].stops[roll].after.roll.length",
        "stations[table].capacity",
        "stations[x-ray].false_reject",
    ] {
        assert!(paths.iter().any(|it| it == path), "{path} in {paths:?}");
    }
    assert!(paths.iter().all(|path| !path.contains("per_cycle") && !path.contains("transit")), "{paths:?}");
    assert!(paths.iter().all(|path| tree().is_scalable(path).is_ok()));
}

#[test]
fn an_amount_as_a_share_of_another() {
    assert!((relative_to("2 s", "0.5 min").expect("times") - 1.0 / 15.0).abs() < 1e-12);
    assert!((relative_to("0.5 %", "0.02").expect("shares") - 0.25).abs() < 1e-12);
    assert!(relative_to("2 s", "3 g").is_err() && relative_to("2", "3 s").is_err());
    assert!(relative_to("2 s", "0 s").is_err() && relative_to("much", "3 s").is_err());
}

#[test]
fn lists_and_ranges() {
    let values = |text: &str| values_of(text).expect("a list");
    assert_eq!(values("0,4,8"), ["0", "4", "8"]);
    assert_eq!(values("0..120 step 20").len(), 7);
    assert_eq!(values("0, 0.1..0.3 step 0.1"), ["0", "0.1", "0.2", "0.3"]);
    assert_eq!(values("90/min..100/min step 5/min"), ["90/min", "95/min", "100/min"]);
    assert_eq!(values(r#"{"uniform":{"min":"1 s","max":"2 s"}}, 3 s"#).len(), 2);
    for wrong in [
        "",
        "1,,2",
        "1,1",
        "0..9",
        "9..0 step 1",
        "0..9 step 0",
        "0 s..9 min step 1 s",
        "a..b step c",
        "0..1000000 step 1",
    ] {
        assert!(values_of(wrong).is_err(), "{wrong}");
    }
}
