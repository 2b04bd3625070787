//! One row of the figure: a station with its states, or a belt or table with its content.

use super::length;
use crate::canvas::{Canvas, Lettering};
use crate::number;
use crate::style::{Fill, LINE};
use linewake_kpi::timeline::{Band, BandState, ContentLine, ShiftTimeline, Wake};
use linewake_model::time::Moment;

/// Height of the marks of a station.
pub(super) const STRIP: f64 = 18.0;
/// Colour of the content of a belt.
const HELD: &str = "#cfd8df";

/// A row.
pub(super) struct Row<'a> {
    pub(super) station_index: usize,
    pub(super) label: &'a str,
    /// What happened to it in the wake.
    pub(super) note: String,
    bands: &'a [Band],
    pub(super) content: Option<&'a ContentLine>,
}

/// All rows in line order.
pub(super) fn rows(timeline: &ShiftTimeline, from: Moment, to: Moment) -> Vec<Row<'_>> {
    let stations = timeline.stations.iter().map(|station| Row {
        station_index: station.station_index,
        label: &station.station,
        note: timeline.wake.as_ref().map_or_else(String::new, |wake| note(wake, station.station_index)),
        bands: &station.bands,
        content: None,
    });
    let contents = timeline.contents.iter().map(|line| Row {
        station_index: line.station_index,
        label: &line.station,
        note: held(line, from, to),
        bands: &[],
        content: Some(line),
    });
    let mut rows: Vec<Row<'_>> = stations.collect();
    // A loader has states and a content: its states are what is drawn here.
    rows.extend(
        contents.filter(|row| timeline.stations.iter().all(|it| it.station_index != row.station_index)),
    );
    rows.sort_by_key(|row| row.station_index);
    rows
}

/// What a stop did to a station: "starved after 42 s, for 3.1 min".
fn note(wake: &Wake, station_index: usize) -> String {
    if station_index == wake.station_index {
        return format!("stopped for {}", length(wake.stopped));
    }
    let Some(reach) = wake.reaches.iter().find(|reach| reach.station_index == station_index) else {
        // A rigid belt between stations that were reached moves on, empty.
        let reached = wake.reaches.iter().map(|reach| reach.station_index);
        let ends = reached
            .fold((wake.station_index, wake.station_index), |(low, high), it| (low.min(it), high.max(it)));
        let within = (ends.0..=ends.1).contains(&station_index);
        return if within { "ran on, empty" } else { "not reached" }.to_owned();
    };
    let later = reach.start.since(wake.start);
    let when = if later.seconds() < 0.5 { "at once".to_owned() } else { format!("after {}", length(later)) };
    format!("{} {when}, for {}", reach.state.word(), length(reach.waited))
}

/// What a belt held in a stretch of time: "holds 12 to 60 of 60".
fn held(line: &ContentLine, from: Moment, to: Moment) -> String {
    let cells = line.cells.iter().filter(|cell| cell.start < to && cell.end > from);
    let ends = cells.fold(None, |ends: Option<(u32, u32)>, cell| {
        let (low, high) = ends.unwrap_or((cell.lowest_pieces, cell.highest_pieces));
        Some((low.min(cell.lowest_pieces), high.max(cell.highest_pieces)))
    });
    let of = line.capacity_pieces.map_or_else(String::new, |capacity| format!(" of {}", shown(capacity)));
    match ends {
        Some((low, high)) if low == high => format!("holds {}{of}", shown(low)),
        Some((low, high)) => format!("holds {} to {}{of}", shown(low), shown(high)),
        None => String::new(),
    }
}

fn shown(pieces: u32) -> String {
    number::fixed(f64::from(pieces), 0)
}

/// Where the mark of a state stands in the strip: top, height and fill; `None` for running, which is the bare line.
pub(super) fn place(state: BandState) -> Option<(f64, f64, Fill)> {
    let half = STRIP / 2.0;
    match state {
        BandState::Running => None,
        BandState::Starved => Some((0.0, half, Fill::Starved)),
        BandState::Blocked => Some((half, half, Fill::Blocked)),
        BandState::Stopped => Some((0.0, STRIP, Fill::Stop)),
        BandState::Planned => Some((0.0, STRIP, Fill::Planned)),
        BandState::Unknown => Some((half - 2.0, 4.0, Fill::Rest)),
    }
}

impl Row<'_> {
    pub(super) fn lettering(&self) -> Lettering {
        // A belt is no machine: its name is quieter.
        if self.content.is_some() {
            Lettering { size: Lettering::BODY.size, ..Lettering::SMALL }
        } else {
            Lettering::BODY
        }
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, strip: f64, at: impl Fn(Moment) -> f64) {
        if let Some(line) = self.content {
            draw_content(canvas, line, strip, at);
            return;
        }
        let states = [
            BandState::Unknown,
            BandState::Starved,
            BandState::Blocked,
            BandState::Planned,
            BandState::Stopped,
        ];
        for state in states {
            let Some((top, height, fill)) = place(state) else { continue };
            let of_state = self.bands.iter().filter(|band| band.shows == state);
            let marks = of_state.filter_map(|band| {
                let (from, to) = (at(band.start), at(band.end));
                // Outside of what is shown both ends are at its edge. A stop is seen, however short.
                (to > from).then(|| (from, strip + top, (to - from).max(1.0), height))
            });
            canvas.marks(&marks.collect::<Vec<_>>(), fill.ink());
        }
    }
}

/// Content as a filled level: the whole height is the capacity, or without one the most that it held.
fn draw_content(canvas: &mut Canvas, line: &ContentLine, strip: f64, at: impl Fn(Moment) -> f64) {
    let most = line.cells.iter().map(|cell| cell.highest_pieces).max().unwrap_or(0);
    let most = f64::from(line.capacity_pieces.unwrap_or(0).max(most).max(1));
    let floor = strip + STRIP;
    let mut level = Vec::new();
    for cell in &line.cells {
        let (from, to) = (at(cell.start), at(cell.end));
        if to > from {
            let y = floor - (cell.mean_pieces / most).clamp(0.0, 1.0) * STRIP;
            level.extend([(from, y), (to, y)]);
        }
    }
    if let (Some(first), Some(last)) = (level.first().copied(), level.last().copied()) {
        let mut area = vec![(first.0, floor)];
        area.extend(level.iter().copied());
        area.push((last.0, floor));
        canvas.polygon(&area, HELD);
        canvas.polyline(&level, LINE, 0.8, "");
        canvas.line((first.0, floor), (last.0, floor), LINE, 0.5);
    }
}
