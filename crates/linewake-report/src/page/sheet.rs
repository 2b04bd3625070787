//! The first sheet: what an offer needs, on one printed page. It stands alone; the sections after it give the reasons.

use super::headline::{mean_sentence, notes, sentence};
use super::sketch::sketch;
use super::{figure_alone, is_logged};
use crate::assumptions;
use crate::input::RunReport;
use crate::losses::{Costly, costliest};
use crate::number;
use crate::tables;
use crate::wording;
use linewake_kpi::summary::StartKind;
use maud::{Markup, html};

/// Causes that the sheet names.
const CAUSES: usize = 3;
/// Notes that have room on it; the others are told in the section of cautions.
const NOTES: usize = 2;
/// Longest text about the model that has room on it, in characters.
const ABOUT: usize = 320;

pub(super) fn sheet(report: &RunReport) -> Markup {
    html! {
        header.top {
            p.kicker {
                @if is_logged(report) {
                    "Production of a whole line, from its log"
                } @else {
                    "Simulated production of a whole line, an estimate"
                }
            }
            h1 { (report.model.name) }
            @if let Some(about) = beginning(&report.model.about) { p.quiet { (about) } }
            p.headline { (sentence(&report.summaries)) }
            (first_notes(report))
        }
        section.offer aria-labelledby="offer-line" {
            h2 id="offer-line" { "The line" }
            p { (line_sentence(report)) }
            (figure_alone(&sketch(report)))
        }
        div.pair {
            section.offer aria-labelledby="offer-makes" {
                h2 id="offer-makes" { "What it makes in a shift" }
                (tables::offer(&report.summaries).bare_html())
                p.quiet { (mean_sentence(&report.summaries)) }
            }
            section.offer aria-labelledby="offer-causes" {
                h2 id="offer-causes" { "What costs most" }
                (causes(report))
            }
        }
        section.offer aria-labelledby="offer-rests" {
            h2 id="offer-rests" { "What it rests on, and what is not in it" }
            (rests_on(report))
        }
        p.imprint {
            "linewake " (report.program_version)
            @if !report.model.digest.is_empty() { ", model " code { (super::short(&report.model.digest)) } }
            @if let Some(seed) = report.seed { ", seed " (seed) }
            ". " (super::standing(report)) "; the reasons, all figures and the "
            a href="#cautions" { "cautions" } " follow."
        }
    }
}

/// The text about the model, or its first sentences.
fn beginning(about: &str) -> Option<String> {
    if about.chars().count() <= ABOUT {
        return Some(about.to_owned()).filter(|about| !about.is_empty());
    }
    let head: String = about.chars().take(ABOUT).collect();
    let end = head.rfind(". ").map(|place| place + 1).or_else(|| head.rfind(' ')).unwrap_or(head.len());
    let kept = head[..end].trim_end();
    Some(if kept.ends_with('.') { kept.to_owned() } else { format!("{kept}\u{2026}") })
}

fn first_notes(report: &RunReport) -> Markup {
    let notes = notes(report);
    html! {
        @for note in notes.iter().take(NOTES) { p.note { (note) } }
        @if notes.len() > NOTES {
            p.note { (number::fixed((notes.len() - NOTES) as f64, 0)) " more under " a href="#cautions" { "Cautions" } "." }
        }
    }
}

/// The line in one sentence.
fn line_sentence(report: &RunReport) -> String {
    let summary = report.main();
    let (Some(first), Some(last)) = (summary.stations.first(), summary.stations.last()) else {
        return "The line has no stations.".to_owned();
    };
    let belts = report.facts.iter().flat_map(|facts| &facts.stations).filter_map(|station| station.capacity);
    let belts: Vec<u32> = belts.collect();
    let room: f64 = belts.iter().map(|places| f64::from(*places)).sum();
    let buffers = match belts.len() {
        0 => String::new(),
        1 => format!(", with room for {} pieces on one belt or table", number::fixed(room, 0)),
        many => format!(", with room for {} pieces on {many} belts and tables", number::fixed(room, 0)),
    };
    format!(
        "{} stations from {} to {}{buffers}; OEE is judged at {}, against a design rate of {} packs/min, and packs \
         count as good after {}.",
        number::fixed(summary.stations.len() as f64, 0),
        first.id,
        last.id,
        summary.constraint,
        number::plain(summary.design_rate_per_min),
        summary.good_after,
    )
}

fn causes(report: &RunReport) -> Markup {
    let summary = report.main();
    let costly = costliest(summary);
    let design = summary.ledger.design_packs.mean;
    let lost = design - summary.ledger.good_packs.mean;
    let first = &costly[..costly.len().min(CAUSES)];
    let together: f64 = first.iter().map(|cause| cause.packs.mean).sum();
    let share =
        |packs: f64| if design > 0.0 { number::percent(packs / design) } else { number::NONE.to_owned() };
    html! {
        @if first.is_empty() {
            p { "Nothing was lost." }
        } @else {
            ol.causes {
                @for cause in first {
                    li {
                        strong { (cause.label) } ": "
                        (number::rounded(&cause.packs).joined()) " packs, " (share(cause.packs.mean)) " of design"
                        @if let Some(times) = times(cause) { " (" (times) ")" }
                    }
                }
            }
            p.quiet {
                "A shift " (wording::start(summary.start)) ". Design is " (number::count(design)) " packs; "
                (number::count(lost)) " are not made"
                @if lost > 0.0 && together <= lost { ", " (number::percent(together / lost)) " of them by these" }
                ". Packs of a stop: what the constraint did not make because of it, recovery included. Without one of "
                "them the line would gain another amount, often less: stops hide each other."
            }
        }
    }
}

/// "4.1 stops, 21.3 min".
fn times(cause: &Costly) -> Option<String> {
    let minutes = format!("{}\u{a0}min", number::minutes(cause.time_s?));
    Some(match cause.stops {
        Some(stops) => format!("{} stops, {minutes}", number::count(stops)),
        None => minutes,
    })
}

fn rests_on(report: &RunReport) -> Markup {
    let summary = report.main();
    let of_group = |title: &str| {
        let group = report.assumptions.iter().find(|group| group.title == title)?;
        let rows = group.rows.iter().map(|row| format!("{}: {}", row.what, row.value));
        Some(rows.collect::<Vec<_>>().join("; "))
    };
    let stops = report.assumptions.iter().flat_map(|group| &group.rows);
    let stops = stops.filter(|row| row.what.starts_with(assumptions::STOP)).count();
    let planned = format!(
        "Planned production time {} of {}; design rate {} packs/min at {}.",
        number::duration(summary.planned_production_time_s),
        number::duration(summary.window_s),
        number::plain(summary.design_rate_per_min),
        summary.constraint
    );
    html! {
        div.pair {
            ul {
                li { (planned) }
                @if let Some(crew) = of_group(assumptions::CREW) { li { "Crew. " (wording::upper_first(&crew)) "." } }
                @if stops > 0 {
                    li {
                        (number::fixed(stops as f64, 0)) " kinds of stop, each as often and as long as "
                        a href="#assumptions" { "stated in the model" } "."
                    }
                }
                li { (wording::minor_stops_in_short(summary)) " " (wording::planned_stops_in_short(summary)) }
                li { (seen(report)) }
            }
            ul {
                @if is_logged(report) {
                    li { "± is the scatter between shifts, not errors of the log." }
                } @else {
                    li {
                        "Not in it: what the model does not list, such as cleaning, change of product, want of orders, "
                        "people, material, power or air."
                    }
                    li { "Not in it: errors of the model's figures. ± is the luck of the simulation alone." }
                }
                @if report.logs.is_some() {
                    li { "Not in it: what the logs do not show, and " a href="#logs" { "rows that had to be left out" } "." }
                }
                li {
                    "Not judged: food safety, inspection limits, guarding, net contents. They are for qualified people and "
                    "local codes."
                }
                li { "What is guaranteed, and how it is accepted, stands in the contract and its test." }
            }
        }
    }
}

/// What was run or read.
fn seen(report: &RunReport) -> String {
    let kinds: Vec<String> = report
        .summaries
        .iter()
        .map(|summary| match summary.start {
            StartKind::NewRolls | StartKind::Logged => wording::mean_of_shifts(summary),
            StartKind::LongRun => format!(
                "{}, each after a warm-up of {} that is dropped",
                wording::mean_of_shifts(summary),
                number::duration(summary.warm_up_s)
            ),
        })
        .collect();
    let dirty: usize = report.logs.iter().flat_map(|logs| &logs.logs).map(|log| log.dirty_rows.len()).sum();
    let dirt = match dirty {
        0 => String::new(),
        1 => " One row of the logs was repaired or left out.".to_owned(),
        many => format!(" {} rows of the logs were repaired or left out.", number::fixed(many as f64, 0)),
    };
    format!("Seen: {}.{dirt}", kinds.join("; "))
}

#[cfg(test)]
mod tests {
    use super::beginning;

    #[test]
    fn a_long_text_ends_with_a_sentence() {
        assert_eq!(beginning(""), None);
        assert_eq!(beginning("Short."), Some("Short.".to_owned()));
        let long = "A sentence of some words. ".repeat(20);
        let kept = beginning(&long).unwrap();
        assert!(kept.ends_with("words.") && kept.chars().count() <= super::ABOUT, "{kept}");
        assert!(beginning(&"word ".repeat(100)).unwrap().ends_with("word\u{2026}"));
        assert!(beginning(&"\u{fc}".repeat(500)).unwrap().ends_with('\u{2026}'));
    }
}
