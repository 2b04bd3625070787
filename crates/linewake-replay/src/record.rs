//! Takes the events of one run and keeps what a moving picture needs of a window of it.

mod items;
mod layout;
mod track;

use crate::{ContentReplay, FORM, ItemKind, Replay, Segment, StationReplay, StopMark, WebReplay};
use items::Items;
use layout::{layout_of, web_of};
use linewake_kpi::timeline::{Band, BandState, ShiftTimeline, Timeline};
use linewake_log::event::{Detail, Event, EventKind, EventSink, PackStep, StationState};
use linewake_log::header::LineFacts;
use linewake_model::line::Line;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use track::Track;

/// Records one run: an [`EventSink`] for the engine, or for the events of a log file with packs.
#[derive(Clone, Debug)]
pub struct Recorder {
    facts: LineFacts,
    line: String,
    from: Moment,
    to: Moment,
    begun: bool,
    timeline: Timeline,
    tracks: Vec<Track>,
    /// Stations that stand in a break.
    in_break: usize,
    items: Items,
    web: Option<WebReplay>,
    injected: Vec<StopMark>,
    now: Moment,
}

impl Recorder {
    /// Of a run of that line with that horizon; pieces and exact states are kept from one moment to the other (both
    /// cut off at the horizon).
    #[must_use]
    pub fn new(line: &Line, horizon: Moment, from: Moment, to: Moment) -> Self {
        let facts = LineFacts::of(line);
        let to = to.min(horizon);
        let from = from.min(to);
        let former = facts.stations.iter().position(|station| station.kind == "former");
        let tracks = line
            .stations
            .iter()
            .zip(&facts.stations)
            .map(|(station, known)| Track::new(layout_of(station, known.capacity), station, known.has_states))
            .collect();
        Self {
            timeline: Timeline::of(&facts, horizon.since(Moment::ZERO)),
            line: line.name.clone(),
            web: web_of(line),
            items: Items::new(former),
            facts,
            from,
            to,
            begun: false,
            tracks,
            in_break: 0,
            injected: Vec::new(),
            now: Moment::ZERO,
        }
    }

    /// What was recorded, up to the last event.
    #[must_use]
    pub fn finish(mut self) -> Replay {
        self.begin_window();
        let end = self.now.min(self.to);
        let timeline = self.timeline.finish();
        let mut stations = Vec::new();
        for (index, (track, known)) in self.tracks.into_iter().zip(&self.facts.stations).enumerate() {
            let has_content = track.has_content();
            let capacity_pieces = track.capacity_pieces(known.capacity);
            let layout = track.layout.clone();
            let content_overview = track.overview(timeline.end);
            let (segments, motion, steps) = track.finish(self.from, end);
            stations.push(StationReplay {
                id: known.id.clone(),
                kind: known.kind.clone(),
                has_states: known.has_states,
                layout,
                overview: overview(&timeline, index, &self.facts.reasons),
                segments,
                content: has_content.then(|| ContentReplay {
                    capacity_pieces,
                    steps,
                    steps_without: Vec::new(),
                    overview: content_overview,
                }),
                motion,
            });
        }
        Replay {
            form: FORM,
            line: self.line,
            start_us: timeline.start.0,
            end_us: timeline.end.0,
            window_start_us: self.from.0,
            window_end_us: end.0,
            reasons: self.facts.reasons,
            stations,
            web: self.web,
            items: self.items.finish(),
            injected: self.injected,
            wake: Vec::new(),
        }
    }

    /// From here on marks are kept.
    fn begin_window(&mut self) {
        if self.begun {
            return;
        }
        self.begun = true;
        for track in &mut self.tracks {
            track.begin_window(self.from);
        }
        self.items.begin_window();
    }

    fn state(&mut self, at: Moment, station: usize, to: StationState, reason: Reason) {
        let track = &mut self.tracks[station];
        let was_in_break = track.is_in_break();
        if let Some(began) = track.injected_since(at, to, reason) {
            self.injected.push(StopMark { station, start_us: began.0, end_us: at.0 });
        }
        track.change(at, to, reason, self.from, self.to);
        let is_in_break = track.is_in_break();
        if was_in_break != is_in_break {
            let before = self.in_break;
            self.in_break = if is_in_break { before + 1 } else { before.saturating_sub(1) };
            if (before == 0) != (self.in_break == 0) {
                for track in &mut self.tracks {
                    track.break_passes(at, self.in_break > 0, self.from, self.to);
                }
            }
        }
    }

    fn pack(&mut self, at: Moment, station: usize, step: PackStep, item: u64, into: u64, reason: Reason) {
        if step == PackStep::Advanced {
            return self.advanced(at);
        }
        if at > self.to {
            return;
        }
        let kind = self.items.kind_at(station);
        let keep = at >= self.from;
        match step {
            PackStep::Portioned | PackStep::Entered => {
                let left = self.items.station_of(kind, item);
                let clock = self.tracks[station].enters(at);
                self.items.visits(kind, item, station, at, clock);
                self.moves(at, left, Some(station));
            }
            PackStep::Loaded => {
                let left = self.items.station_of(kind, item);
                self.items.goes(kind, item, at, crate::Way::Loaded, reason, keep);
                self.moves(at, left, None);
                if let Some(web) = &self.web {
                    let former = web.station;
                    let clock = self.tracks[former].enters(at);
                    self.items.fills(into, former, at, clock);
                }
            }
            PackStep::Cut => self.items.of(ItemKind::Pack, item, |it| it.cut_us = Some(at.0)),
            PackStep::Picked => self.items.of(ItemKind::Pack, item, |it| it.picked_us = Some(at.0)),
            PackStep::Tagged => {
                self.items.of(ItemKind::Pack, item, |it| it.tagged = Some((at.0, reason.0)));
            }
            PackStep::Rejected | PackStep::Cased | PackStep::Left => {
                let how = match step {
                    PackStep::Rejected => crate::Way::Rejected,
                    PackStep::Cased => crate::Way::Cased,
                    _ => crate::Way::Left,
                };
                let left = self.items.station_of(kind, item);
                self.items.goes(kind, item, at, how, reason, keep);
                self.moves(at, left, None);
            }
            PackStep::Tipped | PackStep::Defect | PackStep::Lost | PackStep::Advanced => {}
        }
    }

    /// A piece leaves one station and comes into another.
    fn moves(&mut self, at: Moment, left: Option<usize>, entered: Option<usize>) {
        let keep = at >= self.from;
        if let Some(left) = left {
            self.tracks[left].content_changes(at, -1, keep);
        }
        if let Some(entered) = entered {
            self.tracks[entered].content_changes(at, 1, keep);
        }
    }

    fn advanced(&mut self, at: Moment) {
        let Some(web) = &mut self.web else { return };
        if at <= self.from {
            web.advances_before += 1;
        } else if web.advances.last().is_none_or(|last| last.0 <= self.to.0) {
            web.advances.push((at.0, self.tracks[web.station].clock_at(at)));
        }
    }
}

impl EventSink for Recorder {
    fn detail(&self) -> Detail {
        Detail::Packs
    }

    fn record(&mut self, event: &Event) {
        self.timeline.record(event);
        let at = event.at.max(self.now);
        if at > self.from {
            self.begin_window();
        }
        self.now = at;
        let station = usize::from(event.station);
        if station >= self.tracks.len() {
            return;
        }
        match event.kind {
            EventKind::State { to, reason, .. } => self.state(at, station, to, reason),
            EventKind::Pack { step, item, into, reason, .. } => {
                self.pack(at, station, step, item, into, reason);
            }
            EventKind::Content { pieces } => self.tracks[station].content_told(at, pieces),
            _ => {}
        }
    }
}

fn overview(timeline: &ShiftTimeline, station: usize, reasons: &[String]) -> Vec<Segment> {
    let Some(bands) = timeline.stations.iter().find(|it| it.station_index == station) else {
        return Vec::new();
    };
    let number = |band: &Band| reasons.iter().position(|word| *word == band.reason).unwrap_or(0) as u16;
    let state = |shows: BandState| match shows {
        BandState::Running => StationState::Running as u8,
        BandState::Starved => StationState::Starved as u8,
        BandState::Blocked => StationState::Blocked as u8,
        BandState::Stopped => StationState::StoppedRepair as u8,
        BandState::Planned => StationState::Planned as u8,
        BandState::Unknown => Segment::UNKNOWN,
    };
    bands.bands.iter().map(|it| Segment(it.start.0, it.end.0, state(it.shows), number(it))).collect()
}
