//! Breaks of the whole line and routine challenges of a gate.

use super::{Model, attended, is_close, machine, row, seconds, small_line, span, stop};
use linewake_log::event::PackStep;
use serde_json::{Value, json};

/// One machine of 4 s a piece, with a break from 10 to 15.
fn press(stops: Value) -> Model {
    row(json!([machine("press", "4 s")])).with("press", json!({ "stops": stops })).line(json!({
        "shift": { "length": "40 s", "breaks": [{ "start": "10 s", "duration": "5 s" }] },
    }))
}

/// Pieces at 4 and 8; the third has had 2 of its 4 s at 10 and gets the rest from 15: 17, then 21, 25, 29, ...
#[test]
fn a_break_freezes_the_line() {
    let run = press(json!([])).run();
    assert_eq!(run.states("press"), "0 running, 10 planned break, 15 running");
    assert_eq!(run.first_times("press", PackStep::Left, 4), seconds(&[4.0, 8.0, 17.0, 21.0]));
}

/// Only calendar time runs in a break: a stop due at 12 on the calendar strikes at its end, 15. One due after 12 s of
/// running time strikes after 10 s before and 2 s behind the break, at 17.
#[test]
fn only_calendar_time_runs_in_a_break() {
    let run = press(json!([stop("rinse", json!({ "calendar_time": "12 s" }), "3 s")])).run();
    assert_eq!(run.stops("press"), "break 10..15, rinse 15..18, rinse 30..33");
    let run = press(json!([stop("jam", json!({ "running_time": "12 s" }), "3 s")])).run();
    assert_eq!(run.stops("press"), "break 10..15, jam 17..20, jam 32..35");
}

/// A stop of 8 s begins at 8, after two pieces. Repairs stand in breaks: 2 s before, 6 s behind, to 21. If they go on:
/// 2 s before, 5 s within, 1 s behind, to 16.
#[test]
fn repairs_in_breaks_go_on_if_the_model_says_so() {
    let line = press(json!([stop("jam", json!({ "pieces": 2 }), "8 s")]));
    assert!(
        line.run().states("press").starts_with(
            "0 running, 8 stopped_repair jam, 10 planned break, 15 stopped_repair jam, 21 running"
        )
    );
    let line = line.line(json!({ "shift": { "repairs_in_breaks": true } }));
    assert!(
        line.run().states("press").starts_with(
            "0 running, 8 stopped_repair jam, 10 planned break, 15 stopped_repair jam, 16 running"
        )
    );
}

/// A repair of 4 s that is over within the break (at 12) leaves nothing for its end: the press runs from 15.
#[test]
fn a_repair_that_is_finished_in_the_break_is_over() {
    let line = press(json!([stop("jam", json!({ "pieces": 2 }), "4 s")]))
        .line(json!({ "shift": { "repairs_in_breaks": true } }));
    assert!(
        line.run()
            .states("press")
            .starts_with("0 running, 8 stopped_repair jam, 10 planned break, 15 running")
    );
}

/// Nobody is on the way in a break: called at 8, 2 of 5 s before the break, 3 s behind: there at 18, done at 19. The choice
/// is for stops under repair only, and this one is not yet.
#[test]
fn the_way_to_a_stop_stands_in_a_break() {
    let line = press(json!([attended("jam", json!({ "pieces": 2 }), "1 s")]))
        .line(json!({ "crew": { "operators": 1, "response": "5 s" } }));
    for repairs_in_breaks in [false, true] {
        let run = line.clone().line(json!({ "shift": { "repairs_in_breaks": repairs_in_breaks } })).run();
        assert!(
            run.states("press").starts_with(
                "0 running, 8 stopped_waiting jam, 10 planned break, 15 stopped_waiting jam, \
                 18 stopped_repair jam, 19 running"
            ),
            "{}",
            run.states("press")
        );
    }
}

/// The second batch is begun at 0 and needs 20 s; break from 10 to 15. The kitchen rests too: ready at 25. It goes on: ready
/// at 20. (The hopper of 1200 kg has room for it at once.)
#[test]
fn the_kitchen_may_go_on_in_breaks() {
    let line = small_line().with("supply", json!({ "preparation": "20 s" })).line(json!({
        "shift": { "length": "40 s", "breaks": [{ "start": "10 s", "duration": "5 s" }] },
    }));
    assert_eq!(line.run().times("supply", PackStep::Tipped), seconds(&[0.0, 25.0]));
    let line = line.line(json!({ "shift": { "supply_in_breaks": true } }));
    assert_eq!(line.run().times("supply", PackStep::Tipped)[..2], seconds(&[0.0, 20.0]));
}

/// A batch that is ready within the break (at 12) is tipped there and then, and the next one begun: ready at 24 (there is no
/// room for it). Cuts pause all the same: what was due at 10 is cut at 15.
#[test]
fn a_batch_that_is_ready_in_a_break_is_tipped_in_it() {
    let line = small_line().with("supply", json!({ "preparation": "12 s" })).line(json!({
        "shift": {
            "length": "30 s", "breaks": [{ "start": "10 s", "duration": "5 s" }], "supply_in_breaks": true,
        },
    }));
    let run = line.run();
    assert_eq!(run.times("supply", PackStep::Tipped), seconds(&[0.0, 12.0]));
    assert_eq!(run.states("supply"), "0 running, 24 blocked");
    let cut = run.times("portioner", PackStep::Portioned);
    assert!(cut.iter().all(|at| !(10.0..15.0).contains(&at.seconds())), "{cut:?}");
}

/// 40 s with a break of 5 s: 35 s of planned production time, or 40 if the break is downtime. The press runs 35 s:
/// availability by the ISO split 1, or 35 / 40 = 0.875.
#[test]
fn breaks_are_left_out_or_counted_in() {
    let line = press(json!([]));
    let oee = line.run().result.oee;
    assert_eq!(oee.planned_production_time, span(35.0));
    assert_eq!(oee.left_out, span(5.0));
    assert!(is_close(oee.availability_iso, 1.0));
    let line = line.line(json!({ "shift": { "breaks_in_planned_production_time": true } }));
    let oee = line.run().result.oee;
    assert_eq!(oee.planned_production_time, span(40.0));
    assert_eq!(oee.left_out, span(0.0));
    assert!(is_close(oee.availability_iso, 0.875));
}

/// The feeder gives a piece each second, the detector needs 0.5 s: pieces in k .. k + 0.5. Its challenge of 2 s is due every
/// 10.2 s.
fn challenged() -> Model {
    let challenge = json!({ "interval": "10.2 s", "duration": "2 s" });
    row(json!([
        machine("feeder", "1 s"),
        { "metal_detector": { "id": "detector", "max_rate": "120/min", "sensitivity": 1, "challenge": challenge } },
    ]))
    .lasting("30 s")
}

/// Due at 10.2 with a piece inside until 10.5: 10.5 to 12.5. The feeder's piece of 11 waits to 12.5, so that pieces are
/// inside in k + 0.5 .. k + 1 from then on. Due at 20.4, when the detector is empty: 20.4 to 22.4.
#[test]
fn a_challenge_is_due_at_multiples_of_its_interval_once_the_gate_is_empty() {
    let run = challenged().run();
    assert_eq!(run.stops("detector"), "challenge 10.5..12.5, challenge 20.4..22.4");
    assert!(run.states("feeder").starts_with("0 running, 11 blocked, 12.5 running"));
}

/// A stop of 5 s holds the detector from 9.7: the challenge of 10.2 is kept, and follows at 14.7.
#[test]
fn a_challenge_that_is_due_in_a_stop_follows_it() {
    let run = challenged().lasting("20 s").run_stopped(&[("detector", 9.7, 5.0)]);
    assert_eq!(run.stops("detector"), "injected 9.7..14.7, challenge 14.7..16.7");
}

/// A stop from 9.7 to 21.7 covers the challenges of 10.2 and of 20.4: both follow, one after the other.
#[test]
fn every_challenge_that_is_due_in_a_stop_is_kept() {
    let run = challenged().lasting("29 s").run_stopped(&[("detector", 9.7, 12.0)]);
    // Two of them without a gap, 2 s each; the feeder's piece of 10 goes in after them.
    assert_eq!(run.stops("detector"), "injected 9.7..21.7, challenge 21.7..23.7, challenge 23.7..25.7");
    assert_eq!(run.times("detector", PackStep::Entered)[9], seconds(&[25.7])[0]);
}

/// A break from 9.7 to 14.7: the challenge of 10.2 comes at its end. The one of 20.4 keeps its place on the calendar.
#[test]
fn a_challenge_that_is_due_in_a_break_comes_at_its_end() {
    let run = challenged()
        .line(json!({ "shift": { "length": "22 s", "breaks": [{ "start": "9.7 s", "duration": "5 s" }] } }))
        .run();
    assert!(
        run.stops("detector").starts_with("break 9.7..14.7, challenge 14.7..16.7, challenge 20."),
        "{}",
        run.stops("detector")
    );
}

/// The detector as the constraint, 30 s with two challenges of 2 s: planned production time 30 s with them as downtime
/// (default), 26 s without them.
#[test]
fn challenges_of_the_constraint_are_counted_in_or_left_out() {
    let line = challenged().line(json!({ "constraint": "detector" }));
    assert_eq!(line.run().result.oee.planned_production_time, span(30.0));
    let line = line.with("detector", json!({ "challenge": { "in_planned_production_time": false } }));
    assert_eq!(line.run().result.oee.planned_production_time, span(26.0));
}

/// Only breaks and planned stops of the constraint itself can be left out: with the feeder as the constraint the model is wrong.
#[test]
fn a_challenge_of_another_station_cannot_be_left_out() {
    let line = challenged()
        .line(json!({ "constraint": "feeder" }))
        .with("detector", json!({ "challenge": { "in_planned_production_time": false } }));
    let problems = linewake_model::parse(&line.text()).expect_err("it cannot be left out");
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert!(problems[0].path.ends_with("challenge.in_planned_production_time"), "{}", problems[0]);
}
