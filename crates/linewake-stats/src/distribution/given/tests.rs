//! Every way of giving a distribution: what was given comes back, and what makes no sense is refused in words.

use super::*;

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value / expected - 1.0).abs() <= tolerance, "{value} is not {expected}");
}

fn has_median_and_p90(distribution: &Distribution, median: f64, p90: f64) {
    close(distribution.quantile(0.5), median, 1e-9);
    close(distribution.quantile(0.9), p90, 1e-9);
    close(distribution.cdf(median), 0.5, 1e-8);
    close(distribution.cdf(p90), 0.9, 1e-8);
}

type ByP90 = fn(f64, f64) -> Given;

#[test]
fn median_and_p90_come_back() {
    let families: [ByP90; 5] =
        [uniform_by_p90, triangular_by_p90, lognormal_by_p90, weibull_by_p90, gamma_by_p90];
    for family in families {
        for (median, p90) in [
            (60.0, 180.0),
            (25.0, 70.0),
            (240.0, 600.0),
            (1.0, 1.01),
            (1e-3, 2e-3),
            (45.0, 150.0),
            (10.0, 200.0),
        ] {
            let distribution = family(median, p90).expect("a rising pair");
            has_median_and_p90(&distribution, median, p90);
        }
    }
}

#[test]
fn median_and_p90_of_a_truncated_normal_come_back() {
    for (median, p90, min, max) in [
        (60.0, 100.0, 0.0, f64::INFINITY),
        (60.0, 180.0, 0.0, f64::INFINITY),
        (60.0, 62.0, 0.0, 1000.0),
        (405.0, 411.0, 380.0, 430.0),
        (5.0, 9.0, 0.0, 10.0),
        (8.0, 9.5, 0.0, 10.0),
        (2.0, 5.0, 0.0, 10.0),
        (-3.0, 2.0, f64::NEG_INFINITY, 4.0),
        (0.0, 1.0, f64::NEG_INFINITY, f64::INFINITY),
    ] {
        let distribution = truncated_normal_by_p90(median, p90, min, max).expect("figures that go together");
        assert!((distribution.quantile(0.5) - median).abs() < 1e-8 * (p90 - median), "{distribution:?}");
        assert!((distribution.quantile(0.9) - p90).abs() < 1e-8 * (p90 - median), "{distribution:?}");
    }
    // Without ends it is the normal itself: sd = (p90 - median) / 1.2816.
    let Ok(Distribution::TruncatedNormal { mean, sd, .. }) =
        truncated_normal_by_p90(10.0, 10.0 + Z90, f64::NEG_INFINITY, f64::INFINITY)
    else {
        panic!("a normal has any median and p90");
    };
    close(mean, 10.0, 1e-9);
    close(sd, 1.0, 1e-8);
}

/// The gap of an exponential, ln 10 / ln 2 = 3.32 medians, is the widest without an upper end.
#[test]
fn a_truncated_normal_spreads_less_than_an_exponential() {
    assert!(truncated_normal_by_p90(10.0, 32.0, 0.0, f64::INFINITY).is_ok());
    assert_eq!(
        truncated_normal_by_p90(10.0, 34.0, 0.0, f64::INFINITY),
        Err(GivenError::TooSpread { family: "truncated normal", median: 10.0, p90: 34.0 })
    );
}

#[test]
fn one_quantile_is_enough_for_an_exponential() {
    close(exponential_by_median(30.0).expect("positive").quantile(0.5), 30.0, 1e-14);
    for p in [0.01, 0.5, 0.9, 0.999] {
        close(exponential_by_quantile(p, 30.0).expect("positive").quantile(p), 30.0, 1e-14);
    }
}

#[test]
fn the_mean_comes_back_and_so_does_the_spread() {
    let cv = |distribution: &Distribution| distribution.variance().sqrt() / distribution.mean();
    for mean in [1e-3, 12.0, 5400.0] {
        close(exponential(mean).expect("positive").mean(), mean, 1e-15);
        for shape in [0.05, 0.3, 0.8, 1.0, 1.3, 3.5, 50.0, 1000.0] {
            close(weibull_by_mean(mean, shape).expect("in range").mean(), mean, 1e-13);
            close(gamma_by_mean(mean, shape).expect("in range").mean(), mean, 1e-13);
        }
        for spread in [0.001, 0.1, 1.0, 1.5, 10.0] {
            let lognormal = lognormal_by_cv(mean, spread).expect("positive");
            close(lognormal.mean(), mean, 1e-13);
            close(cv(&lognormal), spread, 1e-10);
            let gamma = gamma_by_cv(mean, spread).expect("in range");
            close(gamma.mean(), mean, 1e-13);
            close(cv(&gamma), spread, 1e-10);
        }
        for family in [uniform_by_half_width, triangular_by_half_width] {
            let distribution = family(mean, 0.25 * mean).expect("positive");
            close(distribution.mean(), mean, 1e-15);
            close(distribution.largest() - distribution.smallest(), 0.5 * mean, 1e-14);
        }
    }
    close(geometric(350.0, 1.0).expect("at least 1").mean(), 350.0, 0.0);
    close(geometric(350.0, 2.5).expect("at least 1").mean(), 875.0, 1e-15);
}

/// Scales of two Weibull distributions of mean 300 and 150, computed by another program to the digits given.
#[test]
fn weibull_by_mean_meets_an_independent_calculation() {
    for (mean, shape, scale) in [(300.0, 1.5, 332.32), (150.0, 0.8, 132.392)] {
        let Ok(Distribution::Weibull { scale: found, .. }) = weibull_by_mean(mean, shape) else {
            panic!("in range");
        };
        close(found, scale, 1e-5);
    }
}

#[test]
fn empirical_values_may_come_in_any_order() {
    assert_eq!(
        empirical(vec![3.0, 1.0, 2.0, 1.0]),
        Ok(Distribution::Empirical { values: vec![1.0, 1.0, 2.0, 3.0] })
    );
    assert_eq!(empirical(vec![]), Err(GivenError::NoValues));
    let by_hand = Distribution::Empirical { values: vec![1.0, 3.0, 2.0] };
    assert_eq!(check(&by_hand), Err(GivenError::NotInOrder { position: 2 }));
}

/// Each constructor with each argument in turn made NaN or infinite, or (where it must be above 0) 0 and negative.
#[test]
fn no_figure_may_be_missing_its_sense() {
    let anything = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY];
    let not_positive = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, -1.0];
    for bad in anything {
        assert!(constant(bad).is_err());
        assert!(uniform(bad, 2.0).is_err() && uniform(1.0, bad).is_err());
        assert!(uniform_by_half_width(bad, 1.0).is_err() && uniform_by_p90(bad, 2.0).is_err());
        assert!(triangular(bad, 2.0, 3.0).is_err());
        assert!(triangular(1.0, bad, 3.0).is_err());
        assert!(triangular(1.0, 2.0, bad).is_err());
        assert!(triangular_by_half_width(bad, 1.0).is_err() && triangular_by_p90(1.0, bad).is_err());
        assert!(truncated_normal(bad, 1.0, 0.0, 2.0).is_err());
        assert!(truncated_normal_by_p90(bad, 2.0, 0.0, 9.0).is_err());
        assert!(truncated_normal_by_p90(1.0, bad, 0.0, 9.0).is_err());
        assert!(empirical(vec![1.0, bad]).is_err());
        assert!(geometric(bad, 1.0).is_err());
    }
    assert!(truncated_normal(1.0, 1.0, f64::NAN, 2.0).is_err());
    assert!(truncated_normal(1.0, 1.0, 0.0, f64::NAN).is_err());
    assert!(truncated_normal(1.0, 1.0, f64::INFINITY, f64::INFINITY).is_err());
    assert!(truncated_normal_by_p90(1.0, 2.0, f64::NAN, 9.0).is_err());
    for bad in not_positive {
        assert!(exponential(bad).is_err() && exponential_by_median(bad).is_err());
        assert!(exponential_by_quantile(0.5, bad).is_err());
        assert!(uniform_by_half_width(1.0, bad).is_err() && triangular_by_half_width(1.0, bad).is_err());
        assert!(truncated_normal(1.0, bad, 0.0, 2.0).is_err());
        assert!(lognormal(bad, 1.0).is_err() && lognormal(1.0, bad).is_err());
        assert!(lognormal_by_cv(bad, 1.0).is_err() && lognormal_by_cv(1.0, bad).is_err());
        assert!(weibull(bad, 1.0).is_err() && weibull(1.0, bad).is_err());
        assert!(weibull_by_mean(bad, 1.0).is_err() && weibull_by_mean(1.0, bad).is_err());
        assert!(gamma(bad, 1.0).is_err() && gamma(1.0, bad).is_err());
        assert!(gamma_by_mean(bad, 1.0).is_err() && gamma_by_mean(1.0, bad).is_err());
        assert!(gamma_by_cv(bad, 1.0).is_err() && gamma_by_cv(1.0, bad).is_err());
        assert!(geometric(2.0, bad).is_err() && geometric(bad, 1.0).is_err());
        for family in [lognormal_by_p90, weibull_by_p90, gamma_by_p90] {
            assert!(family(bad, 2.0).is_err() && family(1.0, bad).is_err());
        }
    }
    for bad in [f64::NAN, 0.0, 1.0, -0.5, 90.0] {
        assert!(exponential_by_quantile(bad, 1.0).is_err());
    }
}

#[test]
fn figures_that_contradict_each_other_are_refused() {
    let falling: [ByP90; 5] =
        [uniform_by_p90, triangular_by_p90, lognormal_by_p90, weibull_by_p90, gamma_by_p90];
    for family in falling {
        assert!(family(5.0, 5.0).is_err() && family(5.0, 4.0).is_err());
    }
    assert!(uniform(3.0, 3.0).is_err() && uniform(4.0, 3.0).is_err());
    assert!(uniform_by_half_width(1e20, 1.0).is_err());
    assert!(triangular(1.0, 4.0, 3.0).is_err() && triangular(1.0, 0.5, 3.0).is_err());
    assert!(triangular(2.0, 2.0, 2.0).is_err());
    assert!(triangular(1.0, 1.0, 3.0).is_ok() && triangular(1.0, 3.0, 3.0).is_ok());
    assert!(truncated_normal(0.0, 1.0, 2.0, 1.0).is_err());
    assert!(truncated_normal(0.0, 1.0, 7.0, 9.0).is_err() && truncated_normal(0.0, 1.0, 5.0, 9.0).is_ok());
    for (median, p90, min, max) in
        [(5.0, 9.0, 5.0, 10.0), (5.0, 9.0, 0.0, 9.0), (5.0, 4.0, 0.0, 9.0), (5.0, 6.0, 9.0, 0.0)]
    {
        assert!(truncated_normal_by_p90(median, p90, min, max).is_err());
    }
    // As wide as a uniform is as wide as it gets between two ends with the median in the middle.
    assert!(truncated_normal_by_p90(5.0, 9.1, 0.0, 10.0).is_err());
    assert!(geometric(0.99, 1.0).is_err() && geometric(1.0, 1.0).is_ok());
    assert!(gamma_by_p90(1.0, 1.000_5).is_err());
    assert!(uniform(-1e300, 1e300).is_err(), "the variance overflows");
    assert!(exponential(1e200).is_err(), "the variance overflows");
}

#[test]
fn messages_say_what_would_be_right() {
    for (given, message, figure) in [
        (exponential(-3.0), "mean is -3; it must be above 0", Some("mean")),
        (weibull(f64::NAN, 1.0), "shape is NaN; it must be a finite number", Some("shape")),
        (weibull(2000.0, 1.0), "shape is 2000; it must lie between 0.05 and 1000", Some("shape")),
        (
            uniform(25.0, 5.0),
            "max is 5 and min is 25; max must be above min (for a value that never varies use a constant)",
            Some("max"),
        ),
        (triangular(1.0, 5.0, 3.0), "mode is 5; it must lie between min 1 and max 3", Some("mode")),
        (
            exponential_by_quantile(90.0, 1.0),
            "p is 90; it must lie between 0 and 1, both left out",
            Some("p"),
        ),
        (
            geometric(0.5, 1.0),
            "mean is 0.5 steps; it must be at least 1, since the count starts at 1",
            Some("mean"),
        ),
        (empirical(vec![]), "values is empty; it must hold at least one observed value", Some("values")),
        (
            truncated_normal(0.0, 1.0, 50.0, 60.0),
            "a normal of mean 0 and sd 1 has as good as nothing between min 50 and max 60; move the mean towards \
             them or raise the sd",
            None,
        ),
    ] {
        let error = given.expect_err(message);
        assert_eq!(error.to_string(), message);
        assert_eq!(error.figure(), figure);
    }
}
