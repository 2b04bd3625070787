//! Incomplete gamma function and the first two derivatives of ln Gamma.

use super::density::poisson_density;

/// Terms of a series or fraction before giving up: enough for parameters up to about 1e9.
pub(super) const MOST_TERMS: u32 = 400_000;

/// The regularised incomplete gamma functions (P, Q) of shape `a` at `x`: P(a, x) and Q(a, x) = 1 - P(a, x), each to
/// its own relative accuracy (about 1e-14 for moderate `a`). NaN for a shape that is not above 0 or finite, a
/// negative `x`, or when no convergence is reached.
///
/// *Source*: series and continued fraction of Abramowitz and Stegun (1964), 6.5.29 and 6.5.31, the fraction by
/// Lentz's method.
pub(crate) fn incomplete_gamma(a: f64, x: f64) -> (f64, f64) {
    if !(a > 0.0 && a.is_finite() && x >= 0.0) {
        return (f64::NAN, f64::NAN);
    }
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x.is_infinite() {
        return (1.0, 0.0);
    }
    let density = poisson_density(a, x);
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0, 1.0);
        for n in 1..MOST_TERMS {
            term *= x / (a + f64::from(n));
            sum += term;
            if term <= sum * f64::EPSILON * 0.1 {
                let lower = (density * sum).min(1.0);
                return (lower, 1.0 - lower);
            }
        }
        return (f64::NAN, f64::NAN);
    }
    let tiny = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / tiny;
    let mut d = 1.0 / b;
    let mut fraction = d;
    for n in 1..MOST_TERMS {
        let n = f64::from(n);
        let numerator = -n * (n - a);
        b += 2.0;
        d = nonzero(numerator * d + b);
        c = nonzero(b + numerator / c);
        d = 1.0 / d;
        let factor = d * c;
        fraction *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            // x^a exp(-x) / Gamma(a) is a times the density.
            let upper = (a * density * fraction).min(1.0);
            return (1.0 - upper, upper);
        }
    }
    (f64::NAN, f64::NAN)
}

pub(super) fn nonzero(value: f64) -> f64 {
    if value.abs() < 1e-300 { 1e-300 } else { value }
}

/// The derivative of ln Gamma at `x` > 0.
///
/// *Source*: Abramowitz and Stegun (1964), 6.3.5 up to 10 and the expansion 6.3.18 beyond.
pub(crate) fn digamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    let (mut x, mut shift) = (x, 0.0);
    while x < 10.0 {
        shift += 1.0 / x;
        x += 1.0;
    }
    let square = 1.0 / (x * x);
    let terms =
        [1.0 / 12.0, -1.0 / 120.0, 1.0 / 252.0, -1.0 / 240.0, 1.0 / 132.0, -691.0 / 32_760.0, 1.0 / 12.0];
    libm::log(x) - 0.5 / x - square * terms.iter().rev().fold(0.0, |sum, term| sum * square + term) - shift
}

/// The second derivative of ln Gamma at `x` > 0.
///
/// *Source*: Abramowitz and Stegun (1964), 6.4.6 up to 10 and the expansion 6.4.12 beyond.
pub(crate) fn trigamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    let (mut x, mut shift) = (x, 0.0);
    while x < 10.0 {
        shift += 1.0 / (x * x);
        x += 1.0;
    }
    let square = 1.0 / (x * x);
    let terms = [1.0 / 6.0, -1.0 / 30.0, 1.0 / 42.0, -1.0 / 30.0, 5.0 / 66.0, -691.0 / 2730.0, 7.0 / 6.0];
    let series = terms.iter().rev().fold(0.0, |sum, term| sum * square + term);
    shift + (1.0 + 0.5 / x + series * square) / x
}
