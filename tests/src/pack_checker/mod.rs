//! A checker that reads only the events of a run at pack detail, keeps where every portion and pack is, and verifies at
//! every event that the line did what a line can do. It knows the line and the plan, not the engine.
//!
//! What it verifies: every portion, pack and gram is in exactly one place; pieces move only from a station to the next;
//! capacities, order, transit and cycle times; weights; tags and rejects; the states of every station, their reasons and
//! their stops; the crew; every counter and content row against its own.

mod books;
mod clocks;
mod conveyors;
mod head;
mod pick_zone;
mod pieces;
mod stations;
mod stops;
mod waiting;
mod web;

use clocks::{Breaks, StateClock};
use conveyors::{AccumulatorCheck, RigidBeltCheck};
use head::Head;
use linewake_engine::plan::RunPlan;
use linewake_log::event::{Counter, Event, EventKind, StationState};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use pick_zone::Robot;
use stations::{GateCheck, MachineCheck, PackerCheck};
use std::collections::BTreeMap;
use stops::{CrewCheck, StopWatch};
use web::{Pack, Web};

/// What a check gives: nothing, or what is wrong.
type Check = Result<(), String>;

fn fail(what: impl Into<String>) -> Check {
    Err(what.into())
}

/// One instant as a station sees it, in microseconds: calendar, line time, its running time, its time out of stops.
#[derive(Clone, Copy, Debug)]
struct Time {
    at: u64,
    line: u64,
    ran: u64,
    free: u64,
}

/// What is special to a station.
#[derive(Clone, Debug)]
enum Unit {
    /// Supply, portioner and loader (in `Head`), former and robot (in `Web`, `Robot`).
    Elsewhere,
    Accumulator(AccumulatorCheck),
    Belt(RigidBeltCheck),
    Gate(Box<GateCheck>),
    Packer(PackerCheck),
    Machine(MachineCheck),
    /// Arrivals so far, and the piece that waits.
    Arrivals(u64, Option<u64>),
}

/// What the checker counted itself, from the start of the run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Counters by station, counter and reason.
    pub counts: BTreeMap<(usize, Counter, Reason), u64>,
    /// The same at the end of the warm-up; empty if there is none.
    pub counts_at_warm_up: BTreeMap<(usize, Counter, Reason), u64>,
    /// Packs cut (pieces that entered a line of generic machines).
    pub packs_begun: u64,
    /// Packs (pieces) in the line at the end, cut and in no case, bin or gone from its end.
    pub packs_in_line: u64,
    /// Of these, packs that the station that makes them good has not handed over yet.
    pub packs_before_good: u64,
    /// Mass at the end in micrograms: tipped, in the hopper, on the way to pockets, in pockets and packs in the line,
    /// and gone in cases and bins.
    pub tipped_ug: u64,
    /// In the hopper.
    pub hopper_ug: u64,
    /// At the portioner, on the infeed belt, in the loader.
    pub portions_ug: u64,
    /// In pockets and packs in the line.
    pub packs_ug: u64,
    /// In cases and bins.
    pub gone_ug: u64,
    /// Time of each station in each state, in the order of [`StationState::ALL`]; none for those without states.
    pub states: Vec<Option<[u64; 6]>>,
    /// Stops that began, by station and reason.
    pub stops: BTreeMap<(usize, Reason), u64>,
    /// Each strike of a fail-safe of a gate: station, reason, and the count of rejects at it.
    pub strikes: Vec<(usize, Reason, u64)>,
}

impl Totals {
    /// What a counter gained in the run, or in its window after the warm-up, for each reason.
    pub fn gains(&self, station: usize, counter: Counter) -> impl Iterator<Item = (Reason, u64)> + '_ {
        let of = move |((at, which, _), _): &(&(usize, Counter, Reason), &u64)| {
            (*at, *which) == (station, counter)
        };
        self.counts.iter().filter(of).map(|(key, count)| {
            let before = self.counts_at_warm_up.get(key).copied().unwrap_or(0);
            (key.2, count - before)
        })
    }

    /// What a counter gained, over all its reasons.
    #[must_use]
    pub fn gained(&self, station: usize, counter: Counter) -> u64 {
        self.gains(station, counter).map(|(_, gain)| gain).sum()
    }
}

/// The checker of one run.
#[derive(Debug)]
pub struct PackChecker<'a> {
    line: &'a Line,
    plan: &'a RunPlan,
    breaks: Breaks,
    now: Moment,
    clocks: Vec<StateClock>,
    units: Vec<Unit>,
    head: Option<Head>,
    web: Option<Web>,
    robot: Option<Robot>,
    packs: BTreeMap<u64, Pack>,
    web_packs: usize,
    watches: Vec<StopWatch>,
    crew: CrewCheck,
    good_after: usize,
    /// Stations into which or out of which a piece moved in this instant, and which must not move in a stop.
    moved: Vec<usize>,
    written: BTreeMap<(usize, Counter, Reason), u64>,
    portions_in_packs: u64,
    portions_gone: u64,
    portions_ug: u64,
    packs_ug: u64,
    totals: Totals,
    ended: bool,
}

/// Checks the events of a whole run.
///
/// # Errors
/// The first event that a line could not have brought about: its place in `events`, its time and station, and what is
/// wrong with it.
pub fn check(line: &Line, plan: &RunPlan, events: &[Event]) -> Result<Totals, String> {
    let mut checker = PackChecker::new(line, plan);
    for (number, event) in events.iter().enumerate() {
        checker.take(event).map_err(|what| {
            let station =
                line.stations.get(usize::from(event.station)).map_or("no station", |it| it.id.as_str());
            format!(
                "event {number} at {} ({} us) of {station}: {what}\n  {:?}",
                event.at, event.at.0, event.kind
            )
        })?;
    }
    checker.finish()
}

impl<'a> PackChecker<'a> {
    /// A checker at the start of a run.
    #[must_use]
    pub fn new(line: &'a Line, plan: &'a RunPlan) -> Self {
        let web = Web::of(line, plan.own_stops);
        let robot = web.as_ref().and_then(|web| Robot::of(line, web.pockets));
        let last_of =
            |wanted: fn(&StationKind) -> bool| line.stations.iter().rposition(|it| wanted(&it.kind));
        let good_after = last_of(|kind| matches!(kind, StationKind::Gate(_)))
            .or_else(|| last_of(|kind| matches!(kind, StationKind::PickRobot(_))))
            .unwrap_or(line.stations.len() - 1);
        Self {
            line,
            plan,
            breaks: Breaks::of(line, plan.horizon),
            now: Moment::ZERO,
            clocks: vec![StateClock::default(); line.stations.len()],
            units: (0..line.stations.len()).map(|station| unit_of(line, plan, station)).collect(),
            head: Head::of(line),
            web,
            robot,
            packs: BTreeMap::new(),
            web_packs: 0,
            watches: line.stations.iter().map(|station| StopWatch::new(line, station, plan)).collect(),
            crew: CrewCheck::new(line),
            good_after,
            moved: Vec::new(),
            written: BTreeMap::new(),
            portions_in_packs: 0,
            portions_gone: 0,
            portions_ug: 0,
            packs_ug: 0,
            totals: Totals::default(),
            ended: false,
        }
    }

    /// Takes the next event.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn take(&mut self, event: &Event) -> Check {
        let station = usize::from(event.station);
        if station >= self.line.stations.len() {
            return fail("the line has no such station");
        }
        if self.ended {
            return fail("an event after the end");
        }
        if event.at < self.now {
            return fail(format!("time goes back from {}", self.now));
        }
        if event.at > self.now {
            self.instant_over()?;
            self.now = event.at;
        }
        let is_end =
            matches!(event.kind, EventKind::Count { .. } | EventKind::Content { .. } | EventKind::End);
        if event.at > self.plan.horizon || event.at == self.plan.horizon && !is_end {
            return fail("what falls on the horizon does not happen");
        }
        match event.kind {
            EventKind::State { from, to, reason, made, content_before, content_after } => {
                self.state(station, from, to, reason)?;
                self.state_row(station, made, content_before, content_after)?;
            }
            EventKind::Count { counter, reason, value } => self.count(station, counter, reason, value)?,
            EventKind::Content { pieces } => self.content_row(station, pieces)?,
            EventKind::Call { step, reason } => self.crew.call(self.line, station, step, reason, event.at)?,
            EventKind::Pack { step, item, into, reason, weight_ug } => {
                self.pack(station, pieces::Step { step, item, into, reason, weight_ug })?;
            }
            EventKind::WarmUpEnd if event.at != self.plan.warm_up => {
                return fail("not the end of the warm-up");
            }
            EventKind::WarmUpEnd => self.totals.counts_at_warm_up = self.totals.counts.clone(),
            EventKind::End if event.at != self.plan.horizon => return fail("not the end of the run"),
            EventKind::End => self.ended = true,
        }
        self.balance()
    }

    /// The events are over.
    ///
    /// # Errors
    /// What is wrong with the run as a whole: no end, state times that do not sum to the horizon, a counter whose last
    /// row is not the checker's own count.
    pub fn finish(mut self) -> Result<Totals, String> {
        if !self.ended {
            return Err("the run has no end".to_owned());
        }
        let horizon = self.plan.horizon;
        for (clock, station) in self.clocks.iter().zip(&self.line.stations) {
            let has_states =
                !matches!(station.kind, StationKind::Accumulator(_)) || !station.stops.is_empty();
            if has_states != clock.state.is_some() {
                return Err(format!("{} has states: {has_states}, and rows say otherwise", station.id));
            }
            if has_states && clock.all(horizon) != horizon.0 {
                return Err(format!("the states of {} add up to {} us", station.id, clock.all(horizon)));
            }
            let times = StationState::ALL.map(|state| clock.time_in(state, horizon));
            self.totals.states.push(has_states.then_some(times));
        }
        self.books_are_complete()?;
        let head = self.head.as_ref();
        self.totals.packs_in_line =
            self.packs.values().filter(|pack| pack.cut || head.is_none()).count() as u64;
        self.totals.packs_before_good = self
            .packs
            .values()
            .filter(|pack| match pack.place {
                web::Place::Web => pack.cut,
                web::Place::PickZone | web::Place::Gripper => true,
                web::Place::At(station) => station <= self.good_after,
            })
            .count() as u64;
        self.totals.packs_begun = self.web.as_ref().map_or(self.pieces_begun(), |web| web.cut_packs);
        self.totals.tipped_ug = head.map_or(0, |head| head.tipped_ug);
        self.totals.hopper_ug = head.map_or(0, Head::level_ug);
        // From scratch, not from the running sums.
        self.totals.portions_ug = head.map_or(0, |head| head.portions.values().map(|it| it.weight_ug).sum());
        self.totals.packs_ug = self.packs.values().map(|pack| pack.weight_ug).sum();
        if (self.totals.portions_ug, self.totals.packs_ug) != (self.portions_ug, self.packs_ug) {
            return Err("the checker's own sums of mass differ".to_owned());
        }
        Ok(self.totals)
    }

    fn time(&self, station: usize) -> Time {
        let line = self.breaks.line_time(self.now).0;
        let clock = &self.clocks[station];
        let free = if clock.state.is_some() { clock.free(self.now) } else { line };
        Time { at: self.now.0, line, ran: clock.ran(self.now), free }
    }

    /// All events of one instant have been told.
    fn instant_over(&mut self) -> Check {
        self.load_over()?;
        if let Some(robot) = &self.robot {
            robot.instant_over(self.time(5))?;
        }
        for station in std::mem::take(&mut self.moved) {
            if self.clocks[station].was_held_throughout() {
                return fail(format!("a piece moved at {} in a stop", self.line.stations[station].id));
            }
        }
        for unit in &self.units {
            if let Unit::Packer(packer) = unit {
                packer.instant_over()?;
            }
        }
        if let Some(web) = &self.web {
            web.instant_over(self.now)?;
            web.sealed(&self.packs, self.time(4))?;
        }
        self.waits_are_justified()?;
        self.stops_over()?;
        for clock in &mut self.clocks {
            clock.instant_over();
        }
        Ok(())
    }
}

fn unit_of(line: &Line, plan: &RunPlan, place: usize) -> Unit {
    let station = &line.stations[place];
    let control = station.speed_control.as_ref();
    match &station.kind {
        StationKind::Accumulator(spec) => Unit::Accumulator(AccumulatorCheck::new(spec, control)),
        StationKind::RigidBelt(spec) => {
            let after_robot = place > 0 && matches!(line.stations[place - 1].kind, StationKind::PickRobot(_));
            Unit::Belt(RigidBeltCheck::new(spec, control, after_robot))
        }
        StationKind::Gate(spec) => Unit::Gate(Box::new(GateCheck::new(spec, control, plan.own_stops))),
        StationKind::CasePacker(spec) => Unit::Packer(PackerCheck::new(spec, control)),
        StationKind::Machine(spec) => Unit::Machine(MachineCheck::new(spec, control)),
        StationKind::Arrivals(_) => Unit::Arrivals(0, None),
        StationKind::BulkSupply(_)
        | StationKind::Portioner(_)
        | StationKind::Loader(_)
        | StationKind::Former(_)
        | StationKind::PickRobot(_) => Unit::Elsewhere,
    }
}
