//! Machine by machine: OEE of their own, waits, stops by length, ISO 22400-2, states under ISA-TR88 names.

use super::{Section, folded};
use crate::input::RunReport;
use crate::number;
use crate::table::Table;
use crate::tables;
use crate::wording;
use linewake_kpi::definition::NOT_TOLD;
use linewake_kpi::machine::MeanTime;
use linewake_kpi::summary::Summary;
use maud::{Markup, html};

pub(super) fn machines(report: &RunReport) -> Section {
    let summary = report.main();
    let limit = number::plain(summary.short_stop_limit_s);
    let body = html! {
        h3 { "Each machine as if it were the line" }
        p {
            "A machine is judged here as the line is at its constraint, on its own pieces: A loses every interruption of "
            "at least " (limit) "\u{a0}s, waits included; P is against the best rate of the machine (at "
            (summary.constraint) " the design rate); Q loses the pieces rejected or spoilt at it. A machine that waits "
            "for another has a low OEE by itself, which is no fault of its own."
        }
        (or_not_told(&tables::machines(summary), "OEE of single machines"))
        h3 { "Waits and throughput" }
        p { "Shares of the whole shift, beside a machine's own stops and never inside them." }
        (or_not_told(&tables::waits(summary), "waits of single machines"))
        h3 { "Minor stops and long ones" }
        p {
            "Own stops of each machine, whether or not they held the line up; waiting for an operator is in their time. "
            "MTBF is running time between stops, MTTR time to restore, over all shifts together, each with its "
            (wording::level(summary)) " interval in brackets. " (methods(summary))
        }
        (or_not_told(&tables::stop_classes(summary), "minor and long stops"))
        @for other in report.others() {
            @for (table, words) in [
                (tables::machines(other), "Each machine by itself, a shift"),
                (tables::waits(other), "Waits and throughput, a shift"),
                (tables::stop_classes(other), "Minor stops and long ones, a shift"),
            ] {
                @if !table.rows.is_empty() {
                    (folded(&table, &format!("{words} {}", wording::start(other.start)), false))
                }
            }
        }
    };
    Section { id: "machines", title: "Machine by machine", body }
}

fn or_not_told(table: &Table, what: &str) -> Markup {
    html! {
        @if table.rows.is_empty() {
            p { "The log does not tell " (what) "." }
        } @else {
            (table.html())
        }
    }
}

/// How the intervals of the mean times were worked out, each way once.
fn methods(summary: &Summary) -> String {
    let times = summary.stations.iter().flat_map(|station| {
        let machine = &station.machine;
        [&machine.time_between_stops, &machine.time_to_restore].into_iter().flatten()
    });
    let mut methods: Vec<&'static str> = Vec::new();
    for MeanTime { method, .. } in times {
        if !method.is_empty() && !methods.contains(method) {
            methods.push(method);
        }
    }
    if methods.is_empty() {
        String::new()
    } else {
        format!("How they were worked out: {}.", methods.join("; ").trim_end_matches('.'))
    }
}

pub(super) fn iso22400(report: &RunReport) -> Section {
    let summary = report.main();
    let of_line = tables::iso_line(summary);
    let pages = tables::iso_pages(summary);
    let body = html! {
        p {
            "Elements and key performance indicators under the names and symbols of ISO 22400-2, as far as the log tells "
            "them; each is defined under " a href="#definitions" { "What each figure means" } ". Elements are a shift's; "
            "ratios are sums over sums. ± is the " (wording::level(summary)) " interval of the mean."
        }
        (or_not_told(&of_line, "elements of ISO 22400-2"))
        @if !pages.is_empty() {
            details {
                summary { "The same for each machine" }
                @for page in &pages { (page.html()) }
            }
        }
        details {
            summary { "What the standard names and the log does not tell" }
            dl.terms {
                @for it in NOT_TOLD {
                    div {
                        dt { (it.name) }
                        dd {
                            @if !it.formula.is_empty() { code { (it.formula) } ". " }
                            (wording::upper_first(it.why.trim_end_matches('.'))) ". "
                            span.quiet { "Source: " (it.source) "." }
                        }
                    }
                }
            }
        }
        @for other in report.others() {
            @let table = tables::iso_line(other);
            @if !table.rows.is_empty() { (folded(&table, &wording::the_same(other.start), false)) }
        }
    };
    Section { id: "iso-22400", title: "Elements and KPIs of ISO 22400-2", body }
}

pub(super) fn isa_states(report: &RunReport) -> Section {
    let summary = report.main();
    let body = html! {
        p {
            "For a line whose machines report states under ISA-TR88.00.02: running is Execute; starved and blocked are "
            "Suspended, since the cause lies outside the machine; an own stop is Held, since it lies inside; a challenge "
            "of an inspection is Held, and a break and any other planned stop is Stopped. Acting states, such as Holding "
            "or Resetting, last no time here. The match is from general knowledge of the report, and no conformity is "
            "claimed."
        }
        (tables::isa_states(summary).html())
        @for other in report.others() { (folded(&tables::isa_states(other), &wording::the_same(other.start), false)) }
    };
    Section { id: "isa-states", title: "Machine states under the names of ISA-TR88", body }
}
