//! The families of distributions, as lengths of a stop.

use super::{machine, row, stop};
use serde_json::{Value, json};

/// Lengths in seconds of about 400 stops, one after each piece of 1 s.
fn lengths(duration: Value) -> Vec<f64> {
    let mut mode = stop("jam", json!({ "pieces": 1 }), "1 s");
    mode["duration"] = duration;
    let run = row(json!([machine("press", "1 s")]))
        .with("press", json!({ "stops": [mode] }))
        .lasting("2000 s")
        .run();
    let stops = run.stops("press");
    let whole: Vec<&str> = stops.split(", ").filter(|stop| stop.contains("..")).collect();
    let second = |text: &str| text.parse::<f64>().expect("a number");
    whole
        .iter()
        .map(|stop| {
            let (begin, end) = stop.trim_start_matches("jam ").split_once("..").expect("begin and end");
            second(end) - second(begin)
        })
        .collect()
}

/// Each family given by its mean, 4 s: the mean of n lengths lies within five standard errors (error probability 6e-7 each).
/// Standard deviations: exponential 4, uniform 1 / sqrt(3), triangular 1 / sqrt(6), lognormal and gamma 2, Weibull of shape 2
/// 0.523 x 4, geometric sqrt(1 - 1/2) x 2 steps of 2 s.
#[test]
fn every_family_has_its_mean_and_stays_in_its_range() {
    let all = [
        (json!("4 s"), 0.0, 4.0, 4.0),
        (json!({ "exponential": { "mean": "4 s" } }), 4.0, 0.0, f64::INFINITY),
        (json!({ "uniform": { "mean": "4 s", "half_width": "1 s" } }), 0.578, 3.0, 5.0),
        (json!({ "triangular": { "min": "3 s", "mode": "4 s", "max": "5 s" } }), 0.409, 3.0, 5.0),
        (
            json!({ "truncated_normal": { "mean": "4 s", "sd": "1 s", "min": "3 s", "max": "5 s" } }),
            0.54,
            3.0,
            5.0,
        ),
        (json!({ "lognormal": { "mean": "4 s", "cv": 0.5 } }), 2.0, 0.0, f64::INFINITY),
        (json!({ "weibull": { "shape": 2, "mean": "4 s" } }), 2.092, 0.0, f64::INFINITY),
        (json!({ "gamma": { "mean": "4 s", "cv": 0.5 } }), 2.0, 0.0, f64::INFINITY),
        (json!({ "geometric": { "mean": 2, "step": "2 s" } }), 2.829, 2.0, f64::INFINITY),
        (json!({ "empirical": ["2 s", "4 s", "6 s"] }), 1.634, 2.0, 6.0),
    ];
    for (duration, sd, least, most) in all {
        let lengths = lengths(duration.clone());
        assert!(lengths.len() > 300, "{duration}");
        let inside = |length: &f64| *length >= least - 1e-6 && *length <= most + 1e-6;
        assert!(lengths.iter().all(inside), "{duration}: {lengths:?}");
        let mean = lengths.iter().sum::<f64>() / lengths.len() as f64;
        let allowed = 5.0 * sd / (lengths.len() as f64).sqrt() + 1e-6;
        assert!((mean - 4.0).abs() <= allowed, "{duration}: {mean} +- {allowed}");
    }
}

/// Whole multiples of a stated time: 2, 4, 6, ... s; half of all are 2 s, a quarter 4 s. Of 400: 200 +- 50 (five standard
/// deviations) and 100 +- 44.
#[test]
fn a_geometric_time_is_a_whole_number_of_steps() {
    let lengths = lengths(json!({ "geometric": { "mean": 2, "step": "2 s" } }));
    let steps: Vec<f64> = lengths.iter().map(|length| length / 2.0).collect();
    assert!(steps.iter().all(|steps| (steps - steps.round()).abs() < 1e-6));
    let share = |count: f64| {
        steps.iter().filter(|steps| (*steps - count).abs() < 0.5).count() as f64 / steps.len() as f64
    };
    assert!((share(1.0) - 0.5).abs() < 0.125 && (share(2.0) - 0.25).abs() < 0.11);
}
