//! Packs: the ledger's rows, what a stop spoils, escapes, contents, and the Pareto.

use super::story::*;
use crate::pareto::StopPareto;
use crate::result::CauseKind;
use linewake_log::event::{Counter, EventKind};
use linewake_model::stop::Reason;

/// 100 s at a pack a second = 100 by design. A jam of 18 s; 82 s running less 70 packs less 2 empty pockets = 10 slow;
/// 2 packs held in the seal and 1 underweight rejected; cut 70 - good 60 - rejected 3 = 7 in the line.
/// 100 - 18 - 10 - 2 - 3 - 7 = 60.
fn told() -> Story {
    let mut story = Story::new();
    story.stop(10.0, FORMER, StoppedRepair, JAM).at(28.0, FORMER, Running);
    story.packs(100.0, 70, 60).count(100.0, FORMER, Counter::EmptyPockets, 2);
    story.count_for(100.0, ROBOT, Counter::Rejected, Reason::HELD_IN_SEAL, 2);
    story.count_for(100.0, GATE, Counter::Rejected, Reason::UNDERWEIGHT, 1);
    story.count_for(100.0, GATE, Counter::Escaped, Reason::LEAK, 4);
    story.count(100.0, PACKER, Counter::HandedOver, 48).count(100.0, PACKER, Counter::Cased, 4);
    story.end(100.0);
    story
}

#[test]
fn the_ledger_goes_from_design_to_good() {
    let result = told().sound_result();
    let ledger = &result.ledger;
    assert!((ledger.design_packs - 100.0).abs() < 1e-12);
    assert!((ledger.causes[0].packs - 18.0).abs() < 1e-12);
    assert!((ledger.slow_cycles_packs - 10.0).abs() < 1e-12);
    assert_eq!((ledger.empty_pockets, ledger.still_in_line_packs, ledger.good_packs), (2, 7, 60));
    let rejects: Vec<_> =
        ledger.rejects.iter().map(|it| (it.station.as_str(), it.reason.as_str(), it.packs)).collect();
    assert_eq!(rejects, [("robot", "held_in_seal", 2), ("checkweigher", "underweight", 1)]);
    assert!(ledger.rejects[0].consequence_of_stop && !ledger.rejects[1].consequence_of_stop);
    assert_eq!(result.packs.rejected_packs, 3);
    assert_eq!(
        (result.packs.good_in_cases_packs, result.packs.good_waiting_packs, result.packs.cases),
        (Some(48), Some(12), 4)
    );
    assert_eq!((result.packs.escaped[0].reason.as_str(), result.packs.escaped[0].packs), ("leak", 4));
    // 60 of the 63 packs that are past the gate.
    assert!((result.oee.quality_without_in_line.unwrap() - 60.0 / 63.0).abs() < 1e-15);
}

/// A stop of 18 s spoils nothing (over 20 s does); the film change of 25 s does, the 8 packs stand beside it.
#[test]
fn packs_that_a_stop_spoils_stand_beside_it() {
    let mut story = Story::new();
    story.stop(10.0, FORMER, StoppedRepair, JAM).at(28.0, FORMER, Running);
    story
        .stop(30.0, FORMER, StoppedWaiting, FILM)
        .stop(40.0, FORMER, StoppedRepair, FILM)
        .at(55.0, FORMER, Running);
    story.stop(57.0, FORMER, StoppedRepair, JAM).at(58.0, FORMER, Running);
    story.count_for(60.0, FORMER, Counter::Tagged, Reason::HELD_IN_SEAL, 8);
    story.count_for(70.0, FORMER, Counter::Tagged, Reason::MISPRINT, 3);
    story.end(100.0);
    let result = story.sound_result();
    let rows: Vec<_> =
        result.ledger.causes.iter().map(|it| (it.reason.as_str(), it.consequent_packs)).collect();
    assert_eq!(rows, [("film change", 8), ("jam", 0)]);
}

/// Aged product can be due to any station's stop. The jam of the packer blocks the former 10-40 (30 s), the film change
/// 45-50 is shorter by more than the 10 s since: the tags at 50 are the jam's. At 80, 40 s later, they are those of the
/// film change at 70-75.
#[test]
fn aged_product_stands_beside_the_stop_that_held_up_longest_of_late() {
    let mut facts = facts();
    facts.consequences[0].tag = Reason::AGED;
    facts.consequences[0].station = None;
    let mut story = Story::with(facts);
    story.stop(5.0, PACKER, StoppedRepair, JAM).at(10.0, GATE, Blocked).at(10.0, BELT, Blocked);
    story
        .at(10.0, ROBOT, Blocked)
        .at(10.0, FORMER, Blocked)
        .at(40.0, PACKER, Running)
        .at(40.0, GATE, Running);
    story.at(40.0, BELT, Running).at(40.0, ROBOT, Running).at(40.0, FORMER, Running);
    story.stop(45.0, FORMER, StoppedRepair, FILM).at(50.0, FORMER, Running);
    story.count_for(50.0, FORMER, Counter::Tagged, Reason::AGED, 8);
    story.stop(70.0, FORMER, StoppedRepair, FILM).at(75.0, FORMER, Running);
    story.count_for(80.0, FORMER, Counter::Tagged, Reason::AGED, 12).end(100.0);
    let result = story.sound_result();
    let rows: Vec<_> =
        result.ledger.causes.iter().map(|it| (it.reason.as_str(), it.consequent_packs)).collect();
    assert_eq!(rows, [("jam", 8), ("film change", 4)]);
}

/// 2 pieces for 30 s and 5 for 70 s: 410 piece-seconds in 100 s.
#[test]
fn mean_content_follows_from_content_time() {
    let mut story = Story::new();
    story.push(30.0, TABLE, EventKind::Content { pieces: 5 });
    story.count(100.0, TABLE, Counter::ContentTime, 410_000_000).count(
        100.0,
        TABLE,
        Counter::FullTime,
        7_000_000,
    );
    story.end(100.0);
    let content = story.sound_result().stations[TABLE].content.unwrap();
    assert_eq!((content.at_start_pieces, content.at_end_pieces, content.capacity_pieces), (0, 5, Some(60)));
    assert!((content.mean_pieces.unwrap() - 4.1).abs() < 1e-12);
    assert_eq!((content.full.seconds(), content.empty.seconds()), (7.0, 0.0));
}

/// Good packs by the hour: rows on the hour belong to the hour before; the last bin has what is left.
#[test]
fn output_is_binned_by_the_hour() {
    let mut story = Story::new();
    story.packs(10.0, 9, 5).packs(3600.0, 40, 30).packs(3610.0, 45, 31).packs(9000.0, 90, 80).end(9000.0);
    let bins = story.sound_result().output;
    let told: Vec<_> =
        bins.iter().map(|it| (it.start.seconds(), it.length.seconds(), it.good_packs)).collect();
    assert_eq!(told, [(0.0, 3600.0, 30), (3600.0, 3600.0, 1), (7200.0, 1800.0, 49)]);
}

/// Two shifts: in the first the jam costs 18 packs; in the second the portioner jams 5-20 s, the former waits 10-20
/// for it and 20-24 while the line refills. Rows: former jam 18, portioner jam 10 + 4; 18/32 and 14/32.
#[test]
fn the_pareto_sums_shifts_and_counts_recovery_with_its_stop() {
    let mut second = Story::new();
    second.stop(5.0, PORTIONER, StoppedWaiting, JAM).stop(9.0, PORTIONER, StoppedRepair, JAM);
    second.at(8.0, LOADER, Starved).at(10.0, FORMER, Starved).at(20.0, PORTIONER, Running);
    second.events.sort_by_key(|event| event.at);
    second.at(24.0, FORMER, Running).line_break(50.0, 60.0).end(100.0);
    let pareto = StopPareto::of(&[told().sound_result(), second.sound_result()]);
    assert_eq!(pareto.shifts, 2);
    assert!((pareto.charged_packs - 32.0).abs() < 1e-9);
    let first = &pareto.rows[0];
    assert_eq!((first.station.as_str(), first.count, first.stopped.seconds()), ("former", 1, 18.0));
    assert!((first.share - 18.0 / 32.0).abs() < 1e-12);
    let second = &pareto.rows[1];
    assert_eq!(
        (second.kind, second.station.as_str(), second.reason.as_str()),
        (CauseKind::Stop, "portioner", "jam")
    );
    assert_eq!((second.stopped.seconds(), second.waiting.seconds()), (15.0, 4.0));
    assert!((second.packs - 14.0).abs() < 1e-9 && (second.recovery_packs - 4.0).abs() < 1e-9);
    assert!((second.cumulative_share - 1.0).abs() < 1e-12);
    // The break has minutes and no packs, at every station.
    assert!(
        pareto.rows[2..].iter().all(|row| row.reason == "break" && row.packs.abs() < 1e-12 && row.count == 1)
    );
}

#[test]
fn results_are_serialised_with_units_in_the_keys() {
    let json = serde_json::to_value(told().sound_result()).unwrap();
    assert_eq!(json["oee"]["running_s"], 82.0);
    assert_eq!(json["ledger"]["causes"][0]["time_s"], 18.0);
    assert_eq!(json["ledger"]["causes"][0]["kind"], "stop");
    assert_eq!(json["stations"][FORMER]["states"]["stopped_repair_s"], 18.0);
    assert_eq!(json["stations"][TABLE]["states"], serde_json::Value::Null);
    assert_eq!(json["window_end_s"], 100.0);
}
