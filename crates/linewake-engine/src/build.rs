//! From a checked line and a plan to a world at time 0.

use crate::books::{Books, Flow};
use crate::breaks::{SNAPSHOT_EVERY, breaks_of};
use crate::changes::Changed;
use crate::crew::Crew;
use crate::frame::{Frame, NO_STOP, Rare, SpeedRelay};
use crate::luck::{Chance, Draw, Normal, name};
use crate::plan::RunPlan;
use crate::queue::{Timers, Wanted};
use crate::station::accumulator::Accumulator;
use crate::station::arrivals::{Arrivals, OwnDefects};
use crate::station::case_packer::CasePacker;
use crate::station::former::{FORMER, Former};
use crate::station::gate::Gate;
use crate::station::loader::Loader;
use crate::station::machine::Machine;
use crate::station::pick_robot::{Doing, Robot};
use crate::station::portioner::{Correction, DriftState, Portioner};
use crate::station::rigid_belt::RigidBelt;
use crate::station::supply::Supply;
use crate::station::{Unit, loader::LOADER};
use crate::stops::{Clock, Mode};
use crate::world::{Alarm, Task, World};
use linewake_log::event::{Detail, EventSink, NO_CONTENT, StationState};
use linewake_log::header::LineFacts;
use linewake_model::line::{Line, MICROGRAMS_PER_GRAM, StationIndex};
use linewake_model::station::{self, FailSafe, Station, StationKind};
use linewake_model::stop::{Initial, Reason, StopMode};
use linewake_model::time::{Moment, Span};
use linewake_stats::distribution::Distribution;
use linewake_stats::stream::Streams;
use std::collections::VecDeque;

/// Rank of the crew's timers: before all stations.
const CREW_RANK: u16 = 0;

/// Makes the world of one run.
pub(crate) fn build<'a>(
    line: &'a Line,
    plan: &'a RunPlan,
    seed: u64,
    replication: u64,
    sink: &'a mut dyn EventSink,
) -> World<'a> {
    let streams = Streams::new(seed, replication);
    let count = line.stations.len();
    let wishes = wishes_of(line, plan);
    let wanted: Vec<Wanted> = wishes.iter().map(|wish| wish.wanted(line)).collect();
    let (timers, places) = Timers::new(&wanted);
    let last = places.iter().map(|timer| timer.place()).max().unwrap_or(0);
    let mut alarms = vec![Alarm { station: u32::MAX, task: Task::Motion, fired: 0 }; last + 1];
    for (wish, timer) in wishes.iter().zip(&places) {
        alarms[timer.place()] = Alarm { station: wish.station as u32, task: wish.task, fired: 0 };
    }
    let timer_for = |station: StationIndex, task: Task| {
        let number = wishes.iter().position(|wish| wish.station == station && wish.task == task);
        number.map(|number| places[number])
    };
    let arrivals =
        (0..line.crew.operators).filter_map(|operator| timer_for(0, Task::OperatorArrives(operator)));
    let crew = Crew::new(arrivals.collect());
    let mut frames = Vec::with_capacity(count);
    let mut units = Vec::with_capacity(count);
    for (number, station) in line.stations.iter().enumerate() {
        let of =
            |task| timer_for(number, task).unwrap_or_else(|| unreachable!("every station has these timers"));
        let motion = of(Task::Motion);
        let second = timer_for(number, Task::SecondMotion).unwrap_or(motion);
        let (strike, stop_end) = (of(Task::Strike), of(Task::StopEnds));
        let mut unit = unit_of(line, number, &streams);
        let modes = modes_of(line, plan, number, &streams, &mut unit);
        if let Unit::Gate(gate) = &mut unit {
            gate.challenge_timer = timer_for(number, Task::ChallengeDue);
        }
        frames.push(Frame {
            has_states: true,
            base: StationState::Starved,
            hold: None,
            written: (StationState::Starved, Reason::NONE),
            stop_began: false,
            waits_for_room: false,
            asks_for_room: (0..number).rev().find(|before| !is_direct(&units[*before])).unwrap_or(number),
            flow: Flow::default(),
            buffer_content: match unit {
                Unit::Accumulator(_) | Unit::RigidBelt(_) => 0,
                _ => NO_CONTENT,
            },
            motion,
            second,
            strike,
            stop_end,
            any_due: false,
            ran: Span::ZERO,
            running_since: Moment::ZERO,
            keeps_running_time: false,
            next_running_due: NO_STOP,
            has_other_clocks: false,
            cycles: 0,
            next_count_due: u64::MAX,
            share: 1.0,
            is_watched: false,
            rare: Box::new(Rare {
                modes,
                due: VecDeque::new(),
                stop: None,
                held: Span::ZERO,
                held_since: Moment::ZERO,
                speed: station.speed_control.as_ref().map(SpeedRelay::new),
            }),
        });
        units.push(unit);
    }
    for number in 0..count {
        if let Some((watched, share)) =
            frames[number].rare.speed.as_ref().map(|it| (it.watches(), it.share()))
        {
            frames[number].share = share;
            frames[watched].is_watched = true;
        }
    }
    let facts = LineFacts::of(line);
    for (frame, facts) in frames.iter_mut().zip(&facts.stations) {
        frame.has_states = facts.has_states;
    }
    let mut world = World {
        line,
        plan,
        now: Moment::ZERO,
        break_time: Span::ZERO,
        timers,
        alarms,
        frames,
        units,
        crew,
        books: Books::new(count),
        changed: Changed::new(count),
        breaks: plan.breaks.clone().unwrap_or_else(|| breaks_of(line, plan.horizon)),
        breaks_passed: 0,
        warm_up_ended: false,
        next_snapshot: Moment::ZERO + SNAPSHOT_EVERY,
        next_mark: Moment::ZERO,
        contents_written: vec![0; count],
        good_after: usize::from(facts.good_after),
        packs_wanted: sink.detail() == Detail::Packs,
        sink,
    };
    world.prepare_trace();
    world.draw_first_stops(&streams);
    world
}

/// A belt or table of no capacity: what comes to it is offered to the station behind it.
fn is_direct(unit: &Unit) -> bool {
    matches!(unit, Unit::Accumulator(unit) if unit.is_direct())
}

/// A timer that the run needs.
struct Wish {
    station: StationIndex,
    task: Task,
}

impl Wish {
    fn wanted(&self, line: &Line) -> Wanted {
        let rank = match self.task {
            Task::OperatorArrives(_) | Task::TraceBegins => CREW_RANK,
            _ => (line.stations.len() - self.station) as u16,
        };
        // What passes a buffer in no time waits for no timer of it.
        let instant = matches!(&line.stations[self.station].kind, StationKind::Accumulator(buffer)
            if buffer.transit == Span::ZERO && buffer.release == Span::ZERO);
        Wanted { rank, is_motion: matches!(self.task, Task::Motion | Task::SecondMotion) && !instant }
    }
}

fn wishes_of(line: &Line, plan: &RunPlan) -> Vec<Wish> {
    let mut wishes: Vec<Wish> = (0..line.crew.operators)
        .map(|operator| Wish { station: 0, task: Task::OperatorArrives(operator) })
        .collect();
    if plan.trace.from > Moment::ZERO {
        wishes.push(Wish { station: 0, task: Task::TraceBegins });
    }
    for (station, spec) in line.stations.iter().enumerate() {
        let mut wish = |task| wishes.push(Wish { station, task });
        wish(Task::Motion);
        if matches!(spec.kind, StationKind::Loader(_) | StationKind::RigidBelt(_)) {
            wish(Task::SecondMotion);
        }
        wish(Task::Strike);
        wish(Task::StopEnds);
        if matches!(&spec.kind, StationKind::Gate(gate) if gate.challenge.is_some()) {
            wish(Task::ChallengeDue);
        }
        for (which, _) in plan.injected.iter().enumerate().filter(|(_, stop)| stop.station == station) {
            wish(Task::Injected(which as u32));
        }
    }
    wishes
}

fn unit_of(line: &Line, number: StationIndex, streams: &Streams) -> Unit {
    let station = &line.stations[number];
    let id = &station.id;
    match &station.kind {
        StationKind::BulkSupply(spec) => {
            let portion = line.stations.iter().find_map(|other| match &other.kind {
                StationKind::Portioner(portioner) => Some(portioner),
                _ => None,
            });
            Unit::Supply(Box::new(Supply {
                batch_ug: spec.batch_ug,
                hopper_ug: spec.hopper_ug,
                hopper: std::collections::VecDeque::new(),
                level_ug: 0,
                batch_waits: false,
                batches: 0,
                preparation: Draw::new(streams, id, "preparation", &spec.preparation_s),
                sd_batch_g: portion.map_or(0.0, |portioner| portioner.weight.sd_batch_g),
                shift: streams.get(&name(id, "batch shift")),
            }))
        }
        StationKind::Portioner(spec) => Unit::Portioner(Box::new(portioner(id, spec, streams))),
        StationKind::Accumulator(spec) => Unit::Accumulator(Box::new(Accumulator::new(spec))),
        StationKind::Loader(spec) => Unit::Loader(Box::new(Loader::new(spec))),
        StationKind::Former(spec) => {
            let StationKind::Loader(loader) = &line.stations[LOADER].kind else {
                unreachable!("a checked line has its loader before the former");
            };
            debug_assert_eq!(number, FORMER, "a checked line has its former there");
            Unit::Former(Box::new(Former::new(line, number, spec, loader, streams)))
        }
        StationKind::PickRobot(spec) => Unit::Robot(Box::new(Robot {
            gripper: spec.gripper as usize,
            pick: Draw::new(streams, id, "pick", &spec.pick_s),
            place: Draw::new(streams, id, "place", &spec.place_s),
            drop: Chance::new(streams, id, "drop", spec.drop_probability),
            doing: Doing::Nothing,
            zone: None,
            groups_done: 0,
            hand: Vec::new(),
        })),
        StationKind::RigidBelt(spec) => Unit::RigidBelt(Box::new(RigidBelt::new(spec))),
        StationKind::Gate(spec) => Unit::Gate(Box::new(Gate::new(line, number, spec, streams))),
        StationKind::CasePacker(spec) => Unit::CasePacker(Box::new(CasePacker::new(spec))),
        StationKind::Machine(spec) => Unit::Machine(Box::new(Machine {
            holds_in_stops: spec.holds_in_stops,
            process: Draw::new(streams, id, "process", &spec.process_s),
            source: (number == 0).then_some(0),
            own_defects: if number == 0 { OwnDefects::new(line, id, streams) } else { OwnDefects::none() },
            in_hand: None,
            finished: false,
            holds_piece: false,
        })),
        StationKind::Arrivals(spec) => Unit::Arrivals(Box::new(Arrivals {
            between: Draw::new(streams, id, "between arrivals", &spec.between_s),
            when_full: spec.when_full,
            arrived: 0,
            holding: None,
            own_defects: OwnDefects::new(line, id, streams),
        })),
    }
}

fn portioner(id: &str, spec: &station::Portioner, streams: &Streams) -> Portioner {
    let weight = &spec.weight;
    Portioner {
        cut: Span::from_seconds(60.0 / spec.rate_per_min),
        nominal_ug: (weight.mean_g * MICROGRAMS_PER_GRAM + 0.5).floor() as u64,
        mean_g: weight.mean_g,
        portion_weight: Normal::new(streams, id, "portion weight", weight.sd_g),
        drift: weight.drift.map(|drift| DriftState {
            drift,
            luck: Normal::new(streams, id, "drift", drift.sd_g),
            value_g: 0.0,
            last: None,
        }),
        feedback: weight.feedback.map(|feedback| Correction { feedback, sum_g: 0.0, packs: 0, value_g: 0.0 }),
        cutting: false,
        holding: None,
        portions: 0,
    }
}

/// The stop modes of a station: those of the model, then fail-safes, then injected stops.
fn modes_of(
    line: &Line,
    plan: &RunPlan,
    number: StationIndex,
    streams: &Streams,
    unit: &mut Unit,
) -> Vec<Mode> {
    let station = &line.stations[number];
    let wanted = |reason: Reason| plan.own_stops && !plan.switched_off.contains(&(number, reason));
    let mut modes: Vec<Mode> = Vec::new();
    for stop in station.stops.iter().filter(|stop| wanted(stop.reason)) {
        modes.push(drawn_mode(line, station, stop, streams));
    }
    let mut fail_safe = |reason: Reason, fail_safe: &Option<FailSafe>| {
        let fail_safe = fail_safe.as_ref().filter(|_| wanted(reason))?;
        modes.push(called_mode(line, station, reason, &fail_safe.duration_s, true, streams));
        Some((fail_safe.count, modes.len() - 1))
    };
    match (&station.kind, unit) {
        (StationKind::Gate(spec), Unit::Gate(gate)) => {
            gate.row_limit = fail_safe(Reason::REJECTS_IN_ROW, &spec.rejects_in_row);
            gate.bin_limit = fail_safe(Reason::BIN_FULL, &spec.bin_full);
        }
        (StationKind::Former(spec), Unit::Former(former)) => {
            let rule = spec.vision.as_ref().and_then(|vision| vision.stop_rule.clone());
            former.vision_stop = fail_safe(Reason::TAGS_IN_ROW, &rule).map(|(_, mode)| mode);
        }
        _ => {}
    }
    for stop in plan.injected.iter().filter(|stop| stop.station == number) {
        let length = Distribution::Constant { value: stop.duration.seconds() };
        modes.push(called_mode(line, station, Reason::INJECTED, &length, false, streams));
    }
    // Traced stops of reasons that the model does not have; until the trace begins nothing calls them.
    let nothing = Distribution::Constant { value: 0.0 };
    for logged in plan.trace.stops.iter().filter(|logged| logged.station == number) {
        if !modes.iter().any(|mode| mode.reason == logged.reason) {
            modes.push(called_mode(line, station, logged.reason, &nothing, logged.attended, streams));
        }
    }
    modes
}

fn drawn_mode(line: &Line, station: &Station, stop: &StopMode, streams: &Streams) -> Mode {
    let quantity = |what: &str| format!("stop {}/{what}", line.reason(stop.reason));
    Mode {
        reason: stop.reason,
        clock: Clock::from(stop.basis),
        between: Some(Draw::new(streams, &station.id, &quantity("between"), &stop.between)),
        duration: Draw::new(streams, &station.id, &quantity("duration"), &stop.duration_s),
        response: Draw::new(streams, &station.id, &quantity("response"), response_of(line, station)),
        attended: stop.attended,
        group: stop.group,
        scrap_after_indexes: stop.scrap_after_indexes,
        traced: None,
        due_time: u64::MAX,
        due_count: u64::MAX,
    }
}

fn called_mode(
    line: &Line,
    station: &Station,
    reason: Reason,
    duration_s: &Distribution,
    attended: bool,
    streams: &Streams,
) -> Mode {
    let quantity = |what: &str| format!("stop {}/{what}", line.reason(reason));
    Mode {
        reason,
        clock: Clock::Called,
        between: None,
        duration: Draw::new(streams, &station.id, &quantity("duration"), duration_s),
        response: Draw::new(streams, &station.id, &quantity("response"), response_of(line, station)),
        attended,
        group: None,
        scrap_after_indexes: 0,
        traced: None,
        due_time: u64::MAX,
        due_count: u64::MAX,
    }
}

fn response_of<'a>(line: &'a Line, station: &'a Station) -> &'a Distribution {
    station.response_s.as_ref().unwrap_or(&line.crew.response_s)
}

impl World<'_> {
    /// Draws the first stop of each mode, with the share that is used already.
    fn draw_first_stops(&mut self, streams: &Streams) {
        for number in 0..self.frames.len() {
            let station = &self.line.stations[number];
            for mode in 0..self.frames[number].rare.modes.len() {
                let reason = self.frames[number].rare.modes[mode].reason;
                if self.frames[number].rare.modes[mode].traced.is_some() {
                    self.draw_next(number, mode, 0.0);
                    continue;
                }
                let Some(stop) = station.stops.iter().find(|stop| stop.reason == reason) else {
                    continue;
                };
                let part_used = self.plan.consumables_part_used && stop.consumable;
                let used = match stop.initial {
                    Initial::Fraction(share) => share,
                    Initial::Uniform => used_share(streams, &station.id, self.line.reason(reason)),
                    Initial::New if part_used => used_share(streams, &station.id, self.line.reason(reason)),
                    Initial::New => 0.0,
                };
                self.draw_next(number, mode, used);
            }
        }
    }

    /// Time 0: downstream stations first, each does what it can.
    pub(crate) fn begin(&mut self) {
        for number in (0..self.units.len()).rev() {
            match &self.units[number] {
                Unit::Former(_) => self.former_dwells(),
                Unit::Supply(_) => {
                    self.supply_begins();
                    self.portioner_starts();
                }
                Unit::RigidBelt(_) => self.belt_resumes(number),
                Unit::Machine(machine) if machine.source.is_some() => self.machine_resumes(number),
                Unit::Arrivals(_) => self.next_arrival(number),
                // An accumulator with stop modes of its own drives on while it is in no stop.
                Unit::Accumulator(_) => self.set_base(number, StationState::Running),
                _ => {}
            }
            self.set_next_challenge(number);
            self.set_strike(number);
        }
        if let Some(timer) = self.timer_for(0, Task::TraceBegins) {
            let due = self.line_time(self.plan.trace.from);
            self.timers.set(timer, due);
        }
        for (which, stop) in self.plan.injected.iter().enumerate() {
            let due = self.line_time(stop.at);
            if let Some(timer) = self.timer_for(stop.station, Task::Injected(which as u32)) {
                self.timers.set(timer, due);
            }
        }
        self.changed.clear();
        for number in 0..self.frames.len() {
            if self.frames[number].has_states {
                let (state, reason) = self.frames[number].shown();
                self.frames[number].written = (state, reason);
                let kind = self.state_row(number, state, state, reason);
                self.emit(number, kind);
            }
        }
    }
}

fn used_share(streams: &Streams, station: &str, reason: &str) -> f64 {
    streams.get(&name(station, &format!("stop {reason}/used"))).open01()
}
