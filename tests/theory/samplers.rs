//! Samplers against their distribution functions: Kolmogorov-Smirnov, fixed seeds.
//!
//! The distribution functions here are not the program's: they are written down anew from the textbook, so that a
//! quantile and a distribution function that are wrong together are found. The program's own are compared with them too.
//!
//! *Error probability*: 1 % for all samplers together, shared out evenly (Bonferroni). With n values the statistic
//! (sqrt n + 0.12 + 0.11 / sqrt n) D is held against the x at which 2 sum of (-1)^(k-1) exp(-2 k^2 x^2) is the share of
//! one sampler. For a distribution of single points the test is on the safe side: the statistic is smaller than that.
//! *Source*: Kolmogorov (1933), Stephens (1974), Journal of the American Statistical Association 69, 730-737 (from memory).

mod textbook;

use crate::row::{Row, RunSet, Verdict};
use linewake_stats::distribution::Distribution;
use linewake_stats::stream::Streams;

const FAMILY: &str = "K. Samplers against their distribution functions";
/// Probability that a right set of samplers fails.
const FAMILY_ERROR: f64 = 0.01;
/// Largest difference of two ways of computing a probability.
const SAME: f64 = 1e-11;

/// The rows of the page.
pub(crate) fn rows(set: RunSet) -> Vec<Row> {
    let n = if set == RunSet::Full { 2_000_000 } else { 50_000 };
    let distributions = distributions();
    let error = FAMILY_ERROR / distributions.len() as f64;
    let critical = critical_value(error);
    let mut rows = Vec::new();
    for (place, (id, distribution)) in distributions.iter().enumerate() {
        let mut values = sample(distribution, n, place as u64 + 1);
        values.sort_by(f64::total_cmp);
        let statistic = modified(distance(&values, distribution), n);
        let row = Row {
            family: FAMILY,
            id: (*id).to_owned(),
            model: format!("{n} values of {distribution:?}"),
            ..Row::default()
        };
        rows.push(Row {
            quantity: "largest difference of the distribution functions, modified".to_owned(),
            source: "Kolmogorov-Smirnov against the textbook's distribution function".to_owned(),
            published: critical,
            ours: statistic,
            tolerance: format!("at most, {}\u{a0}% error for all", 100.0 * FAMILY_ERROR),
            verdict: if statistic <= critical { Verdict::Agrees } else { Verdict::Differs },
            note: format!("p-value {:.4}", beyond(statistic)),
            ..row.clone()
        });
        let apart = values
            .iter()
            .step_by(n / 1_000)
            .filter(|value| (distribution.cdf(**value) - textbook::cdf(distribution, **value)).abs() > SAME)
            .count();
        rows.push(Row {
            quantity: format!(
                "of 1,000 values, those where our distribution function is not the textbook's to {SAME:e}"
            ),
            source: "textbook formulas, in the test".to_owned(),
            published: 0.0,
            ours: apart as f64,
            tolerance: "exact".to_owned(),
            verdict: if apart == 0 { Verdict::Agrees } else { Verdict::Differs },
            ..row
        });
    }
    rows
}

/// Every family that a model can name, some with shapes of different kinds.
fn distributions() -> Vec<(&'static str, Distribution)> {
    use Distribution::{
        Constant, Empirical, Exponential, Gamma, Geometric, Lognormal, Triangular, TruncatedNormal, Uniform,
        Weibull,
    };
    let normal = |mean, sd, min, max| TruncatedNormal { mean, sd, min, max };
    vec![
        ("K01", Constant { value: 4.6 }),
        ("K02", Exponential { mean: 1500.0 }),
        ("K03", Uniform { min: 5.0, max: 25.0 }),
        ("K04", Triangular { min: 330.0, mode: 372.0, max: 480.0 }),
        ("K05", Triangular { min: 1.0, mode: 1.0, max: 4.0 }),
        ("K06", Triangular { min: 1.0, mode: 4.0, max: 4.0 }),
        ("K07", normal(10.0, 2.0, 8.0, 13.0)),
        ("K08", normal(0.0, 1.0, 0.0, f64::INFINITY)),
        ("K09", normal(0.0, 1.0, 3.0, f64::INFINITY)),
        ("K10", Lognormal { median: 60.0, sigma: 0.857 }),
        ("K11", Lognormal { median: 1.0, sigma: 2.0 }),
        ("K12", Weibull { shape: 1.3, scale: 5847.0 }),
        ("K13", Weibull { shape: 0.7, scale: 100.0 }),
        ("K14", Weibull { shape: 3.6, scale: 10.0 }),
        ("K15", Gamma { shape: 0.5, scale: 2.0 }),
        ("K16", Gamma { shape: 1.0, scale: 3.0 }),
        ("K17", Gamma { shape: 2.5, scale: 4.0 }),
        ("K18", Gamma { shape: 30.0, scale: 0.1 }),
        ("K19", Empirical { values: vec![2.0, 3.5, 3.5, 7.0, 9.0, 30.0] }),
        ("K20", Geometric { mean: 350.0, step: 1.0 }),
        ("K21", Geometric { mean: 1.5, step: 2.0 }),
        ("K22", Geometric { mean: 1.0, step: 1.0 }),
    ]
}

fn sample(distribution: &Distribution, n: usize, seed: u64) -> Vec<f64> {
    let mut stream = Streams::new(seed, 0).get("sampler");
    (0..n).map(|_| distribution.sample(&mut stream)).collect()
}

/// The largest difference between the share of values up to x (and below x) and its probability. `values` rise.
fn distance(values: &[f64], distribution: &Distribution) -> f64 {
    let n = values.len() as f64;
    let (mut largest, mut before) = (0.0_f64, 0);
    for same in values.chunk_by(|one, other| one.total_cmp(other).is_eq()) {
        let after = before + same.len();
        let below = textbook::cdf(distribution, same[0].next_down());
        let up_to = textbook::cdf(distribution, same[0]);
        largest = largest.max((before as f64 / n - below).abs()).max((after as f64 / n - up_to).abs());
        before = after;
    }
    largest
}

fn modified(distance: f64, n: usize) -> f64 {
    let root = (n as f64).sqrt();
    (root + 0.12 + 0.11 / root) * distance
}

/// Probability of a larger statistic: 2 sum of (-1)^(k-1) exp(-2 k^2 x^2).
fn beyond(x: f64) -> f64 {
    if x < 0.2 {
        // There the sum converges slowly, and is 1 to twelve digits.
        return 1.0;
    }
    let term = |k: i32| {
        let size = (-2.0 * f64::from(k * k) * x * x).exp();
        if k % 2 == 1 { size } else { -size }
    };
    2.0 * (1..=100).map(term).sum::<f64>()
}

/// The x beyond which the statistic lies with that probability, by bisection.
fn critical_value(probability: f64) -> f64 {
    let (mut low, mut high) = (0.2, 5.0);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if beyond(middle) > probability { low = middle } else { high = middle }
    }
    high
}

#[test]
fn every_sampler_draws_from_its_distribution() {
    let rows = rows(RunSet::asked_for());
    let bad: Vec<&Row> = rows.iter().filter(|row| row.verdict != Verdict::Agrees).collect();
    assert!(bad.is_empty(), "{bad:#?}");
    assert_eq!(rows.len(), 44);
}

/// Published critical values of the statistic: 1.358 at 5 %, 1.628 at 1 % (Stephens 1974, from memory).
#[test]
fn critical_values_are_those_of_the_table() {
    assert!((critical_value(0.05) - 1.358).abs() < 5e-4 && (critical_value(0.01) - 1.628).abs() < 5e-4);
}

/// A sampler whose scale is a tenth off is found out, by the short set already.
#[test]
fn a_wrong_sampler_is_noticed() {
    let critical = critical_value(FAMILY_ERROR / distributions().len() as f64);
    for (id, distribution) in distributions() {
        let mut values = sample(&distribution, 50_000, 1);
        values.iter_mut().for_each(|value| *value *= 1.1);
        values.sort_by(f64::total_cmp);
        let statistic = modified(distance(&values, &distribution), values.len());
        assert!(statistic > critical, "{id}: {statistic}");
    }
}
