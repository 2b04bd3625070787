//! Ledger, stop Pareto, rejects.

use super::column_cells;
use crate::losses::losses;
use crate::number;
use crate::table::{Cell, Table, TableRow, csv_only, figures, words};
use crate::wording;
use linewake_kpi::summary::Summary;

/// The ledger: design, every loss, good; the rows add up.
pub(crate) fn ledger(summary: &Summary) -> Table {
    let design = summary.ledger.design_packs;
    let share =
        |packs: f64| Cell::maybe((design.mean > 0.0).then(|| packs / design.mean), number::percent_figure);
    let sum = |label: &str, kind: &str, mean: &linewake_kpi::summary::Mean| {
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
        let something = |value: Option<f64>, show: fn(f64) -> String| match value {
            Some(value) if value > 0.0 => Cell::figure(value, show(value)),
            Some(value) => Cell::Figure { value, shown: String::new() },
            None => Cell::Empty,
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
    let hidden = |key| crate::table::Column { numeric: false, ..csv_only(key) };
    Table {
        name: format!("ledger-{}", wording::start_in_names(summary.start)),
        caption: format!("From design to good, packs a shift; {}", wording::mean_of(summary)),
        columns: vec![
            words("kind", "loss"),
            hidden("group"),
            hidden("station"),
            hidden("reason"),
            figures("packs_per_shift", "packs"),
            figures("packs_per_shift_half_width", &format!("± {}", wording::level(summary))),
            figures("share_of_design", "% of design"),
            figures("time_s_per_shift", "min"),
            csv_only("waiting_s_per_shift"),
            figures("waiting_packs_per_shift", "of the packs: waiting for an operator"),
            figures("consequent_packs_per_shift", "rejected besides, as a consequence"),
        ],
        rows,
    }
}

/// The stop Pareto, complete.
pub(crate) fn stops(summary: &Summary) -> Table {
    let rows = summary.pareto.iter().map(|row| {
        let [packs, half_width] = column_cells(&row.packs);
        let reason = if row.reason.is_empty() { "hopper empty" } else { &row.reason };
        TableRow::of(vec![
            Cell::words(&row.station),
            Cell::reason(reason),
            Cell::words(row.kind.words()),
            Cell::maybe(row.count.map(|count| count.mean), number::count),
            Cell::figure(row.stopped_s.mean, number::minutes(row.stopped_s.mean)),
            Cell::figure(row.waiting_s, number::minutes(row.waiting_s)),
            Cell::figure(row.repair_s(), number::minutes(row.repair_s())),
            packs,
            half_width,
            Cell::count(row.recovery_packs),
            Cell::count(row.consequent_packs),
            Cell::figure(row.share, number::percent_figure(row.share)),
            Cell::figure(row.cumulative_share, number::percent_figure(row.cumulative_share)),
        ])
    });
    Table {
        name: format!("stops-{}", wording::start_in_names(summary.start)),
        caption: format!("Stops by what they cost, a shift; {}", wording::mean_of(summary)),
        columns: vec![
            words("station", "station"),
            words("reason", "reason"),
            words("kind", "kind"),
            figures("stops_per_shift", "stops"),
            figures("stopped_s_per_shift", "min"),
            figures("waiting_s_per_shift", "min waiting"),
            figures("repair_s_per_shift", "min repair"),
            figures("packs_per_shift", "packs"),
            figures("packs_per_shift_half_width", &format!("± {}", wording::level(summary))),
            figures("recovery_packs_per_shift", "of it recovery"),
            figures("consequent_packs_per_shift", "rejected besides"),
            figures("share", "%"),
            figures("cumulative_share", "cumul. %"),
        ],
        rows: rows.collect(),
    }
}

/// Rejects by place and reason, then what escaped.
pub(crate) fn rejects(summary: &Summary) -> Table {
    let row = |place: &str, what: &str, reason: &str, mean: &linewake_kpi::summary::Mean| {
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
            figures("packs_per_shift_half_width", &format!("± {}", wording::level(summary))),
            figures("share_of_packs_cut", "of a million cut"),
        ],
        rows,
    }
}
