//! Laws of samples against tables, closed forms and each other.

use super::{
    beta_quantile, binomial_at_most, chi_square_cdf, chi_square_quantile, noncentral_t_cdf,
    noncentral_t_quantile, poisson_at_most, student_t_tail,
};
use crate::distribution::normal::normal_cdf;
use crate::estimate::student_t_quantile;

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

/// NIST/SEMATECH e-Handbook, table 1.3.6.7.4 (three decimals; from memory).
#[test]
fn chi_square_meets_the_table() {
    for (p, degrees, x) in [
        (0.95, 1.0, 3.841),
        (0.95, 10.0, 18.307),
        (0.99, 4.0, 13.277),
        (0.05, 10.0, 3.940),
        (0.01, 20.0, 8.260),
        (0.975, 100.0, 129.561),
    ] {
        near(chi_square_quantile(p, degrees), x, 5e-4);
    }
}

#[test]
fn chi_square_quantile_and_distribution_function_undo_each_other() {
    for degrees in [0.5, 1.0, 2.0, 7.0, 60.0, 3e4] {
        for p in [1e-9, 0.001, 0.3, 0.5, 0.8, 0.999, 1.0 - 1e-9] {
            let x = chi_square_quantile(p, degrees);
            near(chi_square_cdf(x, degrees), p, 1e-11 * p.min(1.0 - p) + 3e-16);
        }
    }
    // With 2 degrees: -2 ln(1 - p).
    near(chi_square_quantile(0.9, 2.0), 2.0 * 10.0_f64.ln(), 1e-12);
}

#[test]
fn poisson_and_binomial_are_sums_of_their_terms() {
    // exp(-3) (1 + 3 + 9 / 2).
    near(poisson_at_most(2, 3.0), (-3.0_f64).exp() * 8.5, 1e-15);
    near(poisson_at_most(5, 0.0), 1.0, 0.0);
    // 0.9^4 + 4 x 0.1 x 0.9^3.
    near(binomial_at_most(1, 4, 0.1), 0.9477, 1e-14);
    near(binomial_at_most(4, 4, 0.1), 1.0, 0.0);
    near(binomial_at_most(0, 4, 1.0), 0.0, 0.0);
    near(binomial_at_most(0, 4, 0.0), 1.0, 0.0);
    // Rare hits among many trials: Poisson.
    near(binomial_at_most(3, 10_000_000, 2e-7), poisson_at_most(3, 2.0), 1e-7);
}

#[test]
fn beta_quantile_meets_closed_forms() {
    // I_x(1, b) = 1 - (1 - x)^b.
    near(beta_quantile(0.95, 1.0, 300.0), 1.0 - 0.05_f64.powf(1.0 / 300.0), 1e-14);
    near(beta_quantile(0.3, 1.0, 1.0), 0.3, 1e-15);
    near(beta_quantile(0.5, 8.5, 8.5), 0.5, 1e-14);
}

#[test]
fn student_t_tail_undoes_the_quantile() {
    for degrees in [1.0, 2.5, 9.0, 136.9, 900.0] {
        for p in [0.6, 0.95, 0.999] {
            near(student_t_tail(student_t_quantile(p, degrees), degrees), 1.0 - p, 1e-9);
            near(student_t_tail(-student_t_quantile(p, degrees), degrees), p, 1e-9);
        }
    }
    // Cauchy far out: 1 / (pi t).
    near(student_t_tail(1e10, 1.0) * core::f64::consts::PI * 1e10, 1.0, 1e-9);
    near(student_t_tail(1e200, 1.0) * core::f64::consts::PI * 1e200, 1.0, 1e-9);
    near(student_t_tail(f64::INFINITY, 3.0), 0.0, 0.0);
    near(student_t_tail(f64::NEG_INFINITY, 3.0), 1.0, 0.0);
}

/// At 0 a non-central t is below with the probability that the normal is; without shift it is Student's t.
#[test]
fn noncentral_t_meets_what_is_known_of_it() {
    for degrees in [1.0, 4.0, 42.0] {
        near(noncentral_t_cdf(0.0, degrees, 1.3), normal_cdf(-1.3), 1e-12);
        for t in [-3.0, 0.4, 2.0, 15.0] {
            near(noncentral_t_cdf(t, degrees, 0.0), 1.0 - student_t_tail(t, degrees), 1e-11);
        }
        for p in [0.05, 0.5, 0.99] {
            near(noncentral_t_cdf(noncentral_t_quantile(p, degrees, 8.4), degrees, 8.4), p, 1e-11);
        }
    }
}

#[test]
fn what_is_out_of_range_is_not_a_number() {
    for p in [0.0, 1.0, -0.1, f64::NAN] {
        assert!(chi_square_quantile(p, 3.0).is_nan() && beta_quantile(p, 1.0, 1.0).is_nan());
        assert!(noncentral_t_quantile(p, 3.0, 0.0).is_nan());
    }
    for degrees in [0.0, -2.0, f64::NAN, f64::INFINITY] {
        assert!(chi_square_quantile(0.5, degrees).is_nan() && student_t_tail(1.0, degrees).is_nan());
        assert!(
            noncentral_t_quantile(0.5, degrees, 0.0).is_nan() && noncentral_t_cdf(1.0, degrees, 0.0).is_nan()
        );
    }
    assert!(poisson_at_most(3, -1.0).is_nan() && poisson_at_most(3, f64::NAN).is_nan());
    assert!(binomial_at_most(1, 3, 1.5).is_nan() && binomial_at_most(1, 3, f64::NAN).is_nan());
    assert!(beta_quantile(0.5, 0.0, 1.0).is_nan() && beta_quantile(0.5, 1.0, f64::NAN).is_nan());
    assert!(
        noncentral_t_cdf(f64::NAN, 3.0, 0.0).is_nan() && noncentral_t_cdf(1.0, 3.0, f64::INFINITY).is_nan()
    );
}
