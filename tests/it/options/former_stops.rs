//! Stop scrap of the former.

use super::{Model, attended, second, seconds, small_line, stop};
use linewake_log::event::PackStep;
use serde_json::{Value, json};

/// Packs at the seal (2) are spoilt by stops of more than 5 s.
fn sealing(scrap: Value) -> Model {
    let mut stop_scrap = json!({ "longer_than": "5 s", "positions": [2] });
    super::merge(&mut stop_scrap, scrap);
    small_line().with("former", json!({ "stop_scrap": stop_scrap }))
}

/// In the dwell of 3.0 to 4.5 frame 1 is in the seal. A stop of 5 s from 3.5 spoils nothing: the limit must be exceeded. One
/// of 6 s spoils its two packs at 9.5. All moves 6 s later: frame 1 lies in the pick zone at 9 + 6 = 15.0, and drops into the
/// bin as the next advance starts, at 16.5.
#[test]
fn a_long_stop_spoils_what_is_in_the_seal() {
    let line = sealing(json!({}));
    assert_eq!(line.run_stopped(&[("former", 3.5, 5.0)]).rejects("robot", "held_in_seal"), []);
    let run = line.run_stopped(&[("former", 3.5, 6.0)]);
    assert_eq!(run.times("former", PackStep::Tagged), seconds(&[9.5, 9.5]));
    assert_eq!(run.rejects("robot", "held_in_seal"), seconds(&[16.5, 16.5]));
    let first_frame: Vec<u64> =
        run.steps("loader", PackStep::Loaded)[..2].iter().map(|step| step.into).collect();
    let spoilt: Vec<u64> = run.steps("robot", PackStep::Rejected).iter().map(|step| step.item).collect();
    assert_eq!(spoilt, first_frame);
    // The robot never touches them: its first pick is of frame 2, which lies there from 17.0.
    assert_eq!(run.times("robot", PackStep::Picked)[0], second(17.3));
}

/// The seal and the position behind it: frame 1 at 3 and frame 2 at 2 in the dwell of 5.0 to 6.5, four packs. Forming (0) has
/// nothing but film.
#[test]
fn every_listed_position_is_spoilt() {
    let line = sealing(json!({ "positions": [0, 2, 3], "reason": "overcooked" }));
    let run = line.run_stopped(&[("former", 5.5, 6.0)]);
    // Frame 1 in the pick zone at 15.0, frame 2 at 17.0; bins 1.5 s later.
    assert_eq!(run.rejects("robot", "overcooked"), seconds(&[16.5, 16.5, 18.5, 18.5]));
}

/// Two stops of 4 s, one right after the other, are judged each by itself: nothing is spoilt.
#[test]
fn each_stop_is_judged_by_itself() {
    let line = sealing(json!({}));
    let run = line.run_stopped(&[("former", 3.5, 4.0), ("former", 3.6, 4.0)]);
    assert_eq!(run.stops("former"), "injected 3.5..7.5, injected 7.5..11.5", "one after the other");
    assert_eq!(run.times("former", PackStep::Tagged), []);
}

/// The whole stop counts, waiting and repair: 4 s for the operator and 2 s of work are more than 5 s. After the first cycle,
/// at 3.0, frame 1 has just come to the seal.
#[test]
fn waiting_and_repair_count_together() {
    let jam = |stops: Value| {
        sealing(json!({}))
            .with("former", json!({ "stops": stops }))
            .line(json!({ "crew": { "operators": 1, "response": "4 s" } }))
            .lasting("15 s")
            .run()
    };
    let mut mode = attended("jam", json!({ "cycles": 1000 }), "2 s");
    mode["initial"] = json!(0.999);
    let run = jam(json!([mode]));
    assert_eq!(run.stops("former"), "jam 3..7..9");
    assert_eq!(run.times("former", PackStep::Tagged), seconds(&[9.0, 9.0]));
    let mut mode = stop("jam", json!({ "cycles": 1000 }), "2 s");
    mode["initial"] = json!(0.999);
    assert_eq!(jam(json!([mode])).times("former", PackStep::Tagged), []);
}

/// A stop from 4.8 falls into the advance of 4.5 to 5.0: the frames count at their old positions, so that frame 1 is still in
/// the seal. What is left of the advance, 0.2 s, follows at 10.8: all moves 6 s, frame 1 drops into the bin at 16.5.
#[test]
fn a_frame_in_mid_advance_counts_at_its_old_position() {
    let run = sealing(json!({})).run_stopped(&[("former", 4.8, 6.0)]);
    assert_eq!(run.rejects("robot", "held_in_seal"), seconds(&[16.5, 16.5]));
    assert_eq!(run.states_between("former", 4.0, 12.0), "4.8 stopped_repair injected, 10.8 running");
}

/// In the load zone (1) from 0.5 to 6.5 there are only empty pockets. They are not tagged, unless the model says that film is
/// spoilt by heat: then what is loaded into them at 6.8 (the array waits since 2.2) is tagged too. Functions end at 7.5, the
/// frame comes to 2, 3, 4 with 8, 10, 12 and to the pick zone with 14.0; in the bin at 15.5.
#[test]
fn empty_pockets_are_spoilt_only_if_the_model_says_so() {
    let line = sealing(json!({ "positions": [1] }));
    assert_eq!(line.run_stopped(&[("former", 0.5, 6.0)]).rejects("robot", "held_in_seal"), []);
    let line = sealing(json!({ "positions": [1], "empty_pockets": true }));
    let run = line.run_stopped(&[("former", 0.5, 6.0)]);
    assert_eq!(run.times("loader", PackStep::Loaded)[0], second(6.8));
    assert_eq!(run.rejects("robot", "held_in_seal"), seconds(&[15.5, 15.5]));
}

/// Packs lost as a consequence of a stop stand in a column of the stop that caused them.
#[test]
fn spoilt_packs_are_shown_beside_their_stop() {
    let run = sealing(json!({})).run_stopped(&[("former", 3.5, 6.0)]);
    let rows = &run.result.ledger.causes;
    let of_stop: Vec<_> =
        rows.iter().filter(|row| row.station == "former" && row.reason == "injected").collect();
    assert_eq!(of_stop.len(), 1, "{rows:?}");
    assert_eq!(of_stop[0].consequent_packs, 2);
    assert!((of_stop[0].time.seconds() - 6.0).abs() < 1e-9);
}

/// Cap 12/min: the former runs to 1.5, waits for its first load to 2.5, advances to 3.0 and waits for the cap to 5.0. All of
/// that but the wait for the load is running: 1.5 s and 2 s more, and a stop after 3.5 s of running time strikes at 4.5, in
/// the wait for the cap. Its 0.2 s do not move the next dwell.
#[test]
fn stops_strike_in_the_wait_for_the_cap_too() {
    let mut mode = stop("tracking", json!({ "running_time": "3500 s" }), "0.2 s");
    mode["initial"] = json!(0.999);
    let run =
        small_line().with("former", json!({ "max_cycles": "12/min", "stops": [mode] })).lasting("20 s").run();
    assert_eq!(run.stops("former"), "tracking 4.5..4.7");
    assert_eq!(run.times("loader", PackStep::Loaded)[2], second(5.3));
}
