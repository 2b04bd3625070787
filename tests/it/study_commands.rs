//! The studies from the command line: what they leave behind, parts and merge, interrupts, and what is told of mistakes.

use linewake_cli::exit::Exit;
use linewake_tests::command_line::{Answer, TestFolder, linewake};
use linewake_tests::workspace_root;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};

/// Path of a shipped model.
fn model(name: &str) -> String {
    workspace_root().join(format!("models/{name}.json")).display().to_string()
}

/// Each study on a small line, with the options that it needs.
fn questions() -> Vec<Vec<String>> {
    let (fish, merrow) = (model("tern-quay-fish"), model("merrow-three-machines"));
    let offered = model("low-sallow-burgers");
    let questions: [&[&str]; 9] = [
        &[
            "buffers",
            &fish,
            "--vary",
            "stations[table].capacity=10,40",
            "--price-per-place",
            "100",
            "--value-per-pack",
            "0.1",
            "--runs-per-year",
            "200",
        ],
        &["split", &merrow, "--total", "20", "--step", "10", "--first-shifts", "10", "--most-shifts", "20"],
        &["losses", &fish, "--station", "case packer"],
        &["compare", &fish, "--vary", "stations[table].capacity=10,40"],
        &["sensitivity", &fish, "--only", "stations[table]"],
        &["acceptance", &fish, "--lengths", "1,2", "--factors", "2", "--rule", "breaks do not count"],
        &["crew", &fish, "--operators", "1,2", "--response", "1"],
        &["order", &fish, "--packs", "500", "--most-shifts", "2"],
        &["scope", &offered],
    ];
    let words = |question: &[&str]| {
        let mut words: Vec<String> = question.iter().map(|word| (*word).to_owned()).collect();
        words.extend(["--hours", "0.5", "--warm-up", "10 min"].map(str::to_owned));
        if question[0] != "split" {
            words.extend(["--shifts", "3"].map(str::to_owned));
        }
        words
    };
    questions.into_iter().map(words).collect()
}

/// The study into that folder, with more options.
fn asked(question: &[String], out: &str, more: &[&str]) -> Vec<String> {
    let mut words = vec!["linewake".to_owned(), "study".to_owned()];
    words.extend(question.iter().cloned());
    words.extend(["--out", out].map(str::to_owned));
    words.extend(more.iter().map(|word| (*word).to_owned()));
    words
}

fn study(question: &[String], out: &str, more: &[&str]) -> Answer {
    linewake(&asked(question, out, more)[1..])
}

/// Name and bytes of every file of a folder, the marker too.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((folder, prefix)) = open.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder") {
            let entry = entry.expect("an entry");
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if entry.path().is_dir() {
                open.push((entry.path(), format!("{name}/")));
            } else {
                found.insert(name, std::fs::read(entry.path()).expect("a file"));
            }
        }
    }
    found
}

#[track_caller]
fn same(one: &Path, other: &Path) {
    let (one, other) = (contents(one), contents(other));
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
    for (name, bytes) in &one {
        assert!(bytes == &other[name], "{name} differs");
    }
}

#[test]
fn every_study_leaves_its_folder_and_the_same_bytes_for_any_number_of_threads() {
    for question in questions() {
        let folder = TestFolder::new();
        let (one, two) = (folder.of("one"), folder.of("two"));
        let answer = study(&question, &one, &["--threads", "1"]);
        assert_eq!(answer.exit, Exit::Done, "{question:?}: {}", answer.err);
        assert!(answer.out.contains("report.html"), "{}", answer.out);
        let files = contents(Path::new(&one));
        for file in ["report.html", "results.json", "model.json", "study.json", "journal.jsonl"] {
            assert!(files.contains_key(file), "{question:?}: {file} is due");
        }
        let results: serde_json::Value = serde_json::from_slice(&files["results.json"]).expect("JSON");
        assert_eq!(results["schema"], "linewake.study/1");
        assert_eq!(results["study"], question[0].as_str());
        assert!(results["found"]["head"]["kind"].is_string());
        let again = study(&question, &two, &["--threads", "2", "--json"]);
        assert_eq!(again.exit, Exit::Done, "{question:?}: {}", again.err);
        assert!(again.out.as_bytes() == &files["results.json"][..], "the answer as JSON is results.json");
        same(Path::new(&one), Path::new(&two));
    }
}

#[test]
fn an_interrupted_study_keeps_what_is_done_and_goes_on() {
    let folder = TestFolder::new();
    let question: Vec<String> =
        ["buffers", &model("tern-quay-fish"), "--vary", "stations[table].capacity=10,40", "--shifts", "20"]
            .iter()
            .map(|word| (*word).to_owned())
            .collect();
    let (whole, broken) = (folder.of("whole"), folder.of("broken"));
    assert_eq!(study(&question, &whole, &[]).exit, Exit::Done);
    let due = contents(Path::new(&whole))["journal.jsonl"].iter().filter(|byte| **byte == b'\n').count();

    // Somebody presses Ctrl-C once the first runs are in the journal.
    let stop = AtomicBool::new(false);
    let words = asked(&question, &broken, &["--threads", "1"]);
    let journal = Path::new(&broken).join("journal.jsonl");
    let lines =
        || std::fs::read(&journal).map_or(0, |bytes| bytes.iter().filter(|byte| **byte == b'\n').count());
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = std::thread::scope(|scope| {
        let running = scope.spawn(|| linewake_cli::run_until(words, &mut out, &mut err, &stop));
        while lines() < 4 && !running.is_finished() {
            std::thread::yield_now();
        }
        stop.store(true, Ordering::Relaxed);
        running.join().expect("the program ends")
    });
    let told = String::from_utf8_lossy(&err).into_owned();
    assert_eq!(exit, Exit::Interrupted, "{told}");
    let kept = lines();
    assert!((4..due).contains(&kept), "{kept} of {due} lines");
    assert!(told.contains(&format!("{} runs are kept", kept - 1)), "{told}");
    assert!(!Path::new(&broken).join("results.json").exists(), "no results of a part of the runs");

    // A line that was cut off in writing is made again.
    let mut bytes = std::fs::read(&journal).expect("the journal");
    bytes.truncate(bytes.len() - 5);
    std::fs::write(&journal, bytes).expect("the journal");
    let resumed = study(&question, &broken, &[]);
    assert_eq!(resumed.exit, Exit::Done, "{}", resumed.err);
    assert!(resumed.err.contains("runs are there already"), "{}", resumed.err);
    same(Path::new(&whole), Path::new(&broken));
}

#[test]
fn parts_and_merge_give_the_bytes_of_one_machine() {
    for question in questions().into_iter().filter(|question| question[0] != "split") {
        let folder = TestFolder::new();
        let whole = folder.of("whole");
        assert_eq!(study(&question, &whole, &[]).exit, Exit::Done);
        let parts: Vec<String> = (1..=3).map(|part| folder.of(&format!("part-{part}"))).collect();
        for (place, part) in parts.iter().enumerate() {
            let made = study(&question, part, &["--part", &format!("{}/3", place + 1)]);
            assert_eq!(made.exit, Exit::Done, "{question:?}: {}", made.err);
            assert!(!Path::new(part).join("results.json").exists());
        }
        let merged = folder.of("merged");
        // In any order, and as folders or journals.
        let third = format!("{}/journal.jsonl", parts[2]);
        let answer = linewake(&["merge", &third, &parts[0], &parts[1], "--out", &merged]);
        assert_eq!(answer.exit, Exit::Done, "{question:?}: {}", answer.err);
        same(Path::new(&whole), Path::new(&merged));
    }
}

#[test]
fn a_merge_of_what_does_not_belong_together_is_refused() {
    let folder = TestFolder::new();
    let questions = questions();
    let losses = &questions[2];
    let (one, two, other_seed) = (folder.of("1"), folder.of("2"), folder.of("seed"));
    assert_eq!(study(losses, &one, &["--part", "1/2"]).exit, Exit::Done);
    assert_eq!(study(losses, &two, &["--part", "2/2"]).exit, Exit::Done);
    assert_eq!(study(losses, &other_seed, &["--part", "2/2", "--seed", "7"]).exit, Exit::Done);
    // The same question of another model.
    let text = std::fs::read_to_string(model("tern-quay-fish")).expect("a model");
    let other = folder.of("tern-quay-fish.json");
    std::fs::write(&other, text.replace("\"capacity\": 20", "\"capacity\": 21")).expect("a model");
    let mut of_other = losses.clone();
    of_other[1].clone_from(&other);
    let other_model = folder.of("model");
    assert_eq!(study(&of_other, &other_model, &["--part", "2/2"]).exit, Exit::Done);

    let out = folder.of("merged");
    let refused = |parts: &[&str], words: &str| {
        let mut arguments = vec!["merge"];
        arguments.extend(parts);
        arguments.extend(["--out", &out]);
        let answer = linewake(&arguments);
        assert_eq!(answer.exit, Exit::Invalid, "{}", answer.err);
        assert!(answer.err.contains(words), "{words} is due: {}", answer.err);
        assert!(!Path::new(&out).exists(), "nothing is written");
    };
    refused(&[&one], "missing: part 2/2");
    refused(&[&one, &two, &one], "part 1/2 is given twice");
    refused(&[&one, &other_seed], "--seed=7");
    refused(&[&one, &other_model], "the model's digest");
    let journal = Path::new(&two).join("journal.jsonl");
    let bytes = std::fs::read(&journal).expect("a journal");
    std::fs::write(&journal, &bytes[..bytes.len() - 3]).expect("a journal");
    refused(&[&one, &two], "part 2/2 has");
    assert_eq!(study(losses, &two, &["--part", "2/2"]).exit, Exit::Done, "it goes on");
    assert_eq!(linewake(&["merge", &one, &two, "--out", &out]).exit, Exit::Done);
}

#[test]
fn mistakes_are_told_before_anything_is_run() {
    let folder = TestFolder::new();
    let fish = model("tern-quay-fish");
    let cases: [(&[&str], Exit, &str); 11] = [
        (&["buffers", &fish], Exit::Usage, "--vary"),
        (&["buffers", &fish, "--vary", "stations[tabel].capacity=1,2"], Exit::Usage, "stations[table]"),
        (&["buffers", &fish, "--vary", "stations[table].capacity=-5"], Exit::Usage, "capacity"),
        (&["buffers", &fish, "--vary", "stations[table].capacity=1,1"], Exit::Usage, "twice"),
        (&["buffers", &fish, "--vary", "stations[table].capacity"], Exit::Usage, "="),
        (&["losses", &fish, "--part", "4/3"], Exit::Usage, "no part 4/3"),
        (&["losses", &fish, "--part", "0/3"], Exit::Usage, "from 1"),
        (&["losses", &fish, "--shifts", "1"], Exit::Usage, "1"),
        (&["losses", &fish, "--station", "tabel"], Exit::Usage, "the line has"),
        (&["split", &fish, "--part", "1/2"], Exit::Usage, "--part"),
        (&["compare", &fish], Exit::Usage, "at least two"),
    ];
    for (arguments, exit, words) in cases {
        let out = folder.of("results");
        let mut all = vec!["study"];
        all.extend(arguments);
        all.extend(["--out", &out]);
        let answer = linewake(&all);
        assert_eq!(answer.exit, exit, "{arguments:?}: {}", answer.err);
        assert!(answer.err.contains(words), "{arguments:?}: {words} is due: {}", answer.err);
    }
    assert!(folder.files().is_empty(), "{:?}", folder.files());
}

#[test]
fn runs_of_another_study_are_not_given_up_unasked() {
    let folder = TestFolder::new();
    let losses = &questions()[2];
    let out = folder.of("results");
    assert_eq!(study(losses, &out, &["--part", "1/2"]).exit, Exit::Done);
    let before = contents(Path::new(&out));
    let other = study(losses, &out, &["--part", "1/2", "--seed", "7"]);
    assert_eq!(other.exit, Exit::Failed);
    assert!(other.err.contains("the seed is 1 there and 7 here"), "{}", other.err);
    assert!(before == contents(Path::new(&out)));
    assert_eq!(study(losses, &out, &["--part", "1/2", "--seed", "7", "--force"]).exit, Exit::Done);
    std::fs::write(Path::new(&out).join("mine.txt"), "mine").expect("a file");
    assert_eq!(study(losses, &out, &["--part", "1/2", "--seed", "7"]).exit, Exit::Failed, "a file of others");
}

/// A disk that takes no more than a few kilobytes: what was written before is kept, and the study goes on from there.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_loses_nothing() {
    let folder = TestFolder::new();
    let fish = model("tern-quay-fish");
    let losses: Vec<String> =
        ["losses", &fish, "--shifts", "8", "--hours", "0.5"].map(str::to_owned).to_vec();
    let losses = &losses;
    let (whole, short) = (folder.of("whole"), folder.of("short"));
    assert_eq!(study(losses, &whole, &[]).exit, Exit::Done);
    // The shell's limit on the size of a file stands for the disk; the signal that comes with it is not wanted.
    let limited = "trap '' XFSZ; ulimit -f 20; exec \"$0\" \"$@\"";
    let ended = Command::new("bash")
        .args(["-c", limited, env!("CARGO_BIN_EXE_linewake-under-test")])
        .args(&asked(losses, &short, &[])[1..])
        .stdin(Stdio::null())
        .output()
        .expect("a shell");
    let told = String::from_utf8_lossy(&ended.stderr);
    assert_eq!(ended.status.code(), Some(1), "{told}");
    assert!(told.contains("cannot write") && told.contains("short"), "{told}");
    assert!(!Path::new(&short).join("results.json").exists());
    let resumed = study(losses, &short, &[]);
    assert_eq!(resumed.exit, Exit::Done, "{}", resumed.err);
    assert!(resumed.err.contains("runs are there already"), "{}", resumed.err);
    same(Path::new(&whole), Path::new(&short));
}

/// The parts of a study through GNU parallel (`.ci/test` installs it), as docs/guides/many-machines.md shows it.
#[cfg(target_os = "linux")]
#[test]
fn a_scheduler_runs_the_parts() {
    let folder = TestFolder::new();
    let losses = &questions()[2];
    let whole = folder.of("whole");
    assert_eq!(study(losses, &whole, &[]).exit, Exit::Done);
    let mut command = Command::new("parallel");
    command.args(["--will-cite", "--jobs", "2", "-q", env!("CARGO_BIN_EXE_linewake-under-test")]);
    command.args(&asked(losses, &folder.of("parts/{}"), &["--part", "{}/4"])[1..]);
    command.args([":::", "1", "2", "3", "4"]).stdin(Stdio::null()).env("HOME", folder.path());
    let ended = command.output().expect("GNU parallel; Debian's package parallel");
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    let parts: Vec<String> = (1..=4).map(|part| folder.of(&format!("parts/{part}"))).collect();
    let merged = folder.of("merged");
    let mut arguments = vec!["merge"];
    arguments.extend(parts.iter().map(String::as_str));
    arguments.extend(["--out", &merged]);
    let answer = linewake(&arguments);
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    same(Path::new(&whole), Path::new(&merged));
}

#[test]
fn a_run_adds_shifts_until_the_figure_is_sure_enough() {
    let folder = TestFolder::new();
    let fish = model("tern-quay-fish");
    let run = |out: &str, more: &[&str]| {
        let mut arguments = vec!["run", &fish, "--hours", "1", "--logs", "0", "--json", "--out", out];
        arguments.extend(more);
        linewake(&arguments)
    };
    let (one, two) = (folder.of("one"), folder.of("two"));
    let precise = run(&one, &["--precision", "5%", "--warm-up", "auto", "--threads", "1"]);
    assert_eq!(precise.exit, Exit::Done, "{}", precise.err);
    let files = contents(Path::new(&one));
    let found: serde_json::Value = serde_json::from_slice(&files["precision/results.json"]).expect("JSON");
    let (runs, found) = (found["found"]["runs"].as_u64().expect("runs"), &found["found"]);
    assert!(runs >= 20 && found["reached"] == true, "{found}");
    // Half width over mean is at most g / (1 + g), and the report has as many shifts and the same figure.
    let oee = &found["oee"];
    let relative = oee["half_width"].as_f64().expect("an interval") / oee["mean"].as_f64().expect("a mean");
    assert!(relative <= 0.05, "{relative}");
    let results: serde_json::Value = serde_json::from_slice(&files["results.json"]).expect("JSON");
    assert_eq!(results["shifts"].as_u64(), Some(runs));
    assert_eq!(results["warm_up_s"], found["warm_up"]["used_s"]);
    assert_eq!(results["long_run"]["good_packs"]["mean"], found["good_packs"]["mean"]);
    assert_eq!(run(&two, &["--precision", "5%", "--warm-up", "auto", "--threads", "2"]).exit, Exit::Done);
    same(Path::new(&one), Path::new(&two));

    let missed = run(&two, &["--precision", "0.01%", "--most-shifts", "20"]);
    assert_eq!(missed.exit, Exit::TargetMissed);
    assert!(missed.err.contains("not reached within 20 shifts"), "{}", missed.err);
    assert_eq!(run(&two, &["--precision", "5%", "--shifts", "5"]).exit, Exit::Usage);
}

/// The first example that the help of each study shows, as it stands, in a folder with the shipped models.
#[test]
fn examples_of_the_help_run() {
    let folder = TestFolder::new();
    std::fs::create_dir(folder.path().join("models")).expect("a folder");
    for name in ["tern-quay-fish", "merrow-three-machines", "low-sallow-burgers"] {
        let copy = folder.path().join(format!("models/{name}.json"));
        std::fs::copy(model(name), copy).expect("a copy of the model");
    }
    for question in ["buffers", "split", "losses", "sensitivity", "acceptance", "crew", "order", "scope"] {
        let help = linewake(&["study", question, "--help"]).out;
        let mut examples = help.lines().filter_map(|line| line.strip_prefix("  linewake "));
        let example = examples.next().unwrap_or_else(|| panic!("an example is due:\n{help}"));
        assert!(examples.next().is_some(), "two examples are due:\n{help}");
        let mut command = Command::new(env!("CARGO_BIN_EXE_linewake-under-test"));
        command.args(example.split_whitespace()).current_dir(folder.path()).stdin(Stdio::null());
        let ended = command.output().expect("the program starts");
        assert_eq!(ended.status.code(), Some(0), "{example}: {}", String::from_utf8_lossy(&ended.stderr));
    }
}
