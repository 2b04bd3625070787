//! What was assumed, how to make it again, what each figure means, and what to be careful about.

use super::headline::notes;
use super::{Section, is_logged};
use crate::input::{AssumptionGroup, RunReport};
use crate::number;
use crate::wording;
use linewake_kpi::definition::{KPIS, KpiDefinition, KpiGroup};
use linewake_kpi::summary::StartKind;
use maud::{Markup, html};

pub(super) fn assumptions(report: &RunReport) -> Section {
    let (plan, long_run) = (&report.plan, report.main());
    let [minor_stops, planned_stops] = wording::conventions(long_run);
    let body = html! {
        h3 { "This run" }
        p { "The command that makes it again:" }
        pre { code { (report.command) } }
        dl.facts {
            @if let Some(seed) = report.seed { dt { "seed" } dd { (seed) } }
            dt { "shifts" } dd {
                (number::fixed(plan.shifts as f64, 0)) " of each kind, " (number::plain(plan.hours)) "\u{a0}h each"
            }
            @if report.main().start != StartKind::Logged {
                dt { "warm-up" } dd {
                    (number::duration(plan.warm_up_s)) ", dropped before each shift of the long run; none before a shift "
                    "that starts with new rolls"
                }
            }
            @if !report.model.file.is_empty() { dt { "model file" } dd { code { (report.model.file) } } }
            @if !report.model.digest.is_empty() { dt { "model digest" } dd { code { (report.model.digest) } } }
            dt { "program" } dd { "linewake " (report.program_version) }
        }
        h3 { "Conventions" }
        ul {
            @if !is_logged(report) {
                li {
                    "A shift that starts with new rolls begins with an empty line and everything new. A shift of the long "
                    "run begins with consumables part used, after the warm-up. They are different promises."
                }
            }
            li {
                "Constraint: " (long_run.constraint) ". Packs cut are counted at " (long_run.total_at)
                "; a pack is good once " (long_run.good_after) " has handed it over."
            }
            li {
                "Design rate " (number::plain(long_run.design_rate_per_min)) " packs/min; planned production time "
                (number::duration(long_run.planned_production_time_s)) " of a shift of "
                (number::duration(long_run.window_s)) ". " (planned_stops)
            }
            li { "Short stop limit " (number::plain(long_run.short_stop_limit_s)) "\u{a0}s. " (minor_stops) }
            li { "Packs still in the line at the end count in total, and so against Q." }
            li {
                "A, P, Q and OEE of several shifts are sums over sums, so that OEE = A × P × Q holds for them too."
            }
            @if !is_logged(report) {
                li {
                    "Each random quantity has a random stream of its own, made from the seed, so that a change in one "
                    "place does not change the luck elsewhere."
                }
            }
        }
        @if !report.figures_without_simulation.is_empty() {
            h3 { "Figures that need no simulation" }
            div.scroll tabindex="0" role="group" aria-label="Figures that need no simulation" {
                table {
                    thead { tr { th scope="col" { "figure" } th.n scope="col" { "packs/h" } th scope="col" { "what it is" } } }
                    tbody {
                        @for figure in &report.figures_without_simulation {
                            tr {
                                th scope="row" { (figure.name) }
                                td.n { (number::fixed(figure.packs_per_h, 1)) }
                                td { (figure.text) }
                            }
                        }
                        tr.sum {
                            th scope="row" { (wording::seen(long_run.start)) ", " (wording::start_heading(long_run.start)) }
                            td.n { (number::fixed(long_run.good_packs.mean * 3600.0 / long_run.window_s.max(1.0), 1)) }
                            td { "good packs an hour of the shift" }
                        }
                    }
                }
            }
        }
        @if !report.assumptions.is_empty() {
            h3 { "What the model says" }
            div.groups { @for group in &report.assumptions { (one_group(group)) } }
        }
    };
    Section { id: "assumptions", title: "What was assumed, and how to make it again", body }
}

fn one_group(group: &AssumptionGroup) -> Markup {
    html! {
        div {
            h4 { (group.title) }
            dl.facts { @for row in &group.rows { dt { (row.what) } dd { (row.value) } } }
        }
    }
}

pub(super) fn definitions(report: &RunReport) -> Section {
    let body = html! {
        p {
            "Names follow ISO 22400-2 where it has them. This report makes no claim of conformity with that or any other "
            "standard; where a figure departs from it, it says so."
        }
        @for group in groups() {
            @let usual = usual_source(group);
            h3 { (wording::upper_first(group.words())) }
            @if let Some(usual) = usual { p.quiet { "Source, unless another is named: " (usual) "." } }
            dl.terms {
                @for kpi in KPIS.iter().filter(|kpi| kpi.group == group) {
                    div {
                        dt {
                            (kpi_title(kpi))
                            @if kpi.unit != "1" { " (" (kpi.unit) ")" }
                        }
                        dd {
                            code { (kpi.formula) }
                            @if matches!(kpi.symbol, "A" | "P") {
                                ", with a short stop limit of " (number::plain(report.main().short_stop_limit_s)) "\u{a0}s"
                            }
                            ". " (kpi.text)
                            @if usual != Some(kpi.source) { " " span.quiet { "Source: " (kpi.source) "." } }
                        }
                    }
                }
            }
        }
    };
    Section { id: "definitions", title: "What each figure means", body }
}

/// The groups of definitions, in order.
fn groups() -> Vec<KpiGroup> {
    let mut groups: Vec<KpiGroup> = Vec::new();
    for kpi in KPIS {
        if !groups.contains(&kpi.group) {
            groups.push(kpi.group);
        }
    }
    groups
}

/// The source that most figures of a group share; `None` where no two do.
fn usual_source(group: KpiGroup) -> Option<&'static str> {
    let of_group = || KPIS.iter().filter(|kpi| kpi.group == group);
    let many = |source: &str| of_group().filter(|kpi| kpi.source == source).count();
    of_group().map(|kpi| kpi.source).max_by_key(|source| many(source)).filter(|source| many(source) > 1)
}

/// Symbol and name; the name alone of a figure that the standard gives no symbol.
fn kpi_title(kpi: &KpiDefinition) -> String {
    match wording::kpi_symbol(kpi) {
        Some(symbol) => format!("{symbol}, {}", kpi.name),
        None => kpi.name.to_owned(),
    }
}

pub(super) fn cautions(report: &RunReport) -> Section {
    let body = html! {
        @for note in notes(report) { p.note { (note) } }
        ul {
            @if is_logged(report) {
                li {
                    "This is an account of what the logs say. It is as good as they are: stops that nobody wrote down, "
                    "reasons that were guessed and clocks that differ are in it. The interval is the scatter between "
                    "shifts, not such errors, and says nothing of weeks unlike these."
                }
            } @else {
                li {
                    "This is an estimate from a model, not a measurement and not a promise. It is as good as the figures "
                    "in the model: stop frequencies and durations above all. The interval covers the luck of the "
                    "simulation, not errors in those figures."
                }
            }
            li {
                "What one reason is charged with is not what its removal would bring: stops hide each other. Such values "
                "do not add up."
            }
            li {
                "Food safety limits, inspection sensitivities and the rules for metal detection and X-ray, guarding and "
                "machine safety, net contents and legal weights are matters for qualified people and local codes. Nothing "
                "here sets or checks them."
            }
            li {
                "Whether a line is accepted is governed by the contract and its test, not by this report, which makes no "
                "claim about any real plant, machine or supplier."
            }
            li {
                "Figures of an invented plant, where the model says so, must not be taken for those of a real one. The "
                "command above makes the same result again"
                @if report.logs.is_none() { "; another seed makes another within the intervals given" }
                "."
            }
        }
    };
    Section { id: "cautions", title: "Cautions", body }
}
