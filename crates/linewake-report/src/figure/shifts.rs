//! Every simulated shift as a dot, the range of one shift, and the interval of the mean: three different things.

use super::Figure;
use crate::bars::{NARROW, Scale, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering};
use crate::number;
use crate::style::{Fill, LINE, MEAN};
use crate::wording;
use linewake_kpi::summary::{Mean, ShiftRange, Summary};

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
/// Diameter of a dot.
const DOT: f64 = 6.8;
/// Most room for the dots of one start.
const DOTS: f64 = 64.0;
/// Room for the range and the interval below them.
const LINES: f64 = 76.0;

/// What is shown of each shift.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Measure {
    GoodPacks,
    Oee,
}

impl Measure {
    fn name(self) -> &'static str {
        match self {
            Self::GoodPacks => "shifts",
            Self::Oee => "oee",
        }
    }

    /// Words for the scale, with its unit.
    fn scale(self) -> &'static str {
        match self {
            Self::GoodPacks => "good packs a shift",
            Self::Oee => "OEE of a shift, %",
        }
    }

    /// Values of the shifts: packs, or percent.
    fn of_shifts(self, summary: &Summary) -> impl Iterator<Item = f64> {
        summary.shifts.iter().map(move |shift| match self {
            Self::GoodPacks => shift.good_packs as f64,
            Self::Oee => shift.oee * 100.0,
        })
    }

    fn mean(self, summary: &Summary) -> Mean {
        match self {
            Self::GoodPacks => summary.good_packs,
            Self::Oee => Mean {
                mean: summary.oee.mean * 100.0,
                half_width: summary.oee.half_width.map(|half| half * 100.0),
                n: summary.oee.n,
            },
        }
    }

    fn range(self, summary: &Summary) -> Option<ShiftRange> {
        match self {
            Self::GoodPacks => summary.good_packs_range,
            Self::Oee => {
                summary.oee_range.map(|range| ShiftRange { p10: range.p10 * 100.0, p90: range.p90 * 100.0 })
            }
        }
    }

    fn mean_in_words(self, summary: &Summary) -> String {
        match self {
            Self::GoodPacks => number::rounded(&summary.good_packs).joined(),
            Self::Oee => number::percent_with_interval(&summary.oee),
        }
    }

    fn range_in_words(self, range: ShiftRange) -> String {
        match self {
            Self::GoodPacks => number::range(range, "to"),
            Self::Oee => format!("{} to {}\u{a0}%", number::fixed(range.p10, 1), number::fixed(range.p90, 1)),
        }
    }
}

/// The good packs of the shifts of both starts on one scale.
pub(crate) fn shifts(starts: &[Summary]) -> Figure {
    spread(starts, Measure::GoodPacks)
}

/// The OEE of the shifts of both starts on one scale.
pub(crate) fn oee(starts: &[Summary]) -> Figure {
    spread(starts, Measure::Oee)
}

fn spread(starts: &[Summary], measure: Measure) -> Figure {
    let seen = starts.first().map_or("simulated", |summary| wording::seen(summary.start));
    let title = match measure {
        Measure::GoodPacks => format!("Good packs of every {seen} shift"),
        Measure::Oee => format!("OEE of every {seen} shift"),
    };
    let described = starts.iter().map(|summary| {
        let range = measure.range(summary).map_or_else(String::new, |range| {
            format!(", 10th to 90th percentile {}", measure.range_in_words(range))
        });
        format!("A shift {}: mean {}{range}.", wording::start(summary.start), measure.mean_in_words(summary))
    });
    let description = described.collect::<Vec<_>>().join(" ");
    let draw = |layout: &str, width: f64| {
        draw(
            starts,
            measure,
            Canvas::new(&format!("{}-{layout}", measure.name()), width),
            &title,
            &description,
        )
    };
    let level = starts.first().map_or_else(String::new, wording::level);
    let caption = format!(
        "{}: a dot is one {seen} shift (with very many shifts, columns). The upper line is where eight of ten single shifts fall (10th to 90th \
         percentile); more runs do not make it shorter. The lower, heavy line is the {level} interval of the mean; \
         more runs do.",
        match measure {
            Measure::GoodPacks => "Good packs",
            Measure::Oee => "OEE",
        }
    );
    let (wide, narrow) = (draw("wide", WIDE), draw("narrow", NARROW));
    Figure { name: measure.name().to_owned(), title, caption, wide, narrow }
}

fn draw(starts: &[Summary], measure: Measure, mut canvas: Canvas, title: &str, description: &str) -> Drawing {
    let width = canvas.width();
    let (low, high) = ends(starts, measure);
    let edge = SMALL.width(&number::fixed(high, 1)) / 2.0 + 2.0;
    let scale = Scale { low, high, left: edge, right: width - edge };
    let stacks: Vec<Vec<usize>> = starts.iter().map(|summary| stacks(summary, measure, scale)).collect();
    let tallest = stacks.iter().flatten().copied().max().unwrap_or(0).max(1) as f64;
    let room = (tallest * (DOT + 0.8) + 6.0).min(DOTS);
    let block = 24.0 + room + LINES;
    let bottom = block * starts.len() as f64 + 4.0;
    let from_zero = if low > 0.0 { " (the scale does not begin at 0)" } else { "" };
    let axis = scale.draw(&mut canvas, 4.0, bottom, &format!("{}{from_zero}", measure.scale()));
    for (place, (summary, stacks)) in starts.iter().zip(&stacks).enumerate() {
        let top = block * place as f64;
        let heading = format!("A shift {}", wording::start(summary.start));
        canvas.blank(0.0, top + 4.0, BODY.bold().width(&heading), 16.0);
        canvas.text(0.0, top + 16.0, Anchor::Start, BODY.bold(), &heading);
        let floor = top + 24.0 + room;
        draw_stacks(&mut canvas, stacks, scale, floor, ((room - 6.0) / tallest).min(DOT + 0.8));
        draw_lines(&mut canvas, summary, measure, scale, floor + 14.0);
    }
    canvas.finish(bottom + axis, title, description)
}

/// Ends of the scale: all shifts, ranges and intervals, and a little more.
fn ends(starts: &[Summary], measure: Measure) -> (f64, f64) {
    let values = starts.iter().flat_map(|summary| {
        let mean = measure.mean(summary);
        let half = mean.half_width.unwrap_or(0.0);
        let range = measure.range(summary).map_or([mean.mean; 2], |range| [range.p10, range.p90]);
        measure.of_shifts(summary).chain(range).chain([mean.mean - half, mean.mean + half])
    });
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
    let (low, high) = if low.is_finite() { (low, high) } else { (0.0, 1.0) };
    let margin = ((high - low) * 0.04).max(if measure == Measure::Oee { 0.1 } else { 1.0 });
    ((low - margin).max(0.0), high + margin)
}

/// How many shifts fall at each place of the scale that a dot takes.
fn stacks(summary: &Summary, measure: Measure, scale: Scale) -> Vec<usize> {
    let places = ((scale.right - scale.left) / (DOT + 1.0)).floor().max(1.0);
    let mut stacks = vec![0; places as usize];
    for value in measure.of_shifts(summary) {
        let share = (scale.at(value) - scale.left) / (scale.right - scale.left);
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

fn draw_lines(canvas: &mut Canvas, summary: &Summary, measure: Measure, scale: Scale, y: f64) {
    if let Some(range) = measure.range(summary) {
        let (from, to) = (scale.at(range.p10), scale.at(range.p90));
        canvas.line((from, y), (to, y), LINE, 1.4);
        for end in [from, to] {
            canvas.line((end, y - 5.0), (end, y + 5.0), LINE, 1.4);
        }
        let words = format!("one shift: {}", measure.range_in_words(range));
        label_below(canvas, (from, to), y + 17.0, &words);
    }
    let mean = measure.mean(summary);
    let half = mean.half_width.unwrap_or(0.0);
    let (from, to) = (scale.at(mean.mean - half), scale.at(mean.mean + half));
    let mean_y = y + 32.0;
    canvas.line((from, mean_y), (to, mean_y), MEAN, 6.0);
    canvas.line((scale.at(mean.mean), mean_y - 6.0), (scale.at(mean.mean), mean_y + 6.0), LINE, 2.0);
    let words = format!("mean of shifts: {}", measure.mean_in_words(summary));
    label_below(canvas, (from, to), mean_y + 19.0, &words);
}

/// In the middle below a line, moved so far that nothing is cut off.
fn label_below(canvas: &mut Canvas, (from, to): (f64, f64), y: f64, words: &str) {
    let half = SMALL.width(words) / 2.0;
    let middle = f64::midpoint(from, to).min(canvas.width() - half).max(half);
    canvas.blank(middle - half - 2.0, y - 10.0, 2.0 * half + 4.0, 13.0);
    canvas.text(middle, y, Anchor::Middle, SMALL, words);
}
