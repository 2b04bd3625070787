//! Where every portion is: in a case, a bin, scrap or the line.
//!
//! Each row is read from counters and contents of its own station, none is what the others leave over; so the sum
//! agrees with what came in only if every portion is accounted for.

use linewake_kpi::result::{ShiftResult, StationResult};
use linewake_kpi::summary::{Balance, BalancePlace, BalanceRow};
use linewake_log::event::Counter;
use linewake_log::facts::kind;
use linewake_log::header::LineFacts;
use linewake_model::stop::{FIXED_REASONS, Reason};
use std::collections::BTreeMap;

/// Place, place of the station in the line, reason.
type Key = (BalancePlace, usize, String);

/// The balance of all shifts together; `None` for a line in which nothing can be counted in, and for logs that do not
/// count what comes in (a plant's stop list seldom does).
pub(crate) fn balance(facts: &LineFacts, shifts: &[ShiftResult]) -> Option<Balance> {
    let source = facts.stations.iter().position(|station| station.kind == kind::PORTIONER).unwrap_or(0);
    let counts_portions = facts.stations.get(source)?.kind == kind::PORTIONER;
    let counts_nothing = |shift: &ShiftResult| {
        shift.stations.get(source).is_none_or(|it| it.counters.is_empty() && it.content.is_none())
    };
    if shifts.iter().all(counts_nothing) {
        return None;
    }
    let mut came_in = 0;
    let mut rows: BTreeMap<Key, i64> = BTreeMap::new();
    for shift in shifts {
        came_in += entered(facts, &shift.stations, source);
        for (station, result) in shift.stations.iter().enumerate().skip(source) {
            let portions = portions_of_a_piece(facts, station);
            for (place, reason, pieces) in left(facts, station, result) {
                *rows.entry((place, station, reason)).or_default() += pieces * portions;
            }
            let inside = still_inside(facts, &shift.stations, station);
            *rows.entry((BalancePlace::Line, station, String::new())).or_default() += inside;
        }
    }
    let rows = rows.into_iter().filter(|(_, count)| *count != 0).map(|((place, station, reason), count)| {
        BalanceRow { place, station: facts.stations[station].id.clone(), reason, count }
    });
    Some(Balance {
        unit: if counts_portions { "portions" } else { "pieces" }.to_owned(),
        came_in: u64::try_from(came_in).ok()?,
        rows: rows.collect(),
    })
}

/// What came in: cut by the portioner, arrived, or begun by a first machine that never runs dry.
fn entered(facts: &LineFacts, stations: &[StationResult], source: usize) -> i64 {
    let Some(result) = stations.get(source) else { return 0 };
    match facts.stations[source].kind.as_str() {
        kind::PORTIONER | kind::ARRIVALS => gain(result, Counter::Made),
        _ => gain(result, Counter::HandedOver) + content_gain(result),
    }
}

/// Pieces that left the line at a station, by place and reason.
fn left(facts: &LineFacts, station: usize, result: &StationResult) -> Vec<(BalancePlace, String, i64)> {
    let dropped = FIXED_REASONS[usize::from(Reason::DROPPED.0)];
    let mut left = Vec::new();
    if station + 1 == facts.stations.len() {
        left.push((BalancePlace::Case, String::new(), gain(result, Counter::HandedOver)));
    }
    for row in &result.counters {
        let place = if row.counter == Counter::Lost.word() || row.reason == dropped {
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
fn still_inside(facts: &LineFacts, stations: &[StationResult], station: usize) -> i64 {
    let portions = portions_of_a_piece(facts, station);
    if facts.stations[station].kind == kind::FORMER && portions > 1 {
        // The web counts pockets, and a pocket of the load zone may hold the first of its portions only.
        let loaded = station.checked_sub(1).map_or(0, |loader| gain(&stations[loader], Counter::HandedOver));
        return loaded - portions * gain(&stations[station], Counter::HandedOver);
    }
    content_gain(&stations[station]) * portions
}

fn portions_of_a_piece(facts: &LineFacts, station: usize) -> i64 {
    i64::from(facts.stations[station].portions_per_piece)
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
