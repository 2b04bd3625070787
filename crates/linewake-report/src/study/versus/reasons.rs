//! Stops by reason: predicted ranges of their number and minutes, and the log.

use super::super::Part;
use super::super::phrases::csv_words;
use super::{Drawn, SHOWN, fill, legend, log, name, p_cell, range};
use crate::bars::{Bars, Row, Segment};
use crate::number;
use crate::table::{Cell, Table, TableRow, csv_only, figures, words};
use linewake_kpi::study::versus::{Compared, ReasonRow, VersusResult};

pub(super) fn reasons(found: &VersusResult) -> Part {
    Part {
        id: "reasons".into(),
        title: "Stops by reason".to_owned(),
        words: Vec::new(),
        figures: vec![
            reason_bars(found, "versus-minutes", "Minutes of stops", "min", |row| row.time_s, 60.0),
            reason_bars(found, "versus-counts", "Number of stops", "stops", |row| row.count, 1.0),
        ],
        tables: vec![reasons_table(found)],
    }
}

fn reason_bars(
    found: &VersusResult,
    id: &str,
    title: &str,
    unit: &str,
    of: impl Fn(&ReasonRow) -> Compared,
    per: f64,
) -> Drawn {
    let mut rows: Vec<&ReasonRow> = found.reasons.iter().collect();
    let size = |row: &ReasonRow| of(row).high.max(of(row).observed.unwrap_or(0.0));
    rows.sort_by(|one, other| size(other).total_cmp(&size(one)));
    let all = rows.len();
    rows.truncate(SHOWN);
    let drawn = rows.iter().map(|row| {
        let compared = of(row);
        let value = |value: f64| number::count(value / per);
        Row {
            label: name(row),
            segments: vec![Segment {
                from: compared.low / per,
                to: compared.high / per,
                fill: fill(compared.verdict),
            }],
            ring: compared.observed.map(|value| value / per),
            figures: vec![
                range(&value(compared.low), &value(compared.high)),
                compared.observed.map_or_else(|| number::NONE.to_owned(), value),
            ],
            ..Row::default()
        }
    });
    let compared: Vec<Compared> = rows.iter().map(|row| of(row)).collect();
    let bars = Bars {
        id: id.to_owned(),
        title: title.to_owned(),
        description: format!(
            "For {} stop reasons the predicted range as a bar and the log as a ring.",
            rows.len()
        ),
        scale: format!("{unit} in {}", log(found)),
        headings: vec![format!("predicted, {unit}"), format!("log, {unit}")],
        legend: legend(compared.iter()),
        ring: "the log".to_owned(),
        rows: drawn.collect(),
    };
    let more = if all > SHOWN { format!(" The {SHOWN} largest of {all} are drawn.") } else { String::new() };
    let caption = format!(
        "Waiting for operators included, breaks left out. A reason is beyond chance by count or by minutes, with the number of all \
         reasons accounted for.{more}"
    );
    Drawn::of_bars(&bars, caption)
}

fn reasons_table(found: &VersusResult) -> Table {
    let rows = found.reasons.iter().map(|row| {
        let count = |value: f64| Cell::figure(value, number::count(value));
        let time = |value: f64| Cell::figure(value, number::minutes(value));
        let worst = row.count.verdict.min(row.time_s.verdict);
        TableRow::of(vec![
            Cell::Words { raw: name(row), shown: name(row) },
            Cell::words(&row.station),
            Cell::words(&row.reason),
            Cell::words(row.known.words()),
            count(row.count.low),
            count(row.count.high),
            Cell::maybe(row.count.observed, number::count),
            Cell::Figure { value: row.count.predicted, shown: number::count(row.count.predicted) },
            p_cell(row.count.p_corrected),
            time(row.time_s.low),
            time(row.time_s.high),
            Cell::maybe(row.time_s.observed, number::minutes),
            Cell::Figure { value: row.time_s.predicted, shown: number::minutes(row.time_s.predicted) },
            p_cell(row.time_s.p_corrected),
            Cell::words(worst.words()),
        ])
    });
    Table {
        name: "versus-reasons".to_owned(),
        caption: format!("Stops by reason in {}: predicted and observed", log(found)),
        columns: vec![
            words("cause", "Stop"),
            csv_words("station"),
            csv_words("reason"),
            words("known", "Known"),
            figures("count_low", "stops from"),
            figures("count_high", "to"),
            figures("count_observed", "log"),
            csv_only("count_predicted"),
            figures("count_p_corrected", "p, of all"),
            figures("time_s_low", "min from"),
            figures("time_s_high", "to"),
            figures("time_s_observed", "log"),
            csv_only("time_s_predicted"),
            figures("time_s_p_corrected", "p, of all"),
            words("verdict", "Verdict"),
        ],
        rows: rows.collect(),
    }
}
