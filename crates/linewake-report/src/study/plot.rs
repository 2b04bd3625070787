//! Curves with intervals and columns of a histogram on two axes, labelled where they are, not in a legend.

use crate::bars::{NARROW, Scale, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened, ticks};
use crate::figure::Figure;
use crate::number;
use crate::style::{Fill, GRID, IDLE, LINE, TEXT};

const SMALL: Lettering = Lettering::SMALL;
/// Height of a line of labels.
const LABEL: f64 = 16.0;

/// A point with its interval.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) interval: Option<(f64, f64)>,
}

/// A curve.
#[derive(Clone, Debug)]
pub(super) struct Series {
    /// Stands at its end; empty for the only one.
    pub(super) label: String,
    pub(super) points: Vec<Point>,
    /// How it is dashed; empty for a whole line.
    pub(super) dash: &'static str,
    pub(super) colour: &'static str,
}

/// A line across at one value of an axis, with its name.
#[derive(Clone, Debug)]
pub(super) struct Level {
    pub(super) at: f64,
    pub(super) label: String,
}

/// A column from one value to another.
#[derive(Clone, Copy, Debug)]
pub(super) struct Column {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) height: f64,
}

/// A figure.
#[derive(Clone, Debug, Default)]
pub(super) struct Plot {
    pub(super) id: String,
    pub(super) title: String,
    pub(super) description: String,
    pub(super) caption: String,
    /// Words for the axis below, with its unit.
    pub(super) x_words: String,
    /// Words for the axis at the left, with its unit; above it.
    pub(super) y_words: String,
    pub(super) series: Vec<Series>,
    pub(super) columns: Vec<Column>,
    /// Lines across at a height, named at the right.
    pub(super) across: Vec<Level>,
    /// Upright lines, named above.
    pub(super) upright: Vec<Level>,
    /// The axis at the left begins at 0.
    pub(super) from_zero: bool,
    /// Ends of the axis below, where figures beside each other share it.
    pub(super) x_ends: Option<(f64, f64)>,
    /// The end of the axis at the left is this at least.
    pub(super) y_to: Option<f64>,
}

impl Plot {
    /// Both layouts.
    pub(super) fn figure(self) -> Figure {
        let [wide, narrow] =
            [("wide", WIDE), ("narrow", NARROW)].map(|(layout, width)| self.draw(layout, width));
        Figure { name: self.id, title: self.title, caption: self.caption, wide, narrow }
    }

    fn draw(&self, layout: &str, width: f64) -> Drawing {
        let mut canvas = Canvas::new(&format!("{}-{layout}", self.id), width);
        let (x_low, x_high) = self.x_range();
        let (y_low, y_high) = self.y_range();
        let y_marks = ticks(y_low, y_high, 6);
        let left = y_marks.iter().map(|mark| SMALL.width(&number::plain(*mark))).fold(0.0, f64::max) + 10.0;
        let x_edge = SMALL.width(&number::plain(x_high)) / 2.0 + 4.0;
        let named =
            self.series.iter().map(|series| &series.label).chain(self.across.iter().map(|it| &it.label));
        let widest = named.map(|label| SMALL.width(label)).fold(0.0, f64::max);
        let room = if widest > 0.0 { widest.min(width * 0.34) } else { 0.0 };
        let scale = Scale {
            low: x_low,
            high: x_high,
            left: left.max(x_edge),
            right: (width - room - if room > 0.0 { 14.0 } else { 0.0 }).min(width - x_edge),
        };
        // Upright lines have a lane each for their name.
        let mut y = 14.0;
        canvas.text(0.0, y, Anchor::Start, SMALL, &shortened(&self.y_words, SMALL, width));
        let mut upright = self.upright.clone();
        upright.sort_by(|one, other| one.at.total_cmp(&other.at));
        let mut starts = Vec::new();
        for level in &upright {
            y += LABEL + 1.0;
            starts.push((scale.at(level.at), y));
        }
        let top = y + 12.0;
        let labels = self.series.iter().filter(|it| !it.label.is_empty()).count() + self.across.len();
        let height = if width > 500.0 { 300.0_f64 } else { 240.0 }.max(labels as f64 * LABEL);
        let bottom = top + height;
        let y_at = |value: f64| {
            let range = y_high - y_low;
            let share = if range > 0.0 && value.is_finite() {
                ((value - y_low) / range).clamp(0.0, 1.0)
            } else {
                0.0
            };
            bottom - share * height
        };
        // Lower than the lowest label of the axis at the left.
        let axis = 2.0 + scale.draw(&mut canvas, top, bottom + 2.0, &self.x_words);
        for mark in &y_marks {
            let at = y_at(*mark);
            canvas.line((scale.left, at), (scale.right, at), GRID, 1.0);
            canvas.text(scale.left - 6.0, at + 4.0, Anchor::End, SMALL, &number::plain(*mark));
        }
        for column in self.columns.iter().filter(|column| column.height > 0.0) {
            let (from, to, at) = (scale.at(column.from), scale.at(column.to), y_at(column.height));
            canvas.area(from, at, (to - from).max(1.0), bottom - at, Fill::Starved);
        }
        canvas.line((scale.left, bottom), (scale.right, bottom), LINE, 1.0);
        for (level, (x, y)) in upright.iter().zip(&starts) {
            canvas.polyline(&[(*x, y - 9.0), (*x, bottom)], LINE, 1.3, "5 3");
            upright_label(&mut canvas, *x, *y, &level.label);
        }
        let mut wanted: Vec<(f64, &str)> = Vec::new();
        for level in &self.across {
            let at = y_at(level.at);
            canvas.polyline(&[(scale.left, at), (scale.right, at)], IDLE, 1.3, "2 3");
            wanted.push((at, &level.label));
        }
        for series in &self.series {
            draw_series(&mut canvas, series, scale, y_at);
            if let Some(last) = series.points.last().filter(|_| !series.label.is_empty()) {
                wanted.push((y_at(last.y), &series.label));
            }
        }
        wanted.sort_by(|one, other| one.0.total_cmp(&other.0));
        let places = spread(&wanted.iter().map(|(at, _)| *at).collect::<Vec<_>>(), top, bottom);
        for ((at, label), place) in wanted.iter().zip(places) {
            canvas.line((scale.right + 2.0, *at), (scale.right + 10.0, place), IDLE, 0.8);
            let label = shortened(label, SMALL, room);
            canvas.text(
                scale.right + 13.0,
                place + 4.0,
                Anchor::Start,
                Lettering { colour: TEXT, ..SMALL },
                &label,
            );
        }
        canvas.finish(bottom + axis, &self.title, &self.description)
    }

    fn x_range(&self) -> (f64, f64) {
        let points = self.series.iter().flat_map(|series| series.points.iter().map(|point| point.x));
        let columns = self.columns.iter().flat_map(|column| [column.from, column.to]);
        let ends = self.x_ends.into_iter().flat_map(|(low, high)| [low, high]);
        widened(points.chain(columns).chain(self.upright.iter().map(|level| level.at)).chain(ends))
    }

    fn y_range(&self) -> (f64, f64) {
        let points = self.series.iter().flat_map(|series| &series.points);
        let ends = points.flat_map(|point| {
            let (low, high) = point.interval.unwrap_or((point.y, point.y));
            [point.y, low, high]
        });
        let columns = self.columns.iter().map(|column| column.height);
        let (low, high) = widened(ends.chain(columns).chain(self.across.iter().map(|level| level.at)));
        let margin = (high - low) * 0.04;
        let high = self.y_to.map_or(high + margin, |to| to.max(high));
        if self.from_zero { (low.min(0.0), high) } else { (low - margin, high) }
    }
}

/// The ends of the values; never without length.
fn widened(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let ends = values.filter(|value| value.is_finite()).fold(None, |ends: Option<(f64, f64)>, value| {
        Some(ends.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
    });
    match ends {
        Some((low, high)) if high - low > 1e-9 * high.abs().max(1e-9) => (low, high),
        Some((low, _)) => (low - 0.5 * low.abs().max(1.0), low + 0.5 * low.abs().max(1.0)),
        None => (0.0, 1.0),
    }
}

fn upright_label(canvas: &mut Canvas, x: f64, y: f64, label: &str) {
    let width = canvas.width();
    let lettering = Lettering { colour: TEXT, ..SMALL };
    let label = shortened(label, lettering, width - 12.0);
    let needed = lettering.width(&label);
    let (left, right) = (x - 5.0 - needed, x + 5.0 + needed);
    if right <= width {
        canvas.text(x + 5.0, y, Anchor::Start, lettering, &label);
    } else if left >= 0.0 {
        canvas.text(x - 5.0, y, Anchor::End, lettering, &label);
    } else {
        canvas.blank(width - needed - 2.0, y - 11.0, needed + 2.0, 14.0);
        canvas.text(width, y, Anchor::End, lettering, &label);
    }
}

fn draw_series(canvas: &mut Canvas, series: &Series, scale: Scale, y_at: impl Fn(f64) -> f64) {
    let line: Vec<(f64, f64)> =
        series.points.iter().map(|point| (scale.at(point.x), y_at(point.y))).collect();
    if line.len() > 1 {
        canvas.polyline(&line, series.colour, 2.0, series.dash);
    }
    // With very many points, the line alone is legible.
    if line.len() > 60 {
        return;
    }
    for (point, (x, y)) in series.points.iter().zip(&line) {
        if let Some((low, high)) = point.interval {
            let (low, high) = (y_at(low), y_at(high));
            canvas.line((*x, low), (*x, high), LINE, 1.2);
            for end in [low, high] {
                canvas.line((x - 4.0, end), (x + 4.0, end), LINE, 1.2);
            }
        }
        canvas.ring(*x, *y, 3.0);
    }
}

/// Places near those wanted (rising), a line apart and within the ends, where there is room for all.
fn spread(wanted: &[f64], top: f64, bottom: f64) -> Vec<f64> {
    let mut places: Vec<f64> = wanted.to_vec();
    let mut least = top;
    for place in &mut places {
        *place = place.max(least);
        least = *place + LABEL;
    }
    let mut most = bottom;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - LABEL;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::canvas::tests::assert_texts_are_clear;

    #[test]
    fn labels_are_spread_without_leaving_their_room() {
        let places = spread(&[10.0, 10.0, 12.0, 99.0, 99.0], 0.0, 100.0);
        assert!(places.windows(2).all(|pair| pair[1] - pair[0] >= LABEL - 1e-9), "{places:?}");
        assert!(places[0] >= 0.0 && places[4] <= 100.0);
    }

    #[test]
    fn no_text_overlaps_whatever_is_drawn() {
        for many in [0, 1, 2, 3, 30] {
            let of = |place: usize| Series {
                label: format!("a series of number {place} with a rather long name"),
                points: (0..many)
                    .map(|x| Point { x: x as f64, y: 1e5 + (x * place) as f64, interval: Some((9e4, 1.1e5)) })
                    .collect(),
                dash: "",
                colour: LINE,
            };
            let level = |at: f64| Level {
                at,
                label: format!("a level at {at} that has a long name, of which not all can stand"),
            };
            let plot = Plot {
                id: "plot".to_owned(),
                x_words: "places".to_owned(),
                y_words: "good packs in a run of 8 h, a rather long title of a scale that goes on".to_owned(),
                series: (0..many).map(of).collect(),
                columns: vec![Column { from: 1.0, to: 2.0, height: 7.0 }],
                across: vec![level(1e5), level(1e5)],
                upright: vec![level(0.0), level(0.0), level(29.0)],
                ..Plot::default()
            };
            let figure = plot.figure();
            assert_texts_are_clear("wide", &figure.wide);
            assert_texts_are_clear("narrow", &figure.narrow);
        }
    }
}
