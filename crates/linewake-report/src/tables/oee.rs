//! OEE and its factors, the shifts one by one, and the output by the hour.

use super::mean_cells;
use crate::number;
use crate::table::{Cell, Column, Table, TableRow, figures, words};
use crate::wording;
use linewake_kpi::convention::MinorStops;
use linewake_kpi::summary::{Mean, ShiftRange, Summary};

/// Name of the rows with the range of one shift.
const ONE_SHIFT: &str = "one shift, eight in ten";
/// How the rows about cases begin.
const OF_THEM: &str = "of them";

/// Good packs, OEE and its factors, for all starts beside each other; A and P with the limit that they depend on. The
/// split that the conventions choose comes first, the other one after Q.
pub(crate) fn factors(starts: &[Summary]) -> Table {
    let leading = &starts[starts.len() - 1];
    let level = wording::level(leading);
    let limit = number::plain(leading.short_stop_limit_s);
    let row = |label: &str, shown: Vec<Option<String>>| {
        let mut cells = vec![Cell::words(label)];
        cells.extend(shown.into_iter().map(|shown| shown.map_or(Cell::Missing, |shown| Cell::words(&shown))));
        TableRow::of(cells)
    };
    let head = |label: &str, shown: Vec<Option<String>>| TableRow { sum: true, ..row(label, shown) };
    let each = |shown: &dyn Fn(&Summary) -> Option<String>| starts.iter().map(shown).collect::<Vec<_>>();
    let count = |mean: &Mean| Some(number::rounded(mean).joined());
    let share =
        |mean: Option<Mean>| mean.map(|mean| format!("{}\u{a0}%", number::rounded_percent(&mean).joined()));
    let minutes = |mean_s: &Mean| {
        let half_width = mean_s.half_width.map(|half_width| half_width / 60.0);
        count(&Mean { mean: mean_s.mean / 60.0, half_width, n: mean_s.n })
    };
    let packs_range = |summary: &Summary| summary.good_packs_range.map(|range| number::range(range, "to"));
    let oee_range = |summary: &Summary| {
        summary
            .oee_range
            .map(|range| format!("{} to {}", number::percent_figure(range.p10), number::percent(range.p90)))
    };
    let split_row = |minor_stops: MinorStops, place: usize| {
        let symbol = wording::split_symbols(minor_stops)[place];
        let limit = match minor_stops {
            MinorStops::Performance => format!("short stop limit {limit}\u{a0}s"),
            MinorStops::Availability => "ISO split".to_owned(),
        };
        let name = ["availability", "performance"][place];
        let shown = each(&|summary| {
            let split = summary.split_by(minor_stops);
            share([Some(split.availability), split.performance][place])
        });
        row(&format!("{symbol}, {name}, {limit}"), shown)
    };
    let (chosen, other) = match leading.conventions.minor_stops {
        MinorStops::Performance => (MinorStops::Performance, MinorStops::Availability),
        MinorStops::Availability => (MinorStops::Availability, MinorStops::Performance),
    };
    let heading = |it: &Summary| figures(wording::start_key(it.start), wording::start_heading(it.start));
    let columns = [words("figure", "figure")].into_iter().chain(starts.iter().map(heading)).collect();
    let mut rows = vec![
        head("Good packs a shift", each(&|it| count(&it.good_packs))),
        row("an hour of the shift", each(&|it| Some(number::count(an_hour(it))))),
        row(ONE_SHIFT, each(&packs_range)),
        row(
            &format!("{OF_THEM} in a case"),
            each(&|it| it.packs.good_in_cases_packs.as_ref().and_then(count)),
        ),
        row(
            &format!("{OF_THEM} waiting for a case, change"),
            each(&|it| it.packs.good_waiting_packs.as_ref().and_then(count)),
        ),
        row("defects in them that nothing found (escapes)", each(&|it| Some(escapes(it)))),
        head("OEE", each(&|it| share(Some(it.oee)))),
        row(ONE_SHIFT, each(&oee_range)),
        split_row(chosen, 0),
        split_row(chosen, 1),
        row("Q, quality", each(&|it| share(it.quality))),
        split_row(other, 0),
        split_row(other, 1),
        row("Q without what is still in the line", each(&|it| share(it.quality_without_in_line))),
        row("Packs cut a shift", each(&|it| count(&it.packs.total_packs))),
        row(
            &format!("Interruptions of at least {limit}\u{a0}s, a shift"),
            each(&|it| count(&it.long_interruptions)),
        ),
        row("their time, min a shift", each(&|it| minutes(&it.long_interruption_time_s))),
        row(
            &format!("Interruptions under {limit}\u{a0}s, a shift"),
            each(&|it| count(&it.short_interruptions)),
        ),
        row("their time, min a shift", each(&|it| minutes(&it.short_interruption_time_s))),
    ];
    // A line without a case packer has nothing to say of cases.
    if starts.iter().all(|summary| summary.packs.good_in_cases_packs.is_none()) {
        rows.retain(|row| !matches!(&row.cells[0], Cell::Words { raw, .. } if raw.starts_with(OF_THEM)));
    }
    Table {
        name: "oee".to_owned(),
        caption: format!("OEE and its factors; ± is the {level} interval of the mean"),
        columns,
        rows,
    }
}

fn an_hour(summary: &Summary) -> f64 {
    if summary.window_s > 0.0 { summary.good_packs.mean * 3600.0 / summary.window_s } else { 0.0 }
}

fn escapes(summary: &Summary) -> String {
    number::count(summary.packs.escaped.iter().map(|escape| escape.packs.mean).sum())
}

/// What the first sheet says of it: the rows of [`factors`] on packs a shift, OEE and its chosen factors.
pub(crate) fn offer(starts: &[Summary]) -> Table {
    let mut table = factors(starts);
    table.name = "offer".to_owned();
    let is_named = |row: &TableRow, names: &[&str]| match &row.cells[0] {
        Cell::Words { raw, .. } => names.iter().any(|name| raw.starts_with(name)),
        _ => false,
    };
    let symbols = wording::split_symbols(starts[starts.len() - 1].conventions.minor_stops);
    let [availability, performance] = symbols.map(|symbol| format!("{symbol}, "));
    let names = ["Good packs", ONE_SHIFT, "OEE", availability.as_str(), performance.as_str(), "Q, "];
    // The range of one shift needs ten of them: a row without any is no news to an offer.
    let is_told = |row: &TableRow| row.cells.iter().skip(1).any(|cell| !matches!(cell, Cell::Missing));
    table
        .rows
        .retain(|row| is_named(row, &names) && (is_told(row) || row.sum || !is_named(row, &[ONE_SHIFT])));
    table
}

/// The same as [`factors`] for files: one figure a row, with its unit; shares are 0 to 1.
pub(crate) fn headline(starts: &[Summary]) -> Table {
    let mut rows = Vec::new();
    for summary in starts {
        let by_limit = wording::minor_stops_in_names(MinorStops::Performance);
        let by_iso = wording::minor_stops_in_names(MinorStops::Availability);
        let planned = wording::planned_stops_in_names(summary.conventions.planned_stops);
        let convention = |figure: &str| match figure {
            "oee" | "planned_production_time" => planned.to_owned(),
            "availability" | "performance" => format!("{by_limit}; {planned}"),
            "availability_iso" | "performance_iso" => format!("{by_iso}; {planned}"),
            _ => String::new(),
        };
        let mut add = |figure: &str, unit: &str, mean: Option<Mean>, range: Option<ShiftRange>| {
            let number = |value: Option<f64>| Cell::maybe(value, number::plain);
            rows.push(TableRow::of(vec![
                Cell::words(wording::start_in_names(summary.start)),
                Cell::words(figure),
                Cell::words(unit),
                number(mean.map(|mean| mean.mean)),
                number(mean.and_then(|mean| mean.half_width)),
                number(mean.map(|mean| mean.n as f64)),
                number(range.map(|range| range.p10)),
                number(range.map(|range| range.p90)),
                Cell::words(&convention(figure)),
            ]));
        };
        add("good_packs_per_shift", "packs", Some(summary.good_packs), summary.good_packs_range);
        add("packs_cut_per_shift", "packs", Some(summary.packs.total_packs), None);
        add("oee", "1", Some(summary.oee), summary.oee_range);
        add("availability", "1", Some(summary.availability), None);
        add("performance", "1", summary.performance, None);
        add("quality", "1", summary.quality, None);
        add("availability_iso", "1", Some(summary.availability_iso), None);
        add("performance_iso", "1", summary.performance_iso, None);
        add("quality_without_in_line", "1", summary.quality_without_in_line, None);
        add("long_interruptions_per_shift", "interruptions", Some(summary.long_interruptions), None);
        add("long_interruption_time_per_shift", "s", Some(summary.long_interruption_time_s), None);
        add("short_interruptions_per_shift", "interruptions", Some(summary.short_interruptions), None);
        add("short_interruption_time_per_shift", "s", Some(summary.short_interruption_time_s), None);
        add("good_packs_in_cases_per_shift", "packs", summary.packs.good_in_cases_packs, None);
        add("good_packs_waiting_per_shift", "packs", summary.packs.good_waiting_packs, None);
        add("cases_per_shift", "cases", Some(summary.packs.cases), None);
        add("short_stop_limit", "s", Some(exactly(summary.short_stop_limit_s)), None);
        add("design_rate", "packs/min", Some(exactly(summary.design_rate_per_min)), None);
        add("planned_production_time", "s", Some(exactly(summary.planned_production_time_s)), None);
        add("confidence_level", "1", Some(exactly(summary.level)), None);
    }
    Table {
        name: "headline".to_owned(),
        caption: "Headline figures".to_owned(),
        columns: vec![
            words("start", "start"),
            words("figure", "figure"),
            words("unit", "unit"),
            figures("mean", "mean"),
            figures("half_width", "half width"),
            figures("shifts", "shifts"),
            figures("p10", "10th percentile"),
            figures("p90", "90th percentile"),
            words("convention", "convention"),
        ],
        rows,
    }
}

/// A figure of the model.
fn exactly(mean: f64) -> Mean {
    Mean { mean, half_width: None, n: 0 }
}

/// Every shift.
pub(crate) fn shifts(summary: &Summary) -> Table {
    let percent = |key, heading: &str| figures(key, &format!("{heading}, %"));
    let rows = summary.shifts.iter().map(|shift| {
        let share = |value: Option<f64>| Cell::maybe(value, number::percent_figure);
        TableRow::of(vec![
            Cell::figure(shift.replication as f64, number::fixed(shift.replication as f64 + 1.0, 0)),
            Cell::count(shift.good_packs as f64),
            Cell::count(shift.total_packs as f64),
            share(Some(shift.oee)),
            share(Some(shift.availability)),
            share(shift.performance),
            share(shift.quality),
            share(Some(shift.availability_iso)),
            share(shift.performance_iso),
        ])
    });
    Table {
        name: format!("shifts-{}", wording::start_in_names(summary.start)),
        caption: format!("Every {} shift {}", wording::seen(summary.start), wording::start(summary.start)),
        columns: vec![
            figures("replication", "shift"),
            figures("good_packs", "good packs"),
            figures("total_packs", "packs cut"),
            percent("oee", "OEE"),
            percent("availability", "A"),
            percent("performance", "P"),
            percent("quality", "Q"),
            percent("availability_iso", "A_iso"),
            percent("performance_iso", "P_iso"),
        ],
        rows: rows.collect(),
    }
}

/// Good packs by the hour.
pub(crate) fn hours(summary: &Summary) -> Table {
    let level = wording::level(summary);
    let rows = summary.output.iter().map(|hour| {
        let [mean, half_width] = mean_cells(&hour.good_packs);
        let end = |value: Option<f64>| Cell::maybe(value, |it| number::fixed(it, 0));
        TableRow::of(vec![
            Cell::figure(hour.start_s, number::plain(hour.start_s / 3600.0)),
            Cell::figure(hour.length_s, number::plain(hour.length_s / 60.0)),
            mean,
            half_width,
            end(hour.range.map(|range| range.p10)),
            end(hour.range.map(|range| range.p90)),
        ])
    });
    let columns: Vec<Column> = vec![
        figures("start_s", "from, h"),
        figures("length_s", "length, min"),
        figures("good_packs_mean", "good packs"),
        figures("good_packs_half_width", &format!("±\u{a0}{level}")),
        figures("good_packs_p10", "10th percentile"),
        figures("good_packs_p90", "90th percentile"),
    ];
    Table {
        name: format!("hours-{}", wording::start_in_names(summary.start)),
        caption: format!("Good packs by the hour, {}", wording::mean_of(summary)),
        columns,
        rows: rows.collect(),
    }
}
