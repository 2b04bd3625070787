//! Every simulated shift as a dot, the range of one shift, and the interval of the mean: three different things.

use super::Figure;
use crate::bars::{NARROW, Scale, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering};
use crate::number;
use crate::style::{Fill, LINE, MEAN};
use crate::wording;
use linewake_kpi::summary::Summary;

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
/// Diameter of a dot.
const DOT: f64 = 6.8;
/// Most room for the dots of one start.
const DOTS: f64 = 64.0;
/// Room for the range and the interval below them.
const LINES: f64 = 76.0;

/// The shifts of both starts on one scale.
pub(crate) fn shifts(starts: &[Summary]) -> Figure {
    let seen = starts.first().map_or("simulated", |summary| wording::seen(summary.start));
    let title = format!("Good packs of every {seen} shift");
    let described = starts.iter().map(|summary| {
        let range = summary.good_packs_range.map_or_else(String::new, |range| {
            format!(", 10th to 90th percentile {}", number::range(range, "to"))
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
    let level = starts.first().map_or_else(String::new, wording::level);
    let caption = format!(
        "A dot is one {seen} shift (with very many shifts, columns). The upper line is where eight of ten single shifts fall (10th to 90th \
         percentile); more runs do not make it shorter. The lower, heavy line is the {level} interval of the mean; \
         more runs do."
    );
    let (wide, narrow) = (draw("wide", WIDE), draw("narrow", NARROW));
    Figure { name: "shifts".to_owned(), title, caption, wide, narrow }
}

fn draw(starts: &[Summary], mut canvas: Canvas, title: &str, description: &str) -> Drawing {
    let width = canvas.width();
    let (low, high) = ends(starts);
    let edge = SMALL.width(&number::fixed(high, 1)) / 2.0 + 2.0;
    let scale = Scale { low, high, left: edge, right: width - edge };
    let stacks: Vec<Vec<usize>> = starts.iter().map(|summary| stacks(summary, scale)).collect();
    let tallest = stacks.iter().flatten().copied().max().unwrap_or(0).max(1) as f64;
    let room = (tallest * (DOT + 0.8) + 6.0).min(DOTS);
    let block = 24.0 + room + LINES;
    let bottom = block * starts.len() as f64 + 4.0;
    let from_zero = if low > 0.0 { " (the scale does not begin at 0)" } else { "" };
    let axis = scale.draw(&mut canvas, 4.0, bottom, &format!("good packs a shift{from_zero}"));
    for (place, (summary, stacks)) in starts.iter().zip(&stacks).enumerate() {
        let top = block * place as f64;
        let heading = format!("A shift {}", wording::start(summary.start));
        canvas.blank(0.0, top + 4.0, BODY.bold().width(&heading), 16.0);
        canvas.text(0.0, top + 16.0, Anchor::Start, BODY.bold(), &heading);
        let floor = top + 24.0 + room;
        draw_stacks(&mut canvas, stacks, scale, floor, ((room - 6.0) / tallest).min(DOT + 0.8));
        draw_lines(&mut canvas, summary, scale, floor + 14.0);
    }
    canvas.finish(bottom + axis, title, description)
}

/// Ends of the scale: all shifts, ranges and intervals, and a little more.
fn ends(starts: &[Summary]) -> (f64, f64) {
    let values = starts.iter().flat_map(|summary| {
        let mean = summary.good_packs;
        let half = mean.half_width.unwrap_or(0.0);
        let range = summary.good_packs_range.map_or([mean.mean; 2], |range| [range.p10, range.p90]);
        let shifts = summary.shifts.iter().map(|shift| shift.good_packs as f64);
        shifts.chain(range).chain([mean.mean - half, mean.mean + half])
    });
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
    let (low, high) = if low.is_finite() { (low, high) } else { (0.0, 1.0) };
    let margin = ((high - low) * 0.04).max(1.0);
    ((low - margin).max(0.0), high + margin)
}

/// How many shifts fall at each place of the scale that a dot takes.
fn stacks(summary: &Summary, scale: Scale) -> Vec<usize> {
    let places = ((scale.right - scale.left) / (DOT + 1.0)).floor().max(1.0);
    let mut stacks = vec![0; places as usize];
    for shift in &summary.shifts {
        let share = (scale.at(shift.good_packs as f64) - scale.left) / (scale.right - scale.left);
        let place = ((share * places) as usize).min(stacks.len() - 1);
        stacks[place] += 1;
    }
    stacks
}

/// Dots in stacks, so that each is seen; columns where there are more shifts than dots can be told apart.
fn draw_stacks(canvas: &mut Canvas, stacks: &[usize], scale: Scale, floor: f64, pitch: f64) {
    let width = (scale.right - scale.left) / stacks.len() as f64;
    for (stack, height) in stacks.iter().enumerate().filter(|(_, height)| **height > 0) {
        let left = scale.left + stack as f64 * width;
        if pitch < DOT / 2.0 {
            let height = pitch * *height as f64;
            canvas.area(left + 0.5, floor - height, width - 1.0, height, Fill::Starved);
        } else {
            for place in 0..*height {
                let y = floor - DOT / 2.0 - pitch * place as f64;
                canvas.dot(left + width / 2.0, y, DOT / 2.0, Fill::Starved);
            }
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
        let words = format!("one shift: {}", number::range(range, "to"));
        label_below(canvas, (from, to), y + 17.0, &words);
    }
    let mean = summary.good_packs;
    let half = mean.half_width.unwrap_or(0.0);
    let (from, to) = (scale.at(mean.mean - half), scale.at(mean.mean + half));
    let mean_y = y + 32.0;
    canvas.line((from, mean_y), (to, mean_y), MEAN, 6.0);
    canvas.line((scale.at(mean.mean), mean_y - 6.0), (scale.at(mean.mean), mean_y + 6.0), LINE, 2.0);
    let words = format!("mean of shifts: {}", number::rounded(&mean).joined());
    label_below(canvas, (from, to), mean_y + 19.0, &words);
}

/// In the middle below a line, moved so far that nothing is cut off.
fn label_below(canvas: &mut Canvas, (from, to): (f64, f64), y: f64, words: &str) {
    let half = SMALL.width(words) / 2.0;
    let middle = f64::midpoint(from, to).min(canvas.width() - half).max(half);
    canvas.blank(middle - half - 2.0, y - 10.0, 2.0 * half + 4.0, 13.0);
    canvas.text(middle, y, Anchor::Middle, SMALL, words);
}
