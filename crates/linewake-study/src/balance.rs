//! Where every portion is: in a case, a bin, scrap or the line.
//!
//! Each row is read from counters and contents of its own station, none is what the others leave over; so the sum
//! agrees with what came in only if every portion is accounted for.

use linewake_kpi::result::{ShiftResult, StationResult};
use linewake_kpi::summary::{Balance, BalancePlace, BalanceRow};
use linewake_log::event::Counter;
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;
use std::collections::BTreeMap;

/// Place, place of the station in the line, reason.
type Key = (BalancePlace, usize, String);

/// The balance of all shifts together; `None` for a line in which nothing can be counted in.
pub(crate) fn balance(line: &Line, shifts: &[ShiftResult]) -> Option<Balance> {
    let source = line
        .stations
        .iter()
        .position(|station| matches!(station.kind, StationKind::Portioner(_)))
        .unwrap_or(0);
    let counts_portions = matches!(line.stations.get(source)?.kind, StationKind::Portioner(_));
    let mut came_in = 0;
    let mut rows: BTreeMap<Key, i64> = BTreeMap::new();
    for shift in shifts {
        came_in += entered(line, &shift.stations, source);
        for (station, result) in shift.stations.iter().enumerate().skip(source) {
            let portions = portions_of_a_piece(line, station);
            for (place, reason, pieces) in left(line, station, result) {
                *rows.entry((place, station, reason)).or_default() += pieces * portions;
            }
            let inside = still_inside(line, &shift.stations, station);
            *rows.entry((BalancePlace::Line, station, String::new())).or_default() += inside;
        }
    }
    let rows = rows.into_iter().filter(|(_, count)| *count != 0).map(|((place, station, reason), count)| {
        BalanceRow { place, station: line.stations[station].id.clone(), reason, count }
    });
    Some(Balance {
        unit: if counts_portions { "portions" } else { "pieces" }.to_owned(),
        came_in: u64::try_from(came_in).ok()?,
        rows: rows.collect(),
    })
}

/// What came in: cut by the portioner, arrived, or begun by a first machine that never runs dry.
fn entered(line: &Line, stations: &[StationResult], source: usize) -> i64 {
    let Some(result) = stations.get(source) else { return 0 };
    match line.stations[source].kind {
        StationKind::Portioner(_) | StationKind::Arrivals(_) => gain(result, Counter::Made),
        _ => gain(result, Counter::HandedOver) + content_gain(result),
    }
}

/// Pieces that left the line at a station, by place and reason.
fn left(line: &Line, station: usize, result: &StationResult) -> Vec<(BalancePlace, String, i64)> {
    let mut left = Vec::new();
    if station + 1 == line.stations.len() {
        left.push((BalancePlace::Case, String::new(), gain(result, Counter::HandedOver)));
    }
    for row in &result.counters {
        let place = if row.counter == Counter::Lost.word() || row.reason == line.reason(Reason::DROPPED) {
            BalancePlace::Scrap
        } else {
            BalancePlace::Bin
        };
        if row.counter == Counter::Rejected.word() || row.counter == Counter::Lost.word() {
            left.push((place, row.reason.clone(), count(row.value)));
        }
    }
    left
}

/// By how many portions the content of a station has grown.
fn still_inside(line: &Line, stations: &[StationResult], station: usize) -> i64 {
    let portions = portions_of_a_piece(line, station);
    let is_former = matches!(line.stations[station].kind, StationKind::Former(_));
    if is_former && portions > 1 {
        // The web counts pockets, and a pocket of the load zone may hold the first of its portions only.
        let loaded = station.checked_sub(1).map_or(0, |loader| gain(&stations[loader], Counter::HandedOver));
        return loaded - portions * gain(&stations[station], Counter::HandedOver);
    }
    content_gain(&stations[station]) * portions
}

/// Portions of a piece at a station: 1 up to the loader, those of a pocket from the former on.
fn portions_of_a_piece(line: &Line, station: usize) -> i64 {
    let loader = line.stations.iter().enumerate().find_map(|(place, it)| match &it.kind {
        StationKind::Loader(loader) => Some((place, loader.loads_per_zone)),
        _ => None,
    });
    loader.filter(|(place, _)| station > *place).map_or(1, |(_, loads)| i64::from(loads.max(1)))
}

fn gain(result: &StationResult, counter: Counter) -> i64 {
    count(result.counted(counter))
}

fn content_gain(result: &StationResult) -> i64 {
    result.content.map_or(0, |content| i64::from(content.at_end_pieces) - i64::from(content.at_start_pieces))
}

fn count(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}
