//! Takes the events of one shift as they happen and draws up its timeline.

use super::cells::{ContentTrack, OutputTrack};
use super::segments::{Reduction, Segment, Segments, reduced, stops_together};
use super::wake::{SeenStop, wake_of};
use super::{Band, BandState, ContentLine, MOST_MARKS, PAGE_WIDTH_PX, ShiftTimeline, StationBands};
use crate::result::StateTimes;
use crate::state_clocks::StateClocks;
use linewake_log::event::{Counter, Detail, Event, EventKind, EventSink, StationState};
use linewake_log::facts::kind;
use linewake_log::header::{LineFacts, LogHeader};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// Most stations with states that get bands.
const MOST_STATIONS: usize = 500;
/// Most belts and tables that get cells.
const MOST_CONTENTS: usize = 300;
/// Most cells of output.
const MOST_OUTPUT_CELLS: usize = 240;
/// Most cells of all contents together, and of one.
const MOST_CONTENT_CELLS: usize = 1200;
const MOST_CELLS_OF_ONE: usize = 360;

/// Draws up the timeline of one shift: an [`EventSink`] for the engine, or for the events of a log file.
#[derive(Clone, Debug)]
pub struct Timeline {
    facts: LineFacts,
    replication: Option<u64>,
    /// Of each station; the bands of those beyond [`MOST_STATIONS`] are not kept.
    tracks: Vec<Option<Track>>,
    stations_left_out: usize,
    contents: Vec<Option<ContentTrack>>,
    output: OutputTrack,
    clocks: StateClocks,
    longest: Option<SeenStop>,
    start: Moment,
    now: Moment,
}

/// One station.
#[derive(Clone, Debug)]
struct Track {
    state: Option<StationState>,
    reason: Reason,
    since: Moment,
    segments: Segments,
}

impl Track {
    fn book_up_to(&mut self, at: Moment) {
        self.segments.add(self.since, at, self.state, self.reason);
        self.since = self.since.max(at);
    }
}

impl Timeline {
    /// For the run that the header tells of; with a warm-up the window begins at its `warm_up_end` event.
    #[must_use]
    pub fn new(header: &LogHeader) -> Self {
        let window = header.horizon.since(header.warm_up);
        Self { replication: Some(header.replication), ..Self::of(&header.facts, window) }
    }

    /// For a run of that line whose window is expected to be so long (a wrong guess only makes the cells of contents
    /// wider or narrower).
    #[must_use]
    pub fn of(facts: &LineFacts, window: Span) -> Self {
        let with_states: Vec<usize> =
            (0..facts.stations.len()).filter(|&station| facts.stations[station].has_states).collect();
        let track =
            Track { state: None, reason: Reason::NONE, since: Moment::ZERO, segments: Segments::new() };
        let mut tracks = vec![None; facts.stations.len()];
        for &station in with_states.iter().take(MOST_STATIONS) {
            tracks[station] = Some(track.clone());
        }
        let belts: Vec<usize> =
            (0..facts.stations.len()).filter(|&station| is_buffer(facts, station)).collect();
        let most = (MOST_CONTENT_CELLS / belts.len().max(1)).clamp(4, MOST_CELLS_OF_ONE);
        let mut contents = vec![None; facts.stations.len()];
        for &station in belts.iter().take(MOST_CONTENTS) {
            contents[station] = Some(ContentTrack::new(Moment::ZERO, window, most));
        }
        Self {
            facts: facts.clone(),
            replication: None,
            tracks,
            stations_left_out: with_states.len().saturating_sub(MOST_STATIONS),
            contents,
            output: OutputTrack::new(),
            clocks: StateClocks::new(facts.stations.len(), facts.short_stop_limit),
            longest: None,
            start: Moment::ZERO,
            now: Moment::ZERO,
        }
    }

    /// The timeline, up to the last event.
    #[must_use]
    pub fn finish(mut self) -> ShiftTimeline {
        let (start, end) = (self.start, self.now);
        for track in self.tracks.iter_mut().flatten() {
            track.book_up_to(end);
        }
        self.clocks.book_up_to(end);
        for station in 0..self.facts.stations.len() {
            let clock = &self.clocks.stations[station];
            if let Some((began, reason)) = clock.own_stop_under_way() {
                let length = clock.length_so_far();
                self.see_stop(SeenStop { station, reason, start: began, end, length });
            }
        }
        let pixel = end.since(start).0.div_ceil(PAGE_WIDTH_PX).max(1);
        let segments: Vec<Option<Vec<Segment>>> =
            self.tracks.iter().map(|track| track.as_ref().map(|it| it.segments.all().to_vec())).collect();
        let wake =
            self.longest.map(|stop| wake_of(&stop, self.word(stop.reason), &self.facts, &segments, pixel));
        let contents = self.content_lines(end);
        let output = self.output.finish(end, MOST_OUTPUT_CELLS, self.facts.design_rate_per_min);
        let cells: usize = contents.iter().map(|line| line.cells.len()).sum::<usize>() + output.cells.len();
        let reaches = wake.as_ref().map_or(0, |wake| wake.reaches.len() + 1);
        let bands = within(segments, pixel, MOST_MARKS - cells - reaches);
        ShiftTimeline {
            replication: self.replication,
            start,
            end,
            pixel: Span(pixel),
            stations: bands
                .into_iter()
                .enumerate()
                .filter_map(|(station, segments)| Some(self.station_bands(station, &segments?)))
                .collect(),
            stations_left_out: self.stations_left_out,
            contents,
            output,
            wake,
        }
    }

    fn content_lines(&mut self, end: Moment) -> Vec<ContentLine> {
        let tracks = std::mem::take(&mut self.contents);
        let lines = tracks.into_iter().enumerate().filter_map(|(station, track)| {
            Some(ContentLine {
                station_index: station,
                station: self.facts.stations[station].id.clone(),
                capacity_pieces: self.facts.stations[station].capacity,
                cells: track?.finish(end),
            })
        });
        lines.collect()
    }

    fn station_bands(&self, station: usize, segments: &[Segment]) -> StationBands {
        let facts = &self.facts.stations[station];
        StationBands {
            station_index: station,
            station: facts.id.clone(),
            kind: facts.kind.clone(),
            bands: segments.iter().map(|segment| self.band(segment)).collect(),
        }
    }

    fn band(&self, segment: &Segment) -> Band {
        let time = |state: StationState| Span(segment.times[state as usize]);
        let shows_stop = matches!(segment.shows, BandState::Stopped | BandState::Planned);
        Band {
            start: segment.start(),
            end: segment.end,
            shows: segment.shows,
            reason: if shows_stop { self.word(segment.longest_reason) } else { String::new() },
            times: StateTimes {
                running: time(StationState::Running),
                starved: time(StationState::Starved),
                blocked: time(StationState::Blocked),
                stopped_waiting: time(StationState::StoppedWaiting),
                stopped_repair: time(StationState::StoppedRepair),
                planned: time(StationState::Planned),
            },
            unknown: Span(segment.time_of(BandState::Unknown)),
            stops: segment.stops,
        }
    }

    fn word(&self, reason: Reason) -> String {
        let known = self.facts.reasons.get(usize::from(reason.0)).cloned();
        known.unwrap_or_else(|| format!("reason {}", reason.0))
    }

    fn state(&mut self, at: Moment, station: usize, from: StationState, to: StationState, reason: Reason) {
        let change = self.clocks.change(at, station, from, to, reason);
        if let Some(ended) = change.ended.filter(|ended| ended.own) {
            let (reason, start, length) = (ended.reason, ended.began, ended.length);
            self.see_stop(SeenStop { station, reason, start, end: at, length });
        }
        if let Some(track) = &mut self.tracks[station] {
            track.book_up_to(at);
            if change.began {
                track.segments.another_stop();
            }
            track.state = Some(to);
            track.reason = reason;
        }
    }

    /// Keeps it if it is the longest that began in the window; of equals the first.
    fn see_stop(&mut self, stop: SeenStop) {
        let longer = self.longest.is_none_or(|longest| stop.length > longest.length);
        if stop.start >= self.start && stop.length > Span::ZERO && longer {
            self.longest = Some(stop);
        }
    }

    fn window_begins(&mut self, at: Moment) {
        for track in self.tracks.iter_mut().flatten() {
            track.since = at;
            track.segments.clear();
        }
        for track in self.contents.iter_mut().flatten() {
            track.begin(at);
        }
        self.output.begin(at);
        self.longest = None;
        self.start = at;
    }
}

impl EventSink for Timeline {
    fn detail(&self) -> Detail {
        Detail::States
    }

    fn record(&mut self, event: &Event) {
        let at = event.at.max(self.now);
        self.now = at;
        let station = usize::from(event.station);
        if station >= self.facts.stations.len() {
            return;
        }
        match event.kind {
            EventKind::State { from, to, reason, .. } => self.state(at, station, from, to, reason),
            EventKind::Count { counter: Counter::HandedOver, value, .. }
                if station == usize::from(self.facts.good_after) =>
            {
                self.output.count(at, value);
            }
            EventKind::Content { pieces } => {
                if let Some(track) = &mut self.contents[station] {
                    track.change(at, pieces);
                }
            }
            EventKind::WarmUpEnd => self.window_begins(at),
            EventKind::Count { .. } | EventKind::Call { .. } | EventKind::Pack { .. } | EventKind::End => {}
        }
    }
}

/// An accumulating belt or table, or whatever else has a capacity.
fn is_buffer(facts: &LineFacts, station: usize) -> bool {
    let station = &facts.stations[station];
    station.capacity.is_some()
        || matches!(station.kind.as_str(), kind::ACCUMULATING_BELT | kind::ACCUMULATING_TABLE)
}

/// The bands of all stations, `most` at most.
fn within(all: Vec<Option<Vec<Segment>>>, pixel: u64, most: usize) -> Vec<Option<Vec<Segment>>> {
    let mut levels = vec![0; all.len()];
    let mut bands: Vec<Option<Vec<Segment>>> =
        all.iter().map(|segments| segments.as_ref().map(|it| at_level(it, pixel, 0))).collect();
    let mut sum: usize = bands.iter().flatten().map(Vec::len).sum();
    while sum > most {
        let lengths = bands.iter().enumerate().filter_map(|(place, it)| Some((place, it.as_ref()?.len())));
        // Of equals the first in line order.
        let busiest = lengths
            .filter(|(place, _)| levels[*place] < LAST_LEVEL)
            .reduce(|most, next| if next.1 > most.1 { next } else { most });
        let Some((place, length)) = busiest else { break };
        levels[place] += 1;
        let coarser = all[place].as_ref().map(|segments| at_level(segments, pixel, levels[place]));
        sum = sum - length + coarser.as_ref().map_or(0, Vec::len);
        bands[place] = coarser;
    }
    bands
}

/// From here on all that is not a stop is put together: more pixels than the page has.
const STOPS_ONLY: u32 = 10;
/// And from here on all stops are.
const LAST_LEVEL: u32 = 2 * STOPS_ONLY + 1;

/// The bands of one station after so many steps of the rule.
fn at_level(segments: &[Segment], pixel: u64, level: u32) -> Vec<Segment> {
    let below = pixel.saturating_mul(1 << level.min(STOPS_ONLY));
    let bands = reduced(segments, &Reduction { below, stops_from: pixel, exact: false });
    match level.checked_sub(STOPS_ONLY + 1) {
        None => bands,
        Some(doubled) => stops_together(&bands, pixel, pixel.saturating_mul(1 << doubled)),
    }
}
