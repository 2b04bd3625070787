//! Fits by maximum likelihood.

use super::{Ours, Vector, numbers};
use linewake_stats::distribution::Distribution;
use linewake_stats::fit::{Family, Fit, Sample, log_likelihood};

pub(super) fn ours(vector: &Vector) -> Vec<Ours> {
    let sample = Sample::new(&numbers(vector, "failures"), &numbers(vector, "censored")).expect("times");
    let fit = |family| Fit::of(family, &sample).expect("a fit");
    if let Some(aircraft) = [("FIT-9", "A"), ("FIT-10", "B")].iter().find(|(id, _)| *id == vector.id) {
        assert_eq!(sample.complete(), hours_of(aircraft.1), "the vector repeats the data file");
    }
    let (weibull, lognormal, gamma) = (fit(Family::Weibull), fit(Family::Lognormal), fit(Family::Gamma));
    let [shape, scale] = two(&weibull);
    let pair = |path: &str, fit: &Fit| Ours::list(path, two(fit).map(Some));
    let mean = fit(Family::Exponential).distribution.mean();
    let mut ours = match vector.id.as_str() {
        "FIT-1" => vec![
            Ours::new("shape", shape),
            Ours::new("scale", scale),
            Ours::new("loglik", weibull.log_likelihood),
            Ours::new("AIC", weibull.aic()),
            Ours::new("mean", weibull.distribution.mean()),
            Ours::new("sd", weibull.distribution.variance().sqrt())
                .noted("the page prints this deviation as the root of a product; its number is that of the difference"),
        ],
        "FIT-2" => vec![
            Ours::new("AIC", lognormal.aic()),
            Ours::new("mu", two(&lognormal)[0]),
            Ours::new("sigma", two(&lognormal)[1]),
        ],
        "FIT-3" => vec![
            Ours::new("shape", two(&gamma)[0]),
            Ours::new("scale", two(&gamma)[1]),
            Ours::new("AIC", gamma.aic())
                .noted("lowest of the families here: a choice by AIC takes gamma, not the Weibull of the page"),
        ],
        "FIT-5" | "FIT-7" | "FIT-8" => vec![Ours::new("shape", shape), Ours::new("scale", scale)],
        "FIT-9" => vec![
            Ours::new("gamma_shape", two(&gamma)[0]),
            Ours::new("gamma_scale", two(&gamma)[1]),
            Ours::new("exponential_mean", mean),
        ],
        "FIT-10" => vec![Ours::new("exponential_mean", mean)],
        id => panic!("{id}: which fit?"),
    };
    match vector.id.as_str() {
        "FIT-7" => {
            ours.extend(printed(vector, "printed_rank_regression", "a rank regression", &sample, &weibull))
        }
        "FIT-8" => ours.extend(printed(vector, "printed_graphical", "read off a plot", &sample, &weibull)),
        "FIT-9" => {
            ours.extend(pair("weibull", &weibull));
            ours.extend(pair("lognormal", &lognormal));
        }
        "FIT-10" => {
            ours.extend(pair("gamma", &gamma));
            ours.extend(pair("weibull", &weibull));
            ours.extend(pair("lognormal", &lognormal));
        }
        _ => {}
    }
    ours
}

/// Hours between failures of the air conditioning of an aircraft.
fn hours_of(aircraft: &str) -> Vec<f64> {
    let lines = include_str!("../data/aircondit.csv").lines().map(|line| line.split(','));
    let cells = lines.map(|mut cells| (cells.next(), cells.next_back()));
    cells
        .filter(|(plane, _)| *plane == Some(aircraft))
        .map(|(_, hours)| hours.and_then(|hours| hours.parse().ok()).expect("hours"))
        .collect()
}

/// The two parameters as the vectors give them: of a lognormal mu and sigma.
fn two(fit: &Fit) -> [f64; 2] {
    match fit.distribution {
        Distribution::Weibull { shape, scale } | Distribution::Gamma { shape, scale } => [shape, scale],
        Distribution::Lognormal { median, sigma } => [median.ln(), sigma],
        ref other => panic!("two parameters expected: {other:?}"),
    }
}

/// A printed pair that is not the maximum of the likelihood, which its own likelihood shows.
fn printed(vector: &Vector, path: &str, how: &str, sample: &Sample, fit: &Fit) -> Vec<Ours> {
    let pair: Vec<f64> = vector.expected[path]
        .as_array()
        .expect("a pair")
        .iter()
        .map(|value| value.as_f64().expect("a number"))
        .collect();
    let theirs = log_likelihood(&Distribution::Weibull { shape: pair[0], scale: pair[1] }, sample)
        .expect("a family of ours");
    let note = format!(
        "the printed pair is {how}, which is not built, and no likelihood maximum: ln L {theirs:.4} there, {:.4} at ours",
        fit.log_likelihood
    );
    let lower = theirs < fit.log_likelihood;
    Ours::list(path, two(fit).map(Some))
        .into_iter()
        .map(|ours| if lower { ours.not_expressible().noted(note.clone()) } else { ours })
        .collect()
}
