//! An invented shift over time, and invented times of stops, for tests of figures.

use super::{REASONS, STATIONS};
use linewake_kpi::content_times::ContentTimes;
use linewake_kpi::machine::{MachineSummary, StopTimes};
use linewake_kpi::result::StateTimes;
use linewake_kpi::timeline::{
    Band, BandState, ContentCell, ContentLine, OutputLine, ShiftTimeline, StationBands, Wake, WakeReach,
};
use linewake_model::time::{Moment, Span};

/// Cells of time, and their length in seconds.
const CELLS: usize = 720;
const CELL_S: u64 = 40;

/// Numbers that look like luck and are not.
struct Scatter(u64);

impl Scatter {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

struct Stop {
    station: usize,
    from: usize,
    to: usize,
    reason: String,
}

fn at(cell: usize) -> Moment {
    Moment(cell as u64 * CELL_S * 1_000_000)
}

fn reason(place: usize) -> String {
    REASONS
        .get(place)
        .map_or_else(|| format!("invented reason number {place}"), |reason| (*reason).to_owned())
}

fn stops(reasons: usize) -> Vec<Stop> {
    let mut scatter = Scatter(7);
    let stops = (0..reasons * 3).map(|place| {
        let from = scatter.below(700) as usize;
        let length = if place == 1 { 22 } else { 1 + scatter.below(5) as usize };
        let station = [4, 1, 10, 5, 3, 7][place % 6];
        Stop { station, from, to: (from + length).min(CELLS), reason: reason(place % reasons.max(1)) }
    });
    stops.collect()
}

/// A stop is felt this many cells later at a station so many places away.
fn delay(places: usize) -> usize {
    places / 3
}

fn state(stops: &[Stop], station: usize, cell: usize) -> (BandState, String) {
    if let Some(stop) =
        stops.iter().find(|stop| stop.station == station && (stop.from..stop.to).contains(&cell))
    {
        return (BandState::Stopped, stop.reason.clone());
    }
    if STATIONS[station].0 == "metal detector" && cell % 180 < 2 {
        return (BandState::Planned, "challenge".to_owned());
    }
    let felt = |stop: &&Stop| {
        let late = delay(stop.station.abs_diff(station));
        (stop.from + 2 * late..stop.to + late).contains(&cell)
    };
    match stops.iter().find(felt) {
        Some(stop) if stop.station < station => (BandState::Starved, String::new()),
        Some(_) => (BandState::Blocked, String::new()),
        None => (BandState::Running, String::new()),
    }
}

fn bands(stops: &[Stop], station: usize) -> Vec<Band> {
    let mut bands: Vec<Band> = Vec::new();
    for cell in 0..CELLS {
        let (shows, reason) = state(stops, station, cell);
        match bands.last_mut().filter(|band| band.shows == shows && band.reason == reason) {
            Some(band) => band.end = at(cell + 1),
            None => bands.push(Band {
                start: at(cell),
                end: at(cell + 1),
                shows,
                reason,
                times: StateTimes::default(),
                unknown: Span::ZERO,
                stops: u64::from(matches!(shows, BandState::Stopped | BandState::Planned)),
            }),
        }
    }
    for band in &mut bands {
        let time = band.end.since(band.start);
        match band.shows {
            BandState::Running => band.times.running = time,
            BandState::Starved => band.times.starved = time,
            BandState::Blocked => band.times.blocked = time,
            BandState::Stopped => band.times.stopped_repair = time,
            BandState::Planned => band.times.planned = time,
            BandState::Unknown => band.unknown = time,
        }
    }
    bands
}

fn wake(stops: &[Stop], stations: &[StationBands]) -> Option<Wake> {
    let stop = stops.iter().max_by_key(|stop| stop.to - stop.from)?;
    let (start, end) = (at(stop.from), at(stop.to));
    let reach = |station: &StationBands| {
        let state =
            if station.station_index > stop.station { BandState::Starved } else { BandState::Blocked };
        let band =
            station.bands.iter().find(|band| band.shows == state && band.end > start && band.start <= end)?;
        Some(WakeReach {
            station_index: station.station_index,
            station: station.station.clone(),
            state,
            start: band.start,
            end: band.end,
            waited: band.end.since(band.start),
        })
    };
    Some(Wake {
        station_index: stop.station,
        station: STATIONS[stop.station].0.to_owned(),
        reason: stop.reason.clone(),
        start,
        end,
        stopped: end.since(start),
        reaches: stations.iter().filter(|it| it.station_index != stop.station).filter_map(reach).collect(),
    })
}

fn content(station_index: usize) -> ContentLine {
    let mut scatter = Scatter(station_index as u64);
    let mut held = 20_i64;
    let cells = (0..CELLS / 2).map(|cell| {
        held = (held + scatter.below(19) as i64 - 9).clamp(0, 60);
        let pieces = u32::try_from(held).unwrap_or(0);
        ContentCell {
            start: at(2 * cell),
            end: at(2 * cell + 2),
            lowest_pieces: pieces.saturating_sub(5),
            highest_pieces: (pieces + 6).min(60),
            mean_pieces: f64::from(pieces),
        }
    });
    ContentLine {
        station_index,
        station: STATIONS[station_index].0.to_owned(),
        capacity_pieces: (station_index != 2).then_some(60),
        cells: cells.collect(),
    }
}

/// Good packs every four minutes; none while the case packer stands still.
fn output(stops: &[Stop]) -> OutputLine {
    const EACH: usize = 6;
    let last = STATIONS.len() - 1;
    let packs = (0..CELLS / EACH).map(|place| {
        let cells = EACH * place..EACH * (place + 1);
        let running = cells.filter(|cell| state(stops, last, *cell).0 == BandState::Running);
        65 * running.count() as u64
    });
    OutputLine { cell: Span(EACH as u64 * CELL_S * 1_000_000), design_packs: 416.0, cells: packs.collect() }
}

/// The shift.
pub(super) fn timeline(reasons: usize) -> ShiftTimeline {
    let stops = stops(reasons);
    let stations = STATIONS.iter().enumerate().filter(|(_, (.., has_states))| *has_states);
    let stations: Vec<StationBands> = stations
        .map(|(station_index, (id, kind, _))| StationBands {
            station_index,
            station: (*id).to_owned(),
            kind: (*kind).to_owned(),
            bands: bands(&stops, station_index),
        })
        .collect();
    let wake = wake(&stops, &stations);
    ShiftTimeline {
        replication: Some(0),
        start: at(0),
        end: at(CELLS),
        pixel: Span(CELL_S * 1_000_000),
        stations,
        stations_left_out: 0,
        contents: [2, 9].map(content).to_vec(),
        output: output(&stops),
        wake,
    }
}

/// The figures of a station with times of its stops, or of a belt with times of its contents.
pub(super) fn with_times(place: usize, machine: MachineSummary) -> MachineSummary {
    let mut scatter = Scatter(place as u64 + 1);
    if machine.oee.is_none() {
        let mut times = ContentTimes::default();
        (0..400).for_each(|_| {
            times.add((scatter.below(40) + scatter.below(24)).min(60) as u32, Span(40_000_000))
        });
        times.add(0, Span(3_000_000_000));
        return MachineSummary { content_times: Some(times), ..machine };
    }
    let mut all = StopTimes::default();
    for _ in 0..scatter.below(900) {
        // Products of numbers are spread evenly on a log scale, more or less.
        let seconds = 4.0 * 1.02_f64.powf((scatter.below(120) + scatter.below(120)) as f64);
        all.lengths.add(Span::from_seconds(seconds));
        all.running_between.add(Span::from_seconds(seconds * 12.0));
    }
    MachineSummary { stops: vec![all], ..machine }
}
