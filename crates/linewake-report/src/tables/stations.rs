//! What the stations did, what the belts and tables held, and where every portion is.

use crate::number;
use crate::table::{Cell, Column, Table, TableRow, csv_only, figures, words};
use crate::wording;
use linewake_kpi::summary::{BalancePlace, Summary};

/// State times and stops of each station.
pub(crate) fn stations(summary: &Summary) -> Table {
    let rows = summary.stations.iter().map(|station| {
        // A belt without states has no times: blank, not 0.
        let time = |time_s: Option<f64>| {
            time_s.map_or(Cell::Empty, |time_s| Cell::figure(time_s, number::minutes(time_s)))
        };
        let states = station.states.as_ref();
        TableRow::of(vec![
            Cell::words(&station.id),
            Cell::Words { raw: station.kind.clone(), shown: wording::station_kind(&station.kind) },
            time(states.map(|it| it.running_s)),
            time(states.map(|it| it.starved_s)),
            time(states.map(|it| it.blocked_s)),
            time(states.map(|it| it.stopped_waiting_s)),
            time(states.map(|it| it.stopped_repair_s)),
            time(states.map(|it| it.planned_s)),
            states.map_or(Cell::Empty, |_| Cell::count(station.own_stops)),
            time(station.running_time_between_stops_s),
            time(station.time_to_restore_s),
            Cell::count(station.made_pieces),
        ])
    });
    Table {
        name: format!("stations-{}", wording::start_in_names(summary.start)),
        caption: format!("Minutes a shift in each state; {}", wording::mean_of(summary)),
        columns: vec![
            words("station", "station"),
            Column { numeric: false, ..csv_only("kind") },
            figures("running_s_per_shift", "running"),
            figures("starved_s_per_shift", "starved"),
            figures("blocked_s_per_shift", "blocked"),
            figures("stopped_waiting_s_per_shift", "stopped: waiting"),
            figures("stopped_repair_s_per_shift", "stopped: repair"),
            figures("planned_s_per_shift", "planned"),
            figures("own_stops_per_shift", "own stops"),
            csv_only("running_time_between_stops_s"),
            csv_only("time_to_restore_s"),
            csv_only("made_pieces_per_shift"),
        ],
        rows: rows.collect(),
    }
}

/// Content of belts, tables, loader, web and lanes.
pub(crate) fn contents(summary: &Summary) -> Table {
    // Where the log does not count a mean, there is nothing to tell.
    let with_content = summary.stations.iter().filter_map(|station| Some((station, station.content?)));
    let with_content = with_content.filter(|(_, content)| content.mean_pieces.is_some());
    let rows = with_content.map(|(station, content)| {
        TableRow::of(vec![
            Cell::words(&station.id),
            content.capacity_pieces.map_or_else(
                || Cell::words("no limit"),
                |capacity| Cell::figure(f64::from(capacity), number::fixed(f64::from(capacity), 0)),
            ),
            Cell::maybe(content.mean_pieces, number::count),
            Cell::figure(content.full_share, number::percent_figure(content.full_share)),
            Cell::figure(content.empty_share, number::percent_figure(content.empty_share)),
        ])
    });
    Table {
        name: format!("contents-{}", wording::start_in_names(summary.start)),
        caption: format!("Content in pieces; {}", wording::mean_of(summary)),
        columns: vec![
            words("station", "station"),
            figures("capacity_pieces", "capacity"),
            figures("mean_pieces", "mean content"),
            figures("full_share", "full, % of time"),
            figures("empty_share", "empty, % of time"),
        ],
        rows: rows.collect(),
    }
}

/// Where every portion is, over all shifts; `None` where no balance was drawn up.
pub(crate) fn balance(summary: &Summary) -> Option<Table> {
    let balance = summary.balance.as_ref()?;
    let whole = |value: f64| Cell::figure(value, number::fixed(value, 0));
    let sum = |label: &str, value: f64| {
        TableRow::sum(vec![Cell::words(label), Cell::words(""), Cell::words(""), whole(value)])
    };
    let mut rows = vec![sum("came in", balance.came_in as f64)];
    let places = [BalancePlace::Case, BalancePlace::Bin, BalancePlace::Scrap, BalancePlace::Line];
    for place in places {
        for row in balance.rows.iter().filter(|row| row.place == place) {
            rows.push(TableRow::of(vec![
                Cell::words(wording::place(place, summary)),
                Cell::words(&row.station),
                Cell::reason(&row.reason),
                whole(row.count as f64),
            ]));
        }
    }
    rows.push(sum("difference", balance.difference() as f64));
    Some(Table {
        name: format!("balance-{}", wording::start_in_names(summary.start)),
        caption: format!("Where the {} are, {} together", balance.unit, wording::shifts(summary)),
        columns: vec![
            words("place", "where"),
            words("station", "station"),
            words("reason", "reason"),
            figures("count", &balance.unit),
        ],
        rows,
    })
}
