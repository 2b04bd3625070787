//! How a run starts and ends: everything new, or a shift of the long run; the warm-up.

use super::{Model, machine, row, second, span, stop};
use linewake_engine::plan::RunPlan;
use linewake_log::event::{Counter, PackStep};
use serde_json::{Value, json};

fn press(stops: Value) -> Model {
    row(json!([machine("press", "1 s")])).with("press", json!({ "stops": stops })).lasting("30 s")
}

/// Pieces before the first stop, over 400 shifts of the long run.
fn pieces_before_stop(after: Value, initial: Option<&str>) -> Vec<usize> {
    let mut mode = stop("change", after, "100 s");
    if let Some(initial) = initial {
        mode["initial"] = json!(initial);
    }
    let line = press(json!([mode]));
    let shift = |number| line.replication(number, |plan, _| plan.consumables_part_used = true);
    // The piece that reaches the count is held: one more than have left.
    (0..400).map(|number| shift(number).times("press", PackStep::Left).len() + 1).collect()
}

/// A magazine of ten pieces is part used in a shift of the long run: 1 to 10 are left, each as likely as any other. Mean 5.5,
/// within 4 x 2.87 / 20 = 0.57 over 400 shifts (error probability 6e-5); every value occurs.
#[test]
fn consumables_are_part_used_in_a_shift_of_the_long_run() {
    for after in [json!({ "magazine": { "pieces": 10, "per_cycle": 1 } }), json!({ "pieces": 10 })] {
        let left = pieces_before_stop(after, None);
        let mean = left.iter().sum::<usize>() as f64 / 400.0;
        assert!((mean - 5.5).abs() < 0.57, "{mean}");
        assert!((1..=10).all(|count| left.contains(&count)));
    }
}

/// Where the model states what is used, that stands: new is new. A stop by running time is no consumable: it starts whole,
/// and strikes at 10 s with the eleventh piece before it (ten have left, and one is in work).
#[test]
fn what_is_no_consumable_or_stated_starts_whole() {
    assert!(pieces_before_stop(json!({ "pieces": 10 }), Some("new")).iter().all(|&pieces| pieces == 10));
    let by_time = pieces_before_stop(json!({ "running_time": "10.5 s" }), None);
    assert!(by_time.iter().all(|&pieces| pieces == 11));
}

/// A piece every 0.7 s, warm-up 10 s, shift 20 s: pieces 15 (10.5 s) to 42 (29.4 s) count, 28 of them; 28 x 1 s / 20 s.
#[test]
fn a_warm_up_is_dropped() {
    let line = row(json!([machine("press", "0.7 s")])).lasting("20 s");
    let run = line.run_with(|plan, line| *plan = RunPlan::long_run(line, span(10.0)));
    let oee = run.result.oee;
    assert_eq!(run.result.window_start, second(10.0));
    assert_eq!((oee.good_packs, oee.total_packs), (28, 28));
    assert_eq!(oee.planned_production_time, span(20.0));
    assert!((oee.oee - 1.4).abs() < 1e-12);
    assert_eq!(run.times("press", PackStep::Left).len(), 42);
}

/// A reason that is switched off does not stop the line: 21 pieces before 22 s instead of three stops of 4 s after three
/// pieces each (pieces of 1, 2, 7, 8, 9, 14, 15, 16, 21: the third of each is held to the end of the stop).
#[test]
fn a_stop_can_be_switched_off() {
    let line = press(json!([stop("change", json!({ "pieces": 3 }), "4 s")])).lasting("22 s");
    assert_eq!(line.run().count("press", Counter::HandedOver), 9);
    let run = line.run_with(|plan, line| {
        let press = line.station("press").expect("the press");
        plan.switched_off = vec![(press, line.stations[press].stops[0].reason)];
    });
    assert_eq!(run.count("press", Counter::HandedOver), 21);
}
