//! The chain from design through A, P and Q to good, packs as lengths.

use super::Figure;
use crate::bars::{Bars, Row, Segment};
use crate::number;
use crate::style::Fill;
use crate::wording::{self, upper_first};
use linewake_kpi::convention::MinorStops;
use linewake_kpi::summary::Summary;

/// The chain of a summary.
pub(crate) fn chain(summary: &Summary) -> Figure {
    let design = summary.ledger.design_packs.mean;
    let split = summary.split();
    let [a, p] = wording::split_symbols(summary.conventions.minor_stops);
    let available = design * split.availability.mean;
    let total = summary.packs.total_packs.mean;
    let good = summary.good_packs.mean;
    let share = |mean: Option<f64>| mean.map_or(number::NONE.to_owned(), number::percent);
    let (after, cut) = match summary.conventions.minor_stops {
        MinorStops::Performance => {
            (format!("after {}", wording::limit(summary)), "packs cut, after short stops and slow cycles")
        }
        MinorStops::Availability => ("after every stop".to_owned(), "packs cut, after slow cycles"),
    };
    let rows = vec![
        row("Design", "planned production time × design rate", None, design),
        row(&format!("{a}  {}", number::percent(split.availability.mean)), &after, Some(design), available),
        row(&format!("{p}  {}", share(split.performance.map(|it| it.mean))), cut, Some(available), total),
        row(
            &format!("Q  {}", share(summary.quality.map(|it| it.mean))),
            "good, after rejects and what is in the line",
            Some(total),
            good,
        ),
    ];
    let description = format!(
        "Design {} packs, {} after availability, {} cut after performance, {} good after quality; {}.",
        number::fixed(design, 0),
        number::fixed(available, 0),
        number::fixed(total, 0),
        number::fixed(good, 0),
        wording::mean_of(summary)
    );
    let bars = Bars {
        id: format!("chain-{}", wording::start_in_names(summary.start)),
        title: format!("From design to good, a shift {}", wording::start(summary.start)),
        description,
        scale: "packs a shift".to_owned(),
        headings: vec!["lost here".to_owned(), "packs left".to_owned()],
        legend: vec![(Fill::Kept, "packs left".to_owned()), (Fill::Lost, "lost in this step".to_owned())],
        ring: String::new(),
        rows,
    };
    let [minor_stops, _] = wording::conventions(summary);
    let caption = format!(
        "Each bar is what the step leaves of the bar above it: design × {a} × {p} × Q = good. {minor_stops} {}.",
        upper_first(&wording::mean_of(summary))
    );
    Figure::of_bars(&bars, caption)
}

fn row(label: &str, note: &str, before: Option<f64>, left: f64) -> Row {
    let mut segments = vec![Segment { from: 0.0, to: left, fill: Fill::Kept }];
    let mut lost = String::new();
    if let Some(before) = before {
        if before > left {
            segments.push(Segment { from: left, to: before, fill: Fill::Lost });
        }
        lost = number::fixed(left - before, 0);
        if left > before {
            lost.insert(0, '+');
        }
    }
    Row {
        label: label.to_owned(),
        note: note.to_owned(),
        segments,
        figures: vec![lost, number::fixed(left, 0)],
        strong: true,
        ..Row::default()
    }
}
