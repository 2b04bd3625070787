//! Fits: closed forms, optimality, units, samples without a fit. Published samples are in the theory tests.

use super::{Family, Fit, FitError, Sample, all, log_likelihood};
use crate::distribution::Distribution;
use crate::stream::Streams;

const FAILURES: [f64; 10] = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0];

fn sample(complete: &[f64], cut_off: &[f64]) -> Sample {
    Sample::new(complete, cut_off).expect("times")
}

fn fit(family: Family, sample: &Sample) -> Fit {
    Fit::of(family, sample).expect("a fit")
}

/// The figures of a two-parameter distribution, changed by these factors.
fn moved(distribution: &Distribution, first: f64, second: f64) -> Distribution {
    match *distribution {
        Distribution::Exponential { mean } => Distribution::Exponential { mean: mean * first },
        Distribution::Weibull { shape, scale } => {
            Distribution::Weibull { shape: shape * first, scale: scale * second }
        }
        Distribution::Gamma { shape, scale } => {
            Distribution::Gamma { shape: shape * first, scale: scale * second }
        }
        Distribution::Lognormal { median, sigma } => {
            Distribution::Lognormal { median: median * first, sigma: sigma * second }
        }
        ref other => panic!("not fitted: {other:?}"),
    }
}

/// By hand: 12 hours in all, 2 failures; ln L = -2 ln 6 - 2.
#[test]
fn exponential_is_total_time_over_complete_times() {
    let fit = fit(Family::Exponential, &sample(&[2.0, 4.0], &[6.0, 0.0]));
    assert!((fit.distribution.mean() - 6.0).abs() < 1e-12);
    assert!((fit.log_likelihood - (-2.0 * 6.0_f64.ln() - 2.0)).abs() < 1e-12);
    assert!((fit.aic() - (2.0 - 2.0 * fit.log_likelihood)).abs() < 1e-12);
}

/// ln L agrees with what the distribution function says: densities as differences, survivals as 1 - F.
#[test]
fn log_likelihood_agrees_with_the_distribution_function() {
    let sample = sample(&[0.7, 2.0, 5.5], &[1.0, 9.0]);
    for distribution in [
        Distribution::Exponential { mean: 3.0 },
        Distribution::Weibull { shape: 1.7, scale: 4.0 },
        Distribution::Lognormal { median: 2.0, sigma: 0.8 },
        Distribution::Gamma { shape: 2.4, scale: 1.3 },
        Distribution::Gamma { shape: 0.4, scale: 6.0 },
    ] {
        let step = 1e-5;
        let density = |t: f64| (distribution.cdf(t + step) - distribution.cdf(t - step)) / (2.0 * step);
        let complete: f64 = sample.complete().iter().map(|t| density(*t).ln()).sum();
        let cut_off: f64 = sample.cut_off().iter().map(|t| (1.0 - distribution.cdf(*t)).ln()).sum();
        let ours = log_likelihood(&distribution, &sample).expect("a family that is fitted");
        assert!((ours - complete - cut_off).abs() < 1e-6, "{distribution:?}: {ours}");
    }
    assert_eq!(log_likelihood(&Distribution::Constant { value: 1.0 }, &sample), None);
}

/// No neighbour is likelier, with and without cut-off times.
#[test]
fn a_fit_is_a_maximum() {
    let cut_off_samples: [&[f64]; 4] = [&[], &[500.0; 10], &[10.0, 45.0, 100.0, 390.0], &[386.0]];
    for cut_off in cut_off_samples {
        let sample = sample(&FAILURES, cut_off);
        for family in Family::ALL {
            let fit = fit(family, &sample);
            let own = log_likelihood(&fit.distribution, &sample).expect("fitted");
            assert!((own - fit.log_likelihood).abs() < 1e-12 * own.abs());
            for (first, second) in
                [(1.001, 1.0), (0.999, 1.0), (1.0, 1.001), (1.0, 0.999), (1.001, 0.999), (0.999, 1.001)]
            {
                let other =
                    log_likelihood(&moved(&fit.distribution, first, second), &sample).expect("fitted");
                assert!(
                    other <= own + 1e-12,
                    "{family:?} {cut_off:?}: {other} at {first}, {second} above {own}"
                );
            }
        }
    }
}

/// Another unit changes the scale and nothing else; ln L by -n ln of the factor.
#[test]
fn the_unit_does_not_matter() {
    for factor in [1e-9, 1e-3, 3600.0, 1e12] {
        let times = |list: &[f64]| list.iter().map(|time| time * factor).collect::<Vec<f64>>();
        let cut_off = [500.0; 10];
        let (one, other) = (sample(&FAILURES, &cut_off), sample(&times(&FAILURES), &times(&cut_off)));
        for family in Family::ALL {
            let (one, other) = (fit(family, &one), fit(family, &other));
            let scaled = other.distribution.mean() / factor;
            assert!((scaled / one.distribution.mean() - 1.0).abs() < 1e-9, "{family:?} {factor}");
            let shift = other.log_likelihood + 10.0 * factor.ln() - one.log_likelihood;
            assert!(shift.abs() < 1e-9, "{family:?} {factor}: {shift}");
        }
    }
}

/// Samples of 4,000 times, cut off at a time of their own: the parameters come back within five standard errors, which
/// for these sizes lie below 2.5 % each (seed fixed).
#[test]
fn parameters_come_back_from_a_large_sample() {
    for (family, distribution) in [
        (Family::Exponential, Distribution::Exponential { mean: 40.0 }),
        (Family::Weibull, Distribution::Weibull { shape: 0.8, scale: 30.0 }),
        (Family::Lognormal, Distribution::Lognormal { median: 12.0, sigma: 1.1 }),
        (Family::Gamma, Distribution::Gamma { shape: 2.5, scale: 8.0 }),
        (Family::Gamma, Distribution::Gamma { shape: 0.5, scale: 50.0 }),
    ] {
        let mut stream = Streams::new(5, 0).get("fit");
        let watch = Distribution::Exponential { mean: 60.0 };
        let (mut complete, mut cut_off) = (Vec::new(), Vec::new());
        for _ in 0..4000 {
            let (time, end) = (distribution.sample(&mut stream), watch.sample(&mut stream));
            if time <= end { complete.push(time) } else { cut_off.push(end) }
        }
        assert!(cut_off.len() > 500);
        let fit = fit(family, &sample(&complete, &cut_off));
        for (ours, theirs) in figures(&fit.distribution).into_iter().zip(figures(&distribution)) {
            assert!((ours / theirs - 1.0).abs() < 0.125, "{family:?}: {ours} is not {theirs}");
        }
        // And the family is known again, or one that fits as well with as few parameters.
        let best = &all(&sample(&complete, &cut_off))[0];
        assert!(best.aic() <= fit.aic() && fit.aic() - best.aic() < 2.5, "{family:?}: {best:?}");
    }
}

fn figures(distribution: &Distribution) -> [f64; 2] {
    match *distribution {
        Distribution::Exponential { mean } => [mean, mean],
        Distribution::Weibull { shape, scale } | Distribution::Gamma { shape, scale } => [shape, scale],
        Distribution::Lognormal { median, sigma } => [median, sigma],
        ref other => panic!("not fitted: {other:?}"),
    }
}

/// Narrow and wide samples, one complete time, most times cut off, times cut off far out: a fit or an error, both with
/// sense, and never a figure that is not finite.
#[test]
fn hard_samples_give_a_fit_or_say_why_not() {
    let many: Vec<f64> = (1..=200).map(f64::from).collect();
    let samples: [(&[f64], &[f64]); 12] = [
        (&[100.0, 100.001], &[]),
        (&[1e-6, 1.0, 1e6], &[]),
        (&[5.0], &[8.0]),
        (&[5.0], &[5.0 + 1e-12]),
        (&[3.0, 4.0], &many),
        (&[3.0, 4.0], &[1e9]),
        (&[3.0, 3.0], &[1e9, 1e-9]),
        (&[1e300, 2e300], &[3e300]),
        (&[1e-300, 2e-300], &[3e-300]),
        (&[1.0, 1e300], &[]),
        (&[1.0, 1.0 + f64::EPSILON], &[]),
        (&many, &[1e-300]),
    ];
    for (complete, cut_off) in samples {
        let sample = sample(complete, cut_off);
        for family in Family::ALL {
            match Fit::of(family, &sample) {
                Ok(fit) => {
                    assert!(
                        fit.log_likelihood.is_finite() && fit.distribution.mean() > 0.0,
                        "{complete:?} {fit:?}"
                    );
                    let (first, second) = (1.01, 0.99);
                    for (first, second) in [(first, 1.0), (second, 1.0), (1.0, first), (1.0, second)] {
                        let other = log_likelihood(&moved(&fit.distribution, first, second), &sample);
                        assert!(
                            other.is_some_and(|other| other <= fit.log_likelihood + 1e-6),
                            "{complete:?} {fit:?}"
                        );
                    }
                }
                Err(error) => assert_eq!(error, FitError::OutOfReach { family }, "{complete:?} {cut_off:?}"),
            }
        }
    }
}

#[test]
fn a_sample_without_a_fit_says_so() {
    let equal = sample(&[7.0, 7.0, 7.0], &[7.0, 3.0]);
    for family in [Family::Weibull, Family::Lognormal, Family::Gamma] {
        assert_eq!(Fit::of(family, &equal), Err(FitError::NoSpread { family, value: 7.0 }));
    }
    assert_eq!(all(&equal).len(), 1, "an exponential needs no spread");
}

#[test]
fn times_are_checked() {
    assert_eq!(Sample::new(&[1.0, 0.0], &[]), Err(FitError::CompleteTime { index: 1, value: 0.0 }));
    assert_eq!(
        Sample::new(&[1.0, f64::INFINITY], &[]),
        Err(FitError::CompleteTime { index: 1, value: f64::INFINITY })
    );
    assert_eq!(Sample::new(&[1.0], &[-2.0]), Err(FitError::CutOffTime { index: 0, value: -2.0 }));
    assert_eq!(Sample::new(&[], &[1.0, 2.0]), Err(FitError::NoCompleteTime { cut_off: 2 }));
    let message = Sample::new(&[1.0, f64::NAN], &[]).expect_err("not a number").to_string();
    assert!(message.starts_with("complete time 2 is NaN"), "{message}");
    for error in [
        FitError::CutOffTime { index: 0, value: -2.0 },
        FitError::NoCompleteTime { cut_off: 2 },
        FitError::NoSpread { family: Family::Weibull, value: 7.0 },
        FitError::OutOfReach { family: Family::Gamma },
    ] {
        let message = error.to_string();
        assert!(message.starts_with(char::is_lowercase) && message.len() > 40, "{message}");
    }
}
