//! Generic machines, arrivals, and the two ends of a line of them.

use super::{every, machine, row, seconds, stop};
use linewake_log::event::{Counter, PackStep};
use serde_json::json;

/// The first machine never runs dry, the last one never finds its end full: a piece every 3 s through both.
#[test]
fn a_line_of_machines_never_runs_dry_and_its_end_is_never_full() {
    let run = row(json!([machine("a", "3 s"), machine("b", "1 s")])).run();
    assert_eq!(run.states("a"), "0 running");
    assert_eq!(run.times("b", PackStep::Left), every(4.0, 3.0, 19));
}

/// Blocking after service: a's piece of 1 is in b (2.5 s) at once, the piece of 2 stays in a until b is free at 3.5.
#[test]
fn a_finished_piece_stays_until_it_is_taken() {
    let run = row(json!([machine("a", "1 s"), machine("b", "2.5 s")])).run();
    assert_eq!(
        run.states_between("a", 0.0, 6.0),
        "0 running, 2 blocked, 3.5 running, 4.5 blocked, 6 running"
    );
}

/// The piece of 2 brings the count of two, and the stop of 2 to 10. It is held until then: b, free at 3.5, gets it at 10.
#[test]
fn a_count_stop_holds_the_piece_of_its_cycle() {
    let line = row(json!([machine("a", "1 s"), machine("b", "2.5 s")]))
        .with("a", json!({ "stops": [stop("change", json!({ "pieces": 2 }), "8 s")] }));
    let run = line.run();
    assert_eq!(run.first_times("b", PackStep::Entered, 2), seconds(&[1.0, 10.0]));
    assert!(run.stops("a").starts_with("change 2..10"));
}

/// In any other stop a finished piece may leave: a stands from 3.0 to 10.0 with the piece of 2, which b takes at 3.5. No piece is
/// taken meanwhile: a begins the next one at 10.
#[test]
fn in_any_other_stop_a_finished_piece_may_leave() {
    let line = row(json!([machine("a", "1 s"), machine("b", "2.5 s")]));
    let run = line.run_stopped(&[("a", 3.0, 7.0)]);
    assert_eq!(run.first_times("b", PackStep::Entered, 3), seconds(&[1.0, 3.5, 11.0]));
    assert_eq!(run.states_between("a", 2.0, 11.0), "2 blocked, 3 stopped_repair injected, 10 running");
}

/// Unless the machine holds it: the same stop keeps the piece of 2 until 10, although b is free at 3.5. The next one is begun at
/// 10, is finished at 11, and b takes it at 12.5.
#[test]
fn a_machine_may_hold_its_finished_piece_in_any_stop() {
    let mut a = machine("a", "1 s");
    a["machine"]["holds_in_stops"] = json!(true);
    let run = row(json!([a, machine("b", "2.5 s")])).run_stopped(&[("a", 3.0, 7.0)]);
    assert_eq!(run.first_times("b", PackStep::Entered, 3), seconds(&[1.0, 10.0, 12.5]));
}

/// A machine in a stop takes no piece: b stands from 0.5 to 7.0, and a keeps its piece of 1.
#[test]
fn a_machine_in_a_stop_takes_no_piece() {
    let run = row(json!([machine("a", "1 s"), machine("b", "2.5 s")])).run_stopped(&[("b", 0.5, 6.5)]);
    assert_eq!(run.first_times("b", PackStep::Entered, 1), seconds(&[7.0]));
    assert_eq!(run.states_between("a", 0.0, 7.0), "0 running, 1 blocked, 7 running");
}

/// Arrivals every second, a machine of 3.5 s without a queue. Those that find no room wait: in at 1; the next one came at 2 and
/// is in at 4.5; the clock of the one after it starts then: it comes at 5.5, and is in at 8.
#[test]
fn arrivals_may_wait() {
    let arrivals = json!({ "arrivals": { "id": "door", "between": "1 s" } });
    let run = row(json!([arrivals, machine("a", "3.5 s")])).run();
    assert_eq!(run.first_times("a", PackStep::Entered, 4), every(1.0, 3.5, 4));
    assert_eq!(run.count("door", Counter::Lost), 0);
}

/// Or they are lost: 1 goes in, 2, 3 and 4 find the machine busy (to 4.5), 5 goes in, 6, 7, 8 are lost, 9 goes in, ... In a minute
/// 59 arrive, 15 of them (1, 5, ... 57) go in, 44 are lost.
#[test]
fn arrivals_may_be_lost() {
    let arrivals = json!({ "arrivals": { "id": "door", "between": "1 s", "when_full": "lost" } });
    let run = row(json!([arrivals, machine("a", "3.5 s")])).run();
    assert_eq!(run.times("a", PackStep::Entered), every(1.0, 4.0, 15));
    assert_eq!(run.count("door", Counter::Lost), 44);
}
