//! Case packer and its collation lane.

use super::{seconds, small_line, span, stop};
use linewake_log::event::{Counter, PackStep};
use linewake_model::facts::facts;
use serde_json::json;

/// Four packs in the lane at 15.1: they leave the lane and are a case at 16.1. Running is the cycle; starved is too few packs.
#[test]
fn a_case_takes_a_cycle() {
    let run = small_line().run();
    assert_eq!(
        run.states_between("packer", 0.0, 21.0),
        "0 starved, 15.1 running, 16.1 starved, 19.1 running, 20.1 starved"
    );
    assert_eq!(run.first_times("packer", PackStep::Cased, 4), seconds(&[16.1; 4]));
}

/// The packer stands from 13.0 to 53.0. The lane takes packs all the same, at 12.9, 13.1, 14.9, 15.1, ... 19.1: eight, then it is
/// full. Two cases are made at once when it is over: 54.0 and 55.0; with the first four packs gone from the lane the next
/// ones come in at 53.0.
#[test]
fn the_lane_takes_packs_in_a_stop_until_it_is_full() {
    let run = small_line().run_stopped(&[("packer", 13.0, 40.0)]);
    let entered = run.times("packer", PackStep::Entered);
    assert_eq!(entered[..8], seconds(&[12.9, 13.1, 14.9, 15.1, 16.9, 17.1, 18.9, 19.1]));
    assert_eq!(entered[8..12], seconds(&[53.0; 4]));
    let cased: Vec<_> = run.times("packer", PackStep::Cased).into_iter().step_by(4).take(2).collect();
    assert_eq!(cased, seconds(&[54.0, 55.0]));
    // The full lane blocks the table: its 20 places are taken by the packs of 19.9, 20.1, ... 37.9, 38.1, to 53.0 at least.
    let content = run.result.stations[8].content.expect("a table has content");
    assert!(content.full >= span(14.9), "{content:?}");
}

/// A lane of exactly one case is empty again when the cycle begins: it takes packs during the cycle.
#[test]
fn packs_leave_the_lane_as_the_cycle_begins() {
    let run = small_line().with("packer", json!({ "lane_packs": 4, "cycle": "4 s" })).run();
    // Case of 15.1 to 19.1; the packs of 16.9 and 17.1, 18.9 and 19.1 come in meanwhile: next cycle at 19.1, without a pause.
    assert_eq!(run.states_between("packer", 0.0, 40.0), "0 starved, 15.1 running");
    assert_eq!(run.first_times("packer", PackStep::Entered, 6)[4..], seconds(&[16.9, 17.1]));
}

/// A count stop after each case: the case of 16.1 has left before its stop of 16.1 to 18.1.
#[test]
fn a_case_leaves_before_its_stop() {
    let stops = json!([stop("magazine", json!({ "cases": 1 }), "2 s")]);
    let run = small_line().with("packer", json!({ "stops": stops })).lasting("17 s").run();
    assert_eq!(run.count("packer", Counter::Cased), 1);
    assert_eq!(run.first_times("packer", PackStep::Cased, 4), seconds(&[16.1; 4]));
    assert_eq!(run.stops("packer"), "magazine 16.1");
}

/// The lane is a buffer too: 8 packs at a pack a second are worth 8 s. A table of capacity 0 is not "no buffer", and the check
/// says so.
#[test]
fn the_check_says_what_the_lane_is_worth() {
    let line = small_line().with("table", json!({ "capacity": 0 })).checked();
    let buffers = facts(&line).buffers;
    let lane = buffers.iter().find(|buffer| buffer.station == "packer").expect("the lane is a buffer");
    assert!((lane.worth_s.expect("it fills") - 8.0).abs() < 1e-9);
    let table = buffers.iter().find(|buffer| buffer.station == "table").expect("the table is listed");
    assert!(table.remark.contains("8.0 s"), "{}", table.remark);
}
