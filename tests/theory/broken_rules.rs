//! The page can turn red: three lines in which one rule of the engine is broken on purpose.
//!
//! No rule is broken in the engine itself. A line that is told otherwise in the model does what an engine with the wrong
//! rule would do with the right line, and is held against the published values of the right line.

use crate::checks::{self, Check};
use crate::model_of::model_of;
use crate::page::{Family, page};
use crate::recursion::{Blocking, departures, departures_of_engine};
use crate::row::{Row, RunSet, Verdict};
use crate::simulated::run_check;
use linewake_model::time::Moment;
use serde_json::json;

const SEED: u64 = 9_001;

/// Runs the bent check, and gives the page and the quantities that differ.
fn page_of(bent: &Check) -> (String, Vec<String>) {
    let rows = run_check(bent, RunSet::Short, SEED).rows;
    let differ = |row: &&Row| row.verdict == Verdict::Differs;
    let differing = rows.iter().filter(differ).map(|row| row.quantity.clone()).collect();
    (page(&[Family { title: "", rows, without_rows: "" }], RunSet::Short), differing)
}

fn assert_red(bent: &Check) {
    let (page, differing) = page_of(bent);
    assert!(page.contains("**RED: ") && page.contains("**DIFFERS**"), "{page}");
    assert!(differing.iter().any(|quantity| quantity == "throughput"), "{differing:?}");
}

/// The right lines, with the same seed: green. So it is the bend that turns the page red.
#[test]
fn the_same_lines_with_the_right_rules_are_green() {
    for id in ["A05", "A07", "B02"] {
        let (page, differing) = page_of(&checks::one(id));
        assert!(page.contains("**GREEN: "), "{id}: {differing:?}");
    }
}

#[test]
fn a_storage_that_is_off_by_one_turns_the_page_red() {
    for (id, storage) in [("A07", json!([4])), ("A07", json!([2])), ("A05", json!([2, 1]))] {
        let mut bent = checks::one(id);
        bent.parameters["storage"] = storage;
        assert_red(&bent);
    }
}

/// The first machine never waits for a piece: a calendar clock differs from that of running time in that it runs while
/// the machine is blocked, and in nothing else.
#[test]
fn a_clock_that_runs_while_blocked_turns_the_page_red() {
    let mut bent = checks::one("B02");
    bent.parameters["stations"][0]["failure_mode"] = json!("time_dependent");
    assert_red(&bent);
}

/// A line with b places in each storage that is blocked before service does, to the microsecond, what the engine does
/// with b - 1 places: see `recursion`. So the engine with a place less stands for an engine with the wrong rule.
#[test]
fn blocking_before_instead_of_after_service_turns_the_page_red() {
    let right = checks::one("A05");
    let mut bent = right.clone();
    bent.parameters["storage"] = json!([0, 0]);
    let departures_in = |check: &Check, blocking| {
        let line = model_of(check).expect("a line").line;
        let of_engine = departures_of_engine(&line, Moment(50_000 * 1_000_000), SEED, 0);
        assert!(of_engine.len() > 20_000);
        let worked_out = departures(&line, &[1, 1], blocking, SEED, 0, of_engine.len());
        of_engine == worked_out
    };
    assert!(departures_in(&right, Blocking::AfterService), "the engine blocks after service");
    assert!(!departures_in(&right, Blocking::BeforeService), "and the two are not the same");
    assert!(departures_in(&bent, Blocking::BeforeService), "a place less is blocking before service");
    assert_red(&bent);
}
