//! The report of a run as one HTML page that needs nothing else: no script, no address, no file beside it.

mod assumptions;
mod headline;
mod logs;
mod losses;
mod machines;
mod over_time;
mod sheet;
mod sketch;
mod stations;

pub(crate) use headline::{range_sentence, sentence};
pub(crate) use sketch::sketch;

use crate::figure::Figure;
use crate::input::RunReport;
use crate::style::SHEET;
use crate::table::Table;
use linewake_kpi::summary::StartKind;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// What the page may do: show itself.
const POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";

/// A section of the page.
struct Section {
    id: &'static str,
    title: &'static str,
    body: Markup,
}

/// The page.
pub(crate) fn page(report: &RunReport) -> String {
    let mut sections = vec![
        headline::section(report),
        losses::design_to_good(report),
        losses::ledger(report),
        losses::stops(report),
    ];
    sections.extend([over_time::one_shift(report), over_time::lengths(report)].into_iter().flatten());
    sections.extend([
        stations::not_running(report),
        headline::hours(report),
        losses::rejects(report),
        stations::contents(report),
        machines::machines(report),
        machines::iso22400(report),
        machines::isa_states(report),
        stations::balance(report),
    ]);
    sections.extend(report.logs.as_ref().map(logs::logs));
    sections.extend([
        assumptions::assumptions(report),
        assumptions::definitions(report),
        assumptions::cautions(report),
    ]);
    let title = format!("{}: what the line makes", report.model.name);
    let body = html! {
        main {
            div.sheet { (sheet::sheet(report)) }
            (contents(sections.iter().map(|section| (section.id, section.title))))
            @for (place, section) in sections.iter().enumerate() {
                (numbered(place, section.id, section.title, &section.body))
            }
        }
        footer {
            "Made by linewake " (report.program_version)
            @if !report.model.digest.is_empty() { " from model " code { (short(&report.model.digest)) } }
            @if let Some(seed) = report.seed { ", seed " (seed) }
            ". " (standing(report)) "; see "
            a href="#cautions" { "Cautions" } "."
        }
    };
    document(&title, &report.model.name, &report.program_version, "", &body)
}

/// A whole page around its body; `further_sheet` is CSS beyond that of all pages.
pub(crate) fn document(
    title: &str,
    line: &str,
    program_version: &str,
    further_sheet: &str,
    body: &Markup,
) -> String {
    document_with_script(title, line, program_version, further_sheet, body, None)
}

/// The same with a script at its end, the only one that may run in it; an ES module.
pub(crate) fn document_with_script(
    title: &str,
    line: &str,
    program_version: &str,
    further_sheet: &str,
    body: &Markup,
    script: Option<&str>,
) -> String {
    let policy = script.map_or_else(
        || POLICY.to_owned(),
        |script| format!("{POLICY}; script-src {}", crate::wake::script::policy_hash(script)),
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="generator" content={ "linewake " (program_version) };
                link rel="icon" href="data:,";
                title { (title) }
                style {
                    (PreEscaped(SHEET)) (PreEscaped(further_sheet))
                    (PreEscaped(page_foot(line, program_version)))
                }
            }
            body {
                (body)
                @if let Some(script) = script { script type="module" { (PreEscaped(script)) } }
            }
        }
    };
    page.into_string()
}

/// The table of contents, of ids and titles.
pub(crate) fn contents<'a>(sections: impl Iterator<Item = (&'a str, &'a str)>) -> Markup {
    html! {
        nav aria-labelledby="what-follows" {
            h2 id="what-follows" { "What follows" }
            ol { @for (id, title) in sections { li { a href={ "#" (id) } { (title) } } } }
        }
    }
}

/// A section under its number, which is its place counted from 1.
pub(crate) fn numbered(place: usize, id: &str, title: &str, body: &Markup) -> Markup {
    html! {
        section id=(id) aria-labelledby={ (id) "-heading" } {
            h2 id={ (id) "-heading" } { span.number { (place + 1) } " " (title) }
            (body)
        }
    }
}

/// The foot of printed pages: which line and which program. Every letter that CSS or HTML could take amiss is written
/// as its number.
fn page_foot(line: &str, program_version: &str) -> String {
    let mut name = String::new();
    for letter in format!("{line}, linewake {program_version}").chars().take(90) {
        if letter.is_alphanumeric() || letter == ' ' {
            name.push(letter);
        } else if !letter.is_control() {
            name.push_str(&format!("\\{:x} ", u32::from(letter)));
        }
    }
    format!("@page {{ @bottom-left {{ content: \"{name}\"; font: 8.5pt sans-serif; color: #555; }} }}\n")
}

/// The shifts are those of a real line, or of one of which no more is known than its log.
fn is_logged(report: &RunReport) -> bool {
    report.main().start == StartKind::Logged
}

/// What the figures are, in a few words.
fn standing(report: &RunReport) -> &'static str {
    if is_logged(report) {
        "An account of the logs, no claim and no warranty"
    } else {
        "An estimate, no claim and no warranty"
    }
}

/// The first characters of a digest, enough to tell models apart.
pub(crate) fn short(digest: &str) -> String {
    digest.chars().take(12).collect()
}

/// A figure with its caption below it; its title is said by the heading above it.
pub(crate) fn figure_alone(figure: &Figure) -> Markup {
    html! {
        figure id=(figure.name) aria-label=(figure.title) {
            div.wide { (PreEscaped(&figure.wide.svg)) }
            div.narrow { (PreEscaped(&figure.narrow.svg)) }
            figcaption { (figure.caption) }
        }
    }
}

/// A figure with its title and caption, and the numbers in a table below it.
fn figure(figure: &Figure, numbers: &Table, open: bool) -> Markup {
    html! {
        (figure_with_title(figure))
        (folded(numbers, "Table of the numbers", open))
    }
}

/// A figure with its title and caption.
pub(crate) fn figure_with_title(figure: &Figure) -> Markup {
    html! {
        figure id=(figure.name) aria-labelledby={ (figure.name) "-title" } {
            p.title id={ (figure.name) "-title" } { (figure.title) }
            div.wide { (PreEscaped(&figure.wide.svg)) }
            div.narrow { (PreEscaped(&figure.narrow.svg)) }
            figcaption { (figure.caption) }
        }
    }
}

/// A table that can be folded away.
pub(crate) fn folded(table: &Table, words: &str, open: bool) -> Markup {
    html! {
        details open[open] {
            summary { (words) }
            (table.html())
        }
    }
}

#[cfg(test)]
mod tests;
