//! Two orders of the same things side by side: a line from the place in one to the place in the other.

use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, wrapped};
use crate::figure::Figure;
use crate::number;
use crate::style::{Fill, IDLE, LINE};

/// A thing with its places, from 1, in both orders.
#[derive(Clone, Debug)]
pub(super) struct Place {
    pub(super) label: String,
    pub(super) left: usize,
    pub(super) right: usize,
}

/// Two orders.
#[derive(Clone, Debug)]
pub(super) struct Slope {
    pub(super) id: String,
    pub(super) title: String,
    pub(super) description: String,
    pub(super) caption: String,
    /// Headings of the two orders.
    pub(super) headings: [String; 2],
    pub(super) places: Vec<Place>,
}

const SMALL: Lettering = Lettering::SMALL;
/// Lines of a label.
const LINES: usize = 2;

impl Slope {
    /// Both layouts.
    pub(super) fn figure(self) -> Figure {
        let [wide, narrow] = [("wide", WIDE, 280.0), ("narrow", NARROW, 132.0)]
            .map(|(layout, width, label)| self.draw(layout, width, label));
        Figure { name: self.id, title: self.title, caption: self.caption, wide, narrow }
    }

    fn draw(&self, layout: &str, width: f64, label_width: f64) -> Drawing {
        let mut canvas = Canvas::new(&format!("{}-{layout}", self.id), width);
        let [left, right] = [label_width + 10.0, width - label_width - 10.0];
        let lettering = Lettering { colour: crate::style::TEXT, ..SMALL };
        let of = |place: &Place, rank: usize| {
            wrapped(
                &format!("{} {}", number::fixed(rank as f64, 0), place.label),
                lettering,
                label_width,
                LINES,
            )
        };
        let most =
            self.places.iter().flat_map(|place| [of(place, place.left).len(), of(place, place.right).len()]);
        let row = if most.max().unwrap_or(1) > 1 { 36.0 } else { 23.0 };
        let headings =
            self.headings.each_ref().map(|heading| wrapped(heading, SMALL.bold(), label_width, LINES));
        let top = headings.iter().map(Vec::len).max().unwrap_or(1) as f64 * 15.0 + 12.0;
        for (heading, (x, anchor)) in
            headings.iter().zip([(left - 10.0, Anchor::End), (right + 10.0, Anchor::Start)])
        {
            for (line, words) in heading.iter().enumerate() {
                canvas.text(x, 13.0 + 15.0 * line as f64, anchor, SMALL.bold(), words);
            }
        }
        // Places in an order are closed up: things that stand in one order only are not drawn.
        let rows = |side: fn(&Place) -> usize| {
            let mut ranks: Vec<usize> = self.places.iter().map(side).collect();
            ranks.sort_unstable();
            move |place: &Place| {
                let at = ranks.iter().position(|rank| *rank == side(place)).unwrap_or(0);
                top + row * (at as f64 + 0.5)
            }
        };
        let (left_y, right_y) = (rows(|place| place.left), rows(|place| place.right));
        for place in &self.places {
            let (from, to) = (left_y(place), right_y(place));
            let moved = (from - to).abs() > row * 0.5;
            let (colour, thick) = if moved { (LINE, 1.8) } else { (IDLE, 1.2) };
            canvas.line((left, from), (right, to), colour, thick);
            for (x, y, anchor, rank) in
                [(left, from, Anchor::End, place.left), (right, to, Anchor::Start, place.right)]
            {
                let words = of(place, rank);
                let first = y + 4.0 - 14.0 * (words.len() as f64 - 1.0) / 2.0;
                let x = if matches!(anchor, Anchor::End) { x - 10.0 } else { x + 10.0 };
                for (line, words) in words.iter().enumerate() {
                    canvas.text(x, first + 14.0 * line as f64, anchor, lettering, words);
                }
            }
            for (x, y) in [(left, from), (right, to)] {
                canvas.dot(x, y, 3.4, Fill::Kept);
            }
        }
        canvas.finish(top + row * self.places.len() as f64 + 4.0, &self.title, &self.description)
    }
}
