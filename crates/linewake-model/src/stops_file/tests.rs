//! Stops of a file in a small model, and what is wrong with files, by hand.

use super::*;

const MODEL: &str = r#"{ "model_version": 1, "name": "two machines", "design_rate": "60/min",
    "constraint": "first", "crew": { "operators": 2, "response": "10 s" }, "stations": [
    // the press
    { "machine": { "id": "first", "process": "1 s", "stops": [
        { "reason": "jam", "after": { "running_time": { "exponential": { "mean": "200 s" } } },
          "duration": "20 s", "attended": true }, // often
        { "reason": "tool", "after": { "pieces": 5000 }, "duration": "60 s", "attended": false } ] } },
    { "accumulating_table": { "id": "table", "capacity": 10, "transit": "0 s" } },
    { "machine": { "id": "last", "process": "1 s" } } ] }"#;

const STOP: &str = r#"{ "after": { "running_time": "300 s" }, "reason": "jam", /* seen */ "duration": "7 s", "attended": false }"#;

fn problem(file: &str) -> Problem {
    match with_stops(MODEL, file) {
        Err(StopsFileError::File(problem)) => *problem,
        other => panic!("{file}: {other:?}"),
    }
}

#[test]
fn a_stop_takes_the_place_of_the_one_of_its_station_and_reason_or_is_added() {
    let tool = STOP.replace("jam", "belt torn");
    let file = format!("// two\n{{ \"first\": [ {STOP}, {tool}, ],\n \"last\": [ {STOP} ], \"table\": [] }}");
    let with = with_stops(MODEL, &file).unwrap_or_else(|error| panic!("{error:?}"));
    let names = |list: &[(String, String)]| -> Vec<String> {
        list.iter().map(|(station, reason)| format!("{station}: {reason}")).collect()
    };
    assert_eq!(names(&with.replaced), ["first: jam"]);
    assert_eq!(names(&with.added), ["first: belt torn", "last: jam"]);
    for kept in ["// the press", "// often", "/* seen */"] {
        assert!(with.text.contains(kept), "{kept}: {}", with.text);
    }
    let spec = spec_of(&with.text).unwrap_or_else(|problems| panic!("{problems:?}"));
    let before = spec_of(MODEL).expect("a model");
    let stops = |spec: &LineSpec, station: usize, reason: &str| {
        spec.stations[station].common().stops.iter().find(|stop| stop.reason == reason).cloned()
    };
    assert_eq!(stops(&spec, 0, "tool"), stops(&before, 0, "tool"), "what the file does not name stays");
    let jam = stops(&spec, 0, "jam").expect("the jam");
    assert!(!jam.attended && Some(&jam) == stops(&spec, 2, "jam").as_ref());
    assert_eq!((spec.stations[0].common().stops.len(), spec.stations[2].common().stops.len()), (3, 1));
}

#[test]
fn a_file_of_no_stops_changes_nothing() {
    assert_eq!(with_stops(MODEL, "{}").map(|with| with.text).as_deref(), Ok(MODEL));
}

#[test]
fn what_is_wrong_is_told_with_its_line() {
    let one = |stops: &str| format!("{{\n \"first\": {stops}\n}}");
    let missing = problem("{ \"first\": [],\n \"press\": [] }");
    assert_eq!((missing.line, missing.what.as_str()), (2, "the model has no station \"press\""));
    assert_eq!(missing.hint, "its stations: first, table, last");
    for (file, line, what) in [
        ("", 1, "the file is empty"),
        ("[]", 1, "this is no file of stops"),
        (&one("7"), 2, "the stops of \"first\" are no list"),
        (&one("[\n7 ]"), 3, "a stop without a reason"),
        (&one("[ { \"reason\": 7 } ]"), 2, "a stop without a reason"),
        (&one(&format!("[ {STOP},\n{STOP} ]")), 3, "\"jam\" is there twice"),
        (&format!("{{ \"last\": [],\n\"last\": [ {STOP} ] }}"), 2, "\"last\" is named twice"),
    ] {
        let found = problem(file);
        assert_eq!((found.line, found.what.as_str()), (line, what), "{file}");
    }
    assert!(matches!(with_stops(MODEL, "{ \"first\": [ }"), Err(StopsFileError::File(_))));
}

#[test]
fn a_stop_that_makes_the_model_wrong_is_found_by_its_check() {
    for wrong in [STOP.replace("7 s", "-7 s"), "{ \"reason\": \"jam\" }".to_owned()] {
        let file = format!("{{ \"first\": [ {wrong} ] }}");
        let with = with_stops(MODEL, &file).unwrap_or_else(|error| panic!("{error:?}"));
        let problems = crate::parse(&with.text).expect_err("a wrong stop");
        assert!(
            problems.iter().any(|it| it.path.starts_with("stations[0].machine.stops[0]")),
            "{problems:?}"
        );
    }
    assert!(matches!(with_stops("{}", "{}"), Err(StopsFileError::Model(_))));
}
