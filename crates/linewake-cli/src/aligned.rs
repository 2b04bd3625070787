//! Tables of plain text: columns in line, numbers to the right, no lines drawn.

/// Blanks between two columns.
const GAP: &str = "  ";

/// Which side of its column a cell stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table under construction.
pub(crate) struct Aligned {
    sides: Vec<Side>,
    /// The head, then the rows.
    rows: Vec<Vec<String>>,
}

impl Aligned {
    /// A table with these columns: head and side of each.
    pub(crate) fn new(columns: &[(&str, Side)]) -> Self {
        let head = columns.iter().map(|(head, _)| (*head).to_owned()).collect();
        Self { sides: columns.iter().map(|(_, side)| *side).collect(), rows: vec![head] }
    }

    /// Adds a row; missing cells are empty.
    pub(crate) fn row<T: Into<String>>(&mut self, cells: impl IntoIterator<Item = T>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }

    /// The lines, indented by two blanks, without blanks at their ends.
    pub(crate) fn text(&self) -> String {
        let width_of = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..self.sides.len()).map(width_of).collect();
        let mut text = String::new();
        for row in &self.rows {
            let mut line = String::new();
            for ((cell, width), side) in row.iter().zip(&widths).zip(&self.sides) {
                line.push_str(GAP);
                match side {
                    Side::Left => line.push_str(&format!("{cell:<width$}")),
                    Side::Right => line.push_str(&format!("{cell:>width$}")),
                }
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_in_line() {
        let mut table = Aligned::new(&[("station", Side::Left), ("packs/min", Side::Right)]);
        table.row(["former", "104.0"]);
        table.row(["größte", "7"]);
        assert_eq!(table.text(), "  station  packs/min\n  former       104.0\n  größte           7\n");
    }
}
