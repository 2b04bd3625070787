//! Conventions: what minor stops are a loss of, and which planned stops are left out, on logs told by hand.

use super::story::*;
use crate::convention::{Conventions, MinorStops, PlannedStops, Split};
use linewake_model::stop::Reason;

fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1e-12, "{value}, not {expected}");
}

fn assert_split(split: Split<f64>, availability: f64, performance: f64) {
    near(split.availability, availability);
    near(split.performance.expect("packs were cut"), performance);
}

/// Of 100 s the former stands 15 (long: the limit is 12) and 5 (short). 60 packs cut at an ideal second each, 45 good.
/// Minor stops as a performance loss: A = 85/100, P = 60/85. As an availability loss (actual unit delay time of ISO
/// 22400-2): A = 80/100, P = 60/80. Q = 45/60 and OEE = 45/100 either way.
#[test]
fn minor_stops_move_between_availability_and_performance() {
    let mut story = Story::new();
    story.stop(10.0, FORMER, StoppedRepair, FILM).at(25.0, FORMER, Running);
    story.stop(50.0, FORMER, StoppedRepair, JAM).at(55.0, FORMER, Running);
    story.packs(100.0, 60, 45).end(100.0);
    let oee = story.sound_result().oee;
    assert_split(oee.split(MinorStops::Performance), 0.85, 60.0 / 85.0);
    assert_split(oee.split(MinorStops::Availability), 0.8, 60.0 / 80.0);
    near(oee.quality.expect("packs were cut"), 0.75);
    near(oee.oee, 0.45);
}

/// Of 100 s a break takes 20 and a challenge of the constraint 10; 35 packs good of 35 cut. The model leaves the break
/// out: 80 s planned, A = 70/80 (the limit is 10 s), OEE 35/80. In: 100 s, A = 70/100, OEE 35/100. Out: 70 s, A = 1,
/// OEE 35/70. The packs, the time running and P are the same.
#[test]
fn planned_stops_are_in_or_out_as_chosen() {
    let account = |planned_stops| {
        let mut facts = facts();
        facts.short_stop_limit = linewake_model::time::Span(10_000_000);
        let mut story = Story::with(facts).under(Conventions { planned_stops, ..Conventions::default() });
        story.line_break(10.0, 30.0);
        story.stop(50.0, FORMER, Planned, Reason::CHALLENGE).at(60.0, FORMER, Running);
        story.packs(100.0, 35, 35).end(100.0);
        story.sound_result()
    };
    let expected = [
        (PlannedStops::AsModelled, 80.0, 0.875, 0.4375),
        (PlannedStops::In, 100.0, 0.7, 0.35),
        (PlannedStops::Out, 70.0, 1.0, 0.5),
    ];
    for (planned_stops, planned_s, availability, oee) in expected {
        let result = account(planned_stops);
        assert_eq!(result.conventions.planned_stops, planned_stops);
        near(result.oee.planned_production_time.seconds(), planned_s);
        near(result.oee.availability, availability);
        near(result.oee.availability_iso, availability);
        near(result.oee.performance.expect("packs were cut"), 0.5);
        near(result.oee.oee, oee);
        near(result.ledger.design_packs, planned_s);
    }
    // What is counted in is charged to the planned stop.
    let causes: Vec<(String, f64)> = causes(&account(PlannedStops::In))
        .iter()
        .map(|(_, station, reason, seconds, _)| (format!("{station}: {reason}"), *seconds))
        .collect();
    assert_eq!(causes, [("former: break".to_owned(), 20.0), ("former: challenge".to_owned(), 10.0)]);
}

/// A planned stop with a reason that the model knows nothing of (a log of a real line) is left out as well.
#[test]
fn out_leaves_every_planned_stop_out() {
    let conventions = Conventions { planned_stops: PlannedStops::Out, ..Conventions::default() };
    let mut story = Story::new().under(conventions);
    story.stop(20.0, FORMER, Planned, FILM).at(60.0, FORMER, Running).packs(100.0, 30, 30).end(100.0);
    near(story.sound_result().oee.planned_production_time.seconds(), 60.0);
}

/// Running time zero: there is no performance to divide by it.
#[test]
fn without_running_time_the_performance_of_the_standard_is_none() {
    let mut story = Story::new();
    story.at(0.0, FORMER, Blocked).packs(11.0, 5, 5).end(11.0);
    let oee = story.sound_result().oee;
    assert_eq!(oee.split(MinorStops::Availability), Split { availability: 0.0, performance: None });
    near(oee.performance.expect("packs were cut"), 5.0 / 11.0);
}
