//! The former's cycle: functions, cap, running empty, the pick zone.

use super::{Model, every, seconds, small_line};
use linewake_log::event::{Counter, PackStep};
use linewake_model::facts::facts;
use serde_json::json;

/// Sealing takes 1.5 s and forming 2.0 s: forming limits, and a cycle is 2.0 + 0.5 s. The frame of the first load (the first
/// dwell ends at 2.5, as before) is cut at the end of its fourth dwell: dwells from 3.0, 5.5, 8.0, cut at 10.0.
#[test]
fn the_longest_function_sets_the_dwell() {
    let line = small_line().with(
        "former",
        json!({ "functions": [{ "name": "form", "dwell": "2 s" }, { "name": "seal", "dwell": "1.5 s" }] }),
    );
    assert_eq!(
        line.run().first_times("former", PackStep::Cut, 6),
        seconds(&[10.0, 10.0, 12.5, 12.5, 15.0, 15.0])
    );
    let budget = facts(&line.checked()).cycle_budget.expect("a former has a budget");
    assert_eq!(budget.limiting_function, "form");
    assert!((budget.cycle_s - 2.5).abs() < 1e-9);
    assert!((budget.functions[1].in_hand_in_dwell_s - 0.5).abs() < 1e-9);
}

/// Common practice: 12 and 15 cycles/min of 6 packs are 72 and 90 packs/min. The first dwell is long over when the product
/// comes; from the second on the cap of 60 / 12 = 5 s or 60 / 15 = 4 s sets the pace.
#[test]
fn twelve_and_fifteen_cycles_of_six_packs_are_72_and_90_packs_a_minute() {
    for (cap, cycles) in [("12/min", 12), ("15/min", 15)] {
        let run = small_line()
            .with("portioner", json!({ "rate": "200/min" }))
            .with("loader", json!({ "lanes": 3, "array_rows": 2 }))
            .with("former", json!({ "lanes": 3, "rows_per_index": 2, "max_cycles": cap }))
            .with("robot", json!({ "gripper": 6 }))
            .lasting("240 s")
            .run();
        let cut = run.times("former", PackStep::Cut);
        let in_minute = cut.iter().filter(|at| (120.0..180.0).contains(&at.seconds())).count();
        assert_eq!(in_minute, cycles * 6);
        assert_eq!(run.states_between("former", 30.0, 240.0), "", "the former always runs");
    }
}

/// Cap 24/min: a dwell begins no earlier than 2.5 s after the last one. The first began at 0, so that the second may begin
/// right after the advance of 2.5 to 3.0; the next ones at 5.5, 8.0, ... Waiting for the cap is running. Frame 1 is cut in
/// the dwell of 8.0, at 9.5.
#[test]
fn the_cap_sets_the_time_between_dwells() {
    let run = small_line().with("former", json!({ "max_cycles": "24/min" })).run();
    assert_eq!(run.first_times("former", PackStep::Cut, 4), seconds(&[9.5, 9.5, 12.0, 12.0]));
    assert_eq!(run.states("former"), "0 running, 1.5 starved, 2.5 running");
}

/// Cap 12/min, 5 s: after the advance of 2.5 to 3.0 the former waits for the cap to 5.0. The array of 3.2 is not loaded in
/// this wait but in the dwell of 5.0, by 5.3.
#[test]
fn no_load_begins_while_the_cap_is_waited_for() {
    let run = small_line().with("former", json!({ "max_cycles": "12/min" })).run();
    assert_eq!(run.first_times("loader", PackStep::Loaded, 4), seconds(&[2.5, 2.5, 5.3, 5.3]));
}

/// The cap does not pause in a stop: a stop of 3.5 to 4.5 leaves the next dwell at 5.0, where frame 1 goes to the seal. One of
/// 4.0 to 7.0 lets it begin at 7.0 at once.
#[test]
fn the_cap_runs_on_in_a_stop() {
    let line = small_line().with("former", json!({ "max_cycles": "12/min" }));
    let first_load_behind = |run: super::Run| run.times("loader", PackStep::Loaded)[2];
    assert_eq!(first_load_behind(line.run_stopped(&[("former", 3.5, 1.0)])), super::second(5.3));
    assert_eq!(first_load_behind(line.run_stopped(&[("former", 4.0, 3.0)])), super::second(7.3));
}

fn run_empty() -> Model {
    small_line().with("former", json!({ "without_product": "run_empty" }))
}

/// No array is ready at 1.5: the former advances with empty pockets, and its next dwell (2.0 to 3.5) takes the array of 2.2 in,
/// loaded 2.5. It never starves. The web of the start, positions 1 to 4, is trim: four frames of two empty pockets, cut in
/// the dwells of 0, 2, 4 and 6; the first packs are cut in the dwell of 8, at 9.5.
#[test]
fn the_former_may_run_empty() {
    let run = run_empty().lasting("20 s").run();
    assert_eq!(run.states("former"), "0 running");
    assert_eq!(run.first_times("loader", PackStep::Loaded, 4), seconds(&[2.5, 2.5, 4.3, 4.3]));
    assert_eq!(run.first_times("former", PackStep::Cut, 4), seconds(&[9.5, 9.5, 11.5, 11.5]));
    assert_eq!(run.count("former", Counter::EmptyPockets), 8);
    // A portioner that is too slow leaves pockets empty all the time: 60/min fill an array every 2 s, 40/min every 3 s. Of
    // three cycles of 2 s two have product then.
    let run = run_empty().with("portioner", json!({ "rate": "40/min" })).lasting("300 s").run();
    assert_eq!(run.states("former"), "0 running");
    let cut =
        run.times("former", PackStep::Cut).iter().filter(|at| (100.0..160.0).contains(&at.seconds())).count();
    assert_eq!(cut, 40);
}

/// Functions of 2.3 s: at their end the load of 2.2 to 2.5 is under way. It is waited for (starved), also by a former that
/// would run empty.
#[test]
fn a_load_under_way_is_waited_for() {
    let functions = json!({ "functions": [{ "name": "seal", "dwell": "2.3 s" }] });
    for line in [small_line(), run_empty()] {
        let run = line.with("former", functions.clone()).lasting("4 s").run();
        assert_eq!(run.states("former"), "0 running, 2.3 starved, 2.5 running");
        assert_eq!(run.count("former", Counter::Indexes), 1);
    }
}

/// The pick of a frame takes 3 s, from 9.0 to 12.0, the place another 1 s. The advance that was due at 10.5 begins when the
/// zone is clear: at the end of the last pick, 12.0, not of the place.
#[test]
fn the_former_is_blocked_until_the_pick_zone_is_clear() {
    let run = small_line().with("robot", json!({ "pick": "3 s", "place": "1 s" })).run();
    assert_eq!(run.states_between("former", 2.6, 13.0), "10.5 blocked, 12 running");
    // Next frame in the zone at 12.5, but the robot places to 13.0: pick from 13.0 to 16.0, and so on: 4 s a frame.
    let cut: Vec<_> = run.times("former", PackStep::Cut).into_iter().step_by(2).skip(2).take(5).collect();
    assert_eq!(cut, every(14.0, 4.0, 5));
}

/// A zone that has had one of two loads is never sent on half filled, not even by a former that runs empty. 60 portions/min:
/// portions 1 and 2 lie on belt A at 2.0 and 3.0, loaded 3.2 to 3.5 in the second dwell (2.0 to 3.5); portions 3 and 4 at 4.0 and
/// 5.0, loaded 5.2 to 5.5: the former waits from 3.5 to 5.5.
#[test]
fn a_half_filled_zone_waits_for_its_second_load() {
    let run = run_empty()
        .with("portioner", json!({ "rate": "60/min" }))
        .with("loader", json!({ "loads_per_zone": 2 }))
        .lasting("7 s")
        .run();
    assert_eq!(run.states("former"), "0 running, 3.5 starved, 5.5 running");
}
