//! Where a function of one variable crosses zero.

/// Steps before giving up; bisection alone would need about 1,100 for the widest bracket.
const MOST_STEPS: usize = 1200;

/// The root of `function` between `low` and `high`, at which it has different signs; `None` when it has not, or when
/// a value is not a number.
///
/// By the secant of the bracket with the value of a stuck end halved (the "Illinois" rule, Dowell and Jarratt 1971,
/// BIT 11, 168-174), and by bisection when three steps have not halved the bracket.
pub(crate) fn bracketed_root(function: impl Fn(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let (mut a, mut b) = (low, high);
    let (mut at_a, mut at_b) = (function(a), function(b));
    if at_a.is_nan() || at_b.is_nan() || !a.is_finite() || !b.is_finite() {
        return None;
    }
    if is_zero(at_a) {
        return Some(a);
    }
    if is_zero(at_b) {
        return Some(b);
    }
    if (at_a > 0.0) == (at_b > 0.0) {
        return None;
    }
    // a moves with the last step; b is the other end, with its value perhaps halved.
    let mut width = (b - a).abs();
    let mut since_halved = 0;
    for _ in 0..MOST_STEPS {
        let middle = 0.5 * a + 0.5 * b;
        if (b - a).abs() <= 2.0 * f64::EPSILON * a.abs().max(b.abs())
            || is_same(middle, a)
            || is_same(middle, b)
        {
            return Some(if at_a.abs() < at_b.abs() { a } else { b });
        }
        let secant = b - at_b * (b - a) / (at_b - at_a);
        let inside = secant > a.min(b) && secant < a.max(b);
        let next = if inside && since_halved < 3 { secant } else { middle };
        let value = function(next);
        if value.is_nan() {
            return None;
        }
        if is_zero(value) {
            return Some(next);
        }
        if (value > 0.0) == (at_a > 0.0) {
            at_b *= 0.5;
        } else {
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (next, value);
        if (b - a).abs() <= 0.5 * width {
            width = (b - a).abs();
            since_halved = 0;
        } else {
            since_halved += 1;
        }
    }
    None
}

/// The root of a rising function: a bracket is sought from `start` in steps that double, within `[least, most]`.
/// `None` when there is no change of sign in that range.
pub(crate) fn rising_root(
    function: impl Fn(f64) -> f64,
    start: f64,
    step: f64,
    range: (f64, f64),
) -> Option<f64> {
    let (least, most) = range;
    let start = start.clamp(least, most);
    let mut step = step;
    if function(start) > 0.0 {
        let mut high = start;
        while high > least {
            let low = (high - step).max(least);
            if function(low) <= 0.0 {
                return bracketed_root(function, low, high);
            }
            (high, step) = (low, step * 2.0);
        }
    } else {
        let mut low = start;
        while low < most {
            let high = (low + step).min(most);
            if function(high) >= 0.0 {
                return bracketed_root(function, low, high);
            }
            (low, step) = (high, step * 2.0);
        }
    }
    None
}

fn is_zero(value: f64) -> bool {
    value.abs() <= 0.0
}

fn is_same(one: f64, other: f64) -> bool {
    (one - other).abs() <= 0.0
}
