//! Pick robot: groups, tagged packs, drops, the place on the belt.

use super::{Model, Run, every, second, seconds, small_line, span, stop};
use linewake_log::event::PackStep;
use linewake_model::time::Moment;
use serde_json::json;
use std::collections::{BTreeMap, BTreeSet};

/// Frames of 2 lanes x 2 rows; the loader's files are the lanes.
fn frames_of_four(gripper: u32) -> Model {
    small_line()
        .with("former", json!({ "rows_per_index": 2 }))
        .with("loader", json!({ "array_rows": 2 }))
        .with("robot", json!({ "gripper": gripper }))
}

/// Portions by pocket.
fn portion_of(run: &Run) -> BTreeMap<u64, u64> {
    run.steps("loader", PackStep::Loaded).iter().map(|step| (step.into, step.item)).collect()
}

/// Packs by the end of the pick that took them.
fn picks(run: &Run) -> BTreeMap<Moment, Vec<u64>> {
    let mut picks: BTreeMap<Moment, Vec<u64>> = BTreeMap::new();
    for step in run.steps("robot", PackStep::Picked) {
        picks.entry(step.at).or_default().push(step.item);
    }
    picks
}

/// Lane by lane: file 1 (portions 0 and 1, counted from 0) lies in lane 1, file 2 in lane 2. A gripper of two takes lane 1
/// first, then, after its place of 0.4 s, lane 2: picks end 0.3 and 0.3 + 0.4 + 0.3 s after the frame has come.
#[test]
fn groups_are_taken_lane_by_lane() {
    let run = frames_of_four(2).run();
    let (portions, picks) = (portion_of(&run), picks(&run));
    let first: Vec<u64> = portions.values().copied().collect::<BTreeSet<_>>().into_iter().take(4).collect();
    let groups: Vec<(Moment, Vec<u64>)> = picks
        .iter()
        .take(2)
        .map(|(at, packs)| (*at, packs.iter().map(|pack| portions[pack]).collect()))
        .collect();
    assert_eq!(groups[0].1, first[..2]);
    assert_eq!(groups[1].1, first[2..]);
    assert_eq!(groups[1].0.since(groups[0].0), span(0.7));
}

/// The gripper decides how often the robot must go: a frame of four in 4, 2 or 1 cycles of 0.7 s.
#[test]
fn the_gripper_sets_the_cycles_of_a_frame() {
    for (gripper, cycles) in [(1, 4), (2, 2), (4, 1)] {
        let run = frames_of_four(gripper).lasting("40 s").run();
        let picks = picks(&run);
        assert!(picks.len() > 10);
        assert!(picks.values().all(|packs| packs.len() == gripper as usize));
        let starts = run.states("robot");
        let work = 0.7 * f64::from(cycles);
        let first = picks.keys().next().expect("a pick").seconds() - 0.3;
        let ends =
            format!("{} running, {} starved", super::second(first).seconds(), second(first + work).seconds());
        assert!(starts.contains(&ends), "{ends} not in {starts}");
    }
}

/// Half of all packs are tagged at random. Tagged packs of a group stay behind; a group that is all tagged is skipped and
/// costs no time: with g groups that have a pack to take, the last pick of a frame ends 0.3 + 0.7 (g - 1) s after it came.
#[test]
fn tagged_packs_stay_behind_and_groups_of_them_are_skipped() {
    let run = frames_of_four(2)
        .with(
            "former",
            json!({
                "positions": { "print_inspection": 3 },
                "vision": { "sensitivity": 1, "false_tag": 0.5 },
            }),
        )
        .lasting("400 s")
        .run();
    let tagged: BTreeSet<u64> = run.steps("former", PackStep::Tagged).iter().map(|step| step.item).collect();
    let picked: BTreeMap<u64, Moment> =
        run.steps("robot", PackStep::Picked).iter().map(|step| (step.item, step.at)).collect();
    let portions = portion_of(&run);
    let cut = run.steps("former", PackStep::Cut);
    let mut seen = [0_u32; 3];
    for frame in cut.chunks(4).filter(|frame| frame[0].at < second(380.0)) {
        // In the zone after the advance of 0.5 s.
        let came = frame[0].at.seconds() + 0.5;
        let mut packs: Vec<u64> = frame.iter().map(|step| step.item).collect();
        packs.sort_by_key(|pack| portions[pack]);
        let groups: Vec<&[u64]> =
            packs.chunks(2).filter(|group| group.iter().any(|pack| !tagged.contains(pack))).collect();
        seen[groups.len()] += 1;
        for (number, group) in groups.iter().enumerate() {
            for pack in *group {
                let due = second(came + 0.3 + 0.7 * number as f64);
                let is_tagged = tagged.contains(pack);
                assert_eq!(picked.get(pack).copied(), (!is_tagged).then_some(due), "pack {pack}");
            }
        }
    }
    // Both tagged in a group: 1/4. So 1/16 of about 90 frames have no group to take, 6/16 one, 9/16 two.
    assert!(seen[0] > 0 && seen[1] > 10 && seen[2] > 20, "{seen:?}");
    // What stayed behind is in the bin of the pick zone, all of it.
    let binned: BTreeSet<u64> = run.steps("robot", PackStep::Rejected).iter().map(|step| step.item).collect();
    assert!(binned.is_subset(&tagged) && tagged.len() - binned.len() < 20);
}

/// Every pack is lost between pick and place: a reject each, at the end of its pick (9.3 + 2 k), and the place motion is made
/// all the same: the robot runs 0.7 s for each frame.
#[test]
fn a_drop_is_a_reject_and_the_place_is_made_all_the_same() {
    let run = small_line().with("robot", json!({ "drop_probability": 1 })).run();
    let dropped: Vec<Moment> = run.rejects("robot", "dropped").into_iter().step_by(2).collect();
    assert_eq!(dropped[..5], every(9.3, 2.0, 5));
    assert_eq!(
        run.states_between("robot", 0.0, 12.0),
        "0 starved, 9 running, 9.7 starved, 11 running, 11.7 starved"
    );
    assert_eq!(run.steps("belt", PackStep::Entered).len(), 0);
}

/// Two packs are placed at 9.7 + 2 k; each is lost with probability 1/2. If one is left it has the end 2.0 s later, whichever
/// it was: a dropped pack leaves no gap. If both are there, the second follows after 0.12 m, 0.2 s.
#[test]
fn a_dropped_pack_leaves_no_gap() {
    let run = small_line().with("robot", json!({ "drop_probability": 0.5 })).lasting("200 s").run();
    let mut frames: BTreeMap<u64, Vec<f64>> = BTreeMap::new();
    for at in run.times("checkweigher", PackStep::Entered) {
        let since = at.seconds() - 11.7 + 1e-9;
        frames.entry((since / 2.0) as u64).or_default().push(since.rem_euclid(2.0));
    }
    let mut seen = [0; 3];
    for arrivals in frames.values() {
        seen[arrivals.len()] += 1;
        for (number, after) in arrivals.iter().enumerate() {
            assert!((after - 0.2 * number as f64).abs() < 1e-6, "{arrivals:?}");
        }
    }
    assert!(seen[1] > 20 && seen[2] > 10, "{seen:?}");
}

/// The place can end only when the belt takes the packs. The checkweigher stands from 11.8 for 20 s: the pack behind the first
/// is at the end of the belt at 11.9 and stops it. Frame 2 is in the zone at 11.0 and placed at 11.7, frame 3 is picked by
/// 13.3, and its place waits from 13.7 until the belt goes on: frame 2 has moved on by 0.2 s of its 0.4 s (two pitches) by
/// 11.9, so that the infeed is free 0.2 s later, at 32.1.
#[test]
fn a_place_waits_for_the_belt() {
    let run = small_line().run_stopped(&[("checkweigher", 11.8, 20.0)]);
    assert_eq!(run.states_between("robot", 12.0, 32.2), "13 running, 13.7 blocked, 32.1 running");
    // The gate's first pack needs the other 0.1 s, to 31.9; then it takes the pack at the end, and the belt moves.
    assert_eq!(run.states_between("belt", 11.0, 32.0), "11.9 blocked, 31.9 running");
}

/// Running time 0.5 s: frame 1 is picked from 9.0 to 9.3, and 0.2 s into the place the robot stops, 9.5 to 11.5. The motion
/// pauses: the other 0.2 s are done at 11.7.
#[test]
fn the_motion_under_way_pauses_in_a_stop() {
    let mut mode = stop("jam", json!({ "running_time": "500 s" }), "2 s");
    mode["initial"] = json!(0.999);
    let run = small_line().with("robot", json!({ "stops": [mode] })).run();
    assert_eq!(
        run.states_between("robot", 0.0, 11.8),
        "0 starved, 9 running, 9.5 stopped_repair jam, 11.5 running"
    );
    assert_eq!(run.times("belt", PackStep::Entered)[..2], seconds(&[11.7, 11.7]));
}

/// A table takes a group whole or not at all. It holds three and needs 5 s: two packs of 9.7, and the group of 11.7 waits until
/// the first one has left at 14.7.
#[test]
fn a_table_takes_a_group_whole() {
    let table = json!({ "accumulating_table": { "id": "belt", "capacity": 3, "transit": "5 s" } });
    let run = small_line().instead_of("belt", table).run();
    assert_eq!(run.first_times("belt", PackStep::Entered, 4), seconds(&[9.7, 9.7, 14.7, 14.7]));
    assert_eq!(run.states_between("robot", 11.0, 14.7), "11 running, 11.7 blocked, 14.7 running");
}
