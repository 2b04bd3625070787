//! The stop Pareto: packs that each reason cost, the costliest first.

use super::Figure;
use crate::bars::{Bars, Row, Segment, whisker};
use crate::losses::fill;
use crate::number;
use crate::style::Fill;
use crate::wording;
use linewake_kpi::summary::{ParetoSummaryRow, Summary};

/// Rows that are drawn; the others are one row.
const MOST: usize = 14;

/// The Pareto of a summary: all stations.
pub(crate) fn stops(summary: &Summary) -> Figure {
    let all: Vec<&ParetoSummaryRow> = summary.pareto.iter().collect();
    let id = format!("stops-{}", wording::start_in_names(summary.start));
    let title = format!("Which stops cost most, a shift {}", wording::start(summary.start));
    pareto(summary, &all, id, title, "")
}

/// The Pareto of each station that stopped, in line order, with the id of the station.
pub(crate) fn stops_by_station(summary: &Summary) -> Vec<(String, Figure)> {
    let mut rows: Vec<&ParetoSummaryRow> = summary.pareto.iter().collect();
    // A stable sort: the costliest stays first.
    rows.sort_by_key(|row| row.station_index);
    let of_station = |rows: &[&ParetoSummaryRow]| {
        let (place, station) = (rows[0].station_index, &rows[0].station);
        let id = format!("stops-{}-at-{place}", wording::start_in_names(summary.start));
        let title = format!("Which stops of {station} cost most, a shift {}", wording::start(summary.start));
        (station.clone(), pareto(summary, rows, id, title, station))
    };
    rows.chunk_by(|one, other| one.station_index == other.station_index).map(of_station).collect()
}

/// The Pareto of some rows, the costliest first.
fn pareto(summary: &Summary, all: &[&ParetoSummaryRow], id: String, title: String, station: &str) -> Figure {
    let whole: f64 = all.iter().map(|row| row.packs.mean).sum();
    // One row too many is shown, since "1 other" would take the same room.
    let kept = if all.len() <= MOST + 1 { all.len() } else { MOST };
    let mut rows: Vec<Row> = all[..kept].iter().map(|it| row(it)).collect();
    if kept < all.len() {
        rows.push(others(&all[kept..]));
    }
    let mut cumulative = 0.0;
    let mut packs = all[..kept].iter().map(|row| row.packs.mean);
    for row in &mut rows {
        cumulative = packs.next().map_or(whole, |packs| cumulative + packs);
        let share = if whole > 0.0 { cumulative / whole } else { 0.0 };
        row.figures.push(number::percent(share));
        row.cumulative = (whole > 0.0).then_some(share);
    }
    let mut legend: Vec<(Fill, String)> = Vec::new();
    let mut tell = |fill: Fill, words: &str| {
        if !legend.iter().any(|(known, _)| *known == fill) {
            legend.push((fill, words.to_owned()));
        }
    };
    for row in &all[..kept] {
        match fill(row.kind) {
            Fill::Stop => tell(Fill::Stop, "own stop"),
            Fill::Planned => tell(Fill::Planned, "planned stop"),
            other => tell(other, "supply"),
        }
    }
    if all.iter().any(|row| row.recovery_packs > 0.0) {
        tell(Fill::Recovery, "recovery after it");
    }
    if kept < all.len() {
        tell(Fill::Rest, "others");
    }
    let first = all.first().map_or_else(
        || "There were no stops.".to_owned(),
        |row| {
            format!(
                "{} costs most, {} packs a shift, {} of all that {} cost.",
                wording::stop(row.kind, &row.station, &row.reason),
                number::count(row.packs.mean),
                number::percent(if whole > 0.0 { row.packs.mean / whole } else { 0.0 }),
                if station.is_empty() { "stops" } else { "its stops" }
            )
        },
    );
    let bars = Bars {
        id,
        title,
        description: format!("{first} {} reasons; {}.", all.len(), wording::mean_of(summary)),
        scale: "packs that the constraint did not make, a shift".to_owned(),
        headings: ["stops", "min", "packs", "cumulative"].map(str::to_owned).to_vec(),
        legend,
        ring: String::new(),
        rows,
    };
    let whose = if station.is_empty() {
        String::new()
    } else {
        format!(" This is {station} alone: the scale and the cumulative share are its own.")
    };
    let caption = format!(
        "Bars: packs charged to each reason at its station, recovery included; the thin line is the {} interval of the \
         mean. Rings: the share that a row and all above it make up. Minutes are those of the station, waiting and repair, \
         whether or not they held the constraint up.{whose} What switching one reason off would bring is another \
         question: two stops that hide each other each cost little alone.",
        wording::level(summary)
    );
    Figure::of_bars(&bars, caption)
}

fn row(row: &ParetoSummaryRow) -> Row {
    let direct = row.packs.mean - row.recovery_packs;
    let mean = row.packs.mean;
    Row {
        label: wording::stop(row.kind, &row.station, &row.reason),
        segments: vec![
            Segment { from: 0.0, to: direct, fill: fill(row.kind) },
            Segment { from: direct, to: mean, fill: Fill::Recovery },
        ],
        whiskers: whisker(&row.packs).into_iter().collect(),
        figures: vec![
            row.count.map_or_else(|| "\u{2013}".to_owned(), |count| number::count(count.mean)),
            number::minutes(row.stopped_s.mean),
            number::count(mean),
        ],
        ..Row::default()
    }
}

fn others(rows: &[&ParetoSummaryRow]) -> Row {
    let packs: f64 = rows.iter().map(|row| row.packs.mean).sum();
    let count: f64 = rows.iter().filter_map(|row| row.count).map(|count| count.mean).sum();
    let stopped_s: f64 = rows.iter().map(|row| row.stopped_s.mean).sum();
    Row {
        label: format!("{} other reasons", rows.len()),
        segments: vec![Segment { from: 0.0, to: packs, fill: Fill::Rest }],
        figures: vec![number::count(count), number::minutes(stopped_s), number::count(packs)],
        ..Row::default()
    }
}
