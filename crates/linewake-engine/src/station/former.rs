//! Thermoform form-fill-seal machine: dwell, load, advance, and what its web functions do to the packs.

use crate::piece::Piece;
use crate::station::loader::LOADER;
use crate::station::pick_robot::ROBOT;
use crate::station::unit_getter;
use crate::station::web::Web;
use crate::station::web_functions::{FormerLuck, Marks, tag};
use crate::world::World;
use linewake_log::event::{Counter, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::{self, WithoutProduct};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use linewake_stats::stream::Streams;

/// Place of the former in a line that has one.
pub(crate) const FORMER: usize = 4;

/// Where the former is in its cycle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Phase {
    /// The web stands, functions work.
    Dwell,
    /// The functions are done; a load is awaited or under way.
    DwellForLoad,
    /// The dwell is over; the pick zone is not clear.
    ZoneNotClear,
    /// The web moves.
    Advancing,
    /// Waiting for the cap on the speed.
    WaitingForCap,
}

#[derive(Debug)]
pub(crate) struct Former {
    pub(crate) spec: station::Former,
    dwell: Span,
    /// Product that stood open longer is aged.
    pub(super) open_time_limit: Option<Span>,
    indexes_per_array: u32,
    loads_per_zone: u32,
    pub(crate) phase: Phase,
    dwell_began: Moment,
    pub(crate) web: Web,
    /// Advances until the load zone is empty again; 0 means it is.
    zone_filled_for: u32,
    /// Loads that the zone has had, of `loads_per_zone`.
    zone_loads: u32,
    pub(crate) load_under_way: bool,
    /// Indexes still to be tagged first_off at the seal.
    pub(super) first_off: u32,
    /// Indexes in a row with a pack tagged by vision.
    pub(super) tagged_in_row: u32,
    /// Stop mode of the vision stop rule.
    pub(crate) vision_stop: Option<usize>,
    pub(super) luck: FormerLuck,
    /// Empty; kept so that a dwell asks for no memory.
    marks: Marks,
}

impl Former {
    pub(crate) fn new(
        line: &Line,
        station: usize,
        spec: &station::Former,
        loader: &station::Loader,
        streams: &Streams,
    ) -> Self {
        Self {
            dwell: spec.dwell(),
            open_time_limit: loader.open_time_limit,
            indexes_per_array: loader.indexes_per_array,
            loads_per_zone: loader.loads_per_zone,
            phase: Phase::Dwell,
            dwell_began: Moment::ZERO,
            web: Web::new(spec.positions.cut, spec.pockets()),
            zone_filled_for: 0,
            zone_loads: 0,
            load_under_way: false,
            first_off: 0,
            tagged_in_row: 0,
            vision_stop: None,
            luck: FormerLuck::new(line, &line.stations[station].id, spec, streams),
            spec: spec.clone(),
            marks: Vec::new(),
        }
    }

    pub(crate) fn content(&self) -> u32 {
        self.web.content()
    }
}

unit_getter!(former, Former, Former);

impl World<'_> {
    /// A dwell begins.
    pub(crate) fn former_dwells(&mut self) {
        let now = self.now;
        let former = self.former(FORMER);
        former.phase = Phase::Dwell;
        former.dwell_began = now;
        let dwell = former.dwell;
        self.set_base(FORMER, StationState::Running);
        let timer = self.frames[FORMER].motion;
        self.set_in(timer, dwell);
        self.loader_loads();
    }

    /// The load zone can take an array now: the web stands in a dwell, the zone is empty or half loaded, no stop.
    pub(crate) fn former_can_be_loaded(&mut self, station: usize) -> bool {
        let held = self.frames[station].is_held();
        let former = self.former(station);
        let in_dwell = matches!(former.phase, Phase::Dwell | Phase::DwellForLoad);
        in_dwell && !held && former.zone_filled_for == 0 && !former.load_under_way
    }

    /// The functions are done, an advance is over, or the cap lets the next dwell begin.
    pub(crate) fn former_moved(&mut self, station: usize) {
        match self.former(station).phase {
            Phase::Dwell => {
                self.web_functions_done(station);
                self.former(station).phase = Phase::DwellForLoad;
                self.former_ends_dwell(station);
            }
            Phase::Advancing => self.former_advanced(station),
            Phase::WaitingForCap => self.former_dwells(),
            Phase::DwellForLoad | Phase::ZoneNotClear => {}
        }
    }

    /// Ends the dwell if the load zone holds product, or may stay empty.
    fn former_ends_dwell(&mut self, station: usize) {
        let held = self.frames[station].is_held();
        let former = self.former(station);
        if held || former.phase != Phase::DwellForLoad {
            return;
        }
        let zone_filled = former.zone_filled_for > 0;
        let begun = former.load_under_way || former.zone_loads > 0;
        // A zone that has had one of two loads waits for the other: half-filled pockets are never sent on.
        if !zone_filled && (begun || former.spec.without_product == WithoutProduct::Wait) {
            return self.set_base(station, StationState::Starved);
        }
        former.phase = Phase::ZoneNotClear;
        self.former_advances(station);
    }

    /// Starts the advance if the pick zone is clear; tagged packs left in it drop into the reject bin.
    pub(crate) fn former_advances(&mut self, station: usize) {
        if self.frames[station].is_held() || self.former(station).phase != Phase::ZoneNotClear {
            return;
        }
        if !self.pick_zone_is_clear(ROBOT) {
            return self.set_base(station, StationState::Blocked);
        }
        if let Some(frame) = self.pick_zone_empties(ROBOT) {
            self.former(station).web.recycle(frame);
        }
        let former = self.former(station);
        former.phase = Phase::Advancing;
        let advance = former.spec.advance;
        self.set_base(station, StationState::Running);
        let timer = self.frames[station].motion;
        self.set_in(timer, advance);
    }

    /// All frames have moved on one position.
    fn former_advanced(&mut self, station: usize) {
        let former = self.former(station);
        let out = former.web.advance();
        former.zone_filled_for = former.zone_filled_for.saturating_sub(1);
        former.phase = Phase::WaitingForCap;
        let advances = former.web.advances();
        self.books.add(station, Counter::Indexes, Reason::NONE, 1);
        self.tell(station, PackStep::Advanced, &Piece::new(advances, 0, Moment::ZERO), Reason::NONE);
        self.robot_gets_frame(ROBOT, out);
        if self.count_cycle(station) {
            self.strike_if_due(station);
        }
        self.former_waits_for_cap(station);
    }

    /// The next dwell starts no earlier than the cap allows, counted from the start of the last one.
    fn former_waits_for_cap(&mut self, station: usize) {
        if self.frames[station].is_held() {
            return;
        }
        let speed = self.speed(station);
        let now = self.now;
        let former = self.former(station);
        let cap = former.spec.max_cycles_per_min.map_or(Span::ZERO, |cap| Span::from_seconds(60.0 / cap));
        let earliest = former.dwell_began + cap.at_speed(speed);
        if earliest <= now {
            return self.former_dwells();
        }
        self.set_base(station, StationState::Running);
        let timer = self.frames[station].motion;
        self.timers.set(timer, earliest);
    }

    /// A load is done: the array lies in the pockets of the load zone. The file's first portion lies furthest on.
    pub(crate) fn former_is_loaded(&mut self, array: &mut [Piece]) {
        let mut tags = 0_u64;
        let mut filled = 0;
        let mut told: Vec<(Piece, u64)> = Vec::new();
        let mut marks: Marks = Vec::new();
        let packs_wanted = self.packs_wanted;
        let former = self.former(FORMER);
        let (lanes, rows) = (former.spec.lanes as usize, former.spec.rows_per_index as usize);
        let array_rows = array.len() / lanes;
        for (place, portion) in array.iter().enumerate() {
            let (lane, row) = (place / array_rows, place % array_rows);
            let position = former.spec.positions.load_at - (row / rows) as u32;
            let pocket_in_frame = lane * rows + row % rows;
            let Some(frame) = former.web.at(position) else {
                continue;
            };
            let id = frame.number * (lanes * rows) as u64 + pocket_in_frame as u64;
            let pocket = &mut frame.pockets[pocket_in_frame];
            if packs_wanted {
                told.push((*portion, id));
            }
            match &mut pocket.pack {
                Some(pack) => {
                    pack.weight_ug += portion.weight_ug;
                    pack.open_since = pack.open_since.min(portion.open_since);
                    pack.born = pack.born.min(portion.born);
                }
                None => {
                    filled += 1;
                    let mut pack = Piece { id, ..*portion };
                    if pocket.spoilt != Reason::NONE {
                        tags += 1;
                        tag(&mut pack, pocket.spoilt, &mut marks);
                        pocket.spoilt = Reason::NONE;
                    }
                    pocket.pack = Some(pack);
                }
            }
        }
        former.web.fills(filled);
        former.load_under_way = false;
        former.zone_loads += 1;
        if former.zone_loads == former.loads_per_zone {
            former.zone_loads = 0;
            former.zone_filled_for = former.indexes_per_array;
        }
        for (portion, pocket) in told {
            self.tell_into(LOADER, PackStep::Loaded, &portion, pocket, Reason::NONE);
        }
        for _ in 0..array.len() {
            self.frames[LOADER].flow.handed_over += 1;
        }
        debug_assert!(tags == marks.len() as u64, "each spoilt pocket tags its pack");
        self.tell_marks(FORMER, &marks);
        self.former_ends_dwell(FORMER);
    }

    /// What the web functions did in this dwell, from the seal to the cut. Each frame passes each position once.
    fn web_functions_done(&mut self, station: usize) {
        let calendar = self.calendar();
        let packs_wanted = self.packs_wanted;
        let former = self.former(station);
        let mut marks = std::mem::take(&mut former.marks);
        former.seal(calendar, &mut marks);
        let vision_stop = former.inspect(&mut marks);
        former.label(&mut marks);
        let (packs, empty) = former.cut(packs_wanted, &mut marks);
        self.frames[station].flow.made += packs;
        if empty > 0 {
            self.books.add(station, Counter::EmptyPockets, Reason::NONE, empty);
        }
        self.tell_marks(station, &marks);
        marks.clear();
        self.former(station).marks = marks;
        if let Some(mode) = vision_stop {
            // Strikes at the end of the cycle, as counts do.
            self.make_due(station, mode);
        }
    }

    fn tell_marks(&mut self, station: usize, marks: &Marks) {
        for (step, pack, reason) in marks {
            if *step == PackStep::Tagged {
                self.books.add(station, Counter::Tagged, *reason, 1);
            }
            self.tell(station, *step, pack, *reason);
        }
    }

    /// So many indexes sealed from now on are first_off.
    pub(crate) fn first_off(&mut self, indexes: u32) {
        if indexes > 0 {
            let former = self.former(FORMER);
            former.first_off = former.first_off.max(indexes);
        }
    }

    /// After an own stop of the former that was longer than the limit, the packs at the listed positions are tagged.
    pub(crate) fn stop_scrap(&mut self, station: usize, stop: Span) {
        if station != FORMER || !matches!(self.units[station], crate::station::Unit::Former(_)) {
            return;
        }
        let former = self.former(station);
        let Some(scrap) = former.spec.stop_scrap.clone() else {
            return;
        };
        if stop <= scrap.longer_than {
            return;
        }
        let mut marks: Marks = Vec::new();
        for position in scrap.positions {
            let Some(frame) = former.web.at(position) else {
                continue;
            };
            for pocket in &mut frame.pockets {
                match &mut pocket.pack {
                    Some(pack) => tag(pack, scrap.reason, &mut marks),
                    None if scrap.empty_pockets && pocket.spoilt == Reason::NONE => {
                        pocket.spoilt = scrap.reason
                    }
                    None => {}
                }
            }
        }
        self.tell_marks(station, &marks);
    }

    /// Own stop: functions and advance pause. The cap is a limit on the clock and does not.
    pub(crate) fn former_pauses(&mut self, station: usize) {
        let timer = self.frames[station].motion;
        if self.former(station).phase == Phase::WaitingForCap {
            self.timers.cancel(timer);
        } else {
            self.timers.pause(timer, self.now);
        }
    }

    pub(crate) fn former_resumes(&mut self, station: usize) {
        match self.former(station).phase {
            Phase::WaitingForCap => self.former_waits_for_cap(station),
            Phase::Dwell => self.loader_loads(),
            Phase::DwellForLoad => {
                self.loader_loads();
                self.former_ends_dwell(station);
            }
            Phase::ZoneNotClear => self.former_advances(station),
            Phase::Advancing => {}
        }
    }
}
