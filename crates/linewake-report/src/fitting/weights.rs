//! Portion weights: figures in words, and how the weights hang together.

use super::panel::{Axis, HEIGHT, Panel, Spacing};
use super::{count, sentence, words};
use crate::bars::{NARROW, WIDE};
use crate::canvas::Canvas;
use crate::figure::Figure;
use crate::number;
use crate::page::figure_alone;
use linewake_kpi::study::fitting::{Bounded, CurvePoint, WeightsFit};
use maud::{Markup, html};

/// The section.
pub(super) fn body(weights: &WeightsFit) -> Markup {
    let grams = |bounded: &Bounded| format!("{}\u{a0}g", words::bare(bounded));
    let batches = if weights.batches > 0 {
        format!(
            " in {}",
            count(usize::try_from(weights.batches).unwrap_or(0), "batch").replace("batchs", "batches")
        )
    } else {
        String::new()
    };
    html! {
        p { (count(usize::try_from(weights.packs).unwrap_or(usize::MAX), "pack")) (batches) " weighed." }
        dl.facts {
            dt { "Mean" } dd { (precise(&weights.mean_g)) }
            dt { "Standard deviation from portion to portion" } dd { (grams(&weights.sd_g)) }
            @if let Some(batch) = &weights.sd_batch_g {
                dt { "Standard deviation between batches" } dd { (grams(batch)) }
            }
            dt { "Slow drift" }
            dd {
                @if let Some(drift) = &weights.drift {
                    "standard deviation " (grams(&drift.sd_g)) ", correlation down to 37\u{a0}% after "
                    (words::bare(&drift.correlation_packs)) " packs"
                    @if let Some(seconds) = drift.correlation_s { " (" (number::duration(seconds)) ")" }
                } @else { "none found: neighbours do not hang together beyond their batch" }
            }
        }
        @for note in &weights.notes { p.note { (sentence(note)) } }
        (figure_alone(&figure(weights)))
    }
}

/// A mean weight: finer than three digits.
fn precise(bounded: &Bounded) -> String {
    let of = |value: f64| number::fixed(value, 2);
    match (bounded.low, bounded.high) {
        (Some(low), Some(high)) => format!("{} ({} to {})\u{a0}g", of(bounded.value), of(low), of(high)),
        _ => format!("{}\u{a0}g", of(bounded.value)),
    }
}

/// How many of each weight, and how weights some packs apart differ.
pub(super) fn figure(weights: &WeightsFit) -> Figure {
    let axis = |spacing, low, high, words: &str| Some(Axis { spacing, low, high, words: words.to_owned() });
    let columns: Vec<(f64, f64, f64)> =
        weights.bins.iter().map(|bin| (bin.from, bin.to, bin.count as f64)).collect();
    let expected: Vec<(f64, f64)> = weights
        .bins
        .iter()
        .zip(&weights.expected)
        .map(|(bin, expected)| (f64::midpoint(bin.from, bin.to), *expected))
        .collect();
    let highest = columns.iter().map(|it| it.2).chain(expected.iter().map(|it| it.1)).fold(1.0, f64::max);
    let (low, high) = match (weights.bins.first(), weights.bins.last()) {
        (Some(first), Some(last)) => (first.from, last.to),
        _ => (0.0, 1.0),
    };
    let of = |points: &[CurvePoint]| -> Vec<(f64, f64)> {
        points.iter().map(|point| (point.x, point.y)).collect()
    };
    let points = of(&weights.variogram);
    let top = points.iter().map(|point| point.1).fold(0.0, f64::max);
    let longest = points.iter().map(|point| point.0).fold(2.0, f64::max);
    let panels = [
        Panel {
            title: "How many of each weight",
            x: axis(Spacing::Even, low, high, "weight, g"),
            y: axis(Spacing::Even, 0.0, highest * 1.05, ""),
            columns,
            lines: vec![(expected, "")],
            points: Vec::new(),
        },
        Panel {
            title: "Half mean square of differences, g²",
            x: axis(Spacing::Log, 0.9, longest * 1.1, "packs apart, in one batch"),
            y: axis(Spacing::Even, 0.0, top * 1.1, ""),
            columns: Vec::new(),
            lines: vec![(of(&weights.variogram_fitted), "")],
            points,
        },
    ];
    let title = "Weights, and how they hang together";
    let description = format!(
        "{} packs of mean {} g.",
        number::fixed(weights.packs as f64, 0),
        number::plain(weights.mean_g.value)
    );
    let mut wide = Canvas::new("weights-wide", WIDE);
    let mut narrow = Canvas::new("weights-narrow", NARROW);
    for (place, panel) in panels.iter().enumerate() {
        panel.draw(&mut wide, place as f64 * WIDE / 2.0, 0.0, WIDE / 2.0 - 14.0);
        panel.draw(&mut narrow, 0.0, place as f64 * (HEIGHT + 8.0), NARROW);
    }
    Figure {
        name: "weights".to_owned(),
        title: title.to_owned(),
        caption: "Columns and points: the file; lines: the fitted model. A drift shows as points that rise with the \
                  distance of the packs."
            .to_owned(),
        wide: wide.finish(HEIGHT, title, &description),
        narrow: narrow.finish(2.0 * (HEIGHT + 8.0), title, &description),
    }
}
