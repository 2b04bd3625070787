//! Is the promise against the log calibrated? Logs of the very model are called in at most the promised share, and a reason
//! that comes twice as often is named first.

use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_kpi::study::versus::{Verdict, VersusResult};
use linewake_log::event::{Detail, Keep};
use linewake_model::change::ModelTree;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_study::journal::Records;
use linewake_study::logs::{LoggedShift, told};
use linewake_study::plan::Conditions;
use linewake_study::replicate::Workers;
use linewake_study::runner::Runner;
use linewake_study::study::Study;
use linewake_study::versus::{VersusOptions, VersusStudy};
use linewake_tests::workspace_root;
use std::sync::atomic::AtomicBool;

/// Shifts of a log.
const SHIFTS: u64 = 5;
/// Seed of the logs; the runs of the model have another.
const LOG_SEED: u64 = 4000;
/// The reason that comes twice as often: as modelled every 40 min of running time, 11 times in a shift of 8 h.
const DOUBLED: (&str, &str) = ("former", "seal temperature");

/// How many logs, how long a shift is, and how many runs predict.
struct Size {
    logs: u64,
    shift_h: f64,
    runs: u64,
}

fn size() -> Size {
    match std::env::var("LINEWAKE_THEORY") {
        Ok(set) if set == "full" => Size { logs: 200, shift_h: 8.0, runs: 1000 },
        _ => Size { logs: 25, shift_h: 2.0, runs: 200 },
    }
}

fn text() -> String {
    std::fs::read_to_string(workspace_root().join("models/tern-quay-fish.json")).expect("a shipped model")
}

/// Logs of a line: the shifts of log k are replications k x SHIFTS and the following.
fn log(line: &Line, size: &Size, number: u64) -> Vec<LoggedShift> {
    let plan = RunPlan {
        horizon: Moment::ZERO + Span::from_seconds(3600.0 * (size.shift_h + 0.5)),
        ..RunPlan::long_run(line, Span::from_seconds(1800.0))
    };
    let shift = |shift: u64| {
        let replication = number * SHIFTS + shift;
        let header = linewake_engine::header(line, &plan, LOG_SEED, replication);
        let mut keep = Keep { detail: Detail::States, events: Vec::new() };
        linewake_engine::run(line, &plan, LOG_SEED, replication, &mut keep);
        told(&header, &keep.events, &header.facts, Conventions::default(), false)
    };
    (0..SHIFTS).map(shift).collect()
}

/// Holds the model against a log; what it predicts was run before.
fn versus(
    line: &Line,
    log: &[LoggedShift],
    options: VersusOptions,
    predicted: &Records,
) -> (VersusResult, Records) {
    let conditions = Conditions { seed: 1, ..Conditions::default() };
    let study = VersusStudy::prepare(line, log, options, &conditions).expect("a log of that line");
    let stop = AtomicBool::new(false);
    let workers = Workers::new(None, &stop).expect("threads");
    let mut runner = Runner::new(study.plan(), &workers, &|| {}).with_records(predicted.clone());
    let found = study.conclude(&mut runner).expect("runs");
    (found, runner.records().clone())
}

/// Each headline figure of a log of the very model is called beyond chance in at most 8 % of the logs.
///
/// The five figures are judged together at 5 % (Holm 1979), so each alone is called more seldom than that. Were a figure
/// called with just 8 %, more than 16 calls of 200 would come in 43 % of seeds; with 3 %, as here or less, more than 16
/// come in 0.03 %. Of 25 logs in the short set more than 5 calls come in 0.1 % at 5 % (binomial).
#[test]
fn logs_of_the_very_model_are_seldom_called() {
    let (size, text) = (size(), text());
    let line = linewake_model::parse(&text).expect("a shipped model").line;
    let options =
        VersusOptions { predicting_runs: size.runs, explaining_runs: 0, ..VersusOptions::default() };
    let (mut predicted, mut called, mut any_reason) = (Records::default(), [0_u64; 5], 0_u64);
    for number in 0..size.logs {
        let (found, records) = versus(&line, &log(&line, &size, number), options, &predicted);
        for (count, row) in called.iter_mut().zip(&found.figures) {
            *count += u64::from(row.compared.verdict == Verdict::BeyondChance);
        }
        any_reason += u64::from(found.reasons.iter().any(|row| row.is_beyond_chance()));
        predicted = records;
    }
    eprintln!(
        "of {} logs of {SHIFTS} shifts called: {called:?} (OEE, A, P, Q, output); any stop reason: {any_reason}",
        size.logs
    );
    let most = if size.logs == 200 { 16 } else { 5 };
    assert!(called.iter().all(|count| *count <= most), "{called:?}");
    // All reasons together are judged at 5 %: of 200 more than 22 come in 0.03 %, of 25 more than 5 in 0.1 %.
    assert!(any_reason <= if size.logs == 200 { 22 } else { 5 }, "{any_reason}");
}

/// A reason whose stops come twice as often is named first in at least 80 % of the logs.
///
/// The ranking puts reasons beyond chance first; where exactly one is, it is first whatever it explains, and the runs that
/// explain are spared. In the short set the shifts are a quarter as long, so that the reason comes 14 times more in a log instead of
/// 55: some 15 of 25 logs name it, and 8 are asked for. Fewer come in 0.1 % of seeds (binomial, 60 %); drawn by lot among six
/// reasons, 8 or more would come in 4 %.
#[test]
fn a_doubled_reason_is_named_first() {
    let (size, text) = (size(), text());
    let line = linewake_model::parse(&text).expect("a shipped model").line;

    let path = format!("stations[{}].stops[{}].after.running_time", DOUBLED.0, DOUBLED.1);
    let mut tree = ModelTree::parse(&text).expect("a shipped model");
    if !line.uncertainty.is_empty() {
        tree.remove("uncertainty").expect("stated uncertainties");
    }
    tree.scale(&path, 0.5).expect("a time between stops");
    let real = tree.check().expect("a sound model").line;
    let ranked = VersusOptions { predicting_runs: size.runs, explaining_runs: 0, ..VersusOptions::default() };
    let explained = VersusOptions { explaining_runs: 4 * SHIFTS, ..ranked };
    let (mut predicted, mut named) = (Records::default(), 0_u64);
    for number in 0..size.logs {
        let log = log(&real, &size, number);
        let (mut found, records) = versus(&line, &log, ranked, &predicted);
        if found.reasons.iter().filter(|row| row.is_beyond_chance()).count() != 1 {
            (found, _) = versus(&line, &log, explained, &records);
        }
        let first = &found.reasons[0];
        named += u64::from((first.station.as_str(), first.reason.as_str()) == DOUBLED);
        predicted = records;
    }
    eprintln!("of {} logs of {SHIFTS} shifts {named} name the doubled reason first", size.logs);
    let least = if size.logs == 200 { 160 } else { 8 };
    assert!(named >= least, "{named} of {}", size.logs);
}
