//! Intervals, comparisons, stopping rules, tolerance and prediction limits, the shortest test plan.

use super::{Ours, Vector, number, numbers};
use linewake_stats::estimate::{Estimate, Paired, mean, variance};
use linewake_stats::interval::{
    mean_half_width, prediction_factor, shared_luck_ratio, tolerance_one_sided,
    tolerance_one_sided_approximate, tolerance_two_sided, tolerance_two_sided_howe, welch,
};
use linewake_stats::series::{Precision, replications_needed};
use linewake_stats::test_plan::MtbfPlan;

pub(super) fn ours(vector: &Vector) -> Vec<Ours> {
    match vector.id.as_str() {
        "CI-1" => {
            let sample = |which: char| {
                let of = |name: &str| number(vector, &format!("{name}{which}"));
                (of("n") as usize, of("m"), of("s"))
            };
            let welch = welch(sample('1'), sample('2'), 0.95).expect("two samples");
            vec![Ours::new("t", welch.t), Ours::new("df", welch.degrees), Ours::new("p", welch.p_value)]
        }
        "CI-2" => {
            let (n, level) = (number(vector, "n") as usize, number(vector, "level"));
            let half = mean_half_width(n, number(vector, "sd"), level).expect("a sample");
            let mean = number(vector, "mean");
            vec![Ours::new("low", mean - half), Ours::new("high", mean + half)]
        }
        "CRN-1" => {
            // First less second.
            let pairs =
                Paired::of(&numbers(vector, "sys2_crn"), &numbers(vector, "sys1"), number(vector, "level"));
            let difference = pairs.expect("pairs").difference;
            let mut ours = Ours::list("ci", [difference.low(), difference.high()]);
            ours.push(Ours::new("mean_diff", difference.mean));
            ours.push(Ours::new("sd_diff", difference.standard_deviation()));
            ours.push(Ours::new("half_width", difference.half_width));
            ours
        }
        "CRN-2" => independent(vector),
        "CRN-3" => {
            let (first, second) = (numbers(vector, "sys1"), numbers(vector, "sys2_crn"));
            vec![
                Ours::new("mean2_crn", mean(&second)),
                Ours::new("sd2_crn", variance(&second).map(f64::sqrt)),
                Ours::new("ratio", shared_luck_ratio(&first, &second)),
            ]
        }
        "REP-1" => {
            let values = numbers(vector, "x");
            let estimate = Estimate::of(&values, number(vector, "level")).expect("values");
            vec![
                Ours::new("mean", estimate.mean),
                Ours::new("var", variance(&values)),
                Ours::new("half_width", estimate.half_width),
            ]
        }
        "REP-2" => {
            let (values, level) = (numbers(vector, "x"), number(vector, "level"));
            let needed = |precision| replications_needed(&values, level, precision).map(|n| n as f64);
            vec![
                Ours::new("n_abs", needed(Precision::Absolute(number(vector, "abs_error")))),
                Ours::new("n_rel", needed(Precision::Relative(number(vector, "rel_error")))),
            ]
        }
        id => panic!("{id}: which interval?"),
    }
}

fn independent(vector: &Vector) -> Vec<Ours> {
    let (first, second) = (numbers(vector, "sys1"), numbers(vector, "sys2"));
    let moments = |values: &[f64]| {
        let deviation = variance(values).expect("values").sqrt();
        (values.len(), mean(values).expect("values"), deviation)
    };
    let welch = welch(moments(&first), moments(&second), number(vector, "level")).expect("two samples");
    let interval = welch.interval();
    let mut ours = Ours::list("ci", [Some(interval.low), Some(interval.high)]);
    ours.push(Ours::new("mean1", moments(&first).1));
    ours.push(Ours::new("mean2", moments(&second).1));
    ours.push(Ours::new("sd1", moments(&first).2));
    ours.push(Ours::new("sd2", moments(&second).2));
    ours.push(Ours::new("t", welch.t));
    ours.push(Ours::new("df", welch.degrees));
    ours
}

pub(super) fn limits(vector: &Vector) -> Vec<Ours> {
    match vector.id.as_str() {
        "TOL-1" => {
            let (mean, s) = (number(vector, "mean"), number(vector, "s"));
            let (n, confidence, cover) =
                (number(vector, "n") as usize, number(vector, "conf"), number(vector, "cover"));
            let howe = tolerance_two_sided_howe(n, confidence, cover).expect("a factor");
            let one_sided = tolerance_one_sided_approximate(n, confidence, cover).expect("a factor");
            vec![
                Ours::new("k2_howe", howe),
                Ours::new("low", mean - howe * s),
                Ours::new("high", mean + howe * s),
                Ours::new("k1_approx", one_sided),
                Ours::new("upper1", mean + one_sided * s),
                Ours::new("lower1", mean - one_sided * s),
                Ours::new("k1_exact", tolerance_one_sided(n, confidence, cover)),
                Ours::new("k2_exact", tolerance_two_sided(n, confidence, cover)),
            ]
        }
        "TOL-2" => {
            let (sizes, covers) = (numbers(vector, "n"), numbers(vector, "cover"));
            let mut ours = Vec::new();
            for (row, n) in sizes.iter().enumerate() {
                let factors = covers
                    .iter()
                    .map(|cover| tolerance_two_sided(*n as usize, number(vector, "conf"), *cover));
                ours.extend(Ours::list(&format!("k2[{row}]"), factors));
            }
            ours
        }
        "TOL-3" => {
            let factor = tolerance_one_sided_approximate(
                number(vector, "n") as usize,
                number(vector, "conf"),
                number(vector, "cover"),
            );
            let wrong = factor.map(|factor| number(vector, "mean") + factor * number(vector, "s"));
            vec![Ours::new("upper1_with_2.68_for_0.0268", wrong).noted(
                "the printed limit is wrong: it comes out only with a deviation a hundred times too large; the limit \
                 of the example is 97.120 (TOL-1)",
            )]
        }
        "PRED-1" => {
            let printed = vector.expected["factor"].as_array().expect("factors");
            let sizes = numbers(vector, "n").into_iter().zip(printed).enumerate();
            sizes
                .map(|(place, (n, printed))| {
                    prediction(
                        place,
                        n as usize,
                        number(vector, "level"),
                        printed.as_f64().expect("a factor"),
                    )
                })
                .collect()
        }
        "PLAN-1" => shortest_plan(vector),
        id => panic!("{id}: which limit?"),
    }
}

/// A prediction factor; a printed one whose own level is off, by a closed form that shares nothing with ours, is not
/// held against it.
fn prediction(place: usize, n: usize, level: f64, printed: f64) -> Ours {
    let ours = prediction_factor(n, level).expect("a factor");
    let row = Ours::new(format!("factor[{place}]"), ours);
    if !n.is_multiple_of(2) {
        return row;
    }
    let level_of = |factor: f64| central_student_t(factor / (1.0 + 1.0 / n as f64).sqrt(), n - 1);
    let (off, ours_off) = (level_of(printed) - level, level_of(ours) - level);
    if off.abs() > 5e-9 && ours_off.abs() < 1e-12 {
        return row.not_expressible().noted(format!(
            "the printed factor is wrong in its last digit: it holds the next value with probability {level} {off:+.1e}, \
             ours with {level} {ours_off:+.0e}, by the closed form of Student's t for whole odd degrees of freedom"
        ));
    }
    row
}

/// The probability that Student's t lies within +-`t`, for an odd number of degrees of freedom above 1.
///
/// *Source*: Abramowitz and Stegun (1964), Handbook of Mathematical Functions, 26.7.3.
fn central_student_t(t: f64, degrees: usize) -> f64 {
    let angle = (t / (degrees as f64).sqrt()).atan();
    let (mut term, mut sum) = (angle.cos(), angle.cos());
    for k in (3..degrees).step_by(2) {
        term *= angle.cos().powi(2) * (k - 1) as f64 / k as f64;
        sum += term;
    }
    (angle + angle.sin() * sum) / core::f64::consts::FRAC_PI_2
}

fn shortest_plan(vector: &Vector) -> Vec<Ours> {
    let (promised, too_low) = (number(vector, "theta0"), number(vector, "theta1"));
    let (producer, consumer) = (number(vector, "alpha"), number(vector, "beta"));
    let plan = MtbfPlan::shortest(promised, too_low, producer, consumer).expect("a plan");
    // The plan before: one failure fewer, as short as the consumer's risk allows.
    let printed = vector.expected["printed_duration"].as_f64().expect("a number");
    let before = MtbfPlan { duration: printed, accept: plan.accept - 1 };
    let risk = 1.0 - before.acceptance_probability(promised);
    let at_consumer = before.acceptance_probability(too_low);
    let mut wrong = Ours::new("printed_duration", plan.duration).noted(format!(
        "the printed test is the one before, accepting {}: it keeps the consumer's risk ({at_consumer:.4}), but the \
         producer's is {risk:.4}, above {producer}",
        before.accept
    ));
    if risk > producer && (at_consumer - consumer).abs() < 1e-4 {
        wrong = wrong.not_expressible();
    }
    vec![Ours::new("accept", plan.accept as f64), Ours::new("duration", plan.duration), wrong]
}
