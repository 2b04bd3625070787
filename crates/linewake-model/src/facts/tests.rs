//! The three figures and the shift register, on lines small enough to work by hand.

use super::test_line::{constant, line, machine, station, stop, table};
use super::{Facts, FigureKind, OutputFigure, facts, pack_weight};
use crate::line::{Break, Line, OwnDefect};
use crate::station::{
    BulkSupply, CasePacker, FailSafe, Feedback, Find, Former, Function, Gate, GateKind, Loader, PickRobot,
    PortionWeight, Portioner, Positions, Printer, RigidBelt, SpeedControl, SpeedStep, StationKind, StopScrap,
    Vision, Weigher, WithoutProduct,
};
use crate::stop::{Basis, Initial, Reason, StopMode};
use crate::time::{MICROS_PER_SECOND, Moment, Span};
use linewake_stats::distribution::Distribution;

const HAND_CALCULATION: &str = include_str!("../../../../docs/reference/hand-calculation.md");
const REFERENCE_LINE: &str = include_str!("../../../../models/alder-hill-mince.json");

fn assert_near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found}, expected {expected} to {tolerance}");
}

fn seconds(seconds: f64) -> Span {
    Span::from_seconds(seconds)
}

fn exponential(mean: f64) -> Distribution {
    Distribution::Exponential { mean }
}

fn assert_output(figure: &OutputFigure, expected: f64) {
    assert_near(figure.good_packs_per_h, expected, 1e-6 * expected);
}

/// Three modes: 30 s in 600 s of running, 20 s in 100 pieces, 40 s in 1,000 s of running.
fn three_modes() -> Vec<StopMode> {
    vec![
        stop(Basis::RunningTime, exponential(600.0), exponential(30.0)),
        stop(Basis::Count, Distribution::Geometric { mean: 100.0, step: 1.0 }, constant(20.0)),
        stop(Basis::RunningTime, constant(1000.0), Distribution::Uniform { min: 20.0, max: 60.0 }),
    ]
}

#[test]
fn one_station_meets_both_bounds() {
    // 2 s a piece; for each second of running 30/600 + 20/200 + 40/1000 = 0.19 s stopped (Buzacott 1967).
    let facts = facts(&line(vec![machine("one", constant(2.0), three_modes())]));
    let expected = 3600.0 / 2.0 / 1.19;
    assert_output(&facts.output.no_help, expected);
    assert_output(&facts.output.full_help, expected);
    assert_output(&facts.output.weakest_block, expected);
    assert!(facts.output.no_help.is_bound);
    assert!(facts.output.full_help.is_bound);
    let stops = &facts.station_stops[0];
    assert_near(stops.stand_alone_efficiency, 1.0 / 1.19, 1e-12);
    assert_near(stops.stops_per_running_h, 6.0 + 18.0 + 3.6, 1e-9);
    assert_near(stops.stopped_min_per_running_h, 0.19 * 60.0, 1e-9);
}

#[test]
fn a_response_counts_in_all_figures() {
    // 20 s and a response of 10 s in 100 s of running. An operator does not stay at a station.
    let stopping =
        StopMode { attended: true, ..stop(Basis::RunningTime, exponential(100.0), constant(20.0)) };
    let facts = facts(&line(vec![machine("one", constant(1.0), vec![stopping])]));
    assert_output(&facts.output.no_help, 3600.0 / 1.3);
    assert_output(&facts.output.full_help, 3600.0 / 1.3);
    assert_output(&facts.output.weakest_block, 3600.0 / 1.3);
    assert_near(facts.station_stops[0].stand_alone_efficiency, 1.0 / 1.3, 1e-12);
}

/// Two attended stops of 20 s, with a response of 10 s, on one machine of 1 s a piece.
fn two_attended(first: StopMode, second: StopMode) -> super::OutputFigures {
    let modes = [first, second].map(|mode| StopMode { attended: true, ..mode });
    facts(&line(vec![machine("one", constant(1.0), modes.to_vec())])).output
}

#[test]
fn a_call_at_the_instant_at_which_another_stop_ends_needs_no_response_above() {
    let geometric = |mean| stop(Basis::Count, Distribution::Geometric { mean, step: 1.0 }, constant(20.0));
    // In 100 pieces 10 stops of one and 5 of the other, of which 0.5 come with the same piece.
    let by_chance = two_attended(geometric(10.0), geometric(20.0));
    assert_output(&by_chance.no_help, 3600.0 / (1.0 + 0.15 * 30.0));
    assert_output(&by_chance.full_help, 3600.0 / (1.0 + 0.15 * 30.0 - 0.005 * 10.0));

    // Both new at the start: with every 20th piece both.
    let new = |count| StopMode {
        initial: Initial::Fraction(0.0),
        ..stop(Basis::Count, constant(count), constant(20.0))
    };
    let in_step = two_attended(new(10.0), new(20.0));
    assert_output(&in_step.full_help, 3600.0 / (1.0 + 0.15 * 30.0 - 0.05 * 10.0));

    // A running-time stop ends within a piece, a count stop comes at its end.
    let apart = two_attended(geometric(10.0), stop(Basis::RunningTime, exponential(20.0), constant(20.0)));
    assert_output(&apart.full_help, 3600.0 / (1.0 + 0.15 * 30.0));
}

#[test]
fn a_calendar_stop_may_follow_another_stop_without_response() {
    let calendar = stop(Basis::CalendarTime, constant(970.0), constant(20.0));
    let other = stop(Basis::RunningTime, exponential(300.0), constant(20.0));
    let figures = two_attended(calendar, other);
    // 30 s in each 1,000 s of all time, and 30 s in 300 s of running.
    assert_output(&figures.no_help, 3600.0 * 0.97 / 1.1);
    // 20 s in 1,000 s and the delay: 0.97 x 30 / 330 of the time falls to the other, which is 30 s long.
    let delay = 0.97 * 30.0 / 330.0 * 30.0;
    assert_output(&figures.full_help, 3600.0 * (1.0 - 20.0 / (1000.0 + delay)) / 1.1);
}

#[test]
fn a_calendar_stop_counts_on_all_time() {
    // 900 s from the end of one to the next, 100 s each: a tenth of all time; of the rest 20/220 goes to the other.
    let modes = vec![
        stop(Basis::CalendarTime, constant(900.0), constant(100.0)),
        stop(Basis::RunningTime, exponential(200.0), constant(20.0)),
    ];
    let facts = facts(&line(vec![machine("one", constant(1.0), modes)]));
    assert_output(&facts.output.no_help, 3600.0 * 0.9 / 1.1);
    assert_near(facts.station_stops[0].stand_alone_efficiency, 0.9 / 1.1, 1e-12);
    // The calendar stop may have waited for the other, so the upper figure lies a little above: at most by the share
    // of the other, 0.9 x 20 / 220 of the time, times its length.
    let delay = 0.9 * 20.0 / 220.0 * 20.0;
    assert_output(&facts.output.full_help, 3600.0 * (1.0 - 100.0 / (1000.0 + delay)) / 1.1);
}

fn three_machines(capacity: u32, restart_at: Option<u32>, second: Distribution) -> Line {
    let small = |seconds| vec![stop(Basis::RunningTime, exponential(1000.0), constant(seconds))];
    line(vec![
        machine("first", constant(1.0), small(50.0)),
        table("a", capacity, restart_at),
        machine("second", second, small(100.0)),
        table("b", 0, None),
        machine("third", constant(1.0), small(150.0)),
    ])
}

#[test]
fn three_machines_with_a_store() {
    let facts = facts(&three_machines(50, None, constant(1.2)));
    // 1.2 s a piece; stopped 0.05 + 0.1 x 1.2 + 0.15 s a piece.
    assert_output(&facts.output.no_help, 3600.0 / (1.2 + 0.05 + 0.12 + 0.15));
    // Alone: 1.05, 1.32 and 1.15 s a piece.
    assert_output(&facts.output.full_help, 3600.0 / 1.32);
    assert_eq!(facts.output.full_help.stations, ["second"]);
    // Between second and third there is a direct hand-over only.
    assert_output(&facts.output.weakest_block, 3600.0 / (1.2 + 0.12 + 0.15));
    assert_eq!(facts.output.weakest_block.stations, ["second", "b", "third"]);
    assert_eq!(facts.output.no_help.kind, FigureKind::LowerBound);
    assert_eq!(facts.output.full_help.kind, FigureKind::UpperBound);
    assert_eq!(facts.output.weakest_block.kind, FigureKind::Estimate);
    assert_near(facts.stop_free_packs_per_min, 50.0, 1e-9);
    let margins: Vec<_> = facts.rate_ladder.iter().map(|rung| rung.margin_over_constraint).collect();
    assert_near(margins[1], 50.0 / 60.0 - 1.0, 1e-12);
    // 50 pieces at the first machine's 60/min.
    assert_near(facts.buffers[0].worth_s.unwrap_or(f64::NAN), 50.0, 1e-9);
}

#[test]
fn without_any_store_the_block_is_the_line() {
    let facts = facts(&three_machines(0, None, constant(1.2)));
    assert_eq!(facts.output.weakest_block.stations.len(), 5);
    assert_output(&facts.output.weakest_block, facts.output.no_help.good_packs_per_h);
}

#[test]
fn what_makes_the_lower_figure_an_estimate() {
    let doubt = |line: &Line, word: &str| {
        let figure = facts(line).output.no_help;
        assert_eq!(figure.kind, FigureKind::Estimate);
        assert!(!figure.is_bound);
        assert!(figure.reasons.iter().any(|reason| reason.contains(word)), "{word}: {:?}", figure.reasons);
        figure.good_packs_per_h
    };
    let bound = facts(&three_machines(50, None, constant(1.2))).output.no_help;
    assert!(bound.is_bound, "{:?}", bound.reasons);
    let restart = doubt(&three_machines(50, Some(20), constant(1.2)), "restart_at");
    let random = doubt(&three_machines(50, None, exponential(1.2)), "work times");
    // The figure itself is the same: only what it promises changes.
    assert_near(restart, bound.good_packs_per_h, 1e-9);
    assert_near(random, bound.good_packs_per_h, 1e-9);
    let mut fast = three_machines(50, None, constant(1.2));
    let steps = vec![
        SpeedStep { share: 1.0, enter_at: 0, leave_at: 0 },
        SpeedStep { share: 1.25, enter_at: 40, leave_at: 20 },
    ];
    fast.stations[2].speed_control = Some(SpeedControl { watch: 1, steps });
    doubt(&fast, "speed");
    // At its fastest the second machine needs 1.2 x 1.1 / 1.25 = 1.056 s, less than the third's 1.15 s.
    assert_output(&facts(&fast).output.full_help, 3600.0 / 1.15);
}

#[test]
fn breaks_are_left_out_of_the_hours_or_counted_in() {
    let mut with_break = line(vec![machine("one", constant(1.0), Vec::new())]);
    with_break.shift.breaks = vec![Break { start: Moment(0), duration: Span(2_880 * MICROS_PER_SECOND) }];
    let left_out = facts(&with_break).output.no_help;
    assert_output(&left_out, 3600.0);
    assert_near(left_out.good_packs_per_calendar_h, 3240.0, 1e-9);
    with_break.shift.breaks_in_planned_production_time = true;
    assert_output(&facts(&with_break).output.no_help, 3240.0);
}

#[test]
fn stops_of_a_group_may_fall_together() {
    let grouped =
        |seconds| StopMode { group: Some(1), ..stop(Basis::Count, constant(100.0), constant(seconds)) };
    let facts = facts(&line(vec![machine("one", constant(1.0), vec![grouped(10.0), grouped(20.0)])]));
    assert_output(&facts.output.no_help, 3600.0 / (1.0 + 0.3));
    assert_output(&facts.output.full_help, 3600.0 / (1.0 + 0.2));
}

fn gate(kind: GateKind, weigher: Option<Weigher>) -> Gate {
    Gate {
        kind,
        max_rate_per_min: 120.0,
        weigher,
        finds: Vec::new(),
        false_reject: 0.0,
        rejects_in_row: None,
        bin_full: None,
        challenge: None,
    }
}

#[test]
fn gates_reject_in_order_and_fill_their_bins() {
    let fail_safe = |count, seconds| Some(FailSafe { count, duration_s: constant(seconds) });
    let first = Gate {
        finds: vec![Find { defect: Reason(18), probability: 0.9 }],
        bin_full: fail_safe(5, 40.0),
        ..gate(GateKind::XRay, None)
    };
    let second = Gate {
        finds: vec![Find { defect: Reason(18), probability: 1.0 }],
        false_reject: 0.02,
        rejects_in_row: fail_safe(2, 90.0),
        ..gate(GateKind::LeakTest, None)
    };
    let mut gates = line(vec![
        machine("one", constant(1.0), Vec::new()),
        station("x-ray", StationKind::Gate(first)),
        station("leak test", StationKind::Gate(second)),
    ]);
    gates.reasons.truncate(18);
    gates.reasons.push("bone".to_owned());
    gates.own_defects = vec![OwnDefect { reason: Reason(18), probability: 0.1 }];
    let facts = facts(&gates);
    // 0.09 found by the first; of the 0.91 that go on 0.01 have it still, found by the second, which also rejects
    // 0.02 of the 0.9 right ones.
    let shares: Vec<_> = facts.quality.losses.iter().map(|loss| loss.share_of_cut).collect();
    assert_near(shares[0], 0.09, 1e-12);
    assert_near(shares[1], 0.01, 1e-12);
    assert_near(shares[2], 0.018, 1e-12);
    assert_near(facts.quality.good_share, 0.882, 1e-12);
    assert!(facts.quality.escapes.is_empty());
    // Bin: 0.09 / 5 stops of 50 s a piece. Two in a row with p = 0.028 / 0.91: p^2 / (1 + p) for each of 0.91.
    let p: f64 = 0.028 / 0.91;
    let stopped = 0.09 / 5.0 * 50.0 + 0.91 * p * p / (1.0 + p) * 100.0;
    assert_output(&facts.output.no_help, 3600.0 / (1.0 + stopped) * 0.882);
    assert_eq!(facts.detections.len(), 2);
}

/// A line of 3 lanes x 2 rows with everything that tags; an array of 3 x 4 portions fills two indexes.
fn small_former() -> Former {
    Former {
        lanes: 3,
        rows_per_index: 2,
        functions: vec![
            Function { name: "form".to_owned(), dwell: seconds(2.0) },
            Function { name: "seal".to_owned(), dwell: seconds(3.0) },
        ],
        advance: seconds(1.0),
        max_cycles_per_min: None,
        positions: Positions { load_at: 3, seal: 5, print_inspection: Some(6), label: None, cut: 9 },
        without_product: WithoutProduct::Wait,
        stop_scrap: None,
        printer: None,
        vision: None,
        leak_probability: 0.0,
        label_missing_probability: 0.0,
        contaminated_probability: 0.0,
    }
}

fn small_line(former: Former, loads_per_zone: u32) -> Line {
    let portioner = Portioner {
        rate_per_min: 120.0 * f64::from(loads_per_zone),
        weight: PortionWeight { mean_g: 100.0, sd_g: 0.0, sd_batch_g: 0.0, drift: None, feedback: None },
    };
    let loader = Loader {
        lanes: 3,
        array_rows: 4,
        take: Span::ZERO,
        file_transfer: seconds(0.5),
        traverse: seconds(0.25),
        load: seconds(1.0),
        return_: seconds(0.5),
        indexes_per_array: 2,
        loads_per_zone,
        open_time_limit: None,
    };
    let robot =
        PickRobot { gripper: 2, pick_s: constant(0.5), place_s: constant(0.5), drop_probability: 0.0 };
    line(vec![
        station("portioner", StationKind::Portioner(portioner)),
        table("infeed", 12, None),
        station("loader", StationKind::Loader(loader)),
        station("former", StationKind::Former(Box::new(former))),
        station("robot", StationKind::PickRobot(robot)),
        station("belt", StationKind::RigidBelt(RigidBelt { length_m: 3.0, speed_m_s: 0.5, pitch_m: 0.2 })),
        station(
            "packer",
            StationKind::CasePacker(CasePacker { packs_per_case: 6, lane_packs: 12, cycle: seconds(3.0) }),
        ),
    ])
}

fn facts_of_small(former: Former, loads_per_zone: u32) -> Facts {
    let mut small = small_line(former, loads_per_zone);
    small.constraint = 3;
    facts(&small)
}

#[test]
fn a_cycle_with_everything_hidden_in_it() {
    let facts = facts_of_small(small_former(), 1);
    // 4 s a cycle of 6 packs. Robot: 3 groups of 1 s, clear after 2.5 s of the 3 s that the dwell leaves.
    assert_near(facts.stop_free_packs_per_min, 90.0, 1e-9);
    assert_output(&facts.output.no_help, 5400.0);
    let cycle = facts.cycle_budget.expect("has a former");
    assert_eq!(cycle.limiting_function, "seal");
    assert_near(cycle.functions[0].in_hand_in_dwell_s, 1.0, 1e-12);
    let loader = facts.loader.expect("has a loader");
    // Fill 3 x 0.5 + 2 x 0.25, load 1, return 0.5; portions 12 at 120/min; time for it two cycles.
    assert_near(loader.array_s, 3.5, 1e-12);
    assert_near(loader.portions_arrive_s.unwrap_or(f64::NAN), 6.0, 1e-12);
    assert_near(loader.in_hand_s, 2.0, 1e-12);
    assert!(loader.keeps_up);
    let robot = facts.robot.expect("has a robot");
    assert_near(robot.frame_s, 3.0, 1e-12);
    assert_near(robot.in_hand_s, 0.5, 1e-12);
}

#[test]
fn a_stop_uses_up_the_wait_for_the_cap() {
    let with = |mode| {
        let mut capped = small_line(Former { max_cycles_per_min: Some(10.0), ..small_former() }, 1);
        capped.stations[3].stops = vec![mode];
        facts(&capped).output
    };
    let with_stop = |length| with(stop(Basis::Count, constant(100.0), constant(length)));
    // Cycles of 6 s, 2 s of them a wait for the cap; 6 packs each.
    let long = with_stop(30.0);
    assert_output(&long.no_help, 6.0 * 3600.0 / (6.0 + 0.3));
    assert_output(&long.full_help, 6.0 * 3600.0 / (6.0 + 0.28));
    assert_output(&with_stop(1.5).full_help, 3600.0);
    // Every 600 s of running, of which there are 5.98 s left in a cycle: a stop in 100 cycles uses up 2 s.
    let in_running = with(stop(Basis::RunningTime, exponential(600.0), constant(30.0)));
    assert_output(&in_running.no_help, 6.0 * 3600.0 / (6.0 + 0.3));
    assert_output(&in_running.full_help, 6.0 * 3600.0 / (6.0 + 0.28 * 5.98 / 6.0));
}

#[test]
fn a_slow_robot_holds_the_web_though_it_keeps_up_by_itself() {
    let mut slow = small_line(small_former(), 1);
    let robot =
        PickRobot { gripper: 2, pick_s: constant(0.8), place_s: constant(0.5), drop_probability: 0.0 };
    slow.stations[4].kind = StationKind::PickRobot(robot);
    // By itself 3 x 1.3 = 3.9 s a frame; but the advance waits for the last pick, 3.4 s after the frame has come.
    assert_near(facts(&slow).stop_free_packs_per_min, 6.0 * 60.0 / 4.4, 1e-6);
}

#[test]
fn a_belt_without_room_slows_the_robot() {
    let mut tight = small_line(small_former(), 1);
    // 0.7 s a pack: two packs of a gripper need 1.4 s, three grippers 4.2 s a cycle.
    tight.stations[5].kind =
        StationKind::RigidBelt(RigidBelt { length_m: 3.5, speed_m_s: 0.5, pitch_m: 0.35 });
    assert_near(facts(&tight).stop_free_packs_per_min, 6.0 * 60.0 / 4.2, 1e-3);
}

#[test]
fn two_loads_to_a_zone_lengthen_one_dwell() {
    let facts = facts_of_small(small_former(), 2);
    // Load 1, return 0.5, fill 2, load 1: 4.5 s instead of 3. Per zone 5.5 + 4 s for 12 packs.
    assert_near(facts.stop_free_packs_per_min, 12.0 * 60.0 / 9.5, 1e-3);
    let loader = facts.loader.expect("has a loader");
    assert_near(loader.lengthens_dwell_s, 1.5, 1e-12);
    assert!(!loader.keeps_up);
    // Waiting for the load is not running: the former runs 8 of these 9.5 s.
    let mut stopping = small_line(small_former(), 2);
    stopping.stations[3].stops = vec![stop(Basis::RunningTime, exponential(800.0), constant(100.0))];
    assert_output(&super::facts(&stopping).output.full_help, 12.0 * 3600.0 / (9.5 + 1.0));
}

#[test]
fn a_slow_portioner_starves_the_web() {
    let mut slow = small_line(small_former(), 1);
    if let StationKind::Portioner(portioner) = &mut slow.stations[0].kind {
        portioner.rate_per_min = 80.0;
    }
    let facts = facts(&slow);
    assert_near(facts.stop_free_packs_per_min, 80.0, 1e-6);
    assert_eq!(facts.output.full_help.stations, ["portioner"]);
}

#[test]
fn tags_and_stop_scrap_in_order_of_position() {
    let former = Former {
        stop_scrap: Some(StopScrap {
            longer_than: seconds(60.0),
            positions: vec![0, 2, 5],
            reason: Reason::HELD_IN_SEAL,
            empty_pockets: false,
        }),
        printer: Some(Printer { p: 0.1, r: 0.4, q: 0.5 }),
        vision: Some(Vision { sensitivity: 0.9, false_tag: 0.01, stop_rule: None }),
        ..small_former()
    };
    let mut tagging = small_line(former, 1);
    // In 100 indexes one stop of 100 s, and one of 50 s that spoils nothing but its two first indexes.
    tagging.stations[3].stops = vec![
        stop(Basis::Count, constant(100.0), constant(100.0)),
        StopMode { scrap_after_indexes: 2, ..stop(Basis::Count, constant(100.0), constant(50.0)) },
    ];
    let facts = facts(&tagging);
    let shares: Vec<_> = facts.quality.losses.iter().map(|loss| loss.share_of_cut).collect();
    // Position 0 holds film; position 2, the first of the load zone, holds product in every other cycle.
    let (zone, seal, first_off) = (0.995, 0.99, 0.98);
    let whole = zone * seal * first_off;
    assert_near(shares[0], 0.005, 1e-12);
    assert_near(shares[1], zone * 0.01, 1e-12);
    assert_near(shares[2], zone * seal * 0.02, 1e-12);
    // A fifth of the indexes is faulty, half their packs misprinted.
    assert_near(shares[3], whole * 0.1 * 0.9, 1e-12);
    assert_near(shares[4], whole * 0.9 * 0.01, 1e-12);
    assert_near(facts.quality.good_share, whole * 0.901, 1e-12);
    assert_near(facts.quality.escapes[0].share_of_cut, whole * 0.01, 1e-12);
    let offsets: Vec<_> =
        facts.detections.iter().map(|one| (one.detection.as_str(), one.indexes_to_pick_zone)).collect();
    let expected = [
        ("held_in_seal", 10),
        ("held_in_seal", 8),
        ("held_in_seal", 5),
        ("first_off", 5),
        ("print inspection", 4),
    ];
    assert_eq!(offsets, expected);
    assert_eq!(facts.detections[0].remark, "nothing there but film");
    // Four advances and three dwells to the pick zone, a whole cycle each to the exit.
    assert_near(facts.detections[4].to_pick_zone_s, 13.0, 1e-12);
    assert_near(facts.detections[4].to_exit_s, 16.0, 1e-12);
}

#[test]
fn supply_runs_short_only_if_a_preparation_can_outlast_a_batch() {
    let with_supply = |preparation_s, batch_kg: u64| {
        let mut fed = small_line(small_former(), 1);
        let supply =
            BulkSupply { batch_ug: batch_kg * 1_000_000_000, hopper_ug: 200 * 1_000_000_000, preparation_s };
        fed.stations.insert(0, station("kitchen", StationKind::BulkSupply(supply)));
        fed.constraint = 4;
        facts(&fed)
    };
    // 90 packs of 100 g a minute, 0.15 kg/s: 540 kg/h; in 600 s 90 kg, or 93.3 kg with the 33 portions in front.
    let enough = with_supply(Distribution::Uniform { min: 400.0, max: 600.0 }, 100);
    let supply = enough.supply.expect("has a supply");
    assert_near(supply.needed_kg_per_h, 540.0, 1e-6);
    assert_near(supply.prepared_kg_per_h, 720.0, 1e-6);
    assert!(!supply.can_run_short, "{}", supply.because);
    assert!(enough.output.no_help.is_bound, "{:?}", enough.output.no_help.reasons);
    let tight = with_supply(Distribution::Uniform { min: 400.0, max: 600.0 }, 91);
    assert!(tight.supply.expect("has a supply").can_run_short);
    assert!(!tight.output.no_help.is_bound);
    let slow = with_supply(constant(1000.0), 100);
    assert!(slow.supply.expect("has a supply").limits_the_line);
    assert_eq!(slow.output.full_help.stations, ["kitchen"]);
    assert_output(&slow.output.full_help, 3600.0);
}

#[test]
fn a_table_of_capacity_0_leaves_the_lane() {
    let mut direct = small_line(small_former(), 1);
    direct.constraint = 3;
    direct.stations.insert(6, table("table", 0, None));
    let facts = facts(&direct);
    // A lane of 12 packs at 90/min.
    assert!(facts.buffers[1].remark.contains("worth 8.0 s"), "{}", facts.buffers[1].remark);
    assert_near(facts.buffers[2].worth_s.unwrap_or(f64::NAN), 8.0, 1e-9);
    assert_near(facts.buffers[2].free_s.unwrap_or(f64::NAN), 4.0, 1e-9);
}

#[test]
fn feedback_with_a_long_dead_time_needs_a_small_gain() {
    let with_gain = |gain| {
        let mut fed = small_line(small_former(), 1);
        let weigher = Weigher { sd_g: 1.0, low_g: Some(94.0), high_g: None };
        fed.stations.insert(
            6,
            station("checkweigher", StationKind::Gate(gate(GateKind::Checkweigher, Some(weigher)))),
        );
        if let StationKind::Portioner(portioner) = &mut fed.stations[0].kind {
            portioner.weight.sd_g = 2.0;
            portioner.weight.feedback = Some(Feedback {
                from: 6,
                every_packs: 20,
                gain,
                target_g: 100.0,
                lowest_g: -5.0,
                highest_g: 5.0,
                count_rejects: true,
            });
        }
        fed.design_rate_per_min = 90.0;
        fed.constraint = 3;
        facts(&fed)
    };
    // Infeed belt 12, loader 12 + 4, web (10 - 3 + 2) x 6, discharge belt 6 s x 1.5/s: 91 packs.
    let steady = with_gain(0.1);
    let control = steady.feedback.expect("has feedback");
    assert_near(control.dead_time_packs, 91.0, 1e-9);
    assert!(control.settles);
    // Between the limits of four and five corrections of dead time, 2 sin(pi / 18) and 2 sin(pi / 22).
    assert!(control.largest_gain > 0.2846 && control.largest_gain < 0.3473, "{}", control.largest_gain);
    let swinging = with_gain(0.5);
    assert!(!swinging.feedback.expect("has feedback").settles);
    assert!(steady.quality.good_share > swinging.quality.good_share);
    // At one limit or the other: Phi((94 - 95) / sqrt 5) or Phi((94 - 105) / sqrt 5), half each.
    assert_near(swinging.output.no_help.good_share, 1.0 - 0.5 * 0.327_36, 1e-4);
    assert!(!swinging.output.no_help.is_bound);
}

/// Two portions of 126.5 g, each with 1.6 g of its own, 0.6 g of the batch, 0.7 g of drift and a gain of 0.15.
#[test]
fn a_pack_of_two_portions_has_their_sum() {
    let text = include_str!("../../../../models/low-sallow-burgers.json");
    let burgers = crate::parse(text).expect("the model is valid").line;
    let weight = pack_weight(&burgers).expect("has a portioner");
    assert_near(weight.portions, 2.0, 1e-12);
    assert_near(weight.mean_g, 253.0, 1e-9);
    assert_near(weight.sd_pack_g, 1.6 * 2.0_f64.sqrt(), 1e-9);
    assert_near(weight.sd_batch_g, 1.2, 1e-9);
    assert_near(weight.batch_packs, 250_000.0 / 253.0, 1e-9);
    let (drift_g, correlation_packs) = weight.drift.expect("drifts");
    assert_near(drift_g, 1.4, 1e-9);
    assert_near(correlation_packs, 25.0 * burgers.design_rate_per_min, 1e-6);
    let feedback = weight.feedback.expect("has feedback");
    assert_near(feedback.gain, 0.3, 1e-12);
    assert_near(feedback.lowest_g, -8.0, 1e-9);
    let checked = facts(&burgers).feedback.expect("has feedback");
    assert_near(weight.weigher.expect("has a weigher").dead_time_packs, checked.dead_time_packs, 1e-9);
    assert_near(feedback.gain, checked.loop_gain, 1e-12);
    // Without feedback the dead time is told all the same; a line of machines has no packs.
    let reference = crate::parse(REFERENCE_LINE).expect("the reference line is valid").line;
    let weight = pack_weight(&reference).expect("has a portioner");
    assert!(weight.feedback.is_none() && weight.weigher.expect("has a weigher").dead_time_packs > 100.0);
    assert_eq!(pack_weight(&line(vec![machine("only", constant(1.0), Vec::new())])), None);
}

/// The figure of that name in the table of results of the hand calculation.
fn by_hand(figure: &str) -> f64 {
    let row = HAND_CALCULATION.lines().find_map(|line| line.strip_prefix("| ")?.strip_prefix(figure));
    let cell = row.and_then(|row| row.split('|').nth(1)).expect("the table has the figure");
    cell.trim().parse().expect("the figure is a number")
}

#[test]
fn the_reference_line_equals_the_hand_calculation() {
    let checked = crate::parse(REFERENCE_LINE).expect("the reference line is valid");
    let facts = facts(&checked.line);
    let output = &facts.output;
    assert_near(output.no_help.good_packs_per_h, by_hand("no help from buffers"), 0.1);
    assert_near(output.full_help.good_packs_per_h, by_hand("full help"), 0.1);
    assert_near(output.weakest_block.good_packs_per_h, by_hand("weakest block"), 0.1);
    assert_eq!(output.full_help.stations, ["former"]);
    assert_eq!(output.weakest_block.stations.first().map(String::as_str), Some("loader"));
    assert_eq!(output.weakest_block.stations.last().map(String::as_str), Some("metal detector"));
    // The longest preparation outlasts a batch, so the lower figure promises nothing.
    assert_eq!(output.no_help.kind, FigureKind::Estimate);
    assert!(output.no_help.reasons.iter().all(|reason| reason.starts_with("supply can run short")));
    assert_near(facts.quality.good_share, 0.985_289, 1e-6);
    assert_near(facts.stop_free_packs_per_min, 104.0, 1e-4);
    let stops = |id: &str| facts.station_stops.iter().find(|stops| stops.station == id).expect("has stops");
    assert_near(stops("former").stand_alone_efficiency, 0.85464, 1e-5);
    assert_near(stops("case packer").stops_per_running_h, 5.4, 1e-9);
    let inspection =
        facts.detections.iter().find(|one| one.detection == "print inspection").expect("has vision");
    assert_eq!(inspection.indexes_to_pick_zone, 6);
    assert_near(inspection.to_exit_s, 6.0 * 4.615_385, 1e-9);
}
