//! The page of a study: the answer first, then figures and tables, rules used, inputs and cautions.

use super::{Findings, Part, phrases, question};
use crate::input::StudyReport;
use crate::number;
use crate::page::{contents, document, figure_with_title, folded, numbered, short};
use linewake_kpi::study::StudyHead;
use maud::{Markup, html};

/// A longer table is folded away: its figure has shown what matters.
const SHOWN_ROWS: usize = 30;
/// What the pages of studies need beyond the sheet of all pages.
pub(crate) const STUDY_SHEET: &str = include_str!("study.css");

/// The page.
pub(super) fn page(report: &StudyReport, found: &Findings) -> String {
    let head = report.result.head();
    let mut sections: Vec<(&str, String, Markup)> =
        found.parts.iter().map(|part| (&*part.id, part.title.clone(), body(part))).collect();
    if let Some(protocol) = &found.protocol {
        sections.push(("protocol", "Acceptance protocol, to be filled in".to_owned(), protocol.clone()));
    }
    sections.push(("rules", "How it was done".to_owned(), rules(report, head)));
    sections.push(("inputs", "From what it was made".to_owned(), inputs(report, head)));
    sections.push(("cautions", "Cautions".to_owned(), cautions(found)));
    let title = format!("{}: {}", report.model.name, question(head.kind));
    let body = html! {
        main {
            header.study {
                p.kicker { (report.model.name) ", a study: " (head.kind.word()) }
                h1 { (question(head.kind)) }
                p.headline { (found.answer) }
                @for note in &found.beside { p.note { (phrases::sentence(note)) } }
                p.quiet { (phrases::basis(head)) }
            }
            (contents(sections.iter().map(|(id, title, _)| (*id, title.as_str()))))
            @for (place, (id, title, body)) in sections.iter().enumerate() { (numbered(place, id, title, body)) }
        }
        footer {
            "Made by linewake " (report.program_version) " from model " code { (short(&report.model.digest)) }
            ", seed " (report.seed) ". An estimate, no claim and no warranty; see "
            a href="#cautions" { "Cautions" } "."
        }
    };
    document(&title, &report.model.name, &report.program_version, STUDY_SHEET, &body)
}

pub(super) fn body(part: &Part) -> Markup {
    html! {
        @for words in &part.words { p { (words) } }
        @for figure in &part.figures { (figure_with_title(figure)) }
        @for (place, table) in part.tables.iter().enumerate() {
            @if place == 0 && table.rows.len() <= SHOWN_ROWS { (table.html()) } @else { (folded(table, &table.caption, false)) }
        }
    }
}

fn rules(report: &StudyReport, head: &StudyHead) -> Markup {
    html! {
        @if !report.conditions.is_empty() { p { (phrases::sentence(&report.conditions)) } }
        @if !head.methods.is_empty() {
            dl.methods {
                @for method in &head.methods {
                    dt { (phrases::sentence(&method.what)) }
                    dd.quiet { (phrases::sentence(&method.source)) }
                }
            }
        }
        @if !head.notes.is_empty() {
            h3 { "To be read beside the figures" }
            ul { @for note in &head.notes { li { (phrases::sentence(note)) } } }
        }
    }
}

fn inputs(report: &StudyReport, head: &StudyHead) -> Markup {
    html! {
        @if !report.model.about.is_empty() { p { (report.model.about) } }
        dl.facts {
            dt { "Line" } dd { (report.model.name) }
            @if !report.model.file.is_empty() { dt { "Model" } dd { code { (report.model.file) } } }
            dt { "Digest of the model" } dd { code { (report.model.digest) } }
            dt { "Design rate" } dd { (number::plain(head.design_rate_per_min)) " packs/min" }
            dt { "A run" } dd { (phrases::length(head)) ", breaks included; " (phrases::start(head)) }
            dt { "Runs" }
            dd {
                @if let Some(runs) = head.replications { (number::fixed(runs as f64, 0)) " of each design, " }
                (number::fixed(head.runs as f64, 0)) " in all"
            }
            dt { "Seed" } dd { (report.seed) }
            dt { "Intervals" } dd { (phrases::level(head)) }
            @if let Some(currency) = &head.currency { dt { "Currency" } dd { (currency) } }
            dt { "Program" } dd { "linewake " (report.program_version) }
        }
        p { "The same command makes the same result again, whatever the number of threads:" }
        pre { (report.command) }
    }
}

fn cautions(found: &Findings) -> Markup {
    html! {
        ul {
            @for caution in &found.cautions { li { (phrases::sentence(caution)) } }
            li {
                "This is an estimate from a model, not a measurement and not a promise. It is as good as the figures in "
                "the model: stop frequencies and durations above all. The intervals cover the luck of the simulation, "
                "not errors in those figures, unless the page says that inputs were drawn."
            }
            li {
                "Food safety limits, inspection sensitivities and the rules for metal detection and X-ray, guarding and "
                "machine safety, net contents and legal weights are matters for qualified people and local codes. Nothing "
                "here sets or checks them."
            }
            li {
                "Whether a line is accepted is governed by the contract and its test. Figures of an invented plant, where "
                "the model says so, must not be taken for those of a real one."
            }
        }
    }
}
