//! Tests of the planning of one line: targets against closed formulas, money, feedback, every regime. Seeds are fixed.

use super::*;
use crate::basis::{Status, any_from_memory};
use crate::feedback::Drift;
use crate::target::Promise;

const LEVELS: Levels = Levels {
    mean_at_least_reference: true,
    below_t1: None,
    below_t2: None,
    lot_passes: None,
    rejected: None,
};

/// A line of 400 g packs at 405 g, 4 g of spread, no batches, no limits.
fn asked(regime: &Regime) -> Asked<'_> {
    Asked {
        regime,
        table: &regime.tables[0].id,
        plan: regime.plans.first().map(|plan| plan.id.as_str()),
        nominal: 400.0,
        unit: LabelUnit::Gram,
        allowance_g: 0.0,
        lot_packs: 6000,
        set_g: 405.0,
        deviations: Deviations {
            mean_g: 405.0,
            sd_pack_g: 4.0,
            sd_batch_g: 0.0,
            batch_packs: 700,
            drift: None,
        },
        gate: Gate::none(),
        feedback: None,
        studied: None,
        levels: LEVELS,
        level_bases: Vec::new(),
        trade: TradeFigures {
            currency: "EUR".to_owned(),
            product_per_kg: Some(6.0),
            pack_value: Some(3.0),
            packs_per_shift: Some(10_000.0),
            shifts_per_year: Some(500.0),
        },
        tried: Tried::default(),
        tests: 300,
        follow_packs: 30_000,
        seed: 1,
    }
}

/// T1 + 1.96 s for 2.5 % below T1 (normal quantile), in whole tenths, and the money by hand: packs x grams x price.
#[test]
fn the_target_is_that_of_the_planning_formula_and_a_gram_of_spread_is_worth_two() {
    let eu = Regime::eu_76_211();
    let question = Asked {
        levels: Levels { below_t1: Some(0.025), ..LEVELS },
        deviations: Deviations { sd_pack_g: 10.0, ..asked(&eu).deviations },
        ..asked(&eu)
    };
    let found = question.answer().unwrap();
    let at = &found.smallest.at;
    // 388 + 1.959964 x 10 = 407.5996
    assert!((at.target_g - 407.6).abs() < 1e-9, "{}", at.target_g);
    assert_eq!(found.smallest.binding, [Promise::BelowT1]);
    assert!((at.giveaway_g - 7.6).abs() < 1e-9 && at.below_t1 <= 0.025 && at.below_t1 > 0.0245);
    assert!((at.giveaway_money_per_year.unwrap() - 7.6 / 1000.0 * 10_000.0 * 500.0 * 6.0).abs() < 1e-6);
    assert!((found.as_set.giveaway_g - 5.0).abs() < 1e-9 && found.as_set.below_t1 > 0.025);
    // 388 + 1.959964 x 9 = 405.6397: 405.7.
    let less = found.less_spread.unwrap();
    assert!((less.less_g - 1.0).abs() < 1e-12 && (less.at.target_g - 405.7).abs() < 1e-9);
    assert!((less.saves_g - 1.9).abs() < 1e-9, "{less:?}");
    assert!((less.saves_money_per_year.unwrap() - 1.9 / 1000.0 * 5_000_000.0 * 6.0).abs() < 1e-6);
    assert!((less.saves_kg_per_year.unwrap() - 9_500.0).abs() < 1e-6);
}

/// Where the mean alone decides, the target is the label, and less spread saves nothing.
#[test]
fn less_spread_saves_nothing_where_the_mean_decides() {
    let eu = Regime::eu_76_211();
    let found = asked(&eu).answer().unwrap();
    assert!((found.smallest.at.target_g - 400.0).abs() < 1e-9);
    assert_eq!(found.smallest.binding, [Promise::Mean]);
    assert!(found.less_spread.unwrap().saves_money_per_year.unwrap().abs() < 1e-6);
    // A spread below a gram is halved.
    let small = Asked { deviations: Deviations { sd_pack_g: 0.6, ..asked(&eu).deviations }, ..asked(&eu) };
    assert!((small.answer().unwrap().less_spread.unwrap().less_g - 0.3).abs() < 1e-12);
    let none = Asked { deviations: Deviations { sd_pack_g: 0.0, ..asked(&eu).deviations }, ..asked(&eu) };
    assert_eq!(none.answer().unwrap().less_spread, None);
}

/// 1 % rejected under 393 g: 393 + 2.326348 x s of the readings; rejects, their number and their value by hand.
#[test]
fn rejects_decide_where_they_are_promised() {
    let eu = Regime::eu_76_211();
    let question = Asked {
        gate: Gate { sd_g: 3.0, bias_g: 0.0, low_g: Some(393.0), high_g: None },
        levels: Levels { rejected: Some(0.01), ..LEVELS },
        tried: Tried { low_g: vec![Some(391.0), None], sd_pack_g: vec![3.0], ..Tried::default() },
        ..asked(&eu)
    };
    let found = question.answer().unwrap();
    let at = &found.smallest.at;
    // 393 + 2.326348 x 5 = 404.6317
    assert!((at.target_g - 404.7).abs() < 1e-9, "{}", at.target_g);
    assert!(at.rejected() <= 0.01 && at.rejected() > 0.0096);
    let rejects = 10_000.0 * at.rejected() / (1.0 - at.rejected());
    assert!((at.rejects_per_shift.unwrap() - rejects).abs() < 1e-9);
    assert!((at.rejects_money_per_year.unwrap() - rejects * 3.0 * 500.0).abs() < 1e-6);
    // Two grams lower: as much lower a target. Without: the mean decides. With a spread of 3 g: 393 + 2.326348 x 4.2426.
    let targets: Vec<f64> = found.variants.iter().map(|one| one.at.unwrap().target_g).collect();
    for (target, expected) in targets.iter().zip([402.9, 402.7, 400.0]) {
        assert!((target - expected).abs() < 1e-9, "{targets:?}");
    }
    assert!(found.variants[1].saves_money_per_year.unwrap() > 50_000.0);
    // At the limit half of the packs get either verdict; three standard deviations are the ends of the wide zone.
    let weigher = found.weigher.unwrap();
    let wide = weigher.zones.iter().find(|zone| zone.wrong < 0.01).unwrap();
    assert!((wide.from_g - 384.0).abs() < 0.01 && (wide.to_g - 402.0).abs() < 0.01, "{wide:?}");
    assert!(weigher.wrong.falsely_rejected_low > 0.0 && weigher.wrong.falsely_passed_low > 0.0);
}

/// A promise that no target keeps is told for a change, and ends the question for the line itself.
#[test]
fn what_cannot_be_kept_is_told() {
    let eu = Regime::eu_76_211();
    let tight = Gate { sd_g: 1.0, bias_g: 0.0, low_g: Some(398.0), high_g: Some(402.0) };
    let question = Asked {
        gate: Gate { high_g: None, ..tight },
        levels: Levels { rejected: Some(0.01), ..LEVELS },
        tried: Tried { high_g: vec![Some(402.0)], ..Tried::default() },
        ..asked(&eu)
    };
    let found = question.answer().unwrap();
    assert!(found.variants[0].at.is_none());
    assert!(found.variants[0].why_none.as_ref().unwrap().contains("no target"), "{:?}", found.variants[0]);
    let error = Asked { gate: tight, ..question }.answer().unwrap_err();
    // Half way between the limits: outside 2 g with a spread of 4.12 g, 2 (1 - Phi(0.485)) = 62.8 %.
    let PlanningError::Target(TargetError::Unreachable { nearest, value, level, .. }) = &error else {
        panic!("{error}");
    };
    assert!((nearest - 400.0).abs() < 1.0 && (value - 0.628).abs() < 0.01, "{error}");
    assert!((level - 0.01).abs() < 1e-12 && error.to_string().contains("instead of 1.00 %"), "{error}");
    let none = Asked { tests: 0, ..asked(&eu) };
    assert!(none.answer().unwrap_err().to_string().contains("between 1 and"));
    assert!(Asked { plan: Some("triple"), ..asked(&eu) }.answer().is_err());
    assert!(Asked { plan: None, allowance_g: 500.0, ..asked(&eu) }.answer().is_err());
}

/// A lot of independent packs: the simulation lies within the bounds of the closed form, four standard errors allowed
/// (6e-5 for each target).
#[test]
fn simulated_lots_agree_with_the_closed_form() {
    let eu = Regime::eu_76_211();
    let question = Asked {
        plan: Some("double"),
        deviations: Deviations { sd_pack_g: 8.0, ..asked(&eu).deviations },
        tests: 2_000,
        ..asked(&eu)
    };
    let mut between = 0;
    for at in question.answer().unwrap().curve {
        let lot = at.lot.unwrap();
        let closed = lot.closed_form.unwrap();
        assert!(!closed.of_a_mixed_lot);
        for (simulated, exact) in [(lot.count, closed.count), (lot.mean, closed.mean)] {
            let error = (exact * (1.0 - exact) / 2_000.0).sqrt();
            assert!((simulated - exact).abs() <= 4.0 * error + 1e-3, "{}: {simulated} {exact}", at.target_g);
        }
        assert!(lot.probability >= closed.at_least - 0.05 && lot.probability <= closed.at_most + 0.05);
        between += u32::from(closed.at_most > 0.05 && closed.at_most < 0.95);
    }
    assert!(between >= 3, "the curve shows the fall");
}

/// A lot of 8 batches has the spread of its mean that 8 batches have; a drift counts with twice its length; what lasts less
/// than a few packs is mixed.
#[test]
fn blocks_of_a_lot() {
    let eu = Regime::eu_76_211();
    let with = |sd_batch_g: f64, drift: Option<Drift>| {
        let deviations = Deviations { sd_batch_g, drift, ..asked(&eu).deviations };
        Asked { deviations, ..asked(&eu) }.answer().unwrap().spread
    };
    assert_eq!(with(0.0, None).blocks_in_lot, None);
    assert_eq!(with(1.5, None).blocks_in_lot, Some(9));
    let drift = Drift { sd_g: 1.5, correlation_packs: 1_000.0 };
    assert_eq!(with(0.0, Some(drift)).blocks_in_lot, Some(3));
    // Equal parts of 700 and 2 000 packs: 1 350.
    assert_eq!(with(1.5, Some(drift)).blocks_in_lot, Some(4));
    assert!((with(1.5, Some(drift)).sd_g - (16.0_f64 + 2.25 + 2.25).sqrt()).abs() < 1e-12);
}

fn looped(gain: f64) -> FeedbackLoop {
    FeedbackLoop {
        every_packs: 50,
        dead_time_packs: 150,
        gain,
        target_g: 405.0,
        lowest_g: -20.0,
        highest_g: 20.0,
        count_rejects: true,
    }
}

/// A slow drift is taken off by a modest gain, and the target with it; a gain above the limit is worse than none. The study
/// says from where on, within 15 % of the formula.
#[test]
fn feedback_lowers_the_target_until_it_hunts() {
    let eu = Regime::eu_76_211();
    let question = Asked {
        deviations: Deviations {
            drift: Some(Drift { sd_g: 5.0, correlation_packs: 6_000.0 }),
            ..asked(&eu).deviations
        },
        gate: Gate { sd_g: 0.5, bias_g: 0.0, low_g: Some(393.0), high_g: None },
        levels: Levels { rejected: Some(0.01), ..LEVELS },
        studied: Some(looped(0.0)),
        tried: Tried { gains: vec![0.15, 0.9], ..Tried::default() },
        follow_packs: 60_000,
        ..asked(&eu)
    };
    let found = question.answer().unwrap();
    let base = found.smallest.at.target_g;
    let targets: Vec<f64> = found.variants.iter().map(|one| one.at.unwrap().target_g).collect();
    assert!(targets[0] < base - 2.0 && targets[1] > base, "{base} {targets:?}");
    assert!(!found.from_memory().is_empty());
    let study = found.feedback.unwrap();
    assert!(!study.modelled && study.gain.abs() < 1e-12);
    for row in &study.agreement {
        assert!(row.difference.abs() < 0.15, "{row:?}");
    }
    assert_eq!(study.agreement.iter().map(|row| row.dead_time_corrections).collect::<Vec<_>>(), [1, 2, 4]);
    // Three corrections: 2 sin(pi / 14) = 0.445 (from memory).
    assert!((study.hunting_gain / 0.445_042 - 1.0).abs() < 0.01 && study.basis.status == Status::Memory);
    assert!(study.gains.iter().all(|row| row.settles == (row.gain < study.hunting_gain)));
    assert!(study.best_gain > 0.0 && study.best_gain < study.hunting_gain);
    // The step dies out below the limit and grows above it.
    let ends: Vec<f64> = study
        .swings
        .iter()
        .map(|swing| swing.deviations_g.iter().rev().take(14).fold(0.0_f64, |most, one| most.max(one.abs())))
        .collect();
    assert!(ends[0] < 0.2 && ends[1] < 1.0 && ends[2] > 1.0, "{ends:?}");
}

/// With rejects left out of the mean the line settles below its target, by what the truncated normal says, and more so the
/// nearer the limit.
#[test]
fn leaving_rejects_out_moves_the_line() {
    let eu = Regime::eu_76_211();
    let question = Asked {
        gate: Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(400.0), high_g: None },
        feedback: Some(FeedbackLoop { count_rejects: false, ..looped(0.1) }),
        studied: Some(FeedbackLoop { count_rejects: false, ..looped(0.1) }),
        ..asked(&eu)
    };
    let found = question.answer().unwrap();
    assert!(found.set_mean_g < 404.5 && (found.as_set.target_g - found.set_mean_g).abs() < 1e-12);
    let study = found.feedback.unwrap();
    assert!(study.modelled);
    let biases: Vec<f64> = study.rejects_left_out.iter().map(|row| row.bias_g).collect();
    assert!(biases.windows(2).all(|pair| pair[1] < pair[0]) && biases[0] < 0.0, "{biases:?}");
    assert!(study.rejects_left_out.iter().filter(|row| row.modelled).count() == 1);
    assert!(study.rejects_left_out.iter().all(|row| row.rejected > row.rejected_when_counted));
    let counted = Asked {
        feedback: Some(looped(0.1)),
        studied: Some(looped(0.1)),
        gate: Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(400.0), high_g: None },
        ..asked(&eu)
    };
    assert!((counted.answer().unwrap().set_mean_g - 405.0).abs() < 1e-9);
}

/// Every table with every plan of every regime answers, names its edition, and says what is from memory; the promises hold.
#[test]
fn every_regime_table_and_plan_answers() {
    let mut answers = 0;
    for regime in Regime::all() {
        for table in &regime.tables {
            let plans: Vec<Option<&str>> = if regime.plans.is_empty() {
                vec![None]
            } else {
                regime.plans.iter().map(|plan| Some(plan.id.as_str())).collect()
            };
            for plan in plans {
                let (levels, level_bases) = StatedLevels::default().filled(&regime, plan.is_some());
                let question = Asked {
                    table: &table.id,
                    plan,
                    levels,
                    level_bases,
                    deviations: Deviations { sd_batch_g: 1.5, ..asked(&regime).deviations },
                    gate: Gate { sd_g: 0.8, bias_g: 0.0, low_g: Some(390.0), high_g: Some(440.0) },
                    ..asked(&regime)
                };
                let found =
                    question.answer().unwrap_or_else(|error| panic!("{} {plan:?}: {error}", regime.id));
                assert_eq!(found.regime.edition, regime.edition);
                assert!(found.bases.iter().all(|basis| basis.edition == regime.edition));
                assert_eq!(found.from_memory().is_empty(), !any_from_memory(&found.bases));
                assert!(found.smallest.kept.iter().all(|one| one.holds) && !found.smallest.kept.is_empty());
                assert_eq!(found.smallest.at.lot.is_some(), plan.is_some());
                answers += 1;
            }
        }
    }
    assert!(answers >= 12, "{answers}");
}

#[test]
fn levels_come_from_the_regime_unless_they_are_stated() {
    let eu = Regime::eu_76_211();
    let (levels, bases) = StatedLevels::default().filled(&eu, true);
    assert_eq!((levels.below_t1, levels.below_t2), (Some(0.025), Some(0.0001)));
    assert_eq!((levels.lot_passes, levels.rejected), (Some(LOT_PASSES), Some(REJECTED)));
    assert!(bases.len() == 2 && any_from_memory(&bases));
    let stated = StatedLevels { below_t1: Some(0.01), below_t2: Some(0.0), ..StatedLevels::default() };
    let (levels, bases) = stated.filled(&eu, false);
    assert_eq!((levels.below_t1, levels.lot_passes), (Some(0.01), None));
    assert!(bases.is_empty());
    let (levels, _) = StatedLevels::default().filled(&Regime::nist_hb133(), true);
    assert_eq!(levels.below_t1, None);
}

#[test]
fn usual_trials_follow_the_line() {
    let eu = Regime::eu_76_211();
    let plain = asked(&eu).usual_trials();
    assert_eq!(plain, Tried { sd_pack_g: vec![3.0, 5.0], ..Tried::default() });
    let gated = Asked {
        gate: Gate { sd_g: 1.0, bias_g: 0.0, low_g: Some(393.0), high_g: Some(425.0) },
        feedback: Some(looped(0.2)),
        studied: Some(looped(0.2)),
        ..asked(&eu)
    };
    let tried = gated.usual_trials();
    assert_eq!(tried.low_g, [Some(391.0), Some(395.0), None]);
    assert_eq!(tried.high_g, [None]);
    // A quarter and half of 0.445.
    let expected = [0.0, 0.11, 0.22];
    assert!(tried.gains.iter().zip(expected).all(|(gain, it)| (gain - it).abs() < 1e-9), "{tried:?}");
    let possible = possible_feedback(&asked(&eu).deviations, 300, None);
    assert_eq!((possible.every_packs, possible.dead_time_packs), (50, 300));
    assert!((possible.highest_g - 6.0).abs() < 1e-12);
}
