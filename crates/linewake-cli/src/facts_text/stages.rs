//! Rates, capacities, buffers and supply.

use super::{Pieces, duration, filled, heading, margin, rate, seconds};
use crate::aligned::{Aligned, Side};
use linewake_model::facts::Facts;

pub(super) fn ladder(facts: &Facts, pieces: Pieces, text: &mut String) {
    heading("Best rate of each stage: never waiting, never stopped", text);
    let head = format!("{pieces}/min");
    let mut table = Aligned::new(&[
        ("station", Side::Left),
        (&head, Side::Right),
        ("over the constraint", Side::Right),
        ("set by", Side::Left),
    ]);
    for rung in &facts.rate_ladder {
        let over = if rung.station == facts.constraint {
            "constraint".to_owned()
        } else {
            margin(rung.margin_over_constraint)
        };
        table.row([rung.station.clone(), rate(rung.best_packs_per_min), over, rung.set_by.clone()]);
    }
    text.push_str(&table.text());
}

pub(super) fn capacities(facts: &Facts, pieces: Pieces, text: &mut String) {
    if facts.capacities.is_empty() {
        return;
    }
    heading("Gates and belts: what they pass and hold", text);
    let head = format!("{pieces}/min");
    let mut table = Aligned::new(&[
        ("station", Side::Left),
        ("kind", Side::Left),
        (&head, Side::Right),
        ("over the constraint", Side::Right),
        ("passes in s", Side::Right),
        ("holds", Side::Right),
    ]);
    for it in &facts.capacities {
        table.row([
            it.station.clone(),
            it.kind.to_owned(),
            it.packs_per_min.map_or("unlimited".to_owned(), rate),
            it.margin_over_constraint.map_or(String::new(), margin),
            seconds(it.transit_s),
            it.holds_pieces.map_or("unlimited".to_owned(), |pieces| format!("{pieces:.0}")),
        ]);
    }
    text.push_str(&table.text());
}

pub(super) fn buffers(facts: &Facts, text: &mut String) {
    if facts.buffers.is_empty() {
        return;
    }
    heading("Buffers, as time at the constraint's rate", text);
    let mut table = Aligned::new(&[
        ("station", Side::Left),
        ("kind", Side::Left),
        ("holds", Side::Right),
        ("", Side::Left),
        ("worth min", Side::Right),
        ("on their way", Side::Right),
        ("free min", Side::Right),
        ("remark", Side::Left),
    ]);
    let minutes =
        |time_s: Option<f64>| time_s.map_or("unlimited".to_owned(), |it| format!("{:.2}", it / 60.0));
    for it in &facts.buffers {
        let throttles = if it.throttles { "throttles the line; " } else { "" };
        table.row([
            it.station.clone(),
            it.kind.to_owned(),
            it.capacity_pieces.map_or("unlimited".to_owned(), |pieces| format!("{pieces:.0}")),
            it.pieces.to_owned(),
            minutes(it.worth_s),
            format!("{:.1}", it.in_transit_pieces),
            minutes(it.free_s),
            format!("{throttles}{}", it.remark).trim_end_matches("; ").to_owned(),
        ]);
    }
    text.push_str(&table.text());
}

pub(super) fn supply(facts: &Facts, text: &mut String) {
    let Some(supply) = &facts.supply else { return };
    heading("Bulk supply", text);
    text.push_str(&format!(
        "  The line uses {:.0} kg/h when nothing stops; {:.0} kg/h are prepared when batch follows batch.\n",
        supply.needed_kg_per_h, supply.prepared_kg_per_h
    ));
    text.push_str(&format!(
        "  A batch of {} kg lasts {}; one takes {} to prepare on average{}.\n",
        supply.batch_kg,
        duration(supply.batch_lasts_s),
        duration(supply.preparation_mean_s),
        supply.preparation_longest_s.map_or(String::new(), |it| format!(", {} at most", duration(it))),
    ));
    let verdict = if supply.limits_the_line {
        "Supply limits the line"
    } else if supply.can_run_short {
        "Supply can run short"
    } else {
        "Supply never runs short"
    };
    text.push_str(&filled(&format!("{verdict}: {}.", supply.because), 2));
}
