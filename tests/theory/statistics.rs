//! Statistics: fitting, limits, acceptance tests, output analysis (S01 to S14). Values, tolerances and sources stand in
//! data/checks.csv; each value has a row.

use crate::checks::{self, Check, Reference};
use crate::compare::{Sample, judge};
use crate::measured::Measured;
use crate::model_of::model_of;
use crate::quantities::Seen;
use crate::replications::{Lengths, on_all_cores, replicate};
use crate::row::{Row, RunSet};
use crate::simulated::describe;
use linewake_stats::distribution::{Distribution, normal_quantile};
use linewake_stats::estimate::{Estimate, Paired, mean, variance};
use linewake_stats::fit::{self, Family, Fit};
use linewake_stats::interval::{Ending, clopper_pearson, mtbf_lower, mtbf_upper, welch, wilson};
use linewake_stats::series::BatchMeans;
use linewake_stats::stream::Streams;
use linewake_stats::test_plan::{MtbfPlan, SamplingPlan, SequentialPlan};
use serde_json::{Value, json};
use std::cell::OnceCell;

const FAMILY: &str = "S. Statistics: fitting, limits, acceptance tests, output analysis";

/// The rows of the page.
pub(crate) fn rows(set: RunSet) -> Vec<Row> {
    checks::all()
        .iter()
        .filter(|check| check.id.starts_with('S'))
        .flat_map(|check| rows_of(check, set))
        .collect()
}

fn rows_of(check: &Check, set: RunSet) -> Vec<Row> {
    let model = format!("{}: {}", check.kind.replace('_', " "), describe(&check.parameters));
    let blank = Row { family: FAMILY, id: check.id.clone(), model, ..Row::default() };
    match check.kind.as_str() {
        "output_analysis_ar1" => {
            simulated_rows(check, &blank, |seed, times| autoregressive(check, set, seed, times))
        }
        "output_analysis_mm1" => simulated_rows(check, &blank, |seed, times| queue(check, set, seed, times)),
        _ => check.values.iter().map(|value| computed_row(check, &blank, value)).collect(),
    }
}

/// A row without chance.
fn computed_row(check: &Check, blank: &Row, value: &Reference) -> Row {
    let ours = computed(check, &value.quantity)
        .unwrap_or_else(|| panic!("{}: what is {}?", check.id, value.quantity));
    let sample = Sample { ours: Measured { mean: ours, standard_error: 0.0, n: 1 }, reference_error: 0.0 };
    judge(blank.clone(), value, sample, || unreachable!("nothing is simulated"))
}

/// Rows with chance: `run` takes a seed and how many times the usual length, and gives each quantity by name.
fn simulated_rows(
    check: &Check,
    blank: &Row,
    run: impl Fn(u64, u64) -> (Vec<(&'static str, Measured)>, String),
) -> Vec<Row> {
    let seed = 9_000 + 10 * u64::from(check.id.as_bytes()[2] - b'0');
    let (first, words) = run(seed, 1);
    let blank = Row { model: format!("{}; {words}", blank.model), ..blank.clone() };
    let second = OnceCell::new();
    let find = |list: &[(&'static str, Measured)], value: &Reference| {
        let (_, ours) = list
            .iter()
            .find(|(name, _)| *name == value.quantity)
            .unwrap_or_else(|| panic!("{}: what is {}?", check.id, value.quantity));
        Sample { ours: *ours, reference_error: 0.0 }
    };
    check
        .values
        .iter()
        .map(|value| {
            let again = || find(&second.get_or_init(|| run(seed + 1, 4)).0, value);
            judge(blank.clone(), value, find(&first, value), again)
        })
        .collect()
}

/// Our value of a quantity that is calculated.
fn computed(check: &Check, quantity: &str) -> Option<f64> {
    match check.kind.as_str() {
        "mle_right_censored" | "mle_complete" => fitted(check, quantity),
        "ci_proportion" => {
            let count = |name: &str| check.parameters[name].as_u64().expect("a count");
            let (hits, trials, level) = (count("successes"), count("trials"), number(check, "confidence"));
            let (exact, score) = (clopper_pearson(hits, trials, level)?, wilson(hits, trials, level)?);
            Some(match quantity {
                "exact_lower" => exact.low,
                "exact_upper" => exact.high,
                "wilson_lower" => score.low,
                "wilson_upper" => score.high,
                _ => return None,
            })
        }
        "ci_mtbf" => {
            // "lower(19520,7,90%)": total time, failures, one-sided confidence.
            let (side, rest) = quantity.split_once('(')?;
            let figures: Vec<f64> = rest
                .trim_end_matches("%)")
                .split(',')
                .map(|figure| figure.parse().expect("a figure"))
                .collect();
            let (time, failures, confidence) = (figures[0], figures[1] as u64, figures[2] / 100.0);
            match side {
                "lower" => mtbf_lower(time, failures, confidence, Ending::ByTime),
                "upper" => mtbf_upper(time, failures, confidence, Ending::ByTime),
                _ => None,
            }
        }
        "test_plan_exponential" => {
            // theta1, the time that is too low, is the unit.
            let accept = check.parameters["accept_if_failures_at_most"].as_u64()?;
            let plan = MtbfPlan { duration: number(check, "duration_over_theta1"), accept };
            Some(match quantity {
                "producer_risk" => 1.0 - plan.acceptance_probability(number(check, "discrimination_ratio")),
                "consumer_risk" => plan.acceptance_probability(1.0),
                "P_accept(MTBF=1.5*theta1)" => plan.acceptance_probability(1.5),
                _ => return None,
            })
        }
        "test_plan_design" => {
            let promised = number(check, "discrimination_ratio");
            let plan = MtbfPlan::shortest(promised, 1.0, number(check, "alpha"), number(check, "beta"))
                .expect("a plan");
            Some(match quantity {
                "accept_number" => plan.accept as f64,
                "duration_over_theta1" => plan.duration,
                "true_alpha" => 1.0 - plan.acceptance_probability(promised),
                _ => return None,
            })
        }
        "sprt_binomial" => sequential(check, quantity),
        "oc_binomial" => {
            let count = |name: &str| check.parameters[name].as_u64().expect("a count");
            let plan = SamplingPlan::new(count("n"), count("c")).expect("a plan");
            let share = quantity.strip_prefix("Pa(p=")?.strip_suffix(')')?.parse().ok()?;
            Some(plan.acceptance_probability(share))
        }
        "ci_mean" => {
            let estimate = Estimate::of(&numbers(check, "data"), number(check, "confidence"))?;
            match quantity {
                "mean" => Some(estimate.mean),
                "half_width" => estimate.half_width,
                _ => None,
            }
        }
        "paired_comparison" => {
            let (first, second) = (numbers(check, "x1"), numbers(check, "x2"));
            let level = number(check, "confidence");
            // First less second.
            let difference = Paired::of(&second, &first, level)?.difference;
            let moments = |values: &[f64]| Some((values.len(), mean(values)?, variance(values)?.sqrt()));
            let welch = welch(moments(&first)?, moments(&second)?, level)?;
            match quantity {
                "mean_difference" => Some(difference.mean),
                "paired_half_width" => difference.half_width,
                "welch_half_width" => Some(welch.half_width),
                "welch_df" => Some(welch.degrees),
                _ => None,
            }
        }
        _ => None,
    }
}

fn fitted(check: &Check, quantity: &str) -> Option<f64> {
    let mut cut_off = Vec::new();
    for pair in check.parameters["censored"].as_array().into_iter().flatten() {
        let count = pair[1].as_u64().expect("a count");
        cut_off.extend((0..count).map(|_| pair[0].as_f64().expect("a time")));
    }
    let sample = fit::Sample::new(&numbers(check, "failures"), &cut_off).expect("times");
    let (family, figure) = quantity.split_once('_')?;
    let family = Family::ALL.into_iter().find(|known| known.name().to_lowercase() == family)?;
    let fit = Fit::of(family, &sample).expect("a fit");
    match (figure, &fit.distribution) {
        ("loglik", _) => Some(fit.log_likelihood),
        ("AIC", _) => Some(fit.aic()),
        ("mean", distribution) => Some(distribution.mean()),
        ("sd", distribution) => Some(distribution.variance().sqrt()),
        ("shape", Distribution::Weibull { shape, .. } | Distribution::Gamma { shape, .. }) => Some(*shape),
        ("scale", Distribution::Weibull { scale, .. } | Distribution::Gamma { scale, .. }) => Some(*scale),
        ("mu", Distribution::Lognormal { median, .. }) => Some(median.ln()),
        ("sigma", Distribution::Lognormal { sigma, .. }) => Some(*sigma),
        _ => None,
    }
}

fn sequential(check: &Check, quantity: &str) -> Option<f64> {
    let [good, bad, producer, consumer] = ["p1", "p2", "alpha", "beta"].map(|name| number(check, name));
    let plan = SequentialPlan::new(good, bad, producer, consumer).expect("a plan");
    let first = |holds: &dyn Fn(u64) -> bool| (1..1000).find(|pieces| holds(*pieces)).map(|n| n as f64);
    if let Some(count) = quantity.strip_prefix("first_n_accept_") {
        let count: u64 = count.parse().ok()?;
        return first(&|pieces| plan.accept_number(pieces) == Some(count));
    }
    if let Some(count) = quantity.strip_prefix("first_n_reject_") {
        let count: u64 = count.parse().ok()?;
        return first(&|pieces| plan.reject_number(pieces) == Some(count));
    }
    match quantity {
        "h1" => Some(plan.accept_below),
        "h2" => Some(plan.reject_above),
        "slope" => Some(plan.slope),
        _ => None,
    }
}

/// S13: many series x' = phi x + e from the stationary law; e is normal with the variance that keeps that of x at 1.
fn autoregressive(
    check: &Check,
    set: RunSet,
    seed: u64,
    times: u64,
) -> (Vec<(&'static str, Measured)>, String) {
    let phi = number(check, "phi");
    let length = number(check, "length") as usize;
    let batches = number(check, "batches") as usize;
    let deviation = number(check, "marginal_variance").sqrt();
    // 2,000 series would leave the variance of the mean uncertain by 3 %, too much for a tolerance of 5 %.
    let series = times * if set == RunSet::Full { 160_000 } else { 16_000 };
    let of_one = on_all_cores(series, |replication| {
        let mut stream = Streams::new(seed, replication).get("autoregressive");
        let mut x = deviation * normal_quantile(stream.open01());
        let innovation = deviation * (1.0 - phi * phi).sqrt();
        let values: Vec<f64> = (0..length)
            .map(|_| {
                let here = x;
                x = phi * x + innovation * normal_quantile(stream.open01());
                here
            })
            .collect();
        let batch_means = BatchMeans::of(&values, batches, 0.95).expect("batches");
        let naive = variance(&values).expect("values") / length as f64;
        (mean(&values).expect("values"), batch_means.variance_of_mean().expect("batches"), naive)
    });
    let means: Vec<f64> = of_one.iter().map(|of| of.0).collect();
    let batched: Vec<f64> = of_one.iter().map(|of| of.1).collect();
    let naive: Vec<f64> = of_one.iter().map(|of| of.2).collect();
    let values = vec![
        ("variance_of_mean", variance_of(&means, 1.0)),
        ("expected_batch_means_estimate", Measured::mean_of(&batched)),
        ("expected_naive_iid_estimate", Measured::mean_of(&naive)),
    ];
    (values, format!("{series} series"))
}

/// S14: the queue of the F family, run through the engine; the variance of a mean over a long window, times its length.
fn queue(check: &Check, set: RunSet, seed: u64, times: u64) -> (Vec<(&'static str, Measured)>, String) {
    let mean_service = 1.0 / number(check, "service_rate");
    let parameters = json!({
        "arrival_rate": number(check, "arrival_rate"),
        "service": { "dist": "exponential", "mean": mean_service },
        "servers": 1,
    });
    let as_queue =
        Check { id: "F00".to_owned(), kind: "queue_mm1".to_owned(), parameters, values: Vec::new() };
    let model = model_of(&as_queue).unwrap_or_else(|_| panic!("the F family has this queue"));
    // A window must be much longer than the queue remembers (12 units), or its variance comes out too small: by less
    // than 1 % here. With 2,000 windows the constant is uncertain by 3 %.
    let replications = times * if set == RunSet::Full { 20_000 } else { 2_000 };
    let lengths = Lengths { replications, warm_up: 500, batch: 3_000, batches: 1 };
    let windows = replicate(&model, lengths, seed, true);
    let units = lengths.window() as f64;
    let pieces = units * number(check, "arrival_rate");
    let mut numbers = Vec::new();
    let mut waits = Vec::new();
    for window in windows {
        let seen = Seen { model: &model, windows: vec![window] };
        numbers.push(seen.quantity("L").expect("a queue").mean);
        waits.push(seen.quantity("Wq").expect("a queue").mean);
    }
    let values = vec![
        ("var_const_number_in_system", variance_of(&numbers, units)),
        ("var_const_waiting_time", variance_of(&waits, pieces)),
    ];
    (values, lengths.words())
}

/// The variance of about normal values, times a constant. Its standard error is sqrt(2 / (n - 1)) of it.
fn variance_of(values: &[f64], times: f64) -> Measured {
    let n = values.len();
    let spread = times * variance(values).expect("values");
    Measured { mean: spread, standard_error: spread * (2.0 / (n - 1) as f64).sqrt(), n }
}

fn number(check: &Check, name: &str) -> f64 {
    check.parameters[name].as_f64().unwrap_or_else(|| panic!("{}: no number {name}", check.id))
}

fn numbers(check: &Check, name: &str) -> Vec<f64> {
    let list = check.parameters[name].as_array().unwrap_or_else(|| panic!("{}: no list {name}", check.id));
    list.iter().map(|value: &Value| value.as_f64().expect("a number")).collect()
}

#[test]
fn every_statistic_of_the_table_agrees() {
    let rows = rows(RunSet::asked_for());
    let bad: Vec<&Row> = rows.iter().filter(|row| row.verdict != crate::row::Verdict::Agrees).collect();
    assert!(bad.is_empty(), "{bad:#?}");
    assert_eq!(rows.len(), 64);
}
