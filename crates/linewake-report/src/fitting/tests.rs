//! The page of a fit: complete, escaped, and with no text over another whatever is drawn.

use super::*;
use crate::canvas::tests::assert_texts_are_clear;
use linewake_kpi::study::fitting::{
    Attendance, Candidate, Chosen, CurvePoint, Curves, FitClock, FitWarning, FitWarningKind, GoodnessOfFit,
    LawCurve, Offer, ParameterFit, WeightsFit, WrittenDown,
};
use linewake_kpi::study::{HistogramBin, Method};
use linewake_stats::distribution::Distribution;

fn bounded(value: f64) -> Bounded {
    Bounded { value, low: Some(value * 0.8), high: (value > 20.0).then_some(value * 1.3) }
}

/// A sample whose data are the quantiles of its law, times a scale.
fn times(family: &'static str, scale: f64, many: usize) -> TimesFit {
    let law = match family {
        "Weibull" => Distribution::Weibull { shape: 1.4, scale },
        "lognormal" => Distribution::Lognormal { median: scale, sigma: 1.1 },
        "gamma" => Distribution::Gamma { shape: 0.7, scale },
        _ => Distribution::Exponential { mean: scale },
    };
    let share = |place: usize| (place as f64 + 0.5) / many as f64;
    let values: Vec<f64> = (0..many).map(|place| law.quantile(share(place))).collect();
    let longest = values.last().copied().unwrap_or(scale);
    let bin = |place: u32| {
        let (from, to) = (longest * f64::from(place) / 10.0, longest * f64::from(place + 1) / 10.0);
        let count = values.iter().filter(|value| **value >= from && **value < to).count() as u64;
        HistogramBin { from, to, count }
    };
    let bins: Vec<HistogramBin> = (0..10).map(bin).collect();
    let points: Vec<CurvePoint> = values
        .iter()
        .enumerate()
        .map(|(place, value)| CurvePoint { x: *value, y: 1.0 - (place as f64 + 1.0) / (many as f64 + 1.0) })
        .collect();
    let curve = |family| LawCurve { family, points: points.clone() };
    let candidate = |family: &'static str, aic: f64| Candidate {
        family,
        parameters: vec![ParameterFit { name: "scale", has_unit: true, bounded: bounded(scale) }],
        mean: Some(bounded(law.mean())),
        log_likelihood: Some(-aic / 2.0),
        aic: Some(aic),
        bic: Some(aic + 2.0),
        goodness: Some(GoodnessOfFit {
            anderson_darling: 0.43,
            p: Some(0.31),
            drawn: Some(32),
            turned_down_at: None,
            turned_down: false,
            times: many as u64,
        }),
        why_not: None,
    };
    TimesFit {
        what: "running time between stops".to_owned(),
        unit: "s",
        complete: many as u64,
        cut_off: 7,
        mean: law.mean(),
        median: scale,
        longest,
        written_down: WrittenDown::BothEnds { grid_s: 15.0, share: 0.97 },
        unseen: 0.04,
        candidates: vec![
            candidate(family, 812.3),
            candidate("lognormal", 815.0),
            Candidate {
                why_not: Some("every time is 3".to_owned()),
                goodness: None,
                aic: None,
                mean: None,
                ..candidate("gamma", 0.0)
            },
        ],
        chosen: Chosen {
            family,
            json: "{ \"exponential\": { \"mean\": \"60 s\" } }".to_owned(),
            mean: bounded(law.mean()),
            why: "lowest AIC, 2.7 below the lognormal law".to_owned(),
        },
        warnings: vec![FitWarning {
            kind: FitWarningKind::Trend,
            words: "stops become longer <over> the watch".to_owned(),
            p: Some(1e-4),
        }],
        offer: Some(Offer {
            members: 4,
            family: "the other reasons of this machine".to_owned(),
            json: String::new(),
            mean: bounded(70.0),
            taken: false,
        }),
        curves: Curves {
            expected: bins.iter().map(|bin| bin.count as f64 * 1.1).collect(),
            bins,
            survival: points.clone(),
            laws: vec![curve(family), curve("lognormal")],
            quantiles: values.iter().map(|value| CurvePoint { x: *value, y: *value * 1.1 }).collect(),
        },
    }
}

fn report() -> FitReport {
    let reason = |place: usize, family: &'static str, scale: f64| ReasonFit {
        station: if place < 2 { "former" } else { "press <b>" }.to_owned(),
        reason: format!("web \"tracking\" {place}"),
        stops: 43,
        stopped_s: 5000.0,
        attendance: Attendance::NotTold,
        clock: FitClock::RunningTime,
        clock_why: "as in the model".to_owned(),
        between: (place != 1).then(|| times(family, scale, 40)),
        duration: times(family, scale / 10.0, 40),
        notes: vec!["something else calls this stop".to_owned()],
    };
    FitReport {
        program_version: "0.1.0".to_owned(),
        command: "linewake fit logs".to_owned(),
        files: vec!["logs/shift-0001.csv.gz".to_owned()],
        into: Some("model.json".to_owned()),
        into_placed: vec!["former, web tracking: repair from 40 times".to_owned()],
        into_notes: vec!["former: kept as modelled".to_owned()],
        result: FitResult {
            line: "Test <line>".to_owned(),
            program_version: "0.1.0".to_owned(),
            shifts: 40,
            watched_s: 40.0 * 28_800.0,
            simulated: true,
            level: 0.95,
            seed: 1,
            stops: vec![
                reason(0, "Weibull", 5400.0),
                reason(1, "lognormal", 300.0),
                reason(2, "exponential", 90.0),
                reason(3, "gamma", 86_400.0),
                reason(4, "empirical", 7.0),
                reason(5, "constant", 7.0),
            ],
            response: Some(times("gamma", 12.0, 400)),
            weights: Some(WeightsFit {
                packs: 4000,
                batches: 12,
                mean_g: bounded(405.0),
                sd_g: bounded(4.0),
                sd_batch_g: Some(bounded(1.5)),
                drift: None,
                variogram: [1.0, 2.0, 5.0, 100.0].map(|x| CurvePoint { x, y: 16.0 }).to_vec(),
                variogram_fitted: [1.0, 2.0, 5.0, 100.0].map(|x| CurvePoint { x, y: 16.1 }).to_vec(),
                bins: vec![HistogramBin { from: 390.0, to: 400.0, count: 9 }],
                expected: vec![8.0],
                json: "{}".to_owned(),
                notes: vec!["the spread takes in the weigher".to_owned()],
            }),
            methods: vec![Method { what: "laws".to_owned(), source: "a book".to_owned() }],
            notes: vec!["every simulated shift begins anew".to_owned()],
        },
    }
}

#[test]
fn the_page_is_whole_and_escaped() {
    let page = page(&report());
    for words in [
        "Test &lt;line&gt;",
        "press &lt;b&gt;",
        "What speaks against it",
        "Response of the operators",
        "Portion weights",
        "--few family takes that",
        "a poll, or a rounded time of day",
        "What was put into the model",
        "not fitted: every time is 3",
    ] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("<b>") && !page.contains("<script"));
    let text = text(&report());
    assert!(text.lines().filter(|line| !line.contains("Made again")).all(|line| line.chars().count() < 260));
    assert!(text.contains("Test <line>: what the logs say"));
}

#[test]
fn no_text_overlaps_in_the_figures() {
    let report = report();
    for sample in samples(&report.result) {
        if let Some(figure) = sample::figure(&sample) {
            assert_texts_are_clear(&sample.id, &figure.wide);
            assert_texts_are_clear(&sample.id, &figure.narrow);
        }
    }
    let figure = weights::figure(report.result.weights.as_ref().expect("weights"));
    assert_texts_are_clear("weights", &figure.wide);
    assert_texts_are_clear("weights", &figure.narrow);
    // Two times, and times far apart.
    for (scale, many) in [(1e-3, 2), (1e7, 3), (50.0, 500)] {
        for family in ["Weibull", "lognormal", "gamma", "exponential", "empirical", "constant"] {
            let fit = times(family, scale, many);
            let sample =
                Sample { id: "x".to_owned(), title: "x".to_owned(), station: "", reason: "", fit: &fit };
            if let Some(figure) = sample::figure(&sample) {
                assert_texts_are_clear(family, &figure.wide);
                assert_texts_are_clear(family, &figure.narrow);
            }
        }
    }
}

#[test]
fn tables_have_a_row_for_each_law_and_reason() {
    let report = report();
    let tables = tables(&report);
    let names: Vec<&str> = tables.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["stops.csv", "laws.csv", "warnings.csv"]);
    assert_eq!(tables[0].1.lines().count(), 1 + 6);
    assert_eq!(tables[1].1.lines().count(), 1 + 3 * (5 + 6 + 1));
    assert_eq!(tables[2].1.lines().count(), 1 + 5 + 6);
    assert_eq!(charts(&report).len(), 5 + 6 + 1 + 1);
}
