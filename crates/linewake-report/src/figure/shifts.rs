//! Every simulated shift as a dot, the range of one shift, and the interval of the mean: three different things.

use super::Figure;
use crate::bars::{NARROW, Scale, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering};
use crate::number;
use crate::style::{Fill, LINE};
use crate::wording;
use linewake_kpi::summary::Summary;

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
/// Room for the dots of one start.
const DOTS: f64 = 64.0;
/// Room for the range and the interval below them.
const LINES: f64 = 76.0;

/// The shifts of both starts on one scale.
pub(crate) fn shifts(starts: &[&Summary]) -> Figure {
    let title = "Good packs of every simulated shift".to_owned();
    let described = starts.iter().map(|summary| {
        let range = summary.good_packs_range.map_or_else(String::new, |range| {
            format!(
                ", 10th to 90th percentile {} to {}",
                number::fixed(range.p10, 0),
                number::fixed(range.p90, 0)
            )
        });
        format!(
            "A shift {}: mean {}{range}.",
            wording::start(summary.start),
            number::rounded(&summary.good_packs).joined()
        )
    });
    let description = described.collect::<Vec<_>>().join(" ");
    let draw = |layout: &str, width: f64| {
        draw(starts, Canvas::new(&format!("shifts-{layout}"), width), &title, &description)
    };
    let level = starts.first().map_or_else(String::new, |summary| wording::level(summary));
    let caption = format!(
        "A dot is one simulated shift. The upper line is where eight of ten single shifts fall (10th to 90th \
         percentile); more runs do not make it shorter. The lower, heavy line is the {level} interval of the mean; \
         more runs do."
    );
    let (wide, narrow) = (draw("wide", WIDE), draw("narrow", NARROW));
    Figure { name: "shifts".to_owned(), title, caption, wide, narrow }
}

fn draw(starts: &[&Summary], mut canvas: Canvas, title: &str, description: &str) -> Drawing {
    let width = canvas.width();
    let values = starts.iter().flat_map(|summary| summary.shifts.iter().map(|shift| shift.good_packs as f64));
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
    let (low, high) = if low.is_finite() { (low, high) } else { (0.0, 1.0) };
    let margin = ((high - low) * 0.04).max(1.0);
    let (low, high) = ((low - margin).max(0.0), high + margin);
    let edge = SMALL.width(&number::fixed(high, 1)) / 2.0 + 2.0;
    let scale = Scale { low, high, left: edge, right: width - edge };
    let block = 22.0 + DOTS + LINES;
    let bottom = block * starts.len() as f64 + 4.0;
    let axis = scale.draw(&mut canvas, 4.0, bottom, "good packs a shift (the scale does not begin at 0)");
    for (place, summary) in starts.iter().enumerate() {
        let top = block * place as f64;
        let heading = format!("A shift {}", wording::start(summary.start));
        canvas.text(0.0, top + 16.0, Anchor::Start, BODY.bold(), &heading);
        draw_dots(&mut canvas, summary, scale, top + 22.0 + DOTS);
        draw_lines(&mut canvas, summary, scale, top + 22.0 + DOTS + 14.0);
    }
    canvas.finish(bottom + axis, title, description)
}

/// Dots in stacks, so that each is seen.
fn draw_dots(canvas: &mut Canvas, summary: &Summary, scale: Scale, floor: f64) {
    let radius = if summary.shifts.len() > 400 { 2.0 } else { 3.4 };
    let stacks = ((scale.right - scale.left) / (2.0 * radius + 1.0)).floor().max(1.0) as usize;
    let mut heights = vec![0_usize; stacks + 1];
    let stack_of = |packs: f64| {
        let share = (scale.at(packs) - scale.left) / (scale.right - scale.left);
        ((share * stacks as f64) as usize).min(stacks)
    };
    for shift in &summary.shifts {
        heights[stack_of(shift.good_packs as f64)] += 1;
    }
    let tallest = heights.iter().copied().max().unwrap_or(0).max(1) as f64;
    let pitch = (2.0 * radius + 0.8).min((DOTS - 8.0) / tallest);
    let width = (scale.right - scale.left) / stacks as f64;
    for (stack, height) in heights.iter().enumerate() {
        let x = scale.left + (stack as f64 + 0.5) * width;
        for place in 0..*height {
            canvas.dot(x.min(scale.right), floor - radius - pitch * place as f64, radius, Fill::Starved);
        }
    }
    canvas.line((scale.left, floor + 1.0), (scale.right, floor + 1.0), LINE, 0.8);
}

fn draw_lines(canvas: &mut Canvas, summary: &Summary, scale: Scale, y: f64) {
    if let Some(range) = summary.good_packs_range {
        let (from, to) = (scale.at(range.p10), scale.at(range.p90));
        canvas.line((from, y), (to, y), LINE, 1.4);
        for end in [from, to] {
            canvas.line((end, y - 5.0), (end, y + 5.0), LINE, 1.4);
        }
        let words = format!("one shift: {} to {}", number::fixed(range.p10, 0), number::fixed(range.p90, 0));
        label_below(canvas, (from, to), y + 17.0, &words);
    }
    let mean = summary.good_packs;
    let half = mean.half_width.unwrap_or(0.0);
    let (from, to) = (scale.at(mean.mean - half), scale.at(mean.mean + half));
    let mean_y = y + 32.0;
    canvas.line((from, mean_y), (to, mean_y), "#0072B2", 6.0);
    canvas.line((scale.at(mean.mean), mean_y - 6.0), (scale.at(mean.mean), mean_y + 6.0), LINE, 2.0);
    let words = format!("mean of shifts: {}", number::rounded(&mean).joined());
    label_below(canvas, (from, to), mean_y + 19.0, &words);
}

/// In the middle below a line, moved so far that nothing is cut off.
fn label_below(canvas: &mut Canvas, (from, to): (f64, f64), y: f64, words: &str) {
    let half = SMALL.width(words) / 2.0;
    let middle = f64::midpoint(from, to).min(canvas.width() - half).max(half);
    canvas.text(middle, y, Anchor::Middle, SMALL, words);
}
