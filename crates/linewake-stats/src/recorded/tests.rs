//! Records of every form against samples whose answer is known.

use super::law::Law;
use super::*;
use crate::fit;
use crate::stream::Streams;

const NIST: [f64; 10] = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0];

fn near(value: f64, expected: f64, relative: f64) {
    assert!((value - expected).abs() <= relative * expected.abs(), "{value:e} is not {expected:e}");
}

fn laws() -> [Law; 6] {
    let at = |family, first: f64, second: f64| {
        Law::at(family, LawPoint { first: first.ln(), second: second.ln() }).expect("within reach")
    };
    [
        at(Family::Exponential, 1.0, 60.0),
        at(Family::Weibull, 0.7, 60.0),
        at(Family::Weibull, 2.5, 60.0),
        at(Family::Lognormal, 0.9, 45.0),
        at(Family::Gamma, 0.6, 80.0),
        at(Family::Gamma, 3.0, 20.0),
    ]
}

/// Newton's method over differences finds the maxima that the closed forms and profile equations find: 10 failures and
/// 10 units still running at 500 h of NIST/SEMATECH e-Handbook 8.4.1.3 (FIT-1 to FIT-3 of the vectors).
#[test]
fn both_ways_to_the_maximum_meet() {
    for cut_off in [&[][..], &[500.0; 10][..]] {
        let record = Recorded::new(&NIST, cut_off, Recording::Exact).expect("a record");
        let sample = Sample::new(&NIST, cut_off).expect("a sample");
        for family in Family::ALL {
            let known = fit::Fit::of(family, &sample).expect("a fit");
            let found = RecordedFit::from(family, &record, None).expect("a fit");
            near(found.log_likelihood, known.log_likelihood, 1e-9);
            near(found.distribution.mean(), known.distribution.mean(), 2e-6);
            near(
                RecordedFit::of(family, &record).expect("a fit").log_likelihood,
                known.log_likelihood,
                1e-12,
            );
        }
    }
}

/// What a record on a grid can show has probability 1 in all, less what it loses.
#[test]
fn probabilities_on_a_grid_add_up() {
    for law in laws() {
        for grid in [0.5, 15.0, 100.0] {
            let steps = 1..(6000.0 / grid) as u32;
            let lost = likelihood::unseen(&law, Recording::BothEnds { grid });
            let seen: f64 =
                steps.clone().map(|step| likelihood::both_ends(&law, f64::from(step) * grid, grid)).sum();
            assert!((lost + seen - 1.0).abs() < 2e-5, "{law:?} {grid}: {lost} + {seen}");
            let lost = likelihood::unseen(&law, Recording::Rounded { grid });
            let of = |step: u32| {
                let value = f64::from(step) * grid;
                likelihood::within(&law, value - 0.5 * grid, value + 0.5 * grid)
            };
            assert!((lost + steps.map(of).sum::<f64>() - 1.0).abs() < 2e-5, "{law:?} {grid}");
        }
    }
}

/// The areas against sums of many narrow steps.
#[test]
fn areas_are_integrals_of_the_tails() {
    for law in laws() {
        let x = 70.0;
        let step = 0.01;
        let middle = |place: u32| (f64::from(place) + 0.5) * step;
        let below: f64 = (0..7000).map(|place| law.tails(middle(place)).0 * step).sum();
        let above: f64 = (7000..1_000_000).map(|place| law.tails(middle(place)).1 * step).sum();
        near(law.areas(x).0, below, 1e-4);
        near(law.areas(x).1, above, 1e-4);
    }
}

/// Remission times of 21 patients, Freireich and others (1963), with the curve that textbooks print (from memory).
#[test]
fn the_survival_curve_of_a_textbook() {
    let complete = [6.0, 6.0, 6.0, 7.0, 10.0, 13.0, 16.0, 22.0, 23.0];
    let cut_off = [6.0, 9.0, 10.0, 11.0, 17.0, 19.0, 20.0, 25.0, 32.0, 32.0, 34.0, 35.0];
    let record = Recorded::new(&complete, &cut_off, Recording::Exact).expect("a record");
    let curve: Vec<(f64, f64)> = survival(&record).iter().map(|step| (step.time, step.longer)).collect();
    let expected = [
        (6.0, 0.8571),
        (7.0, 0.8067),
        (10.0, 0.7529),
        (13.0, 0.6902),
        (16.0, 0.6275),
        (22.0, 0.5378),
        (23.0, 0.4482),
    ];
    assert_eq!(curve.len(), expected.len());
    for ((time, longer), (at, printed)) in curve.iter().zip(expected) {
        assert!((time - at).abs() < 1e-12 && (longer - printed).abs() < 5e-5, "{time} {longer}");
    }
}

/// For n complete exponential times of mean m the ends solve 2 n (ln(x / m) + m / x - 1) = 3.8415.
#[test]
fn the_interval_of_an_exponential_mean() {
    let record = Recorded::new(&NIST, &[], Recording::Exact).expect("a record");
    let fit = RecordedFit::of(Family::Exponential, &record).expect("a fit");
    let found = interval(&fit, &record, Parameter::Mean, 0.95).expect("an interval");
    let mean = fit.distribution.mean();
    for end in [found.low, found.high] {
        near(20.0 * ((end / mean).ln() + mean / end - 1.0), 3.841_458_8, 1e-5);
    }
    assert_eq!(interval(&fit, &record, Parameter::Shape, 0.95), None);
    assert_eq!(interval(&fit, &record, Parameter::Mean, 1.0), None);
}

/// At the ends of each interval the likelihood, highest over a fine net of the other coordinate, has dropped as far as it
/// should.
#[test]
fn intervals_end_where_the_likelihood_has_dropped() {
    let record = Recorded::new(&NIST, &[500.0; 10], Recording::Exact).expect("a record");
    for family in [Family::Weibull, Family::Lognormal, Family::Gamma] {
        let fit = RecordedFit::of(family, &record).expect("a fit");
        let parameters =
            [(Parameter::Shape, Cut::First), (Parameter::Scale, Cut::Second), (Parameter::Mean, Cut::Mean)];
        for (parameter, cut) in parameters {
            let found = interval(&fit, &record, parameter, 0.95).expect("an interval");
            for end in [found.low.ln(), found.high.ln()] {
                let highest = (-3000..3000)
                    .map(|place| {
                        let free = f64::from(place) * 1e-3;
                        let point = match cut {
                            Cut::First => LawPoint { first: end, second: fit.at.second + free },
                            Cut::Second => LawPoint { first: fit.at.first + free, second: end },
                            Cut::Mean => {
                                let first = fit.at.first + free;
                                LawPoint { first, second: Law::second_of_mean(family, first, end) }
                            }
                        };
                        Law::at(family, point).map_or(f64::NEG_INFINITY, |law| likelihood::of(&law, &record))
                    })
                    .fold(f64::NEG_INFINITY, f64::max);
                near(2.0 * (fit.log_likelihood - highest), 3.841_458_8, 1e-3);
            }
        }
    }
}

/// One time, two equal ones, all equal, zeros, too large, not a number: a fit or a message.
#[test]
fn odd_records_end_in_a_fit_or_in_words() {
    let fits = |complete: &[f64], recording| {
        let record = Recorded::new(complete, &[], recording)?;
        Ok::<Vec<_>, FitError>(Family::ALL.map(|family| RecordedFit::of(family, &record)).to_vec())
    };
    for recording in [
        Recording::Exact,
        Recording::Rounded { grid: 15.0 },
        Recording::BothEnds { grid: 15.0 },
        Recording::RoundedUp,
    ] {
        for times in [&[30.0][..], &[30.0, 30.0], &[30.0; 50]] {
            let found = fits(times, recording).expect("a record");
            near(found[0].as_ref().expect("one parameter").distribution.mean(), 30.0, 0.3);
            for other in &found[1..] {
                let error = other.as_ref().expect_err("no spread");
                assert!(!error.to_string().is_empty());
            }
        }
        assert!(matches!(fits(&[], recording), Err(FitError::NoCompleteTime { .. })));
        assert!(matches!(fits(&[0.0, 0.0], recording), Err(FitError::NoCompleteTime { .. })));
        assert!(matches!(fits(&[1.0, f64::NAN], recording), Err(FitError::CompleteTime { index: 1, .. })));
        assert!(matches!(fits(&[-1.0], recording), Err(FitError::CompleteTime { .. })));
        // Zeros among others, two neighbouring steps, and a spread of twelve powers of ten.
        for times in [&[0.0, 15.0, 45.0, 90.0][..], &[15.0, 30.0], &[1e-6, 1.0, 1e6]] {
            for fit in fits(times, recording).expect("a record") {
                match fit {
                    Ok(fit) => assert!(fit.log_likelihood.is_finite() && fit.distribution.mean() > 0.0),
                    Err(error) => assert!(!error.to_string().is_empty()),
                }
            }
        }
    }
}

/// The statistic of a record without cut-off times is that of the tables, before its modification.
#[test]
fn one_statistic_for_complete_and_cut_off_records() {
    let record = Recorded::new(&NIST, &[], Recording::Exact).expect("a record");
    let fit = RecordedFit::of(Family::Gamma, &record).expect("a fit");
    let mut stream = Streams::new(1, 0).get("goodness");
    let found = goodness(&fit, &record, Redraw::Complete, 99, &mut stream).expect("a statistic");
    let known = crate::goodness_of_fit::from_known(&NIST, &fit.distribution).expect("a statistic");
    near(found.anderson_darling, known.anderson_darling, 1e-9);
    let weibull = RecordedFit::of(Family::Weibull, &record).expect("a fit");
    let found = goodness(&weibull, &record, Redraw::Complete, 99, &mut stream).expect("a statistic");
    assert!(matches!(found.method, GoodnessMethod::Table { .. }));
}

/// With the law that made the record, the p value is uniform: of 60 records about 6 lie below 10 %. Limits 0 and 15: by
/// the binomial law beyond them with probability 0.002 and 0.0002.
#[test]
fn drawn_records_judge_fairly() {
    let truth = Distribution::Weibull { shape: 1.4, scale: 80.0 };
    let mut below = [0; 3];
    for replication in 0..60 {
        let mut stream = Streams::new(3, replication).get("judged");
        let windows = [600.0; 8];
        let (mut complete, mut cut_off, mut polled) = (Vec::new(), Vec::new(), Vec::new());
        for window in windows {
            let mut left = window;
            loop {
                let time = truth.sample(&mut stream);
                if time >= left {
                    cut_off.push(left);
                    break;
                }
                left -= time;
                complete.push(time);
                let steps = (time / 15.0 + stream.open01()).floor();
                if steps > 0.0 {
                    polled.push(steps * 15.0);
                }
            }
        }
        let cases = [
            (
                Recorded::new(&complete, &cut_off, Recording::Exact),
                Redraw::Windows(&windows),
                Family::Weibull,
            ),
            (
                Recorded::new(&polled, &[], Recording::BothEnds { grid: 15.0 }),
                Redraw::Complete,
                Family::Weibull,
            ),
            (Recorded::new(&complete, &[], Recording::Exact), Redraw::Complete, Family::Gamma),
        ];
        for (count, (record, redraw, family)) in below.iter_mut().zip(cases) {
            let record = record.expect("a record");
            let fit = RecordedFit::of(family, &record).expect("a fit");
            let judged = goodness(&fit, &record, redraw, 99, &mut stream).expect("a statistic");
            let GoodnessMethod::Draws { p, .. } = judged.method else { panic!("no table") };
            *count += u32::from(p < 0.1);
        }
    }
    assert!(below.iter().all(|count| (1..=15).contains(count)), "{below:?}");
}

#[test]
fn a_wrong_law_is_turned_down() {
    let mut stream = Streams::new(4, 0).get("wrong");
    let truth = Distribution::Lognormal { median: 60.0, sigma: 1.2 };
    let times: Vec<f64> =
        (0..400).map(|_| (truth.sample(&mut stream) / 15.0 + stream.open01()).floor() * 15.0).collect();
    let record = Recorded::new(&times, &[], Recording::BothEnds { grid: 15.0 }).expect("a record");
    let fit = RecordedFit::of(Family::Exponential, &record).expect("a fit");
    let judged = goodness(&fit, &record, Redraw::Complete, 199, &mut stream).expect("a statistic");
    assert!(judged.is_turned_down(), "{judged:?}");
    let fit = RecordedFit::of(Family::Lognormal, &record).expect("a fit");
    assert!(
        !goodness(&fit, &record, Redraw::Complete, 199, &mut stream).expect("a statistic").is_turned_down()
    );
}

#[test]
fn grids_are_found_where_they_are() {
    let mut stream = Streams::new(5, 0).get("grid");
    let law = Distribution::Exponential { mean: 90.0 };
    let times: Vec<f64> = (0..200).map(|_| law.sample(&mut stream)).collect();
    assert_eq!(heaping(&times), None);
    for grid in [1.0, 5.0, 15.0, 60.0] {
        let polled: Vec<f64> =
            times.iter().map(|time| (time / grid + stream.open01()).floor() * grid).collect();
        let found = heaping(&polled).expect("a grid");
        assert!((found.grid - grid).abs() < 1e-12 && found.share > 0.999, "{found:?}");
        // One in ten typed in by hand.
        let mixed: Vec<f64> = polled
            .iter()
            .enumerate()
            .map(|(i, it)| if i % 10 == 0 { it + 0.37 * grid } else { *it })
            .collect();
        assert!((heaping(&mixed).expect("a grid").grid - grid).abs() < 1e-12);
    }
    assert_eq!(heaping(&[15.0; 40]), None);
    assert_eq!(heaping(&[15.0, 30.0]), None);
}

/// A million times: grouped to a thousandth, with parameters within three standard errors (0.3 % at once) of the truth.
#[test]
fn a_million_times() {
    let mut stream = Streams::new(6, 0).get("many");
    let truth = Distribution::Gamma { shape: 0.8, scale: 100.0 };
    let times: Vec<f64> = (0..1_000_000).map(|_| truth.sample(&mut stream)).collect();
    let record = Recorded::new(&times, &[1000.0; 40], Recording::Exact).expect("a record");
    assert!(record.entries.len() < 30_000);
    let fit = RecordedFit::of(Family::Gamma, &record).expect("a fit");
    let Distribution::Gamma { shape, scale } = fit.distribution else { panic!("gamma") };
    near(shape, 0.8, 5e-3);
    near(scale, 100.0, 5e-3);
    let found = interval(&fit, &record, Parameter::Mean, 0.95).expect("an interval");
    assert!(found.covers(fit.distribution.mean()) && found.high / found.low < 1.01);
}
