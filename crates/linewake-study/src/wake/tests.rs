//! Wakes worked out by hand, on lines of machines that work the same time on each piece.

use super::{WakeQuestion, parse_stop, replayed, wake};
use crate::testing::{MINCE, line as model_of, machine, near, table};
use linewake_kpi::study::wake::{StationWake, WakeResult};
use linewake_model::line::Line;

/// A shift of ten minutes.
fn line_of(stations: &[String]) -> Line {
    model_of(r#""shift": { "length": "10 min" },"#, stations).line
}

fn question(line: &Line, stops: &[&str], random_luck: bool) -> WakeQuestion {
    let stops = stops.iter().map(|typed| parse_stop(line, typed).unwrap_or_else(|error| panic!("{error}")));
    WakeQuestion { stops: stops.collect(), random_luck, seed: 1, replication: 0 }
}

fn found(line: &Line, stops: &[&str]) -> WakeResult {
    wake(line, &question(line, stops, false))
}

fn station<'r>(result: &'r WakeResult, id: &str) -> &'r StationWake {
    result.stations.iter().find(|it| it.station == id).unwrap_or_else(|| panic!("no {id}"))
}

/// Each of three machines works 2 s on a piece, so each begins at an even second, and the tables stay empty. "one" stops
/// at 101 s, in the middle of a piece: instead of 102 s it is done at 142 s. "two" ends its piece at 102 s and waits until
/// 142 s; "three" ends its piece at 104 s and waits until 144 s. Nothing can make it up: 40 s, 20 pieces.
#[test]
fn a_stop_at_the_head_of_a_balanced_line_starves_one_machine_after_the_other() {
    let line = line_of(&[
        machine("one", r#""2 s""#, ""),
        table("first", 20),
        machine("two", r#""2 s""#, ""),
        table("second", 20),
        machine("three", r#""2 s""#, ""),
    ]);
    let result = found(&line, &["one@101s+40s"]);
    assert_eq!((result.stops[0].start_s, result.stops[0].end_s), (Some(101.0), Some(141.0)));
    for (id, reached, freed) in [("two", 102.0, 142.0), ("three", 104.0, 144.0)] {
        let it = station(&result, id);
        assert_eq!((it.reached_s, it.freed_s), (Some(reached), Some(freed)), "{id}");
        near(it.starved_s, 40.0, 1e-9);
        near(it.blocked_s, 0.0, 0.0);
        // At the end of the run it waits for the same pieces as without, so the whole run has no more.
        near(it.starved_in_run_s, 40.0, 1e-9);
    }
    assert_eq!(station(&result, "one").reached_s, None);
    near(station(&result, "one").stopped_s, 40.0, 1e-9);
    assert_eq!(result.packs.lost, 20);
    near(result.recovery.stop_end_s, 141.0, 0.0);
    near(result.recovery.free_s, 144.0, 0.0);
    near(result.recovery.recovery_s, 3.0, 0.0);
    near(result.recovery.largest_delay_s, 40.0, 1e-9);
    assert_eq!(result.recovery.caught_up_s, None);
    assert!(result.between.iter().all(|it| it.absorbed_s.abs() < 1e-9), "empty tables absorb nothing");
}

/// "one" is twice as quick, so the table of 50 is full from 100 s on, and "one" is blocked from each even second to the
/// next odd one, when "two" takes a piece. In its stop from 200.5 s to 239.5 s "two" takes a piece at 201, 203, ..., 239 s:
/// 20, of which the first is replaced by the finished piece that "one" held, so 31 are left. The next piece comes at
/// 240.5 s, before "two" takes one again.
#[test]
fn a_stop_that_a_full_table_absorbs_costs_nothing() {
    let line = line_of(&[machine("one", r#""1 s""#, ""), table("table", 50), machine("two", r#""2 s""#, "")]);
    let result = found(&line, &["one@200.5s+39s"]);
    assert_eq!(station(&result, "two").reached_s, None);
    assert_eq!(result.packs.lost, 0);
    near(result.recovery.recovery_s, 0.0, 0.0);
    near(result.recovery.largest_delay_s, 0.0, 0.0);
    assert_eq!(result.recovery.caught_up_s, Some(200.5));
    let between = &result.between[0];
    near(between.absorbed_s, 39.0, 1e-9);
    let buffer = &between.buffers[0];
    assert_eq!((buffer.at_stop, buffer.lowest, buffer.most_less), (50, 31, 19));
}

/// "two" stops from 101 s to 141 s. "one" puts pieces on the table at 102, 104, ..., 110 s, then 5 lie there; the one of
/// 112 s finds no room. "two" ends its piece at 142 s and takes the next: "one" was blocked for 30 s, and the table
/// absorbed 10 s, 5 places of 2 s.
#[test]
fn a_stop_behind_a_small_table_blocks_what_is_before_it() {
    let line = line_of(&[machine("one", r#""2 s""#, ""), table("table", 5), machine("two", r#""2 s""#, "")]);
    let result = found(&line, &["two@101s+40s"]);
    let one = station(&result, "one");
    assert_eq!((one.reached_s, one.freed_s), (Some(112.0), Some(142.0)));
    near(one.blocked_s, 30.0, 1e-9);
    near(one.starved_s, 0.0, 0.0);
    near(result.between[0].absorbed_s, 10.0, 1e-9);
    let buffer = &result.between[0].buffers[0];
    assert_eq!((buffer.at_stop, buffer.highest, buffer.most_more), (0, 5, 5));
    assert_eq!(result.packs.lost, 20);
    near(result.recovery.free_s, 142.0, 0.0);
}

/// Machines that wait anyway: "two" needs 1 s for what comes every 2 s, so it starves 1 s before each piece. The stop of
/// "one" at 100.5 s for 10 s (its piece of 100 s is done at 112 instead of 102 s) lengthens the wait that begins at 101 s:
/// without the stop it ends at 102 s, so 102 s is when the stop reaches it.
#[test]
fn of_a_wait_only_the_part_that_would_not_have_been_counts() {
    let line = line_of(&[machine("one", r#""2 s""#, ""), table("table", 5), machine("two", r#""1 s""#, "")]);
    let result = found(&line, &["one@100.5s+10s"]);
    let two = station(&result, "two");
    assert_eq!((two.reached_s, two.freed_s), (Some(102.0), Some(112.0)));
    near(two.starved_s, 10.0, 1e-9);
    assert_eq!(result.packs.lost, 5);
}

#[test]
fn the_wake_in_the_reference_line_adds_up_and_is_the_same_twice() {
    let model = crate::plan::BaseModel::parse(MINCE).unwrap_or_else(|error| panic!("{error}"));
    let line = &model.line;
    let constraint = &line.stations[line.constraint].id;
    for random_luck in [false, true] {
        let question = question(line, &[&format!("{constraint}@1h20min+40s")], random_luck);
        let result = wake(line, &question);
        assert_eq!(result, wake(line, &question));
        let packs = result.packs;
        assert_eq!(packs.lost, packs.good_without as i64 - packs.good_with as i64);
        assert_eq!(packs.lost, packs.not_made + packs.rejected + packs.still_in_line);
        for it in &result.stations {
            let stretches: f64 = it.stretches.iter().map(|one| one.end_s - one.start_s).sum();
            near(stretches, it.starved_s + it.blocked_s, 1e-6);
            assert!(it.stretches.windows(2).all(|pair| pair[0].end_s <= pair[1].start_s + 1e-9));
            assert!(it.stretches.iter().all(|one| one.start_s >= 4800.0));
        }
        let replay = replayed(line, &question, &result);
        assert!(replay.window_start_us <= 4_800_000_000 && replay.items.len() > 100);
        assert_eq!(replay.injected.len(), 1);
        let marks: usize = result.stations.iter().map(|it| it.stretches.len()).sum();
        assert_eq!(replay.wake.len(), marks);
    }
}

#[test]
fn a_stop_that_cannot_be_put_in_says_why() {
    let line = line_of(&[machine("one", r#""2 s""#, ""), table("table", 5), machine("two", r#""2 s""#, "")]);
    let refused = |typed: &str| parse_stop(&line, typed).expect_err(typed).to_string();
    assert!(refused("tvo@1min+4s").contains("did you mean \"two\"?"));
    assert!(refused("two@10min+4s").contains("not within the shift of 10 min"));
    assert!(refused("two@1min+0s").contains("over 0 s"));
    assert!(refused("two@1min+11min").contains("up to the shift's 10 min"));
    assert!(refused("table@1min+4s").contains("no states"));
    assert!(refused("two@1min").contains("STATION@TIME+DURATION"));
    assert!(refused("two 1min+4s").contains("STATION@TIME+DURATION"));
    assert!(refused("two@1kg+4s").starts_with("stop \"two@1kg+4s\": "));
    assert!(refused("two@-1min+4s").contains("0 s or more"));
    assert!(refused("two@nan+4s").len() > 20);
    let stop = parse_stop(&line, "two @ 1 min 20.5 s + 1min 2s").expect("blanks are allowed");
    assert_eq!((stop.at.0, stop.duration.0), (80_500_000, 62_000_000));
}
