//! The logs that a report was read from, and the rows that were not as they should be.

use crate::input::LogsRead;
use crate::number;
use crate::table::{Cell, Table, TableRow, figures, words};

/// One row for each log.
pub(crate) fn logs(logs: &LogsRead) -> Table {
    let count = |many: f64| Cell::figure(many, number::fixed(many, 0));
    let rows = logs.logs.iter().map(|log| {
        TableRow::of(vec![
            Cell::words(&log.file),
            count(log.rows as f64),
            Cell::words(log.broken_off.as_deref().unwrap_or("whole")),
            count(log.dirty_rows.len() as f64),
        ])
    });
    Table {
        name: "logs".to_owned(),
        caption: "Logs read".to_owned(),
        columns: vec![
            words("file", "log"),
            figures("rows", "rows"),
            words("end", "its end"),
            figures("dirty_rows", "rows repaired or left out"),
        ],
        rows: rows.collect(),
    }
}

/// Every row that was repaired or left out.
pub(crate) fn dirty_rows(logs: &LogsRead) -> Table {
    let rows = logs.logs.iter().flat_map(|log| {
        log.dirty_rows.iter().map(|row| {
            TableRow::of(vec![
                Cell::words(&log.file),
                Cell::figure(row.line as f64, row.line.to_string()),
                Cell::words(&row.kind),
                Cell::words(&row.what),
                Cell::words(&row.done),
            ])
        })
    });
    Table {
        name: "dirty-rows".to_owned(),
        caption: "Rows that were repaired or left out".to_owned(),
        columns: vec![
            words("file", "log"),
            figures("line", "line"),
            words("kind", "kind"),
            words("what", "what is wrong"),
            words("done", "what was done"),
        ],
        rows: rows.collect(),
    }
}

/// How many rows of each kind, most first.
pub(crate) fn kinds_of_dirt(logs: &LogsRead) -> Table {
    let mut kinds: Vec<(&str, usize)> = Vec::new();
    for row in logs.logs.iter().flat_map(|log| &log.dirty_rows) {
        match kinds.iter_mut().find(|(kind, _)| *kind == row.kind) {
            Some((_, many)) => *many += 1,
            None => kinds.push((&row.kind, 1)),
        }
    }
    kinds.sort_by(|(one, few), (other, many)| many.cmp(few).then(one.cmp(other)));
    let rows = kinds.into_iter().map(|(kind, many)| {
        let many = many as f64;
        TableRow::of(vec![Cell::words(kind), Cell::figure(many, number::fixed(many, 0))])
    });
    Table {
        name: "kinds-of-dirt".to_owned(),
        caption: "What is wrong with rows, by kind".to_owned(),
        columns: vec![words("kind", "kind"), figures("rows", "rows")],
        rows: rows.collect(),
    }
}
