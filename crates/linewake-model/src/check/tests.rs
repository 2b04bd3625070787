//! What a checked line holds, and what is warned of. That each rule refuses what it should is shown by the broken
//! models of the whole-program tests.

use crate::line::{CallOrder, Line};
use crate::problem::{Problem, Severity};
use crate::station::{LeaveOrder, Station, StationKind, UNLIMITED, WhenFull, WithoutProduct};
use crate::stop::{Basis, FIXED_REASONS, Initial, Reason};
use crate::time::Span;
use crate::{check, parse, spec_of, to_json};
use linewake_stats::distribution::Distribution;

const BURGERS: &str = include_str!("../../../../models/low-sallow-burgers.json");
const MINCE: &str = include_str!("../../../../models/alder-hill-mince.json");

fn line(text: &str) -> Line {
    match parse(text) {
        Ok(checked) => checked.line,
        Err(problems) => panic!("{problems:?}"),
    }
}

fn warnings(text: &str) -> Vec<Problem> {
    match parse(text) {
        Ok(checked) => checked.warnings,
        Err(problems) => panic!("{problems:?}"),
    }
}

fn station<'l>(line: &'l Line, id: &str) -> &'l Station {
    &line.stations[line.station(id).expect(id)]
}

/// A line of one machine with that process time and that stop.
fn one_machine(process: &str, after: &str) -> String {
    format!(
        r#"{{ "model_version": 1, "name": "one", "design_rate": "1/min", "stations": [{{ "machine": {{
            "id": "m", "process": {process}, "stops": [{{ "reason": "jam", "after": {after}, "duration": "9 s",
            "attended": false }}] }} }}] }}"#
    )
}

fn process(text: &str) -> Distribution {
    let line = line(&one_machine(text, r#"{ "pieces": 7 }"#));
    match &line.stations[0].kind {
        StationKind::Machine(machine) => machine.process_s.clone(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn reasons_begin_with_the_fixed_ones() {
    let line = line(MINCE);
    assert_eq!(&line.reasons[..FIXED_REASONS.len()], FIXED_REASONS);
    let StationKind::Former(former) = &station(&line, "former").kind else { panic!("a former") };
    assert_eq!(former.stop_scrap.as_ref().map(|scrap| scrap.reason), Some(Reason::HELD_IN_SEAL));
    let first = station(&line, "portioner").stops[0].reason;
    assert_eq!(line.reason(first), "blade jam");
    assert!(usize::from(first.0) >= FIXED_REASONS.len());
}

#[test]
fn a_count_that_does_not_vary_a_roll_and_a_magazine_are_consumables() {
    let mince = line(MINCE);
    let change = &station(&mince, "former").stops[2];
    assert!(change.consumable && change.basis == Basis::Count);
    assert_eq!(change.between, Distribution::Constant { value: 2000.0 });
    assert!(!station(&mince, "loader").stops[0].consumable, "a count that varies is none");

    let burgers = line(BURGERS);
    let former = &station(&burgers, "former").stops;
    // 800 m over 570 mm is 1403.5: whole cycles only. 450 m over 240 mm is 1875 exactly.
    assert_eq!(former[1].between, Distribution::Constant { value: 1403.0 });
    assert_eq!(former[3].between, Distribution::Constant { value: 1875.0 });
    assert_eq!(former[1].group, former[2].group);
    assert!(former[1].group.is_some() && former[3].group.is_none());
    assert_eq!(former[1].scrap_after_indexes, 2);
    // 12,000 labels, nine a cycle.
    assert_eq!(former[4].between, Distribution::Constant { value: 1333.0 });
    assert!(former.iter().skip(1).all(|stop| stop.consumable));
    assert_eq!(station(&burgers, "case packer").stops[1].initial, Initial::Uniform);
}

#[test]
fn figures_arrive_in_base_units_with_their_defaults() {
    let line = line(BURGERS);
    assert_eq!(line.short_stop_limit, Span(300_000_000));
    assert_eq!(line.crew.order, CallOrder::StationPriority);
    assert_eq!(line.shift.breaks[1].start.0, 16_200_000_000);
    let StationKind::Accumulator(infeed) = &station(&line, "infeed belt").kind else { panic!("a belt") };
    // 1.2 m at 0.8 m/s; 100 mm at 0.8 m/s.
    assert_eq!((infeed.transit, infeed.release), (Span(1_500_000), Span(125_000)));
    let StationKind::Accumulator(table) = &station(&line, "side table").kind else { panic!("a table") };
    assert_eq!((table.order, table.release), (LeaveOrder::LastInFirstOut, Span::ZERO));
    let StationKind::Portioner(portioner) = &station(&line, "burger former").kind else {
        panic!("a portioner")
    };
    let feedback = portioner.weight.feedback.as_ref().expect("feedback");
    assert_eq!(line.stations[feedback.from].id, "checkweigher");
    let StationKind::Former(former) = &station(&line, "former").kind else { panic!("a former") };
    assert_eq!(former.without_product, WithoutProduct::Wait);
    assert_eq!(former.dwell(), Span(3_600_000));
    assert_eq!(station(&line, "discharge belt").call_priority, 6, "the place in the line");
    let StationKind::Gate(gate) = &station(&line, "X-ray").kind else { panic!("a gate") };
    assert_eq!(gate.finds[0].defect, Reason::CONTAMINATED);
    assert_eq!(line.reason(gate.finds[1].defect), "crushed");
    assert_eq!(gate.finds[1].defect, line.own_defects[0].reason);
    assert!(gate.challenge.as_ref().is_some_and(|challenge| challenge.in_planned_production_time));
}

#[test]
fn without_a_target_the_feedback_holds_the_mean_of_a_pack() {
    let line = line(&BURGERS.replace("\"target\": \"253 g\",", ""));
    let StationKind::Portioner(portioner) = &station(&line, "burger former").kind else {
        panic!("a portioner")
    };
    let target_g = portioner.weight.feedback.as_ref().map(|feedback| feedback.target_g);
    assert_eq!(target_g, Some(253.0), "two portions of 126.5 g");
}

#[test]
fn each_family_is_given_in_each_of_its_ways() {
    let mean = |text: &str| process(text).mean();
    let close = |text: &str, expected: f64| {
        assert!((mean(text) - expected).abs() < 1e-9 * expected, "{text}: {} and not {expected}", mean(text));
    };
    close(r#""2 s""#, 2.0);
    close(r#"{ "constant": "2 s" }"#, 2.0);
    close(r#"{ "exponential": { "mean": "2 min" } }"#, 120.0);
    close(r#"{ "exponential": { "median": "2 s" } }"#, 2.0 / std::f64::consts::LN_2);
    close(r#"{ "exponential": { "p90": "2 s" } }"#, 2.0 / std::f64::consts::LN_10);
    close(r#"{ "uniform": { "max": "5 s", "min": "1 s" } }"#, 3.0);
    close(r#"{ "uniform": { "mean": "3 s", "half_width": "1 s" } }"#, 3.0);
    close(r#"{ "uniform": { "median": "3 s", "p90": "4 s" } }"#, 3.0);
    close(r#"{ "triangular": { "min": "1 s", "mode": "2 s", "max": "6 s" } }"#, 3.0);
    close(r#"{ "triangular": { "mean": "3 s", "half_width": "1 s" } }"#, 3.0);
    close(r#"{ "triangular": { "median": "3 s", "p90": "4 s" } }"#, 3.0);
    close(r#"{ "truncated_normal": { "mean": "9 s", "sd": "2 s", "min": "5 s", "max": "13 s" } }"#, 9.0);
    close(r#"{ "truncated_normal": { "median": "9 s", "p90": "10 s", "min": "5 s", "max": "13 s" } }"#, 9.0);
    close(r#"{ "lognormal": { "mean": "60 s", "cv": 0.8 } }"#, 60.0);
    close(r#"{ "lognormal": { "median": "60 s", "sigma": 0.5 } }"#, 60.0 * 0.125_f64.exp());
    close(r#"{ "weibull": { "mean": "90 min", "shape": 1.3 } }"#, 5400.0);
    close(r#"{ "weibull": { "shape": 1, "scale": "7 s" } }"#, 7.0);
    close(r#"{ "gamma": { "shape": 3, "scale": "2 s" } }"#, 6.0);
    close(r#"{ "gamma": { "shape": 3, "mean": "2 s" } }"#, 2.0);
    close(r#"{ "gamma": { "mean": "2 s", "cv": 0.5 } }"#, 2.0);
    close(r#"{ "empirical": ["4 s", "1 s", "4 s"] }"#, 3.0);
    close(r#"{ "geometric": { "mean": 10, "step": "2 s" } }"#, 20.0);
    for text in [
        r#"{ "lognormal": { "median": "60 s", "p90": "180 s" } }"#,
        r#"{ "weibull": { "median": "60 s", "p90": "180 s" } }"#,
        r#"{ "gamma": { "median": "60 s", "p90": "180 s" } }"#,
    ] {
        assert!((process(text).quantile(0.5) - 60.0).abs() < 1e-6, "{text}");
        assert!((process(text).quantile(0.9) - 180.0).abs() < 1e-6, "{text}");
    }
}

#[test]
fn counts_are_bare_numbers() {
    let between = |after: &str| line(&one_machine("\"2 s\"", after)).stations[0].stops[0].between.clone();
    assert_eq!(
        between(r#"{ "pieces": { "geometric": { "mean": 350 } } }"#),
        Distribution::Geometric { mean: 350.0, step: 1.0 }
    );
    assert_eq!(
        between(r#"{ "pieces": { "uniform": { "min": 10, "max": 30 } } }"#).mean().to_bits(),
        20_f64.to_bits()
    );
    let with_unit = parse(&one_machine("\"2 s\"", r#"{ "pieces": { "exponential": { "mean": "5 s" } } }"#));
    assert!(with_unit.expect_err("a count has no unit")[0].what.contains("a bare number is due"));
}

#[test]
fn a_line_of_machines_can_have_arrivals_storage_without_end_and_a_case_packer() {
    let text = r#"{ "model_version": 1, "name": "queue", "design_rate": "10/min", "stations": [
        { "arrivals": { "id": "door", "between": { "exponential": { "mean": "7 s" } }, "when_full": "lost" } },
        { "accumulating_table": { "id": "room", "capacity": "unlimited", "transit": "0 s" } },
        { "machine": { "id": "server", "process": { "exponential": { "mean": "6 s" } } } },
        { "case_packer": { "id": "packer", "packs_per_case": 4, "lane_packs": 4, "cycle": "5 s" } }] }"#;
    let line = line(text);
    assert_eq!(line.stations[line.constraint].id, "server", "the slowest machine");
    let StationKind::Accumulator(room) = &line.stations[1].kind else { panic!("a table") };
    assert_eq!(room.capacity, UNLIMITED);
    let StationKind::Arrivals(arrivals) = &line.stations[0].kind else { panic!("arrivals") };
    assert_eq!(arrivals.when_full, WhenFull::Lost);
    assert_eq!(line.crew.operators, 0, "nobody is needed");
}

#[test]
fn what_throttles_or_has_no_effect_is_warned_of() {
    let warned = |from: &str, to: &str| {
        assert_eq!(MINCE.matches(from).count(), 1, "{from}");
        let warnings = warnings(&MINCE.replace(from, to));
        assert!(warnings.iter().all(|warning| warning.severity == Severity::Warning));
        warnings.into_iter().map(|warning| warning.path).collect::<Vec<_>>()
    };
    let table = "stations[9].accumulating_table";
    // 6 packs in 4 s are 90 packs/min, below the former's 104.
    assert_eq!(warned("\"capacity\": 60,", "\"capacity\": 6,"), [format!("{table}.capacity")]);
    // 7 packs in 4 s are 105.
    assert!(warned("\"capacity\": 60,", "\"capacity\": 7,").is_empty());
    assert!(warned("\"capacity\": 60,", "\"capacity\": 0,").is_empty(), "a direct hand-over has no transit");
    assert_eq!(warned("\"capacity\": 60,", "\"capacity\": 60, \"release\": \"0.6 s\","), [table]);
    assert_eq!(warned("\"104/min\"", "\"105/min\""), ["design_rate"]);
    assert_eq!(warned("\"low\": \"393 g\"", "\"low\": \"406 g\""), ["stations[7].checkweigher.low"]);
    assert_eq!(warned("\"contaminated_probability\": 2e-5,", ""), ["stations[8].metal_detector.sensitivity"]);
    assert_eq!(
        warned("\"vision\": { \"sensitivity\": 0.995, \"false_tag\": 0.002 },", ""),
        ["stations[4].former.positions.print_inspection"]
    );
}

/// No follow-up of what could not be read: one cause, one problem.
#[test]
fn an_unreadable_figure_is_reported_once() {
    for (from, to) in [
        ("\"mean\": \"405 g\"", "\"mean\": 405"),
        ("\"batch\": \"300 kg\"", "\"batch\": 300"),
        ("\"low\": \"393 g\"", "\"low\": \"393\""),
        ("\"median\": \"240 s\"", "\"median\": 240"),
        ("\"rate\": \"112/min\"", "\"rate\": \"112 g\""),
        ("\"interval\": \"3600 s\"", "\"interval\": 3600"),
        ("\"cycles\": 3333", "\"cycles\": 1e999"),
    ] {
        assert_eq!(MINCE.matches(from).count(), 1, "{from}");
        let problems = parse(&MINCE.replace(from, to)).expect_err(to);
        assert_eq!(problems.len(), 1, "{problems:?}");
    }
    let both = one_machine("2", r#"{ "pieces": 7 }"#)
        .replace("\"stations\": [", "\"stations\": [{ \"machine\": { \"id\": \"n\", \"process\": 2 } }, ");
    assert_eq!(parse(&both).expect_err("two units are missing").len(), 2);
}

#[test]
fn a_changed_model_is_checked_in_the_text_that_it_writes() {
    let mut spec = spec_of(BURGERS).expect("valid");
    spec.constraint = Some("side table".to_owned());
    let problems = check(&spec).expect_err("a table is no constraint");
    let text = to_json(&spec);
    assert_eq!(&text[problems[0].span.clone()], "\"side table\"");
    let is_short = |line: &str| line.contains("\"about\"") || line.chars().count() <= 105;
    assert!(text.lines().all(is_short), "short lines, but for texts");
}

#[test]
fn stated_uncertainties_become_shares_of_the_value() {
    let text = one_machine("\"2 s\"", r#"{ "pieces": { "geometric": { "mean": 50 } } }"#).replace(
        "\"stations\"",
        r#""uncertainty": [{ "path": "stations[m].process", "plus_minus": "250 ms" },
            { "path": "stations[0].machine.stops[jam].after.pieces", "relative": "30 %" }], "stations""#,
    );
    let stated = line(&text).uncertainty;
    assert_eq!(stated.len(), 2);
    assert!((stated[0].relative - 0.125).abs() < 1e-12 && (stated[1].relative - 0.3).abs() < 1e-12);
    assert_eq!((stated[0].path.as_str(), stated[0].stated.as_str()), ("stations[m].process", "250 ms"));
    assert_eq!(stated[1].path, "stations[m].stops[jam].after.pieces");
    let again = to_json(&spec_of(&text).expect("valid"));
    assert_eq!(line(&again).uncertainty, stated, "the way back");
}
