//! The page of weights from small calculations on an invented line.

use super::{answer, parts};
use crate::canvas::tests::assert_texts_are_clear;
use crate::input::{ModelIdentity, WeightsReport};
use linewake_weights::feedback::{Deviations, Drift, FeedbackLoop};
use linewake_weights::packs::Gate;
use linewake_weights::planning::{Asked, Found, StatedLevels, TradeFigures, Tried};
use linewake_weights::regime::{LabelUnit, Regime};

/// Packs of 405 g with feedback of that gain; prices if `priced`.
fn found(regime: &Regime, priced: bool, gain: f64) -> Found {
    let plan = regime.plans.first().map(|plan| plan.id.as_str());
    let (levels, level_bases) =
        StatedLevels { rejected: Some(0.05), ..StatedLevels::default() }.filled(regime, plan.is_some());
    let looped = FeedbackLoop {
        every_packs: 50,
        dead_time_packs: 150,
        gain,
        target_g: 405.0,
        lowest_g: -6.0,
        highest_g: 6.0,
        count_rejects: false,
    };
    let mut asked = Asked {
        regime,
        table: &regime.tables[0].id,
        plan,
        nominal: 400.0,
        unit: LabelUnit::Gram,
        allowance_g: 0.0,
        lot_packs: 6000,
        set_g: 405.0,
        deviations: Deviations {
            mean_g: 405.0,
            sd_pack_g: 4.0,
            sd_batch_g: 1.5,
            batch_packs: 700,
            drift: Some(Drift { sd_g: 1.0, correlation_packs: 2000.0 }),
        },
        gate: Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(393.0), high_g: Some(425.0) },
        feedback: (gain > 0.0).then_some(looped),
        studied: Some(looped),
        levels,
        level_bases,
        trade: TradeFigures {
            currency: if priced { "EUR".to_owned() } else { String::new() },
            product_per_kg: priced.then_some(6.0),
            pack_value: priced.then_some(3.0),
            packs_per_shift: priced.then_some(10_000.0),
            shifts_per_year: priced.then_some(500.0),
        },
        tried: Tried::default(),
        tests: 100,
        follow_packs: 5_000,
        seed: 7,
    };
    asked.tried = asked.usual_trials();
    asked.tried.high_g.push(Some(402.0));
    asked.answer().unwrap_or_else(|error| panic!("{}: {error}", regime.id))
}

fn report(found: Found) -> WeightsReport {
    WeightsReport {
        model: ModelIdentity {
            name: "Line <of> an invented plant".to_owned(),
            about: "All figures are invented.".to_owned(),
            digest: "0123456789abcdef".to_owned(),
            file: "invented.json".to_owned(),
        },
        program_version: "0.0.0".to_owned(),
        seed: 7,
        command: "linewake weights invented.json".to_owned(),
        assumed: vec!["a lot is 6000 packs".to_owned()],
        found,
    }
}

fn reports() -> Vec<WeightsReport> {
    let mut all: Vec<WeightsReport> =
        Regime::all().iter().map(|regime| report(found(regime, regime.id != "oiml-r87", 0.1))).collect();
    all.extend([0.0, 0.9].map(|gain| report(found(&Regime::eu_76_211(), true, gain))));
    all
}

#[test]
fn pages_answer_first_and_their_figures_are_clear() {
    for report in reports() {
        let (page, id) = (crate::weights_html(&report), report.found.regime.id.clone());
        let first = answer::answer(&report.found).remove(0);
        assert!(first.starts_with("The target weight is") && first.contains("given away"), "{id}: {first}");
        assert!(first.contains("less of spread would") && first.ends_with('.'), "{id}: {first}");
        for needed in [
            "Local law governs",
            "seed 7",
            &report.command,
            &report.found.regime.edition,
            "a lot is 6000 packs",
        ] {
            assert!(page.to_lowercase().contains(&needed.to_lowercase()), "{id}: {needed}");
        }
        assert!(
            report.found.from_memory().is_empty() || page.contains("from memory, to be checked in print"),
            "{id}"
        );
        for forbidden in ["<script", "<of>", "NaN", "inf ", "https://"] {
            assert!(!page.contains(forbidden), "{id}: {forbidden}");
        }
        let mut names = Vec::new();
        for part in parts(&report) {
            names.push(part.id.to_string());
            for figure in &part.figures {
                assert_texts_are_clear(&format!("{id} {} wide", figure.name), &figure.wide);
                assert_texts_are_clear(&format!("{id} {} narrow", figure.name), &figure.narrow);
                names.push(figure.name.clone());
            }
            for table in &part.tables {
                let wide = table.rows.iter().all(|row| row.cells.len() == table.columns.len());
                assert!(wide, "{id}: {}", table.name);
            }
        }
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all, "ids on the page are unique: {names:?}");
        let text = crate::weights_text(&report);
        assert!(
            text.contains(&report.command) && text.contains("Local law governs") && !text.contains('\u{a0}')
        );
    }
}

/// Money only where there is a price; a saving below zero is called a cost; a gain that hunts is named.
#[test]
fn the_words_follow_the_figures() {
    let plain = report(found(&Regime::eu_76_211(), false, 0.1));
    let page = crate::weights_html(&plain);
    assert!(!page.contains("EUR") && !page.contains("money"), "no price, no money");
    assert!(answer::answer(&plain.found)[0].contains("would save"));
    let mut dear = report(found(&Regime::eu_76_211(), true, 0.9));
    let less = dear.found.less_spread.as_mut().expect("has spread");
    (less.saves_money_per_year, less.saves_g, less.at.rejected_low) = (Some(-1234.0), -0.01, 0.0);
    less.at.rejected_high = 0.0;
    assert!(answer::answer(&dear.found)[0].contains("would cost EUR\u{a0}1,230 a year"));
    assert!(answer::answer(&dear.found)[1].contains("fewer light packs are then rejected"));
    assert!(answer::notes(&dear).iter().any(|note| note.contains("hunts")));
    let narrow = dear.found.variants.iter().find(|variant| variant.at.is_none()).expect("one cannot be kept");
    assert!(crate::weights_text(&dear).contains(&narrow.what));
    let left_out = answer::notes(&plain).into_iter().find(|note| note.contains("leaves rejects out"));
    assert!(left_out.is_some(), "the feedback of the example leaves rejects out");
}
