//! Conventions of the accounting, from the command line to the report and results.json.

use linewake_cli::exit::Exit;
use linewake_tests::command_line::{TestFolder, linewake};
use linewake_tests::model_text;
use serde_json::Value;

/// The choice of minor stops moves nothing but the split; that of planned stops moves OEE. Both are named.
#[test]
fn conventions_are_chosen_and_named() {
    let account = |more: &[&str]| {
        let folder = TestFolder::new();
        let out = folder.of("results");
        // Long enough for a challenge of the metal detector, which is made the constraint here: planned, and counted in.
        let text = model_text("alder-hill-mince")
            .replace("\"constraint\": \"former\"", "\"constraint\": \"metal detector\"");
        let file = folder.of("model.json");
        std::fs::write(&file, text).expect("a file");
        let mut arguments = vec!["run", &file, "--shifts", "2", "--hours", "2", "--logs", "0", "--out", &out];
        arguments.extend(more);
        let told = linewake(&arguments);
        assert_eq!(told.exit, Exit::Done, "{}", told.err);
        let read =
            |name: &str| std::fs::read_to_string(folder.path().join("results").join(name)).expect(name);
        let results: Value = serde_json::from_str(&read("results.json")).expect("JSON");
        (results["new_rolls"].clone(), read("report.html"), told.out)
    };
    let figure = |results: &Value, key: &str| results[key]["mean"].as_f64().expect("a mean");
    let (plain, page, text) = account(&[]);
    assert_eq!(
        plain["conventions"],
        serde_json::json!({"minor_stops": "performance", "planned_stops": "as_modelled"})
    );
    assert_eq!(
        (&plain["split"]["availability"], &plain["split"]["performance"]),
        (&plain["availability"], &plain["performance"])
    );
    for told in [&page, &text.replace('\n', " ")] {
        assert!(
            told.contains("Minor stops are a performance loss") && told.contains("as the model says"),
            "{told}"
        );
    }

    let (standard, page, text) = account(&["--minor-stops", "availability"]);
    assert_eq!(standard["split"]["minor_stops"], "availability");
    assert_eq!(standard["split"]["availability"], standard["availability_iso"]);
    assert_eq!(standard["split"]["performance"], standard["performance_iso"]);
    for key in ["oee", "availability", "performance", "availability_iso", "performance_iso", "good_packs"] {
        assert_eq!(standard[key], plain[key], "{key}");
    }
    for told in [&page, &text.replace('\n', " ")] {
        assert!(told.contains("Minor stops are an availability loss"), "{told}");
    }
    assert!(page.contains("--minor-stops availability"), "the command makes the same report again");

    let (out, page, _) = account(&["--planned-stops", "out"]);
    assert_eq!(out["conventions"]["planned_stops"], "out");
    assert!(page.contains("--planned-stops out") && page.contains("are left out of planned production time"));
    let left_out_s = out["left_out_s"].as_f64().expect("a time");
    assert!(left_out_s > 60.0, "{left_out_s} s of challenges");
    let planned_s = out["planned_production_time_s"].as_f64().expect("a time");
    assert!((planned_s + left_out_s - 7200.0).abs() < 1e-6);
    assert!(
        (figure(&out, "oee") * planned_s - figure(&plain, "oee") * 7200.0).abs() < 1e-6,
        "the same packs"
    );

    let (counted_in, ..) = account(&["--planned-stops", "in"]);
    assert_eq!(counted_in["conventions"]["planned_stops"], "in");
    assert_eq!(counted_in["oee"], plain["oee"], "the model counts the challenge in, and has no break");
}
