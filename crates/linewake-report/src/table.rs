//! Tables: one set of rows, shown as HTML, as CSV with full figures, and as aligned text.

use crate::number;
use maud::{Markup, html};

/// A column.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Name in CSV, with its unit.
    pub(crate) key: &'static str,
    /// Heading on the page; `None` if the column is in CSV only.
    pub(crate) heading: Option<String>,
    /// Holds numbers: set to the right.
    pub(crate) numeric: bool,
}

/// A column of words.
pub(crate) fn words(key: &'static str, heading: &str) -> Column {
    Column { key, heading: Some(heading.to_owned()), numeric: false }
}

/// A column of numbers.
pub(crate) fn figures(key: &'static str, heading: &str) -> Column {
    Column { key, heading: Some(heading.to_owned()), numeric: true }
}

/// A column of numbers that is in CSV only.
pub(crate) fn csv_only(key: &'static str) -> Column {
    Column { key, heading: None, numeric: true }
}

/// A cell.
#[derive(Clone, Debug)]
pub(crate) enum Cell {
    /// Words: as in the model for CSV, and as shown.
    Words { raw: String, shown: String },
    /// A number in full, and as shown.
    Figure { value: f64, shown: String },
    /// There is no figure.
    Missing,
    /// Not applicable: empty.
    Empty,
}

impl Cell {
    /// Words that are the same everywhere.
    pub(crate) fn words(text: &str) -> Self {
        Self::Words { raw: text.to_owned(), shown: text.to_owned() }
    }

    /// A reason: fixed reasons are written with underscores in files and with blanks for people.
    pub(crate) fn reason(reason: &str) -> Self {
        Self::Words { raw: reason.to_owned(), shown: crate::wording::reason(reason) }
    }

    /// A number and how it is shown.
    pub(crate) fn figure(value: f64, shown: String) -> Self {
        Self::Figure { value, shown }
    }

    /// A count or a mean count.
    pub(crate) fn count(value: f64) -> Self {
        Self::figure(value, number::count(value))
    }

    /// A number that may be missing.
    pub(crate) fn maybe(value: Option<f64>, show: impl Fn(f64) -> String) -> Self {
        value.map_or(Self::Missing, |value| Self::figure(value, show(value)))
    }

    fn shown(&self) -> String {
        match self {
            Self::Words { shown, .. } | Self::Figure { shown, .. } => shown.clone(),
            Self::Missing => number::NONE.to_owned(),
            Self::Empty => String::new(),
        }
    }
}

/// A row; `sum` rows are set heavier.
#[derive(Clone, Debug)]
pub(crate) struct TableRow {
    pub(crate) cells: Vec<Cell>,
    pub(crate) sum: bool,
}

impl TableRow {
    /// A row like others.
    pub(crate) fn of(cells: Vec<Cell>) -> Self {
        Self { cells, sum: false }
    }

    /// A sum.
    pub(crate) fn sum(cells: Vec<Cell>) -> Self {
        Self { cells, sum: true }
    }
}

/// A table.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    /// Stem of the file name.
    pub(crate) name: String,
    /// Caption on the page.
    pub(crate) caption: String,
    /// The columns.
    pub(crate) columns: Vec<Column>,
    /// The rows.
    pub(crate) rows: Vec<TableRow>,
}

impl Table {
    /// As CSV with a heading row: full figures, an empty field where there is none.
    pub(crate) fn csv(&self) -> String {
        let keys = self.columns.iter().map(|column| quoted(column.key));
        let mut csv = keys.collect::<Vec<_>>().join(",");
        csv.push('\n');
        for row in &self.rows {
            let fields = row.cells.iter().map(|cell| match cell {
                Cell::Words { raw, .. } => quoted(raw),
                Cell::Figure { value, .. } if value.is_finite() => (value + 0.0).to_string(),
                Cell::Figure { .. } | Cell::Missing | Cell::Empty => String::new(),
            });
            csv.push_str(&fields.collect::<Vec<_>>().join(","));
            csv.push('\n');
        }
        csv
    }

    /// As HTML: columns of numbers are set to the right; the first column heads its row.
    pub(crate) fn html(&self) -> Markup {
        html! {
            p.caption { (self.caption) }
            (self.bare_html())
        }
    }

    /// The same without its caption, where a heading above it says as much.
    pub(crate) fn bare_html(&self) -> Markup {
        let (columns, rows) = self.shown();
        html! {
            div.scroll tabindex="0" role="group" aria-label=(self.caption) {
                table aria-label=(self.caption) {
                    thead { tr {
                        @for column in &columns {
                            th.n[column.numeric] scope="col" { (column.heading.as_deref().unwrap_or_default()) }
                        }
                    } }
                    tbody {
                        @for (cells, row) in rows.iter().zip(&self.rows) {
                            tr.sum[row.sum] {
                                @for (place, (cell, column)) in cells.iter().zip(&columns).enumerate() {
                                    @if place == 0 {
                                        th.n[column.numeric] scope="row" { (cell) }
                                    } @else {
                                        td.n[column.numeric] { (cell) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }

    /// As aligned text, at most so many rows.
    pub(crate) fn text(&self, most: usize) -> String {
        let (columns, rows) = self.shown();
        let heading =
            |column: &&Column| number::plain_characters(column.heading.as_deref().unwrap_or_default());
        let mut lines: Vec<Vec<String>> = vec![columns.iter().map(heading).collect()];
        lines.extend(
            rows.iter().take(most).map(|row| row.iter().map(|it| number::plain_characters(it)).collect()),
        );
        let width = |place: usize| lines.iter().map(|line| line[place].chars().count()).max().unwrap_or(0);
        let widths: Vec<usize> = (0..columns.len()).map(width).collect();
        let mut text = String::new();
        for line in &lines {
            let cells = line.iter().zip(&columns).zip(&widths).map(|((cell, column), width)| {
                let blanks = " ".repeat(width - cell.chars().count());
                if column.numeric { format!("{blanks}{cell}") } else { format!("{cell}{blanks}") }
            });
            text.push_str(cells.collect::<Vec<_>>().join("  ").trim_end());
            text.push('\n');
        }
        if self.rows.len() > most {
            text.push_str(&format!("... and {} more rows\n", self.rows.len() - most));
        }
        text
    }

    /// Columns and texts that are shown, numbers padded so that decimal points stand below each other.
    fn shown(&self) -> (Vec<&Column>, Vec<Vec<String>>) {
        let visible: Vec<usize> =
            (0..self.columns.len()).filter(|place| self.columns[*place].heading.is_some()).collect();
        let mut rows: Vec<Vec<String>> = self
            .rows
            .iter()
            .map(|row| {
                visible
                    .iter()
                    .map(|place| row.cells.get(*place).map(Cell::shown).unwrap_or_default())
                    .collect()
            })
            .collect();
        for (place, column) in visible.iter().enumerate() {
            if self.columns[*column].numeric {
                let is_figure = |row: &TableRow| matches!(row.cells.get(*column), Some(Cell::Figure { .. }));
                let shown = rows.iter_mut().zip(&self.rows).filter(|(_, row)| is_figure(row));
                let mut cells: Vec<&mut String> = shown.map(|(row, _)| &mut row[place]).collect();
                number::align_decimals(&mut cells);
            }
        }
        (visible.into_iter().map(|place| &self.columns[place]).collect(), rows)
    }
}

/// A CSV field: quoted where it must be.
fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        Table {
            name: "stops".to_owned(),
            caption: "Stops <b>".to_owned(),
            columns: vec![
                words("station", "Station"),
                figures("packs_per_shift", "packs"),
                csv_only("time_s"),
            ],
            rows: vec![
                TableRow::of(vec![Cell::words("a,\"b\""), Cell::count(1234.6), Cell::count(0.25)]),
                TableRow::sum(vec![Cell::words("<script>"), Cell::count(2.5), Cell::Missing]),
            ],
        }
    }

    #[test]
    fn csv_has_full_figures_and_quotes() {
        assert_eq!(
            table().csv(),
            "station,packs_per_shift,time_s\n\"a,\"\"b\"\"\",1234.6,0.25\n<script>,2.5,\n"
        );
    }

    #[test]
    fn html_escapes_and_leaves_out_csv_columns() {
        let html = table().html().into_string();
        assert!(
            html.contains("&lt;script&gt;") && html.contains("Stops &lt;b&gt;") && !html.contains("<script>")
        );
        assert!(html.contains("1,235\u{2008}\u{2007}") && !html.contains("0.25"));
    }

    #[test]
    fn text_is_aligned() {
        assert_eq!(table().text(9), "Station     packs\na,\"b\"     1,235\n<script>      2.5\n");
    }
}
