//! G06, convention L9: availability of one saturated machine, new at time 0, over many runs of finite length. A repair
//! still open at the end counts up to the end.

use crate::checks::Check;
use crate::compare::{Sample, judge};
use crate::measured::Measured;
use crate::model_of::{Model, Unit, machine, model, time};
use crate::observer::Observer;
use crate::replications::on_all_cores;
use crate::row::{Row, RunSet};
use linewake_engine::plan::RunPlan;
use linewake_model::time::Moment;
use serde_json::{Value, json};

/// Runs over which the share that reaches an availability is counted.
const RUNS: u64 = 100_000;
/// The limit for long runs is looked at on runs a hundred times as long, where it is reached, and so many.
const LONG_RUNS: u64 = 4_000;
const LONG: u64 = 100;

/// The rows of the page.
pub(crate) fn rows(check: &Check, blank: &Row, set: RunSet, seed: u64) -> Vec<Row> {
    let model = saturated_machine(&check.parameters);
    let length = check.parameters["run_length"].as_f64().expect("a length") as u64;
    let more = if set == RunSet::Full { 10 } else { 1 };
    let describe = crate::simulated::describe(&check.parameters);
    let counted = |seed: u64, times: u64| availabilities(&model, length, times * RUNS, seed);
    let first = counted(seed, more);
    check
        .values
        .iter()
        .map(|value| {
            let name = value.quantity.as_str();
            if name == "asymptotic_sd_of_availability" {
                let words = format!("{} runs of {} units", more * LONG_RUNS, LONG * length);
                let row = Row {
                    model: format!("{describe}; {words}"),
                    note: "from the long runs, scaled by the square root of the length: the limit is for long runs"
                        .to_owned(),
                    ..blank.clone()
                };
                let sd = |seed: u64, times: u64| scaled_sd(&model, length, times * LONG_RUNS, seed);
                return judge(row, value, sd(seed, more), || sd(seed + 1, 4 * more));
            }
            let least: f64 = name
                .trim_start_matches("P(availability>=")
                .trim_end_matches(')')
                .parse()
                .expect("an availability");
            let share = |values: &[f64]| {
                let hits = values.iter().filter(|value| **value >= least).count() as u64;
                Sample { ours: Measured::share(hits, values.len() as u64), reference_error: 0.0 }
            };
            let row = Row {
                model: format!("{describe}; {} runs of {length} units", first.len()),
                ..blank.clone()
            };
            judge(row, value, share(&first), || share(&counted(seed + 1, 4 * more)))
        })
        .collect()
}

/// What the machine makes does not matter; long pieces cost little.
fn saturated_machine(parameters: &Value) -> Model {
    let mean = |key: &str| parameters[key]["mean"].as_f64().expect("a mean");
    let exponential = |key: &str| json!({ "exponential": { "mean": time(mean(key), Unit::Second) } });
    let stop = json!({
        "reason": "failure",
        "after": { "running_time": exponential("time_to_failure") },
        "duration": exponential("repair"),
        "attended": false
    });
    model("G06", vec![machine(1, json!("60 s"), vec![stop])], 0, Unit::Second)
}

fn availabilities(model: &Model, length: u64, runs: u64, seed: u64) -> Vec<f64> {
    let end = Moment(length * 1_000_000);
    let plan = RunPlan { horizon: end, ..RunPlan::shift(&model.line) };
    on_all_cores(runs, |run| {
        let mut observer = Observer::new(1, Moment::ZERO, end, end.0, None);
        linewake_engine::run(&model.line, &plan, seed, run, &mut observer);
        let window = observer.finish();
        1.0 - window.stations[0].down() / window.length_us as f64
    })
}

/// Standard deviation of the availability of long runs, as of runs of the check's length. Its standard error is that of
/// a normal sample: sd / sqrt(2 (n - 1)).
fn scaled_sd(model: &Model, length: u64, runs: u64, seed: u64) -> Sample {
    let values = availabilities(model, LONG * length, runs, seed);
    let variance = linewake_stats::estimate::variance(&values).expect("many runs");
    let sd = (variance * LONG as f64).sqrt();
    let standard_error = sd / (2.0 * (runs as f64 - 1.0)).sqrt();
    Sample { ours: Measured { mean: sd, standard_error, n: values.len() }, reference_error: 0.0 }
}
