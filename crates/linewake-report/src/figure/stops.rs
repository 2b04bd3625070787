//! The stop Pareto: packs that each reason cost, the costliest first.

use super::Figure;
use crate::bars::{Bars, Row, Segment};
use crate::losses::fill;
use crate::number;
use crate::style::Fill;
use crate::wording;
use linewake_kpi::summary::{ParetoSummaryRow, Summary};

/// Rows that are drawn; the others are one row.
const MOST: usize = 14;

/// The Pareto of a summary.
pub(crate) fn stops(summary: &Summary) -> Figure {
    let all = &summary.pareto;
    // One row too many is shown, since "1 other" would take the same room.
    let kept = if all.len() <= MOST + 1 { all.len() } else { MOST };
    let mut rows: Vec<Row> = all[..kept].iter().map(row).collect();
    if kept < all.len() {
        rows.push(others(&all[kept..]));
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
                "{} costs most, {} packs a shift, {} of all that stops cost.",
                wording::stop(row.kind, &row.station, &row.reason),
                number::count(row.packs.mean),
                number::percent(row.share)
            )
        },
    );
    let bars = Bars {
        id: format!("stops-{}", wording::start_in_names(summary.start)),
        title: format!("Which stops cost most, a shift {}", wording::start(summary.start)),
        description: format!("{first} {} reasons; {}.", all.len(), wording::mean_of(summary)),
        scale: "packs that the constraint did not make, a shift".to_owned(),
        headings: vec!["stops".to_owned(), "packs".to_owned(), "cumulative".to_owned()],
        legend,
        rows,
    };
    let caption = format!(
        "Packs charged to each reason at its station, recovery included; the thin line is the {} interval of the \
         mean. What switching one reason off would bring is another question: two stops that hide each other each \
         cost little alone.",
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
        whisker: row
            .packs
            .half_width
            .filter(|it| *it > 0.0)
            .map(|half| ((mean - half).max(0.0), mean + half)),
        figures: vec![
            row.count.map_or_else(|| "\u{2013}".to_owned(), |count| number::count(count.mean)),
            number::count(mean),
            number::percent(row.cumulative_share),
        ],
        ..Row::default()
    }
}

fn others(rows: &[ParetoSummaryRow]) -> Row {
    let packs: f64 = rows.iter().map(|row| row.packs.mean).sum();
    let count: f64 = rows.iter().filter_map(|row| row.count).map(|count| count.mean).sum();
    Row {
        label: format!("{} other reasons", rows.len()),
        segments: vec![Segment { from: 0.0, to: packs, fill: Fill::Rest }],
        figures: vec![
            number::count(count),
            number::count(packs),
            number::percent(rows.last().map_or(0.0, |row| row.cumulative_share)),
        ],
        ..Row::default()
    }
}
