//! The page of a fit: what was fitted to the logs of a line, how well it fits, and what speaks against it.

mod panel;
mod sample;
mod weights;
mod words;

use crate::figure::Figure;
use crate::input::FitReport;
use crate::number::{self, plain_characters};
use crate::page::{contents, document, figure_alone, folded, numbered};
use crate::table::{Cell, Column, Table, TableRow, csv_only, figures, words as column};
use crate::text::filled;
use crate::wording::{self, upper_first};
use linewake_kpi::study::fitting::{Bounded, FitResult, FitWarningKind, ReasonFit, TimesFit};
use maud::{Markup, html};
use sample::Sample;
use words::Shown;

/// Rows of a table that a terminal gets; the files have them all.
const TEXT_ROWS: usize = 24;
const SHEET: &str = include_str!("study/study.css");
const FIT_SHEET: &str =
    "section h4 { margin: 1.6rem 0 .3rem; font-size: 1rem; } ul.doubts { padding-left: 1.1rem; }";

/// The samples of a fit, in the order of the page.
fn samples(result: &FitResult) -> Vec<Sample<'_>> {
    let mut all = Vec::new();
    for (place, fit) in result.stops.iter().enumerate() {
        all.extend(of_reason(place, fit));
    }
    all.extend(result.response.as_ref().map(response));
    all
}

fn of_reason(place: usize, fit: &ReasonFit) -> Vec<Sample<'_>> {
    let of = |kind: &str, times| Sample {
        id: format!("stop-{}-{kind}", place + 1),
        title: upper_first(&fit_title(fit, times)),
        station: &fit.station,
        reason: &fit.reason,
        fit: times,
    };
    let mut found: Vec<Sample<'_>> = fit.between.iter().map(|times| of("between", times)).collect();
    found.push(of("duration", &fit.duration));
    found
}

fn fit_title(fit: &ReasonFit, times: &TimesFit) -> String {
    format!("{}, {}: {}", fit.station, wording::reason(&fit.reason), times.what)
}

fn response(times: &TimesFit) -> Sample<'_> {
    Sample {
        id: "response".to_owned(),
        title: "Response of the operators".to_owned(),
        station: "",
        reason: "",
        fit: times,
    }
}

/// The page.
pub(crate) fn page(report: &FitReport) -> String {
    let result = &report.result;
    let mut sections: Vec<(String, String, Markup)> =
        vec![("stops".to_owned(), "What is proposed".to_owned(), overview(report))];
    let doubts = doubts(result);
    if !doubts.is_empty() {
        let body = html! {
            p { "A model draws every stop anew from one law. Where the log says otherwise, the law is at best an average." }
            ul.doubts { @for doubt in &doubts { li { (sentence(doubt)) } } }
        };
        sections.push(("doubts".to_owned(), "What speaks against it".to_owned(), body));
    }
    let mut from = 0;
    while from < result.stops.len() {
        let station = &result.stops[from].station;
        let many = result.stops[from..].iter().take_while(|fit| fit.station == *station).count();
        let body = html! {
            @for place in from..from + many { (reason(place, &result.stops[place], result)) }
        };
        sections.push((format!("station-{}", from + 1), upper_first(station), body));
        from += many;
    }
    if let Some(times) = &result.response {
        let sample = response(times);
        let body = html! {
            p {
                "From calls made while nobody was called elsewhere, so that no queue is in them. " (proposal(times))
            }
            (sample_body(&sample))
        };
        sections.push(("crew".to_owned(), "Response of the operators".to_owned(), body));
    }
    if let Some(weights) = &result.weights {
        sections.push(("weights".to_owned(), "Portion weights".to_owned(), weights::body(weights)));
    }
    sections.push(("rules".to_owned(), "How it was done".to_owned(), rules(result)));
    sections.push(("inputs".to_owned(), "From what it was made".to_owned(), inputs(report)));
    sections.push(("cautions".to_owned(), "Cautions".to_owned(), cautions(result)));
    let heading = "What do the logs say of the stops?";
    let body = html! {
        main {
            header.study {
                p.kicker { (result.line) ", fitted to its logs" }
                h1 { (heading) }
                p.headline { (answer(result)) }
                p.quiet { (basis(result)) }
            }
            (contents(sections.iter().map(|(id, title, _)| (id.as_str(), title.as_str()))))
            @for (place, (id, title, body)) in sections.iter().enumerate() { (numbered(place, id, title, body)) }
        }
        footer {
            "Made by linewake " (report.program_version) " from " (count(report.files.len(), "file"))
            ". An estimate, no claim and no warranty; see " a href="#cautions" { "Cautions" } "."
        }
    };
    let sheet = format!("{SHEET}{FIT_SHEET}");
    document(&format!("{}: {heading}", result.line), &result.line, &report.program_version, &sheet, &body)
}

fn sentence(words: &str) -> String {
    let words = upper_first(words.trim());
    if words.ends_with(['.', '!', '?']) { words } else { format!("{words}.") }
}

fn count(many: usize, what: &str) -> String {
    let shown = number::fixed(many as f64, 0);
    if many == 1 { format!("{shown} {what}") } else { format!("{shown} {what}s") }
}

fn answer(result: &FitResult) -> String {
    let stops: u64 = result.stops.iter().map(|fit| fit.stops).sum();
    let few = result.stops.iter().filter(|fit| words::doubts(fit).contains(&"few data")).count();
    let wrong = result
        .stops
        .iter()
        .filter(|fit| {
            words::doubts(fit)
                .iter()
                .any(|doubt| !matches!(*doubt, "few data" | "shortest unseen" | "no law fits"))
        })
        .count();
    let mut answer = format!(
        "{} for {} in {} of watching: a law is proposed for each.",
        count(usize::try_from(stops).unwrap_or(usize::MAX), "stop"),
        count(result.stops.len(), "reason"),
        number::duration(result.watched_s)
    );
    let verb = |many: usize, one: &str, more: &str| format!(" {many} {}", if many == 1 { one } else { more });
    if few > 0 {
        answer.push_str(&verb(few, "has few data.", "have few data."));
    }
    if wrong > 0 {
        answer.push_str(&verb(
            wrong,
            "does not behave as a renewal model wants it.",
            "do not behave as a renewal model wants them.",
        ));
    }
    answer
}

fn basis(result: &FitResult) -> String {
    format!(
        "{}; figures in brackets are {}\u{a0}% intervals. Times that were open at the end of a shift count as cut off.",
        count(usize::try_from(result.shifts).unwrap_or(usize::MAX), "shift"),
        number::plain(result.level * 100.0)
    )
}

fn overview(report: &FitReport) -> Markup {
    html! {
        (stops_table(&report.result).html())
        p.note {
            "The file stops.json has these stops as a model file has them, each number with a comment on where it comes from."
        }
        @if let Some(model) = &report.into {
            h3 { "What was put into the model" }
            p { "Into " code { (model) } "; the new model is fitted-model.json." }
            @if !report.into_notes.is_empty() { ul { @for note in &report.into_notes { li { (sentence(note)) } } } }
            details {
                summary { (count(report.into_placed.len(), "value")) " put in" }
                ul { @for placed in &report.into_placed { li { (sentence(placed)) } } }
            }
        }
    }
}

/// One row for each reason.
fn stops_table(result: &FitResult) -> Table {
    let csv_words = |key| Column { numeric: false, ..csv_only(key) };
    let columns = vec![
        column("station", "Station"),
        column("reason", "Reason"),
        figures("stops", "stops"),
        figures("stopped_s", "min stopped"),
        column("between", "Mean between stops, law"),
        csv_words("clock"),
        csv_words("between_law"),
        csv_only("between_mean"),
        csv_only("between_mean_low"),
        csv_only("between_mean_high"),
        csv_words("between_json"),
        column("duration", "Mean duration, law"),
        csv_words("duration_law"),
        csv_only("duration_mean_s"),
        csv_only("duration_mean_low_s"),
        csv_only("duration_mean_high_s"),
        csv_words("duration_json"),
        column("doubts", "Doubts"),
    ];
    let rows = result.stops.iter().map(|fit| {
        let mean = |times: Option<&TimesFit>| -> [Cell; 3] {
            let Some(times) = times else { return [Cell::Empty, Cell::Empty, Cell::Empty] };
            let shown = Shown::of(times);
            let Bounded { value, low, high } = times.chosen.mean;
            let end = |end: Option<f64>| Cell::maybe(end, |it| shown.with_unit(it));
            [Cell::figure(value, shown.with_unit(value)), end(low), end(high)]
        };
        let between = fit.between.as_ref();
        let law = |times: Option<&TimesFit>| Cell::words(times.map_or("", |it| it.chosen.family));
        let json = |times: Option<&TimesFit>| Cell::words(times.map_or("", |it| it.chosen.json.as_str()));
        let both = |times: &TimesFit| {
            format!("{}, {}", Shown::of(times).bounded(&times.chosen.mean), times.chosen.family)
        };
        let mut cells = vec![
            Cell::words(&fit.station),
            Cell::reason(&fit.reason),
            Cell::figure(fit.stops as f64, number::fixed(fit.stops as f64, 0)),
            Cell::figure(fit.stopped_s, number::minutes(fit.stopped_s)),
            Cell::words(&between.map_or_else(|| "called by something else".to_owned(), both)),
            Cell::words(&words::clock(fit.clock)),
            law(between),
        ];
        cells.extend(mean(between));
        cells.push(json(between));
        cells.push(Cell::words(&both(&fit.duration)));
        cells.push(law(Some(&fit.duration)));
        cells.extend(mean(Some(&fit.duration)));
        cells.push(json(Some(&fit.duration)));
        cells.push(Cell::words(&words::doubts(fit).join(", ")));
        TableRow::of(cells)
    });
    Table {
        name: "stops".to_owned(),
        caption: "The stops and the laws that are proposed".to_owned(),
        columns,
        rows: rows.collect(),
    }
}

/// All warnings with the reason that they belong to; those of few data in one.
fn doubts(result: &FitResult) -> Vec<String> {
    let few: Vec<String> = result
        .stops
        .iter()
        .filter(|fit| words::doubts(fit).contains(&"few data"))
        .map(|fit| format!("{}, {} ({})", fit.station, wording::reason(&fit.reason), fit.stops))
        .collect();
    let few = (!few.is_empty()).then(|| {
        format!(
            "fewer than 20 complete times, so that intervals are wide and the law can hardly be told: {}",
            few.join("; ")
        )
    });
    let others = result.stops.iter().flat_map(|fit| {
        let of = move |times: &TimesFit| -> Vec<String> {
            let title = fit_title(fit, times);
            let told = times.warnings.iter().filter(|warning| warning.kind != FitWarningKind::Few);
            told.map(|warning| format!("{title}: {}", warning.words)).collect()
        };
        fit.between.iter().flat_map(of).chain(of(&fit.duration)).collect::<Vec<_>>()
    });
    few.into_iter().chain(others).collect()
}

fn reason(place: usize, fit: &ReasonFit, result: &FitResult) -> Markup {
    let share = if result.watched_s > 0.0 { fit.stopped_s / result.watched_s } else { 0.0 };
    let stops = count(usize::try_from(fit.stops).unwrap_or(usize::MAX), "stop");
    html! {
        h3 { (upper_first(&wording::reason(&fit.reason))) }
        p {
            (stops) ", " (words::length(fit.stopped_s)) " in all (" (number::percent(share)) " of the time watched); "
            (words::attendance(fit.attendance)) "."
            @if fit.between.is_some() { " The time between stops is taken on " (words::clock(fit.clock)) ": " (fit.clock_why) "." }
        }
        @for note in &fit.notes { p.note { (sentence(note)) } }
        @for sample in of_reason(place, fit) {
            h4 { (upper_first(&sample.fit.what)) }
            p { (proposal(sample.fit)) }
            (sample_body(&sample))
        }
    }
}

/// What is proposed and why, in sentences.
fn proposal(fit: &TimesFit) -> String {
    let mut text = format!("{}. {}", upper_first(&words::law(fit)), sentence(&fit.chosen.why));
    if let Some(how) = words::written_down(fit) {
        text.push(' ');
        text.push_str(&sentence(&how));
    }
    for warning in &fit.warnings {
        text.push(' ');
        text.push_str(&sentence(&warning.words));
    }
    if let Some(offer) = fit.offer.as_ref().filter(|offer| !offer.taken) {
        text.push_str(&format!(
            " From {} ({} with enough data) and its own data together the mean would be {}; --few family takes that.",
            offer.family,
            offer.members,
            Shown::of(fit).bounded(&offer.mean)
        ));
    }
    text
}

fn sample_body(sample: &Sample<'_>) -> Markup {
    html! {
        @if let Some(figure) = sample::figure(sample) { (figure_alone(&figure)) }
        (folded(&sample::laws(sample), "The laws that were tried", false))
    }
}

fn rules(result: &FitResult) -> Markup {
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

fn inputs(report: &FitReport) -> Markup {
    let result = &report.result;
    html! {
        dl.facts {
            dt { "Line" } dd { (result.line) }
            dt { "Logs" } dd { @if result.simulated { "of a simulation" } @else { "of a real line, or of one told by hand" } }
            dt { "Shifts" } dd { (number::fixed(result.shifts as f64, 0)) }
            dt { "Time watched" } dd { (number::duration(result.watched_s)) ", breaks included" }
            dt { "Intervals" } dd { (number::plain(result.level * 100.0)) "\u{a0}%" }
            dt { "Seed of the drawn records" } dd { (result.seed) }
            dt { "Program" } dd { "linewake " (report.program_version) }
        }
        details { summary { (count(report.files.len(), "file")) } ul { @for file in &report.files { li { (file) } } } }
        p { "The same command makes the same result again, whatever the number of threads:" }
        pre { (report.command) }
    }
}

fn cautions(result: &FitResult) -> Markup {
    html! {
        ul {
            @if result.simulated {
                li { "The logs are of a simulation: what is fitted is what its model put in, and no measurement." }
            }
            li {
                "The laws describe the time that was watched. A new product, another crew or a machine after its overhaul stops "
                "otherwise."
            }
            li {
                "A log is as good as its reasons: stops that nobody wrote down are not in it, and a reason that stands for "
                "several causes has a law of none of them."
            }
            li {
                "Food safety limits, inspection sensitivities, guarding and machine safety, net contents and legal weights are "
                "matters for qualified people and local codes. Nothing here sets or checks them."
            }
        }
    }
}

/// File name and SVG text of each figure.
pub(crate) fn charts(report: &FitReport) -> Vec<(String, String)> {
    let mut figures: Vec<Figure> = samples(&report.result).iter().filter_map(sample::figure).collect();
    figures.extend(report.result.weights.as_ref().map(weights::figure));
    figures.into_iter().map(|figure| (format!("{}.svg", figure.name), figure.wide.svg)).collect()
}

/// File name and CSV text of each table.
pub(crate) fn tables(report: &FitReport) -> Vec<(String, String)> {
    let result = &report.result;
    let rows = samples(result)
        .iter()
        .flat_map(|sample| {
            sample.fit.candidates.iter().map(|law| sample::row(sample, law)).collect::<Vec<_>>()
        })
        .collect();
    let laws = Table {
        name: "laws".to_owned(),
        caption: "All laws that were tried".to_owned(),
        columns: sample::columns(),
        rows,
    };
    let warnings = Table {
        name: "warnings".to_owned(),
        caption: "Doubts".to_owned(),
        columns: vec![column("doubt", "Doubt")],
        rows: doubts(result).iter().map(|doubt| TableRow::of(vec![Cell::words(doubt)])).collect(),
    };
    let all = [stops_table(result), laws, warnings];
    all.into_iter().map(|table| (format!("{}.csv", table.name), table.csv())).collect()
}

/// Text for a terminal.
pub(crate) fn text(report: &FitReport) -> String {
    let result = &report.result;
    let mut text = filled(&format!("{}: what the logs say of the stops", result.line));
    text.push('\n');
    text.push_str(&filled(&answer(result)));
    text.push('\n');
    text.push_str(&stops_table(result).text(TEXT_ROWS));
    text.push('\n');
    for doubt in doubts(result) {
        text.push_str(&filled(&sentence(&doubt)));
    }
    if let Some(weights) = &result.weights {
        text.push_str(&filled(&format!("Portion weights: {}", weights.json)));
    }
    for note in result.notes.iter().chain(&report.into_notes) {
        text.push_str(&filled(&sentence(note)));
    }
    text.push_str(&filled(&basis(result)));
    text.push_str(&plain_characters(&format!("Made again by: {}", report.command)));
    text.push('\n');
    text
}

#[cfg(test)]
mod tests;
