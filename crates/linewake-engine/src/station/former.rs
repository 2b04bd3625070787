//! Thermoform form-fill-seal machine: dwell, load, advance, and what its web functions do to the packs.

use crate::luck::{Chance, name};
use crate::piece::{Piece, defect_bit};
use crate::station::loader::LOADER;
use crate::station::pick_robot::ROBOT;
use crate::station::unit_getter;
use crate::station::web::Web;
use crate::world::World;
use linewake_log::event::{Counter, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::{self, WithoutProduct};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use linewake_stats::stream::{Stream, Streams};

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
    open_time_limit: Option<Span>,
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
    first_off: u32,
    /// Indexes in a row with a pack tagged by vision.
    tagged_in_row: u32,
    /// Stop mode of the vision stop rule.
    pub(crate) vision_stop: Option<usize>,
    luck: FormerLuck,
}

#[derive(Debug)]
struct FormerLuck {
    print_is_faulty: Option<bool>,
    print_chain: Stream,
    misprint: Chance,
    vision_finds: Chance,
    vision_false_tag: Chance,
    leak: Chance,
    label_missing: Chance,
    contaminated: Chance,
    /// Defects of the model, each with its bit.
    own: Vec<(Chance, Reason, u64)>,
}

impl Former {
    pub(crate) fn new(
        line: &Line,
        station: usize,
        spec: &station::Former,
        loader: &station::Loader,
        streams: &Streams,
    ) -> Self {
        let id = &line.stations[station].id;
        let chance = |quantity: &str, probability| Chance::new(streams, id, quantity, probability);
        let own = |defect: &linewake_model::line::OwnDefect| {
            let quantity = format!("defect {}", line.reason(defect.reason));
            (chance(&quantity, defect.probability), defect.reason, defect_bit(line, defect.reason))
        };
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
            luck: FormerLuck {
                print_is_faulty: None,
                print_chain: streams.get(&name(id, "print chain")),
                misprint: chance("misprint", spec.printer.map_or(0.0, |printer| printer.q)),
                vision_finds: chance(
                    "vision finds",
                    spec.vision.as_ref().map_or(0.0, |vision| vision.sensitivity),
                ),
                vision_false_tag: chance(
                    "vision false tag",
                    spec.vision.as_ref().map_or(0.0, |vision| vision.false_tag),
                ),
                leak: chance("leak", spec.leak_probability),
                label_missing: chance("label missing", spec.label_missing_probability),
                contaminated: chance("contaminated", spec.contaminated_probability),
                own: line.own_defects.iter().map(own).collect(),
            },
            spec: spec.clone(),
        }
    }

    pub(crate) fn content(&self) -> u32 {
        self.web.content()
    }

    /// The two-state print chain moves one step for each index; the first index is good.
    fn print_step(&mut self) -> bool {
        let Some(printer) = self.spec.printer else {
            return false;
        };
        let draw = self.luck.print_chain.open01();
        let faulty = match self.luck.print_is_faulty {
            None => false,
            Some(false) => draw < printer.p,
            Some(true) => draw >= printer.r,
        };
        self.luck.print_is_faulty = Some(faulty);
        faulty
    }
}

unit_getter!(former, Former, Former);

/// What happened to a pack in a dwell, to be told to the log.
type Marks = Vec<(PackStep, Piece, Reason)>;

fn tag(pack: &mut Piece, reason: Reason, marks: &mut Marks) {
    if pack.tag == Reason::NONE {
        pack.tag = reason;
        marks.push((PackStep::Tagged, *pack, reason));
    }
}

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
            self.books.handed_over(LOADER);
        }
        debug_assert!(tags == marks.len() as u64, "each spoilt pocket tags its pack");
        self.tell_marks(FORMER, &marks);
        self.former_ends_dwell(FORMER);
    }

    /// What the web functions did in this dwell, from the seal to the cut. Each frame passes each position once.
    fn web_functions_done(&mut self, station: usize) {
        let calendar = self.calendar();
        let mut marks: Marks = Vec::new();
        let former = self.former(station);
        former.seal(calendar, &mut marks);
        let vision_stop = former.inspect(&mut marks);
        former.label(&mut marks);
        let (packs, empty) = former.cut(&mut marks);
        self.books.add_made(station, packs);
        if empty > 0 {
            self.books.add(station, Counter::EmptyPockets, Reason::NONE, empty);
        }
        self.tell_marks(station, &marks);
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

impl Former {
    /// Seal and print: leaks, misprints, product that stood open too long, first indexes after a stop.
    fn seal(&mut self, calendar: Moment, marks: &mut Marks) {
        let faulty = self.print_step();
        let first_off = self.first_off > 0;
        self.first_off = self.first_off.saturating_sub(1);
        let Some(frame) = self.web.at(self.spec.positions.seal) else {
            return;
        };
        for pack in frame.pockets.iter_mut().filter_map(|pocket| pocket.pack.as_mut()) {
            if faulty && self.luck.misprint.happens(pack.id) {
                mark(pack, Reason::MISPRINT, 1 << Reason::MISPRINT.0, marks);
            }
            if self.luck.leak.happens(pack.id) {
                mark(pack, Reason::LEAK, 1 << Reason::LEAK.0, marks);
            }
            if self.open_time_limit.is_some_and(|limit| calendar.since(pack.open_since) > limit) {
                tag(pack, Reason::AGED, marks);
            }
            if first_off {
                tag(pack, Reason::FIRST_OFF, marks);
            }
        }
    }

    /// Vision: tags misprinted packs, and now and then a right one. Returns the stop mode of the stop rule if it is due.
    fn inspect(&mut self, marks: &mut Marks) -> Option<usize> {
        let vision = self.spec.vision.as_ref()?;
        let frame = self.web.at(self.spec.positions.print_inspection?)?;
        let mut tagged = false;
        for pack in frame.pockets.iter_mut().filter_map(|pocket| pocket.pack.as_mut()) {
            let misprinted = pack.has(1 << Reason::MISPRINT.0);
            let (found, reason) = if misprinted {
                (self.luck.vision_finds.happens(pack.id), Reason::MISPRINT)
            } else {
                (self.luck.vision_false_tag.happens(pack.id), Reason::FALSE_TAG)
            };
            if found {
                tagged = true;
                tag(pack, reason, marks);
            }
        }
        self.tagged_in_row = if tagged { self.tagged_in_row + 1 } else { 0 };
        let rule = vision.stop_rule.as_ref()?;
        if self.tagged_in_row >= rule.count {
            self.tagged_in_row = 0;
            return self.vision_stop;
        }
        None
    }

    fn label(&mut self, marks: &mut Marks) {
        let Some(frame) = self.spec.positions.label.and_then(|position| self.web.at(position)) else {
            return;
        };
        for pack in frame.pockets.iter_mut().filter_map(|pocket| pocket.pack.as_mut()) {
            if self.luck.label_missing.happens(pack.id) {
                mark(pack, Reason::LABEL_MISSING, 1 << Reason::LABEL_MISSING.0, marks);
            }
        }
    }

    /// Cut: from here on a filled pocket is a pack. Returns packs and empty pockets.
    fn cut(&mut self, marks: &mut Marks) -> (u64, u64) {
        let Some(frame) = self.web.at(self.spec.positions.cut) else {
            return (0, 0);
        };
        let (mut packs, mut empty) = (0, 0);
        for pocket in &mut frame.pockets {
            let Some(pack) = &mut pocket.pack else {
                empty += 1;
                continue;
            };
            packs += 1;
            if self.luck.contaminated.happens(pack.id) {
                mark(pack, Reason::CONTAMINATED, 1 << Reason::CONTAMINATED.0, marks);
            }
            for (chance, reason, bit) in &mut self.luck.own {
                if chance.happens(pack.id) {
                    mark(pack, *reason, *bit, marks);
                }
            }
            marks.push((PackStep::Cut, *pack, Reason::NONE));
        }
        (packs, empty)
    }
}

fn mark(pack: &mut Piece, defect: Reason, bit: u64, marks: &mut Marks) {
    pack.defects |= bit;
    marks.push((PackStep::Defect, *pack, defect));
}
