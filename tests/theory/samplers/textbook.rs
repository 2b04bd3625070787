//! Distribution functions from the textbook, not from the program: closed forms and power series.
//!
//! *Sources*: Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions (1994), from memory; the series of the
//! normal distribution as in Abramowitz and Stegun (1964), 26.2.11, that of the incomplete gamma function 6.5.29 (from
//! memory).

use linewake_stats::distribution::Distribution;

/// The probability of a value of at most `x`.
pub(super) fn cdf(distribution: &Distribution, x: f64) -> f64 {
    match *distribution {
        Distribution::Constant { value } => f64::from(u8::from(x >= value)),
        Distribution::Exponential { mean } => above_zero(x, |x| -(-x / mean).exp_m1()),
        Distribution::Uniform { min, max } => ((x - min) / (max - min)).clamp(0.0, 1.0),
        Distribution::Triangular { min, mode, max } => {
            if x <= min {
                0.0
            } else if x >= max {
                1.0
            } else if x <= mode {
                (x - min) * (x - min) / ((max - min) * (mode - min))
            } else {
                1.0 - (max - x) * (max - x) / ((max - min) * (max - mode))
            }
        }
        Distribution::TruncatedNormal { mean, sd, min, max } => {
            let below = |x: f64| normal((x - mean) / sd);
            ((below(x.clamp(min, max)) - below(min)) / (below(max) - below(min))).clamp(0.0, 1.0)
        }
        Distribution::Lognormal { median, sigma } => above_zero(x, |x| normal((x / median).ln() / sigma)),
        Distribution::Weibull { shape, scale } => above_zero(x, |x| -(-(x / scale).powf(shape)).exp_m1()),
        Distribution::Gamma { shape, scale } => above_zero(x, |x| incomplete_gamma(shape, x / scale)),
        Distribution::Empirical { ref values } => {
            values.iter().filter(|value| **value <= x).count() as f64 / values.len() as f64
        }
        Distribution::Geometric { mean, step } => {
            // No hit in the first k trials: (1 - 1 / mean)^k.
            above_zero(x, |x| 1.0 - (1.0 - 1.0 / mean).powf((x / step).floor()))
        }
    }
}

fn above_zero(x: f64, cdf: impl Fn(f64) -> f64) -> f64 {
    if x > 0.0 { cdf(x) } else { 0.0 }
}

/// The standard normal distribution: 1/2 + density x sum of z^(2k+1) / (1 3 5 ... (2k+1)). The terms are all of one sign.
fn normal(z: f64) -> f64 {
    if z.is_infinite() || z.abs() > 10.0 {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    let (mut term, mut sum, mut odd) = (z, z, 1.0);
    while term.abs() > 1e-18 * sum.abs() {
        odd += 2.0;
        term *= z * z / odd;
        sum += term;
    }
    0.5 + sum * (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// The incomplete gamma function, regularised, for whole and half shapes: x^a exp(-x) sum of x^k / Gamma(a + k + 1).
fn incomplete_gamma(a: f64, x: f64) -> f64 {
    let (mut known, mut log_gamma) =
        if a.fract() > 0.0 { (0.5, 0.5 * std::f64::consts::PI.ln()) } else { (1.0, 0.0) };
    while known < a + 0.5 {
        log_gamma += f64::ln(known);
        known += 1.0;
    }
    // Now `known` is a + 1.
    let mut term = (a * x.ln() - x - log_gamma).exp();
    let (mut sum, mut k) = (term, 0.0);
    while term > 1e-18 * sum {
        k += 1.0;
        term *= x / (a + k);
        sum += term;
        if k > 10_000.0 {
            break;
        }
    }
    sum.min(1.0)
}

/// Values of printed tables (from memory): normal 1.96, gamma of shape 0.5 as chi-square of one degree at 3.841, Erlang.
#[test]
fn series_give_the_values_of_tables() {
    let near = |one: f64, other: f64, within: f64| assert!((one - other).abs() < within, "{one} and {other}");
    near(normal(1.959_964), 0.975, 1e-7);
    near(normal(-3.0), 0.001_349_898, 1e-9);
    near(incomplete_gamma(0.5, 3.841_459 / 2.0), 0.95, 1e-7);
    near(incomplete_gamma(1.0, 2.0), 1.0 - (-2.0_f64).exp(), 1e-14);
    near(incomplete_gamma(3.0, 2.0), 1.0 - 5.0 * (-2.0_f64).exp(), 1e-14);
}
