//! Stops by reason: predicted ranges of their number and minutes, and the log.

use super::super::Part;
use super::super::phrases::csv_words;
use super::{Drawn, SHOWN, fill, legend, log, name, p_cell, range};
use crate::bars::{Bars, Row, Segment};
use crate::number;
use crate::table::{Cell, Table, TableRow, csv_only, figures, words};
use linewake_kpi::study::versus::{Compared, Known, ReasonRow, VersusResult};

pub(super) fn reasons(found: &VersusResult) -> Part {
    Part {
        id: "reasons".into(),
        title: "Stops by reason".to_owned(),
        words: vec![
            "A reason is beyond chance by its number of stops or by its minutes, with the number of all reasons accounted for."
                .to_owned(),
        ],
        figures: vec![reason_bars(found, &MINUTES), reason_bars(found, &COUNTS)],
        tables: vec![reasons_table(found)],
    }
}

/// What a figure of stops by reason shows.
struct Quantity {
    id: &'static str,
    title: &'static str,
    unit: &'static str,
    /// In what the log tells it, s or stops.
    of: fn(&ReasonRow) -> Compared,
    /// How much of that is one of the unit.
    per: f64,
    shown: fn(f64) -> String,
    caption: &'static str,
}

const MINUTES: Quantity = Quantity {
    id: "versus-minutes",
    title: "Minutes of stops",
    unit: "min",
    of: |row| row.time_s,
    per: 60.0,
    shown: number::count,
    caption: "The bar is the predicted range, the ring the log, as above. Waiting for operators is included, breaks are left out. \
              Colours go by minutes alone.",
};

const COUNTS: Quantity = Quantity {
    id: "versus-counts",
    title: "Number of stops",
    unit: "stops",
    of: |row| row.count,
    per: 1.0,
    shown: stops,
    caption: "The same for how often each reason came. Colours go by the number alone.",
};

/// A number of stops: a whole one without decimals.
fn stops(value: f64) -> String {
    if value.fract() == 0.0 { number::fixed(value, 0) } else { number::count(value) }
}

/// What a bar and a ring do not say.
fn note(row: &ReasonRow) -> &'static str {
    match (row.planned, row.known) {
        (true, _) => "planned, not judged",
        (false, Known::LogOnly) => "not in the model",
        (false, Known::ModelOnly) => "not in the log",
        (false, Known::StationNotTold) => "machine not in the log",
        (false, Known::Both) => "",
    }
}

/// Who knows a reason, in few words.
fn known_to(known: Known) -> &'static str {
    match known {
        Known::Both => "both",
        Known::LogOnly => "log only",
        Known::ModelOnly | Known::StationNotTold => "model only",
    }
}

fn reason_bars(found: &VersusResult, quantity: &Quantity) -> Drawn {
    let Quantity { id, title, unit, of, per, shown, caption } = *quantity;
    let mut rows: Vec<&ReasonRow> = found.reasons.iter().collect();
    let size = |row: &ReasonRow| of(row).high.max(of(row).observed.unwrap_or(0.0));
    rows.sort_by(|one, other| size(other).total_cmp(&size(one)));
    let all = rows.len();
    rows.truncate(SHOWN);
    let drawn = rows.iter().map(|row| {
        let compared = of(row);
        let value = |value: f64| shown(value / per);
        Row {
            label: name(row),
            note: note(row).to_owned(),
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
    Drawn::of_bars(&bars, format!("{caption}{more}"))
}

fn reasons_table(found: &VersusResult) -> Table {
    let rows = found.reasons.iter().map(|row| {
        let count = |value: f64| Cell::figure(value, stops(value));
        let time = |value: f64| Cell::figure(value, number::minutes(value));
        let worst = row.count.verdict.min(row.time_s.verdict);
        TableRow::of(vec![
            Cell::Words { raw: name(row), shown: name(row) },
            Cell::words(&row.station),
            Cell::words(&row.reason),
            Cell::Words { raw: row.known.words().to_owned(), shown: known_to(row.known).to_owned() },
            count(row.count.low),
            count(row.count.high),
            Cell::maybe(row.count.observed, stops),
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
            words("known", "Known to"),
            figures("count_low", "stops from"),
            figures("count_high", "stops to"),
            figures("count_observed", "log, stops"),
            csv_only("count_predicted"),
            figures("count_p_corrected", "p, of all"),
            figures("time_s_low", "min from"),
            figures("time_s_high", "min to"),
            figures("time_s_observed", "log, min"),
            csv_only("time_s_predicted"),
            figures("time_s_p_corrected", "p, of all"),
            words("verdict", "Verdict"),
        ],
        rows: rows.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_numbers_of_stops_have_no_decimals() {
        assert_eq!([35.0, 0.0, 42.4, 153.2].map(stops), ["35", "0", "42.4", "153"]);
    }
}
