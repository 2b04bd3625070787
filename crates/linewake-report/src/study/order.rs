//! How long an order takes.

use super::phrases;
use super::plot::{Column, Level, Plot};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_kpi::study::order::OrderResult;

pub(super) fn findings(found: &OrderResult) -> Findings {
    let mut beside = Vec::new();
    if found.unfinished > 0 {
        beside.push(format!(
            "{} of {} runs did not finish within the {} allowed: the mean is that of the others and too short",
            found.unfinished,
            found.head.runs,
            number::duration(found.most_s)
        ));
    }
    Findings {
        answer: answer(found),
        beside,
        parts: vec![times(found), shifts(found)],
        protocol: None,
        cautions: vec![
            "changeovers, cleaning between shifts and days off are not in these hours unless the model has them".to_owned(),
        ],
    }
}

/// Hours with one decimal.
fn hours(seconds: f64) -> String {
    format!("{}\u{a0}h", number::fixed(seconds / 3600.0, 1))
}

fn shifts_word(many: u64) -> String {
    if many == 1 { "1 shift".to_owned() } else { format!("{} shifts", number::fixed(many as f64, 0)) }
}

fn answer(found: &OrderResult) -> String {
    let order = format!("An order of {} good packs", number::fixed(found.packs as f64, 0));
    let done = usize::try_from(found.shifts_needed)
        .ok()
        .and_then(|many| found.done_within_shifts.get(many.checked_sub(1)?));
    let Some(done) = done else {
        return format!(
            "{order} cannot be promised at 90\u{a0}% within the {} allowed: {} of {} runs did not finish.",
            number::duration(found.most_s),
            found.unfinished,
            found.head.runs
        );
    };
    let half = found
        .time_s
        .half_width
        .map_or_else(String::new, |half| format!("\u{a0}±\u{a0}{}", number::fixed(half / 3600.0, 2)));
    format!(
        "{order} needs {} of {} to be done with a probability of at least 90\u{a0}% ({} of runs were); the mean time is \
         {}{half}\u{a0}h, and {} of the {} is spare on average.",
        shifts_word(found.shifts_needed),
        number::duration(found.shift_s),
        number::percent(*done),
        number::fixed(found.time_s.mean / 3600.0, 1),
        number::percent(found.spare_capacity),
        shifts_word(found.shifts_needed)
    )
}

fn times(found: &OrderResult) -> Part {
    let all: u64 = found.histogram.iter().map(|bin| bin.count).sum();
    let all = (all as f64).max(1.0);
    let columns = found.histogram.iter().map(|bin| Column {
        from: bin.from / 3600.0,
        to: bin.to / 3600.0,
        height: bin.count as f64 / all * 100.0,
    });
    let upright = found.quantiles.iter().filter(|it| it.probability >= 0.5).map(|it| Level {
        at: it.time_s / 3600.0,
        label: format!("{} done in {}", phrases::share(it.probability), hours(it.time_s)),
    });
    let plot = Plot {
        id: "order".to_owned(),
        title: "Time to finish the order".to_owned(),
        description: format!("Histogram of the time to finish over {} runs; mean {}.", found.head.runs, hours(found.time_s.mean)),
        caption: "Hours from the start of the first shift, breaks included. A column is the share of the runs that finished in \
                  its range; dashed lines are times by which so many runs had finished."
            .to_owned(),
        x_words: "time to finish, h".to_owned(),
        y_words: "% of runs".to_owned(),
        columns: columns.collect(),
        upright: upright.collect(),
        from_zero: true,
        ..Plot::default()
    };
    let quantiles = found.quantiles.iter().map(|it| {
        TableRow::of(vec![
            Cell::figure(it.probability, phrases::share(it.probability)),
            Cell::figure(it.time_s, number::fixed(it.time_s / 3600.0, 2)),
            Cell::figure(it.time_s / found.shift_s, number::fixed(it.time_s / found.shift_s, 2)),
        ])
    });
    let bins = found.histogram.iter().map(|bin| {
        TableRow::of(vec![
            Cell::figure(bin.from, number::fixed(bin.from / 3600.0, 2)),
            Cell::figure(bin.to, number::fixed(bin.to / 3600.0, 2)),
            Cell::figure(bin.count as f64, number::fixed(bin.count as f64, 0)),
        ])
    });
    Part {
        id: "time".into(),
        title: "How long it takes".to_owned(),
        words: Vec::new(),
        figures: vec![plot.figure()],
        tables: vec![
            Table {
                name: "order-times".to_owned(),
                caption: "Time that is enough with stated probability".to_owned(),
                columns: vec![
                    figures("probability", "probability"),
                    figures("time_s", "time, h"),
                    figures("shifts", "in shifts"),
                ],
                rows: quantiles.collect(),
            },
            Table {
                name: "order-histogram".to_owned(),
                caption: "The columns of the histogram".to_owned(),
                columns: vec![
                    figures("from_s", "from, h"),
                    figures("to_s", "to, h"),
                    figures("runs", "runs"),
                ],
                rows: bins.collect(),
            },
        ],
    }
}

fn shifts(found: &OrderResult) -> Part {
    let within = || found.done_within_shifts.iter().zip(1_u64..);
    let rows = within().map(|(share, many)| Row {
        label: format!("within {}", shifts_word(many)),
        segments: vec![Segment {
            from: 0.0,
            to: share * 100.0,
            fill: if many == found.shifts_needed { Fill::Kept } else { Fill::Starved },
        }],
        figures: vec![number::percent(*share)],
        strong: many == found.shifts_needed,
        ..Row::default()
    });
    let bars = Bars {
        id: "order-shifts".to_owned(),
        title: "Chance to be done within so many shifts".to_owned(),
        description: format!("The share of runs done within 1 to {} shifts.", found.done_within_shifts.len()),
        scale: "runs that are done, %".to_owned(),
        headings: vec!["done".to_owned()],
        rows: rows.collect(),
        ..Bars::default()
    };
    let table = within().map(|(share, many)| {
        TableRow::of(vec![
            Cell::words(&shifts_word(many)),
            Cell::figure(many as f64, many.to_string()),
            Cell::figure(*share, number::percent_figure(*share)),
        ])
    });
    Part {
        id: "shifts".into(),
        title: "How many shifts to plan".to_owned(),
        words: vec![format!(
            "The heavier row is the fewest whole shifts of {} in which at least 90\u{a0}% of runs are done. Spare is what is \
             left of them on average: {}.",
            number::duration(found.shift_s),
            number::percent(found.spare_capacity)
        )],
        figures: vec![Figure::of_bars(
            &bars,
            "Each bar is the share of the runs that had finished by then.".to_owned(),
        )],
        tables: vec![Table {
            name: "order-shifts".to_owned(),
            caption: "Chance to be done".to_owned(),
            columns: vec![
                words("within", "Within"),
                crate::table::csv_only("shifts"),
                figures("done_share", "done, %"),
            ],
            rows: table.collect(),
        }],
    }
}
