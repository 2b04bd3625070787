//! One station while events come in: its state, the clock of its motion, its content.

use crate::{Layout, MotionMark, Segment};
use linewake_log::event::StationState;
use linewake_model::station::{Station, StationKind};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// By what the clock of motion runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum MovesBy {
    /// Nothing moves by a clock.
    Nothing,
    /// While the station runs.
    Running,
    /// Outside of own and planned stops.
    NoStop,
    /// Outside of breaks: it has no states.
    NoBreak,
}

#[derive(Clone, Debug)]
pub(super) struct Track {
    pub(super) layout: Layout,
    moves_by: MovesBy,
    /// Time of motion between two packs of one placement.
    pitch: Span,
    state: StationState,
    reason: Reason,
    since: Moment,
    known: bool,
    moving: bool,
    clock: u64,
    clock_at: Moment,
    content: u32,
    /// Last placement: when, and packs of it so far.
    placement: (Moment, u64),
    segments: Vec<Segment>,
    motion: Vec<MotionMark>,
    steps: Vec<(u64, u32)>,
    /// Content as its rows tell it, every 10 s where it has changed: over all of the run.
    told: Vec<(u64, u32)>,
}

/// Cells of an overview.
const CELLS: u64 = 360;

impl Track {
    pub(super) fn new(layout: Layout, station: &Station, has_states: bool) -> Self {
        let moves_by = match layout {
            Layout::Rigid { .. } | Layout::Web => MovesBy::Running,
            Layout::Queue { .. } if has_states => MovesBy::NoStop,
            Layout::Queue { .. } => MovesBy::NoBreak,
            _ => MovesBy::Nothing,
        };
        let pitch = match &station.kind {
            StationKind::RigidBelt(belt) => belt.pitch(),
            _ => Span::ZERO,
        };
        Self {
            layout,
            moves_by,
            pitch,
            state: StationState::Running,
            reason: Reason::NONE,
            since: Moment::ZERO,
            known: false,
            moving: moves_by == MovesBy::NoBreak,
            clock: 0,
            clock_at: Moment::ZERO,
            content: 0,
            placement: (Moment::NEVER, 0),
            segments: Vec::new(),
            motion: Vec::new(),
            steps: Vec::new(),
            told: Vec::new(),
        }
    }

    /// A row tells the content.
    pub(super) fn content_told(&mut self, at: Moment, pieces: u32) {
        if self.has_content() {
            self.told.push((at.0, pieces));
        }
    }

    /// Start, end, lowest and highest content of equal cells over the run.
    pub(super) fn overview(&self, end: Moment) -> Vec<(u64, u64, u32, u32)> {
        let cell = end.0.div_ceil(CELLS).max(1);
        let (mut next, mut stands) = (0, 0);
        let mut cells = Vec::new();
        let mut start = 0;
        while start < end.0 && self.has_content() {
            let stop = (start + cell).min(end.0);
            let (mut lowest, mut highest) = (stands, stands);
            while let Some(&(_, pieces)) = self.told.get(next).filter(|told| told.0 < stop) {
                (lowest, highest, stands) = (pieces.min(lowest), pieces.max(highest), pieces);
                next += 1;
            }
            cells.push((start, stop, lowest, highest));
            start = stop;
        }
        cells
    }

    /// Its content is shown.
    pub(super) fn has_content(&self) -> bool {
        match self.layout {
            Layout::Queue { places, .. } => places > 0,
            Layout::Lane { .. } => true,
            _ => false,
        }
    }

    /// Pieces that it holds: of a case packer those of the lane and of the case that is being made.
    pub(super) fn capacity_pieces(&self, capacity: Option<u32>) -> Option<u32> {
        match self.layout {
            Layout::Lane { packs_per_case, places } => Some(places + packs_per_case),
            _ => capacity,
        }
    }

    pub(super) fn is_in_break(&self) -> bool {
        self.state == StationState::Planned && self.reason == Reason::BREAK
    }

    /// Begin of the injected stop that ends at this change of state, if one does.
    pub(super) fn injected_since(&self, at: Moment, to: StationState, reason: Reason) -> Option<Moment> {
        let goes_on = to.is_own_stop() && reason == Reason::INJECTED;
        let was = self.state.is_own_stop() && self.reason == Reason::INJECTED;
        (was && (!goes_on || self.since < at)).then_some(self.since)
    }

    /// The clock of motion.
    pub(super) fn clock_at(&self, at: Moment) -> u64 {
        if self.moving { self.clock + at.since(self.clock_at).0 } else { self.clock }
    }

    /// From here on marks are kept.
    pub(super) fn begin_window(&mut self, from: Moment) {
        if self.moves_by != MovesBy::Nothing {
            self.motion.push(MotionMark(from.0, self.clock_at(from), u8::from(self.moving)));
        }
        if self.has_content() {
            self.steps.push((from.0, self.content));
        }
    }

    /// The station changes its state.
    pub(super) fn change(
        &mut self,
        at: Moment,
        to: StationState,
        reason: Reason,
        from: Moment,
        until: Moment,
    ) {
        self.close_segment(at, from, until);
        (self.state, self.reason, self.since, self.known) = (to, reason, at, true);
        let moving = match self.moves_by {
            MovesBy::Running => to == StationState::Running,
            MovesBy::NoStop => !to.is_own_stop() && to != StationState::Planned,
            MovesBy::Nothing | MovesBy::NoBreak => return,
        };
        self.moves(at, moving, from, until);
    }

    /// A break of the line begins or ends.
    pub(super) fn break_passes(&mut self, at: Moment, begins: bool, from: Moment, until: Moment) {
        if self.moves_by == MovesBy::NoBreak {
            self.moves(at, !begins, from, until);
        }
    }

    fn moves(&mut self, at: Moment, moving: bool, from: Moment, until: Moment) {
        if self.moving == moving {
            return;
        }
        (self.clock, self.clock_at) = (self.clock_at(at), at);
        self.moving = moving;
        if at > from && at <= until {
            self.motion.push(MotionMark(at.0, self.clock, u8::from(moving)));
        }
    }

    /// A piece comes in: the reading of the clock of motion when it stands at the beginning.
    pub(super) fn enters(&mut self, at: Moment) -> u64 {
        let clock = self.clock_at(at);
        if self.pitch == Span::ZERO {
            return clock;
        }
        let placed = if self.placement.0 == at { self.placement.1 } else { 0 };
        self.placement = (at, placed + 1);
        clock + placed * self.pitch.0
    }

    /// A piece more, or less.
    pub(super) fn content_changes(&mut self, at: Moment, by: i32, keep: bool) {
        self.content = self.content.saturating_add_signed(by);
        if !self.has_content() || !keep {
            return;
        }
        match self.steps.last_mut() {
            Some(last) if last.0 == at.0 => last.1 = self.content,
            _ => self.steps.push((at.0, self.content)),
        }
    }

    fn close_segment(&mut self, at: Moment, from: Moment, until: Moment) {
        let (start, end) = (self.since.max(from), at.min(until));
        if !self.known || start >= end {
            return;
        }
        match self.segments.last_mut() {
            Some(last) if last.1 == start.0 && last.2 == self.state as u8 && last.3 == self.reason.0 => {
                last.1 = end.0;
            }
            _ => self.segments.push(Segment(start.0, end.0, self.state as u8, self.reason.0)),
        }
    }

    /// States, motion and content within the window.
    pub(super) fn finish(
        mut self,
        from: Moment,
        end: Moment,
    ) -> (Vec<Segment>, Vec<MotionMark>, Vec<(u64, u32)>) {
        self.close_segment(end, from, end);
        (self.segments, self.motion, self.steps)
    }
}
