//! Horizontal bars down the page on one shared scale: the form of most figures here.
//!
//! Two layouts of the same rows: wide, with labels left of the bars and figures right of them; narrow (a phone), with
//! label and figures above each bar. Both are laid out in full, so that no text is ever scaled down to be unreadable.

use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened, ticks, wrapped};
use crate::number;
use crate::style::{Fill, GRID, LINE, PAPER};
use linewake_kpi::summary::Mean;

/// Width of the wide layout in pixels.
pub(crate) const WIDE: f64 = 820.0;
/// Width of the narrow layout in pixels.
pub(crate) const NARROW: f64 = 358.0;

/// A part of a bar; from `from` to `to` on the scale.
#[derive(Clone, Debug)]
pub(crate) struct Segment {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) fill: Fill,
}

/// One row.
#[derive(Clone, Debug, Default)]
pub(crate) struct Row {
    /// What it is.
    pub(crate) label: String,
    /// A second, lesser line; may be empty.
    pub(crate) note: String,
    /// The bar.
    pub(crate) segments: Vec<Segment>,
    /// Intervals of the ends of the bar, on the scale: at most one for each end.
    pub(crate) whiskers: Vec<(f64, f64)>,
    /// A second value on the same scale, drawn as a ring; [`Bars::ring`] says what it is.
    pub(crate) ring: Option<f64>,
    /// Figures at the right, one per heading.
    pub(crate) figures: Vec<String>,
    /// A sum: set heavier.
    pub(crate) strong: bool,
    /// Share of the whole that this row and those above it make up, 0 to 1: a point of the cumulative line, which has
    /// its own scale.
    pub(crate) cumulative: Option<f64>,
    /// Begins where the row of this kind above it ended: joined to it by a thin line.
    pub(crate) joined: bool,
}

impl Row {
    /// A row that only names what follows, or gives a sum.
    fn has_bar(&self) -> bool {
        !self.segments.is_empty() || !self.whiskers.is_empty() || self.ring.is_some()
    }
}

/// The interval of a mean as a whisker; none where it has no length.
pub(crate) fn whisker(mean: &Mean) -> Option<(f64, f64)> {
    let half = mean.half_width.filter(|it| *it > 0.0)?;
    Some(((mean.mean - half).max(0.0), mean.mean + half))
}

/// A figure of bars.
#[derive(Clone, Debug, Default)]
pub(crate) struct Bars {
    /// Unique on a page.
    pub(crate) id: String,
    /// Name of the figure.
    pub(crate) title: String,
    /// What it shows, in words.
    pub(crate) description: String,
    /// Words for the scale, with its unit.
    pub(crate) scale: String,
    /// Headings of the figures at the right.
    pub(crate) headings: Vec<String>,
    /// Meaning of the fills that are used.
    pub(crate) legend: Vec<(Fill, String)>,
    /// What the rings of the rows stand for; empty if there are none.
    pub(crate) ring: String,
    /// The rows, top to bottom.
    pub(crate) rows: Vec<Row>,
}

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
const BAR: f64 = 15.0;
/// Radius of the ring of a second value.
const RING: f64 = 4.5;
const LABEL_LINE: f64 = 16.0;
const NOTE_LINE: f64 = 15.0;

/// A scale from values to pixels.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) left: f64,
    pub(crate) right: f64,
}

impl Scale {
    pub(crate) fn at(self, value: f64) -> f64 {
        let range = self.high - self.low;
        if range > 0.0 && value.is_finite() {
            self.left + ((value - self.low) / range).clamp(0.0, 1.0) * (self.right - self.left)
        } else {
            self.left
        }
    }

    /// Grid lines with labels below `bottom`; gives the height that the labels take.
    pub(crate) fn draw(self, canvas: &mut Canvas, top: f64, bottom: f64, words: &str) -> f64 {
        let width = self.right - self.left;
        let label = |tick: f64| number::plain(tick);
        let mut marks = ticks(self.low, self.high, 2);
        for most in (2..=7).rev() {
            marks = ticks(self.low, self.high, most);
            let widest = marks.iter().map(|tick| SMALL.width(&label(*tick))).fold(0.0, f64::max);
            if (widest + 12.0) * marks.len() as f64 <= width {
                break;
            }
        }
        for tick in marks {
            let x = self.at(tick);
            canvas.line((x, top), (x, bottom), GRID, 1.0);
            canvas.text(x, bottom + 15.0, Anchor::Middle, SMALL, &label(tick));
        }
        let words = shortened(words, SMALL, width.max(200.0));
        let half = SMALL.width(&words) / 2.0;
        let middle = f64::midpoint(self.left, self.right);
        let middle = middle.min(canvas.width() - half).max(half);
        canvas.text(middle, bottom + 32.0, Anchor::Middle, SMALL, &words);
        38.0
    }
}

impl Bars {
    /// The wide layout.
    pub(crate) fn wide(&self) -> Drawing {
        let mut canvas = Canvas::new(&format!("{}-wide", self.id), WIDE);
        let labels = self.rows.iter().map(|row| {
            let lettering = if row.strong { BODY.bold() } else { BODY };
            lettering.width(&row.label).max(SMALL.width(&row.note))
        });
        let label_width = labels.fold(60.0, f64::max).min(280.0);
        let columns = self.column_widths();
        let right = WIDE - columns.iter().map(|width| width + 14.0).sum::<f64>() - 6.0;
        let (low, high) = self.range();
        // A ring at the end of the scale keeps clear of the label.
        let ring = if self.rows.iter().any(|row| row.ring.is_some()) { RING } else { 0.0 };
        let scale = Scale { low, high, left: label_width + 14.0 + ring, right: right - 14.0 - ring };
        let mut y = self.draw_legend(&mut canvas, WIDE);
        let mut column_right = right;
        if self.headings.iter().any(|heading| !heading.is_empty()) {
            y += 14.0;
            for (heading, width) in self.headings.iter().zip(&columns) {
                column_right += width + 14.0;
                canvas.text(column_right, y, Anchor::End, SMALL, heading);
            }
        }
        y += 8.0;
        if self.rows.iter().any(|row| row.cumulative.is_some()) {
            y = draw_cumulative_scale(&mut canvas, scale, y);
        }
        let top = y;
        let bottom = top + self.rows.iter().map(|row| wide_height(row, label_width)).sum::<f64>();
        let axis = scale.draw(&mut canvas, top, bottom, &self.scale);
        let mut cumulative = vec![(scale.left, top)];
        let mut above = None;
        for row in &self.rows {
            if let Some(first) = row.segments.first().filter(|_| row.joined) {
                let x = scale.at(first.from);
                if let Some(above) = above.replace(y + BAR + 1.0) {
                    canvas.line((x, above), (x, y + 3.0), LINE, 0.8);
                }
            }
            if let Some(share) = row.cumulative {
                let x = scale.left + share.clamp(0.0, 1.0) * (scale.right - scale.left);
                cumulative.push((x, y + 3.0 + (BAR - 2.0) / 2.0));
            }
            let lettering = if row.strong { BODY.bold() } else { BODY };
            let mut line_y = y + 14.0;
            draw_bar(&mut canvas, row, scale, y + 3.0);
            let mut column_right = right;
            for (figure, width) in row.figures.iter().zip(&columns) {
                column_right += width + 14.0;
                canvas.text(column_right, line_y, Anchor::End, lettering, figure);
            }
            for line in wrapped(&row.label, lettering, label_width, 2) {
                canvas.text(label_width, line_y, Anchor::End, lettering, &line);
                line_y += LABEL_LINE;
            }
            for line in wrapped(&row.note, SMALL, label_width, 2) {
                canvas.text(label_width, line_y - 1.0, Anchor::End, SMALL, &line);
                line_y += NOTE_LINE;
            }
            y += wide_height(row, label_width);
        }
        canvas.line((scale.at(0.0), top), (scale.at(0.0), bottom), LINE, 1.0);
        if cumulative.len() > 1 {
            // White below black: the line is seen on the bars and beside them.
            canvas.polyline(&cumulative, PAPER, 4.0, "");
            canvas.polyline(&cumulative, LINE, 1.4, "");
            for (x, y) in &cumulative[1..] {
                canvas.ring(*x, *y, 3.0);
            }
        }
        canvas.finish(bottom + axis, &self.title, &self.description)
    }

    /// The narrow layout.
    pub(crate) fn narrow(&self) -> Drawing {
        let mut canvas = Canvas::new(&format!("{}-narrow", self.id), NARROW);
        let (low, high) = self.range();
        let margin = SMALL.width(&number::plain(high)).max(SMALL.width(&number::plain(low))) / 2.0;
        let left = if low < 0.0 { margin } else { 6.0 };
        let scale = Scale { low, high, left, right: NARROW - margin.max(6.0) };
        let mut y = self.draw_legend(&mut canvas, NARROW);
        let headings: Vec<&str> =
            self.headings.iter().map(String::as_str).filter(|heading| !heading.is_empty()).collect();
        if !headings.is_empty() {
            y += 14.0;
            canvas.text(NARROW, y, Anchor::End, SMALL, &shortened(&headings.join(" · "), SMALL, NARROW));
        }
        y += 4.0;
        let top = y;
        let rows: Vec<NarrowRow> = self.rows.iter().map(NarrowRow::of).collect();
        let bottom = top + rows.iter().map(|row| row.height).sum::<f64>();
        // The grid goes below the bars only as ticks would: behind text it would disturb reading.
        let axis = scale.draw(&mut canvas, bottom - 4.0, bottom, &self.scale);
        for (row, text) in self.rows.iter().zip(&rows) {
            let lettering = if row.strong { BODY.bold() } else { BODY };
            canvas.text(NARROW, y + 15.0, Anchor::End, lettering, &text.figures);
            for line in &text.label {
                canvas.text(0.0, y + 15.0, Anchor::Start, lettering, line);
                y += LABEL_LINE;
            }
            for line in &text.note {
                canvas.text(0.0, y + 14.0, Anchor::Start, SMALL, line);
                y += NOTE_LINE;
            }
            if row.has_bar() {
                canvas.line((scale.left, y + 5.0 + BAR), (scale.right, y + 5.0 + BAR), GRID, 1.0);
                draw_bar(&mut canvas, row, scale, y + 5.0);
                canvas.line((scale.at(0.0), y + 4.0), (scale.at(0.0), y + 6.0 + BAR), LINE, 1.0);
            }
            if let Some(share) = row.cumulative {
                let x = scale.left + share.clamp(0.0, 1.0) * (scale.right - scale.left);
                canvas.ring(x, y + 5.0 + BAR, 3.0);
            }
            y += bar_room(row);
        }
        canvas.finish(bottom + axis, &self.title, &self.description)
    }

    fn column_widths(&self) -> Vec<f64> {
        let widest = |column: usize| {
            let figures = self.rows.iter().filter_map(|row| {
                let lettering = if row.strong { BODY.bold() } else { BODY };
                row.figures.get(column).map(|figure| lettering.width(figure))
            });
            figures.fold(SMALL.width(&self.headings[column]), f64::max)
        };
        (0..self.headings.len()).map(widest).collect()
    }

    /// Ends of the scale: 0 and all ends of segments and whiskers.
    fn range(&self) -> (f64, f64) {
        let mut range = (0.0_f64, 0.0_f64);
        for row in &self.rows {
            let ends = row.segments.iter().flat_map(|segment| [segment.from, segment.to]);
            let others = row.whiskers.iter().flat_map(|&(low, high)| [low, high]).chain(row.ring);
            for value in ends.chain(others) {
                if value.is_finite() {
                    range = (range.0.min(value), range.1.max(value));
                }
            }
        }
        if range.1 - range.0 < 1e-9 { (0.0, 1.0) } else { range }
    }

    /// Gives the height that it takes.
    fn draw_legend(&self, canvas: &mut Canvas, width: f64) -> f64 {
        let ring = Some((None, &self.ring)).filter(|(_, words)| !words.is_empty());
        let entries = self.legend.iter().map(|(fill, words)| (Some(*fill), words)).chain(ring);
        if self.legend.is_empty() && ring.is_none() {
            return 0.0;
        }
        let (mut x, mut y) = (1.0, 13.0);
        for (fill, words) in entries {
            let words = shortened(words, SMALL, width - 26.0);
            let needed = 20.0 + SMALL.width(&words);
            if x > 1.0 && x + needed > width {
                (x, y) = (1.0, y + 19.0);
            }
            match fill {
                Some(fill) => canvas.area(x, y - 10.0, 14.0, 11.0, fill),
                None => canvas.ring(x + 7.0, y - 4.5, RING),
            }
            canvas.text(x + 20.0, y, Anchor::Start, SMALL, &words);
            x += needed + 18.0;
        }
        y + 8.0
    }
}

fn wide_height(row: &Row, label_width: f64) -> f64 {
    let lettering = if row.strong { BODY.bold() } else { BODY };
    let labels = wrapped(&row.label, lettering, label_width, 2).len().max(1) as f64;
    let notes = wrapped(&row.note, SMALL, label_width, 2).len() as f64;
    labels * LABEL_LINE + notes * NOTE_LINE + 7.0
}

/// Texts of a row in the narrow layout.
struct NarrowRow {
    label: Vec<String>,
    note: Vec<String>,
    figures: String,
    height: f64,
}

impl NarrowRow {
    fn of(row: &Row) -> Self {
        let lettering = if row.strong { BODY.bold() } else { BODY };
        let figures: Vec<&str> =
            row.figures.iter().map(String::as_str).filter(|figure| !figure.is_empty()).collect();
        let figures = shortened(&figures.join(" · "), lettering, NARROW * 0.6);
        let room = NARROW - lettering.width(&figures) - 10.0;
        let label = wrapped(&row.label, lettering, room, 3);
        let note = wrapped(&row.note, SMALL, NARROW, 2);
        let lines = label.len() as f64 * LABEL_LINE + note.len() as f64 * NOTE_LINE;
        Self { label, note, figures, height: lines + bar_room(row) }
    }
}

/// Height below the words of a narrow row.
fn bar_room(row: &Row) -> f64 {
    if row.has_bar() { BAR + 12.0 } else { 8.0 }
}

/// The scale of the cumulative line, above the bars; gives where they begin.
fn draw_cumulative_scale(canvas: &mut Canvas, scale: Scale, y: f64) -> f64 {
    let width = scale.right - scale.left;
    canvas.line((scale.left, y + 18.0), (scale.right, y + 18.0), LINE, 0.8);
    for (share, words) in [(0.0, "0\u{a0}%"), (0.5, "50\u{a0}%"), (1.0, "100\u{a0}% cumulative")] {
        let x = scale.left + share * width;
        canvas.line((x, y + 14.0), (x, y + 18.0), LINE, 0.8);
        let anchor = if share > 0.9 { Anchor::End } else { Anchor::Middle };
        let fits = share > 0.9 || width > 300.0;
        if fits {
            canvas.text(if share > 0.9 { x + 4.0 } else { x }, y + 10.0, anchor, SMALL, words);
        }
    }
    y + 22.0
}

fn draw_bar(canvas: &mut Canvas, row: &Row, scale: Scale, y: f64) {
    for segment in &row.segments {
        let (from, to) = (scale.at(segment.from), scale.at(segment.to));
        let (left, right) = (from.min(to), from.max(to));
        // Nothing at all is not drawn; the least bit is a pixel.
        if (segment.to - segment.from).abs() > 1e-9 {
            canvas.area(left, y, (right - left).max(1.0), BAR - 2.0, segment.fill);
        }
    }
    // Two of them side by side, so that neither hides the other where both ends lie on one side of 0.
    for (number, &(low, high)) in row.whiskers.iter().enumerate() {
        let middle = y + (BAR - 2.0) * (number + 1) as f64 / (row.whiskers.len() + 1) as f64;
        let (low, high) = (scale.at(low), scale.at(high));
        canvas.line((low, middle), (high, middle), LINE, 1.4);
        for end in [low, high] {
            canvas.line((end, middle - 4.0), (end, middle + 4.0), LINE, 1.4);
        }
    }
    if let Some(value) = row.ring {
        canvas.ring(scale.at(value), y + (BAR - 2.0) / 2.0, RING);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::canvas::tests::assert_texts_are_clear;

    fn bars(rows: Vec<Row>) -> Bars {
        Bars {
            id: "test".to_owned(),
            title: "Test".to_owned(),
            description: "Rows".to_owned(),
            scale: "packs a shift, mean of so many simulated shifts, a rather long title of a scale"
                .to_owned(),
            headings: vec!["packs a shift".to_owned(), "cumulative".to_owned()],
            legend: vec![
                (Fill::Stop, "stop, being put right".to_owned()),
                (Fill::Waiting, "stop, waiting for an operator".to_owned()),
                (Fill::Starved, "starved: waiting for something from upstream".to_owned()),
            ],
            ring: "a second value".to_owned(),
            rows,
        }
    }

    fn row(label: &str, value: f64) -> Row {
        Row {
            label: label.to_owned(),
            note: "a note that is longer than the label of the row and its column together".to_owned(),
            segments: vec![Segment { from: 0.0, to: value, fill: Fill::Stop }],
            whiskers: vec![(value * 0.9, value * 1.1)],
            ring: Some(value * 1.5),
            figures: vec![number::count(value), "100.0 %".to_owned()],
            strong: value > 1000.0,
            cumulative: (value > 5.0).then_some(0.5),
            joined: value > 7.0,
        }
    }

    #[test]
    fn no_text_overlaps_in_either_layout() {
        let long = "an id that somebody made as long as an id can possibly be made, and then longer still";
        for values in
            [vec![], vec![0.0], vec![1e-3, 7.0, 1e7], (0..40).map(f64::from).collect(), vec![-50.0, 900.0]]
        {
            let rows = values.iter().enumerate().map(|(place, value)| {
                row(if place % 3 == 1 { long } else { "former: web tracking" }, *value)
            });
            let bars = bars(rows.collect());
            assert_texts_are_clear("wide", &bars.wide());
            assert_texts_are_clear("narrow", &bars.narrow());
        }
    }

    #[test]
    fn bars_share_one_scale_that_starts_at_zero() {
        let bars = bars(vec![row("a", 10.0), row("b", 20.0)]);
        assert_eq!(bars.range(), (0.0, 30.0));
        let scale = Scale { low: 0.0, high: 20.0, left: 100.0, right: 300.0 };
        assert!((scale.at(10.0) - 200.0).abs() < 1e-12 && (scale.at(99.0) - 300.0).abs() < 1e-12);
    }
}
