//! Warm-up, and logs that are not sound.

use super::story::*;
use crate::result::{CauseKind, Doubt};
use linewake_log::event::{Counter, EventKind};
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use proptest::prelude::*;

/// Warm-up 50 s. A jam of the former 40-70 falls across its end: 20 s of it are in the window, one interruption of
/// 20 s, no stop begins. 30 packs were cut and 20 good before: 10 in the line. At 150 s 100 are cut and 92 good, 3
/// rejected: 5 in the line, so content fell by 5. In the window: 70 cut, 72 good, quality 72/70.
#[test]
fn everything_counts_from_the_end_of_the_warm_up() {
    let mut story = Story::new();
    story.stop(10.0, FORMER, StoppedRepair, FILM).at(20.0, FORMER, Running).stop(
        40.0,
        FORMER,
        StoppedWaiting,
        JAM,
    );
    story.packs(40.0, 30, 15).push(40.0, TABLE, EventKind::Content { pieces: 4 });
    story.warm_up_end(50.0).packs(50.0, 30, 20).push(50.0, TABLE, EventKind::Content { pieces: 6 });
    story.stop(60.0, FORMER, StoppedRepair, JAM).at(70.0, FORMER, Running);
    story.count_for(150.0, GATE, Counter::Rejected, Reason::OVERWEIGHT, 3);
    story.packs(150.0, 100, 92).push(150.0, TABLE, EventKind::Content { pieces: 1 }).end(150.0);
    let result = story.sound_result();
    assert_eq!((result.window_start, result.window_end), (Moment(50_000_000), Moment(150_000_000)));
    assert_eq!((result.oee.total_packs, result.oee.good_packs), (70, 72));
    assert!((result.oee.quality.unwrap() - 72.0 / 70.0).abs() < 1e-15);
    assert_eq!((result.packs.in_line_at_start_packs, result.packs.in_line_at_end_packs), (10, 5));
    assert_eq!(result.ledger.still_in_line_packs, -5);
    assert_eq!((result.oee.long_interruptions, result.oee.long_interruption_time.seconds()), (1, 20.0));
    assert_eq!(causes(&result), [(CauseKind::Stop, "former", "jam", 20.0, 10.0)]);
    let stops = &result.stations[FORMER].stops;
    assert_eq!(
        (stops.len(), stops[0].count, stops[0].waiting.seconds(), stops[0].repair.seconds()),
        (1, 0, 10.0, 10.0)
    );
    let content = result.stations[TABLE].content.unwrap();
    assert_eq!((content.at_start_pieces, content.at_end_pieces), (6, 1));
}

/// Recovery from a stop in the warm-up is recovery in the window too.
#[test]
fn the_warm_up_is_remembered_where_it_explains_the_window() {
    let mut story = Story::new();
    story.at(30.0, FORMER, Starved).stop(30.0, PORTIONER, StoppedRepair, JAM).at(48.0, PORTIONER, Running);
    story.warm_up_end(50.0).at(53.0, FORMER, Running).end(100.0);
    assert_eq!(causes(&story.sound_result()), [(CauseKind::Recovery, "portioner", "jam", 3.0, 0.0)]);
}

#[test]
fn a_log_without_its_end_is_doubted() {
    let mut story = Story::new();
    story.packs(90.0, 80, 70).at(95.0, FORMER, Starved);
    let result = story.result();
    assert_eq!(result.doubts, [Doubt::NoEnd]);
    assert_eq!(result.window_end, Moment(95_000_000));
    assert_adds_up(&result);
}

#[test]
fn a_log_without_its_warm_up_end_is_doubted() {
    let mut story = Story::new();
    story.warm_up_end(50.0).end(100.0);
    story.events.retain(|event| event.kind != EventKind::WarmUpEnd);
    assert_eq!(story.result().doubts, [Doubt::NoWarmUpEnd]);
}

/// Without a state of the constraint up to 30 s, that time is charged to nothing known; the ledger closes all the same.
#[test]
fn time_without_a_state_is_told() {
    let mut story = Story::new();
    story.events.retain(|event| usize::from(event.station) != FORMER);
    story.at(30.0, FORMER, Running).at(31.0, LOADER, Starved).end(100.0);
    let result = story.result();
    assert_eq!(result.doubts, [Doubt::NoState("former".to_owned())]);
    assert_eq!(causes(&result), [(CauseKind::Unknown, "", "", 30.0, 0.0)]);
    assert!(result.ledger.residual_packs().abs() < 1e-9);
}

#[test]
fn rows_that_do_not_fit_are_counted() {
    let mut story = Story::new();
    story.at(10.0, FORMER, Starved).at(5.0, FORMER, Running);
    story.push(20.0, 99, EventKind::Content { pieces: 1 });
    let last = story.events.len();
    story.at(30.0, LOADER, Starved).at(31.0, LOADER, Running).end(100.0);
    story.events.remove(last);
    let doubts = story.result().doubts;
    assert_eq!(
        doubts,
        [Doubt::StateGap("loader".to_owned(), 1), Doubt::TimeGoesBack(1), Doubt::UnknownName(1)]
    );
}

proptest! {
    /// Whatever the states do, times add up to the microsecond and the ledger closes.
    #[test]
    fn the_ledger_closes_on_any_log(
        rows in proptest::collection::vec((0_u32..400, 0_usize..10, 0_usize..6, 0_usize..4), 0..120),
        warm_up in prop::option::of(0_u32..400),
        (cut, good, rejected) in (0_u64..300, 0_u64..300, 0_u64..9),
    ) {
        let mut rows = rows;
        rows.sort_by_key(|(at, ..)| *at);
        let mut story = Story::new();
        let mut warm_up = warm_up;
        for (at, station, state, reason) in rows {
            let at_s = f64::from(at) / 4.0;
            if let Some(end) = warm_up.filter(|&end| end <= at) {
                warm_up = None;
                story.warm_up_end(f64::from(end) / 4.0).packs(f64::from(end) / 4.0, cut / 2, good / 2);
            }
            if station != TABLE && station != 2 {
                let reason = [Reason::BREAK, Reason::CHALLENGE, JAM, FILM][reason];
                story.stop(at_s, station, linewake_log::event::StationState::ALL[state], reason);
            }
        }
        story.count_for(100.0, GATE, Counter::Rejected, Reason::OVERWEIGHT, rejected).packs(100.0, cut, good).end(100.0);
        story.sound_result();
    }
}
