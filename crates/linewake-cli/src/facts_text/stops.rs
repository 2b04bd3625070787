//! Expected stops, and how often consumables are changed.

use super::{Pieces, duration, heading, percent, reason};
use crate::aligned::{Aligned, Side};
use linewake_model::facts::Facts;

pub(super) fn stations(facts: &Facts, text: &mut String) {
    if facts.station_stops.is_empty() {
        return;
    }
    heading(
        "Expected stops for an hour of running (response included), and the efficiency of each station alone",
        text,
    );
    let mut table = Aligned::new(&[
        ("station", Side::Left),
        ("reason", Side::Left),
        ("stops/h", Side::Right),
        ("mean length", Side::Right),
        ("min/h", Side::Right),
        ("efficiency", Side::Right),
        ("", Side::Left),
    ]);
    for station in &facts.station_stops {
        table.row([
            station.station.clone(),
            "all".to_owned(),
            format!("{:.2}", station.stops_per_running_h),
            String::new(),
            format!("{:.2}", station.stopped_min_per_running_h),
            percent(station.stand_alone_efficiency),
        ]);
        for mode in &station.modes {
            let how = if mode.planned {
                "planned"
            } else if mode.attended {
                "attended"
            } else {
                ""
            };
            table.row([
                String::new(),
                reason(&mode.reason),
                format!("{:.2}", mode.stops_per_running_h),
                duration(mode.mean_length_s),
                format!("{:.2}", mode.stopped_min_per_running_h),
                String::new(),
                how.to_owned(),
            ]);
        }
    }
    text.push_str(&table.text());
}

pub(super) fn consumables(facts: &Facts, pieces: Pieces, text: &mut String) {
    if facts.consumables.is_empty() {
        return;
    }
    heading("Changes of consumables, at the design rate", text);
    let head = format!("every {pieces}");
    let mut table = Aligned::new(&[
        ("station", Side::Left),
        ("reason", Side::Left),
        ("every cycles", Side::Right),
        (&head, Side::Right),
        ("time between", Side::Right),
        ("mean change", Side::Right),
    ]);
    for it in &facts.consumables {
        table.row([
            it.station.clone(),
            reason(&it.reason),
            format!("{:.0}", it.cycles),
            format!("{:.0}", it.packs),
            duration(it.interval_s),
            duration(it.change_s),
        ]);
    }
    text.push_str(&table.text());
}
