//! A model and a log set against each other: what must come out is known from how the log was made.

use super::*;
use crate::logs::told;
use crate::plan::BaseModel;
use crate::testing::{conclusion, line as machines, machine, stop, table};
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_kpi::study::versus::Verdict;
use linewake_log::event::{Detail, Keep as KeepEvents};

/// Two machines with a storage between; the first one is the constraint.
fn model(mtbf_s: f64, jam_s: f64) -> BaseModel {
    machines(
        r#""shift": { "length": "2 h", "breaks": [{ "start": "1 h", "duration": "10 min" }] },"#,
        &[
            machine(
                "one",
                r#""1 s""#,
                &format!("{}, {}", stop("blade", mtbf_s, 60.0), stop("belt", 2400.0, 90.0)),
            ),
            table("storage", 30),
            machine("two", r#""0.9 s""#, &stop("jam", 900.0, jam_s)),
        ],
    )
}

fn shift(line: &Line, seed: u64, replication: u64) -> LoggedShift {
    let plan = RunPlan::shift(line);
    let header = linewake_engine::header(line, &plan, seed, replication);
    let mut keep = KeepEvents { detail: Detail::States, events: Vec::new() };
    linewake_engine::run(line, &plan, seed, replication, &mut keep);
    told(&header, &keep.events, &header.facts, Conventions::default(), false)
}

fn log(line: &Line, shifts: u64) -> Vec<LoggedShift> {
    (0..shifts).map(|replication| shift(line, 77, replication)).collect()
}

const OPTIONS: VersusOptions =
    VersusOptions { predicting_runs: 300, explaining_runs: 40, warm_up: Span(600_000_000) };

fn versus(model: &BaseModel, log: &[LoggedShift]) -> VersusResult {
    let conditions = Conditions { seed: 5, ..Conditions::default() };
    conclusion(&VersusStudy::prepare(&model.line, log, OPTIONS, &conditions).expect("a log of that line"))
}

/// Observed figures are those of the log, added up by hand from its shifts; the run has its length and its breaks.
#[test]
fn what_is_observed_is_what_the_log_tells() {
    let model = model(600.0, 60.0);
    let log = log(&model.line, 4);
    let found = versus(&model, &log);
    assert_eq!((found.shifts, found.predicting_runs, found.explaining_runs), (4, 300, 40));
    assert!((found.planned_production_time_s - 4.0 * 6600.0).abs() < 1e-6);
    let good: u64 = log.iter().map(|shift| shift.result.oee.good_packs).sum();
    // The design rate is 60/min, so the OEE is good packs over seconds.
    let oee = found.figures[0].compared;
    assert!((oee.observed.expect("told") - good as f64 / 26_400.0).abs() < 1e-9);
    assert!(oee.low < oee.predicted && oee.predicted < oee.high);
    assert_eq!(found.gap.observed_packs, Some(good as f64));
    let blade = found.reasons.iter().find(|row| row.reason == "blade").expect("a reason of the model");
    let stops = log.iter().map(|shift| {
        let stops = &shift.result.stations[0].stops;
        stops.iter().filter(|stop| stop.reason == "blade").map(|stop| stop.count).sum::<u64>()
    });
    assert!((blade.count.observed.expect("told") - stops.sum::<u64>() as f64).abs() < 1e-9);
    assert_eq!(blade.known, Known::Both);
    assert!(found.lacking.iter().any(|words| words.contains("waiting")), "{:?}", found.lacking);
}

/// One long stop in a few runs: how far runs lie apart, around a mean near 1, must not be told as an availability over 1.
#[test]
fn a_predicted_availability_is_none_that_cannot_be() {
    let model = machines(
        r#""shift": { "length": "2 h" }, "short_stop_limit": "10 min","#,
        &[machine("one", r#""1 s""#, &stop("crash", 40_000.0, 3000.0)), machine("two", r#""0.9 s""#, "")],
    );
    let found = versus(&model, &log(&model.line, 2));
    let row = found.figures.iter().find(|row| row.figure == Figure::Availability).expect("a headline figure");
    let range = row.compared;
    assert!(range.low < range.predicted && range.predicted < range.high, "{range:?}");
    assert!(range.low >= 0.0 && range.high <= 1.0, "{range:?}");
}

/// A reason that comes three times as often in the log is called, is put first, and its logged stops explain the gap.
#[test]
fn a_reason_that_comes_more_often_is_named_first() {
    let (promised, real) = (model(600.0, 60.0), model(200.0, 60.0));
    let found = versus(&promised, &log(&real.line, 6));
    let first = &found.reasons[0];
    assert_eq!((first.station.as_str(), first.reason.as_str()), ("one", "blade"));
    assert!(first.is_beyond_chance());
    assert_eq!(found.figures[0].compared.verdict, Verdict::BeyondChance);
    let (gap, explained) = (found.gap.gap_packs.expect("counted"), first.explained_packs.expect("replayed"));
    assert!(gap < 0.0 && explained.mean < 0.0);
    // Nothing else was changed: its stops explain most of the gap, all stops together nearly the whole of it.
    assert!(first.explained_share.expect("a gap") > 0.6, "{first:?}");
    let all = found.gap.all_stops_packs.expect("replayed");
    assert!((all.mean - gap).abs() < 0.2 * gap.abs(), "{all:?} {gap}");
}

/// Reasons that only one of the two knows are named, and take part in the gap.
#[test]
fn reasons_that_only_one_knows_are_named() {
    let real = model(600.0, 60.0);
    let promised = machines(
        r#""shift": { "length": "2 h", "breaks": [{ "start": "1 h", "duration": "10 min" }] },"#,
        &[
            machine(
                "one",
                r#""1 s""#,
                &format!("{}, {}", stop("blade", 600.0, 60.0), stop("sensor", 900.0, 30.0)),
            ),
            table("storage", 30),
            machine("two", r#""0.9 s""#, &stop("jam", 900.0, 60.0)),
        ],
    );
    let found = versus(&promised, &log(&real.line, 6));
    let known = |reason: &str| found.reasons.iter().find(|row| row.reason == reason).expect("a row");
    assert_eq!((known("belt").known, known("sensor").known), (Known::LogOnly, Known::ModelOnly));
    assert!(known("belt").explained_packs.expect("replayed").mean < 0.0, "new stops cost packs");
    assert!(
        known("sensor").explained_packs.expect("replayed").mean > 0.0,
        "stops that did not come bring packs"
    );
}

/// A log simulated with the seed of the runs would share its luck with them.
#[test]
fn the_runs_never_have_the_luck_of_the_log() {
    let model = model(600.0, 60.0);
    let log = log(&model.line, 2);
    let conditions = Conditions { seed: 77, ..Conditions::default() };
    let study = VersusStudy::prepare(&model.line, &log, OPTIONS, &conditions).expect("a log of that line");
    assert_eq!(study.plan().conditions.seed, 78);
    assert!(study.notes.iter().any(|note| note.contains("seed 77")));
}

/// One shift of log and few runs cannot tell a single reason from chance, and the result says how many would.
#[test]
fn too_few_runs_for_the_number_of_reasons_are_told() {
    let model = model(600.0, 60.0);
    let options = VersusOptions { predicting_runs: 20, explaining_runs: 0, ..OPTIONS };
    let study = VersusStudy::prepare(&model.line, &log(&model.line, 1), options, &Conditions::default());
    let found = conclusion(&study.expect("a log of that line"));
    // 21 shifts, one of them the log's: 2 / 21.
    assert!((found.smallest_p_value - 2.0 / 21.0).abs() < 1e-12);
    assert!(found.head.notes.iter().any(|note| note.contains("runs would do")), "{:?}", found.head.notes);
    assert!(found.reasons.iter().all(|row| row.explained_packs.is_none() && !row.is_beyond_chance()));
}

/// Shifts of which each has luck of its own, worked by hand: means 2 and 20, both with variance 2 of two values.
#[test]
fn the_sum_over_shifts_leaves_out_how_shifts_differ() {
    let sum = sum_over_shifts(&[1.0, 19.0, 3.0, 21.0], 2, 0.95);
    // Variance of the sum of two means of two: 2/2 + 2/2 = 2, on 2 degrees of freedom, t = 4.302653 (table of Student's t).
    assert!((sum.mean - 22.0).abs() < 1e-12);
    assert!((sum.half_width.expect("two of each") - 4.302_653 * 2_f64.sqrt()).abs() < 1e-5);
}
