//! Which logs were read, what was repaired or left out, and what they do not tell.

use super::{Section, folded};
use crate::input::LogsRead;
use crate::number;
use crate::tables;
use maud::html;

/// Rows that the page lists; the file has them all.
const LISTED: usize = 60;

pub(super) fn logs(logs: &LogsRead) -> Section {
    let mut dirty = tables::dirty_rows(logs);
    let many = dirty.rows.len();
    dirty.rows.truncate(LISTED);
    let body = html! {
        (tables::logs(logs).html())
        h3 { "Rows repaired or left out" }
        @if many == 0 {
            p { "None: every row was read as it stands." }
        } @else {
            p {
                "Nothing is dropped in silence. Each row below was repaired by the rule named beside it, or left out. "
                @if many > LISTED {
                    "The first " (number::fixed(LISTED as f64, 0)) " of " (number::fixed(many as f64, 0))
                    " are listed; all of them are in " code { "tables/dirty-rows.csv" } "."
                }
            }
            (tables::kinds_of_dirt(logs).html())
            (folded(&dirty, "The rows, with their lines", true))
        }
        @if !logs.not_told.is_empty() {
            h3 { "What these logs do not tell" }
            ul { @for what in &logs.not_told { li { (what) } } }
        }
        @if !logs.need_packs.is_empty() {
            h3 { "What needs logs at pack detail" }
            ul { @for what in &logs.need_packs { li { (what) } } }
        }
    };
    Section { id: "logs", title: "What was read, and what was left out", body }
}
