//! The probability that a lot passes, targets and weight feedback, against exact counts, closed forms and theory.

use super::verdict;
use crate::row::{Row, RunSet, Verdict};
use linewake_stats::distribution::normal_quantile;
use linewake_stats::stream::Streams;
use linewake_weights::acceptance::SharesBelow;
use linewake_weights::feedback::{hunting_gain, hunting_gain_formula};
use linewake_weights::lot_test::LotTest;
use linewake_weights::packs::{Gate, Packs};
use linewake_weights::regime::{LabelUnit, Regime};
use linewake_weights::simulation::{Makeup, Share};
use linewake_weights::target::{Case, Levels};

const FAMILY: &str = "N. Net contents: lots, targets and weight feedback";
/// Standard errors at which a simulated share differs: 6e-5 for each of eight values.
const WRONG: f64 = 4.0;

pub(super) fn rows(set: RunSet) -> Vec<Row> {
    let mut rows = exact_counts();
    rows.extend(simulated(if set == RunSet::Full { 400_000 } else { 20_000 }));
    rows.extend(targets());
    rows.extend(feedback());
    rows
}

fn blank(id: &str, model: &str) -> Row {
    Row { family: FAMILY, id: id.to_owned(), model: model.to_owned(), ..Row::default() }
}

fn test_of(regime: &Regime, plan: &str, lot: u64) -> LotTest {
    regime.lot_test(&regime.tables[0].id, plan, 500.0, LabelUnit::Gram, lot).expect("a row of the plan")
}

/// C(n, k), exact.
fn choose(n: u64, k: u64) -> u128 {
    if k > n { 0 } else { (1..=u128::from(k)).fold(1, |all, i| all * (u128::from(n - k) + i) / i) }
}

fn binomial(n: u64, k: u64, p: f64) -> f64 {
    choose(n, k) as f64 * p.powi(k as i32) * (1.0 - p).powi((n - k) as i32)
}

fn hypergeometric(lot: u64, bad: u64, n: u64, k: u64) -> f64 {
    if bad < k || lot - bad < n - k {
        return 0.0;
    }
    choose(bad, k) as f64 * choose(lot - bad, n - k) as f64 / choose(lot, n) as f64
}

fn exact_counts() -> Vec<Row> {
    let eu = Regime::eu_76_211();
    let (single, double) = (test_of(&eu, "single", 100), test_of(&eu, "double", 100));
    let r87 = test_of(&Regime::oiml_r87(), "lots", 100);
    let computed = |row: Row, quantity: String, published: f64, ours: f64| Row {
        quantity,
        source: "counted out in whole numbers, in the test".to_owned(),
        published,
        ours,
        tolerance: "1e-12".to_owned(),
        verdict: verdict(published, ours, 1e-12),
        ..row
    };
    let mut rows = Vec::new();
    for p in [0.01, 0.025, 0.05, 0.1] {
        let quantity = format!("count passes, {} % below T1", 100.0 * p);
        let exact = (0..=3).map(|k| binomial(50, k, p)).sum();
        let row = blank("N01", "lot of a process, single plan, 50 packs, at most 3 (binomial)");
        rows.push(computed(
            row,
            quantity.clone(),
            exact,
            single.count_passes(SharesBelow { t1: p, t2: 0.0 }),
        ));
        let first = |k| binomial(30, k, p);
        let exact = first(0) + first(1) + first(2) * (first(0) + first(1) + first(2));
        let row = blank("N02", "lot of a process, double plan, 30 packs (1/3), then 30 more (4/5)");
        rows.push(computed(row, quantity, exact, double.count_passes(SharesBelow { t1: p, t2: 0.0 })));
    }
    for bad in [3, 6, 10, 20] {
        let quantity = format!("count passes, {bad} packs below T1");
        let exact = (0..=3).map(|k| hypergeometric(100, bad, 50, k)).sum();
        let row = blank("N03", "lot of 100 packs, single plan (hypergeometric)");
        rows.push(computed(row, quantity.clone(), exact, single.count_passes_in_lot(bad, 0)));
        let first = |k| hypergeometric(100, bad, 30, k);
        let then: f64 = (0..=2).map(|k| hypergeometric(70, bad - 2, 30, k)).sum();
        let row = blank("N04", "lot of 100 packs, double plan (hypergeometric)");
        rows.push(computed(
            row,
            quantity,
            first(0) + first(1) + first(2) * then,
            double.count_passes_in_lot(bad, 0),
        ));
    }
    let exact =
        (0..=3).map(|k| choose(5, k) * choose(94, 50 - k)).sum::<u128>() as f64 / choose(100, 50) as f64;
    let row = blank("N05", "OIML R 87, lot of 100 packs, 6 below T1, one of them below T2");
    rows.push(computed(row, "count passes".to_owned(), exact, r87.count_passes_in_lot(6, 1)));
    rows.sort_by(|one, other| one.id.cmp(&other.id));
    for (plan, lot) in [("single", 100), ("single", 501), ("destructive", 100)] {
        let ours = test_of(&eu, plan, lot).mean_passes(500.0, 4.0);
        rows.push(Row {
            quantity: format!("{plan}, lot of {lot}: mean passes"),
            source: "the factor is t(0.995, n - 1) / sqrt n: UK SI 2006/659 Sch 2 para 4 [read]".to_owned(),
            published: 0.995,
            ours,
            tolerance: "2e-4: the printed factor has three digits".to_owned(),
            verdict: verdict(0.995, ours, 2e-4),
            ..blank("N06", "a process whose mean is the nominal quantity")
        });
    }
    rows
}

/// Whole plans, simulated, beside exact probabilities of their parts.
fn simulated(tests: u64) -> Vec<Row> {
    let packs = |mean_g, sd_between_g| Packs { mean_g, sd_within_g: 7.0, sd_between_g };
    let gate = Gate { sd_g: 2.0, bias_g: 0.3, low_g: Some(481.0), high_g: Some(516.0) };
    let eu = Regime::eu_76_211();
    let cases = [
        (
            "N07",
            "EU single plan, lot of 501, packs 501 g, sd 7 g",
            test_of(&eu, "single", 501),
            packs(501.0, 0.0),
            Gate::none(),
            Makeup::Mixed,
        ),
        (
            "N08",
            "EU double plan, lot of 6,000 from one batch, packs 502 g, sd 7 g, batches 4 g",
            test_of(&eu, "double", 6000),
            packs(502.0, 4.0),
            Gate::none(),
            Makeup::Batches(1),
        ),
        (
            "N09",
            "EU single plan, lot of 6,000, packs 499 g, sd 9.2 g, behind a weigher (481 to 516 g, sd 2 g)",
            test_of(&eu, "single", 6000),
            packs(499.0, 6.0),
            gate,
            Makeup::Mixed,
        ),
        (
            "N10",
            "NIST HB 133 category B, lot of 1,000, packs 500 g, sd 7 g",
            test_of(&Regime::nist_hb133(), "category-b", 1000),
            packs(500.0, 0.0),
            Gate::none(),
            Makeup::Mixed,
        ),
    ];
    let mut rows = Vec::new();
    for (place, (id, model, test, packs, gate, makeup)) in cases.iter().enumerate() {
        let exact = test.passes(packs, gate, *makeup).expect("packs").expect("a closed form");
        let streams = Streams::new(70 + place as u64, 0);
        let seen = test.simulate(packs, gate, *makeup, tests, &streams).expect("packs");
        rows.push(share_row(
            blank(id, model),
            ("count passes", "binomial sum of this program"),
            exact.count,
            seen.count_passed,
        ));
        // Behind a weigher the mean has no closed form.
        if gate.low_g.is_none() {
            rows.push(share_row(
                blank(id, model),
                ("mean passes", "non-central t"),
                exact.mean,
                seen.mean_passed,
            ));
        }
    }
    rows
}

fn share_row(row: Row, (quantity, source): (&str, &str), exact: f64, seen: Share) -> Row {
    let error = (exact * (1.0 - exact) / seen.tests as f64).sqrt().max(1.0 / seen.tests as f64);
    let standardised = (seen.value() - exact) / error;
    Row {
        quantity: quantity.to_owned(),
        source: source.to_owned(),
        published: exact,
        ours: seen.value(),
        half_width: Some(0.5 * (seen.interval.high - seen.interval.low)),
        standardised: Some(standardised),
        tolerance: "four standard errors".to_owned(),
        verdict: if standardised.abs() <= WRONG { Verdict::Agrees } else { Verdict::Differs },
        note: format!("{} simulated tests of lots", seen.tests),
        ..row
    }
}

/// The smallest target against the planning formula.
fn targets() -> Vec<Row> {
    let test = test_of(&Regime::eu_76_211(), "double", 6000);
    let levels = Levels {
        mean_at_least_reference: true,
        below_t1: Some(0.02),
        below_t2: Some(1e-4),
        ..Levels::default()
    };
    [6.0, 8.0, 10.0]
        .into_iter()
        .map(|sd_g| {
            let packs = Packs { mean_g: 500.0, sd_within_g: sd_g, sd_between_g: 0.0 };
            let case = Case {
                packs,
                gate: Gate::none(),
                limits: &test.limits,
                allowance_g: 0.0,
                test: Some(&test),
                makeup: Makeup::Mixed,
                tests: 1,
                streams: Streams::new(1, 0),
            };
            let found = case.smallest_target((490.0, 520.0), 0.01, &levels).expect("a target");
            let formula =
                500.0_f64.max(485.0 - normal_quantile(0.02) * sd_g).max(470.0 - normal_quantile(1e-4) * sd_g);
            Row {
                quantity: format!("smallest target in grams, sd {sd_g} g"),
                source: "max(Qn, T1 + z sd, T2 + 3.72 sd), planning formula [memory]".to_owned(),
                published: formula,
                ours: found.target_g,
                tolerance: "0.01 g, upwards".to_owned(),
                verdict: verdict(formula + 0.005, found.target_g, 0.005 + 1e-9),
                ..blank("N11", "500 g, at most 2 % below T1 and 1 in 10,000 below T2, no weigher")
            }
        })
        .collect()
}

/// The onset of hunting against the formula.
fn feedback() -> Vec<Row> {
    [1, 2, 4]
        .into_iter()
        .map(|d| {
            let (formula, ours) = (hunting_gain_formula(d as f64), hunting_gain(50, 50 * d).expect("a loop"));
            Row {
                quantity: format!("gain at which hunting starts, dead time {d} corrections"),
                source: "2 sin(pi / (2 (2 d + 1))), Levin and May (1976) [memory]".to_owned(),
                published: formula,
                ours,
                tolerance: "15 %".to_owned(),
                verdict: verdict(formula, ours, 0.15 * formula),
                ..blank("N12", "weight feedback after each 50 packs, followed pack by pack without noise")
            }
        })
        .collect()
}
