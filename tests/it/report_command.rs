//! `linewake report`: from the logs of a run to its report, and from any bytes to a report or an error.

use linewake_cli::exit::Exit;
use linewake_tests::command_line::{Answer, TestFolder, linewake};
use linewake_tests::workspace_root;
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};
use std::sync::OnceLock;

fn model(name: &str) -> String {
    workspace_root().join(format!("models/{name}.json")).display().to_string()
}

/// A short run that leaves all its logs.
fn run(name: &str, out: &str, more: &[&str]) -> Answer {
    let model = model(name);
    let mut arguments =
        vec!["run", &model, "--shifts", "11", "--hours", "0.7", "--warm-up", "10 min", "--out", out];
    arguments.extend(["--logs", "all"]);
    arguments.extend(more);
    let answer = linewake(&arguments);
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    answer
}

fn report(arguments: &[&str]) -> Answer {
    let mut all = vec!["report"];
    all.extend(arguments);
    linewake(&all)
}

/// The report of these logs, which must come about, as JSON.
fn reported(arguments: &[&str]) -> Value {
    let answer = report(&[arguments, &["--json"]].concat());
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    json(&answer.out)
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("not JSON ({error}): {text}"))
}

fn results(folder: &TestFolder, name: &str) -> Value {
    json(&fs::read_to_string(folder.path().join(name).join("results.json")).expect("results.json"))
}

/// Name and bytes of the files of a folder.
fn files(folder: &TestFolder, name: &str) -> BTreeMap<String, Vec<u8>> {
    let inside = |file: String| Some(file.strip_prefix(&format!("{name}/"))?.to_owned());
    let read = |file: String| {
        let bytes = fs::read(folder.path().join(name).join(&file)).expect("a file that was listed");
        (file, bytes)
    };
    folder.files().into_iter().filter_map(inside).map(read).collect()
}

/// Every number and word under a key that both have, with its path, must be the same; gives how many there were.
fn compare(path: &str, one: &Value, other: &Value) -> usize {
    match (one, other) {
        (Value::Object(one), Value::Object(other)) => {
            let shared = one.iter().filter_map(|(key, value)| Some((key, value, other.get(key)?)));
            shared.map(|(key, one, other)| compare(&format!("{path}.{key}"), one, other)).sum()
        }
        (Value::Array(one), Value::Array(other)) => {
            assert_eq!(one.len(), other.len(), "{path}: number of rows");
            let rows = one.iter().zip(other).enumerate();
            rows.map(|(row, (one, other))| compare(&format!("{path}[{row}]"), one, other)).sum()
        }
        (one, other) => {
            assert_eq!(one, other, "{path}");
            1
        }
    }
}

/// Keys of one that the other lacks, with their paths.
fn lacking(path: &str, one: &Value, other: &Value, into: &mut Vec<String>) {
    if let (Value::Object(one), Value::Object(other)) = (one, other) {
        for (key, value) in one {
            match other.get(key) {
                Some(theirs) => lacking(&format!("{path}.{key}"), value, theirs, into),
                None => into.push(format!("{path}.{key}")),
            }
        }
    }
}

/// The report that another process makes from a run's written logs alone is the run's, number by number; what they do
/// not tell is named.
#[test]
fn the_report_of_the_logs_is_the_report_of_the_run() {
    // States and packs, compressed and plain, with and without conventions of their own; a line with breaks, one with
    // two portions in a pack, one of generic machines.
    let cases: [(&str, &[&str], &[&str]); 4] = [
        ("tern-quay-fish", &[], &[]),
        ("alder-hill-mince", &["--log-format", "csv", "--log-detail", "packs"], &[]),
        ("low-sallow-burgers", &["--seed", "9007199254740991"], &["--planned-stops", "in"]),
        ("merrow-three-machines", &["--log-format", "csv"], &["--minor-stops", "availability"]),
    ];
    for (name, of_run, of_both) in cases {
        let folder = TestFolder::new();
        run(name, &folder.of("run"), &[of_run, of_both].concat());
        let of_run = files(&folder, "run");
        // Nothing of the run remains but its logs.
        fs::rename(folder.path().join("run/logs"), folder.path().join("only")).expect("the logs");
        let run = results(&folder, "run");
        fs::remove_dir_all(folder.path().join("run")).expect("a folder");

        let mut command = Command::new(env!("CARGO_BIN_EXE_linewake-under-test"));
        command.args(["report", "only", "--out", "again", "--json"]).args(of_both);
        let answer =
            command.current_dir(folder.path()).stdin(Stdio::null()).output().expect("the program starts");
        assert_eq!(answer.status.code(), Some(0), "{name}: {}", String::from_utf8_lossy(&answer.stderr));
        let again = results(&folder, "again");
        assert_eq!(json(&String::from_utf8_lossy(&answer.stdout)), again, "{name}");

        let compared = compare(name, &run, &again);
        assert!(compared > 1000, "{name}: only {compared} numbers and words were compared");
        let (mut only_run, mut only_again) = (Vec::new(), Vec::new());
        lacking("", &run, &again, &mut only_run);
        lacking("", &again, &run, &mut only_again);
        assert_eq!(
            (only_run, only_again),
            (vec![".without_simulation".to_owned()], vec![".logs".to_owned()])
        );
        // Every table and figure that both have is the same to the byte.
        let of_logs = files(&folder, "again");
        for (file, bytes) in
            of_run.iter().filter(|(file, _)| file.starts_with("tables/") || file.ends_with(".svg"))
        {
            assert!(of_logs.get(file) == Some(bytes), "{name}: {file} differs");
        }
        assert!(of_run.len() > 50, "{name}: {} files", of_run.len());
        let words = |key: &str| again["logs"][key].as_array().expect("words").len();
        assert!(again["logs"]["not_told"].to_string().contains("no simulation"), "{}", again["logs"]);
        assert_eq!((words("not_told"), words("read")), (2, 22), "{}", again["logs"]);
        assert!(again["logs"]["need_packs"].to_string().contains("weight of each pack"));
    }
}

/// With the model alongside nothing is lacking at all.
#[test]
fn with_the_model_the_logs_tell_everything() {
    let folder = TestFolder::new();
    run("tern-quay-fish", &folder.of("run"), &[]);
    let (run, model) = (results(&folder, "run"), model("tern-quay-fish"));
    let again = reported(&[&folder.of("run"), "--model", &model, "--out", &folder.of("again")]);
    compare("", &run, &again);
    let mut only_run = Vec::new();
    lacking("", &run, &again, &mut only_run);
    assert_eq!(only_run, Vec::<String>::new());
    assert_eq!(again["logs"]["not_told"], Value::Array(Vec::new()));
    assert!(folder.path().join("again/model.json").exists());
    let page = fs::read_to_string(folder.path().join("again/report.html")).expect("a page");
    assert!(page.contains("Tern Quay") && page.contains("linewake report"), "the command is on the page");
}

/// The design rate of the model counts, not the one that the log has.
#[test]
fn a_model_alongside_gives_the_design_rate() {
    let folder = TestFolder::new();
    run("merrow-three-machines", &folder.of("run"), &[]);
    let text = fs::read_to_string(model("merrow-three-machines")).expect("a model");
    let other = text.replacen("\"design_rate\": \"30/min\"", "\"design_rate\": \"28/min\"", 1);
    assert_ne!(other, text, "the model has a design rate");
    fs::write(folder.path().join("other.json"), other).expect("a model");
    let under = reported(&[
        &folder.of("run/logs/long-run"),
        "--model",
        &folder.of("other.json"),
        "--out",
        &folder.of("under"),
    ]);
    assert_eq!(under["long_run"]["design_rate_per_min"].as_f64(), Some(28.0));
    assert_eq!(under["new_rolls"], Value::Null, "only the logs that were named");
    let wrong =
        report(&[&folder.of("run/logs"), "--model", &model("tern-quay-fish"), "--out", &folder.of("wrong")]);
    assert_eq!(wrong.exit, Exit::Invalid);
    assert!(wrong.err.contains("not a log of the model's line"), "{}", wrong.err);
}

#[test]
fn a_log_that_is_cut_off_says_so_in_page_text_and_json() {
    let folder = TestFolder::new();
    run("tern-quay-fish", &folder.of("run"), &["--log-format", "csv"]);
    let whole = fs::read(folder.path().join("run/logs/new-rolls/shift-0001.csv")).expect("a log");
    let cut = &whole[..whole.len() / 2];
    assert_ne!(cut.last(), Some(&b'\n'), "in mid-row");
    fs::write(folder.path().join("cut.csv"), cut).expect("a log");
    let mut zipped = linewake_log::writer::gzip_writer(Vec::new());
    zipped.write_all(&whole).expect("memory takes it");
    let zipped = zipped.finish().expect("memory takes it");
    fs::write(folder.path().join("zipped.csv.gz"), &zipped[..zipped.len() / 2]).expect("a log");

    for (file, how) in [("cut.csv", "in mid-row"), ("zipped.csv.gz", "compressed file is cut off")] {
        let out = folder.of(&format!("of-{file}"));
        let answer = report(&[&folder.of(file), "--out", &out]);
        assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
        let printed = answer.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(printed.contains(file) && printed.contains(how), "{}", answer.out);
        let page = fs::read_to_string(format!("{out}/report.html")).expect("a page");
        assert!(page.contains("breaks off") && page.contains(how));
        let told = json(&fs::read_to_string(format!("{out}/results.json")).expect("results"));
        let log = &told["logs"]["read"][0];
        assert!(log["broken_off"].as_str().is_some_and(|words| words.contains(how)), "{log}");
        assert_eq!(log["file"], file);
        let doubts = told["new_rolls"]["doubts"].to_string();
        assert!(doubts.contains("no end"), "{doubts}");
        assert!(told["new_rolls"]["good_packs"]["mean"].as_f64() > Some(0.0));
    }
}

#[test]
fn logs_that_do_not_belong_together_are_told() {
    let folder = TestFolder::new();
    run("tern-quay-fish", &folder.of("fish"), &[]);
    run("alder-hill-mince", &folder.of("mince"), &[]);
    let refused = |arguments: &[&str], exit: Exit, words: &[&str]| {
        let out = folder.of("refused");
        let answer = report(&[arguments, &["--out", &out]].concat());
        assert_eq!(answer.exit, exit, "{arguments:?}: {}", answer.err);
        assert_eq!(answer.out, "");
        for word in words {
            assert!(answer.err.contains(word), "{word} is due: {}", answer.err);
        }
        assert!(!std::path::Path::new(&out).exists(), "nothing is left");
    };
    let (fish, mince) = (folder.of("fish"), folder.of("mince/logs/long-run"));
    refused(&[&fish, &mince], Exit::Invalid, &["not of the same line", "Tern Quay", "Alder Hill"]);
    let one = folder.of("fish/logs/new-rolls/shift-0002.csv.gz");
    refused(&[&fish, &one], Exit::Usage, &["same file", "twice"]);
    let copy = folder.of("copy.csv.gz");
    fs::copy(&one, &copy).expect("a copy");
    refused(&[&fish, &copy], Exit::Invalid, &["same shift", "replication 1", "copy.csv.gz"]);
    refused(&[&folder.of("nowhere.csv")], Exit::Failed, &["nowhere.csv", "no such file"]);
    fs::create_dir(folder.path().join("empty")).expect("a folder");
    refused(&[&folder.of("empty")], Exit::Failed, &["no log in the folder"]);
    refused(&[&model("tern-quay-fish")], Exit::Invalid, &["this is no log", "--mapping"]);
    refused(&[&one, "--counts", &copy], Exit::Usage, &["--mapping"]);
    // The folder of the run is not replaced by a report of its own logs.
    let inside = report(&[&fish, "--out", &fish]);
    assert_eq!(inside.exit, Exit::Failed);
    assert!(inside.err.contains("would replace"), "{}", inside.err);
    assert!(fs::exists(&one).expect("a file"));
}

#[test]
fn a_wrong_row_is_told_with_its_line() {
    let folder = TestFolder::new();
    run("tern-quay-fish", &folder.of("run"), &["--log-format", "csv"]);
    let text = fs::read_to_string(folder.path().join("run/logs/long-run/shift-0003.csv")).expect("a log");
    let wrong = text.replacen(",running,starved,", ",running,strved,", 1);
    let line = 1 + wrong.lines().position(|line| line.contains("strved")).expect("the wrong row");
    fs::write(folder.path().join("wrong.csv"), wrong).expect("a log");
    let answer = report(&[&folder.of("wrong.csv"), "--out", &folder.of("out")]);
    assert_eq!(answer.exit, Exit::Invalid);
    let told = format!("wrong.csv: line {line}: to is \"strved\"; known are running, starved");
    assert!(answer.err.contains(&told), "{told} is due: {}", answer.err);
}

/// The worked example of a plant's stop list through the whole program: the figures are those that its page has, worked by
/// hand there.
#[test]
fn a_stop_list_of_a_plant_is_reported_through_its_mapping() {
    let folder = TestFolder::new();
    let example =
        |file: &str| workspace_root().join("docs/guides/stop-list-example").join(file).display().to_string();
    let (list, mapping, counts) = (example("stops.csv"), example("mapping.json"), example("counts.csv"));
    let out = folder.of("plant");
    let told = reported(&[&list, "--mapping", &mapping, "--counts", &counts, "--out", &out]);
    let shifts = told["logged"]["shifts"].as_array().expect("shifts");
    let figures = [
        (29480, 29172, 0.804, 0.720),
        (32615, 32288, 0.819, 0.797),
        (25902, 25574, 0.751, 0.729),
        (33410, 33174, 0.887, 0.819),
    ];
    assert_eq!(shifts.len(), figures.len());
    for (shift, (total, good, availability, oee)) in shifts.iter().zip(figures) {
        assert_eq!((shift["total_packs"].as_u64(), shift["good_packs"].as_u64()), (Some(total), Some(good)));
        for (key, due) in [("availability", availability), ("oee", oee)] {
            let is = shift[key].as_f64().expect("a share");
            assert!((is - due).abs() <= 0.0005, "{key}: {is}, {due} is due");
        }
    }
    let log = &told["logs"]["read"][0];
    assert_eq!(log["file"], "stops.csv");
    let dirty = log["dirty_rows"].as_object().expect("kinds");
    assert_eq!(dirty.values().filter_map(Value::as_u64).sum::<u64>(), 14, "{log}");
    assert_eq!(dirty["unknown machine"], 2);
    let rows = fs::read_to_string(format!("{out}/tables/dirty-rows.csv")).expect("the list of dirty rows");
    let rows: Result<Vec<_>, _> = csv::Reader::from_reader(rows.as_bytes()).into_records().collect();
    assert_eq!(rows.expect("rows of equal width").len(), 14);
    let page = fs::read_to_string(format!("{out}/report.html")).expect("a page");
    assert!(page.contains("Schlauchbeutler") && page.contains("stops.csv"));

    let refused = |arguments: &[&str], exit: Exit, words: &str| {
        let answer = report(&[&[&list, "--out", &folder.of("refused")], arguments].concat());
        assert_eq!(answer.exit, exit, "{}", answer.err);
        assert!(answer.err.contains(words), "{words} is due: {}", answer.err);
    };
    refused(&["--mapping", &mapping], Exit::Invalid, "--counts");
    refused(
        &["--mapping", &mapping, "--counts", &counts, "--counts", &counts],
        Exit::Usage,
        "2 files of counts for 1",
    );
    refused(&["--mapping", &list], Exit::Invalid, "stops.csv");
    refused(&[], Exit::Invalid, "--mapping");
}

/// A log of half an hour, plain, with breaks, rejects and stops in it.
fn small_log() -> &'static [u8] {
    static LOG: OnceLock<Vec<u8>> = OnceLock::new();
    LOG.get_or_init(|| {
        let folder = TestFolder::new();
        let (model, out) = (model("tern-quay-fish"), folder.of("run"));
        let arguments =
            ["run", &model, "--shifts", "1", "--hours", "0.05", "--log-format", "csv", "--out", &out];
        assert_eq!(linewake(&arguments).exit, Exit::Done);
        fs::read(folder.path().join("run/logs/shift-0001.csv")).expect("a log")
    })
}

/// A report or an error with words, never a panic, and no folder after an error.
fn report_or_error(bytes: &[u8]) {
    let folder = TestFolder::new();
    let (log, out) = (folder.of("log.csv"), folder.of("out"));
    fs::write(&log, bytes).expect("a file");
    let answer = report(&[&log, "--out", &out, "--quiet"]);
    match answer.exit {
        Exit::Done => {
            assert!(fs::exists(format!("{out}/report.html")).expect("a page"));
            assert!(answer.out.contains("good packs"), "{}", answer.out);
        }
        exit => {
            assert!(matches!(exit, Exit::Invalid | Exit::Failed), "{exit:?}: {}", answer.err);
            assert!(answer.err.contains("log.csv"), "{}", answer.err);
            assert!(!fs::exists(&out).expect("a folder"), "nothing is left");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_give_an_error(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        report_or_error(&bytes);
    }

    /// Fields of a real log, numbers among them, put in other places, doubled, made huge or empty, rows left out or
    /// repeated, the end cut off.
    #[test]
    fn a_damaged_log_gives_a_report_or_an_error(
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0_u8..9, any::<prop::sample::Index>()), 0..5),
        cut in prop::option::of(any::<prop::sample::Index>()),
    ) {
        let text = String::from_utf8_lossy(small_log()).into_owned();
        let mut rows: Vec<Vec<String>> =
            text.lines().map(|row| row.split(',').map(str::to_owned).collect()).collect();
        for (row, change, other) in changes {
            let (row, other) = (row.index(rows.len()), other.index(rows.len()));
            let filled: Vec<usize> = (0..rows[row].len()).filter(|&field| !rows[row][field].is_empty()).collect();
            let field = *filled.get(other % filled.len().max(1)).unwrap_or(&0);
            match change {
                0 => drop(rows.remove(row)),
                1 => rows.swap(row, other),
                2 => { let copy = rows[row].clone(); rows.insert(other, copy); }
                3 => rows[row][field] = "0".to_owned(),
                4 => rows[row][field] = "999999999999".to_owned(),
                5 => rows[row][field] = "1e300".to_owned(),
                6 => rows[row][field] = "\"".to_owned(),
                7 => rows[row][field] = rows[other].get(field).cloned().unwrap_or_default(),
                _ => rows[row][field].clear(),
            }
            if rows.is_empty() { break; }
        }
        let mut bytes = rows.iter().map(|row| row.join(",") + "\n").collect::<String>().into_bytes();
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len() + 1));
        }
        report_or_error(&bytes);
    }

    /// Bytes changed anywhere, in the plain log and in the packed one.
    #[test]
    fn a_log_with_changed_bytes_gives_a_report_or_an_error(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..4),
        packed in any::<bool>(),
    ) {
        let mut bytes = small_log().to_vec();
        if packed {
            let mut zipped = linewake_log::writer::gzip_writer(Vec::new());
            zipped.write_all(&bytes).expect("memory takes it");
            bytes = zipped.finish().expect("memory takes it");
        }
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        report_or_error(&bytes);
    }
}
