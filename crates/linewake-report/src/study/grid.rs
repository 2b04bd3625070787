//! Figures in cells by rows and columns: darker is more, and every cell carries its number.

use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened};
use crate::figure::Figure;
use crate::style::{LINE, PAPER, TEXT};

/// A cell.
#[derive(Clone, Debug)]
pub(super) struct GridCell {
    pub(super) value: f64,
    pub(super) shown: String,
    /// Framed.
    pub(super) marked: bool,
}

/// A grid.
#[derive(Clone, Debug)]
pub(super) struct Grid {
    pub(super) id: String,
    pub(super) title: String,
    pub(super) description: String,
    pub(super) caption: String,
    pub(super) rows: Vec<String>,
    pub(super) columns: Vec<String>,
    /// Words for the columns.
    pub(super) column_words: String,
    /// By row, then column.
    pub(super) cells: Vec<Vec<Option<GridCell>>>,
}

/// Tints from little to much: one hue, lightness falling, so that they hold without colour too.
const TINTS: [&str; 5] = ["#ffffff", "#dbeaf4", "#b3d3e8", "#7fb4d8", "#3f8ec4"];
const SMALL: Lettering = Lettering::SMALL;
const BODY: Lettering = Lettering { size: 12.5, ..Lettering::BODY };
/// Height of a row.
const ROW: f64 = 26.0;

impl Grid {
    /// Both layouts.
    pub(super) fn figure(self) -> Figure {
        let [wide, narrow] = [("wide", WIDE, 150.0), ("narrow", NARROW, 84.0)]
            .map(|(layout, width, label)| self.draw(layout, width, label));
        Figure { name: self.id, title: self.title, caption: self.caption, wide, narrow }
    }

    fn draw(&self, layout: &str, width: f64, label: f64) -> Drawing {
        let mut canvas = Canvas::new(&format!("{}-{layout}", self.id), width);
        let left = label + 8.0;
        let cell_width = self.cell_width();
        // Columns that do not fit beside each other go on in a further band below.
        let fit = (((width - left) / cell_width).floor() as usize).max(1);
        let cell_width = ((width - left) / fit.min(self.columns.len().max(1)) as f64).min(110.0);
        let (low, high) = self.ends();
        let mut y = 14.0;
        canvas.text(left, y, Anchor::Start, SMALL, &shortened(&self.column_words, SMALL, width - left));
        for band in (0..self.columns.len()).collect::<Vec<_>>().chunks(fit) {
            y += 20.0;
            for (place, column) in band.iter().enumerate() {
                let middle = left + cell_width * (place as f64 + 0.5);
                canvas.text(
                    middle,
                    y,
                    Anchor::Middle,
                    SMALL,
                    &shortened(&self.columns[*column], SMALL, cell_width - 6.0),
                );
            }
            y += 8.0;
            for (row, name) in self.rows.iter().enumerate() {
                canvas.text(label, y + 17.0, Anchor::End, BODY, &shortened(name, BODY, label));
                for (place, column) in band.iter().enumerate() {
                    let cell =
                        self.cells.get(row).and_then(|cells| cells.get(*column)).and_then(Option::as_ref);
                    let Some(cell) = cell else { continue };
                    let x = left + cell_width * place as f64;
                    canvas.marks(
                        &[(x + 1.0, y + 1.0, cell_width - 2.0, ROW - 2.0)],
                        tint(cell.value, low, high),
                    );
                    if cell.marked {
                        let (right, bottom) = (x + cell_width - 1.0, y + ROW - 1.0);
                        let frame = [
                            (x + 1.0, y + 1.0),
                            (right, y + 1.0),
                            (right, bottom),
                            (x + 1.0, bottom),
                            (x + 1.0, y + 1.0),
                        ];
                        canvas.polyline(&frame, LINE, 2.0, "");
                    }
                    let lettering = Lettering { colour: TEXT, bold: cell.marked, ..BODY };
                    let shown = shortened(&cell.shown, lettering, cell_width - 6.0);
                    canvas.text(x + cell_width / 2.0, y + 17.0, Anchor::Middle, lettering, &shown);
                }
                y += ROW;
            }
        }
        canvas.finish(y + 6.0, &self.title, &self.description)
    }

    /// Wide enough for the widest number and heading.
    fn cell_width(&self) -> f64 {
        let shown = self.cells.iter().flatten().flatten().map(|cell| BODY.bold().width(&cell.shown));
        let headings = self.columns.iter().map(|column| SMALL.width(column));
        (shown.chain(headings).fold(30.0, f64::max) + 10.0).min(110.0)
    }

    fn ends(&self) -> (f64, f64) {
        let values =
            self.cells.iter().flatten().flatten().map(|cell| cell.value).filter(|value| value.is_finite());
        values
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
    }
}

fn tint(value: f64, low: f64, high: f64) -> &'static str {
    let range = high - low;
    if !(range > 0.0 && value.is_finite()) {
        return PAPER;
    }
    let place = ((value - low) / range * TINTS.len() as f64).floor() as usize;
    TINTS[place.min(TINTS.len() - 1)]
}
