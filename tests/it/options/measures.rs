//! What is measured: constraint, short stops, OEE and its factors, the ledger.

use super::{Model, Run, is_close, machine, row, small_line, span};
use linewake_kpi::result::CauseKind;
use serde_json::json;

/// 100 s, a piece a second, design rate 60/min, a stop of 10 s from 40.5: pieces at 1 .. 40 and 51 .. 99, that is 89.
fn stopped(short_stop_limit: &str) -> Run {
    row(json!([machine("press", "1 s")]))
        .lasting("100 s")
        .line(json!({ "short_stop_limit": short_stop_limit }))
        .run_stopped(&[("press", 40.5, 10.0)])
}

/// An interruption of at least the limit counts against availability: 90 / 100, and performance is 89 x 1 / 90. A shorter one
/// sinks performance: 89 / 100. OEE is 0.89 in both; the ISO split takes the 90 s of running time.
#[test]
fn the_short_stop_limit_decides_between_availability_and_performance() {
    for (limit, availability) in [("10 s", 0.9), ("10.001 s", 1.0)] {
        let oee = stopped(limit).result.oee;
        assert_eq!((oee.total_packs, oee.good_packs), (89, 89));
        assert!(is_close(oee.availability, availability), "{oee:?}");
        assert!(is_close(oee.performance.expect("there were packs"), 0.89 / availability), "{oee:?}");
        assert!(is_close(oee.oee, 0.89) && is_close(oee.availability_iso, 0.9), "{oee:?}");
    }
}

/// An interval runs until the constraint runs again, but a break that is left out ends it: stop of 4 s from 8.5, break from 10 to
/// 15: 1.5 s before and 2.5 s behind it, both under a limit of 4 s. Counted in, it is one interruption of 9 s.
#[test]
fn a_break_that_is_left_out_ends_an_interruption() {
    let line = row(json!([machine("press", "1 s")])).line(json!({
        "short_stop_limit": "4 s",
        "shift": { "length": "40 s", "breaks": [{ "start": "10 s", "duration": "5 s" }] },
    }));
    let oee = line.run_stopped(&[("press", 8.5, 4.0)]).result.oee;
    assert_eq!((oee.long_interruptions, oee.short_interruptions), (0, 2));
    assert_eq!(oee.short_interruption_time, span(4.0));
    let line = line.line(json!({ "shift": { "breaks_in_planned_production_time": true } }));
    let oee = line.run_stopped(&[("press", 8.5, 4.0)]).result.oee;
    assert_eq!((oee.long_interruptions, oee.long_interruption_time), (1, span(9.0)));
}

/// Nothing was made: performance and quality are none, OEE is 0.
#[test]
fn without_packs_performance_and_quality_are_none() {
    let oee = row(json!([machine("press", "1 s")])).lasting("1 s").run().result.oee;
    assert_eq!((oee.performance, oee.quality), (None, None));
    assert!(is_close(oee.oee, 0.0));
}

/// A design rate of 30/min on a machine that makes 59 pieces in a minute: performance 59 x 2 / 60 = 1.967, not clipped.
#[test]
fn performance_may_exceed_one() {
    let oee = row(json!([machine("press", "1 s")])).line(json!({ "design_rate": "30/min" })).run().result.oee;
    assert!(is_close(oee.performance.expect("there were packs"), 59.0 * 2.0 / 60.0), "{oee:?}");
}

/// The OEE of the small line is judged on the former: it waits 1 s (1.5 to 2.5) of 60. Judged on the robot, which works
/// 0.7 s for each of the frames of 9, 11, ... 59: 26 x 0.7 = 18.2 s of 60.
#[test]
fn the_constraint_can_be_chosen() {
    let run = small_line().run();
    assert_eq!(run.result.constraint, "former");
    assert!(is_close(run.result.oee.availability_iso, 59.0 / 60.0));
    let run = small_line().line(json!({ "constraint": "robot" })).run();
    assert_eq!(run.result.constraint, "robot");
    assert!(is_close(run.result.oee.availability_iso, 18.2 / 60.0));
    // The total stays what was cut.
    assert_eq!(run.result.oee.total_packs, 52);
}

/// Frames are cut at 8.5, 10.5, ... 58.5: 26, 52 packs. Past the checkweigher at 11.9 + 2 k and 12.1 + 2 k: 25 + 24 = 49 good.
/// Eleven cases hold 44 of them, 5 wait (on the table and in the lane), 3 are still in the line.
#[test]
fn every_pack_is_accounted_for() {
    let run = small_line().run();
    let (oee, packs) = (run.result.oee, &run.result.packs);
    assert_eq!((oee.total_packs, oee.good_packs), (52, 49));
    assert_eq!((packs.cases, packs.good_in_cases_packs, packs.good_waiting_packs), (11, Some(44), Some(5)));
    assert_eq!(packs.in_line_at_end_packs, 3);
    assert!(is_close(oee.quality.expect("there were packs"), 49.0 / 52.0));
    assert!(is_close(oee.quality_without_in_line.expect("there were packs"), 1.0));
    assert!(is_close(oee.oee, 49.0 / 60.0));
}

/// From design to good: 60 packs in 60 s; 1 for the second before the first product; the web of the start, 3 frames of 2 empty
/// pockets, 6; the second of the dwell that the horizon cuts off, 1; still in the line 3; good 49. 60 - 1 - 6 - 1 - 3 = 49.
#[test]
fn the_ledger_adds_up() {
    let ledger = small_line().run().result.ledger;
    assert!(is_close(ledger.design_packs, 60.0));
    assert_eq!(ledger.causes.len(), 1, "{:?}", ledger.causes);
    assert_eq!((ledger.causes[0].kind, ledger.causes[0].time), (CauseKind::StartUp, span(1.0)));
    assert_eq!((ledger.empty_pockets, ledger.still_in_line_packs, ledger.good_packs), (6, 3, 49));
    assert!((ledger.slow_cycles_packs - 1.0).abs() < 1e-9);
    assert!(ledger.residual_packs().abs() < 1e-9);
}

fn charged(line: &Model, stops: &[(&str, f64, f64)]) -> Vec<(CauseKind, String, f64)> {
    let causes = line.run_stopped(stops).result.ledger.causes;
    causes.into_iter().map(|row| (row.kind, row.station, row.time.seconds())).collect()
}

/// Feeder and press, a piece a second each; the press is judged. It waits for the first piece to 1.0. The feeder stands from
/// 10.5 to 15.5 with half a piece: the press is done at 11, waits 4.5 s for a stopped feeder, and another 0.5 s for the rest of
/// its piece: recovery from that stop.
#[test]
fn a_wait_is_charged_to_the_stop_behind_it_and_then_to_recovery() {
    let line = row(json!([machine("feeder", "1 s"), machine("press", "1 s")]))
        .line(json!({ "constraint": "press" }));
    assert_eq!(
        charged(&line, &[("feeder", 10.5, 5.0)]),
        [
            (CauseKind::Stop, "feeder".to_owned(), 4.5),
            (CauseKind::StartUp, String::new(), 1.0),
            (CauseKind::Recovery, "feeder".to_owned(), 0.5),
        ]
    );
}

/// The other way round: the feeder is judged, and the press stands from 10.5 to 15.5. The feeder is blocked from 11 on, by a
/// stop to 15.5 and by the rest of the press's piece to 16.
#[test]
fn a_blocked_constraint_looks_downstream() {
    let line = row(json!([machine("feeder", "1 s"), machine("press", "1 s")]))
        .line(json!({ "constraint": "feeder" }));
    assert_eq!(
        charged(&line, &[("press", 10.5, 5.0)]),
        [(CauseKind::Stop, "press".to_owned(), 4.5), (CauseKind::Recovery, "press".to_owned(), 0.5)]
    );
}

/// No station is stopped: the feeder needs 1.5 s for a piece, the press 1 s, and the press waits 0.5 s for each: the rate of
/// the feeder. Pieces of 1.5, 3, ... 58.5; the press waits 38 times before the next one, and from 59.5 to the end.
#[test]
fn a_wait_without_any_stop_is_charged_to_the_slowest_station() {
    let line = row(json!([machine("feeder", "1.5 s"), machine("press", "1 s")]))
        .line(json!({ "constraint": "press" }));
    assert_eq!(
        charged(&line, &[]),
        [(CauseKind::Rate, "feeder".to_owned(), 38.0 * 0.5 + 0.5), (CauseKind::StartUp, String::new(), 1.5)]
    );
}
