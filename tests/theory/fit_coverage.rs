//! Intervals of fitted laws hold the law that made the log: 95 % intervals by profile likelihood, logs of 200 stops, for
//! each law, complete, cut off at the ends of shifts, rounded to 15 s, and polled every 15 s.
//!
//! *Error probability*: if an interval covers with 0.95, the bounds of 460 to 490 of 500 (92 to 98 %) are missed with
//! probability 0.0026 for a figure (binomial), for all 40 figures together with at most 0.11; in the small set the bound of
//! 48 of 60 with 2e-5, for all together below 0.001. The full set's seeds are fixed, so that it gives one answer.

use crate::replications::on_all_cores;
use crate::row::RunSet;
use linewake_stats::distribution::Distribution;
use linewake_stats::fit::Family;
use linewake_stats::recorded::{Parameter, Recorded, RecordedFit, Recording, interval};
use linewake_stats::stream::{Stream, Streams};

const STOPS: usize = 200;
const GRID_S: f64 = 15.0;
const PARAMETERS: [Parameter; 3] = [Parameter::Shape, Parameter::Scale, Parameter::Mean];

/// How the log came about.
#[derive(Clone, Copy, Debug)]
enum Form {
    Complete,
    /// Windows of ten means, one time cut off in each.
    CutOff,
    Rounded,
    Polled,
}

fn laws() -> [(Family, Distribution, [f64; 2]); 4] {
    let weibull = Distribution::Weibull { shape: 1.4, scale: 65.0 };
    [
        (Family::Exponential, Distribution::Exponential { mean: 60.0 }, [0.0, 60.0]),
        (Family::Weibull, weibull, [1.4, 65.0]),
        (Family::Lognormal, Distribution::Lognormal { median: 45.0, sigma: 0.8 }, [0.8, 45.0]),
        (Family::Gamma, Distribution::Gamma { shape: 2.0, scale: 30.0 }, [2.0, 30.0]),
    ]
}

fn log(law: &Distribution, form: Form, stream: &mut Stream) -> Recorded {
    let (mut complete, mut cut_off) = (Vec::new(), Vec::new());
    let recording = match form {
        Form::Complete | Form::CutOff => Recording::Exact,
        Form::Rounded => Recording::Rounded { grid: GRID_S },
        Form::Polled => Recording::BothEnds { grid: GRID_S },
    };
    let mut left = 10.0 * law.mean();
    while complete.len() < STOPS {
        let time = law.sample(stream);
        let time = match form {
            Form::Complete => time,
            Form::CutOff if time >= left => {
                cut_off.push(left);
                left = 10.0 * law.mean();
                continue;
            }
            Form::CutOff => {
                left -= time;
                time
            }
            Form::Rounded => (time / GRID_S).round() * GRID_S,
            Form::Polled => (time / GRID_S + stream.open01()).floor() * GRID_S,
        };
        if time > 0.0 {
            complete.push(time);
        }
    }
    Recorded::new(&complete, &cut_off, recording).expect("a record")
}

#[test]
fn intervals_of_fitted_laws_cover() {
    let (logs, bounds) = match RunSet::asked_for() {
        RunSet::Full => (500_u64, 460..=490_usize),
        _ => (60, 48..=60),
    };
    let mut missed = Vec::new();
    for (family, law, [shape, scale]) in laws() {
        for form in [Form::Complete, Form::CutOff, Form::Rounded, Form::Polled] {
            let truths = [shape, scale, law.mean()];
            let covered: Vec<[bool; 3]> = on_all_cores(logs, |replication| {
                let mut stream = Streams::new(20, replication).get(&format!("{family:?} {form:?}"));
                let record = log(&law, form, &mut stream);
                let fit = RecordedFit::of(family, &record).expect("a fit");
                let covers = |place: usize| {
                    interval(&fit, &record, PARAMETERS[place], 0.95)
                        .is_some_and(|found| found.covers(truths[place]))
                };
                [covers(0), covers(1), covers(2)]
            });
            for (place, parameter) in PARAMETERS.iter().enumerate() {
                if family == Family::Exponential && place != 2 {
                    continue;
                }
                let hits = covered.iter().filter(|hit| hit[place]).count();
                eprintln!(
                    "{family:?} {form:?} {parameter:?}: {hits} of {logs}, {:.1} %",
                    100.0 * hits as f64 / logs as f64
                );
                if !bounds.contains(&hits) {
                    missed.push(format!("{family:?} {form:?} {parameter:?}: {hits} of {logs}"));
                }
            }
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
}
