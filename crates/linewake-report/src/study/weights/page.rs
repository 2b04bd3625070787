//! The page itself, and what its figures rest on.

use super::{QUESTION, answer};
use crate::input::WeightsReport;
use crate::page::{contents, document, numbered, short};
use crate::study::frame::{STUDY_SHEET, body};
use crate::study::{Part, phrases};
use crate::table::{Cell, Table, TableRow, words};
use linewake_weights::basis::{Basis, Status};
use linewake_weights::planning::Found;
use maud::{Markup, html};

pub(super) fn page(report: &WeightsReport, parts: &[Part]) -> String {
    let found = &report.found;
    let mut sections: Vec<(&str, String, Markup)> =
        parts.iter().map(|part| (part.id.as_ref(), part.title.clone(), body(part))).collect();
    sections.push(("inputs", "From what it was made".to_owned(), inputs(report)));
    sections.push(("cautions", "Cautions".to_owned(), cautions(found)));
    let title = format!("{}: {QUESTION}", report.model.name);
    let answer = answer::answer(found);
    let body = html! {
        main {
            header.study {
                p.kicker { (report.model.name) ", weights: " (found.regime.title) }
                h1 { (QUESTION) }
                @for (place, words) in answer.iter().enumerate() {
                    @if place == 0 { p.headline { (words) } } @else { p { (words) } }
                }
                @for note in answer::notes(report) { p.note { (phrases::sentence(&note)) } }
            }
            (contents(sections.iter().map(|(id, title, _)| (*id, title.as_str()))))
            @for (place, (id, title, body)) in sections.iter().enumerate() { (numbered(place, id, title, body)) }
        }
        footer {
            "Made by linewake " (report.program_version) " from model " code { (short(&report.model.digest)) }
            ", seed " (report.seed) ". An estimate, no claim and no statement of conformity; see "
            a href="#cautions" { "Cautions" } "."
        }
    };
    document(&title, &report.model.name, &report.program_version, STUDY_SHEET, &body)
}

/// Tables, plans and formulas with edition and clause.
pub(super) fn rests_on(found: &Found) -> Part {
    let mut lines = vec![format!("Regime {}: {}.", found.regime.id, found.regime.edition)];
    if !found.regime.note.is_empty() {
        lines.push(found.regime.note.clone());
    }
    lines.push(
        "\"Read\" means that the value stood in a public text that was read; \"from memory\" that it must be checked in print \
         before it is relied on. Tables and plans are data: a file of your own takes their place (--regime)."
            .to_owned(),
    );
    let all = found.bases.iter().chain(found.feedback.iter().map(|feedback| &feedback.basis));
    Part {
        id: "rests-on".into(),
        title: "What the figures rest on".to_owned(),
        words: lines,
        figures: Vec::new(),
        tables: vec![Table {
            name: "rests-on".to_owned(),
            caption: "Values with edition and clause".to_owned(),
            columns: vec![
                words("value", "value"),
                words("status", "read or from memory"),
                words("edition", "edition"),
                words("clause", "clause"),
                words("source", "source"),
            ],
            rows: all.map(|basis| TableRow::of(cells(basis))).collect(),
        }],
    }
}

fn cells(basis: &Basis) -> Vec<Cell> {
    let status = match basis.status {
        Status::Read => "read",
        Status::Memory => "from memory, to be checked in print",
    };
    [basis.value.as_str(), status, &basis.edition, &basis.clause, &basis.source].map(Cell::words).to_vec()
}

fn inputs(report: &WeightsReport) -> Markup {
    html! {
        @if !report.model.about.is_empty() { p { (report.model.about) } }
        dl.facts {
            dt { "Line" } dd { (report.model.name) }
            @if !report.model.file.is_empty() { dt { "Model" } dd { code { (report.model.file) } } }
            dt { "Digest of the model" } dd { code { (report.model.digest) } }
            dt { "Seed" } dd { (report.seed) }
            dt { "Program" } dd { "linewake " (report.program_version) }
        }
        p { "The same command makes the same result again:" }
        pre { (report.command) }
    }
}

fn cautions(found: &Found) -> Markup {
    html! {
        ul {
            li { (phrases::sentence(&found.regime.caution)) }
            li {
                "Packs are taken as normal about a mean, with a shift that neighbouring packs share. Behind the checkweigher they are "
                "a truncated normal. Weights of a real line have longer tails now and then: look at your own records before you "
                "lower a target."
            }
            li {
                "This is an estimate from a model, not a measurement, not a promise and no statement of conformity. It is as good as "
                "the spread, the weigher's error and the prices in the model."
            }
            li {
                "The share of rejects that is promised, and the probability that a lot passes, are levels for planning that you choose; "
                "no text asks for these figures."
            }
            li {
                "Food safety limits, guarding and the rules for weighing instruments are for qualified people and local codes. Nothing "
                "here sets or checks them."
            }
        }
    }
}
