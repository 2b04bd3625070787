//! Clock, order of simultaneous events, random streams.

use super::{Run, every, machine, row, seconds, small_line};
use linewake_log::event::{Counter, PackStep};
use linewake_model::time::Moment;
use serde_json::json;

/// 1/128 s is 7812.5 us: rounded up to 7813 us for each piece, then added.
#[test]
fn durations_are_rounded_half_up_one_by_one() {
    let run = row(json!([machine("press", "0.0078125 s")])).lasting("0.03 s").run();
    assert_eq!(run.times("press", PackStep::Left), [Moment(7813), Moment(15_626), Moment(23_439)]);
}

/// 60 / 112 s is 535 714.29 us: the third portion is cut at 3 x 535 714 us, not at 1 607 143.
#[test]
fn computed_durations_are_rounded_too() {
    let run = small_line().with("portioner", json!({ "rate": "112/min" })).lasting("2 s").run();
    assert_eq!(
        run.times("portioner", PackStep::Portioned),
        [Moment(535_714), Moment(1_071_428), Moment(1_607_142)]
    );
}

/// Pieces leave at 1, 2 and 3 s; the run ends at 3 s, and what falls on it does not happen.
#[test]
fn the_horizon_is_not_part_of_the_run() {
    let run = row(json!([machine("press", "1 s")])).lasting("3 s").run();
    assert_eq!(run.times("press", PackStep::Left), seconds(&[1.0, 2.0]));
    assert_eq!(run.states("press"), "0 running");
    let states = run.result.stations[0].states.expect("a machine has states");
    assert_eq!(states.running, run.line.shift.length);
}

/// The filler makes a piece a second, the belt brings it to its end 1 s later, at the very instant at which the sealer is
/// done with the one before (2, 3, 4, ...): nobody ever waits.
#[test]
fn a_belt_whose_end_pack_arrives_as_the_next_station_becomes_free_does_not_stand() {
    let belt = json!({ "rigid_belt": { "id": "belt", "length": "1 m", "speed": "1 m/s", "pitch": "0.5 m" } });
    let run = row(json!([machine("filler", "1 s"), belt, machine("sealer", "1 s")]))
        .line(json!({ "constraint": "sealer" }))
        .run();
    assert_eq!(run.states("filler"), "0 running");
    assert_eq!(run.states("belt"), "0 running");
    assert_eq!(run.states("sealer"), "0 starved, 2 running");
    assert_eq!(run.times("sealer", PackStep::Left), every(3.0, 1.0, 57));
}

/// The same with an accumulating table that holds one piece: full at each instant, and never in the way.
#[test]
fn room_made_at_an_instant_is_used_at_that_instant() {
    let table = json!({ "accumulating_table": { "id": "table", "capacity": 1, "transit": "1 s" } });
    let run = row(json!([machine("filler", "1 s"), table, machine("sealer", "1 s")]))
        .line(json!({ "constraint": "sealer" }))
        .run();
    assert_eq!(run.states("filler"), "0 running");
    assert_eq!(run.states("sealer"), "0 starved, 2 running");
}

/// A stop at the loader and a smaller table shift nobody's luck: portion k weighs the same, and the packs that the
/// detector rejects by mistake are the same ones, wherever both runs asked.
#[test]
fn every_quantity_has_a_random_stream_of_its_own() {
    let detector = json!({ "metal_detector": { "id": "detector", "max_rate": "300/min", "sensitivity": 1, "false_reject": 0.1 } });
    let line = small_line()
        .with("portioner", json!({ "weight": { "sd": "4 g", "sd_batch": "1 g" } }))
        .behind("checkweigher", detector)
        .lasting("600 s");
    let disturbed = line
        .clone()
        .with("table", json!({ "capacity": 6 }))
        .with("checkweigher", json!({ "false_reject": 0.05 }))
        .with("loader", json!({ "stops": [super::stop("jam", json!({ "arrays": { "geometric": { "mean": 5 } } }), "3 s")] }));
    let (plain, disturbed) = (line.run(), disturbed.run());
    let weights = |run: &Run| run.grams("portioner", PackStep::Portioned);
    let (left, right) = (weights(&plain), weights(&disturbed));
    let both = left.len().min(right.len());
    assert!(both > 300 && left.len() != right.len());
    assert_eq!(left[..both], right[..both]);
    // Packs that came to the detector in both runs have the same verdict there.
    let items = |run: &Run, step| -> std::collections::BTreeSet<u64> {
        run.steps("detector", step).iter().map(|it| it.item).collect()
    };
    let shared: Vec<u64> = items(&plain, PackStep::Entered)
        .intersection(&items(&disturbed, PackStep::Entered))
        .copied()
        .filter(|item| *item < 300)
        .collect();
    let rejected = |run: &Run| -> Vec<u64> {
        let rejected = items(run, PackStep::Rejected);
        shared.iter().copied().filter(|item| rejected.contains(item)).collect()
    };
    assert_eq!(rejected(&plain), rejected(&disturbed));
    assert!(rejected(&plain).len() > 5);
    assert_ne!(
        plain.count("checkweigher", Counter::Rejected),
        disturbed.count("checkweigher", Counter::Rejected)
    );
}

/// Replication 1 has other luck than replication 0; each by itself repeats.
#[test]
fn each_replication_has_its_own_luck() {
    let line = small_line().with("portioner", json!({ "weight": { "sd": "4 g" } })).lasting("10 s");
    let first =
        |replication| line.replication(replication, |_, _| {}).grams("portioner", PackStep::Portioned);
    assert_eq!(first(0), first(0));
    assert!(first(0).iter().zip(first(1)).all(|(left, right)| (left - right).abs() > 1e-6));
}
