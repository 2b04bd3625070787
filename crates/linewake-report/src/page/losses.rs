//! From design to good: the chain, the ledger, the stops, the rejects.

use super::{Section, figure, figure_with_title, folded};
use crate::figure;
use crate::input::RunReport;
use crate::number;
use crate::tables;
use crate::wording;
use linewake_kpi::summary::Summary;
use maud::{Markup, html};

pub(super) fn design_to_good(report: &RunReport) -> Section {
    let long_run = report.main();
    let [minor_stops, planned_stops] = wording::conventions(long_run);
    let body = html! {
        p {
            "OEE is judged at the constraint, " (long_run.constraint) ", against its design rate of "
            (number::plain(long_run.design_rate_per_min)) " packs/min over a planned production time of "
            (number::duration(long_run.planned_production_time_s)) ". OEE = A × P × Q = A_iso × P_iso × Q. "
            "OEE itself does not depend on the short stop limit of "
            (number::plain(long_run.short_stop_limit_s)) "\u{a0}s; its split into A and P does."
        }
        p { "Conventions. " (minor_stops) " " (planned_stops) }
        (figure(&figure::chain(long_run), &tables::factors(&report.summaries), true))
    };
    Section { id: "chain", title: "From design through A, P and Q to good", body }
}

pub(super) fn ledger(report: &RunReport) -> Section {
    let long_run = report.main();
    let body = html! {
        p {
            "Packs that a shift " (wording::start(long_run.start)) " does not make, by cause, from design to good. "
            "The rows add up exactly; they are rounded here and given in full in the CSV files. What a stop costs "
            "while the line recovers from it is its own row."
        }
        (figure(&figure::losses(long_run), &tables::ledger(long_run), true))
        @for other in report.others() { (folded(&tables::ledger(other), &wording::the_same(other.start), false)) }
    };
    Section { id: "losses", title: "Where the packs are lost", body }
}

pub(super) fn stops(report: &RunReport) -> Section {
    let long_run = report.main();
    let body = html! {
        @if long_run.pareto.is_empty() {
            p { "No station stopped in the shifts " (wording::starts(long_run.start)) "." }
        } @else {
            p {
                "Minutes are those of the station itself, whether or not it held the constraint up; packs are what "
                "the constraint did not make because of it. A stop that a buffer hides has minutes and few packs."
            }
            (by_station(long_run))
            (folded(&tables::stops(long_run), "Table of the numbers", true))
        }
        @for other in report.others().filter(|it| !it.pareto.is_empty()) {
            (folded(&tables::stops(other), &wording::the_same(other.start), false))
        }
    };
    Section { id: "stops", title: "Which stops cost most", body }
}

/// The Pareto of all stations, and of each by itself, one of which is shown: chosen by radio buttons, which the style
/// sheet answers. Without style sheet all are shown, and paper has the one of all stations.
fn by_station(summary: &Summary) -> Markup {
    let all = figure::stops(summary);
    let stations = figure::stops_by_station(summary);
    if stations.len() < 2 {
        return figure_with_title(&all);
    }
    let name = format!("{}-choice", all.name);
    let choices = std::iter::once(("all stations".to_owned(), all)).chain(stations);
    html! {
        fieldset.choice {
            legend { "Stops of" }
            @for (place, (station, figure)) in choices.enumerate() {
                label { input type="radio" name=(name) checked[place == 0]; (station) }
                div.chosen.all[place == 0] { (figure_with_title(&figure)) }
            }
        }
    }
}

pub(super) fn rejects(report: &RunReport) -> Section {
    let long_run = report.main();
    let none = long_run.ledger.rejects.is_empty() && long_run.packs.escaped.is_empty();
    let body = html! {
        @if none {
            p { "Nothing was rejected, and nothing escaped." }
        } @else {
            p {
                "Of " (number::count(long_run.packs.total_packs.mean)) " packs cut in a shift "
                (wording::start(long_run.start)) ", " (number::count(long_run.packs.rejected_packs.mean))
                " were rejected or scrapped. Escapes are packs with a defect that no inspection found: they count as "
                "good, and are printed here."
            }
            @match figure::rejects(long_run) {
                Some(ledger) => (figure(&ledger, &tables::rejects(long_run), false)),
                None => (tables::rejects(long_run).html()),
            }
        }
        @for (start, table) in report.others().map(|other| (other.start, tables::rejects(other))) {
            @if !table.rows.is_empty() { (folded(&table, &wording::the_same(start), false)) }
        }
    };
    Section { id: "rejects", title: "Rejects, scrap and escapes", body }
}
