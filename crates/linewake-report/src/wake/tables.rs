//! The tables of a wake.

use super::answer::short_clock;
use crate::number;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_kpi::study::wake::{Absorbed, WakeResult};

fn seconds(value: f64) -> Cell {
    Cell::figure(value, number::fixed(value, 1))
}

fn pieces(value: u32) -> Cell {
    Cell::figure(f64::from(value), number::fixed(f64::from(value), 0))
}

fn moment(value: Option<f64>, missing: &str) -> Cell {
    value.map_or_else(
        || Cell::Words { raw: String::new(), shown: missing.to_owned() },
        |at| Cell::Words { raw: at.to_string(), shown: short_clock(at) },
    )
}

/// The stops that were put in.
pub(super) fn stops(result: &WakeResult) -> Table {
    let rows = result.stops.iter().map(|stop| {
        TableRow::of(vec![
            Cell::words(&stop.station),
            moment(Some(stop.asked_s), ""),
            seconds(stop.duration_s),
            moment(stop.start_s, "not within the run"),
            moment(stop.end_s, ""),
        ])
    });
    Table {
        name: "stops-put-in".to_owned(),
        caption: "The stops that were put in".to_owned(),
        columns: vec![
            words("station", "Station"),
            words("asked_s", "Asked for, h:min:s"),
            figures("duration_s", "Length, s"),
            words("start_s", "Began, h:min:s"),
            words("end_s", "Ended, h:min:s"),
        ],
        rows: rows.collect(),
    }
}

/// What reached which station.
pub(super) fn stations(result: &WakeResult) -> Table {
    let rows = result.stations.iter().map(|it| {
        TableRow::of(vec![
            Cell::words(&it.station),
            moment(it.reached_s, "not reached"),
            moment(it.freed_s, ""),
            seconds(it.stopped_s),
            seconds(it.starved_s),
            seconds(it.blocked_s),
            seconds(it.starved_in_run_s),
            seconds(it.blocked_in_run_s),
        ])
    });
    Table {
        name: "wake-stations".to_owned(),
        caption: "Each station: when it was reached and freed, and seconds more than without".to_owned(),
        columns: vec![
            words("station", "Station"),
            words("reached_s", "Reached, h:min:s"),
            words("freed_s", "Freed, h:min:s"),
            figures("stopped_s", "stopped, s"),
            figures("starved_s", "starved in the wake, s"),
            figures("blocked_s", "blocked in the wake, s"),
            figures("starved_in_run_s", "starved, whole run, s"),
            figures("blocked_in_run_s", "blocked, whole run, s"),
        ],
        rows: rows.collect(),
    }
}

/// Every wait of the wake.
pub(super) fn stretches(result: &WakeResult) -> Table {
    let rows = result.stations.iter().flat_map(|it| {
        it.stretches.iter().map(|one| {
            TableRow::of(vec![
                Cell::words(&it.station),
                Cell::words(if one.blocked { "blocked" } else { "starved" }),
                moment(Some(one.start_s), ""),
                moment(Some(one.end_s), ""),
                seconds(one.end_s - one.start_s),
            ])
        })
    });
    Table {
        name: "wake-waits".to_owned(),
        caption: "Every wait that would not have been".to_owned(),
        columns: vec![
            words("station", "Station"),
            words("state", "State"),
            words("start_s", "From, h:min:s"),
            words("end_s", "To, h:min:s"),
            figures("length_s", "Length, s"),
        ],
        rows: rows.collect(),
    }
}

/// What lies between, and what it absorbed.
pub(super) fn between(result: &WakeResult) -> Table {
    Table {
        name: "wake-buffers".to_owned(),
        caption: "Between each two machines: what was absorbed, and what the buffer held".to_owned(),
        columns: vec![
            words("between", "Between"),
            figures("absorbed_s", "absorbed, s"),
            words("buffer", "Buffer"),
            figures("places", "places"),
            figures("at_stop_pieces", "held at the stop"),
            figures("lowest_pieces", "least held"),
            figures("highest_pieces", "most held"),
            figures("most_less_pieces", "at most less than without"),
            figures("most_more_pieces", "at most more than without"),
        ],
        rows: result.between.iter().flat_map(between_rows).collect(),
    }
}

fn between_rows(it: &Absorbed) -> Vec<TableRow> {
    let head = || [Cell::words(&format!("{} and {}", it.before, it.behind)), seconds(it.absorbed_s)];
    if it.buffers.is_empty() {
        let mut cells = head().to_vec();
        cells.push(Cell::words(if it.hopper { "hopper" } else { "none: slack" }));
        cells.extend(std::iter::repeat_n(Cell::Empty, 6));
        return vec![TableRow::of(cells)];
    }
    it.buffers
        .iter()
        .map(|buffer| {
            let mut cells = head().to_vec();
            cells.push(Cell::words(&buffer.station));
            cells.push(buffer.places.map_or(Cell::Missing, pieces));
            cells.extend(
                [buffer.at_stop, buffer.lowest, buffer.highest, buffer.most_less, buffer.most_more]
                    .map(pieces),
            );
            TableRow::of(cells)
        })
        .collect()
}

/// Packs with and without.
pub(super) fn packs(result: &WakeResult) -> Table {
    let packs = &result.packs;
    let row = |what: &str, value: f64| TableRow::of(vec![Cell::words(what), Cell::count(value)]);
    let sum = |what: &str, value: f64| TableRow::sum(vec![Cell::words(what), Cell::count(value)]);
    Table {
        name: "wake-packs".to_owned(),
        caption: "Packs of the whole run".to_owned(),
        columns: vec![words("what", "What"), figures("packs", "packs")],
        rows: vec![
            row("good without the stop", packs.good_without as f64),
            row("good with it", packs.good_with as f64),
            sum("lost", packs.lost as f64),
            row("of these not made", packs.not_made as f64),
            row("of these rejected or dropped", packs.rejected as f64),
            row("of these still in the line at the end", packs.still_in_line as f64),
        ],
    }
}

/// How the line came back.
pub(super) fn recovery(result: &WakeResult) -> Table {
    let recovery = &result.recovery;
    let row = |what: &str, cell: Cell| TableRow::of(vec![Cell::words(what), cell]);
    Table {
        name: "wake-recovery".to_owned(),
        caption: "How the line came back".to_owned(),
        columns: vec![words("what", "What"), words("value", "Value")],
        rows: vec![
            row("the last stop put in was over", moment(Some(recovery.stop_end_s), "")),
            row("the last station was free of the wake", moment(Some(recovery.free_s), "")),
            row("recovery", Cell::words(&super::answer::length(recovery.recovery_s))),
            row(
                "largest delay of a good pack",
                Cell::words(&super::answer::length(recovery.largest_delay_s)),
            ),
            row("good packs had caught up", moment(recovery.caught_up_s, "not within the run")),
        ],
    }
}
