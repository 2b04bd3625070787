//! Tests of plans and of the probabilities to pass: vectors, exact counts of ways, other routes to the same number.

use super::*;
use crate::basis::any_from_memory;
use crate::regime::{LabelUnit, Regime};
use linewake_stats::estimate::student_t_quantile;
use linewake_stats::sampling_law::binomial_at_most;
use statrs::distribution::{DiscreteCDF, Hypergeometric};

fn test_of(regime: &Regime, table: &str, plan: &str, lot: u64) -> LotTest {
    regime.lot_test(table, plan, 500.0, LabelUnit::Gram, lot).unwrap()
}

/// Vector EU-PLAN-1: 76/211/EEC annex II 2.2.1 (read), both sides of every boundary.
#[test]
fn double_plans_of_the_directive() {
    let eu = Regime::eu_76_211();
    let published = [
        (100, (30, 1, 3), (60, 4, 5)),
        (500, (30, 1, 3), (60, 4, 5)),
        (501, (50, 2, 5), (100, 6, 7)),
        (3200, (50, 2, 5), (100, 6, 7)),
        (3201, (80, 3, 7), (160, 8, 9)),
    ];
    for (lot, first, second) in published {
        let test = test_of(&eu, "tne", "double", lot);
        let draws: Vec<_> = test.draws().iter().map(|draw| (draw.sample, draw.accept, draw.reject)).collect();
        assert_eq!(draws, [first, second], "lot {lot}");
        assert!(!any_from_memory(&test.bases[2..]));
    }
}

/// Vector EU-PLAN-2: UK SI 2006/659 Schedule 2 paragraph 3 (read), both sides of every boundary.
#[test]
fn single_plans_of_the_uk() {
    let eu = Regime::eu_76_211();
    let published = [(100, 50, 3), (500, 50, 3), (501, 80, 5), (3200, 80, 5), (3201, 125, 7)];
    for (lot, sample, accept) in published {
        let draw = test_of(&eu, "tne", "single", lot).draws()[0];
        assert_eq!((draw.sample, draw.accept, draw.reject), (sample, accept, accept + 1), "lot {lot}");
    }
    // Under 100 packs all are looked at, and 5 % may be below T1 (UK, read).
    for (lot, accept) in [(99, 4), (80, 4), (79, 3), (20, 1), (19, 0)] {
        let test = test_of(&eu, "tne", "single", lot);
        assert_eq!((test.draws()[0].sample, test.draws()[0].accept), (lot, accept), "lot {lot}");
    }
    assert_eq!(test_of(&eu, "tne", "destructive", 9000).draws()[0].sample, 20);
    let error = eu.lot_test("tne", "destructive", 500.0, LabelUnit::Gram, 99).unwrap_err().to_string();
    assert!(error.contains("99 packs") && error.contains("start at 100"), "{error}");
}

/// Vector EU-MEAN-1: UK SI 2006/659 Schedule 2 paragraph 4 (read); k = t(0.995, n - 1) / sqrt n (computed).
#[test]
fn factors_of_the_mean() {
    let eu = Regime::eu_76_211();
    let published = [
        ("single", 100, 30, 0.503, 0.50324),
        ("single", 501, 50, 0.379, 0.379),
        ("destructive", 100, 20, 0.64, 0.63972),
    ];
    for (plan, lot, sample, printed, exact) in published {
        let mean = test_of(&eu, "tne", plan, lot).mean().unwrap();
        assert_eq!(mean.sample, sample);
        assert!((mean.factor - printed).abs() < 1e-12);
        let n = sample as f64;
        let computed = student_t_quantile(0.995, n - 1.0) / libm::sqrt(n);
        assert!((computed - exact).abs() < 1e-5, "{computed}");
        assert!((mean.factor - computed).abs() < 1e-3);
    }
}

/// Vector R87-1: values read in an Indian rule, that they are those of R 87:2004 from memory. A lot of exactly 500 belongs
/// to the first row; public code sends it to the second.
#[test]
fn plans_of_r_87() {
    let r87 = Regime::oiml_r87();
    let published = [
        (100, 50, 0.379, 3),
        (500, 50, 0.379, 3),
        (501, 80, 0.295, 5),
        (3200, 80, 0.295, 5),
        (3201, 125, 0.234, 7),
    ];
    for (lot, sample, factor, accept) in published {
        let test = test_of(&r87, "tne", "lots", lot);
        assert_eq!((test.draws()[0].sample, test.draws()[0].accept), (sample, accept), "lot {lot}");
        assert!((test.mean().unwrap().factor - factor).abs() < 1e-12);
        assert_eq!(test.accept_below_t2(), Some(0));
        assert!(any_from_memory(&test.bases));
        let n = sample as f64;
        assert!((student_t_quantile(0.995, n - 1.0) / libm::sqrt(n) - factor).abs() < 5e-4);
    }
}

/// Vectors AQS-1 (read) and AQS-2 (computed): New Zealand SR 1999/373 Schedule 7A table 1.
#[test]
fn plans_of_the_average_quantity_system() {
    let nz = Regime::nz_aqs();
    let lots = [12, 13, 39, 40, 79, 80, 149, 150, 399, 400, 4000, 4001];
    let samples = [12, 12, 12, 12, 12, 12, 12, 32, 32, 32, 32, 80];
    let factors = [0.0, 0.746, 0.746, 0.826, 0.826, 0.86, 0.86, 0.465, 0.465, 0.483, 0.483, 0.295];
    let accepts = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 6];
    for (place, lot) in lots.into_iter().enumerate() {
        let test = test_of(&nz, "tne", "lots", lot);
        assert_eq!(
            (test.draws()[0].sample, test.draws()[0].accept),
            (samples[place], accepts[place]),
            "lot {lot}"
        );
        assert!((test.mean().unwrap().factor - factors[place]).abs() < 1e-12);
    }
    assert_eq!(test_of(&nz, "tne", "lots", 7).draws()[0].sample, 7);
    let computed = [
        (12.0, 39.0, 0.746),
        (12.0, 79.0, 0.8257),
        (12.0, 149.0, 0.8597),
        (32.0, 399.0, 0.4652),
        (32.0, 4000.0, 0.4831),
    ];
    for (n, lot, factor) in computed {
        let ours = student_t_quantile(0.995, n - 1.0) / libm::sqrt(n) * libm::sqrt(1.0 - n / lot);
        assert!((ours - factor).abs() < 5e-5, "{ours}");
    }
}

/// Vector HB133-8: table 2-1 (from memory); the formula agrees within 0.001.
#[test]
fn plans_of_the_handbook() {
    let us = Regime::nist_hb133();
    let lots = [2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 250, 251, 3200, 3201];
    let samples = [2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 12, 24, 24, 48];
    let factors = [
        8.984, 2.484, 1.591, 1.241, 1.05, 0.925, 0.836, 0.769, 0.715, 0.672, 0.635, 0.635, 0.422, 0.422,
        0.291,
    ];
    for (place, lot) in lots.into_iter().enumerate() {
        let test = test_of(&us, "mav", "category-a", lot);
        let mean = test.mean().unwrap();
        assert_eq!((test.draws()[0].sample, mean.sample), (samples[place], samples[place]), "lot {lot}");
        assert_eq!(test.draws()[0].accept, u64::from(lot > 3200));
        assert!((mean.factor - factors[place]).abs() < 1e-12);
        let n = mean.sample as f64;
        assert!((student_t_quantile(0.975, n - 1.0) / libm::sqrt(n) - mean.factor).abs() < 1e-3);
        assert!(any_from_memory(&test.bases));
    }
    assert_eq!(test_of(&us, "mav", "category-a", 1).mean(), None);
    for (lot, sample) in [(9, 9), (10, 10), (250, 10), (251, 30), (100_000, 30)] {
        let test = test_of(&us, "usda", "category-b", lot);
        assert_eq!((test.draws()[0].sample, test.draws()[0].accept), (sample, 0), "lot {lot}");
        assert!(test.mean().unwrap().factor.abs() < 1e-300);
    }
}

/// Single plans against the regularised incomplete beta function: another route to the binomial sum.
#[test]
fn single_plans_have_the_binomial_probability() {
    let eu = Regime::eu_76_211();
    for lot in [100, 501, 3201] {
        let test = test_of(&eu, "tne", "single", lot);
        let draw = test.draws()[0];
        for p in [0.0, 1e-6, 0.001, 0.01, 0.025, 0.05, 0.1, 0.3, 0.9, 1.0] {
            let ours = test.count_passes(SharesBelow { t1: p, t2: 0.0 });
            let exact = binomial_at_most(draw.accept, draw.sample, p);
            assert!((ours - exact).abs() < 1e-12, "{lot}, {p}: {ours} {exact}");
        }
    }
}

/// C(n, k) in whole numbers.
fn choose(n: u64, k: u64) -> u128 {
    if k > n { 0 } else { (1..=u128::from(k)).fold(1, |all, i| all * (u128::from(n - k) + i) / i) }
}

/// Exact, in whole numbers: of all samples of 50 from lots of 100 and 110, those with at most 3 bad packs.
#[test]
fn single_plans_have_the_hypergeometric_probability() {
    let eu = Regime::eu_76_211();
    for lot in [100_u64, 110] {
        let test = test_of(&eu, "tne", "single", lot);
        for bad in [0, 1, 3, 4, 5, 8, 12, 20, 60, lot] {
            let ways: u128 = (0..=3)
                .filter(|k| 50 - k <= lot - bad.min(lot))
                .map(|k| choose(bad, k) * choose(lot - bad, 50 - k))
                .sum();
            let exact = ways as f64 / choose(lot, 50) as f64;
            let ours = test.count_passes_in_lot(bad, 0);
            assert!((ours - exact).abs() < 1e-12, "{lot}, {bad}: {ours} {exact}");
        }
    }
    // Larger lots against a library.
    for (lot, plan_accept) in [(501, 5), (3200, 5), (3201, 7), (10_000, 7)] {
        let test = test_of(&eu, "tne", "single", lot);
        for bad in [0, 10, 100, 300] {
            let library = Hypergeometric::new(lot, bad, test.draws()[0].sample).unwrap().cdf(plan_accept);
            assert!((test.count_passes_in_lot(bad, 0) - library).abs() < 1e-9, "{lot}, {bad}");
        }
    }
    assert!(test_of(&eu, "tne", "single", 100).count_passes_in_lot(101, 0).is_nan());
}

/// The double plan counted out in whole numbers: samples of 30, then 30 more, from a lot of 100.
#[test]
fn double_plans_are_exact_too() {
    let test = test_of(&Regime::eu_76_211(), "tne", "double", 100);
    for bad in [0_u64, 1, 4, 6, 9, 15, 40] {
        let first =
            |k: u64| choose(bad, k) as f64 * choose(100 - bad, 30 - k) as f64 / choose(100, 30) as f64;
        let second = |seen: u64, most: u64| -> f64 {
            (0..=most)
                .map(|k| {
                    choose(bad - seen, k) as f64 * choose(70 - (bad - seen), 30 - k) as f64
                        / choose(70, 30) as f64
                })
                .sum()
        };
        let mut exact = first(0) + if bad > 0 { first(1) } else { 0.0 };
        if bad >= 2 {
            exact += first(2) * second(2, 2);
        }
        let ours = test.count_passes_in_lot(bad, 0);
        assert!((ours - exact).abs() < 1e-12, "{bad}: {ours} {exact}");
    }
    // From a process: the same sum with binomial terms.
    for p in [0.0, 0.01, 0.025, 0.08, 0.2] {
        let term = |n: u64, k: u64| {
            choose(n, k) as f64 * libm::pow(p, k as f64) * libm::pow(1.0 - p, (n - k) as f64)
        };
        let exact = term(30, 0) + term(30, 1) + term(30, 2) * (term(30, 0) + term(30, 1) + term(30, 2));
        let ours = test.count_passes(SharesBelow { t1: p, t2: 0.0 });
        assert!((ours - exact).abs() < 1e-12, "{p}: {ours} {exact}");
    }
}

/// A lot drawn from a process has a binomial number of bad packs, so the hypergeometric probability averaged over it is
/// the binomial one.
#[test]
fn lots_of_a_process_average_to_the_binomial() {
    for plan in ["single", "double"] {
        let test = test_of(&Regime::eu_76_211(), "tne", plan, 100);
        let p = 0.04;
        let average: f64 = (0..=100)
            .map(|bad| {
                let term = libm::exp(ln_choose(100, bad) + ln_power(p, bad) + ln_power(1.0 - p, 100 - bad));
                term * test.count_passes_in_lot(bad, 0)
            })
            .sum();
        let process = test.count_passes(SharesBelow { t1: p, t2: 0.0 });
        assert!((average - process).abs() < 1e-12, "{plan}: {average} {process}");
    }
}

/// With the second limit: no pack below T2 and at most 3 below T1 among 50, term by term.
#[test]
fn the_second_limit_counts_where_the_test_asks() {
    let test = test_of(&Regime::oiml_r87(), "tne", "lots", 100);
    let (t1, t2) = (0.03, 0.002);
    let exact: f64 = (0..=3)
        .map(|k: u64| {
            choose(50, k) as f64 * libm::pow(t1 - t2, k as f64) * libm::pow(1.0 - t1, (50 - k) as f64)
        })
        .sum();
    assert!((test.count_passes(SharesBelow { t1, t2 }) - exact).abs() < 1e-12);
    // Of 100 packs 4 are below T1, one of them below T2: it must stay out of the sample, and of the others 3 may be in.
    let ways: u128 = (0..=3).map(|k| choose(3, k) * choose(96, 50 - k)).sum();
    let exact = ways as f64 / choose(100, 50) as f64;
    assert!((test.count_passes_in_lot(4, 1) - exact).abs() < 1e-12);
    assert!(test.count_passes(SharesBelow { t1: 0.01, t2: 0.02 }).is_nan());
    // A plan that does not ask is not moved.
    let eu = test_of(&Regime::eu_76_211(), "tne", "single", 100);
    assert!(
        (eu.count_passes(SharesBelow { t1, t2 }) - eu.count_passes(SharesBelow { t1, t2: 0.0 })).abs()
            < 1e-15
    );
}

/// A process whose mean is just the nominal quantity fails the mean with probability 0.005 by construction of k.
#[test]
fn the_mean_fails_a_right_process_once_in_two_hundred() {
    for (plan, lot) in [("single", 100), ("single", 501), ("destructive", 100)] {
        let test = test_of(&Regime::eu_76_211(), "tne", plan, lot);
        let passes = test.mean_passes(500.0, 4.0);
        // The printed factor has three digits: 1e-3 of it moves the risk by about 3 %.
        assert!((passes - 0.995).abs() < 2e-4, "{plan} {lot}: {passes}");
    }
    // Category B: a right process fails every second time.
    let b = test_of(&Regime::nist_hb133(), "usda", "category-b", 1000);
    assert!((b.mean_passes(500.0, 4.0) - 0.5).abs() < 1e-12);
    assert!((b.mean_passes(501.0, 4.0) - normal_cdf(libm::sqrt(30.0) / 4.0)).abs() < 1e-12);
    // Without spread it is the sign of the error alone.
    assert!((b.mean_passes(500.0, 0.0) - 1.0).abs() < 1e-15 && b.mean_passes(499.9, 0.0).abs() < 1e-15);
    assert!(b.mean_passes(500.0, -1.0).is_nan() && b.mean_passes(f64::NAN, 1.0).is_nan());
}
