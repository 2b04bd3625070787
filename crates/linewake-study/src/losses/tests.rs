//! The counterfactual cost of a stop against a closed formula, and what each switch really switches off.

use super::*;
use crate::replicate::Workers;
use linewake_kpi::summary::StartKind;
use linewake_model::time::Span;
use std::sync::atomic::AtomicBool;

const MINCE: &str = include_str!("../../../../models/alder-hill-mince.json");

/// Check G02 of the theory tests: one machine of cycle 1 s and three causes (MTBF, MTTR in seconds), all clocks standing
/// still in any stop.
const CAUSES: [(&str, f64, f64); 3] = [("one", 600.0, 30.0), ("two", 120.0, 5.0), ("three", 3600.0, 240.0)];

fn block() -> BaseModel {
    let stops: Vec<String> = CAUSES
        .iter()
        .map(|(reason, mtbf, mttr)| {
            format!(
                r#"{{ "reason": "{reason}", "attended": false,
                    "after": {{ "running_time": {{ "exponential": {{ "mean": "{mtbf} s" }} }} }},
                    "duration": {{ "exponential": {{ "mean": "{mttr} s" }} }} }}"#
            )
        })
        .collect();
    let text = format!(
        r#"{{ "model_version": 1, "name": "block", "design_rate": "60/min", "shift": {{ "length": "40 h" }},
            "stations": [{{ "machine": {{ "id": "block", "process": "1 s", "stops": [{}] }} }}] }}"#,
        stops.join(", ")
    );
    BaseModel::parse(&text).expect("a model")
}

fn conditions(runs: u64) -> Conditions {
    Conditions { runs, start: StartKind::NewRolls, level: 0.999, ..Conditions::default() }
}

fn found(base: BaseModel, options: LossesOptions, conditions: &Conditions) -> LossesResult {
    let study = LossesStudy::prepare(base, options, conditions).expect("a study");
    let stop = AtomicBool::new(false);
    let workers = Workers::new(None, &stop).expect("threads");
    let mut runner = Runner::new(study.plan(), &workers, &|| {});
    study.conclude(&mut runner).expect("a conclusion")
}

/// *Source*: Buzacott (1967), Automatic Transfer Lines with Buffer Stocks, International Journal of Production Research
/// 5(3), 183-200 (from memory): a block that stops as a whole has the availability 1 / (1 + sum MTTR / MTBF); without a
/// cause its term falls away. 40 runs of 40 h, intervals at 99.9 % with shared luck: a right program fails one of the three
/// with probability 0.003. The gain of each cause is told to a fifth of it, so that one read off the wrong cause fails.
#[test]
fn the_gain_without_a_stop_is_that_of_the_block_formula() {
    let options = LossesOptions { without_speed_limits: true, ..LossesOptions::default() };
    let result = found(block(), options, &conditions(40));
    let shift_s = 144_000.0;
    let sum = |without: &str| {
        let kept = CAUSES.iter().filter(|(reason, ..)| *reason != without);
        kept.map(|(_, mtbf, mttr)| mttr / mtbf).sum::<f64>()
    };
    let packs = |without: &str| shift_s / (1.0 + sum(without));
    assert!((packs("none") / shift_s - 0.863_309_4).abs() < 1e-6, "check G02");
    for (reason, mtbf, mttr) in CAUSES {
        let row = result.rows.iter().find(|row| row.reason == reason).expect(reason);
        let gain = packs(reason) - packs("none");
        let half_width = row.gain_packs.half_width.expect("40 runs");
        assert!(
            (row.gain_packs.mean - gain).abs() <= half_width,
            "{reason}: {:?}, not {gain}",
            row.gain_packs
        );
        assert!(half_width < 0.2 * gain, "{reason}: {half_width} of {gain}");
        // The log charges the time lost; without the stop the other stops would strike in it too.
        let charged = row.charged_packs.expect("a stop is charged");
        assert!((charged.mean - packs("none") * mttr / mtbf).abs() <= charged.half_width.expect("40 runs"));
        assert!(charged.mean > row.gain_packs.mean);
        assert!((row.stopped_s.expect("a stop").mean - charged.mean).abs() < 2.0, "one pack a second");
    }
    let order: Vec<&str> = result.rows.iter().map(|row| row.reason.as_str()).collect();
    assert_eq!(order, ["three", "one", "two"]);
    let all = result.all_stops_off.expect("there are stops");
    assert!((all.mean - (shift_s - packs("none"))).abs() <= all.half_width.expect("40 runs"));
}

/// Two machines without a buffer between stop each other; each alone costs about half of the block's loss, and with a large
/// buffer the stop of one beside a much slower one costs next to nothing although the log has its minutes.
#[test]
fn a_stop_that_a_buffer_hides_gains_nothing() {
    let machine = |id: &str, process: &str, mttr: &str| {
        format!(
            r#"{{ "machine": {{ "id": "{id}", "process": "{process}", "stops": [{{ "reason": "jam", "attended": false,
                "after": {{ "running_time": {{ "exponential": {{ "mean": "300 s" }} }} }}, "duration": "{mttr}" }}] }} }}"#
        )
    };
    let text = format!(
        r#"{{ "model_version": 1, "name": "hidden", "design_rate": "30/min", "constraint": "slow",
            "shift": {{ "length": "8 h" }}, "stations": [{}, {{ "accumulating_table": {{ "id": "table",
            "capacity": 200, "transit": "0 s" }} }}, {}] }}"#,
        machine("fast", "1 s", "20 s"),
        machine("slow", "2 s", "20 s")
    );
    let base = BaseModel::parse(&text).expect("a model");
    let result = found(
        base,
        LossesOptions { without_speed_limits: true, ..LossesOptions::default() },
        &conditions(10),
    );
    let row = |station: &str| result.rows.iter().find(|row| row.station == station).expect("a row");
    let (fast, slow) = (row("fast"), row("slow"));
    assert!(fast.gain_packs.mean.abs() < 5.0, "{:?}", fast.gain_packs);
    assert!(fast.stopped_s.expect("a stop").mean > 600.0, "it has its minutes");
    // 8 h at 2 s and 20 s of stop to each 300 s of running: 14,400 x 300 / 320 = 13,500.
    assert!((slow.gain_packs.mean - 900.0).abs() < 60.0, "{:?}", slow.gain_packs);
    assert_eq!((slow.rank_by_gain, slow.verdict), (1, LossVerdict::AsCharged));
}

#[test]
fn every_cause_of_the_reference_line_can_be_switched_off() {
    let base = BaseModel::parse(MINCE).expect("a model");
    let conditions =
        Conditions { runs: 2, length: Some(Span::from_seconds(3600.0)), ..Conditions::default() };
    let stops: usize = base.line.stations.iter().map(|station| station.stops.len()).sum();
    let study = LossesStudy::prepare(base.clone(), LossesOptions::default(), &conditions).expect("a study");
    let of = |kind: LossKind| study.causes.iter().filter(|cause| cause.kind == kind).count();
    assert_eq!(of(LossKind::Stop) + of(LossKind::Consumable), stops);
    // Two web changes, ribbon, labels, case magazine.
    assert_eq!(of(LossKind::Consumable), 5);
    assert_eq!((of(LossKind::FailSafe), of(LossKind::PlannedStop), of(LossKind::Crew)), (3, 1, 1));
    for reason in
        ["misprint", "false_tag", "held_in_seal", "dropped", "underweight", "overweight", "false_reject"]
    {
        assert!(
            study.causes.iter().any(|cause| cause.kind == LossKind::RejectCause && cause.reason == reason),
            "{reason}"
        );
    }
    assert!(study.causes.iter().any(|cause| cause.reason == "cap on the cycles"));
    assert_eq!(study.plan().designs.len(), study.causes.len() + 2);
    // Each design but the stops differs from the line as modelled in something.
    for (cause, design) in study.causes.iter().zip(&study.plan().designs[1..]) {
        let is_stop = !design.plan.switched_off.is_empty();
        assert!(is_stop || design.line != base.line, "{}", cause.reason);
    }
    let unknown = LossesOptions { stations: vec!["oven".to_owned()], ..LossesOptions::default() };
    let error = LossesStudy::prepare(base, unknown, &conditions).expect_err("no oven").to_string();
    assert!(error.contains("oven") && error.contains("former"), "{error}");
}

/// Without its cause a reject reason is gone from the log.
#[test]
fn a_switched_off_reject_cause_rejects_nothing() {
    let base = BaseModel::parse(MINCE).expect("a model");
    let conditions = Conditions { runs: 2, start: StartKind::NewRolls, ..Conditions::default() };
    let study = LossesStudy::prepare(base, LossesOptions::default(), &conditions).expect("a study");
    let keep = Keep { ledger: true, ..Keep::default() };
    for (cause, design) in study.causes.iter().zip(&study.plan().designs[1..]) {
        let rejected = |design: &Design| {
            let record = Design { keep, ..design.clone() }
                .run(0, 0, 1, 0, conditions.conventions)
                .expect("nothing is drawn");
            record
                .ledger
                .expect("kept")
                .rejected(cause.station.filter(|_| cause.reason == "false_reject"), &cause.reason)
        };
        if cause.kind == LossKind::RejectCause {
            assert!(rejected(design) < 0.5, "{}", cause.reason);
            let usual = ["misprint", "held_in_seal", "dropped", "underweight"];
            assert!(
                !usual.contains(&cause.reason.as_str()) || rejected(&study.plan().designs[0]) > 0.5,
                "{}",
                cause.reason
            );
        }
    }
}
