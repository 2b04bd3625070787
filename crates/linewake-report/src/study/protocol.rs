//! The protocol of an acceptance run: one printed page that the parties fill in and sign.

use super::acceptance::shown;
use super::phrases;
use crate::number;
use linewake_kpi::study::acceptance::AcceptanceResult;
use linewake_kpi::study::precision::Measure;
use maud::{Markup, html};

/// Rules that have room on the page; a longer list goes on an annex.
const RULES: usize = 8;
/// Characters of rules that have room on it.
const RULE_LETTERS: usize = 700;
/// Rows for stops that are left out.
const LEFT_OUT: usize = 5;

/// The protocol.
pub(super) fn protocol(found: &AcceptanceResult) -> Markup {
    let judged = match found.measure {
        Measure::Oee => "OEE = good packs × ideal time per pack / planned production time",
        Measure::GoodPacks => "good packs of the run",
        Measure::PacksPerHour => "good packs / planned production time in hours",
    };
    let mut letters = 0;
    let fits = |rule: &&String| {
        letters += rule.chars().count();
        letters <= RULE_LETTERS
    };
    let listed = found.rules.iter().take(RULES).take_while(fits).count();
    html! {
        p.screen-only { "On paper this is one page by itself, A4 or Letter." }
        div.protocol {
            p.protocol-title { "Protocol of an acceptance run" }
            p.quiet { "Line: " (found.head.model_name) ". Forecast made by linewake " (found.head.program_version) "." }
            div.fields {
                (field("Buyer")) (field("Supplier")) (field("Place")) (field("Date")) (field("Product and format")) (field("Contract, clause"))
            }
            h3 { "What was agreed" }
            dl.facts {
                dt { "Length of the run" } dd { (number::duration(found.run_s)) ", breaks included; start: " (phrases::start(&found.head)) }
                dt { "Design rate" } dd { (number::plain(found.head.design_rate_per_min)) " packs/min" }
                dt { "Judged by" } dd { (judged) }
                dt { "Passed at" } dd { (shown(found.measure, found.pass_limit)) " or more" }
                dt { "Risks aimed at" }
                dd {
                    "producer's " (phrases::share(found.producer_risk)) ", consumer's " (phrases::share(found.consumer_risk))
                    " against stops " (number::plain(found.degraded_factor)) " times as frequent"
                }
            }
            h3 { "What counts and what is left out" }
            @if found.rules.is_empty() {
                p.quiet { "No rules were given; the parties write theirs here:" }
                @for _ in 0..4 { div.blank {} }
            } @else {
                ol.rules { @for rule in found.rules.iter().take(listed) { li { (phrases::sentence(rule)) } } }
                @if found.rules.len() > listed {
                    p { "Further rules, " (found.rules.len() - listed) " of them, stand in an annex to this protocol." }
                }
            }
            h3 { "What the run showed" }
            div.fields {
                (field("Start, clock")) (field("End, clock")) (field("Planned production time, min")) (field("Total packs"))
                (field("Good packs")) (field("Rejected packs")) (field("Result (as judged above)")) (field("Passed / not passed"))
            }
            table.form {
                thead { tr { th scope="col" { "Time left out: from, to" } th scope="col" { "Rule no." } th scope="col" { "Reason" } th scope="col" { "Agreed by" } } }
                tbody { @for _ in 0..LEFT_OUT { tr { td {} td {} td {} td {} } } }
            }
            div.fields.sign { (field("For the buyer: name, signature")) (field("For the supplier: name, signature")) }
            p.quiet.small {
                "The contract between the parties and EN 415-11 govern the acceptance; where this sheet differs from them, they \
                 hold. The values above are a forecast from a model, not a warranty. Food safety, metal detection limits, guarding \
                 and net contents are checked by qualified people under local codes, not by this run."
            }
        }
    }
}

fn field(name: &str) -> Markup {
    html! { div.field { span { (name) } } }
}
