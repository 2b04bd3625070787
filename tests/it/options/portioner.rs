//! Weights of the portions: noise, batches, drift, limits, and feedback from the checkweigher.

use super::{Model, Run, second, small_line};
use linewake_log::event::PackStep;
use serde_json::{Value, json};

/// The small line with an infeed belt that never fills, so that a portion is cut every second.
fn weighed(weight: Value) -> Model {
    small_line()
        .with("portioner", json!({ "rate": "60/min", "weight": weight }))
        .with("infeed", json!({ "capacity": "unlimited" }))
}

fn grams(run: &Run) -> Vec<f64> {
    run.grams("portioner", PackStep::Portioned)
}

/// Weights are whole micrograms.
fn weighs(left: f64, right: f64) -> bool {
    (left - right).abs() < 1e-5
}

/// The hopper holds exactly one nominal portion, 400 g, and no more comes. Half of all portions would be heavier: those are
/// cut short to 400 g. Of 200, between 72 and 128 (mean 100, four standard deviations of 7.07; error probability 6e-5).
#[test]
fn a_portion_is_cut_short_to_what_is_left() {
    let line = weighed(json!({ "sd": "10 g" }))
        .with("supply", json!({ "batch": "400 g", "hopper": "400 g", "preparation": "100 s" }))
        .lasting("5 s");
    let first: Vec<f64> = (0..200).map(|number| grams(&line.replication(number, |_, _| {}))[0]).collect();
    assert!(first.iter().all(|&weight| weight <= 400.0));
    let cut_short = first.iter().filter(|&&weight| weighs(weight, 400.0)).count();
    assert!((72..=128).contains(&cut_short), "{cut_short}");
}

/// Mean 2 g with a standard deviation of 50 g: no portion under 1 g, and P(z < (1 - 2) / 50) = 49.2 % of them at 1 g. Of
/// 2000: 984 +- 90 (four standard deviations of 22.4; error probability 6e-5).
#[test]
fn no_portion_is_lighter_than_a_gram() {
    let run = weighed(json!({ "mean": "2 g", "sd": "50 g" })).lasting("2000.5 s").run();
    let all = grams(&run);
    assert_eq!(all.len(), 2000);
    assert!(all.iter().all(|&weight| weight >= 1.0));
    let lightest = all.iter().filter(|&&weight| weighs(weight, 1.0)).count();
    assert!((894..=1074).contains(&lightest), "{lightest}");
}

/// Batches of 4 kg whose shift alone makes the weights differ. The second batch falls in at 1 s, onto most of the first; the
/// first is used up first all the same: with portions of w grams it gives ceil(4000 / w) portions their weight, ten or
/// eleven; then the second batch gives its own.
#[test]
fn product_leaves_the_hopper_first_in_first_out() {
    let line = weighed(json!({ "sd_batch": "10 g" }))
        .with("supply", json!({ "batch": "4 kg", "hopper": "8 kg", "preparation": "1 s" }))
        .lasting("18.5 s");
    let mut seen = Vec::new();
    for number in 0..20 {
        let all = grams(&line.replication(number, |_, _| {}));
        let of_first = all.iter().take_while(|&&weight| weighs(weight, all[0])).count();
        let due = (4000.0 / all[0]).ceil() as usize;
        assert_eq!(of_first, due, "{all:?}");
        assert!(all[of_first..].iter().all(|&weight| weighs(weight, all[of_first])));
        seen.push(due);
    }
    assert!(seen.contains(&10) && seen.contains(&11));
}

/// Drift with a standard deviation of 2 g and a correlation time of 10 s, a portion each second: neighbours have the
/// correlation exp(-0.1) = 0.905, portions ten apart 1/e = 0.368. Over 40 000 s (about 2000 independent values) the standard
/// deviation of the estimates is near 2 / sqrt(4000) = 0.03 g and 0.02; five of them are allowed (error probability 1e-6).
#[test]
fn drift_has_its_spread_and_its_correlation_time() {
    let run = weighed(json!({ "drift": { "sd": "2 g", "correlation_time": "10 s" } }))
        .with("supply", json!({ "preparation": "300 s" }))
        .lasting("40000 s")
        .run();
    let all: Vec<f64> = grams(&run).iter().map(|weight| weight - 400.0).collect();
    assert_eq!(all.len(), 39_999);
    let variance = all.iter().map(|it| it * it).sum::<f64>() / all.len() as f64;
    let correlation = |lag: usize| {
        let pairs = all.iter().zip(&all[lag..]).map(|(left, right)| left * right);
        pairs.sum::<f64>() / (all.len() - lag) as f64 / variance
    };
    assert!((variance.sqrt() - 2.0).abs() < 0.15, "{}", variance.sqrt());
    assert!((correlation(1) - (-0.1_f64).exp()).abs() < 0.02, "{}", correlation(1));
    assert!((correlation(10) - (-1.0_f64).exp()).abs() < 0.1, "{}", correlation(10));
}

/// Feedback after every two packs, gain 0.5, target 400 g, no lower than -6 g.
fn with_feedback(keys: Value) -> Model {
    let feedback = json!({
        "from": "checkweigher", "every_packs": 2, "gain": 0.5, "target": "400 g", "lowest": "-6 g", "highest": "6 g",
    });
    let mut weight = json!({ "mean": "410 g", "feedback": feedback });
    super::merge(&mut weight["feedback"], keys);
    weighed(weight).with("portioner", json!({ "rate": "120/min" })).with("infeed", json!({ "capacity": 8 }))
}

/// All portions are 410 g. The first two packs are weighed at 11.9 and 12.1 (timetable): mean 410, correction
/// -0.5 x (410 - 400) = -5 g for portions cut after 12.1. The next two, weighed at 13.9 and 14.1, are of 410 g still (the
/// line's own length is the dead time): -5 more, but the limit is -6: 404 g for portions cut after 14.1, for good.
#[test]
fn feedback_has_the_length_of_the_line_as_dead_time_and_limits() {
    let run = with_feedback(json!({})).run();
    let steps = run.steps("portioner", PackStep::Portioned);
    for step in &steps {
        let due = match step.at {
            at if at <= second(12.1) => 410.0,
            at if at <= second(14.1) => 405.0,
            _ => 404.0,
        };
        assert!(weighs(step.weight_ug as f64 / 1e6, due), "{step:?} instead of {due} g");
    }
    assert!(steps.iter().any(|step| step.at > second(12.1) && step.at <= second(14.1)));
    // The packs follow: those of the first portions are 410 g, the last ones 404 g.
    let cut = run.grams("former", PackStep::Cut);
    assert!(weighs(cut[0], 410.0) && weighs(cut[cut.len() - 1], 404.0));
}

/// The other limit: packs of 380 g, correction +0.5 x 20 = 10 g, held at +6 g.
#[test]
fn feedback_has_an_upper_limit() {
    let run = with_feedback(json!({})).with("portioner", json!({ "weight": { "mean": "380 g" } })).run();
    let all = grams(&run);
    assert!(weighs(all[0], 380.0) && weighs(all[all.len() - 1], 386.0));
}

/// All packs are rejected as too heavy (over 405 g). Counted, they bring the correction of -5 g; left out, there is never one.
#[test]
fn packs_rejected_for_weight_count_in_the_feedback_or_not() {
    let line = with_feedback(json!({})).with("checkweigher", json!({ "high": "405 g" })).lasting("14 s");
    let all = grams(&line.run());
    assert!(weighs(all[all.len() - 1], 405.0));
    let line = line
        .with("portioner", json!({ "weight": { "feedback": { "count_rejects": false } } }))
        .lasting("60 s");
    assert!(grams(&line.run()).iter().all(|&weight| weighs(weight, 410.0)));
}

/// The correction keeps its value through a stop of the portioner (20 to 25) and through batches.
#[test]
fn the_correction_is_kept_through_stops() {
    let run = with_feedback(json!({})).run_stopped(&[("portioner", 20.0, 5.0)]);
    let after: Vec<_> = run
        .steps("portioner", PackStep::Portioned)
        .into_iter()
        .filter(|step| step.at > second(25.0))
        .collect();
    assert!(!after.is_empty() && after.iter().all(|step| weighs(step.weight_ug as f64 / 1e6, 404.0)));
}
