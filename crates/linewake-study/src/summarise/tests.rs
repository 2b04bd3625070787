//! Summaries of real runs agree with their shifts, and of changed ones with arithmetic by hand.

use super::*;
use crate::replicate::{Workers, replicate, run_once};
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::{Conventions, MinorStops};
use linewake_model::line::Line;
use linewake_model::time::Moment;
use std::sync::atomic::AtomicBool;

/// A small whole line with breaks.
fn small_line() -> Line {
    let text = include_str!("../../../../models/tern-quay-fish.json");
    linewake_model::parse(text).expect("a shipped model").line
}

fn plan(line: &Line) -> RunPlan {
    RunPlan {
        horizon: Moment::ZERO + Span::from_seconds(3.0 * 3600.0),
        ..RunPlan::long_run(line, Span::from_seconds(900.0))
    }
}

fn shifts_of(line: &Line, count: u64) -> Vec<ShiftResult> {
    let stop = AtomicBool::new(false);
    let workers = Workers::new(Some(2), &stop).expect("threads");
    replicate(line, &plan(line), Conventions::default(), 7, count, &workers, &|| {}).expect("not stopped")
}

fn summary_of(line: &Line, shifts: &[ShiftResult]) -> Summary {
    summarise(&LineFacts::of(line), plan(line).warm_up.since(Moment::ZERO), StartKind::LongRun, shifts)
        .expect("shifts")
}

fn assert_close(one: f64, other: f64, within: f64) {
    assert!((one - other).abs() <= within, "{one} and {other}");
}

#[test]
fn replications_are_the_runs_one_by_one() {
    let line = small_line();
    let shifts = shifts_of(&line, 4);
    for (replication, shift) in (0..).zip(&shifts) {
        assert_eq!(shift, &run_once(&line, &plan(&line), Conventions::default(), 7, replication));
    }
    assert_ne!(shifts[0].oee.good_packs, shifts[1].oee.good_packs, "replications have luck of their own");
}

#[test]
fn a_summary_agrees_with_its_shifts() {
    let line = small_line();
    let shifts = shifts_of(&line, 12);
    let summary = summary_of(&line, &shifts);
    let good: u64 = shifts.iter().map(|shift| shift.oee.good_packs).sum();
    assert_close(summary.good_packs.mean, good as f64 / 12.0, 1e-9);
    let (a, p, q) = (summary.availability.mean, summary.performance, summary.quality);
    let (p, q) = (p.expect("packs were cut").mean, q.expect("packs were cut").mean);
    assert_close(summary.oee.mean, a * p * q, 1e-12);
    let iso = summary.split_by(MinorStops::Availability);
    let p_iso = iso.performance.expect("packs were cut").mean;
    assert_close(summary.oee.mean, iso.availability.mean * p_iso * q, 1e-12);
    assert!(iso.availability.mean < a && p_iso > p, "there were minor stops");
    assert_close(summary.ledger.residual_packs(), 0.0, 1e-6);
    assert_close(summary.window_s, 3.0 * 3600.0 - 900.0, 0.0);
    assert_eq!(summary.balance.as_ref().map(linewake_kpi::summary::Balance::difference), Some(0));
    for station in &summary.stations {
        if let Some(states) = &station.states {
            assert_close(states.running_s + states.not_running_s(), summary.window_s, 1e-6);
        }
    }
    let by_hour: f64 = summary.output.iter().map(|hour| hour.good_packs.mean).sum();
    assert_close(by_hour, summary.good_packs.mean, 1e-9);
    let range = summary.good_packs_range.expect("twelve shifts");
    assert!(range.p10 <= summary.good_packs.mean && summary.good_packs.mean <= range.p90);
    assert_eq!(summary.shifts.len(), 12);
    assert!(summary.doubts.is_empty(), "{:?}", summary.doubts);
}

#[test]
fn a_cause_that_is_missing_in_a_shift_counts_there_as_nothing() {
    let line = small_line();
    let shift = run_once(&line, &plan(&line), Conventions::default(), 7, 0);
    let mut without = shift.clone();
    let cause = without.ledger.causes.remove(0);
    let summary = summary_of(&line, &[shift.clone(), without]);
    let row = summary.ledger.causes.iter().find(|row| {
        row.kind == cause.kind && row.station_index == cause.station_index && row.reason == cause.reason
    });
    let row = row.expect("the cause of the first shift");
    assert_close(row.packs.mean, cause.packs / 2.0, 1e-9);
    assert_close(row.time_s, cause.time.seconds() / 2.0, 1e-9);
    // Two values x and 0: half-width t(1, 0.975) x / 2, with t = 12.7062 (table of Student's t).
    let half_width = row.packs.half_width.expect("two shifts");
    assert_close(half_width, 12.7062 * cause.packs / 2.0, cause.packs * 1e-4);
    assert_eq!(row.packs.n, 2);
}

#[test]
fn one_shift_has_a_mean_and_no_interval() {
    let line = small_line();
    let shifts = shifts_of(&line, 1);
    let summary = summary_of(&line, &shifts);
    assert_eq!(summary.good_packs.half_width, None);
    assert_eq!(summary.oee.half_width, None);
    assert_eq!(summary.good_packs_range, None);
    assert_eq!(summarise(&LineFacts::of(&line), Span::ZERO, StartKind::LongRun, &[]), None);
}

#[test]
fn what_is_wrong_with_a_log_is_told_once_with_its_count() {
    let line = small_line();
    let mut shifts = shifts_of(&line, 3);
    for shift in &mut shifts[1..] {
        shift.doubts.push(Doubt::NoEnd);
    }
    let summary = summary_of(&line, &shifts);
    assert_eq!(summary.doubts, ["the log has no end: the result stops at its last event (in 2 of 3 shifts)"]);
}
