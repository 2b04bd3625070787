//! The answer in words: target, giveaway, what a gram less of spread saves, and what must be read beside it.

use super::shown::{fine_grams, grams, priced, small_share};
use crate::input::WeightsReport;
use crate::number;
use crate::study::phrases;
use linewake_weights::basis::CAUTION;
use linewake_weights::planning::{AtTarget, Found, LessSpread};
use linewake_weights::target::Promise;

/// The answer; its first sentence names target, giveaway and what less spread saves.
pub(super) fn answer(found: &Found) -> Vec<String> {
    let smallest = &found.smallest.at;
    let mut first = format!(
        "The target weight is {}: {} a pack {} given away{}",
        grams(smallest.target_g),
        fine_grams(smallest.giveaway_g),
        if (smallest.giveaway_g - 1.0).abs() < 0.005 { "is" } else { "are" },
        found.less_spread.as_ref().map_or_else(String::new, |less| format!(", and {}", saves(found, less))),
    );
    first.push('.');
    let mut second = vec![set_now(found)];
    second.push(format!(
        "{} is the smallest target that keeps what is promised{}; {} of the packs are rejected there.",
        grams(smallest.target_g),
        binding(found),
        small_share(smallest.rejected())
    ));
    second.extend(found.less_spread.as_ref().and_then(|less| why_it_costs(smallest, less)));
    vec![first, second.join(" ")]
}

fn saves(found: &Found, less: &LessSpread) -> String {
    let gram = if (less.less_g - 1.0).abs() < 1e-9 {
        "one gram less of spread".to_owned()
    } else {
        format!("{} less of spread", fine_grams(less.less_g))
    };
    let verb = |value: f64| if value < 0.0 { "cost" } else { "save" };
    match (less.saves_money_per_year, less.saves_kg_per_year) {
        (Some(money), _) if money.abs() < 0.5 => format!("{gram} would save nothing in a year"),
        (Some(money), _) => {
            format!("{gram} would {} {} a year", verb(money), priced(&found.trade.currency, money))
        }
        (None, Some(kg)) => {
            format!("{gram} would {} {} kg of product a year", verb(kg), number::fixed(kg.abs(), 0))
        }
        (None, None) => {
            format!("{gram} would {} {} a pack", verb(less.saves_g), fine_grams(less.saves_g.abs()))
        }
    }
}

/// Why less spread may cost product: said only where it does.
fn why_it_costs(base: &AtTarget, less: &LessSpread) -> Option<String> {
    (less.saves_g < -1e-9 && less.at.rejected() < base.rejected()).then(|| {
        format!(
            "Less spread costs product here because fewer light packs are then rejected ({} instead of {}): rejects lift the mean of \
             the packs that leave, so that a lower target kept it.",
            small_share(less.at.rejected()),
            small_share(base.rejected())
        )
    })
}

fn set_now(found: &Found) -> String {
    let (set, smallest) = (&found.as_set, &found.smallest.at);
    let now = format!(
        "The model is set to {} and gives away {} a pack",
        fine_grams(found.set_g),
        fine_grams(set.giveaway_g)
    );
    let difference_g = set.target_g - smallest.target_g;
    if difference_g.abs() < 0.05 {
        return format!("{now}.");
    }
    let money =
        set.giveaway_money_per_year.zip(smallest.giveaway_money_per_year).map(|(now, then)| now - then);
    let worth = match money {
        Some(money) if money >= 0.0 => {
            format!(
                "; {} down to the smallest target is worth {} of product a year",
                fine_grams(difference_g.abs()),
                priced(&found.trade.currency, money)
            )
        }
        Some(money) => format!(
            ", which is {} too low: the smallest target takes {} more of product a year",
            fine_grams(difference_g.abs()),
            priced(&found.trade.currency, money)
        ),
        None if difference_g > 0.0 => format!(", {} above the smallest target", fine_grams(difference_g)),
        None => format!(", {} below the smallest target", fine_grams(-difference_g)),
    };
    let rejects =
        set.rejects_money_per_year.zip(smallest.rejects_money_per_year).map(|(now, then)| then - now);
    let beside = match rejects {
        Some(money) if money.abs() >= 0.5 => format!(
            ", but the packs that are then rejected {} are worth {} a year if they are lost",
            if money > 0.0 { "in addition" } else { "no more" },
            priced(&found.trade.currency, money)
        ),
        _ => String::new(),
    };
    format!("{now}{worth}{beside}.")
}

fn binding(found: &Found) -> String {
    let words: Vec<String> =
        found.smallest.binding.iter().map(|promise| promise_words(*promise).to_owned()).collect();
    if words.is_empty() {
        String::new()
    } else {
        format!(" (a step below, {} would not hold)", phrases::listed(&words))
    }
}

/// A promise in few words.
pub(super) fn promise_words(promise: Promise) -> &'static str {
    match promise {
        Promise::Mean => "the mean",
        Promise::BelowT1 => "the share below T1",
        Promise::BelowT2 => "the share below T2",
        Promise::LotPasses => "the probability that a lot passes",
        Promise::Rejected => "the share of rejects",
    }
}

/// What must be read beside the answer.
pub(super) fn notes(report: &WeightsReport) -> Vec<String> {
    let found = &report.found;
    let mut notes = vec![format!("Tables and plans: {}, {}", found.regime.title, found.regime.edition)];
    let memory = found.from_memory().len();
    if memory > 0 {
        notes.push(format!(
            "{memory} of the values used {} from memory, to be checked in print; they are listed with all others",
            if memory == 1 { "is" } else { "are" }
        ));
    }
    if !found.limits.in_scope {
        notes.push("the labelled weight lies outside the scope of this table".to_owned());
    }
    if let Some(first) = found.smallest.broken_above_g.first() {
        notes.push(format!(
            "not every higher target will do: at {} a promise is broken again, and an upper reject limit is what does that",
            grams(*first)
        ));
    }
    if (found.set_mean_g - found.set_g).abs() > 0.005 {
        notes.push(format!(
            "the feedback leaves rejects out of its mean, so that the packs settle at {} instead of {}; targets here are \
             mean weights of packs",
            fine_grams(found.set_mean_g),
            fine_grams(found.set_g)
        ));
    }
    if found.feedback.as_ref().is_some_and(|it| it.modelled && it.gain >= it.hunting_gain) {
        notes.push(
            "the feedback of the model hunts: its weights swing and are not normal, so the figures are rough; see the \
             feedback below"
                .to_owned(),
        );
    }
    if !report.assumed.is_empty() {
        notes.push(format!("taken for these figures: {}", report.assumed.join("; ")));
    }
    notes.push(CAUTION.to_owned());
    notes
}
