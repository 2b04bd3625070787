//! The stations in line order, the contents of belts and tables, and the balance.

use super::{Section, figure, folded};
use crate::figure;
use crate::input::RunReport;
use crate::number;
use crate::tables;
use crate::wording;
use linewake_kpi::summary::{BalancePlace, StartKind, Summary};
use maud::{Markup, html};

pub(super) fn not_running(report: &RunReport) -> Section {
    let long_run = report.main();
    let body = html! {
        p {
            "A station that is starved or blocked waits for another one. Look for the station with long own stops, "
            "with starved stations below it and blocked ones above."
        }
        (figure(&figure::stations(long_run), &tables::stations(long_run), true))
        @for other in report.others() { (folded(&tables::stations(other), &wording::the_same(other.start), false)) }
    };
    Section { id: "stations", title: "Where the line stands still", body }
}

pub(super) fn contents(report: &RunReport) -> Section {
    let table = tables::contents(report.main());
    let body = html! {
        @if table.rows.is_empty() {
            p { "No belt or table tells its content." }
        } @else {
            p { "A table that is seldom full and seldom empty does its work; one that is always full or always empty does not." }
            (super::over_time::contents(report))
            (table.html())
        }
    };
    Section { id: "contents", title: "What belts and tables hold", body }
}

pub(super) fn balance(report: &RunReport) -> Section {
    let body = html! {
        @for summary in &report.summaries {
            (one_balance(summary))
        }
    };
    Section { id: "balance", title: "Every portion accounted for", body }
}

fn one_balance(summary: &Summary) -> Markup {
    let start = wording::starts(summary.start);
    let (Some(balance), Some(table)) = (&summary.balance, tables::balance(summary)) else {
        return html! { p { "No balance was drawn up for the shifts " (start) "." } };
    };
    let came_in = number::fixed(balance.came_in as f64, 0);
    let places = [BalancePlace::Case, BalancePlace::Bin, BalancePlace::Scrap, BalancePlace::Line];
    let sums = places.map(|place| {
        let count: i64 = balance.rows.iter().filter(|row| row.place == place).map(|row| row.count).sum();
        format!("{} {}", number::fixed(count as f64, 0), wording::place(place, summary))
    });
    html! {
        h3 { "Shifts " (start) }
        @if balance.difference() == 0 {
            p {
                (came_in) " " (balance.unit) " came in over all shifts: " (sums.join(", ")) ". The difference is 0: every "
                "one is accounted for."
            }
        } @else {
            p.note {
                (came_in) " " (balance.unit) " came in over all shifts: " (sums.join(", ")) ". "
                (number::fixed(balance.difference() as f64, 0))
                " of them are not accounted for. "
                @if summary.start == StartKind::Logged {
                    "The counts of the log do not agree with each other."
                } @else {
                    "This is a fault of the program: please do not use this result."
                }
            }
        }
        (folded(&table, "Table by station and reason", false))
    }
}
