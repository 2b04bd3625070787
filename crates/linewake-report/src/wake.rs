//! The page of a wake: what a stop put in on purpose did to the line, its moving picture, and the numbers.

mod answer;
pub(crate) mod script;
mod tables;

use crate::input::ModelIdentity;
use crate::number::plain_characters;
use crate::page::{contents, document_with_script, figure_with_title, folded, numbered, short};
use crate::study::{STUDY_SHEET, sentence};
use crate::text::filled;
use answer::{answer, beside, clock};
use linewake_kpi::study::wake::WakeResult;
use linewake_replay::Replay;
use maud::{Markup, PreEscaped, html};

/// What the page of a wake is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct WakeReport {
    /// Which model.
    pub model: ModelIdentity,
    /// The command that makes the same page again.
    pub command: String,
    /// What was found.
    pub result: WakeResult,
    /// The run with the stops, to be drawn.
    pub replay: Replay,
}

/// One self-contained page with a script of its own; nothing is fetched. Without script it shows a still picture and the
/// tables.
#[must_use]
pub(crate) fn page(report: &WakeReport) -> String {
    let result = &report.result;
    let sections: Vec<(&str, &str, Markup)> = vec![
        ("picture", "The wake, over time", moving(report)),
        ("stations", "What reached which station, and when", stations(result)),
        ("buffers", "What absorbed it", buffers(result)),
        ("packs", "Packs with and without", packs(result)),
        ("rules", "How it was done", rules(result)),
        ("inputs", "From what it was made", inputs(report)),
    ];
    let title = format!("{}: what a stop does to the line", report.model.name);
    let body = html! {
        main {
            header.study {
                p.kicker { (report.model.name) ", a stop and its wake" }
                h1 { "What does this stop do to the line?" }
                p.headline { (answer(result)) }
                @for note in beside(result) { p.note { (note) } }
                p.quiet { (basis(result)) }
            }
            (contents(sections.iter().map(|(id, title, _)| (*id, *title))))
            @for (place, (id, title, body)) in sections.iter().enumerate() { (numbered(place, id, title, body)) }
        }
        footer {
            "Made by linewake " (result.program_version) " from model " code { (short(&report.model.digest)) }
            ", seed " (result.seed) ". An estimate of a modelled line, no claim and no warranty; food safety, guarding and "
            "legal weights are for qualified people and local codes."
        }
    };
    let data = script::data(&report.replay);
    document_with_script(
        &title,
        &report.model.name,
        &result.program_version,
        &format!("{}{}", STUDY_SHEET, crate::replay_sheet()),
        &html! { (body) (PreEscaped(data)) },
        Some(&script::script()),
    )
}

/// The same for a terminal.
#[must_use]
pub(crate) fn text(report: &WakeReport) -> String {
    let result = &report.result;
    let mut text = filled(&format!("{}: what a stop does to the line", report.model.name));
    text.push('\n');
    text.push_str(&filled(&answer(result)));
    text.push('\n');
    for table in
        [tables::stops(result), tables::stations(result), tables::between(result), tables::packs(result)]
    {
        if table.rows.is_empty() {
            continue;
        }
        text.push_str(&filled(&format!("{}:", table.caption)));
        text.push_str(&table.text(60));
        text.push('\n');
    }
    for note in beside(result) {
        text.push_str(&filled(&note));
    }
    text.push_str(&filled(&basis(result)));
    text.push_str(&plain_characters(&format!("Made again by: {}", report.command)));
    text.push('\n');
    text
}

/// The tables as files: file name and CSV text, times in seconds.
#[must_use]
pub(crate) fn csv(report: &WakeReport) -> Vec<(String, String)> {
    let result = &report.result;
    let tables = [
        tables::stops(result),
        tables::stations(result),
        tables::stretches(result),
        tables::between(result),
        tables::packs(result),
    ];
    tables.into_iter().map(|table| (format!("{}.csv", table.name), table.csv())).collect()
}

/// The still picture as a file: file name and SVG text.
#[must_use]
pub(crate) fn charts(report: &WakeReport) -> Vec<(String, String)> {
    let figure = crate::figure::replayed(&report.replay);
    vec![(format!("{}.svg", figure.name), figure.wide.svg)]
}

fn basis(result: &WakeResult) -> String {
    format!(
        "Shift {} of seed {}, {}; it starts with everything new and runs {} twice, with and without, with the same luck.",
        result.replication.saturating_add(1),
        result.seed,
        if result.random_luck {
            "with the stops of the model besides"
        } else {
            "without the stops of the model: the mechanism alone"
        },
        crate::number::duration(result.run_s)
    )
}

fn moving(report: &WakeReport) -> Markup {
    let replay = &report.replay;
    let (from, to) = (clock(replay.window_start_us as f64 / 1e6), clock(replay.window_end_us as f64 / 1e6));
    html! {
        p {
            "A stop takes the whole height of a band. A station that starves has its mark above the line, where nothing comes "
            "from; one that is blocked has it below, where there is no room; a bare line is running. The wake is shaded: "
            "there the station waits and would not have. Filled areas are what belts, tables and lanes hold, the dashed line "
            "what they hold without the stop."
        }
        div id="replay" { (figure_with_title(&crate::figure::replayed(&report.replay))) }
        p.quiet {
            "Every portion and pack is kept from " (from) " to " (to) ", near the stop; there each stands where the log of "
            "packs says. Outside of it the bands of the shift are put together to the width of a page. The picture replays "
            "two finished runs: nothing is calculated in it."
        }
    }
}

fn stations(result: &WakeResult) -> Markup {
    html! {
        (tables::stops(result).html())
        (tables::stations(result).html())
        p.quiet {
            "Reached: the first instant at which it waited and would not have. Seconds in the wake are those waits alone; over "
            "the whole run every second starved or blocked is counted, in both runs, and the difference is shown."
        }
        (folded(&tables::stretches(result), "Every such wait", false))
    }
}

fn buffers(result: &WakeResult) -> Markup {
    let table = tables::between(result);
    html! {
        @if table.rows.is_empty() {
            p { "No station stood, so there was nothing to absorb." }
        } @else {
            (table.html())
            p.quiet {
                "Absorbed: what one of two neighbouring machines stood in the wake, stopped or waiting, less what the other one "
                "did. Where no belt, table or lane lies between, the difference is slack of the machines themselves."
            }
        }
    }
}

fn packs(result: &WakeResult) -> Markup {
    html! {
        (tables::packs(result).html())
        (tables::recovery(result).html())
    }
}

fn rules(result: &WakeResult) -> Markup {
    html! {
        dl.methods {
            @for method in &result.methods {
                dt { (sentence(&method.what)) }
                dd.quiet { (sentence(&method.source)) }
            }
        }
        @if !result.notes.is_empty() {
            h3 { "To be read beside the figures" }
            ul { @for note in &result.notes { li { (sentence(note)) } } }
        }
    }
}

fn inputs(report: &WakeReport) -> Markup {
    html! {
        p { (report.model.about) }
        p { "Made again by:" }
        pre { code { (report.command) } }
    }
}
