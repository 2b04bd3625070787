//! Ledger, stop Pareto, rejects.

use super::column_cells;
use crate::losses::losses;
use crate::number;
use crate::table::{Cell, Column, Table, TableRow, csv_only, figures, words};
use crate::wording;
use linewake_kpi::result::CauseKind;
use linewake_kpi::summary::{Mean, Summary};

/// The ledger: design, every loss, good; the rows add up.
pub(crate) fn ledger(summary: &Summary) -> Table {
    let design = summary.ledger.design_packs;
    let share =
        |packs: f64| Cell::maybe((design.mean > 0.0).then(|| packs / design.mean), number::percent_figure);
    let sum = |label: &str, kind: &str, mean: &Mean| {
        let [packs, half_width] = column_cells(mean);
        let mut cells = vec![Cell::Words { raw: kind.to_owned(), shown: label.to_owned() }];
        cells.extend([Cell::words(""), Cell::words(""), Cell::words("")]);
        cells.extend([packs, half_width, share(mean.mean)]);
        cells.extend(std::iter::repeat_n(Cell::Empty, 4));
        TableRow::sum(cells)
    };
    let mut rows = vec![sum("design", "design", &design)];
    for loss in losses(&summary.ledger) {
        let (kind, station, reason) = &loss.key;
        let [packs, half_width] = column_cells(&loss.packs);
        let something = |value: Option<f64>, show: fn(f64) -> String| {
            value.map_or(Cell::Empty, |value| unless_zero(value, show))
        };
        rows.push(TableRow::of(vec![
            Cell::Words { raw: (*kind).to_owned(), shown: loss.label.clone() },
            Cell::words(loss.group.words()),
            Cell::words(station),
            Cell::words(reason),
            packs,
            half_width,
            share(loss.packs.mean),
            something(loss.time_s, number::minutes),
            something(loss.waiting_s, number::minutes),
            something(loss.waiting_packs, number::count),
            something(loss.consequent_packs, number::count),
        ]));
    }
    rows.push(sum("good", "good", &summary.ledger.good_packs));
    Table {
        name: format!("ledger-{}", wording::start_in_names(summary.start)),
        caption: format!("From design to good, packs a shift; {}", wording::mean_of(summary)),
        columns: vec![
            words("kind", "loss"),
            words_csv_only("group"),
            words_csv_only("station"),
            words_csv_only("reason"),
            figures("packs_per_shift", "packs"),
            figures("packs_per_shift_half_width", &format!("±\u{a0}{}", wording::level(summary))),
            figures("share_of_design", "% of design"),
            figures("time_s_per_shift", "min"),
            csv_only("waiting_s_per_shift"),
            figures("waiting_packs_per_shift", "of the packs: waiting for operator"),
            figures("consequent_packs_per_shift", "rejected besides"),
        ],
        rows,
    }
}

/// The stop Pareto, complete.
pub(crate) fn stops(summary: &Summary) -> Table {
    let rows = summary.pareto.iter().map(|row| {
        let [packs, half_width] = column_cells(&row.packs);
        let label = wording::stop(row.kind, &row.station, &row.reason);
        let planned = if row.kind == CauseKind::Planned { " (planned)" } else { "" };
        TableRow::of(vec![
            Cell::Words { raw: row.station.clone(), shown: format!("{label}{planned}") },
            Cell::words(&row.reason),
            Cell::words(row.kind.words()),
            row.count.map_or(Cell::Empty, |count| Cell::count(count.mean)),
            csv_figure(row.stopped_s.mean),
            Cell::figure(row.waiting_s, number::minutes(row.waiting_s)),
            Cell::figure(row.repair_s(), number::minutes(row.repair_s())),
            packs,
            half_width,
            unless_zero(row.recovery_packs, number::count),
            unless_zero(row.consequent_packs, number::count),
            csv_figure(row.share),
            Cell::figure(row.cumulative_share, number::percent_figure(row.cumulative_share)),
        ])
    });
    Table {
        name: format!("stops-{}", wording::start_in_names(summary.start)),
        caption: format!("Stops by what they cost, a shift; {}", wording::mean_of(summary)),
        columns: vec![
            words("station", "stop"),
            words_csv_only("reason"),
            words_csv_only("kind"),
            figures("stops_per_shift", "stops"),
            csv_only("stopped_s_per_shift"),
            figures("waiting_s_per_shift", "min waiting"),
            figures("repair_s_per_shift", "min repair"),
            figures("packs_per_shift", "packs"),
            figures("packs_per_shift_half_width", &format!("±\u{a0}{}", wording::level(summary))),
            figures("recovery_packs_per_shift", "of it recovery"),
            figures("consequent_packs_per_shift", "rejected besides"),
            csv_only("share"),
            figures("cumulative_share", "cumulative %"),
        ],
        rows: rows.collect(),
    }
}

/// A figure of a column that is in CSV only.
fn csv_figure(value: f64) -> Cell {
    Cell::figure(value, String::new())
}

/// A figure that is left blank on the page where it is 0.
fn unless_zero(value: f64, show: fn(f64) -> String) -> Cell {
    let shown = if value.abs() > 0.0 { show(value) } else { String::new() };
    Cell::figure(value, shown)
}

fn words_csv_only(key: &'static str) -> Column {
    Column { numeric: false, ..csv_only(key) }
}

/// Rejects by place and reason, then what escaped.
pub(crate) fn rejects(summary: &Summary) -> Table {
    let row = |place: &str, what: &str, reason: &str, mean: &Mean| {
        let [packs, half_width] = column_cells(mean);
        let total = summary.packs.total_packs.mean;
        let share = Cell::maybe((total > 0.0).then(|| mean.mean / total), |share| number::count(share * 1e6));
        TableRow::of(vec![
            Cell::words(place),
            Cell::reason(reason),
            Cell::words(what),
            packs,
            half_width,
            share,
        ])
    };
    let mut rows: Vec<TableRow> = Vec::new();
    for reject in &summary.ledger.rejects {
        let what = if reject.consequence_of_stop { "rejected, consequence of a stop" } else { "rejected" };
        rows.push(row(&reject.station, what, &reject.reason, &reject.packs));
    }
    for escape in &summary.packs.escaped {
        rows.push(row(&summary.good_after, "escaped: counts as good", &escape.reason, &escape.packs));
    }
    Table {
        name: format!("rejects-{}", wording::start_in_names(summary.start)),
        caption: format!("Rejects, scrap and escapes, packs a shift; {}", wording::mean_of(summary)),
        columns: vec![
            words("station", "station"),
            words("reason", "reason"),
            words("fate", "what became of them"),
            figures("packs_per_shift", "packs"),
            figures("packs_per_shift_half_width", &format!("±\u{a0}{}", wording::level(summary))),
            figures("share_of_packs_cut", "of a million cut"),
        ],
        rows,
    }
}
