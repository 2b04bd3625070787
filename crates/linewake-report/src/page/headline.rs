//! What the line makes: the headline, the shifts one by one, the hours.

use super::{Section, figure, folded};
use crate::figure;
use crate::input::RunReport;
use crate::number;
use crate::tables;
use crate::wording;
use linewake_kpi::summary::Summary;
use maud::{Markup, html};

pub(super) fn section(report: &RunReport) -> Section {
    let (new_rolls, long_run) = (&report.new_rolls, &report.long_run);
    let body = html! {
        (figure(&figure::shifts(&[new_rolls, long_run]), &tables::shifts(new_rolls), false))
        (folded(&tables::shifts(long_run), "Table of the numbers, long run", false))
    };
    Section { id: "shifts-seen", title: "The mean, and one shift by itself", body }
}

/// The headline, at the top of the page.
pub(super) fn headline(report: &RunReport) -> Markup {
    let (new_rolls, long_run) = (&report.new_rolls, &report.long_run);
    html! {
        p.headline { (sentence(new_rolls, long_run)) }
        p { (range_sentence(new_rolls, long_run)) }
        (notes(report))
    }
}

/// The headline in one sentence.
pub(crate) fn sentence(new_rolls: &Summary, long_run: &Summary) -> String {
    let clause = |summary: &Summary| {
        format!(
            "{} good packs at an OEE of {}",
            number::rounded(&summary.good_packs).joined(),
            number::percent_with_interval(&summary.oee)
        )
    };
    format!(
        "A shift of {} that starts with new rolls makes {}; a shift of the long run, with part-used rolls, makes {}.",
        number::duration(new_rolls.window_s),
        clause(new_rolls),
        clause(long_run)
    )
}

/// What ± means, and the range of one shift, told apart from it.
pub(crate) fn range_sentence(new_rolls: &Summary, long_run: &Summary) -> String {
    let mean = if new_rolls.good_packs.half_width.is_some() {
        format!(
            "± is the {} interval of the mean over {} of each kind: how sure the mean is.",
            wording::level(new_rolls),
            wording::shifts(new_rolls)
        )
    } else {
        "These figures are of a single shift of each kind, so there is no interval: run more shifts."
            .to_owned()
    };
    let range = |summary: &Summary| summary.good_packs_range.map(|range| number::range(range, "and"));
    match (range(new_rolls), range(long_run)) {
        (Some(new_rolls), Some(long_run)) => format!(
            "{mean} One shift by itself is another matter: eight in ten fall between {new_rolls} good packs with new \
             rolls, and between {long_run} in the long run (10th to 90th percentile)."
        ),
        _ => format!("{mean} The range of one shift is told from ten shifts on."),
    }
}

/// What must be read beside the figures.
fn notes(report: &RunReport) -> Markup {
    let mut notes: Vec<String> = Vec::new();
    for summary in [&report.new_rolls, &report.long_run] {
        let start = wording::starts(summary.start);
        if summary.packs.total_packs.mean < f64::MIN_POSITIVE || summary.availability.mean < f64::MIN_POSITIVE
        {
            notes.push(format!(
                "No packs were made in the shifts {start}: P and Q are not defined there, and OEE is 0."
            ));
        }
        if summary.split().performance.is_some_and(|performance| performance.mean > 1.0) {
            let [_, symbol] = wording::split_symbols(summary.conventions.minor_stops);
            notes.push(format!(
                "Performance {symbol} of the shifts {start} is over 100\u{a0}%: the design rate of {} packs/min is below what the \
                 line did. It is not clipped.",
                number::plain(summary.design_rate_per_min)
            ));
        }
        if summary.quality.is_some_and(|quality| quality.mean > 1.0) {
            notes.push(format!(
                "Quality of the shifts {start} is over 100\u{a0}%, since more packs left the line than were cut: its \
                 content changed by {} packs.",
                number::fixed(summary.ledger.still_in_line_packs.mean, 1)
            ));
        }
        for doubt in &summary.doubts {
            notes.push(format!("Doubt about the shifts {start}: {doubt}."));
        }
    }
    html! { @for note in &notes { p.note { (note) } } }
}

pub(super) fn hours(report: &RunReport) -> Section {
    let body = html! {
        p {
            "The first hour with new rolls fills the line; the long run is looked at after a warm-up of "
            (number::duration(report.long_run.warm_up_s)) "."
        }
        @for summary in [&report.new_rolls, &report.long_run] {
            (figure(&figure::hours(summary), &tables::hours(summary), false))
        }
    };
    Section { id: "hours", title: "Good packs hour by hour", body }
}
