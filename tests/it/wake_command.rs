//! `linewake wake` from the command line: what it leaves behind, that its numbers are those of the runs, and what is told
//! of mistakes.

use linewake_cli::exit::Exit;
use linewake_kpi::convention::Conventions;
use linewake_study::replicate::run_once;
use linewake_study::wake::{WakeQuestion, parse_stop};
use linewake_tests::command_line::{TestFolder, linewake};
use linewake_tests::{load_model, workspace_root};

fn model(name: &str) -> String {
    workspace_root().join(format!("models/{name}.json")).display().to_string()
}

/// The number behind a path of keys.
fn number(value: &serde_json::Value, path: &str) -> f64 {
    value.pointer(path).and_then(serde_json::Value::as_f64).unwrap_or_else(|| panic!("no number {path}"))
}

#[test]
fn the_folder_holds_page_tables_and_results_and_the_same_command_gives_the_same_bytes() {
    let folder = TestFolder::new();
    let mut outputs = Vec::new();
    for name in ["one", "two"] {
        let out = folder.of(name);
        let arguments = [
            "wake",
            &model("tern-quay-fish"),
            "--stop",
            "former@1h+45s",
            "--stop",
            "case packer@61min+1min 30s",
        ];
        let answer = linewake(&[&arguments[..], &["--random-luck", "off", "--out", &out, "--json"]].concat());
        assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
        let read = |file: &str| std::fs::read(folder.path().join(name).join(file)).expect(file);
        outputs.push([
            answer.out.into_bytes(),
            read("wake.html"),
            read("results.json"),
            read("tables/wake-waits.csv"),
        ]);
    }
    assert!(outputs[0] == outputs[1], "two runs of one command differ");
    let [printed, page, results, _] = &outputs[0];
    assert_eq!(printed, results);
    assert!(page.len() < 6_000_000, "the page has {} bytes", page.len());
    let page = String::from_utf8_lossy(page).replace("http://www.w3.org/2000/svg", "");
    assert_eq!(page.matches("script-src 'sha256-").count(), 1);
    assert!(!page.contains("unsafe-eval") && !page.contains("http://") && !page.contains("https://"));
    for file in ["charts/wake-bands.svg", "charts/wake-bands.png", "tables/wake-stations.csv", "model.json"] {
        assert!(folder.path().join("one").join(file).is_file(), "{file}");
    }
}

/// The packs are those of two runs of the engine with the accounting of `linewake run`, and the totals of each station are
/// those of its states.
#[test]
fn its_numbers_are_those_of_the_two_runs() {
    let folder = TestFolder::new();
    let line = load_model("alder-hill-mince");
    let out = folder.of("wake");
    let typed = "loader@1h20min+40s";
    let arguments = ["wake", &model("alder-hill-mince"), "--stop", typed, "--seed", "5", "--shift", "3"];
    let answer = linewake(&[&arguments[..], &["--out", &out, "--json"]].concat());
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    let found: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    let question = WakeQuestion {
        stops: vec![parse_stop(&line, typed).expect("a stop")],
        random_luck: true,
        seed: 5,
        replication: 2,
    };
    let with = run_once(&line, &question.plan_with(&line), Conventions::default(), 5, 2);
    let without = run_once(&line, &question.plan_without(&line), Conventions::default(), 5, 2);
    let near = |path: &str, due: f64| {
        let shown = number(&found, path);
        assert!((shown - due).abs() < 1e-6, "{path}: {shown}, not {due}");
    };
    near("/wake/packs/good_with", with.oee.good_packs as f64);
    near("/wake/packs/good_without", without.oee.good_packs as f64);
    near("/wake/packs/lost", without.oee.good_packs as f64 - with.oee.good_packs as f64);
    let stations = found["wake"]["stations"].as_array().expect("stations");
    assert!(stations.len() >= 9);
    for it in stations {
        let id = it["station"].as_str().expect("an id");
        let times = |result: &linewake_kpi::result::ShiftResult| {
            let station = result.stations.iter().find(|one| one.id == id).expect("the station");
            let times = station.states.as_ref().expect("it has states");
            (times.starved.seconds(), times.blocked.seconds())
        };
        let (with, without) = (times(&with), times(&without));
        assert!((number(it, "/starved_in_run_s") - (with.0 - without.0)).abs() < 1e-6, "{id}");
        assert!((number(it, "/blocked_in_run_s") - (with.1 - without.1)).abs() < 1e-6, "{id}");
    }
}

#[test]
fn over_many_shifts_the_mean_has_an_interval() {
    let folder = TestFolder::new();
    let out = folder.of("wake");
    let arguments =
        ["wake", &model("tern-quay-fish"), "--stop", "former@1h+5min", "--runs", "4", "--out", &out];
    let answer = linewake(&arguments);
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    let words = answer.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let mean = words.split("Over 4 shifts the same costs").nth(1).unwrap_or_else(|| panic!("{words}"));
    assert!(mean.split("packs a shift").next().is_some_and(|mean| mean.contains("+/-")), "{words}");
}

#[test]
fn a_wrong_stop_is_refused_and_leaves_no_folder() {
    let folder = TestFolder::new();
    let out = folder.of("wake");
    for (typed, hint) in [
        ("lodaer@1h+40s", "did you mean \"loader\"?"),
        ("loader@9h+40s", "give a time before 8 h"),
        ("loader@1h", "STATION@TIME+DURATION"),
        ("table@1h+40s", "stop the machine before or behind it"),
    ] {
        let arguments = ["wake", &model("alder-hill-mince"), "--stop", typed, "--out", &out];
        let answer = linewake(&arguments);
        assert_eq!(answer.exit, Exit::Usage, "{typed}: {}", answer.err);
        assert!(answer.err.contains(typed) && answer.err.contains(hint), "{typed}: {}", answer.err);
        assert!(answer.out.is_empty());
    }
    assert_eq!(folder.files(), Vec::<String>::new());
}
