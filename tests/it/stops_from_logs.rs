//! Runs with the stops of a log, and the promise against the log: on random lines, and from the command line.

#![expect(clippy::print_stdout, reason = "the counts that a test prints say how much it has seen")]

use linewake_cli::exit::Exit;
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_log::event::{Detail, Event, Keep};
use linewake_log::event::{EventKind, StationState};
use linewake_model::line::Line;
use linewake_model::stop::Reason;
use linewake_model::time::Span;
use linewake_study::logs::told;
use linewake_study::trace::{LoggedLine, TraceOptions, TracedWaiting, Which};
use linewake_tests::command_line::{Answer, TestFolder, linewake};
use linewake_tests::pack_checker::check;
use linewake_tests::random_line::random_line;
use linewake_tests::workspace_root;
use serde_json::Value;
use std::fmt::Write as _;
use std::process::{Command, Stdio};

/// Random lines of the test.
const LINES: u64 = 150;

fn model(name: &str) -> String {
    workspace_root().join(format!("models/{name}.json")).display().to_string()
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("not JSON ({error}): {text}"))
}

fn done(arguments: &[&str]) -> Answer {
    let answer = linewake(arguments);
    assert_eq!(answer.exit, Exit::Done, "{}", answer.err);
    answer
}

fn events_of(line: &Line, plan: &RunPlan, seed: u64) -> Vec<Event> {
    let mut keep = Keep { detail: Detail::Packs, events: Vec::new() };
    linewake_engine::run(line, plan, seed, 0, &mut keep);
    keep.events
}

/// The log of a random line, with its stops as logged and the same seed, is that log, pack by pack; with another seed, other
/// packs meet the same stops, and the balance holds at every event.
///
/// A log does not tell everything (docs/concepts/engine.md, stops from a log), so the same log is asked of nine lines in ten only:
/// 5 of 150 differ, each with every option of the model at once. The balance is asked of all.
#[test]
fn logged_stops_happen_again_on_random_lines() {
    let (mut stops, mut differ) = (0, Vec::new());
    for number in 0..LINES {
        let random = random_line(number);
        let text = serde_json::to_string(&random.model).expect("a model is JSON");
        let line = linewake_model::parse(&text).expect("a valid line").line;
        let plan = random.plan(&line);
        let events = events_of(&line, &plan, number);
        let header = linewake_engine::header(&line, &plan, number, 0);
        let shift = told(&header, &events, &header.facts, Conventions::default(), false);
        stops += shift.stops.stops.len();
        let logged = |waiting| {
            let options = TraceOptions { waiting, warm_up: Span::ZERO };
            LoggedLine::of(&line, std::slice::from_ref(&shift), options).expect("its own line")
        };
        let again = logged(TracedWaiting::AsLogged);
        if events_of(&again.line, &again.plan(0, Which::All), number) != events {
            differ.push(number);
        }
        let other = logged(TracedWaiting::FromCrew);
        // Fail-safes and stop rules follow from the packs, which are others.
        let rules = [Reason::REJECTS_IN_ROW, Reason::BIN_FULL, Reason::TAGS_IN_ROW];
        let mut plan = other.plan(0, Which::All);
        plan.trace.stops.retain(|stops| !rules.contains(&stops.reason));
        let events = events_of(&other.line, &plan, number + 1_000_000);
        check(&other.line, &plan, &events).unwrap_or_else(|what| panic!("line {number}: {what}\n{text}"));
    }
    println!("{LINES} lines, {stops} stops; other events than logged: {differ:?}");
    assert!(differ.len() as u64 * 10 <= LINES, "{differ:?}");
}

/// A run with the stops of its own logs is that run, for both kinds of start; its log is that log but for the note.
#[test]
fn a_run_with_the_stops_of_its_own_logs_is_that_run() {
    let folder = TestFolder::new();
    let (fish, first, again) = (model("tern-quay-fish"), folder.of("first"), folder.of("again"));
    let made = done(&[
        "run",
        &fish,
        "--shifts",
        "2",
        "--hours",
        "1.5",
        "--warm-up",
        "20 min",
        "--seed",
        "3",
        "--logs",
        "all",
        "--out",
        &first,
        "--json",
    ]);
    let logs = folder.of("first/logs");
    let same = done(&["run", &fish, "--stops-from", &logs, "--seed", "3", "--out", &again, "--json"]);
    let (made, same) = (json(&made.out), json(&same.out));
    for start in ["new_rolls", "long_run"] {
        assert!(made[start].is_object() && made[start] == same[start], "{start} differs");
    }
    // Another seed: the same stops, other packs.
    let other = done(&["run", &fish, "--stops-from", &logs, "--seed", "4", "--out", &again, "--json"]);
    let text = done(&[
        "run",
        &fish,
        "--stops-from",
        &logs,
        "--seed",
        "4",
        "--waiting-from",
        "crew",
        "--out",
        &again,
    ]);
    assert!(json(&other.out)["new_rolls"] != made["new_rolls"]);
    assert!(text.out.contains("Report:"));
    let page = std::fs::read_to_string(folder.path().join("again/report.html")).expect("the report");
    assert!(page.contains("Stops are taken from logs, not drawn"));
}

/// Logs of the fish line as a plant would keep them: stops of each machine, and the packs of each shift.
fn stop_list(folder: &TestFolder, shifts: u64) -> Vec<String> {
    let line = linewake_model::parse(&std::fs::read_to_string(model("tern-quay-fish")).expect("a model"));
    let line = line.expect("a shipped model").line;
    let (mut list, mut counts) =
        ("machine,start,end,reason\n".to_owned(), "date,shift,total,good\n".to_owned());
    for shift in 0..shifts {
        let plan = RunPlan::shift(&line);
        let header = linewake_engine::header(&line, &plan, 8, shift);
        let mut keep = Keep { detail: Detail::States, events: Vec::new() };
        linewake_engine::run(&line, &plan, 8, shift, &mut keep);
        let told = told(&header, &keep.events, &header.facts, Conventions::default(), false);
        let at = |seconds: f64| {
            let clock = 6 * 3600 + seconds.round() as u64;
            format!("2026-03-{:02} {:02}:{:02}:{:02}", shift + 2, clock / 3600, clock / 60 % 60, clock % 60)
        };
        for stop in told.stops.stops.iter().filter(|stop| !stop.planned) {
            let station = &line.stations[usize::from(stop.station)].id;
            // A stop that a break interrupts ends as much later.
            let pauses = told
                .stops
                .breaks
                .iter()
                .filter(|pause| pause.start >= stop.at && pause.start.since(stop.at) < stop.length());
            let end = pauses.fold(stop.at + stop.length(), |end, pause| end + pause.duration);
            let (start, end) = (at(stop.at.seconds()), at(end.seconds()));
            writeln!(list, "{station},{start},{end},{}", line.reason(stop.reason)).expect("memory");
        }
        let oee = &told.result.oee;
        writeln!(counts, "2026-03-{:02},early,{},{}", shift + 2, oee.total_packs, oee.good_packs)
            .expect("memory");
        assert!(
            keep.events
                .iter()
                .any(|event| matches!(event.kind, EventKind::State { to: StationState::Starved, .. }))
        );
    }
    let mapping = r#"{ "mapping_version": 1, "name": "Tern Quay fish, 180 g", "time_zone": "UTC",
        "shifts": { "daily": [{ "name": "early", "start": "06:00", "end": "14:00",
            "breaks": [{ "start": "10:00", "end": "10:30" }] }] },
        "stations": [{ "id": "slicer" }, { "id": "former" }, { "id": "checkweigher" }, { "id": "metal detector" }, { "id": "case packer" }],
        "stops": { "form": { "times": ["%Y-%m-%d %H:%M:%S"] },
            "columns": { "machine": "machine", "start": "start", "end": "end", "reason": "reason" } },
        "counts": { "form": { "times": ["%Y-%m-%d"] }, "columns": { "date": "date", "shift": "shift" }, "are": "increments",
            "values": [{ "column": "total", "counts": "total" }, { "column": "good", "counts": "good" }] } }"#;
    let files = [("stops.csv", list.as_str()), ("counts.csv", &counts), ("mapping.json", mapping)];
    files
        .map(|(name, text)| {
            std::fs::write(folder.path().join(name), text).expect("a file");
            folder.of(name)
        })
        .to_vec()
}

/// A plant's stop list of the very line: what it does not tell is named and not judged, nothing is called, and its stops all
/// happen again although it does not say when a machine waits.
#[test]
fn a_plants_stop_list_against_its_model() {
    let folder = TestFolder::new();
    let files = stop_list(&folder, 3);
    let [list, counts, mapping] = [&files[0], &files[1], &files[2]];
    let fish = model("tern-quay-fish");
    let from = ["--mapping", mapping, "--counts", counts];
    let (out, again) = (folder.of("versus"), folder.of("again"));
    let rest = ["--shifts", "60", "--explaining", "6", "--out", &out, "--json"];
    let answer = done(&[&["versus", &fish, list][..], &from, &rest].concat());
    let found = &json(&answer.out)["found"];
    let verdict =
        |figure: usize| found["figures"][figure]["compared"]["verdict"].as_str().expect("a word").to_owned();
    assert_eq!(verdict(1), "not_told", "waits are not in the list: {found}");
    assert!([0, 3, 4].iter().all(|figure| verdict(*figure) != "beyond_chance"), "{found}");
    let lacking = found["lacking"].to_string();
    assert!(lacking.contains("waits of the constraint") && lacking.contains("told apart"), "{lacking}");
    let run =
        done(&[&["run", &fish, "--stops-from", list][..], &from, &["--out", &again, "--json"]].concat());
    let stations = &json(&run.out)["long_run"]["stations"];
    let lines = std::fs::read_to_string(list).expect("the list");
    for (id, least) in [("slicer", 0.95), ("former", 0.95), ("case packer", 0.95)] {
        let station = stations.as_array().expect("stations").iter().find(|station| station["id"] == id);
        let happened = 3.0 * station.expect("the station")["own_stops"].as_f64().expect("a mean");
        let listed = lines.lines().filter(|line| line.starts_with(&format!("{id},"))).count() as f64;
        assert!(happened >= least * listed && happened <= listed + 0.5, "{id}: {happened} of {listed}");
    }
}

/// The same bytes for any number of threads, an interrupted comparison goes on, and another log is refused its folder.
#[test]
fn a_comparison_is_a_study() {
    let folder = TestFolder::new();
    let (fish, run) = (model("tern-quay-fish"), folder.of("run"));
    done(&[
        "run",
        &fish,
        "--shifts",
        "3",
        "--hours",
        "0.5",
        "--warm-up",
        "10 min",
        "--logs",
        "3",
        "--out",
        &run,
    ]);
    let logs = folder.of("run/logs");
    let versus = |out: &str, more: &[&str]| {
        let all = ["versus", &fish, &logs, "--shifts", "20", "--explaining", "6", "--out", out];
        linewake(&[&all[..], more].concat())
    };
    let (one, three) = (folder.of("one"), folder.of("three"));
    assert_eq!(versus(&one, &["--threads", "1"]).exit, Exit::Done);
    assert_eq!(versus(&three, &["--threads", "3"]).exit, Exit::Done);
    for file in ["results.json", "journal.jsonl", "report.html", "tables/versus-reasons.csv"] {
        let bytes = |folder: &str| std::fs::read(format!("{folder}/{file}")).expect("a file");
        assert!(bytes(&one) == bytes(&three), "{file}");
    }
    let results = json(&std::fs::read_to_string(format!("{one}/results.json")).expect("results"));
    assert_eq!(results["study"], "versus");
    // The log was made with seed 1, as the runs would be.
    assert_eq!(results["found"]["head"]["seed"], 2);
    let one_log = folder.of("run/logs/shift-0001.csv.gz");
    let refused =
        linewake(&["versus", &fish, &one_log, "--shifts", "20", "--explaining", "6", "--out", &one]);
    assert!(refused.exit != Exit::Done && refused.err.contains("another study"), "{}", refused.err);
    let other = linewake(&["versus", &model("alder-hill-mince"), &logs, "--out", &folder.of("other")]);
    assert!(other.exit != Exit::Done && other.err.contains("not a log of the model's line"), "{}", other.err);
}

/// The first example of the help, with the log that it names.
#[test]
fn the_example_of_the_help_runs() {
    let folder = TestFolder::new();
    std::fs::create_dir(folder.path().join("models")).expect("a folder");
    let copy = folder.path().join("models/tern-quay-fish.json");
    std::fs::copy(model("tern-quay-fish"), copy).expect("a copy of the model");
    let results = folder.of("results/fish");
    done(&[
        "run",
        &model("tern-quay-fish"),
        "--shifts",
        "2",
        "--hours",
        "0.5",
        "--logs",
        "2",
        "--out",
        &results,
    ]);
    let help = linewake(&["versus", "--help"]).out;
    let example = help.lines().find_map(|line| line.strip_prefix("  linewake ")).expect("an example");
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewake-under-test"));
    command.args(example.split_whitespace()).current_dir(folder.path()).stdin(Stdio::null());
    let ended = command.output().expect("the program starts");
    assert_eq!(ended.status.code(), Some(0), "{example}: {}", String::from_utf8_lossy(&ended.stderr));
}
