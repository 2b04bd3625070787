//! The reject ledger: place by place, each reason; then what escaped, which is no loss but must be seen beside it.

use super::Figure;
use crate::bars::{Bars, Row, Segment};
use crate::losses::fill_of_reject;
use crate::number;
use crate::style::Fill;
use crate::wording;
use linewake_kpi::summary::{RejectSummary, Summary};

/// Reasons of one place that are drawn; the others are one row.
const MOST: usize = 8;

/// The ledger; `None` where nothing was rejected and nothing escaped.
pub(crate) fn rejects(summary: &Summary) -> Option<Figure> {
    let all = &summary.ledger.rejects;
    let escaped = &summary.packs.escaped;
    if all.is_empty() && escaped.is_empty() {
        return None;
    }
    let total = summary.packs.total_packs.mean;
    let share = |packs: f64| match packs / total * 1000.0 {
        _ if total <= 0.0 => String::new(),
        few if few > 0.0 && few < 0.005 => "<0.01\u{a0}‰".to_owned(),
        share => format!("{}\u{a0}‰", number::fixed(share, 2)),
    };
    let figures = |packs: f64| vec![number::count(packs), share(packs)];
    let mut rows = Vec::new();
    for places in by_place(all) {
        let sum: f64 = places.iter().map(|row| row.packs.mean).sum();
        rows.push(Row {
            label: places[0].station.clone(),
            figures: figures(sum),
            strong: true,
            ..Row::default()
        });
        let kept = if places.len() <= MOST + 1 { places.len() } else { MOST };
        rows.extend(
            places[..kept].iter().map(|row| Row {
                figures: figures(row.packs.mean),
                ..bar(&wording::reason(&row.reason), row)
            }),
        );
        if kept < places.len() {
            let rest: f64 = places[kept..].iter().map(|row| row.packs.mean).sum();
            rows.push(Row {
                label: format!("{} other reasons", places.len() - kept),
                segments: vec![Segment { from: 0.0, to: rest, fill: Fill::Rest }],
                figures: figures(rest),
                ..Row::default()
            });
        }
    }
    let mut legend = Vec::new();
    let mut tell = |seen: bool, fill: Fill, words: &str| {
        if seen {
            legend.push((fill, words.to_owned()));
        }
    };
    tell(all.iter().any(|row| !row.consequence_of_stop), Fill::Reject, "rejected or scrapped");
    tell(
        all.iter().any(|row| row.consequence_of_stop),
        Fill::Consequence,
        "the same, as the consequence of a stop",
    );
    tell(!escaped.is_empty(), Fill::Kept, "escaped: counts as good");
    if !escaped.is_empty() {
        let sum: f64 = escaped.iter().map(|row| row.packs.mean).sum();
        rows.push(Row {
            label: "found nowhere: escaped".to_owned(),
            figures: figures(sum),
            strong: true,
            ..Row::default()
        });
        rows.extend(escaped.iter().map(|row| Row {
            label: wording::reason(&row.reason),
            segments: vec![Segment { from: 0.0, to: row.packs.mean, fill: Fill::Kept }],
            whiskers: crate::bars::whisker(&row.packs).into_iter().collect(),
            figures: figures(row.packs.mean),
            ..Row::default()
        }));
    }
    let largest = all.first().map_or_else(
        || "Nothing was rejected.".to_owned(),
        |row| {
            format!(
                "Most of one kind: {} at {}, {} packs.",
                wording::reason(&row.reason),
                row.station,
                number::count(row.packs.mean)
            )
        },
    );
    let bars = Bars {
        id: format!("rejects-{}", wording::start_in_names(summary.start)),
        title: format!("Rejects by place and reason, a shift {}", wording::start(summary.start)),
        description: format!("{largest} {} kinds in all; {}.", all.len(), wording::mean_of(summary)),
        scale: "packs a shift".to_owned(),
        headings: vec!["packs".to_owned(), "of those cut".to_owned()],
        legend,
        ring: String::new(),
        rows,
    };
    let caption = format!(
        "In line order: the place is the station in whose bin the packs are, or at which they were scrapped. The thin line \
         is the {} interval of the mean. ‰ is packs of a thousand cut.",
        wording::level(summary)
    );
    Some(Figure::of_bars(&bars, caption))
}

/// In line order of the place; within it the largest first.
fn by_place(all: &[RejectSummary]) -> Vec<Vec<&RejectSummary>> {
    let mut sorted: Vec<&RejectSummary> = all.iter().collect();
    // A stable sort: the ledger has the largest first.
    sorted.sort_by_key(|row| row.station_index);
    sorted.chunk_by(|one, other| one.station_index == other.station_index).map(<[_]>::to_vec).collect()
}

fn bar(label: &str, row: &RejectSummary) -> Row {
    let fill = fill_of_reject(row);
    Row {
        label: label.to_owned(),
        segments: vec![Segment { from: 0.0, to: row.packs.mean, fill }],
        whiskers: crate::bars::whisker(&row.packs).into_iter().collect(),
        ..Row::default()
    }
}
