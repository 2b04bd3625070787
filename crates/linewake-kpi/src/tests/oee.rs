//! OEE and its factors.

use super::story::*;
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// Of 100 s the former stands 15 (long: the limit is 12), 2 and 1 (short). 70 packs cut at an ideal second each, 60
/// good: A = 85/100, P = 70/85, Q = 60/70, OEE = 60/100, A_iso = 82/100.
#[test]
fn the_factors_follow_from_intervals_and_packs() {
    let mut story = Story::new();
    story
        .stop(10.0, FORMER, StoppedWaiting, FILM)
        .stop(14.0, FORMER, StoppedRepair, FILM)
        .at(20.0, FORMER, Starved);
    story.at(25.0, FORMER, Running).at(40.0, FORMER, Starved).at(42.0, FORMER, Running);
    story.at(50.0, FORMER, Blocked).at(51.0, FORMER, Running).packs(100.0, 70, 60).end(100.0);
    let oee = story.sound_result().oee;
    assert_eq!((oee.long_interruptions, oee.long_interruption_time.seconds()), (1, 15.0));
    assert_eq!((oee.short_interruptions, oee.short_interruption_time.seconds()), (2, 3.0));
    assert!((oee.availability - 0.85).abs() < 1e-15);
    assert!((oee.performance.unwrap() - 70.0 / 85.0).abs() < 1e-15);
    assert!((oee.quality.unwrap() - 60.0 / 70.0).abs() < 1e-15);
    assert!((oee.oee - 0.6).abs() < 1e-15);
    assert!((oee.availability_iso - 0.82).abs() < 1e-15);
}

/// Waiting 10 s, a break, waiting 10 s more: two interruptions of 10 s, both short of the limit of 12. The same break
/// counted as downtime: one interruption of 50 s, and 30 of them are charged to the break.
#[test]
fn a_break_that_is_left_out_ends_an_interruption() {
    let tell = |facts| {
        let mut story = Story::with(facts);
        story.at(10.0, FORMER, Starved).line_break(20.0, 50.0).at(60.0, FORMER, Running);
        story.packs(100.0, 50, 50).end(100.0);
        story.sound_result()
    };
    let left_out = tell(facts());
    assert_eq!(left_out.oee.planned_production_time, Span(70_000_000));
    assert_eq!((left_out.oee.long_interruptions, left_out.oee.short_interruptions), (0, 2));
    assert!((left_out.oee.availability - 1.0).abs() < 1e-15);
    assert!((left_out.oee.oee - 50.0 / 70.0).abs() < 1e-15);
    assert!((left_out.oee.availability_iso - 50.0 / 70.0).abs() < 1e-15);

    let mut counted = facts();
    counted.left_out.clear();
    let counted = tell(counted);
    assert_eq!(counted.oee.planned_production_time, Span(100_000_000));
    assert_eq!((counted.oee.long_interruptions, counted.oee.long_interruption_time.seconds()), (1, 50.0));
    let first = &causes(&counted)[0];
    assert_eq!((first.1, first.2, first.3), ("former", "break", 30.0));
}

/// An interruption is cut off at the horizon: 11.9 s of it are short of the limit of 12, 12 s are not.
#[test]
fn the_horizon_cuts_an_interruption_off() {
    for (start_s, long) in [(88.1, 0), (88.0, 1)] {
        let mut story = Story::new();
        story.stop(start_s, FORMER, StoppedRepair, FILM).packs(100.0, 80, 80).end(100.0);
        assert_eq!(story.sound_result().oee.long_interruptions, long);
    }
}

/// Nothing cut, or nothing but long interruptions: P and Q are none, OEE is 0.
#[test]
fn without_packs_or_availability_the_factors_are_none() {
    let mut story = Story::new();
    story.end(100.0);
    let oee = story.sound_result().oee;
    assert_eq!((oee.performance, oee.quality, oee.quality_without_in_line), (None, None, None));
    assert!(oee.oee.abs() < 1e-15 && (oee.availability - 1.0).abs() < 1e-15);

    let mut story = Story::new();
    story.stop(0.0, FORMER, StoppedRepair, FILM).packs(100.0, 3, 2).end(100.0);
    let oee = story.sound_result().oee;
    assert_eq!((oee.performance, oee.quality), (None, None));
    assert!(oee.oee.abs() < 1e-15 && oee.availability.abs() < 1e-15);
}

/// A design rate below what the line did: P over 1, not clipped.
#[test]
fn performance_may_exceed_one() {
    let mut story = Story::new();
    story.packs(100.0, 110, 110).end(100.0);
    let oee = story.sound_result().oee;
    assert!((oee.performance.unwrap() - 1.1).abs() < 1e-12 && (oee.oee - 1.1).abs() < 1e-12);
}

/// A published example: minutes planned, left out and down (in one stop), ideal minutes per pack, packs cut and good.
struct Example {
    planned_min: f64,
    left_out_min: f64,
    down_min: f64,
    ideal_min: f64,
    total: u64,
    good: u64,
}

impl Example {
    fn oee(&self) -> crate::result::Oee {
        let mut facts = facts();
        facts.design_rate_per_min = 1.0 / self.ideal_min;
        facts.short_stop_limit = Span::from_seconds(300.0);
        let mut story = Story::with(facts);
        if self.left_out_min > 0.0 {
            story.line_break(60.0, 60.0 + 60.0 * self.left_out_min);
        }
        let end_s = 60.0 * (self.planned_min + self.left_out_min);
        let down_s = end_s - 600.0 - 60.0 * self.down_min;
        story.stop(down_s, FORMER, StoppedRepair, JAM).at(end_s - 600.0, FORMER, Running);
        story.packs(end_s, self.total, self.good).end(end_s);
        story.sound_result().oee
    }
}

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value}, not {expected}");
}

/// TPM: A Route to World-Class Performance, pp. 127-128: 910 min planned, 115 + 12 min down, cycle 3 min, 203 cycles,
/// 152 right first time: A 86.0 %, P 77.7 % (cut, not rounded), Q 74.9 %, OEE 50 %. Exactly, OEE = 3 x 152 / 910.
#[test]
fn published_example_with_changeover() {
    let example = Example {
        planned_min: 910.0,
        left_out_min: 0.0,
        down_min: 127.0,
        ideal_min: 3.0,
        total: 203,
        good: 152,
    };
    let oee = example.oee();
    near(oee.availability, 0.86, 0.001);
    near(oee.performance.unwrap(), 0.777, 0.001);
    near(oee.quality.unwrap(), 0.749, 0.001);
    near(oee.oee, 0.50, 0.005);
    near(oee.oee, 3.0 * 152.0 / 910.0, 1e-12);
}

/// The same book, p. 82: 1980 min, 50 lost, 2498 pieces at 0.5 min, no rejects: 97.5, 64.7, 100, 63.1 %.
#[test]
fn published_example_without_rejects() {
    let example = Example {
        planned_min: 1980.0,
        left_out_min: 0.0,
        down_min: 50.0,
        ideal_min: 0.5,
        total: 2498,
        good: 2498,
    };
    let oee = example.oee();
    near(oee.availability, 0.975, 0.0005);
    near(oee.performance.unwrap(), 0.647, 0.0005);
    near(oee.quality.unwrap(), 1.0, 1e-12);
    near(oee.oee, 0.631, 0.0005);
}

/// A lecture page on calculating OEE (people.utm.my/shamsul): a shift of 960 min with 60 min of breaks, 90 min down,
/// 1.5 min a unit, 525 units, 56 bad: 90, 97, 89 %; exactly P = 0.97222, Q = 0.89333, OEE = 0.781667.
#[test]
fn published_example_with_breaks_left_out() {
    let example = Example {
        planned_min: 900.0,
        left_out_min: 60.0,
        down_min: 90.0,
        ideal_min: 1.5,
        total: 525,
        good: 469,
    };
    let oee = example.oee();
    near(oee.availability, 0.90, 1e-12);
    near(oee.performance.unwrap(), 525.0 * 1.5 / 810.0, 1e-12);
    near(oee.quality.unwrap(), 469.0 / 525.0, 1e-12);
    near(oee.oee, 0.781_666_666_666_666_6, 1e-12);
}

/// SMRP Best Practices, 6th ed., metric 2.1.1: of 24 h 8 h idle (left out), 1.66 h scheduled and 2.08 h unscheduled
/// downtime, both in the denominator: 12.26 / 16 = 76.63 %.
#[test]
fn published_availability_with_scheduled_downtime_counted() {
    let mut story = Story::with({
        let mut facts = facts();
        facts.short_stop_limit = Span::from_seconds(300.0);
        facts
    });
    let hour = 3600.0;
    story.line_break(1.0 * hour, 9.0 * hour);
    story.stop(10.0 * hour, FORMER, Planned, Reason::CHALLENGE).at(11.66 * hour, FORMER, Running);
    story.stop(12.0 * hour, FORMER, StoppedRepair, JAM).at(14.08 * hour, FORMER, Running).end(24.0 * hour);
    let oee = story.sound_result().oee;
    near(oee.availability, 0.7663, 0.0001);
    near(oee.availability_iso, 12.26 / 16.0, 1e-12);
}

/// The formulas of ISO 22400-2 (read in a public ontology of it) on made-up numbers: APT 360, PBT 480 min,
/// PRI 0.5 min, PQ 684, GQ 670: availability 0.75, OEE index = PRI x GQ / PBT = 0.697917. All interruptions here are
/// long, so A = A_iso and P is the effectiveness 0.95.
#[test]
fn formulas_of_the_standard() {
    let example = Example {
        planned_min: 480.0,
        left_out_min: 0.0,
        down_min: 120.0,
        ideal_min: 0.5,
        total: 684,
        good: 670,
    };
    let oee = example.oee();
    near(oee.availability_iso, 0.75, 1e-12);
    near(oee.performance.unwrap(), 0.95, 1e-12);
    near(oee.quality.unwrap(), 670.0 / 684.0, 1e-12);
    near(oee.oee, 0.697_916_666_666_666_6, 1e-12);
}
