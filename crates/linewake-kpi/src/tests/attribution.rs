//! To which cause the constraint's time is charged.

use super::story::*;
use crate::result::CauseKind::{Planned as PlannedStop, Rate, Recovery, StartUp, Stop, Supply};
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// The portioner jams from 10 to 20 s (an operator comes at 17), the loader runs dry at 12, the former at 15.
/// 15-17 the jam waits, 17-20 it is put right; 20-30 the line refills, the loader running from 25.
/// The former runs 30-38: 8 s, less than the 13 s of transit, so what it waits 38-40 is still recovery.
/// It runs 40-60: 20 s. So 60-61 is the rate of the slowest station upstream: the portioner (65/min).
#[test]
fn a_chain_of_starved_stations_leads_to_the_jam_and_then_to_recovery() {
    let mut story = Story::new();
    story.stop(10.0, PORTIONER, StoppedWaiting, JAM).at(12.0, LOADER, Starved).at(15.0, FORMER, Starved);
    story.stop(17.0, PORTIONER, StoppedRepair, JAM).at(20.0, PORTIONER, Running).at(25.0, LOADER, Running);
    story.at(30.0, FORMER, Running).at(38.0, FORMER, Starved).at(40.0, FORMER, Running);
    story.at(60.0, FORMER, Starved).at(61.0, FORMER, Running).packs(100.0, 70, 60).end(100.0);
    let result = story.sound_result();
    assert_eq!(
        causes(&result),
        [
            (Recovery, "portioner", "jam", 12.0, 0.0),
            (Stop, "portioner", "jam", 5.0, 2.0),
            (Rate, "portioner", "", 1.0, 0.0),
        ]
    );
    let jam = &result.stations[PORTIONER].stops[0];
    assert_eq!((jam.count, jam.waiting.seconds(), jam.repair.seconds()), (1, 7.0, 3.0));
}

/// The packer jams 10-40 (operator at 30); the table is full, the gate blocked from 20, the rigid belt stands from 22,
/// the robot waits from 24, the former from 26. 26-30 the jam waits, 30-40 it is put right. Then the line empties:
/// the former goes on at 45. It runs 45-55 = 10 s, less than the 15.5 s from the packer: 55-56 is recovery too.
#[test]
fn a_chain_of_blocked_stations_leads_to_the_jam_and_then_to_recovery() {
    let mut story = Story::new();
    story.stop(10.0, PACKER, StoppedWaiting, JAM).at(20.0, GATE, Blocked).at(22.0, BELT, Blocked);
    story.at(24.0, ROBOT, Blocked).at(26.0, FORMER, Blocked).stop(30.0, PACKER, StoppedRepair, JAM);
    story.at(40.0, PACKER, Running).at(42.0, GATE, Running).at(43.0, BELT, Running).at(44.0, ROBOT, Running);
    story.at(45.0, FORMER, Running).at(55.0, FORMER, Blocked).at(56.0, FORMER, Running);
    story.at(80.0, FORMER, Blocked).at(82.0, FORMER, Running).packs(100.0, 70, 60).end(100.0);
    assert_eq!(
        causes(&story.sound_result()),
        [
            (Stop, "packer", "jam", 14.0, 4.0),
            (Recovery, "packer", "jam", 6.0, 0.0),
            (Rate, "checkweigher", "", 2.0, 0.0),
        ]
    );
}

/// A rigid belt that moves is not what holds the robot up, whatever stands behind it; upstream it is passed through.
#[test]
fn a_moving_rigid_belt_ends_the_way_downstream_and_not_upstream() {
    let mut story = Story::new();
    story.stop(10.0, GATE, StoppedRepair, JAM).at(10.0, ROBOT, Blocked).at(10.0, FORMER, Blocked);
    story.at(12.0, FORMER, Running).at(12.0, ROBOT, Running).at(13.0, GATE, Running).end(100.0);
    assert_eq!(causes(&story.sound_result()), [(Rate, "checkweigher", "", 2.0, 0.0)]);

    let mut facts = facts();
    facts.constraint = PACKER as u16;
    let mut story = Story::with(facts);
    story.stop(10.0, ROBOT, StoppedRepair, JAM).at(21.0, GATE, Starved).at(30.0, PACKER, Starved);
    story.at(32.0, ROBOT, Running).at(33.0, GATE, Running).at(34.0, PACKER, Running).end(100.0);
    let result = story.sound_result();
    // 30-32 the jam, 32-34 what it leaves behind.
    assert_eq!(causes(&result), [(Stop, "robot", "jam", 2.0, 0.0), (Recovery, "robot", "jam", 2.0, 0.0)]);
}

/// The former works on the empty web 0-3, waits for its first array 3-12, and later 50-52: that is rate.
#[test]
fn waiting_for_the_first_product_is_start_up() {
    let mut story = Story::new();
    story.made = 0;
    for event in &mut story.events {
        if let linewake_log::event::EventKind::State { made, .. } = &mut event.kind {
            *made = 0;
        }
    }
    story.at(3.0, FORMER, Starved).at(12.0, FORMER, Running);
    story.at(50.0, FORMER, Starved).at(52.0, FORMER, Running).end(60.0);
    assert_eq!(
        causes(&story.sound_result()),
        [(StartUp, "", "", 9.0, 0.0), (Rate, "portioner", "", 2.0, 0.0)]
    );
}

/// A stop before the first product is charged to itself; the rest of the wait is start-up: 3-5 and 8-12 of it.
#[test]
fn a_stop_in_the_start_up_is_charged_to_itself() {
    let mut story = Story::new();
    story.made = 0;
    for event in &mut story.events {
        if let linewake_log::event::EventKind::State { made, .. } = &mut event.kind {
            *made = 0;
        }
    }
    story.at(0.0, LOADER, Starved).at(3.0, FORMER, Starved).stop(5.0, PORTIONER, StoppedRepair, JAM);
    story.at(8.0, PORTIONER, Running).at(12.0, FORMER, Running).end(60.0);
    assert_eq!(
        causes(&story.sound_result()),
        [(StartUp, "", "", 6.0, 0.0), (Stop, "portioner", "jam", 3.0, 0.0)]
    );
}

/// The hopper is empty 10-30 while the kitchen prepares; the former waits 15-36: 15 s supply, 6 s recovery from it.
/// Later the kitchen itself has an own stop while the hopper is empty: that is charged to the stop.
#[test]
fn an_empty_hopper_is_charged_to_supply() {
    let mut story = Story::new();
    story.at(10.0, PORTIONER, Starved).at(12.0, LOADER, Starved).at(15.0, FORMER, Starved);
    story.at(30.0, PORTIONER, Running).at(34.0, LOADER, Running).at(36.0, FORMER, Running);
    story.at(60.0, PORTIONER, Starved).at(60.0, LOADER, Starved).at(60.0, FORMER, Starved);
    story.stop(61.0, SUPPLY, StoppedRepair, JAM).at(65.0, SUPPLY, Running);
    story.at(70.0, PORTIONER, Running).at(70.0, LOADER, Running).at(70.0, FORMER, Running).end(100.0);
    assert_eq!(
        causes(&story.sound_result()),
        [
            // 15-30, 60-61, 65-70.
            (Supply, "supply", "", 21.0, 0.0),
            (Recovery, "supply", "", 6.0, 0.0),
            (Stop, "supply", "jam", 4.0, 0.0),
        ]
    );
}

/// While one stop is under way behind a station that is itself stopped, the nearest counts.
#[test]
fn of_two_stops_on_the_path_the_nearer_one_counts() {
    let mut story = Story::new();
    story.stop(10.0, PORTIONER, StoppedRepair, JAM).at(11.0, LOADER, Starved).at(12.0, FORMER, Starved);
    story.stop(15.0, LOADER, StoppedRepair, JAM).at(18.0, LOADER, Starved).at(30.0, PORTIONER, Running);
    story.at(35.0, LOADER, Running).at(36.0, FORMER, Running).end(100.0);
    assert_eq!(
        causes(&story.sound_result()),
        [
            // 12-15 and 18-30.
            (Stop, "portioner", "jam", 15.0, 0.0),
            (Recovery, "portioner", "jam", 6.0, 0.0),
            (Stop, "loader", "jam", 3.0, 0.0),
        ]
    );
}

/// Recovery from the portioner's jam ends where the loader's begins, and is not taken up again after it.
#[test]
fn another_stop_on_the_path_ends_recovery() {
    let mut story = Story::new();
    story.stop(5.0, PORTIONER, StoppedRepair, JAM).at(10.0, PORTIONER, Running).at(10.0, FORMER, Starved);
    story.at(12.0, FORMER, Running).stop(14.0, LOADER, StoppedRepair, JAM).at(15.0, LOADER, Running);
    // The loader lies next to the former: its recovery is over as soon as the former has run, at 14 already.
    story.at(18.0, FORMER, Starved).at(19.0, FORMER, Running).end(100.0);
    assert_eq!(
        causes(&story.sound_result()),
        [(Recovery, "portioner", "jam", 2.0, 0.0), (Rate, "portioner", "", 1.0, 0.0)]
    );
}

/// The former's own stop, and a challenge of the gate that blocks it.
#[test]
fn own_and_planned_stops_are_charged_to_themselves() {
    let mut story = Story::new();
    story
        .stop(10.0, FORMER, StoppedWaiting, FILM)
        .stop(15.0, FORMER, StoppedRepair, FILM)
        .at(45.0, FORMER, Running);
    story.stop(50.0, GATE, Planned, Reason::CHALLENGE).at(52.0, BELT, Blocked).at(52.0, ROBOT, Blocked);
    story.at(53.0, FORMER, Blocked).at(60.0, GATE, Running).at(60.0, BELT, Running).at(60.0, ROBOT, Running);
    story.at(60.0, FORMER, Running).end(100.0);
    let result = story.sound_result();
    assert_eq!(
        causes(&result),
        [(Stop, "former", "film change", 35.0, 5.0), (PlannedStop, "checkweigher", "challenge", 7.0, 0.0)]
    );
    assert!(result.stations[GATE].stops[0].planned);
}

/// A break (20-50) in the middle of a jam (5-55): one stop of 20 s, and the former's wait is charged to it on both
/// sides of the break; recovery goes on through a second break as if it had not been.
#[test]
fn a_break_freezes_stops_and_recovery() {
    let mut story = Story::new();
    story.stop(5.0, PORTIONER, StoppedRepair, JAM).at(8.0, LOADER, Starved).at(10.0, FORMER, Starved);
    story.line_break(20.0, 50.0).at(55.0, PORTIONER, Running).at(58.0, LOADER, Running);
    // It runs 6 s before the second break and 6 s after it: 12 s, less than 13, so 77-78 is recovery.
    story
        .at(60.0, FORMER, Running)
        .line_break(66.0, 71.0)
        .at(77.0, FORMER, Starved)
        .at(78.0, FORMER, Running);
    story.end(100.0);
    let result = story.sound_result();
    assert_eq!(
        causes(&result),
        [(Stop, "portioner", "jam", 15.0, 0.0), (Recovery, "portioner", "jam", 6.0, 0.0)]
    );
    let stops: Vec<_> = result.stations[PORTIONER]
        .stops
        .iter()
        .map(|it| (it.reason.as_str(), it.count, it.repair.seconds()))
        .collect();
    assert_eq!(stops, [("break", 2, 35.0), ("jam", 1, 20.0)]);
    assert_eq!(result.oee.left_out, Span(35_000_000));
}

/// Two stops in a row without running between are two; the second part of one stop is none of its own.
#[test]
fn stops_are_counted_once_each() {
    let mut story = Story::new();
    story.stop(10.0, FORMER, StoppedWaiting, JAM).stop(12.0, FORMER, StoppedRepair, JAM);
    story.stop(20.0, FORMER, StoppedRepair, FILM).stop(30.0, FORMER, StoppedWaiting, JAM);
    story
        .stop(31.0, FORMER, StoppedRepair, JAM)
        .stop(40.0, FORMER, StoppedWaiting, JAM)
        .at(50.0, FORMER, Running);
    story.end(100.0);
    let result = story.sound_result();
    let stops: Vec<_> = result.stations[FORMER]
        .stops
        .iter()
        .map(|it| (it.reason.as_str(), it.count, it.waiting.seconds(), it.repair.seconds()))
        .collect();
    assert_eq!(stops, [("jam", 3, 13.0, 17.0), ("film change", 1, 0.0, 10.0)]);
    assert_eq!(result.stations[FORMER].own_stops(), 4);
    assert_eq!(result.stations[FORMER].running_time_between_stops_s(), Some(15.0));
    assert_eq!(result.stations[FORMER].time_to_restore_s(), Some(10.0));
}
