//! The reference line without stops, rejects and tests, worked by hand: every moment below follows from the cycle
//! arithmetic of the model file, to the microsecond.

use linewake_engine::plan::{InjectedStop, RunPlan};
use linewake_engine::{header, run};
use linewake_kpi::accumulator::Accumulator;
use linewake_log::event::{Counter, Detail, Event, EventKind, Keep, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::time::{Moment, Span};
use linewake_stats::distribution::Distribution;
use linewake_tests::load_model;

/// 60 / 112 s, 60 / 13 s and 0.25 / 0.6 s, each rounded once to microseconds.
const CUT: u64 = 535_714;
const CYCLE: u64 = 4_615_385;
const PITCH: u64 = 416_667;

/// The reference line without anything random: no stops by the plan, no defects, no rejects, no challenge.
fn without_luck() -> Line {
    let mut line = load_model("alder-hill-mince");
    for station in &mut line.stations {
        match &mut station.kind {
            // The kitchen takes as long as it mostly does: 300 kg every 372 s, and the line uses 261 kg in that time.
            StationKind::BulkSupply(supply) => supply.preparation_s = Distribution::Constant { value: 372.0 },
            StationKind::Portioner(portioner) => {
                portioner.weight.sd_g = 0.0;
                portioner.weight.sd_batch_g = 0.0;
            }
            StationKind::Former(former) => {
                former.printer = None;
                former.vision = None;
                former.leak_probability = 0.0;
                former.label_missing_probability = 0.0;
                former.contaminated_probability = 0.0;
            }
            StationKind::PickRobot(robot) => robot.drop_probability = 0.0,
            StationKind::Gate(gate) => {
                gate.finds.clear();
                gate.false_reject = 0.0;
                gate.challenge = None;
                if let Some(weigher) = &mut gate.weigher {
                    weigher.sd_g = 0.0;
                }
            }
            _ => {}
        }
    }
    line
}

fn plan_without_stops(line: &Line) -> RunPlan {
    RunPlan { own_stops: false, ..RunPlan::shift(line) }
}

fn events_of(line: &Line, plan: &RunPlan) -> Vec<Event> {
    let mut keep = Keep::new(Detail::Packs);
    run(line, plan, 1, 0, &mut keep);
    keep.events
}

fn first(events: &[Event], wanted: impl Fn(&Event) -> bool) -> u64 {
    events.iter().find(|event| wanted(event)).expect("it happens").at.0
}

/// When array k (from 0) is ready: portion j (from 1) lies on belt A at j cuts + 3 s of infeed transit; each file of four
/// needs 0.45 s to pass and 0.35 s to traverse, except that after the last lane there is no traverse.
///
/// First array: portion 16 at 16 x 0.535714 + 3 = 11.571424 s, passed at 12.021424 s (the third file was ready for its
/// place at 10.228568 s).
const FIRST_ARRAY: u64 = 16 * CUT + 3_000_000 + 450_000;

/// Start of the third dwell: load 0.9 s, advance 0.7 s; then a dwell of 3.4 s and an advance of 0.7 s, which is shorter
/// than the cap: the third dwell starts one cycle after the second. From here on the cap sets the pace, because the
/// second array is ready at 32 cuts + 3.45 s = 20.592848 s, within that dwell (18.236809 to 21.636809 s).
const THIRD_DWELL: u64 = FIRST_ARRAY + 900_000 + 700_000 + CYCLE;

/// A frame loaded at position 4 is in the pick zone (15) after 11 advances. Advance n ends 4.1 s after dwell n began.
const FIRST_FRAME_IN_ZONE: u64 = THIRD_DWELL + 8 * CYCLE + 4_100_000;

#[test]
fn first_pack_in_the_pick_zone() {
    let line = without_luck();
    let events = events_of(&line, &plan_without_stops(&line));
    let robot = line.station("pick robot").unwrap() as u16;
    let arrival = first(&events, |event| {
        event.station == robot && matches!(event.kind, EventKind::Pack { step: PackStep::Entered, .. })
    });
    assert_eq!(FIRST_FRAME_IN_ZONE, 59_259_889);
    assert_eq!(arrival, FIRST_FRAME_IN_ZONE);
}

/// When pack n (from 0) reaches the end of the belt: frame n / 8 comes one cycle after the one before; group g of two is
/// placed 0.92 s after the group before; the second pack of a group lies one pitch behind; the belt takes 10 s.
fn at_belt_end(pack: u64) -> u64 {
    let (frame, group, place) = (pack / 8, pack % 8 / 2, pack % 2);
    FIRST_FRAME_IN_ZONE + frame * CYCLE + (group + 1) * 920_000 + place * PITCH + 10_000_000
}

/// Checkweigher 0.4 s, metal detector 0.4 s, table 4 s. Packs come no closer than a pitch of 0.416667 s, so no gate waits.
fn in_lane(pack: u64) -> u64 {
    at_belt_end(pack) + 400_000 + 400_000 + 4_000_000
}

#[test]
fn first_case() {
    let line = without_luck();
    let events = events_of(&line, &plan_without_stops(&line));
    let cased = first(&events, |event| matches!(event.kind, EventKind::Pack { step: PackStep::Cased, .. }));
    // The twelfth pack completes the case, which takes 5 s.
    assert_eq!(cased, in_lane(11) + 5_000_000);
    assert_eq!(cased, 85_931_941);
}

#[test]
fn steady_rate_is_that_of_the_capped_cycle() {
    let line = without_luck();
    let events = events_of(&line, &plan_without_stops(&line));
    let robot = line.station("pick robot").unwrap() as u16;
    let arrivals: Vec<u64> = events
        .iter()
        .filter(|event| {
            event.station == robot && matches!(event.kind, EventKind::Pack { step: PackStep::Entered, .. })
        })
        .map(|event| event.at.0)
        .collect();
    // Eight packs every 4.615385 s: 104.0 packs/min, from the first frame to the horizon.
    for (frame, packs) in arrivals.chunks(8).enumerate() {
        assert!(packs.iter().all(|at| *at == FIRST_FRAME_IN_ZONE + frame as u64 * CYCLE), "frame {frame}");
    }
    let per_min: f64 = 8.0 * 60e6 / CYCLE as f64;
    assert!((per_min - 104.0).abs() < 1e-4);
    let frames = (28_800_000_000 - FIRST_FRAME_IN_ZONE).div_ceil(CYCLE);
    assert_eq!(arrivals.len() as u64, 8 * frames);
}

#[test]
fn a_stop_of_the_case_packer_reaches_the_former_when_table_and_belts_are_full() {
    let line = without_luck();
    let packer = line.station("case packer").unwrap();
    let stop_at = Moment(3_600_000_000);
    let mut plan = plan_without_stops(&line);
    plan.injected.push(InjectedStop { station: packer, at: stop_at, duration: Span::from_seconds(1800.0) });
    let events = events_of(&line, &plan);

    // Packs in the lane by then, and those that are gone: a case starts as soon as its twelfth pack is there, because
    // twelve packs take 6.92 s and a case 5 s.
    let arrived = (0..).take_while(|pack| in_lane(*pack) <= stop_at.0).count() as u64;
    let taken = arrived / 12 * 12;
    // The lane holds 24, the table 60, each gate one. The next pack stands at the end of the belt.
    let stands = taken + 24 + 60 + 1 + 1;
    let belt_stands_at = at_belt_end(stands);
    let belt = line.station("discharge belt").unwrap() as u16;
    let blocked = |station: u16| {
        first(&events, |event| {
            event.at > stop_at
                && event.station == station
                && matches!(event.kind, EventKind::State { to: StationState::Blocked, .. })
        })
    };
    assert_eq!(blocked(belt), belt_stands_at);

    // The robot cannot end the first place motion that ends then or later. If groups are left in that frame the pick zone
    // does not clear; else the next frame is the one that stays. A frame is in the zone 0.515385 s before its dwell
    // starts, and the former finds the zone full when that dwell ends, after 3.4 s.
    let zone = |frame: u64| FIRST_FRAME_IN_ZONE + frame * CYCLE;
    let (frame, group) = (0..)
        .flat_map(|frame| (0..4).map(move |group| (frame, group)))
        .find(|(frame, group)| zone(*frame) + (group + 1) * 920_000 >= belt_stands_at)
        .unwrap();
    let stays = if group < 3 { frame } else { frame + 1 };
    let former = line.station("former").unwrap() as u16;
    assert_eq!(blocked(former), zone(stays) + (CYCLE - 4_100_000) + 3_400_000);

    // Half an hour after it began the stop is over, and the former runs on as soon as the robot has cleared the zone.
    let runs = first(&events, |event| {
        event.at.0 > stop_at.0 + 1_800_000_000
            && event.station == former
            && matches!(event.kind, EventKind::State { to: StationState::Running, .. })
    });
    assert!(runs < stop_at.0 + 1_800_000_000 + 10_000_000, "{runs}");
}

#[test]
fn nothing_is_lost_without_luck() {
    let line = without_luck();
    let events = events_of(&line, &plan_without_stops(&line));
    let rejected = events
        .iter()
        .filter(|event| matches!(event.kind, EventKind::Count { counter: Counter::Rejected, .. }))
        .count();
    assert_eq!(rejected, 0);
}

#[test]
fn two_stops_of_one_name_that_follow_at_once_are_counted_as_two() {
    let line = without_luck();
    let packer = line.station("case packer").unwrap();
    let mut plan = plan_without_stops(&line);
    // The second is due within the first, and follows it: 100 s and 50 s in one piece.
    for (at_s, length_s) in [(1000.0, 100.0), (1040.0, 50.0)] {
        let at = Moment::ZERO + Span::from_seconds(at_s);
        plan.injected.push(InjectedStop { station: packer, at, duration: Span::from_seconds(length_s) });
    }
    let mut accounting = Accumulator::new(&header(&line, &plan, 1, 0));
    run(&line, &plan, 1, 0, &mut accounting);
    let result = accounting.finish();
    let stops = &result.stations[packer].stops;
    assert_eq!(stops.len(), 1, "{stops:?}");
    assert_eq!((stops[0].count, stops[0].repair), (2, Span::from_seconds(150.0)));
}
