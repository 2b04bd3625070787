//! Accumulating belts and tables.

use super::{Model, every, machine, row, seconds, span, stop};
use linewake_log::event::PackStep;
use serde_json::{Value, json};

/// Two machines with a table between them.
fn with_table(filler: &str, table: Value, sealer: &str) -> Model {
    let mut keys = json!({ "id": "table", "capacity": 10, "transit": "0 s" });
    super::merge(&mut keys, table);
    row(json!([machine("filler", filler), { "accumulating_table": keys }, machine("sealer", sealer)]))
        .line(json!({ "constraint": "sealer" }))
}

/// The order in which pieces came into the sealer, counted from 1 by the order in which they went onto the table.
fn order(run: &super::Run, count: usize) -> Vec<usize> {
    let onto: Vec<u64> = run.steps("table", PackStep::Entered).iter().map(|step| step.item).collect();
    let place = |item: u64| onto.iter().position(|other| *other == item).expect("it was on the table") + 1;
    run.steps("sealer", PackStep::Entered).iter().take(count).map(|step| place(step.item)).collect()
}

/// In at 1, 2, 3, ..., out 4 s later.
#[test]
fn a_table_has_a_transit_time() {
    let run = with_table("1 s", json!({ "transit": "4 s" }), "1 s").run();
    assert_eq!(run.first_times("sealer", PackStep::Entered, 4), every(5.0, 1.0, 4));
}

/// Transit goes on while the sealer stands (5.5 to 12.5): pieces of 2, 3, ... 8 are through at 12 and wait at the end. The
/// sealer needs 0.2 s for the rest of its piece (5.0 to 5.7) and then 0.7 s each, without a gap.
#[test]
fn transit_goes_on_while_downstream_does_not_take() {
    let run = with_table("1 s", json!({ "transit": "4 s" }), "0.7 s").run_stopped(&[("sealer", 5.5, 7.0)]);
    assert_eq!(run.first_times("sealer", PackStep::Entered, 6)[1..], every(12.7, 0.7, 5));
}

/// Room for three, and 10 s of transit: in at 1, 2, 3; the piece of 4 waits until the first is out at 11. Three pieces in 10 s
/// are 18 a minute: the check warns that such a table throttles.
#[test]
fn the_capacity_counts_pieces_in_transit() {
    let line = with_table("1 s", json!({ "capacity": 3, "transit": "10 s" }), "1 s");
    let run = line.run();
    assert_eq!(run.first_times("table", PackStep::Entered, 6), seconds(&[1.0, 2.0, 3.0, 11.0, 12.0, 13.0]));
    assert_eq!(run.states_between("filler", 0.0, 11.0), "0 running, 4 blocked, 11 running");
    // It holds three from 3 on, a piece going in as one goes out: full for 57 s, empty for the first one.
    let content = run.result.stations[1].content.expect("a table has content");
    assert_eq!((content.full.seconds(), content.empty.seconds()), (57.0, 1.0));
    let warnings = line.warnings();
    assert!(warnings.contains("throttles") && warnings.contains("18.0/min"), "{warnings}");
}

/// The filler gives a piece a second, the sealer needs 2.9 s. Pieces leave in order: 1, 2, 3. From a side table the last one
/// in is first out: when the sealer is free at 3.9, pieces 2 and 3 are there: 3. At 6.8: 2, 4, 5, 6: 6. At 9.7: 9.
#[test]
fn a_side_table_is_last_in_first_out() {
    let line = with_table("1 s", json!({}), "2.9 s");
    assert_eq!(order(&line.run(), 4), [1, 2, 3, 4]);
    let line = line.with("table", json!({ "order": "last_in_first_out" }));
    assert_eq!(order(&line.run(), 4), [1, 3, 6, 9]);
}

/// Pieces 2, 3, 4 wait for the sealer, which stands from 1.05 to 4.55 and is free at 4.6. It could take one every 0.1 s; they
/// are released no closer than 0.5 s: 4.6, 5.1, 5.6, and piece 5, on the table since 5.0, at 6.1; piece 6 at 6.6.
#[test]
fn pieces_leave_no_closer_than_the_release() {
    let stopped = |table: Value| with_table("1 s", table, "0.1 s").run_stopped(&[("sealer", 1.05, 3.5)]);
    let run = stopped(json!({ "release": "0.5 s" }));
    assert_eq!(run.first_times("sealer", PackStep::Entered, 6), seconds(&[1.0, 4.6, 5.1, 5.6, 6.1, 6.6]));
    let run = stopped(json!({}));
    let entered = run.first_times("sealer", PackStep::Entered, 5);
    assert_eq!(entered, seconds(&[1.0, 4.6, 4.7, 4.8, 5.0]));
}

/// A belt of 1 m at 0.5 m/s needs 2 s; with a pitch of 0.25 m pieces leave no closer than 0.5 s. In at 1, 2, 3, 4, the first
/// in the sealer at 3 (to 3.1, but it stands from 3.05 to 6.55): the others at 6.6, 7.1, 7.6.
#[test]
fn pitch_over_speed_is_the_release() {
    let belt = json!({ "accumulating_belt": {
        "id": "table", "capacity": 10, "length": "1 m", "speed": "0.5 m/s", "pitch": "0.25 m",
    } });
    let run =
        with_table("1 s", json!({}), "0.1 s").instead_of("table", belt).run_stopped(&[("sealer", 3.05, 3.5)]);
    assert_eq!(run.first_times("sealer", PackStep::Entered, 4), seconds(&[3.0, 6.6, 7.1, 7.6]));
}

/// The filler gives a piece a second, the sealer takes one every 2 s, at 1, 3, 5, ...: the content rises by one every 2 s: 1 at
/// 3, 2 at 5, 3 at 7, and the table is full, 4, at 8. It takes none until the content is down to 1: 3 at 9, 2 at 11, 1 at 13. So
/// the filler, with its piece of 9, is blocked from 9 to 13; then the table is full again at 16. Without the rule the piece of
/// 9 finds room at once, and the one of 10 waits to 11.
#[test]
fn a_table_may_stay_closed_until_it_is_down_to_its_restart() {
    let run = with_table("1 s", json!({ "capacity": 4, "restart_at": 1 }), "2 s").run();
    assert_eq!(
        run.states_between("filler", 0.0, 21.0),
        "0 running, 9 blocked, 13 running, 17 blocked, 21 running"
    );
    let run = with_table("1 s", json!({ "capacity": 4 }), "2 s").run();
    assert_eq!(
        run.states_between("filler", 0.0, 13.0),
        "0 running, 10 blocked, 11 running, 12 blocked, 13 running"
    );
}

/// Capacity 0 is a direct hand-over, whatever the transit time says: the piece of 1 is in the sealer at 1, the piece of 2 stays
/// with the filler until the sealer (3 s) is free.
#[test]
fn capacity_zero_is_a_direct_hand_over() {
    let run = with_table("1 s", json!({ "capacity": 0, "transit": "4 s" }), "3 s").run();
    assert_eq!(run.first_times("sealer", PackStep::Entered, 3), seconds(&[1.0, 4.0, 7.0]));
    assert!(run.states("filler").starts_with("0 running, 2 blocked, 4 running, 5 blocked, 7 running"));
}

/// Its count stops strike all the same: after the third piece, handed on at 3, nothing passes until 8; the filler keeps the piece
/// of 4 until then and makes the next by 9. After the sixth, at 10, it stands until 15.
#[test]
fn a_direct_hand_over_has_its_count_stops() {
    let stop =
        json!({ "reason": "gate shut", "after": { "pieces": 3 }, "duration": "5 s", "attended": false });
    let run = with_table("1 s", json!({ "capacity": 0, "transit": "4 s", "stops": [stop] }), "0.5 s").run();
    assert_eq!(
        run.first_times("sealer", PackStep::Entered, 7),
        seconds(&[1.0, 2.0, 3.0, 8.0, 9.0, 10.0, 15.0])
    );
}

/// An unlimited table never fills: 59 pieces in a minute, one of them in the sealer for 100 s.
#[test]
fn an_unlimited_table_never_fills() {
    let run = with_table("1 s", json!({ "capacity": "unlimited" }), "100 s").run();
    assert_eq!(run.states("filler"), "0 running");
    let content = run.result.stations[1].content.expect("a table has content");
    assert_eq!((content.at_end_pieces, content.capacity_pieces), (58, None));
    // Empty to 2 s (piece 1 goes straight through), then 1, 2, ... 58 pieces for a second each: 58 x 59 / 2 = 1711
    // piece-seconds in 60 s.
    let mean = content.mean_pieces.expect("the log counts it");
    assert!((mean - 1711.0 / 60.0).abs() < 1e-9, "{mean}");
    assert_eq!(content.empty, span(2.0));
}

/// A belt with stop modes has states. In its stop (3.5 to 6.5) nothing enters, moves or leaves: the piece in since 2.0 had 0.5 s
/// of its 2 s to go and is out at 7.0; the filler's piece of 4 goes in at 6.5.
#[test]
fn an_accumulating_belt_may_have_stops_of_its_own() {
    let mut mode = stop("jam", json!({ "calendar_time": "500 s" }), "3 s");
    mode["initial"] = json!(0.993);
    let run = with_table("1 s", json!({ "transit": "2 s", "stops": [mode] }), "0.3 s").run();
    assert_eq!(run.states("table"), "0 running, 3.5 stopped_repair jam, 6.5 running");
    assert_eq!(run.first_times("sealer", PackStep::Entered, 4), seconds(&[3.0, 7.0, 8.0, 8.5]));
    assert_eq!(run.states_between("filler", 0.0, 7.0), "0 running, 4 blocked, 6.5 running");
    // Without stop modes a belt has content, but no states.
    let run = with_table("1 s", json!({}), "1 s").run();
    assert!(run.result.stations[1].states.is_none());
}
