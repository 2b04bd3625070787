//! The leading factors of the incomplete gamma and beta functions, without cancellation for large parameters.
//!
//! *Source*: Loader (2000), Fast and Accurate Computation of Binomial Probabilities: saddle-point form of the Poisson
//! and binomial densities, extended to parameters that are not whole.

use core::f64::consts::TAU;

/// ln Gamma(a + 1) less Stirling's formula (a + 1/2) ln a - a + ln(2 pi) / 2; for a > 0.
fn stirling_error(a: f64) -> f64 {
    if a < 16.0 {
        return libm::lgamma(a + 1.0) - (a + 0.5) * libm::log(a) + a - 0.5 * libm::log(TAU);
    }
    let square = 1.0 / (a * a);
    // Abramowitz and Stegun (1964), 6.1.41.
    let terms = [1.0 / 12.0, -1.0 / 360.0, 1.0 / 1260.0, -1.0 / 1680.0, 1.0 / 1188.0, -691.0 / 360_360.0];
    terms.iter().rev().fold(0.0, |sum, term| sum * square + term) / a
}

/// a ln(a / m) + m - a: 0 where m equals a, above 0 elsewhere.
fn deviance(a: f64, m: f64) -> f64 {
    if (a - m).abs() >= 0.1 * (a + m) {
        return a * libm::log(a / m) + m - a;
    }
    let v = (a - m) / (a + m);
    let mut sum = (a - m) * v;
    let mut power = 2.0 * a * v;
    for j in 1..1000 {
        power *= v * v;
        let next = sum + power / f64::from(2 * j + 1);
        if (next - sum).abs() <= f64::EPSILON * 0.1 * sum.abs() {
            return next;
        }
        sum = next;
    }
    sum
}

/// m^a exp(-m) / Gamma(a + 1), for a > 0 and m > 0.
pub(super) fn poisson_density(a: f64, m: f64) -> f64 {
    libm::exp(-stirling_error(a) - deviance(a, m)) / libm::sqrt(TAU * a)
}

/// Gamma(a + b + 1) / (Gamma(a + 1) Gamma(b + 1)) x^a y^b with y = 1 - x, for a, b > 0 and x, y > 0.
pub(super) fn binomial_density(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    let log =
        stirling_error(n) - stirling_error(a) - stirling_error(b) - deviance(a, n * x) - deviance(b, n * y);
    // In this order nothing overflows with very unequal parameters.
    libm::exp(log) * libm::sqrt(n / a) / libm::sqrt(TAU * b)
}
