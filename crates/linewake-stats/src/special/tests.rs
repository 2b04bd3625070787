//! Special functions against closed forms and against values of tables.

use super::{
    bracketed_root, digamma, incomplete_beta, incomplete_gamma, log_normal_tail, normal_hazard, over_normal,
    over_scale, rising_root, trigamma,
};
use crate::distribution::normal::normal_cdf;

fn near(value: f64, expected: f64, relative: f64) {
    assert!((value - expected).abs() <= relative * expected.abs(), "{value:e} is not {expected:e}");
}

/// With a whole shape n: Q(n, x) = exp(-x) sum of x^k / k!, k < n. With 1/2: P(1/2, x) = erf(sqrt x).
#[test]
fn incomplete_gamma_meets_closed_forms() {
    for x in [1e-6_f64, 0.3, 1.0, 2.5, 7.0, 19.0, 60.0, 300.0] {
        near(incomplete_gamma(0.5, x).1, libm::erfc(x.sqrt()), 2e-13);
        near(incomplete_gamma(0.5, x).0, libm::erf(x.sqrt()), 2e-13);
        for shape in [1_u32, 2, 5, 30] {
            let (mut term, mut sum) = (1.0, 0.0);
            for k in 0..shape {
                sum += term;
                term *= x / f64::from(k + 1);
            }
            let (lower, upper) = incomplete_gamma(f64::from(shape), x);
            near(upper, (-x).exp() * sum, 1e-12);
            near(lower + upper, 1.0, 1e-15);
        }
    }
}

/// P(a, a) = 1/2 + 1 / (3 sqrt(2 pi a)) - ..., the first term of an expansion whose next one is of order a^(-3/2).
#[test]
fn incomplete_gamma_of_large_shapes() {
    for shape in [1e4_f64, 1e6, 1e8] {
        let expected = 0.5 + 1.0 / (3.0 * (core::f64::consts::TAU * shape).sqrt());
        near(incomplete_gamma(shape, shape).0, expected, 1e-2 * shape.powf(-1.5) + 1e-12);
    }
}

#[test]
fn incomplete_gamma_at_and_beyond_the_ends() {
    assert_eq!(incomplete_gamma(2.0, 0.0), (0.0, 1.0));
    assert_eq!(incomplete_gamma(2.0, f64::INFINITY), (1.0, 0.0));
    for (a, x) in
        [(0.0, 1.0), (-1.0, 1.0), (f64::INFINITY, 1.0), (f64::NAN, 1.0), (1.0, -1.0), (1.0, f64::NAN)]
    {
        let (lower, upper) = incomplete_gamma(a, x);
        assert!(lower.is_nan() && upper.is_nan(), "{a} {x}");
    }
}

/// With whole parameters it is a binomial tail; I_x(a, 1) = x^a; I_x(1/2, 1/2) = 2 arcsin(sqrt x) / pi.
#[test]
fn incomplete_beta_meets_closed_forms() {
    for x in [1e-5_f64, 0.02, 0.3, 0.5, 0.77, 0.999] {
        near(incomplete_beta(0.5, 0.5, x, 1.0 - x).0, x.sqrt().asin() / core::f64::consts::FRAC_PI_2, 1e-13);
        near(incomplete_beta(7.5, 1.0, x, 1.0 - x).0, x.powf(7.5), 1e-12);
        // At least 4 of 10.
        let mut sum = 0.0;
        for (k, ways) in [(4, 210.0), (5, 252.0), (6, 210.0), (7, 120.0), (8, 45.0), (9, 10.0), (10, 1.0)] {
            sum += ways * x.powi(k) * (1.0 - x).powi(10 - k);
        }
        near(incomplete_beta(4.0, 7.0, x, 1.0 - x).0, sum, 1e-12);
        let (lower, upper) = incomplete_beta(4.0, 7.0, x, 1.0 - x);
        near(incomplete_beta(7.0, 4.0, 1.0 - x, x).0, upper, 1e-12);
        near(lower + upper, 1.0, 1e-15);
    }
    // Symmetric and large: one half in the middle.
    near(incomplete_beta(3e6, 3e6, 0.5, 0.5).0, 0.5, 1e-9);
}

#[test]
fn incomplete_beta_at_and_beyond_the_ends() {
    assert_eq!(incomplete_beta(2.0, 3.0, 0.0, 1.0), (0.0, 1.0));
    assert_eq!(incomplete_beta(2.0, 3.0, 1.0, 0.0), (1.0, 0.0));
    for (a, b, x) in [(0.0, 1.0, 0.5), (1.0, f64::NAN, 0.5), (f64::INFINITY, 1.0, 0.5), (1.0, 1.0, 1.5)] {
        assert!(incomplete_beta(a, b, x, 1.0 - x).0.is_nan(), "{a} {b} {x}");
    }
}

/// psi(1) = -gamma, psi(1/2) = -gamma - 2 ln 2; psi'(1) = pi^2 / 6, psi'(1/2) = pi^2 / 2.
#[test]
fn derivatives_of_ln_gamma() {
    let euler = 0.577_215_664_901_532_9;
    near(digamma(1.0), -euler, 1e-14);
    near(digamma(0.5), -euler - 2.0 * core::f64::consts::LN_2, 1e-14);
    near(digamma(1e5), 1e5_f64.ln() - 0.5e-5 - 1e-10 / 12.0, 1e-15);
    let square = core::f64::consts::PI * core::f64::consts::PI;
    near(trigamma(1.0), square / 6.0, 1e-14);
    near(trigamma(0.5), square / 2.0, 1e-14);
    // They follow from each other.
    for x in [0.02, 0.7, 3.0, 40.0] {
        near((digamma(x * 1.0001) - digamma(x * 0.9999)) / (0.0002 * x), trigamma(x), 1e-6);
    }
    assert!(digamma(0.0).is_nan() && digamma(-1.5).is_nan() && trigamma(f64::NAN).is_nan());
}

/// Where both ways are exact they meet; far out ln of the tail falls as the hazard says.
#[test]
fn tail_of_the_normal() {
    for z in [-30.0, -3.0, -1.0, 0.0, 2.0, 11.9] {
        near(log_normal_tail(z).exp(), normal_cdf(-z), 1e-13);
    }
    for z in [12.0, 20.0, 35.0] {
        near(log_normal_tail(z), normal_cdf(-z).ln(), 1e-13);
        near(normal_hazard(z), normal_hazard(z - 1e-9), 1e-9);
    }
    near(normal_hazard(12.0), normal_hazard(11.999_999_999), 1e-9);
    for z in [5.0, 50.0, 5000.0] {
        let fall = (log_normal_tail(z * 0.99999) - log_normal_tail(z * 1.00001)) / (2e-5 * z);
        near(fall, normal_hazard(z), 1e-5);
    }
}

#[test]
fn roots_are_found_or_said_to_be_missing() {
    let root = |function: fn(f64) -> f64, low, high| bracketed_root(function, low, high);
    near(root(|x| x * x - 2.0, 0.0, 2.0).expect("a root"), 2.0_f64.sqrt(), 1e-15);
    near(root(|x| x.powi(9) - 1e-18, 0.0, 10.0).expect("flat at the root"), 0.01, 1e-12);
    near(root(|x| if x < 0.3 { -1.0 } else { 1.0 }, 0.0, 1.0).expect("a jump"), 0.3, 1e-15);
    assert_eq!(root(|x| x * x + 1.0, -1.0, 1.0), None);
    assert_eq!(root(|_| f64::NAN, -1.0, 1.0), None);
    near(
        rising_root(|x| x.exp() - 1e-6, 0.0, 0.1, (-100.0, 100.0)).expect("below"),
        -6.0 * 10.0_f64.ln(),
        1e-14,
    );
    near(rising_root(|x| x - 77.0, 0.0, 0.1, (-100.0, 100.0)).expect("above"), 77.0, 1e-15);
    assert_eq!(rising_root(|x| x - 200.0, 0.0, 0.1, (-100.0, 100.0)), None);
    assert_eq!(rising_root(|x| x + 200.0, 0.0, 0.1, (-100.0, 100.0)), None);
    assert_eq!(rising_root(|_| f64::NAN, 0.0, 0.1, (-100.0, 100.0)), None);
}

/// E[Z^2] = 1 and E[Z^4] = 3; E[u^2] = 1 and E[u^4] = 1 + 2 / degrees.
#[test]
fn expectations_of_powers() {
    let normal = over_normal();
    let expect = |points: &[(f64, f64)], power: i32| {
        points.iter().map(|(point, weight)| weight * point.powi(power)).sum::<f64>()
    };
    for (power, expected) in [(0, 1.0), (2, 1.0), (4, 3.0)] {
        near(expect(&normal, power), expected, 1e-12);
    }
    for degrees in [1.0, 2.0, 9.0, 100.0, 1e5] {
        let scale = over_scale(degrees);
        near(expect(&scale, 0), 1.0, 1e-10);
        near(expect(&scale, 2), 1.0, 1e-10);
        near(expect(&scale, 4), 1.0 + 2.0 / degrees, 1e-10);
    }
    assert!(over_scale(0.0).is_empty() && over_scale(f64::NAN).is_empty());
}
