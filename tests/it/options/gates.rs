//! In-line gates: checkweigher, metal detector, X-ray, leak test; their fail-safes.

use super::{Model, Run, every, machine, row, seconds, small_line};
use linewake_log::event::{Counter, PackStep};
use serde_json::{Value, json};

/// All packs are of 400 g. Rejected is what weighs under the low limit or over the high one, not what weighs as much. By the
/// timetable packs are weighed at 11.9 + 2 k and 12.1 + 2 k: 49 in a minute.
#[test]
fn packs_under_low_and_over_high_are_rejected() {
    let rejects = |low: &str, high: &str| {
        let run = small_line().with("checkweigher", json!({ "low": low, "high": high })).run();
        (run.rejects("checkweigher", "underweight").len(), run.rejects("checkweigher", "overweight").len())
    };
    assert_eq!(rejects("400 g", "401 g"), (0, 0));
    assert_eq!(rejects("399 g", "400 g"), (0, 0));
    assert_eq!(rejects("401 g", "402 g"), (49, 0));
    assert_eq!(rejects("398 g", "399 g"), (0, 49));
}

/// The weigher's own error has a standard deviation of 2 g: of packs of 400 g P(z < -1) = 15.87 % are measured under 398 g. Of
/// about 5000: standard deviation 0.52 %, five of them (error probability 6e-7).
#[test]
fn the_weigher_has_an_error_of_its_own() {
    let run = small_line()
        .with("checkweigher", json!({ "low": "398 g", "sd_weigh": "2 g" }))
        .lasting("5020 s")
        .run();
    let packs = run.steps("checkweigher", PackStep::Entered).len() as f64;
    let share = run.count("checkweigher", Counter::Rejected) as f64 / packs;
    assert!(packs > 4990.0 && (share - 0.1587).abs() < 0.026, "{share}");
}

/// A piece a second from the filler into a gate of 0.2 s, then a packer of a given time.
fn gate(keys: Value, behind: &str) -> Model {
    let mut gate = json!({ "id": "gate", "max_rate": "300/min", "sensitivity": 1 });
    super::merge(&mut gate, keys);
    row(json!([machine("filler", "1 s"), { "metal_detector": gate }, machine("packer", behind)])).line(
        json!({
            "constraint": "filler",
            "crew": { "operators": 1, "response": "2 s" },
        }),
    )
}

/// A gate holds a passed piece until the packer (3 s) takes it: verdicts at 1.2 (taken) and 2.2, blocked to 4.2.
#[test]
fn a_gate_holds_a_passed_piece_until_it_is_taken() {
    let run = gate(json!({}), "3 s").run();
    assert_eq!(run.first_times("packer", PackStep::Entered, 3), seconds(&[1.2, 4.2, 7.2]));
    assert_eq!(
        run.states_between("gate", 0.0, 4.2),
        "0 starved, 1 running, 1.2 starved, 2 running, 2.2 blocked, 4.2 running"
    );
}

/// A rejected piece takes no room downstream: with all of them rejected (verdicts at 1.2, 2.2, ... 59.2) the packer of 1000 s
/// is in nobody's way.
#[test]
fn a_rejected_piece_takes_no_room_downstream() {
    let run = gate(json!({ "false_reject": 1 }), "1000 s").run();
    assert_eq!(run.rejects("gate", "false_reject"), every(1.2, 1.0, 59));
    assert_eq!(run.states("filler"), "0 running");
    assert_eq!(run.steps("packer", PackStep::Entered).len(), 0);
}

/// All packs are contaminated. Sensitivity 1 rejects all 49; sensitivity 0 lets all escape, and a false reject is for clean
/// packs only. Without contamination, false_reject 1 rejects all.
#[test]
fn contaminated_packs_are_found_by_sensitivity_and_clean_ones_rejected_by_mistake() {
    let run = |contaminated: f64, sensitivity: f64, false_reject: f64| {
        let gate = json!({ "x_ray": {
            "id": "gate", "max_rate": "300/min", "sensitivity": sensitivity, "false_reject": false_reject,
        } });
        small_line()
            .with("former", json!({ "contaminated_probability": contaminated }))
            .instead_of("checkweigher", gate)
            .run()
    };
    let found = run(1.0, 1.0, 0.0);
    assert_eq!((found.rejects("gate", "contaminated").len(), found.result.oee.good_packs), (49, 0));
    let missed = run(1.0, 0.0, 1.0);
    assert_eq!((missed.count("gate", Counter::Rejected), missed.escaped("contaminated")), (0, 49));
    let clean = run(0.0, 1.0, 1.0);
    assert_eq!(clean.rejects("gate", "false_reject").len(), 49);
}

/// A defect of the model's own in every pack; the gate finds it with probability 0.3. 2000 pieces: standard deviation 1.02 %,
/// five of them (error probability 6e-7). The others escape with it.
#[test]
fn a_gate_may_look_for_any_defect() {
    let run = gate(json!({ "finds": [{ "defect": "torn film", "probability": 0.3 }] }), "0.5 s")
        .line(json!({ "defects": [{ "name": "torn film", "probability": 1 }] }))
        .lasting("2001.5 s")
        .run();
    let found = run.rejects("gate", "torn film").len() as f64;
    assert!((found / 2001.0 - 0.3).abs() < 0.051, "{found}");
    assert_eq!(run.count("gate", Counter::Made), 2001);
}

/// All are rejected, verdicts at 1.2, 2.2, 3.2: three in a row stop the gate at 3.2; called, there at 5.2, done at 10.2. The
/// filler's piece of 4 waits to 10.2. Counted afresh: verdicts at 10.4, 11.4, 12.4.
#[test]
fn rejects_in_a_row_stop_the_gate_and_are_counted_afresh() {
    let run =
        gate(json!({ "false_reject": 1, "rejects_in_row": { "rejects": 3, "duration": "5 s" } }), "0.5 s")
            .lasting("13 s")
            .run();
    assert_eq!(run.stops("gate"), "rejects_in_row 3.2..5.2..10.2, rejects_in_row 12.4");
}

/// A challenge (due 2.5, 1 s) does not break the row: verdicts at 1.2 and 2.2, challenge to 3.5, and the third reject at 3.7.
#[test]
fn a_challenge_does_not_break_a_row() {
    let keys = json!({
        "false_reject": 1,
        "rejects_in_row": { "rejects": 3, "duration": "5 s" },
        "challenge": { "interval": "2.5 s", "duration": "1 s" },
    });
    let run = gate(keys, "0.5 s").lasting("4.9 s").run();
    assert_eq!(run.stops("gate"), "challenge 2.5..3.5, rejects_in_row 3.7");
}

/// A passed piece breaks the row. Half of the pieces are rejected at random: the gate stops after the third reject in a row,
/// and at no other moment.
#[test]
fn a_passed_piece_breaks_the_row() {
    let run = gate(
        json!({ "false_reject": 0.5, "rejects_in_row": { "rejects": 3, "duration": "0.1 s" } }),
        "0.5 s",
    )
    .lasting("1000 s")
    .run();
    let rejected: std::collections::BTreeSet<u64> =
        run.steps("gate", PackStep::Rejected).iter().map(|step| step.item).collect();
    let (mut in_row, mut due) = (0, 0);
    for step in run.steps("gate", PackStep::Entered) {
        in_row = if rejected.contains(&step.item) { in_row + 1 } else { 0 };
        if in_row == 3 {
            due += 1;
            in_row = 0;
        }
    }
    let stops = run.stops("gate").split(", ").count();
    assert!(due > 30 && stops == due, "{stops} stops, {due} rows of three");
}

/// The bin takes four: verdicts at 1.2, 2.2, 3.2, 4.2. Full at 4.2, operator at 6.2, emptied in 3 s: 9.2. Four more: the filler's
/// piece of 5 goes in at 9.2, verdicts at 9.4, 10.4, 11.4, 12.4.
#[test]
fn a_full_bin_is_emptied() {
    let run = gate(json!({ "false_reject": 1, "bin_full": { "rejects": 4, "duration": "3 s" } }), "0.5 s")
        .lasting("13 s")
        .run();
    assert_eq!(run.stops("gate"), "bin_full 4.2..6.2..9.2, bin_full 12.4");
}

/// The third reject reaches both: the row first (there at 5.2, done at 10.2), then the bin, at which the operator is already:
/// 10.2 to 13.2.
#[test]
fn one_reject_that_reaches_both_stops_for_the_row_first() {
    let keys = json!({
        "false_reject": 1,
        "rejects_in_row": { "rejects": 3, "duration": "5 s" },
        "bin_full": { "rejects": 3, "duration": "3 s" },
    });
    let run = gate(keys, "0.5 s").lasting("14 s").run();
    assert_eq!(run.stops("gate"), "rejects_in_row 3.2..5.2..10.2, bin_full 10.2..13.2");
}

/// Fail-safes are own stops: a plan without own stops is without them.
#[test]
fn fail_safes_are_own_stops() {
    let line = gate(json!({ "false_reject": 1, "bin_full": { "rejects": 4, "duration": "3 s" } }), "0.5 s");
    let run: Run = line.run_with(|plan, _| plan.own_stops = false);
    assert_eq!((run.stops("gate").as_str(), run.count("gate", Counter::Rejected)), ("", 59));
}
