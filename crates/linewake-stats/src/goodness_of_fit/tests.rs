//! Distances by hand and on bad input. Published values, and whether the tables keep their levels, are in the theory tests.

use super::{
    EXPONENTIAL_1986, LEVELS, Tested, from_exponential, from_known, from_lognormal, from_normal, from_weibull,
};
use crate::distribution::Distribution;

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

/// One value in the middle of a uniform distribution: D = 1/2, A^2 = -1 - 2 ln(1/2).
#[test]
fn one_value_by_hand() {
    let distance = from_known(&[0.5], &Distribution::Uniform { min: 0.0, max: 1.0 }).expect("a distance");
    near(distance.kolmogorov_smirnov, 0.5, 1e-15);
    near(distance.anderson_darling, 2.0 * core::f64::consts::LN_2 - 1.0, 1e-15);
    near(distance.kolmogorov_smirnov_modified.expect("a table"), 0.5 * 1.23, 1e-15);
    assert_eq!((distance.anderson_darling_modified, distance.turned_down_at()), (None, None));
}

/// D and A^2 do not depend on the unit, nor on the order of the values.
#[test]
fn unit_and_order_do_not_matter() {
    let times = [3.0, 5.0, 7.0, 18.0, 43.0, 85.0, 91.0, 98.0, 100.0, 130.0, 230.0, 487.0];
    let mut turned = times.map(|time| time * 3600.0);
    turned.reverse();
    for of in [from_exponential, from_weibull, from_lognormal, from_normal] {
        let (one, other) = (of(&times).expect("a distance"), of(&turned).expect("a distance"));
        near(one.kolmogorov_smirnov, other.kolmogorov_smirnov, 1e-10);
        near(one.anderson_darling, other.anderson_darling, 1e-9);
    }
}

/// A sample from far away is turned down at the sharpest level, one that lies on the quantiles at none.
#[test]
fn bad_fits_are_turned_down() {
    let even: Vec<f64> = (1..=50).map(|k| -(1.0 - (f64::from(k) - 0.5) / 50.0).ln()).collect();
    assert_eq!(from_exponential(&even).expect("a distance").turned_down_at(), None);
    assert_eq!(from_weibull(&even).expect("a distance").turned_down_at(), None);
    assert_eq!(from_normal(&even).expect("a distance").turned_down_at(), Some(0.01));
    let constant: Vec<f64> = (1..=50).map(|k| 100.0 + f64::from(k % 2)).collect();
    assert_eq!(from_exponential(&constant).expect("a distance").turned_down_at(), Some(0.01));
}

#[test]
fn tables_rise_as_levels_fall() {
    assert!(LEVELS.is_sorted_by(|one, other| one > other) && EXPONENTIAL_1986.is_sorted());
    for tested in [Tested::Known, Tested::Normal, Tested::Gumbel, Tested::Exponential] {
        assert!(tested.anderson_darling_table().is_none_or(|table| table.is_sorted()));
        assert!(tested.kolmogorov_smirnov_table().is_none_or(|table| table.is_sorted()));
    }
}

#[test]
fn no_distance_without_sense() {
    for values in [&[][..], &[f64::NAN, 1.0], &[f64::INFINITY, 1.0]] {
        assert_eq!((from_normal(values), from_exponential(values)), (None, None));
        assert_eq!((from_weibull(values), from_lognormal(values)), (None, None));
        assert_eq!(from_known(values, &Distribution::Exponential { mean: 1.0 }), None);
    }
    for times in [&[0.0, 1.0][..], &[-1.0, 1.0]] {
        assert_eq!((from_exponential(times), from_weibull(times), from_lognormal(times)), (None, None, None));
    }
    assert_eq!((from_normal(&[2.0, 2.0]), from_weibull(&[2.0, 2.0])), (None, None), "no spread");
    for distribution in [
        Distribution::Constant { value: 1.0 },
        Distribution::Empirical { values: vec![1.0] },
        Distribution::Geometric { mean: 2.0, step: 1.0 },
    ] {
        assert_eq!(from_known(&[1.0, 2.0], &distribution), None);
    }
    // A value that cannot occur is infinitely far.
    let outside = from_known(&[2.0], &Distribution::Uniform { min: 0.0, max: 1.0 }).expect("a distance");
    assert!(outside.anderson_darling.is_infinite());
}
