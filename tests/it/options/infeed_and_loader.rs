//! Infeed belt and two-belt loader.

use super::{Model, Run, second, seconds, small_line, stop};
use linewake_log::event::{Counter, PackStep};
use serde_json::json;
use std::collections::BTreeMap;

/// A former of 2 lanes x 2 rows and a loader whose motions all differ: take 0.2 s, transfer 0.5, traverse 0.3, load 0.7,
/// return 0.4. The loader stands to 10 s, so that the infeed belt is full of portions then and each can be taken at once.
fn slow_loader() -> Model {
    small_line()
        .with("former", json!({ "rows_per_index": 2 }))
        .with("infeed", json!({ "capacity": 20 }))
        .with(
            "loader",
            json!({
                "array_rows": 2, "take": "0.2 s",
                "file_transfer": "0.5 s", "traverse": "0.3 s", "load": "0.7 s", "return": "0.4 s",
            }),
        )
}

/// The loader stands to 20 s. The belt takes four portions (0.5, 1.0, 1.5, 2.0), queued or in transit; the portioner holds
/// the fifth, cut at 2.5, until belt A takes the first at 20.
#[test]
fn the_infeed_belt_has_a_capacity() {
    let run = small_line().with("infeed", json!({ "capacity": 4 })).run_stopped(&[("loader", 0.0, 20.0)]);
    assert_eq!(run.first_times("infeed", PackStep::Entered, 5), seconds(&[0.5, 1.0, 1.5, 2.0, 20.0]));
    assert_eq!(run.states_between("portioner", 0.0, 20.0), "0 running, 2.5 blocked, 20 running");
    // In transit counts: with room for one, a portion a second (the transit time) is all that gets through.
    let run = small_line().with("infeed", json!({ "capacity": 1 })).lasting("6.1 s").run();
    assert_eq!(run.first_times("infeed", PackStep::Entered, 4), seconds(&[0.5, 1.5, 2.5, 3.5]));
}

/// Belt A takes at 10.2 and 10.4: file 1 passes to 10.9, B traverses to 11.2. A takes the next two meanwhile (11.1, 11.3):
/// file 2 waits for no one, passes from 11.3 to 11.8; that was the last lane, no traverse. Load to 12.5, return to 12.9. A
/// filled up again at 12.2: its file passes from 12.9 to 13.4, B traverses to 13.7, and so on.
#[test]
fn two_belts_fill_and_load_an_array() {
    let run = slow_loader().run_stopped(&[("loader", 0.0, 10.0)]);
    assert_eq!(
        run.states_between("loader", 10.0, 13.69),
        "10 starved, 10.4 running, 11.2 starved, 11.3 running"
    );
    // Portions come onto the belt as their take begins.
    assert_eq!(
        run.first_times("loader", PackStep::Entered, 6),
        seconds(&[10.0, 10.2, 10.9, 11.1, 11.8, 12.0])
    );
    assert_eq!(run.first_times("loader", PackStep::Loaded, 4), seconds(&[12.5; 4]));
}

/// With no time to take, A takes its file at one instant: 10.0, pass 10.5, traverse 10.8, pass 11.3, load 12.0.
#[test]
fn taking_may_need_no_time() {
    let run = slow_loader().with("loader", json!({ "take": "0 s" })).run_stopped(&[("loader", 0.0, 10.0)]);
    assert_eq!(run.first_times("loader", PackStep::Loaded, 4), seconds(&[12.0; 4]));
}

/// Own stop of the loader from 12.05 for 10 s, in the middle of the load of 11.8 to 12.5: the rest of it, 0.45 s, follows at
/// 22.05, the return ends at 22.9. The sixth portion had 0.05 of its 0.2 s: it is on A at 22.2, in time for the next file,
/// which passes from 22.9 to 23.4; A takes the next portion then.
#[test]
fn an_own_stop_pauses_both_belts() {
    let run = slow_loader().run_stopped(&[("loader", 0.0, 10.0), ("loader", 12.05, 10.0)]);
    assert_eq!(run.first_times("loader", PackStep::Loaded, 4), seconds(&[22.5; 4]));
    assert_eq!(run.first_times("loader", PackStep::Entered, 7)[6], second(23.4));
    let run = slow_loader().run_stopped(&[("loader", 0.0, 10.0), ("loader", 11.95, 10.0)]);
    // The take of 11.8 to 12.0 had 0.15 s: the next portion comes onto A at 21.95 + 0.05.
    assert_eq!(run.first_times("loader", PackStep::Entered, 6)[5], second(22.0));
}

/// A count stop of the loader strikes when B is back: 12.9.
#[test]
fn the_cycle_of_the_loader_ends_with_the_return() {
    let line = slow_loader().with("loader", json!({ "stops": [stop("jam", json!({ "arrays": 1 }), "3 s")] }));
    let run = line.run_stopped(&[("loader", 0.0, 10.0)]);
    assert!(run.stops("loader").starts_with("injected 0..10, jam 12.9..15.9, "), "{}", run.stops("loader"));
}

/// Small line: the array of portions 5 and 6 is ready at 4.2 and waits for the dwell of 5.0; loaded to 5.3, return 5.5, the
/// next two files to 5.8 and 6.0, and it waits for the dwell of 7.0.
#[test]
fn an_array_that_is_ready_waits_for_the_next_dwell_with_an_empty_zone() {
    let run = small_line().run();
    assert_eq!(run.states_between("loader", 3.0, 7.0), "4.2 blocked, 5 running, 6 blocked, 7 running");
}

/// The former stands from 1.0 to 6.0: the array of 2.2 is not loaded before 6.0. A load under way goes on: a stop that
/// begins at 2.3 leaves the load of 2.2 to 2.5 alone.
#[test]
fn no_load_begins_in_a_stop_of_the_former_and_one_under_way_goes_on() {
    let run = small_line().run_stopped(&[("former", 1.0, 5.0)]);
    assert_eq!(run.first_times("loader", PackStep::Loaded, 1), seconds(&[6.3]));
    assert_eq!(run.states_between("loader", 2.2, 6.0), "2.2 blocked, 6 running");
    let run = small_line().run_stopped(&[("former", 2.3, 4.0)]);
    assert_eq!(run.first_times("loader", PackStep::Loaded, 1), seconds(&[2.5]));
    assert_eq!(
        run.states_between("former", 0.0, 7.0),
        "0 running, 1.5 starved, 2.3 stopped_repair injected, 6.3 running"
    );
}

/// How many portions were loaded at each moment.
fn loads(run: &Run) -> Vec<(f64, usize)> {
    let mut loads: BTreeMap<u64, usize> = BTreeMap::new();
    for at in run.times("loader", PackStep::Loaded) {
        *loads.entry(at.0).or_default() += 1;
    }
    loads.into_iter().map(|(at, portions)| (at as f64 / 1e6, portions)).collect()
}

/// Common practice: an array of 12 portions, 3 lanes x 4 rows, loads two indexes of 6 (3 lanes x 2 rows). At 120 portions/min
/// an array takes 6 s; the former advances twice for each load and is starved for the rest.
#[test]
fn an_array_of_twelve_loads_two_indexes_of_six() {
    let run = small_line()
        .with("loader", json!({ "lanes": 3, "array_rows": 4, "indexes_per_array": 2 }))
        .with(
            "former",
            json!({ "lanes": 3, "rows_per_index": 2, "positions": { "load_at": 2, "seal": 3, "cut": 5 } }),
        )
        .with("robot", json!({ "gripper": 6 }))
        .run();
    let loads = loads(&run);
    assert!(loads.len() > 5 && loads.iter().all(|&(_, portions)| portions == 12), "{loads:?}");
    // Two pockets of six each: the first twelve portions lie in pockets of two frames, and both frames are cut full.
    let cut = run.times("former", PackStep::Cut);
    for frame in cut.chunks(6).take(6) {
        assert!(frame.iter().all(|at| *at == frame[0]), "{frame:?}");
    }
    // Array k is loaded 6 s after array k - 1 (portions are the limit), and each is followed by two frames.
    assert!(loads.windows(2).skip(1).all(|pair| (pair[1].0 - pair[0].0 - 6.0).abs() < 1e-6), "{loads:?}");
    assert_eq!(
        run.count("former", Counter::EmptyPockets),
        3 * 6,
        "the web at the start, positions 3, 4 and 5"
    );
}

/// Two loads of 400 g into the same pocket: packs of 800 g. An array needs 1 s of portions, so a zone is full every 2 s:
/// second load of the first zone at 3.5, when the former advances for the first time.
#[test]
fn a_zone_may_take_two_loads() {
    let run = small_line().with("loader", json!({ "loads_per_zone": 2 })).run();
    assert_eq!(loads(&run)[..2], [(2.5, 2), (3.5, 2)]);
    assert_eq!(run.states_between("former", 0.0, 4.0), "0 running, 1.5 starved, 3.5 running");
    let grams = run.grams("former", PackStep::Cut);
    assert!(!grams.is_empty() && grams.iter().all(|weight| (weight - 800.0).abs() < 1e-5), "{grams:?}");
    let loaded = run.steps("loader", PackStep::Loaded);
    let first_pocket = loaded[0].into;
    assert_eq!(loaded.iter().filter(|step| step.into == first_pocket).count(), 2);
}

/// The former stands from 4.7 for 30 s, in the middle of an advance. Frame 1 is sealed (4.5). Exposed for longer than the
/// limit of 20 s are frame 2 (loaded at 3.5, sealed in the dwell of 35 to 36.5), the array of portions 5 and 6, which
/// waits in the loader, and portion 7 on belt A; portion 8 came onto the belt at 35.7, when 7 had left it. So two packs of
/// frame 2, two of frame 3 and one of frame 4: in the pick zone at 41, 43, 45, in the bin 1.5 s later.
#[test]
fn product_that_stood_open_too_long_is_aged() {
    let line = small_line().with("loader", json!({ "open_time_limit": "20 s" }));
    let run = line.run_stopped(&[("former", 4.7, 30.0)]);
    assert_eq!(run.rejects("robot", "aged"), seconds(&[42.5, 42.5, 44.5, 44.5, 46.5]));
    // A limit that is not reached costs nothing.
    let line = line.with("loader", json!({ "open_time_limit": "60 s" }));
    assert_eq!(line.run_stopped(&[("former", 4.7, 30.0)]).rejects("robot", "aged"), []);
}

/// Product ages in a break as it does in a stop: a break from 4.7 to 34.7 spoils the same five packs.
#[test]
fn product_ages_in_breaks() {
    let run = small_line()
        .with("loader", json!({ "open_time_limit": "20 s" }))
        .line(json!({ "shift": { "breaks": [{ "start": "4.7 s", "duration": "30 s" }] } }))
        .run();
    assert_eq!(run.rejects("robot", "aged"), seconds(&[42.5, 42.5, 44.5, 44.5, 46.5]));
}
