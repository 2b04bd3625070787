//! The command line: what it answers, how it ends, and what it leaves behind.

use linewake_cli::exit::Exit;
use linewake_tests::command_line::{Answer, TestFolder, linewake};
use linewake_tests::{model_text, workspace_root};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::sync::atomic::AtomicBool;

/// Path of a shipped model.
fn model(name: &str) -> String {
    workspace_root().join(format!("models/{name}.json")).display().to_string()
}

/// Path of a broken model.
fn broken(name: &str) -> String {
    workspace_root().join(format!("tests/broken/{name}.json")).display().to_string()
}

/// A short run of a small line into that folder, with more options.
fn short_run(out: &str, more: &[&str]) -> Answer {
    let model = model("tern-quay-fish");
    let mut arguments =
        vec!["run", &model, "--shifts", "3", "--hours", "0.5", "--warm-up", "5 min", "--out", out];
    arguments.extend(more);
    linewake(&arguments)
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("not JSON ({error}): {text}"))
}

/// Name and bytes of every file of a folder, the marker too.
fn contents(folder: &TestFolder) -> BTreeMap<String, Vec<u8>> {
    let read = |name: String| {
        let bytes = std::fs::read(folder.path().join(&name)).expect("a file that was listed");
        (name, bytes)
    };
    folder.files().into_iter().map(read).collect()
}

/// The program in a process of its own.
fn process(arguments: &[&str], folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewake-under-test"));
    command.args(arguments).current_dir(folder).stdin(Stdio::null());
    command
}

fn output(command: &mut Command) -> Output {
    command.output().expect("the program starts")
}

#[test]
fn exit_codes_are_the_documented_ones() {
    let folder = TestFolder::new();
    let (good, bad, nowhere) =
        (model("tern-quay-fish"), broken("unknown_key"), folder.of("no-such-model.json"));
    let a_file = folder.of("a-file");
    std::fs::write(&a_file, "mine").expect("a file");
    let below_a_file = format!("{a_file}/results");
    let cases: [(&[&str], Exit); 22] = [
        (&[], Exit::Usage),
        (&["--help"], Exit::Done),
        (&["--version"], Exit::Done),
        (&["check", "--help"], Exit::Done),
        (&["chekc", &good], Exit::Usage),
        (&["check"], Exit::Usage),
        (&["check", &good, "--jsno"], Exit::Usage),
        (&["check", &good], Exit::Done),
        (&["check", &nowhere], Exit::Failed),
        (&["check", &bad], Exit::Invalid),
        (&["check", &bad, "--json"], Exit::Invalid),
        (&["run", &bad], Exit::Invalid),
        (&["run", &nowhere], Exit::Failed),
        (&["run", &good, "--seed", "luck"], Exit::Usage),
        (&["run", &good, "--hours", "0"], Exit::Usage),
        (&["run", &good, "--shifts", "0"], Exit::Usage),
        (&["run", &good, "--threads", "0"], Exit::Usage),
        (&["run", &good, "--shifts", "2", "--logs", "3"], Exit::Usage),
        (&["run", &good, "--out", &a_file], Exit::Failed),
        (&["run", &good, "--out", &below_a_file], Exit::Failed),
        (&["schema"], Exit::Done),
        (&["completions", "bash"], Exit::Done),
    ];
    for (arguments, exit) in cases {
        let answer = linewake(arguments);
        assert_eq!(answer.exit, exit, "{arguments:?}: {}", answer.err);
        let is_told_elsewhere = exit == Exit::Done || arguments.contains(&"--json");
        assert_eq!(is_told_elsewhere, answer.err.is_empty(), "{arguments:?}: {}", answer.err);
    }
    assert_eq!(folder.files(), ["a-file"], "what failed leaves nothing");
}

#[test]
fn wrong_usage_says_what_would_be_right() {
    let good = model("tern-quay-fish");
    let told = |arguments: &[&str]| linewake(arguments).err;
    assert!(told(&["chekc", &good]).contains("'check'"), "a similar command");
    assert!(told(&["check", &good, "--jsno"]).contains("--json"), "a similar option");
    assert!(told(&["run", &good, "--warm-up", "20"]).contains("\"20 s\""), "the unit that is missing");
    assert!(told(&["run", &good, "--warm-up", "20 kg"]).contains("a time is due"), "the right kind of unit");
    assert!(told(&["run", &good, "--seed", "-1"]).contains("seed"), "the option by name");
    let beside = told(&["check", &model("no-such-model")]);
    assert!(beside.contains("no such file") && beside.contains("alder-hill-mince.json"), "{beside}");
    assert!(
        told(&["check", &workspace_root().join("models").display().to_string()]).contains("not the folder")
    );
}

#[test]
fn a_broken_model_is_shown_at_its_place() {
    let path = workspace_root().join("tests/broken/expected.csv");
    let mut cases = csv::Reader::from_path(path).expect("the list of broken models");
    let mut shown = 0;
    for case in cases.records() {
        let case = case.expect("a row");
        let file = workspace_root().join("tests/broken").join(&case[0]).display().to_string();
        let answer = linewake(&["check", &file]);
        assert_eq!(answer.exit, Exit::Invalid, "{file}");
        assert_eq!(answer.out, "", "{file}: nothing but the answer goes to the standard output");
        let place = format!("{file}:{}:{}", &case[2], &case[3]);
        assert!(answer.err.contains(&place), "{place} is due:\n{}", answer.err);
        assert!(answer.err.contains(&case[4]), "{} is due:\n{}", &case[4], answer.err);
        assert!(answer.err.contains("1 error; the model cannot be run"), "{}", answer.err);
        assert!(!answer.err.contains('\u{1b}'), "no colour without a terminal: {:?}", answer.err);
        shown += 1;
    }
    assert!(shown >= 50, "{shown} broken models");
}

#[test]
fn a_model_that_is_no_text_is_told() {
    let folder = TestFolder::new();
    std::fs::write(folder.path().join("latin.json"), b"{\n  \"name\": \"Stra\xdfe\"\n}").expect("a file");
    let answer = linewake(&["check", &folder.of("latin.json")]);
    assert_eq!(answer.exit, Exit::Invalid);
    assert!(answer.err.contains("latin.json:2: the text is not UTF-8"), "{}", answer.err);
}

#[test]
fn check_tells_the_facts_of_the_reference_line() {
    let answer = linewake(&["check", &model("alder-hill-mince")]);
    assert_eq!(answer.exit, Exit::Done);
    // Worked by hand: 13 cycles/min of 8 packs are 104 packs/min; dwell 3.4 s (seal) and advance 0.7 s are 4.1 s, the
    // cap 60/13 = 4.615 s; from position 9 to the pick zone, 15, are 6 indexes of 4.615 s = 27.692 s; 60 packs at
    // 104/min are 0.58 min; 16 portions at 112/min come in 8.571 s.
    for fact in
        ["104.0 packs/min", "dwell 3.4 s (seal) + advance 0.7 s = 4.1 s", "makes it 4.615 s", "8.571 s"]
    {
        assert!(answer.out.contains(fact), "{fact} is due:\n{}", answer.out);
    }
    let row = |start: &str| {
        let row = answer.out.lines().find(|line| line.contains(start));
        row.unwrap_or_else(|| panic!("a row with {start} is due:\n{}", answer.out)).to_owned()
    };
    assert!(row("print inspection").contains("27.692"));
    assert!(row(" table        table").contains("0.58"));
    assert!(row("no help from buffers").contains("estimate"), "supply can run short: no bound");
    assert!(row("full help from buffers").contains("upper bound"));
    assert!(!answer.out.contains('\u{1b}'), "no colour without a terminal");
}

#[test]
fn check_as_json_is_json_and_nothing_else() {
    for name in ["alder-hill-mince", "low-sallow-burgers", "tern-quay-fish", "merrow-three-machines"] {
        let answer = linewake(&["check", &model(name), "--json"]);
        assert_eq!(answer.exit, Exit::Done, "{name}: {}", answer.err);
        assert_eq!(answer.err, "", "{name}");
        let checked = json(&answer.out);
        assert_eq!(checked["schema"], "linewake.check/1");
        assert_eq!(checked["valid"], true);
        assert!(checked["facts"]["output"]["no_help"]["good_packs_per_h"].as_f64() > Some(0.0), "{name}");
    }
    let refused = linewake(&["check", &broken("unknown_unit"), "--json"]);
    let problems = json(&refused.out);
    assert_eq!((refused.exit, refused.err.as_str()), (Exit::Invalid, ""));
    assert_eq!(problems["valid"], false);
    assert_eq!(problems["problems"][0]["severity"], "error");
    assert!(problems["problems"][0]["line"].as_u64() > Some(1));
    let not_run = linewake(&["run", &broken("unknown_unit"), "--json"]);
    assert_eq!((not_run.exit, not_run.err.as_str()), (Exit::Invalid, ""));
    assert_eq!(json(&not_run.out)["problems"], problems["problems"], "a run refuses with the same problems");
}

#[test]
fn a_run_leaves_its_folder_and_nothing_else() {
    let folder = TestFolder::new();
    let answer = short_run(&folder.of("results/fish"), &[]);
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    let files = folder.files();
    for file in ["report.html", "results.json", "model.json", "logs/shift-0001.csv.gz"] {
        assert!(files.contains(&format!("results/fish/{file}")), "{file} is due: {files:?}");
    }
    let charts: Vec<&str> =
        files.iter().filter_map(|file| file.strip_prefix("results/fish/charts/")).collect();
    let stems = |ending: &str| charts.iter().filter_map(|file| file.strip_suffix(ending)).collect::<Vec<_>>();
    assert_eq!(stems(".svg"), stems(".png"), "a PNG beside each figure");
    assert!(!stems(".svg").is_empty());
    assert!(files.iter().any(|file| file.starts_with("results/fish/tables/") && file.ends_with(".csv")));
    assert!(
        files.iter().all(|file| file.starts_with("results/fish/")),
        "nothing beside the folder: {files:?}"
    );
    let read =
        |file: &str| std::fs::read_to_string(folder.path().join("results/fish").join(file)).expect("a text");
    assert!(read("report.html").trim_start().to_lowercase().starts_with("<!doctype html>"));
    assert_eq!(read("model.json"), model_text("tern-quay-fish"));
    assert!(answer.out.contains("good packs"), "the summary: {}", answer.out);
    assert!(answer.out.contains("Seed 1"), "the seed is always printed: {}", answer.out);
    assert!(answer.out.contains("results/fish/report.html"), "where the report is: {}", answer.out);
}

#[test]
fn results_are_the_same_bytes_for_one_thread_and_for_two() {
    let (one, two) = (TestFolder::new(), TestFolder::new());
    let more =
        |threads| ["--threads", threads, "--logs", "3", "--log-detail", "packs", "--log-format", "csv"];
    assert_eq!(short_run(&one.of("results"), &more("1")).exit, Exit::Done);
    assert_eq!(short_run(&two.of("results"), &more("2")).exit, Exit::Done);
    let (one, two) = (contents(&one), contents(&two));
    assert_eq!(one.keys().collect::<Vec<_>>(), two.keys().collect::<Vec<_>>());
    assert!(one.contains_key("results/logs/shift-0003.csv"));
    for (name, bytes) in &one {
        assert!(bytes == &two[name], "{name} differs between 1 and 2 threads");
    }
}

#[test]
fn results_json_names_no_path_and_no_time_of_day() {
    let folder = TestFolder::new();
    let answer = short_run(&folder.of("results"), &["--json"]);
    assert_eq!((answer.exit, answer.err.as_str()), (Exit::Done, ""));
    let kept = std::fs::read_to_string(folder.path().join("results/results.json")).expect("results.json");
    assert_eq!(answer.out, kept, "--json prints results.json and nothing else");
    assert!(!kept.contains(&folder.path().display().to_string()) && !kept.contains("models/"));
    let results = json(&kept);
    assert_eq!(results["schema"], "linewake.run/1");
    assert_eq!((&results["seed"], &results["shifts"]), (&Value::from(1), &Value::from(3)));
    assert_eq!(results["shift_length_s"].as_f64(), Some(1800.0));
    for (start, word) in [("new_rolls", "new_rolls"), ("long_run", "long_run")] {
        let summary = &results[start];
        assert_eq!(summary["start"], word);
        assert_eq!(summary["shifts"].as_array().map(Vec::len), Some(3));
        // OEE = A x P x Q to 1e-12, as for one shift.
        let figure = |key: &str| summary[key]["mean"].as_f64().unwrap_or_else(|| panic!("{key} is due"));
        let product = figure("availability") * figure("performance") * figure("quality");
        assert!((figure("oee") - product).abs() < 1e-12, "{start}");
        // Every portion is in a case, a bin, scrap or the line.
        let rows = summary["balance"]["rows"].as_array().expect("a balance");
        let sum: i64 = rows.iter().filter_map(|row| row["count"].as_i64()).sum();
        assert_eq!(Some(sum), summary["balance"]["came_in"].as_i64(), "{start}");
    }
    assert_eq!(results["long_run"]["warm_up_s"].as_f64(), Some(300.0));
}

#[test]
fn every_portion_is_accounted_for_on_every_shipped_model() {
    let mut models = 0;
    for entry in std::fs::read_dir(workspace_root().join("models")).expect("the shipped models") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "json") {
            continue;
        }
        let folder = TestFolder::new();
        let (path, out) = (path.display().to_string(), folder.of("results"));
        let arguments =
            ["run", &path, "--shifts", "2", "--hours", "3", "--logs", "0", "--out", &out, "--json"];
        let answer = linewake(&arguments);
        assert_eq!(answer.exit, Exit::Done, "{path}: {}", answer.err);
        for start in ["new_rolls", "long_run"] {
            let balance = &json(&answer.out)[start]["balance"];
            let rows = balance["rows"].as_array().expect("a balance");
            let sum: i64 = rows.iter().filter_map(|row| row["count"].as_i64()).sum();
            assert_eq!(Some(sum), balance["came_in"].as_i64(), "{path}, {start}");
            assert!(sum > 100, "{path}, {start}: {sum} came in");
        }
        models += 1;
    }
    assert!(models >= 4, "{models} models");
}

#[test]
fn a_folder_of_others_is_left_alone() {
    let folder = TestFolder::new();
    std::fs::create_dir(folder.path().join("mine")).expect("a folder");
    std::fs::write(folder.path().join("mine/notes.txt"), "keep me").expect("a file");
    for more in [&[][..], &["--force"]] {
        let answer = short_run(&folder.of("mine"), more);
        assert_eq!(answer.exit, Exit::Failed);
        assert!(answer.err.contains("was not made by linewake"), "{}", answer.err);
        assert_eq!(folder.files(), ["mine/notes.txt"]);
    }
    std::fs::create_dir(folder.path().join("empty")).expect("a folder");
    assert_eq!(short_run(&folder.of("empty"), &[]).exit, Exit::Done, "an empty folder may be filled");
}

#[test]
fn a_folder_of_its_own_is_replaced() {
    let folder = TestFolder::new();
    let out = folder.of("results");
    assert_eq!(short_run(&out, &["--logs", "2"]).exit, Exit::Done);
    let first = contents(&folder);
    assert_eq!(short_run(&out, &["--seed", "2"]).exit, Exit::Done);
    let second = contents(&folder);
    assert!(first.contains_key("results/logs/shift-0002.csv.gz"));
    assert!(!second.contains_key("results/logs/shift-0002.csv.gz"), "nothing of the old one remains");
    assert!(first["results/results.json"] != second["results/results.json"]);

    std::fs::write(folder.path().join("results/tables/my-own.csv"), "keep me").expect("a file");
    let answer = short_run(&out, &[]);
    assert_eq!(answer.exit, Exit::Failed);
    assert!(answer.err.contains("tables/my-own.csv") && answer.err.contains("--force"), "{}", answer.err);
    assert!(
        contents(&folder)["results/results.json"] == second["results/results.json"],
        "nothing has changed"
    );
    assert_eq!(short_run(&out, &["--force"]).exit, Exit::Done);
    assert!(!contents(&folder).contains_key("results/tables/my-own.csv"));
}

#[test]
fn an_interrupted_run_leaves_nothing() {
    let folder = TestFolder::new();
    let (model, out) = (model("tern-quay-fish"), folder.of("new/results"));
    let (mut printed, mut told) = (Vec::new(), Vec::new());
    let stop = AtomicBool::new(true);
    let arguments = ["linewake", "run", &model, "--out", &out];
    let exit = linewake_cli::run_until(arguments, &mut printed, &mut told, &stop);
    assert_eq!(exit, Exit::Interrupted);
    assert!(printed.is_empty());
    assert!(String::from_utf8_lossy(&told).contains("interrupted"));
    assert_eq!(folder.files(), Vec::<String>::new());
}

/// Ctrl-C, as a terminal sends it.
#[cfg(unix)]
#[test]
fn ctrl_c_ends_a_run_with_130_and_leaves_the_old_folder() {
    let folder = TestFolder::new();
    let (model, out) = (model("tern-quay-fish"), folder.of("results"));
    assert_eq!(short_run(&out, &[]).exit, Exit::Done);
    let before = contents(&folder);
    let arguments = ["run", model.as_str(), "--shifts", "10000", "--out", &out];
    let mut command = process(&arguments, folder.path());
    let mut running =
        command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the program starts");
    let is_running = || folder.files().iter().any(|file| file.starts_with(".results.partial"));
    while !is_running() {
        assert!(
            running.try_wait().expect("a state").is_none(),
            "10,000 shifts are not over before the signal"
        );
        std::thread::yield_now();
    }
    let sent = Command::new("kill").args(["-INT", &running.id().to_string()]).status().expect("kill");
    assert!(sent.success());
    let ended = running.wait().expect("the program ends");
    assert_eq!(ended.code(), Some(130));
    assert!(contents(&folder) == before, "the folder is the old one: {:?}", folder.files());
}

#[test]
fn a_closed_pipe_is_no_error() {
    let mut command = process(&["schema"], &workspace_root());
    let mut running =
        command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program starts");
    drop(running.stdout.take());
    let ended = running.wait_with_output().expect("the program ends");
    assert_eq!(ended.status.code(), Some(0));
    assert_eq!(String::from_utf8_lossy(&ended.stderr), "");
}

/// /dev/full takes nothing, as a full disk does.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").expect("/dev/full");
    let ended = output(process(&["schema"], &workspace_root()).stdout(full));
    assert_eq!(ended.status.code(), Some(1));
    let told = String::from_utf8_lossy(&ended.stderr);
    assert!(told.contains("cannot write the answer: no space left"), "{told}");
}

#[test]
fn a_model_can_come_from_the_standard_input() {
    let folder = TestFolder::new();
    let arguments = ["run", "-", "--shifts", "1", "--hours", "0.1"];
    let input = std::fs::File::open(model("tern-quay-fish")).expect("a model");
    let ended = output(process(&arguments, folder.path()).stdin(input));
    assert_eq!(ended.status.code(), Some(0), "{}", String::from_utf8_lossy(&ended.stderr));
    assert!(
        folder.files().contains(&"linewake-out/tern-quay-fish-180-g/report.html".to_owned()),
        "{:?}",
        folder.files()
    );
}

#[test]
fn a_random_seed_is_printed_and_gives_the_same_again() {
    let (one, two) = (TestFolder::new(), TestFolder::new());
    let drawn = short_run(&one.of("results"), &["--seed", "random", "--json"]);
    let seed = json(&drawn.out)["seed"].as_u64().expect("a seed").to_string();
    let again = short_run(&two.of("results"), &["--seed", &seed, "--json"]);
    assert!(drawn.out == again.out, "seed {seed} gives other results");
}

/// The examples that the help shows are typed as they stand, in a folder with the shipped models.
#[test]
fn examples_of_the_help_run() {
    let mut examples: Vec<String> = Vec::new();
    for arguments in [
        &["--help"][..],
        &["check", "--help"],
        &["run", "--help"],
        &["report", "--help"],
        &["fit", "--help"],
        &["wake", "--help"],
    ] {
        let help = linewake(arguments).out;
        let lines = help.lines().filter_map(|line| line.strip_prefix("  linewake "));
        let before = examples.len();
        examples.extend(lines.map(str::to_owned));
        assert!(examples.len() >= before + 2, "two examples are due:\n{help}");
    }
    // A report is made of what a run before it left.
    let mut done = std::collections::BTreeSet::new();
    examples.retain(|example| done.insert(example.clone()));
    let folder = TestFolder::new();
    std::fs::create_dir(folder.path().join("models")).expect("a folder");
    let copy = folder.path().join("models/alder-hill-mince.json");
    std::fs::write(copy, model_text("alder-hill-mince")).expect("a copy of the model");
    for example in examples {
        let words: Vec<&str> = example.split_whitespace().collect();
        let ended = output(&mut process(&words, folder.path()));
        let told = String::from_utf8_lossy(&ended.stderr);
        assert_eq!(ended.status.code(), Some(0), "linewake {example}: {told}");
    }
    assert!(folder.files().contains(&"linewake-out/alder-hill-mince/report.html".to_owned()));
    assert!(folder.files().contains(&"results/mince/report.html".to_owned()));
}

/// The pages of docs/reference that are made from the program are those that it makes.
#[test]
fn the_reference_of_commands_is_up_to_date() {
    for (page, file) in [("commands", "commands.md"), ("exit-codes", "exit-codes.md")] {
        let kept =
            std::fs::read_to_string(workspace_root().join("docs/reference").join(file)).unwrap_or_default();
        let made = linewake(&["reference", page]).out;
        assert!(
            kept == made,
            "docs/reference/{file} is out of date: write it anew with `linewake reference {page}`"
        );
    }
}
