//! Belt on which packs keep their places.

use super::{Model, every, machine, row, seconds, small_line, span};
use linewake_log::event::{Counter, PackStep};
use linewake_model::time::Moment;
use serde_json::{Value, json};

fn belt(length: &str, pitch: &str) -> Value {
    json!({ "rigid_belt": { "id": "belt", "length": length, "speed": "1 m/s", "pitch": pitch } })
}

/// The filler makes a piece a second, 2.3 s ride, the sealer needs 0.25 s: busy in k + 0.3 .. k + 0.55, from k = 3 on.
fn filler_and_sealer() -> Model {
    row(json!([machine("filler", "1 s"), belt("2.3 m", "0.25 m"), machine("sealer", "0.25 s")]))
        .lasting("20 s")
}

/// The sealer stands from 10.5 to 15.5 with the piece of 10.3, which is done at 15.55. The next piece is at the end at 11.3: the
/// whole belt stands from 11.3 to 15.55 and takes nothing: the filler's piece of 12 waits. Packs keep their places: those
/// of 10 and 11 had 1.0 and 2.0 s to go at 11.3, and arrive at 16.55 and 17.55. The filler's piece goes in at 15.55 and is at
/// the end at 17.85.
#[test]
fn the_whole_belt_stands_when_its_end_pack_cannot_leave() {
    let run = filler_and_sealer().run_stopped(&[("sealer", 10.5, 5.0)]);
    assert_eq!(run.states("belt"), "0 running, 11.3 blocked, 15.55 running");
    assert_eq!(run.states("filler"), "0 running, 12 blocked, 15.55 running");
    assert_eq!(
        run.times("sealer", PackStep::Entered)[6..12],
        seconds(&[9.3, 10.3, 15.55, 16.55, 17.55, 17.85])
    );
}

/// With packs on it the belt moved from 1.0 (first piece) to 11.3 and from 15.55 to the end at 20: 10.3 + 4.45 = 14.75 s, at
/// 1 m/s 14.75 m. It ran 20 - 4.25 = 15.75 s.
#[test]
fn metres_moved_with_packs_are_counted() {
    let run = filler_and_sealer().run_stopped(&[("sealer", 10.5, 5.0)]);
    assert_eq!(run.count("belt", Counter::MovedLoadedTime), 14_750_000);
    let states = run.result.stations[1].states.expect("a rigid belt has states");
    assert_eq!(states.running, span(15.75));
}

/// The infeed is free again when the last pack has moved on by a pitch: with a pitch of 1.5 m the belt takes a piece every
/// 1.5 s, and the filler is blocked for 0.5 s of each: pieces in at 1, 2.5, 4, 5.5.
#[test]
fn the_infeed_is_free_after_a_pitch() {
    let run = row(json!([machine("filler", "1 s"), belt("3 m", "1.5 m"), machine("sealer", "0.8 s")])).run();
    assert_eq!(run.first_times("belt", PackStep::Entered, 4), every(1.0, 1.5, 4));
    assert!(run.states("filler").starts_with("0 running, 2 blocked, 2.5 running, 3.5 blocked, 4 running"));
}

/// The robot places a frame of four in two groups of two. Placed at x = 0, the first two take 2 x 0.3 m of belt at 0.6 m/s:
/// the infeed is free again after 1.0 s, while the robot is back after 0.7 s: it is blocked for 0.3 s. The packs of a group are
/// at the end of the belt 2.0 and 2.5 s after their place, those of the other one 3.0 and 3.5 s.
#[test]
fn a_group_of_n_packs_takes_n_pitches() {
    let run = small_line()
        .with("former", json!({ "rows_per_index": 2 }))
        .with("loader", json!({ "array_rows": 2 }))
        .with("belt", json!({ "pitch": "0.3 m" }))
        .run();
    let placed = run.first_times("belt", PackStep::Entered, 4);
    let after = |at: &Moment| at.since(placed[0]).seconds();
    assert_eq!(placed.iter().map(after).collect::<Vec<_>>(), [0.0, 0.0, 1.0, 1.0]);
    let at_end = run.first_times("checkweigher", PackStep::Entered, 4);
    assert_eq!(at_end.iter().map(after).collect::<Vec<_>>(), [2.0, 2.5, 3.0, 3.5]);
    let blocked = run.states("robot");
    let first = placed[0].seconds();
    let due = format!(
        "{} blocked, {} ",
        super::second(first + 0.7).seconds(),
        super::second(first + 1.0).seconds()
    );
    assert!(blocked.contains(&due), "{due} not in {blocked}");
}

/// A belt in an own stop stands, from 4.9 to 9.0: nothing enters, moves or leaves. The pieces of 3 and 4 had 0.4 and 1.4 s to
/// go, and are at the end at 9.4 and 10.4; the filler's piece of 5 goes in at 9.
#[test]
fn a_belt_in_an_own_stop_stands() {
    let run = filler_and_sealer().run_stopped(&[("belt", 4.9, 4.1)]);
    assert_eq!(run.states("belt"), "0 running, 4.9 stopped_repair injected, 9 running");
    assert_eq!(run.times("sealer", PackStep::Entered)[..4], seconds(&[3.3, 4.3, 9.4, 10.4]));
    assert_eq!(run.states_between("filler", 4.0, 9.5), "5 blocked, 9 running");
}
