//! Facts of lines whose figures are worked by hand.

use super::*;

/// The shipped reference line.
fn reference() -> Line {
    line(include_str!("../../../../models/alder-hill-mince.json"))
}

fn line(text: &str) -> Line {
    linewake_model::parse(text).unwrap().line
}

fn transit_s(facts: &LineFacts, id: &str) -> f64 {
    facts.stations.iter().find(|station| station.id == id).unwrap().transit_to_constraint.seconds()
}

fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1e-6, "{value}, not {expected}");
}

#[test]
fn good_is_counted_behind_the_last_gate() {
    let facts = LineFacts::of(&reference());
    assert_eq!(facts.stations[usize::from(facts.good_after)].id, "metal detector");
    assert_eq!(facts.stations[usize::from(facts.constraint)].id, "former");
    near(facts.design_rate_per_min, 104.0);
    assert_eq!(facts.short_stop_limit, Span(300_000_000));
    assert_eq!(facts.left_out, [Reason::BREAK]);
}

/// Without gates the robot's hand-over makes a pack good; a line of machines counts what its last one hands over.
#[test]
fn good_is_counted_behind_the_robot_or_the_last_station() {
    let mut line = reference();
    line.stations.retain(|station| !matches!(station.kind, StationKind::Gate(_)));
    let facts = LineFacts::of(&line);
    assert_eq!(facts.stations[usize::from(facts.good_after)].kind, kind::PICK_ROBOT);
    line.stations.retain(|station| !matches!(station.kind, StationKind::PickRobot(_)));
    let facts = LineFacts::of(&line);
    assert_eq!(usize::from(facts.good_after), line.stations.len() - 1);
}

/// Portioner 112; former 13 cycles of 8 = 104; robot 2 packs in 0.92 s = 130.43; belt 0.6/0.25 = 2.4 a second = 144;
/// gates 150; packer 12 in 5 s = 144; loader 16 portions in 4 x 0.45 + 3 x 0.35 + 0.9 + 0.6 = 4.35 s = 220.69.
#[test]
fn best_rates_are_those_of_the_rate_ladder() {
    let facts = LineFacts::of(&reference());
    let rates = [
        ("portioner", 112.0),
        ("loader", 16.0 * 60.0 / 4.35),
        ("former", 104.0),
        ("pick robot", 2.0 * 60.0 / 0.92),
        ("discharge belt", 144.0),
        ("checkweigher", 150.0),
        ("case packer", 144.0),
    ];
    for (id, rate) in rates {
        let station = facts.stations.iter().find(|station| station.id == id).unwrap();
        let known = station.rate_per_min.unwrap();
        // Times are rounded once to microseconds: a pitch of the belt takes 0.416667 s.
        assert!((known / rate - 1.0).abs() < 1e-6, "{id}: {known}");
    }
}

/// To the former, from the loader: nothing lies between. From the portioner: 3 s of belt, and in the loader 16 portions
/// at 60/112 s, the last transfer and the load: 8.571424 + 0.45 + 0.9 (16 x 0.535714 s: times are rounded once to
/// microseconds). From the supply: one cut more.
/// From the former to the belt: the robot's pick and place, 0.92 s; to the checkweigher 10 s of belt more; to the metal
/// detector 0.4 s of weighing more; to the packer 0.4 s more and 4 s of table.
#[test]
fn transit_times_are_sums_of_what_lies_between() {
    let facts = LineFacts::of(&reference());
    near(transit_s(&facts, "former"), 0.0);
    near(transit_s(&facts, "loader"), 0.0);
    near(transit_s(&facts, "infeed belt"), 9.921_424);
    near(transit_s(&facts, "portioner"), 12.921_424);
    near(transit_s(&facts, "supply"), 13.457_138);
    near(transit_s(&facts, "pick robot"), 0.0);
    near(transit_s(&facts, "discharge belt"), 0.92);
    near(transit_s(&facts, "checkweigher"), 10.92);
    near(transit_s(&facts, "metal detector"), 11.32);
    near(transit_s(&facts, "table"), 11.72);
    near(transit_s(&facts, "case packer"), 15.72);
}

/// With the robot as the constraint, the former lies between it and the loader: from the front of the load zone (4) to
/// the pick zone (15) are 11 advances, each a cycle of 60/13 s.
#[test]
fn the_web_is_passed_in_cycles() {
    let mut line = reference();
    line.constraint = line.station("pick robot").unwrap();
    let facts = LineFacts::of(&line);
    near(transit_s(&facts, "former"), 0.0);
    near(transit_s(&facts, "loader"), 50.769_231);
}

/// The table has no stop modes, so no states; its capacity is told, that of an endless table is not.
#[test]
fn belts_and_tables_without_stops_have_no_states() {
    let mut line = reference();
    let table = line.station("table").unwrap();
    let facts = LineFacts::of(&line);
    let stateless: Vec<_> =
        facts.stations.iter().filter(|it| !it.has_states).map(|it| it.id.as_str()).collect();
    assert_eq!(stateless, ["infeed belt", "table"]);
    assert_eq!(facts.stations[table].capacity, Some(60));
    line.stations[table].stops = line.stations[table + 1].stops.clone();
    if let StationKind::Accumulator(accumulator) = &mut line.stations[table].kind {
        accumulator.capacity = UNLIMITED;
    }
    let facts = LineFacts::of(&line);
    assert!(facts.stations[table].has_states);
    assert_eq!(facts.stations[table].capacity, None);
}

/// Only breaks and planned stops of the constraint itself can be left out.
#[test]
fn a_challenge_is_left_out_only_at_the_constraint() {
    let mut line = reference();
    let detector = line.station("metal detector").unwrap();
    if let StationKind::Gate(gate) = &mut line.stations[detector].kind {
        gate.challenge.as_mut().unwrap().in_planned_production_time = false;
    }
    assert_eq!(LineFacts::of(&line).left_out, [Reason::BREAK]);
    line.constraint = detector;
    assert_eq!(LineFacts::of(&line).left_out, [Reason::BREAK, Reason::CHALLENGE]);
    line.shift.breaks_in_planned_production_time = true;
    assert_eq!(LineFacts::of(&line).left_out, [Reason::CHALLENGE]);
}

#[test]
fn tags_name_the_stops_that_cause_them() {
    let mut line = reference();
    let former = line.station("former").unwrap();
    let change = line.stations[former].stops.len() - 1;
    line.stations[former].stops[change].scrap_after_indexes = 2;
    let reason = line.stations[former].stops[change].reason;
    let here = Some(former as u16);
    let held = Consequence {
        tag: Reason::HELD_IN_SEAL,
        station: here,
        stop: Reason::NONE,
        longer_than: Span(120_000_000),
    };
    let first_off =
        Consequence { tag: Reason::FIRST_OFF, station: here, stop: reason, longer_than: Span::ZERO };
    assert_eq!(LineFacts::of(&line).consequences, [held, first_off]);
}

/// The words are the tags of the model file.
#[test]
fn kinds_are_called_as_in_a_model_file() {
    let text = include_str!("../../../../models/alder-hill-mince.json");
    for station in LineFacts::of(&reference()).stations {
        assert!(text.contains(&format!("\"{}\": {{", station.kind)), "{}", station.kind);
    }
}
