//! Incomplete beta function.

use super::density::binomial_density;
use super::gamma::{MOST_TERMS, nonzero};

/// The regularised incomplete beta function and its complement, (I_x(a, b), I_y(b, a)), with `y` = 1 - `x` handed in
/// so that small complements keep their digits. NaN for parameters that are not above 0 and finite, for `x` or `y`
/// outside [0, 1], or when no convergence is reached.
///
/// *Source*: continued fraction of Abramowitz and Stegun (1964), 26.5.8, by Lentz's method.
pub(crate) fn incomplete_beta(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    let parameters = a > 0.0 && b > 0.0 && a.is_finite() && b.is_finite();
    if !(parameters && (0.0..=1.0).contains(&x) && (0.0..=1.0).contains(&y)) {
        return (f64::NAN, f64::NAN);
    }
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if y <= 0.0 {
        return (1.0, 0.0);
    }
    if x <= (a + 1.0) / (a + b + 2.0) {
        let lower = by_fraction(a, b, x, y);
        (lower, 1.0 - lower)
    } else {
        let upper = by_fraction(b, a, y, x);
        (1.0 - upper, upper)
    }
}

fn by_fraction(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let mut c = 1.0;
    let mut d = 1.0 / nonzero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for m in 1..MOST_TERMS {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / nonzero(1.0 + even * d);
        c = nonzero(1.0 + even / c);
        fraction *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / nonzero(1.0 + odd * d);
        c = nonzero(1.0 + odd / c);
        let factor = d * c;
        fraction *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            // x^a y^b / (a B(a, b)) = b / (a + b) times the density.
            return (binomial_density(a, b, x, y) * b / (a + b) * fraction).clamp(0.0, 1.0);
        }
    }
    f64::NAN
}
