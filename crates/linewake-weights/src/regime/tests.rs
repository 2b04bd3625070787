//! Tests of tables: vectors, every row from both sides, status of values, files that are none.

use super::*;
use crate::basis::{Status, any_from_memory};

fn tolerable(regime: &Regime, table: &str, nominal_g: f64) -> f64 {
    regime.limits(table, nominal_g, LabelUnit::Gram).unwrap().tolerable_g
}

#[track_caller]
fn same(ours: f64, expected: f64) {
    assert!((ours - expected).abs() < 1e-9, "{ours} is not {expected}");
}

/// Vector TNE-1: 76/211/EEC Annex I 2.4 and New Zealand SR 1999/373 Schedule 7A table 2 (read).
#[test]
fn tolerable_negative_errors_are_the_published_ones() {
    let nominal = [
        5.0, 50.0, 75.0, 100.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0, 750.0, 1000.0, 2000.0, 10000.0,
        12000.0, 15000.0, 20000.0,
    ];
    let published =
        [0.45, 4.5, 4.5, 4.5, 6.75, 9.0, 9.0, 9.0, 12.0, 15.0, 15.0, 15.0, 30.0, 150.0, 150.0, 150.0, 200.0];
    for (nominal, published) in nominal.into_iter().zip(published) {
        for regime in [Regime::eu_76_211(), Regime::nz_aqs(), Regime::oiml_r87()] {
            let limits = regime.limits("tne", nominal, LabelUnit::Gram).unwrap();
            same(limits.unrounded_g, published);
        }
    }
}

/// Vector TNE-2: two pieces of public code have 15 g and 370 g for 400 g; the directive says 3 %.
#[test]
fn four_hundred_grams_have_twelve_and_not_fifteen() {
    let limits = Regime::eu_76_211().limits("tne", 400.0, LabelUnit::Gram).unwrap();
    same(limits.tolerable_g, 12.0);
    same(limits.t1_g, 388.0);
    same(limits.t2_g.unwrap(), 376.0);
    assert!((limits.tolerable_g - 15.0).abs() > 1.0 && (limits.t2_g.unwrap() - 370.0).abs() > 1.0);
    same(limits.instrument_g.unwrap(), 2.4);
}

/// Vector TNE-4: a trade article of 4/2017, p. 35 (read).
#[test]
fn second_limits_are_the_published_ones() {
    for (nominal, published) in [(1000.0, 970.0), (200.0, 182.0)] {
        let limits = Regime::eu_76_211().limits("tne", nominal, LabelUnit::Gram).unwrap();
        same(limits.t2_g.unwrap(), published);
    }
}

/// Percentages are rounded up to 0.1 g, whole tenths stay, amounts are left as they are.
#[test]
fn percentages_are_rounded_up() {
    let eu = Regime::eu_76_211();
    for (nominal, rounded) in
        [(5.0, 0.5), (150.0, 6.8), (50.0, 4.5), (40.0, 3.6), (33.0, 3.0), (310.0, 9.3), (333.0, 10.0)]
    {
        same(tolerable(&eu, "tne", nominal), rounded);
    }
    same(eu.limits("tne", 150.0, LabelUnit::Gram).unwrap().t1_g, 143.2);
    // OIML R 87: over 1 000 g to whole grams (from memory).
    same(tolerable(&Regime::oiml_r87(), "tne", 1010.0), 16.0);
    same(tolerable(&Regime::oiml_r87(), "tne", 999.0), 15.0);
    same(tolerable(&Regime::nz_aqs(), "tne", 150.0), 6.75);
}

/// The table of the directive has no step: both sides of every boundary agree, to the slope of the row.
#[test]
fn every_boundary_of_the_directive_from_both_sides() {
    let rows = [
        (50.0, 9.0, 0.0),
        (100.0, 0.0, 4.5),
        (200.0, 4.5, 0.0),
        (300.0, 0.0, 3.0),
        (500.0, 3.0, 0.0),
        (1000.0, 0.0, 1.5),
        (10000.0, 1.5, 0.0),
        (15000.0, 0.0, 1.0),
    ];
    for regime in [Regime::eu_76_211(), Regime::nz_aqs(), Regime::oiml_r87()] {
        let at = |nominal: f64| regime.limits("tne", nominal, LabelUnit::Gram).unwrap().unrounded_g;
        for (top, percent_below, percent_above) in rows {
            let step = 0.01;
            same(at(top) - at(top - step), step * percent_below / 100.0);
            same(at(top + step) - at(top), step * percent_above / 100.0);
        }
        assert_eq!(regime.table("tne").unwrap().rows.len(), rows.len() + 1);
    }
}

#[test]
fn the_scope_of_the_directive_is_told() {
    let eu = Regime::eu_76_211();
    for (nominal, inside) in [(4.9, false), (5.0, true), (10000.0, true), (10000.1, false)] {
        assert_eq!(eu.limits("tne", nominal, LabelUnit::Gram).unwrap().in_scope, inside, "{nominal}");
    }
}

/// Vectors HB133-3 and HB133-4: NIST HB 133 (2026) chapter 2 (read).
#[test]
fn variations_of_the_handbook_are_the_published_ones() {
    let us = Regime::nist_hb133();
    let limits = us.limits("mav", 113.0, LabelUnit::Gram).unwrap();
    same(limits.tolerable_g, 7.2);
    same(limits.instrument_g.unwrap(), 1.2);
    for (pounds, mav_lb, mav_g) in [(0.25, 0.016, 7.2), (2.0, 0.07, 31.7)] {
        let limits = us.limits("mav", pounds, LabelUnit::Pound).unwrap();
        same(limits.tolerable_lb.unwrap(), mav_lb);
        same(limits.tolerable_g, mav_g);
    }
    assert_eq!(us.limits("mav", 113.0, LabelUnit::Gram).unwrap().t2_g, None);
}

/// Vector HB133-5: chapter 2, section on chitterlings (read).
#[test]
fn five_pounds_of_meat_have_an_ounce_and_a_half() {
    let us = Regime::nist_hb133();
    let limits = us.limits("usda", 5.0, LabelUnit::Pound).unwrap();
    same(limits.tolerable_lb.unwrap(), 0.094);
    same(limits.tolerable_g, 42.5);
    let row = us.table("usda").unwrap().rows.iter().find(|row| row.amount_lb == Some(0.094)).unwrap();
    same(row.amount_oz.unwrap(), 1.5);
    assert!(!any_from_memory(&limits.bases), "{:?}", limits.bases);
}

/// Every row of tables 2-5 and 2-9, at its top, and just above it: from memory but for the anchors above, so held
/// against themselves: the grams are the pounds converted and cut to the digits printed.
#[test]
fn every_boundary_of_the_handbook_from_both_sides() {
    let us = Regime::nist_hb133();
    for id in ["mav", "usda", "usda-fluid"] {
        let table = us.table(id).unwrap();
        for (number, pair) in table.rows.windows(2).enumerate() {
            let [row, next] = pair else { unreachable!("pairs") };
            for (unit, top) in [(LabelUnit::Gram, row.up_to_g), (LabelUnit::Pound, row.up_to_lb)] {
                let top = top.unwrap();
                let expected = |row: &DeficiencyRow, nominal: f64| match (row.percent, unit) {
                    (Some(percent), _) => percent * nominal / 100.0,
                    (None, LabelUnit::Gram) => row.amount_g.unwrap(),
                    (None, LabelUnit::Pound) => row.amount_lb.unwrap(),
                };
                let found = |nominal: f64| {
                    let limits = us.limits(id, nominal, unit).unwrap();
                    if unit == LabelUnit::Gram { limits.tolerable_g } else { limits.tolerable_lb.unwrap() }
                };
                let at_top = if row.top_excluded { next } else { row };
                same(found(top), expected(at_top, top));
                same(found(top * (1.0 - 1e-9)), expected(row, top * (1.0 - 1e-9)));
                same(found(top * (1.0 + 1e-9)), expected(next, top * (1.0 + 1e-9)));
            }
            if let (Some(grams), Some(pounds)) = (row.amount_g, row.amount_lb) {
                let converted = pounds * GRAMS_PER_POUND;
                assert!(
                    (converted - grams).abs() <= 1.0,
                    "{id}, row {}: {grams} g, {converted} g",
                    number + 1
                );
            }
        }
    }
    // Worked by hand from the rows: 500 g lies in 490 to 571 g.
    same(tolerable(&us, "mav", 489.0), 19.9);
    same(tolerable(&us, "mav", 489.1), 21.7);
    same(tolerable(&us, "mav", 571.0), 21.7);
    same(tolerable(&us, "mav", 571.1), 23.5);
    same(tolerable(&us, "mav", 20.0), 2.0);
    same(tolerable(&us, "mav", 30000.0), 600.0);
    same(tolerable(&us, "usda", 84.9), 8.49);
    same(tolerable(&us, "usda", 85.0), 14.2);
    same(tolerable(&us, "usda", 198.0), 14.2);
    same(tolerable(&us, "usda", 199.0), 28.3);
    same(tolerable(&us, "usda", 1361.0), 42.5);
    same(tolerable(&us, "usda", 5000.0), 50.0);
    same(tolerable(&us, "usda-fluid", 453.0), 7.1);
    same(tolerable(&us, "usda-fluid", 454.0), 14.2);
}

/// Every row of every plan, at its first and last lot and one lot outside on either side.
#[test]
fn every_row_of_every_plan_from_both_sides() {
    let mut rows = 0;
    for regime in Regime::all() {
        for plan in &regime.plans {
            let test =
                |lot: u64| regime.lot_test(&regime.tables[0].id, &plan.id, 500.0, LabelUnit::Gram, lot);
            let has_row = |lot: u64, row: Option<&LotPlanRow>| {
                let Some(row) = row else {
                    return assert!(test(lot).is_err(), "{} {}, {lot}", regime.id, plan.id);
                };
                let test = test(lot).unwrap();
                let last = row.draws.last().map_or(lot, |draw| draw.sample);
                assert_eq!(test.largest_sample(), last, "{} {}, {lot}", regime.id, plan.id);
                assert_eq!(
                    test.mean().map(|mean| mean.factor.to_bits()),
                    row.mean.map(|mean| mean.factor.to_bits()),
                    "{} {}, {lot}",
                    regime.id,
                    plan.id
                );
                for (draw, expected) in test.draws().iter().zip(&row.draws) {
                    assert_eq!(
                        (draw.sample, draw.accept, draw.reject),
                        (expected.sample, expected.accept, expected.reject)
                    );
                }
            };
            for (place, row) in plan.rows.iter().enumerate() {
                has_row(row.lot_from, Some(row));
                has_row(row.lot_from - 1, place.checked_sub(1).map(|before| &plan.rows[before]));
                if let Some(to) = row.lot_to {
                    has_row(to, Some(row));
                    has_row(to + 1, plan.rows.get(place + 1));
                }
                rows += 1;
            }
        }
    }
    assert!(rows > 30, "{rows}");
}

#[test]
fn a_value_from_memory_says_so() {
    let us = Regime::nist_hb133();
    let bases = us.limits("mav", 500.0, LabelUnit::Gram).unwrap().bases;
    assert!(any_from_memory(&bases));
    let text = bases[0].to_string();
    assert!(
        text.contains("from memory") && text.contains("Table 2-5") && text.contains("over 489 up to 571 g"),
        "{text}"
    );
    let eu = Regime::eu_76_211().limits("tne", 250.0, LabelUnit::Gram).unwrap().bases;
    assert!(eu.iter().all(|basis| basis.status == Status::Read), "{eu:?}");
    assert!(eu[0].to_string().contains("Directive 76/211/EEC"));
    // The rounding of the directive is from memory, and counts only where there is a percentage.
    assert!(any_from_memory(&Regime::eu_76_211().limits("tne", 400.0, LabelUnit::Gram).unwrap().bases));
    assert_eq!(
        Regime::minimum_weight().limits("none", 500.0, LabelUnit::Gram).unwrap().t1_g.to_bits(),
        500.0_f64.to_bits()
    );
}

#[test]
fn files_come_back_as_they_were_written() {
    assert_eq!(Regime::all().len(), texts().len());
    for (regime, text) in Regime::all().into_iter().zip(texts()) {
        assert_eq!(Regime::parse(&serde_json::to_string(&regime).unwrap()).unwrap(), regime);
        let here: serde_json::Value = serde_json::from_str(text).unwrap();
        assert_eq!(here["id"], regime.id.as_str());
        assert_eq!(Regime::built_in(&regime.id), Some(regime));
    }
    assert_eq!(Regime::built_in("none-such"), None);
}

#[test]
fn lookups_that_fail_say_what_there_is() {
    let eu = Regime::eu_76_211();
    let message = |table: &str, nominal: f64, unit| eu.limits(table, nominal, unit).unwrap_err().to_string();
    assert!(message("tnee", 400.0, LabelUnit::Gram).contains("the tables are tne"));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(message("tne", bad, LabelUnit::Gram).contains("above 0"));
    }
    assert!(message("tne", 1.0, LabelUnit::Pound).contains("pounds"));
    assert!(eu.plan("triple").unwrap_err().to_string().contains("double, single, destructive"));
    assert!(Regime::minimum_weight().plan("any").unwrap_err().to_string().contains("no test of lots"));
}

/// One change to a good file, and a word that the message must have.
#[test]
fn broken_files_are_turned_down_with_their_place() {
    let good = texts()[0];
    for (from, to, word) in [
        ("\"up_to_g\": 100, \"amount_g\"", "\"up_to_g\": 40, \"amount_g\"", "above that of the row before"),
        ("\"amount_g\": 4.5", "\"amount_g\": -4.5", "at least 0"),
        ("\"percent\": 9", "\"percent\": 900", "percentage"),
        ("\"percent\": 9", "\"percent\": 9, \"amount_g\": 3", "either percent or amount_g"),
        ("\"read\": [\"multiple\"]", "\"read\": [\"multipel\"]", "multipel"),
        ("\"lot_from\": 501", "\"lot_from\": 502", "one above"),
        ("\"accept\": 3, \"reject\": 7", "\"accept\": 7, \"reject\": 7", "accept < reject"),
        ("\"accept\": 8, \"reject\": 9", "\"accept\": 8, \"reject\": 10", "last draw must decide"),
        ("\"sample\": 160", "\"sample\": 4000", "larger than the smallest lot"),
        ("{\"sample\": 30, \"factor\": 0.503}", "{\"sample\": 31, \"factor\": 0.503}", "mean"),
        ("\"whole_lot\": {\"accept_percent\": 5}", "\"whole_lot\": {}", "either accept or accept_percent"),
        ("\"lot_to\": 99,", "\"lot_to\": 18446744073709551615,", "at most 10000"),
        ("\"lot_to\": 3200,", "\"lot_to\": 18446744073709551615,", "one above"),
        ("\"accept_percent\": 5", "\"accept\": 99", "must be able to fail"),
        (
            "\"lot_from\": 100, \"draws\": [{\"sample\": 20,",
            "\"lot_from\": 20000, \"draws\": [{\"sample\": 20000,",
            "at most 10000",
        ),
        ("regime 1", "regime 2", "this program reads"),
        ("\"edition\": \"Dir", "\"editoin\": \"Dir", "editoin"),
        ("{ \"percent\": 1, \"read\"", "{ \"up_to_g\": 20000, \"percent\": 1, \"read\"", "no top"),
        ("\"id\": \"single\"", "\"id\": \"double\"", "stands twice"),
        ("\"factor\": 0.503", "\"factor\": -0.503", "at least 0"),
    ] {
        assert!(good.contains(from), "{from}");
        let error = Regime::parse(&good.replacen(from, to, 1)).unwrap_err();
        assert!(error.to_string().contains(word), "{to}: {error}");
    }
    let error = Regime::parse("{").unwrap_err();
    assert!(error.to_string().contains("line 1"), "{error}");
}

/// A user's edition of the table takes its place, and results name it.
#[test]
fn a_users_edition_is_named_in_results() {
    let text = texts()[0]
        .replace(
            "Directive 76/211/EEC as consolidated, with the reference test of UK SI 2006/659",
            "Own law of 2030",
        )
        .replace("\"up_to_g\": 500, \"percent\": 3", "\"up_to_g\": 500, \"percent\": 4");
    let own = Regime::parse(&text).unwrap();
    let limits = own.limits("tne", 400.0, LabelUnit::Gram).unwrap();
    same(limits.tolerable_g, 16.0);
    assert!(limits.bases[0].to_string().contains("Own law of 2030"));
}
