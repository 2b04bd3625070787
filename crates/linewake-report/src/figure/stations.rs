//! The stations down the page in line order, with the time they did not run, by cause, on one scale.

use super::Figure;
use crate::bars::{Bars, Row, Segment};
use crate::number;
use crate::style::Fill;
use crate::wording;
use linewake_kpi::summary::{StateMeans, StationSummary, Summary};

/// The stations of a summary.
pub(crate) fn stations(summary: &Summary) -> Figure {
    let rows = summary.stations.iter().map(|station| row(station, summary)).collect();
    let longest = summary
        .stations
        .iter()
        .filter_map(|station| Some((station, station.states?.not_running_s())))
        .max_by(|(_, one), (_, other)| one.total_cmp(other));
    let longest = longest.map_or_else(String::new, |(station, time_s)| {
        format!(" {} does not run for the longest time, {} min.", station.id, number::minutes(time_s))
    });
    let bars = Bars {
        id: format!("stations-{}", wording::start_in_names(summary.start)),
        title: format!("Time not running, station by station, a shift {}", wording::start(summary.start)),
        description: format!(
            "{} stations in line order, {}.{longest}",
            summary.stations.len(),
            wording::mean_of(summary)
        ),
        scale: "minutes not running, a shift".to_owned(),
        headings: vec!["min".to_owned(), "% of shift".to_owned()],
        legend: parts(&StateMeans::default())
            .into_iter()
            .map(|(fill, words, _)| (fill, words.to_owned()))
            .collect(),
        ring: String::new(),
        rows,
    };
    let caption =
        "In line order, product flowing down the page; all bars have the same scale, so that lengths \
                   compare. Own stops are split into waiting for an operator and being put right."
            .to_owned();
    Figure::of_bars(&bars, caption)
}

fn row(station: &StationSummary, summary: &Summary) -> Row {
    let constraint = station.id == summary.constraint;
    let label = station.id.clone();
    let Some(states) = &station.states else {
        return Row { label, note: content(station), ..Row::default() };
    };
    let mut from = 0.0;
    let mut segments = Vec::new();
    for (fill, _, time_s) in parts(states) {
        let to = from + time_s / 60.0;
        segments.push(Segment { from, to, fill });
        from = to;
    }
    let share = if summary.window_s > 0.0 { states.not_running_s() / summary.window_s } else { 0.0 };
    Row {
        label,
        note: if constraint { "constraint: OEE is judged here".to_owned() } else { String::new() },
        segments,
        figures: vec![number::minutes(states.not_running_s()), number::percent_figure(share)],
        strong: constraint,
        ..Row::default()
    }
}

/// A belt or table has content in place of states.
fn content(station: &StationSummary) -> String {
    let held = station.content.and_then(|content| {
        let mean = number::count(content.mean_pieces?);
        Some(match content.capacity_pieces {
            Some(capacity) => format!("holds {mean} of {capacity} on average"),
            None => format!("holds {mean} on average"),
        })
    });
    held.unwrap_or_else(|| format!("{}: no states", wording::station_kind(&station.kind)))
}

fn parts(states: &StateMeans) -> [(Fill, &'static str, f64); 5] {
    [
        (Fill::Starved, "starved", states.starved_s),
        (Fill::Blocked, "blocked", states.blocked_s),
        (Fill::Waiting, "stopped, waiting for an operator", states.stopped_waiting_s),
        (Fill::Stop, "stopped, being put right", states.stopped_repair_s),
        (Fill::Planned, "planned stop", states.planned_s),
    ]
}
