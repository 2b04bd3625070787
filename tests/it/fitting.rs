//! The circle closes: a model, the logs of its shifts, the model that is fitted to them, and its shifts; and the command.

use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::{CauseKind, ShiftResult};
use linewake_kpi::summary::{StartKind, Summary};
use linewake_log::event::Detail;
use linewake_log::header::LineFacts;
use linewake_log::reader::LogReader;
use linewake_log::writer::LogWriter;
use linewake_model::line::Line;
use linewake_model::time::Moment;
use linewake_study::fitting::{Asked, FitSettings, fit, into_model, read};
use linewake_study::replicate::{Workers, run_once};
use linewake_study::summarise::summarise;
use linewake_tests::command_line::{TestFolder, linewake};
use linewake_tests::model_text;
use std::sync::atomic::AtomicBool;

const SHIFTS: u64 = 40;

fn summary(line: &Line, seed: u64) -> Summary {
    let stop = AtomicBool::new(false);
    let workers = Workers::new(None, &stop).expect("threads");
    let plan = RunPlan::shift(line);
    let results: Vec<ShiftResult> = workers
        .each(SHIFTS, &|| (), |number| run_once(line, &plan, Conventions::default(), seed, number))
        .expect("no interruption");
    let warm_up = plan.warm_up.since(Moment::ZERO);
    summarise(&LineFacts::of(line), warm_up, StartKind::of(plan.start()), &results).expect("shifts")
}

/// The reference line for 40 shifts, its logs, the fitted model, 40 shifts of that with other luck: OEE within 1.0 point,
/// and the five reasons that cost most in the same order, or with intervals that overlap and are no wider than 25 %.
#[test]
fn a_model_fitted_to_its_own_logs_makes_what_the_model_makes() {
    let text = model_text("alder-hill-mince");
    let line = linewake_model::parse(&text).expect("a shipped model").line;
    let spec = linewake_model::spec_of(&text).expect("a shipped model");
    let plan = RunPlan::shift(&line);
    let stop = AtomicBool::new(false);
    let workers = Workers::new(None, &stop).expect("threads");
    let shifts = workers
        .each(SHIFTS, &|| (), |number| {
            let header = linewake_engine::header(&line, &plan, 1, number);
            let mut log = LogWriter::new(Vec::new(), &header, Detail::States);
            linewake_engine::run(&line, &plan, 1, number, &mut log);
            let log = log.finish().expect("memory takes the log");
            read(LogReader::new(log.as_slice()).expect("a header"), &stop).expect("a sound log")
        })
        .expect("no interruption");
    let facts = LineFacts::of(&line);
    let asked = Asked {
        line: &line.name,
        facts: &facts,
        model: Some(&spec),
        settings: FitSettings { level: 0.95, seed: 1, most_draws: 99 },
        family_for_few: false,
    };
    let found = fit(&asked, shifts, &workers, &|| ()).expect("no interruption");
    let into = into_model(&text, &spec, &found).expect("a valid model");
    let fitted = linewake_model::parse(&into.text).expect("a valid model").line;

    let (before, after) = (summary(&line, 1), summary(&fitted, 2));
    let points = 100.0 * (before.oee.mean - after.oee.mean);
    let oee = [before.oee, after.oee]
        .map(|oee| format!("{:.2} ± {:.2}", 100.0 * oee.mean, 100.0 * oee.half_width.unwrap_or(0.0)));
    eprintln!("OEE {} as modelled, {} as fitted", oee[0], oee[1]);
    assert!(points.abs() <= 1.0, "OEE {oee:?}");

    let five = |summary: &Summary| -> Vec<(String, f64, f64)> {
        summary
            .pareto
            .iter()
            .filter(|row| row.kind == CauseKind::Stop)
            .take(5)
            .map(|row| {
                let packs = row.packs;
                (
                    format!("{}: {}", row.station, row.reason),
                    packs.mean,
                    packs.half_width.unwrap_or(f64::INFINITY),
                )
            })
            .collect()
    };
    let (one, other) = (five(&before), five(&after));
    eprintln!("{one:#?}\n{other:#?}");
    let same_order = one.iter().map(|row| &row.0).eq(other.iter().map(|row| &row.0));
    if !same_order {
        for (name, mean, half) in &one {
            let beside = after
                .pareto
                .iter()
                .find(|row| {
                    row.kind == CauseKind::Stop && format!("{}: {}", row.station, row.reason) == *name
                })
                .unwrap_or_else(|| panic!("{name} is not in the fitted model"));
            let other_half = beside.packs.half_width.unwrap_or(f64::INFINITY);
            let apart = (mean - beside.packs.mean).abs();
            assert!(apart <= half + other_half, "{name}: {mean} and {}", beside.packs.mean);
            assert!(
                2.0 * half <= 0.25 * mean && 2.0 * other_half <= 0.25 * beside.packs.mean,
                "{name}: too wide"
            );
        }
    }
}

fn logs(folder: &TestFolder) -> String {
    let out = folder.of("run");
    let model = folder.of("fish.json");
    std::fs::write(&model, model_text("tern-quay-fish")).expect("a copy");
    let ran = linewake(&["run", &model, "--shifts", "4", "--hours", "4", "--logs", "4", "--out", &out, "-q"]);
    assert_eq!(ran.exit.code(), 0, "{}", ran.err);
    folder.of("run/logs")
}

/// The folder of a fit is whole, and the same for any number of threads; the fitted model passes the check.
#[test]
fn the_command_writes_its_folder() {
    let folder = TestFolder::new();
    let logs = logs(&folder);
    let model = folder.of("fish.json");
    let mut texts = Vec::new();
    for threads in ["1", "3"] {
        let out = folder.of(&format!("fit-{threads}"));
        let found = linewake(&[
            "fit",
            &logs,
            "--into",
            &model,
            "--draws",
            "19",
            "--threads",
            threads,
            "--out",
            &out,
            "-q",
        ]);
        assert_eq!(found.exit.code(), 0, "{}", found.err);
        assert!(found.out.contains("what the logs say of the stops") && found.out.contains("Fitted model:"));
        for name in ["report.html", "results.json", "stops.json", "fitted-model.json", "tables/laws.csv"] {
            assert!(std::path::Path::new(&out).join(name).exists(), "{name}");
        }
        texts.push(std::fs::read_to_string(format!("{out}/results.json")).expect("results"));
        let checked = linewake(&["check", &format!("{out}/fitted-model.json")]);
        assert_eq!(checked.exit.code(), 0, "{}", checked.err);
    }
    assert_eq!(texts[0], texts[1]);
    let json: serde_json::Value = serde_json::from_str(&texts[0]).expect("JSON");
    assert_eq!(json["schema"], "linewake.fit/1");
    assert_eq!(json["found"]["shifts"], 4);
    assert!(json["found"]["stops"].as_array().is_some_and(|stops| stops.len() >= 4));
}

/// `run --stops` takes the file of stops as it is: the result is that of a model in which they were typed, and the copy of
/// the model in the folder runs to the same result without the file.
#[test]
fn a_run_takes_the_fitted_stops_as_they_are() {
    let folder = TestFolder::new();
    let (logs, model) = (logs(&folder), folder.of("fish.json"));
    let fitted = linewake(&["fit", &logs, "--draws", "19", "--out", &folder.of("fit"), "-q"]);
    assert_eq!(fitted.exit.code(), 0, "{}", fitted.err);
    let run = |model: &str, stops: &[&str], out: &str| {
        let shifts = ["run", model, "--shifts", "2", "--hours", "2", "--logs", "1", "--out", out, "-q"];
        let ran = linewake(&[&shifts, stops].concat());
        assert_eq!(ran.exit.code(), 0, "{}", ran.err);
        let json = std::fs::read_to_string(format!("{out}/results.json")).expect("results");
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        ([json["new_rolls"].clone(), json["long_run"].clone()], ran.err)
    };
    let (stops, out) = (folder.of("fit/stops.json"), folder.of("fitted"));
    let (with, told) = run(&model, &["--stops", &stops], &out);
    assert!(told.contains("with the stops of") && told.contains("replaced"), "{told}");
    let (copied, _) = run(&format!("{out}/model.json"), &[], &folder.of("copied"));
    let (modelled, _) = run(&model, &[], &folder.of("modelled"));
    assert!(with[0].is_object() && with == copied && with != modelled);

    std::fs::write(folder.of("other.json"), "{\n  \"press\": []\n}").expect("a file");
    let refused =
        linewake(&["run", &model, "--stops", &folder.of("other.json"), "--out", &folder.of("none")]);
    assert_eq!(refused.exit.code(), 3);
    assert!(
        refused.err.contains("the model has no station \"press\"") && refused.err.contains("other.json:2")
    );
    assert!(!std::path::Path::new(&folder.of("none")).exists(), "nothing is left behind");
}

/// Two shifts of each start, which share their luck: the stops of one kind alone are data.
#[test]
fn shifts_of_the_same_luck_count_once() {
    let folder = TestFolder::new();
    let model = folder.of("mince.json");
    std::fs::write(&model, model_text("alder-hill-mince")).expect("a copy");
    let out = folder.of("run");
    let ran =
        linewake(&["run", &model, "--shifts", "2", "--hours", "4", "--logs", "all", "--out", &out, "-q"]);
    assert_eq!(ran.exit.code(), 0, "{}", ran.err);
    let logs = folder.of("run/logs");
    let found = linewake(&["fit", &logs, "--draws", "19", "--json", "--out", &folder.of("fit"), "-q"]);
    assert_eq!(found.exit.code(), 0, "{}", found.err);
    let json: serde_json::Value = serde_json::from_str(&found.out).expect("JSON");
    assert_eq!(json["found"]["shifts"], 2);
    assert!(
        found.out.contains("2 simulated shifts that start with new rolls were left out"),
        "{}",
        found.out
    );
}

/// The stop list of the guide, and weights of a weigher beside it.
#[test]
fn a_plants_list_and_weights_are_fitted() {
    let folder = TestFolder::new();
    let guide = linewake_tests::workspace_root().join("docs/guides/stop-list-example");
    let of = |name: &str| guide.join(name).display().to_string();
    let mut rows = String::from("weight_g,batch,time_s\n");
    for place in 0..600 {
        let wave = f64::from((place * 37) % 21) - 10.0;
        rows.push_str(&format!("{},{},{}\n", 405.0 + 0.4 * wave, place / 100, f64::from(place) * 0.5));
    }
    let weights = folder.of("weights.csv");
    std::fs::write(&weights, rows).expect("a file");
    let found = linewake(&[
        "fit",
        &of("stops.csv"),
        "--mapping",
        &of("mapping.json"),
        "--counts",
        &of("counts.csv"),
        "--weights",
        &weights,
        "--draws",
        "19",
        "--out",
        &folder.of("fit"),
        "-q",
    ]);
    assert_eq!(found.exit.code(), 0, "{}", found.err);
    let out = found.out.replace('\n', " ");
    assert!(out.contains("do not tell waiting for an operator from repair"), "{out}");
    assert!(out.contains("Portion weights: { \"mean\": \"404.99 g\""), "{out}");
    let page = std::fs::read_to_string(folder.path().join("fit/report.html")).expect("a page");
    assert!(page.contains("Portion weights") && page.contains("few data"));
}

#[test]
fn what_cannot_be_fitted_is_said() {
    let folder = TestFolder::new();
    let weights = folder.of("weights.csv");
    std::fs::write(&weights, "weight\n400\n").expect("a file");
    let logs = logs(&folder);
    let refused = linewake(&["fit", &logs, "--weights", &weights, "--out", &folder.of("fit"), "-q"]);
    assert_eq!(refused.exit.code(), 3);
    assert!(refused.err.contains("weight_g"), "{}", refused.err);
    let wrong = linewake(&["fit", &weights, "--out", &folder.of("fit"), "-q"]);
    assert_eq!(wrong.exit.code(), 3, "{}", wrong.err);
    let other = linewake(&["fit", &logs, "--into", &logs, "--out", &folder.of("fit")]);
    assert_eq!(other.exit.code(), 1, "{}", other.err);
    let level = linewake(&["fit", &logs, "--confidence", "100%"]);
    assert_eq!(level.exit.code(), 2);
    assert!(!folder.path().join("fit").exists());
}
