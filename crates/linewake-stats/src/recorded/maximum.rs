//! Where the likelihood is highest: Newton's method with the slopes and bends taken from differences, damped where the
//! function does not curve down or a step does not rise.
//!
//! *Source*: Newton's method with the damping of Levenberg (1944) and Marquardt (1963), from memory.

use super::law::{Law, LawPoint};
use super::{Recorded, likelihood};
use crate::fit::Family;

const STEP: f64 = 1e-4;
const MOST_STEPS: usize = 200;
/// A step this small ends the search.
const SMALL: f64 = 1e-9;

/// The point of highest likelihood.
pub(crate) fn of_record(family: Family, record: &Recorded, start: LawPoint) -> Option<LawPoint> {
    let value = |first: f64, second: f64| match Law::at(family, LawPoint { first, second }) {
        Some(law) => likelihood::of(&law, record),
        None => f64::NEG_INFINITY,
    };
    if family.parameters() == 1 {
        let (second, _) = one(|second| value(0.0, second), start.second)?;
        return Some(LawPoint { first: 0.0, second });
    }
    two(value, start)
}

/// The maximum of a function of one variable near `start`: place and value. `None` when there is none within reach.
pub(crate) fn one(function: impl Fn(f64) -> f64, start: f64) -> Option<(f64, f64)> {
    let (mut x, mut here) = (start, function(start));
    let mut damping = 0.0_f64;
    if !here.is_finite() {
        return None;
    }
    for _ in 0..MOST_STEPS {
        let (up, down) = (function(x + STEP), function(x - STEP));
        let slope = (up - down) / (2.0 * STEP);
        let bend = (up - 2.0 * here + down) / (STEP * STEP);
        if !(slope.is_finite() && bend.is_finite()) {
            return None;
        }
        let mut moved = None;
        for _ in 0..60 {
            let steepness = (-bend).max(1e-6 * slope.abs()) + damping;
            let step = if steepness > 0.0 { (slope / steepness).clamp(-2.0, 2.0) } else { 0.0 };
            if step.abs() <= SMALL {
                return Some((x, here));
            }
            let next = function(x + step);
            if next >= here {
                moved = Some((step, next));
                damping *= 0.2;
                break;
            }
            damping = (damping * 4.0).max(0.1 * steepness.abs()).max(1e-6);
        }
        // No step rises: the function is at its maximum as far as it can be worked out.
        let Some((step, next)) = moved else { return Some((x, here)) };
        x += step;
        here = next;
    }
    None
}

fn two(function: impl Fn(f64, f64) -> f64, start: LawPoint) -> Option<LawPoint> {
    let LawPoint { mut first, mut second } = start;
    let mut here = function(first, second);
    if !here.is_finite() {
        return None;
    }
    let mut damping = 0.0_f64;
    for _ in 0..MOST_STEPS {
        let at = |one: f64, other: f64| function(first + one * STEP, second + other * STEP);
        let (right, left, up, down) = (at(1.0, 0.0), at(-1.0, 0.0), at(0.0, 1.0), at(0.0, -1.0));
        let (slope_1, slope_2) = ((right - left) / (2.0 * STEP), (up - down) / (2.0 * STEP));
        let square = STEP * STEP;
        let (bend_11, bend_22) = ((right - 2.0 * here + left) / square, (up - 2.0 * here + down) / square);
        let bend_12 = (at(1.0, 1.0) - at(1.0, -1.0) - at(-1.0, 1.0) + at(-1.0, -1.0)) / (4.0 * square);
        if ![slope_1, slope_2, bend_11, bend_22, bend_12].iter().all(|value| value.is_finite()) {
            return None;
        }
        let mut moved = None;
        for _ in 0..60 {
            let (a, b, c) = (damping - bend_11, damping - bend_22, -bend_12);
            let determinant = a * b - c * c;
            if !(a > 0.0 && b > 0.0 && determinant > 1e-12 * a * b) {
                damping = (damping * 4.0).max(1e-3 * (bend_11.abs() + bend_22.abs())).max(1e-6);
                continue;
            }
            let mut step_1 = (b * slope_1 - c * slope_2) / determinant;
            let mut step_2 = (a * slope_2 - c * slope_1) / determinant;
            let longest = step_1.abs().max(step_2.abs());
            if longest > 1.5 {
                (step_1, step_2) = (step_1 * 1.5 / longest, step_2 * 1.5 / longest);
            }
            if longest <= SMALL {
                return Some(LawPoint { first, second });
            }
            let next = function(first + step_1, second + step_2);
            if next >= here {
                moved = Some((step_1, step_2, next));
                damping *= 0.2;
                break;
            }
            damping = (damping * 4.0).max(1e-3 * (a + b));
        }
        let Some((step_1, step_2, next)) = moved else { return Some(LawPoint { first, second }) };
        (first, second, here) = (first + step_1, second + step_2, next);
    }
    None
}
