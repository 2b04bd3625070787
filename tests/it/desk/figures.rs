//! Figures of the page are those of the command line, to the last digit.

use super::client::Desk;
use crate::desk::client::Reply;
use linewake_tests::command_line::{TestFolder, linewake};
use linewake_tests::{model_text, workspace_root};
use serde_json::{Value, json};
use std::process::Command;

const MODEL: &str = "tern-quay-fish";

fn wanted(shifts: u64, seed: u64, start: &str) -> Value {
    json!({ "shifts": shifts, "seed": seed, "start": start })
}

fn last_figures(reply: &Reply) -> Value {
    reply.events("figures").pop().unwrap_or_else(|| panic!("no figures: {}", reply.body))
}

fn row<'f>(figures: &'f Value, key: &str) -> &'f Value {
    figures["rows"].as_array().expect("rows").iter().find(|row| row["key"] == key).expect("the row")
}

#[track_caller]
fn same(one: &Value, other: &Value) {
    assert!(one.is_number() && one == other, "{one} is not {other}");
}

#[test]
fn a_study_is_the_run_of_the_command_line() {
    let (desk, folder) = (Desk::models(), TestFolder::new());
    let out = folder.of("results");
    let path = workspace_root().join(format!("models/{MODEL}.json"));
    let path = path.to_str().expect("a path");
    let ran =
        linewake(&["run", path, "--shifts", "6", "--seed", "7", "--logs", "0", "--out", &out, "--json"]);
    let run: Value = serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {}", ran.err));
    for start in ["new_rolls", "long_run"] {
        let asked = json!({ "name": "a.json", "text": model_text(MODEL), "pinned": null, "wanted": wanted(6, 7, start) });
        let figures = last_figures(&desk.post("/api/study", &asked));
        assert_eq!(figures["is_final"], true);
        assert_eq!(figures["digest"], run["model"]["digest_sha256"]);
        for (key, of_run) in [
            ("good_packs", &run[start]["good_packs"]),
            ("oee", &run[start]["oee"]),
            ("availability", &run[start]["split"]["availability"]),
            ("performance", &run[start]["split"]["performance"]),
            ("quality", &run[start]["quality"]),
        ] {
            same(&row(&figures, key)["mean"], &of_run["mean"]);
            same(&row(&figures, key)["half_width"], &of_run["half_width"]);
        }
        let each: Vec<&Value> = run[start]["shifts"]
            .as_array()
            .expect("shifts")
            .iter()
            .map(|shift| &shift["good_packs"])
            .collect();
        assert_eq!(json!(each), figures["good_packs"]);
    }
}

/// The pinned line, paired, against `linewake study compare`.
#[test]
fn a_difference_is_that_of_the_comparison() {
    let (desk, folder) = (Desk::models(), TestFolder::new());
    let text = model_text(MODEL);
    let operators =
        json!({ "name": "a.json", "text": text, "set": [{ "path": "crew.operators", "value": 3 }] });
    let before = desk.post("/api/edit", &json!({ "name": "a.json", "text": text })).json();
    let crew = before["fields"]
        .as_array()
        .expect("fields")
        .iter()
        .find(|it| it["path"] == "crew.operators")
        .expect("the crew")
        .clone();
    assert_ne!(crew["value"], 3.0);
    let changed = desk.post("/api/edit", &operators).json()["text"].as_str().expect("a text").to_owned();
    assert!(changed.contains("//"), "comments stay");
    let (one, other) = (folder.of("one.json"), folder.of("other.json"));
    std::fs::write(&one, &text).expect("a file");
    std::fs::write(&other, &changed).expect("a file");
    let out = folder.of("compared");
    let compared = linewake(&[
        "study",
        "compare",
        &one,
        &other,
        "--shifts",
        "6",
        "--seed",
        "7",
        "--warm-up",
        "1 h",
        "--out",
        &out,
        "--json",
    ]);
    let compared: Value =
        serde_json::from_str(&compared.out).unwrap_or_else(|error| panic!("{error}: {}", compared.err));
    let pair = &compared["found"]["pairs"][0];
    let asked =
        json!({ "name": "a.json", "text": changed, "pinned": text, "wanted": wanted(6, 7, "long_run") });
    let figures = last_figures(&desk.post("/api/study", &asked));
    for key in ["good_packs", "oee"] {
        assert!(pair[key].is_object(), "{compared}");
        same(&row(&figures, key)["difference_mean"], &pair[key]["mean"]);
        same(&row(&figures, key)["difference_half_width"], &pair[key]["half_width"]);
    }
    assert_eq!(figures["pinned_good_packs"].as_array().expect("the pinned line").len(), 6);
}

/// The page that is exported is the page that `linewake run` writes, byte for byte.
#[test]
fn the_exported_report_is_that_of_the_run() {
    let folder = TestFolder::new();
    std::fs::write(folder.path().join("line.json"), model_text(MODEL)).expect("a file");
    let desk = Desk::serve(folder.path());
    let asked = json!({ "name": "line.json", "text": model_text(MODEL), "wanted": wanted(3, 2, "long_run") });
    let reply = desk.post("/api/report", &asked);
    let html = reply.events("report").pop().expect("a report")["html"].as_str().expect("a page").to_owned();
    // In the folder itself, since the report names the file as it was typed.
    let ended = Command::new(env!("CARGO_BIN_EXE_linewake-under-test"))
        .args(["run", "line.json", "--shifts", "3", "--seed", "2", "--logs", "0", "--out", "results"])
        .current_dir(folder.path())
        .output()
        .expect("it runs");
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    let page = std::fs::read_to_string(folder.path().join("results/report.html")).expect("the report");
    assert!(page == html, "the pages differ");
}

/// What is wrong with a model is told in the words, and at the line and column, of the command line.
#[test]
fn errors_are_those_of_the_command_line() {
    let desk = Desk::models();
    let mut seen = 0;
    let broken = workspace_root().join("tests/broken");
    for entry in std::fs::read_dir(&broken).expect("the folder") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "json") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a file");
        let name = path.to_str().expect("a path");
        let told = desk.post("/api/edit", &json!({ "name": name, "text": text })).json();
        let checked = linewake(&["check", name]);
        assert_eq!(told["problems"]["shown"].as_str(), Some(checked.err.as_str()), "{name}");
        let by_program: Value =
            serde_json::from_str(&linewake(&["check", name, "--json"]).out).expect("JSON");
        assert_eq!(told["problems"]["list"], by_program["problems"], "{name}");
        seen += 1;
    }
    assert!(seen > 50);
}

/// A run that breaks off tells no final figures, and shifts come one by one.
#[test]
fn figures_come_while_shifts_are_run() {
    let desk = Desk::models();
    let asked = json!({ "name": "a.json", "text": model_text(MODEL), "pinned": null, "wanted": wanted(60, 1, "long_run") });
    let reply = desk.post("/api/study", &asked);
    let done: Vec<u64> =
        reply.events("figures").iter().map(|it| it["done"].as_u64().expect("a count")).collect();
    assert_eq!(done.last(), Some(&60));
    assert!(done.windows(2).all(|pair| pair[0] < pair[1]), "{done:?}");
    assert!(!reply.events("progress").is_empty());
    // Asked again, nothing is run: the shifts are remembered, and are the same.
    let again = desk.post("/api/study", &asked);
    assert_eq!(again.events("figures").len(), 1);
    assert_eq!(last_figures(&again), last_figures(&reply));
}

/// The shift that is drawn is the one that the study counts; a stop put in changes that shift and tells by how much.
#[test]
fn the_shift_that_is_drawn_is_that_of_the_study() {
    let desk = Desk::models();
    let text = model_text("merrow-three-machines");
    let study =
        json!({ "name": "a.json", "text": text, "pinned": null, "wanted": wanted(3, 5, "new_rolls") });
    let figures = last_figures(&desk.post("/api/study", &study));
    let folder = TestFolder::new();
    let model = folder.of("a.json");
    std::fs::write(&model, &text).expect("a file");
    let shift = |stops: Value| {
        let asked =
            json!({ "name": model, "text": text, "seed": 5, "replication": 2, "luck": true, "stops": stops });
        desk.post("/api/replay", &asked)
    };
    let drawn = shift(json!([])).events("replay").pop().expect("a shift");
    assert_eq!(drawn["good_packs"], figures["good_packs"][2]);
    let stop = json!({ "station": "machine 3", "at_s": 3700.0, "duration_s": 600.0 });
    let with = shift(json!([stop])).events("replay").pop().expect("a shift");
    assert_eq!(with["good_packs_without"], drawn["good_packs"]);
    assert!(with["lost"].as_i64().expect("a loss") > 100, "{}", with["lost"]);
    assert!(with["replay"]["wake"].as_array().is_some_and(|wake| !wake.is_empty()));
    // The same from the command line.
    let out = folder.of("wake");
    let asked =
        ["wake", &model, "--stop", "machine 3@3700s+600s", "--seed", "5", "--shift", "3", "--out", &out];
    let told = linewake(&asked).out;
    assert!(told.starts_with(with["told"].as_str().expect("words")), "{told}");
    for wrong in [
        json!({ "station": "nothing", "at_s": 1.0, "duration_s": 1.0 }),
        json!({ "station": "storage 1", "at_s": 1.0, "duration_s": 1.0 }),
        json!({ "station": "machine 3", "at_s": -1.0, "duration_s": 1.0 }),
        json!({ "station": "machine 3", "at_s": 1e9, "duration_s": 1.0 }),
    ] {
        assert_eq!(shift(json!([wrong])).events("ended").len(), 1, "{wrong}");
    }
}
