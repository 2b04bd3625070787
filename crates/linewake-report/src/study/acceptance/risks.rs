//! The two risks of an acceptance run: who passes and who is caught, and how long the run must be.

use super::{at_factor, shortest, shown};
use crate::number;
use crate::study::Part;
use crate::study::phrases::{self, percent_cells, proportion, proportion_cells};
use crate::study::plot::{Level, Plot, Point, Series};
use crate::style::MEAN;
use crate::table::{Cell, Table, TableRow, figures, words};
use crate::tables::mean_cells;
use linewake_kpi::study::acceptance::AcceptanceResult;
use linewake_kpi::study::precision::Measure;

pub(super) fn characteristic(found: &AcceptanceResult) -> Part {
    let mut said = vec![format!(
        "The run is passed at {} or more ({}).",
        shown(found.measure, found.pass_limit),
        if found.is_limit_given {
            "the limit given".to_owned()
        } else {
            format!(
                "the value that the line as designed reaches with {}, inputs drawn",
                phrases::share(1.0 - found.producer_risk)
            )
        }
    )];
    if let Some(point) = at_factor(found, 1.0) {
        said.push(format!(
            "The line as designed passes with probability {}; its risk to fail is the producer's.",
            proportion(&point.pass)
        ));
    }
    if let Some(point) = at_factor(found, found.degraded_factor) {
        said.push(format!(
            "A line degraded so that its stops are {} times as frequent passes with probability {}; that is the \
             consumer's risk.",
            number::plain(found.degraded_factor),
            proportion(&point.pass)
        ));
    }
    let points = found.operating_characteristic.iter().map(|point| Point {
        x: point.stop_factor,
        y: point.pass.share * 100.0,
        interval: Some((point.pass.low * 100.0, point.pass.high * 100.0)),
    });
    let mut upright = vec![Level { at: 1.0, label: "as designed".to_owned() }];
    upright.push(Level {
        at: found.degraded_factor,
        label: format!("degraded: {} times as frequent", number::plain(found.degraded_factor)),
    });
    let plot = Plot {
        id: "acceptance-characteristic".to_owned(),
        title: "Operating characteristic: the chance to pass".to_owned(),
        description: format!(
            "The share of runs that pass against how many times as frequent stops are, at {} points.",
            found.operating_characteristic.len()
        ),
        caption: format!(
            "A ring is the share of runs that pass, with its exact {} interval. The steeper the curve falls right of 1, \
             the better the run tells a good line from a bad one; a longer run makes it steeper.",
            phrases::level(&found.head)
        ),
        x_words: "frequency of stops, times as designed".to_owned(),
        y_words: "runs that pass, %".to_owned(),
        series: vec![Series { label: String::new(), points: points.collect(), dash: "", colour: MEAN }],
        upright,
        from_zero: true,
        y_to: Some(100.0),
        ..Plot::default()
    };
    let rows = found.operating_characteristic.iter().map(|point| {
        let [share, low, high] = proportion_cells(&point.pass);
        let [mean, mean_half] =
            if found.measure == Measure::Oee { percent_cells(&point.mean) } else { mean_cells(&point.mean) };
        TableRow::of(vec![
            Cell::figure(point.stop_factor, number::plain(point.stop_factor)),
            mean,
            mean_half,
            share,
            low,
            high,
        ])
    });
    let unit =
        if found.measure == Measure::Oee { "OEE, %".to_owned() } else { found.measure.words().to_owned() };
    Part {
        id: "characteristic".into(),
        title: "Who passes, and who is caught".to_owned(),
        words: said,
        figures: vec![plot.figure()],
        tables: vec![Table {
            name: "acceptance-characteristic".to_owned(),
            caption: "The chance to pass against the frequency of stops".to_owned(),
            columns: vec![
                figures("stop_factor", "stops, times as frequent"),
                figures("mean", &format!("mean {unit}")),
                figures("mean_half_width", "±"),
                figures("pass_share", "pass, %"),
                figures("pass_low", "from"),
                figures("pass_high", "to"),
            ],
            rows: rows.collect(),
        }],
    }
}

pub(super) fn lengths(found: &AcceptanceResult) -> Part {
    let curve =
        |label: &str,
         dash,
         colour,
         of: fn(&linewake_kpi::study::acceptance::LengthRow) -> linewake_kpi::study::Proportion| {
            Series {
                label: label.to_owned(),
                points: found
                    .lengths
                    .iter()
                    .map(|row| {
                        let share = of(row);
                        Point {
                            x: row.run_s / 3600.0,
                            y: share.share * 100.0,
                            interval: Some((share.low * 100.0, share.high * 100.0)),
                        }
                    })
                    .collect(),
                dash,
                colour,
            }
        };
    let mut across = vec![Level {
        at: found.consumer_risk * 100.0,
        label: format!("wanted {}", phrases::share(found.consumer_risk)),
    }];
    if (found.producer_risk - found.consumer_risk).abs() > 1e-9 {
        across.push(Level {
            at: found.producer_risk * 100.0,
            label: format!("wanted of producer {}", phrases::share(found.producer_risk)),
        });
    }
    let plot = Plot {
        id: "acceptance-lengths".to_owned(),
        title: "Both risks against the length of the run".to_owned(),
        description: format!("Producer's and consumer's risk at {} lengths of the run.", found.lengths.len()),
        caption: "At each length the limit is the value that the line as designed reaches with the wanted probability; what \
                  is left is the consumer's risk, that a degraded line passes. Both must lie on or below what is wanted."
            .to_owned(),
        x_words: "length of the run, h".to_owned(),
        y_words: "risk, %".to_owned(),
        series: vec![
            curve("consumer's risk", "", MEAN, |row| row.consumer),
            curve("producer's risk", "7 4", "#9c4500", |row| row.producer),
        ],
        across,
        from_zero: true,
        ..Plot::default()
    };
    let rows = found.lengths.iter().map(|row| {
        let [producer, producer_low, producer_high] = proportion_cells(&row.producer);
        let [consumer, consumer_low, consumer_high] = proportion_cells(&row.consumer);
        TableRow::of(vec![
            Cell::figure(row.run_s, number::duration(row.run_s)),
            Cell::figure(row.limit, value_of_limit(found.measure, row.limit)),
            producer,
            producer_low,
            producer_high,
            consumer,
            consumer_low,
            consumer_high,
            Cell::words(if row.holds_both { "yes" } else { "no" }),
        ])
    });
    let limit = if found.measure == Measure::Oee {
        "limit, OEE, %".to_owned()
    } else {
        format!("limit, {}", found.measure.words())
    };
    Part {
        id: "lengths".into(),
        title: "How long the run must be".to_owned(),
        words: vec![shortest(found)],
        figures: if found.lengths.is_empty() { Vec::new() } else { vec![plot.figure()] },
        tables: vec![Table {
            name: "acceptance-lengths".to_owned(),
            caption: "Lengths of the run that were tried".to_owned(),
            columns: vec![
                figures("run_s", "length"),
                figures("limit", &limit),
                figures("producer_risk", "producer's risk, %"),
                figures("producer_low", "from"),
                figures("producer_high", "to"),
                figures("consumer_risk", "consumer's risk, %"),
                figures("consumer_low", "from"),
                figures("consumer_high", "to"),
                words("holds_both", "holds both"),
            ],
            rows: rows.collect(),
        }],
    }
}

fn value_of_limit(measure: Measure, value: f64) -> String {
    if measure == Measure::Oee { number::fixed(value * 100.0, 2) } else { number::fixed(value, 0) }
}
