//! Charges every instant in which the constraint does not run to one cause.
//!
//! From the constraint, starved stations are followed upstream and blocked ones downstream, to the nearest station in
//! an own or planned stop. Belts and tables that are not in a stop are passed through (a rigid belt that moves ends
//! the way downstream: it is not what holds up). A starved portioner is an empty hopper, charged to supply. Where no
//! station is stopped, the time goes to start-up (starved before the first product), to recovery from the last stop on
//! that side of the constraint, or to the slowest station of that side.
//!
//! The cause is worked out only while the constraint does not run, and only when time has passed since a station on
//! the side in question changed: a run of rows of one moment costs one walk.

use crate::result::CauseKind;
use crate::state_clocks::{StateClocks, StopChange};
use linewake_log::event::StationState;
use linewake_log::facts::kind;
use linewake_log::header::LineFacts;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// The attribution of one run.
#[derive(Clone, Debug)]
pub(crate) struct Attribution {
    constraint: usize,
    places: Vec<Place>,
    /// Station with the smallest best rate, upstream and downstream of the constraint.
    slowest: [Option<usize>; 2],
    /// The constraint is not running, and its time is charged.
    charging: bool,
    side: Side,
    /// Up to here, time is charged.
    since: Moment,
    /// The present cause; `None` when it must be worked out anew.
    present: Option<Charge>,
    sums: Vec<CauseSum>,
    recovery: [Option<Recovery>; 2],
    run: RunClock,
    /// The portioner is starved.
    supply_is_short: bool,
    constraint_has_starved: bool,
    first_product_seen: bool,
    /// The own stop that charges at present, and for how long without another between.
    stretch: Stretch,
    /// The own stop that held the constraint up longest of late.
    longest_of_late: Stretch,
}

/// Time charged in one go to an own stop.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    stop: Option<(usize, Reason)>,
    length: Span,
    end: Moment,
}

/// What a station is on the way along the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Role {
    /// Accumulating belt or table: passed through.
    Accumulator,
    /// Rigid belt: passed through upstream.
    RigidBelt,
    /// Starved, it means an empty hopper.
    Portioner,
    /// Runs empty before the first product.
    Former,
    Other,
}

#[derive(Clone, Copy, Debug)]
struct Place {
    role: Role,
    transit_to_constraint: Span,
}

/// Where the cause is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Side {
    Upstream = 0,
    Downstream = 1,
    /// The constraint itself.
    Own,
}

#[derive(Clone, Copy, Debug)]
struct Charge {
    sum: usize,
    waiting: bool,
}

/// Time charged to one cause.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CauseSum {
    pub(crate) cause: Cause,
    pub(crate) time: Span,
    pub(crate) waiting: Span,
}

/// A cause, by index of its station.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Cause {
    pub(crate) kind: CauseKind,
    pub(crate) station: Option<usize>,
    pub(crate) reason: Reason,
}

/// The line refills (or empties) after a stop.
#[derive(Clone, Copy, Debug)]
struct Recovery {
    station: usize,
    reason: Reason,
    /// So long must the constraint run without interruption.
    needed: Span,
    /// Length of the constraint's present run at the end of the stop.
    run_at_end: Span,
}

/// How long the constraint has run without interruption. A break pauses it.
#[derive(Clone, Copy, Debug, Default)]
struct RunClock {
    running_since: Option<Moment>,
    paused_by_break: bool,
    before_break: Span,
}

impl RunClock {
    fn length(&self, at: Moment) -> Span {
        self.before_break + self.running_since.map_or(Span::ZERO, |since| at.since(since))
    }

    /// The constraint went into a state; gives the length of the run that this ended.
    fn change(&mut self, at: Moment, runs: bool, in_break: bool) -> Option<Span> {
        let in_a_run = self.running_since.is_some() || self.paused_by_break;
        let length = self.length(at);
        if in_break {
            self.paused_by_break = in_a_run;
            self.before_break = length;
            self.running_since = None;
            return None;
        }
        self.paused_by_break = false;
        if runs {
            self.running_since = self.running_since.or(Some(at));
            return None;
        }
        *self = Self::default();
        in_a_run.then_some(length)
    }
}

/// What the way along the line met.
enum Found {
    Stop { station: usize, reason: Reason, waiting: bool },
    Planned { station: usize, reason: Reason },
    EmptyHopper { portioner: usize },
    NoStop,
    NoState,
}

impl Attribution {
    pub(crate) fn new(facts: &LineFacts) -> Self {
        let constraint = usize::from(facts.constraint);
        let places = facts.stations.iter().map(|station| Place {
            role: match station.kind.as_str() {
                kind::ACCUMULATING_BELT | kind::ACCUMULATING_TABLE => Role::Accumulator,
                kind::RIGID_BELT => Role::RigidBelt,
                kind::PORTIONER => Role::Portioner,
                kind::FORMER => Role::Former,
                _ => Role::Other,
            },
            transit_to_constraint: station.transit_to_constraint,
        });
        let slowest = |range: std::ops::Range<usize>| {
            let rates = range.filter_map(|station| Some((station, facts.stations[station].rate_per_min?)));
            rates.min_by(|(_, one), (_, other)| one.total_cmp(other)).map(|(station, _)| station)
        };
        Self {
            constraint,
            places: places.collect(),
            slowest: [slowest(0..constraint), slowest(constraint + 1..facts.stations.len())],
            charging: true,
            side: Side::Own,
            since: Moment::ZERO,
            present: None,
            sums: Vec::new(),
            recovery: [None; 2],
            run: RunClock::default(),
            supply_is_short: false,
            constraint_has_starved: false,
            first_product_seen: false,
            stretch: Stretch::default(),
            longest_of_late: Stretch::default(),
        }
    }

    /// Time charged to each cause, in the order in which they appeared.
    pub(crate) fn sums(&self) -> &[CauseSum] {
        &self.sums
    }

    /// The own stop that held the constraint up longest of late: a stop is forgotten for a shorter one when as much
    /// time has passed since its end as it was longer. Product that stood open too long most likely stood there then.
    pub(crate) fn longest_of_late(&self) -> Option<(usize, Reason)> {
        self.longest_of_late.stop
    }

    /// Forgets all that was charged: the window begins.
    pub(crate) fn forget(&mut self) {
        self.sums.clear();
        self.present = None;
    }

    /// To be called before the state of `station` changes: charges the time up to then.
    #[inline]
    pub(crate) fn before_change(&mut self, at: Moment, station: usize, clocks: &StateClocks) {
        let concerns = match self.side {
            Side::Upstream => station <= self.constraint,
            Side::Downstream => station >= self.constraint,
            Side::Own => station == self.constraint,
        };
        if self.charging && concerns {
            self.charge_up_to(at, clocks);
            self.present = None;
        }
    }

    /// Charges the time up to `at`.
    pub(crate) fn charge_up_to(&mut self, at: Moment, clocks: &StateClocks) {
        let length = at.since(self.since);
        if !self.charging || length == Span::ZERO {
            return;
        }
        self.since = at;
        let charge = self.present.unwrap_or_else(|| self.cause_now(clocks));
        self.present = Some(charge);
        let sum = &mut self.sums[charge.sum];
        sum.time += length;
        if charge.waiting {
            sum.waiting += length;
        }
        let stop = sum.cause.station.filter(|_| sum.cause.kind == CauseKind::Stop);
        let stop = stop.map(|station| (station, sum.cause.reason));
        self.note_stretch(at, stop, length);
    }

    fn note_stretch(&mut self, at: Moment, stop: Option<(usize, Reason)>, length: Span) {
        let goes_on = stop.is_some() && self.stretch.stop == stop && self.stretch.end + length == at;
        let before = if goes_on { self.stretch.length } else { Span::ZERO };
        self.stretch = Stretch { stop, length: before + length, end: at };
        let faded = self.longest_of_late.length - at.since(self.longest_of_late.end);
        if stop.is_some() && self.stretch.length >= faded {
            self.longest_of_late = self.stretch;
        }
    }

    /// To be called after `station` changed from work to waiting or back.
    #[inline]
    pub(crate) fn station_works_or_waits(&mut self, at: Moment, station: usize, to: StationState) {
        if self.places[station].role == Role::Portioner {
            self.portioner_changed(at, station, to == StationState::Starved);
        }
    }

    /// To be called after the state of `station` changed in any other way.
    pub(crate) fn after_change(
        &mut self,
        at: Moment,
        station: usize,
        to: StationState,
        in_break: bool,
        stop: StopChange,
    ) {
        if self.places[station].role == Role::Portioner && !in_break {
            self.portioner_changed(at, station, to == StationState::Starved);
        }
        if let Some(ended) = stop.ended {
            self.stop_ended(at, station, ended.reason);
        }
        if stop.began {
            self.stop_began(station);
        }
    }

    /// The constraint went into a state (after [`Self::after_change`]). `charged`: its time counts as not running.
    pub(crate) fn constraint_changed(
        &mut self,
        at: Moment,
        to: StationState,
        made: u64,
        in_break: bool,
        charged: bool,
    ) {
        let runs = to == StationState::Running;
        if let Some(length) = self.run.change(at, runs, in_break) {
            for recovery in &mut self.recovery {
                if recovery.is_some_and(|it| length - it.run_at_end >= it.needed) {
                    *recovery = None;
                }
                if let Some(it) = recovery {
                    it.run_at_end = Span::ZERO;
                }
            }
        }
        self.constraint_has_starved |= to == StationState::Starved;
        let works_on_product =
            runs && (self.constraint_has_starved || self.places[self.constraint].role != Role::Former);
        self.first_product_seen |= made > 0 || works_on_product || to == StationState::Blocked;
        self.side = match to {
            StationState::Starved => Side::Upstream,
            StationState::Blocked => Side::Downstream,
            _ => Side::Own,
        };
        self.charging = charged;
        self.since = at;
        self.present = None;
    }

    fn portioner_changed(&mut self, at: Moment, portioner: usize, starved: bool) {
        if starved && !self.supply_is_short {
            self.stop_began(portioner);
        } else if !starved && self.supply_is_short {
            self.stop_ended(at, self.supply_of(portioner), Reason::NONE);
        }
        self.supply_is_short = starved;
    }

    fn stop_began(&mut self, station: usize) {
        for side in self.sides_of(station) {
            self.recovery[side as usize] = None;
        }
    }

    fn stop_ended(&mut self, at: Moment, station: usize, reason: Reason) {
        let needed = self.places[station].transit_to_constraint;
        let run_at_end = self.run.length(at);
        for side in self.sides_of(station) {
            self.recovery[side as usize] = Some(Recovery { station, reason, needed, run_at_end });
        }
    }

    /// The sides of the constraint on whose path the station lies; the constraint lies on both.
    fn sides_of(&self, station: usize) -> impl Iterator<Item = Side> + use<> {
        let (upstream, downstream) = (station <= self.constraint, station >= self.constraint);
        [(upstream, Side::Upstream), (downstream, Side::Downstream)]
            .into_iter()
            .filter_map(|(lies_there, side)| lies_there.then_some(side))
    }

    /// The bulk supply before a portioner: the station at the head of the line.
    fn supply_of(&self, portioner: usize) -> usize {
        portioner.saturating_sub(1)
    }

    fn cause_now(&mut self, clocks: &StateClocks) -> Charge {
        let (kind, station, reason, waiting) = match self.follow(clocks) {
            Found::Stop { station, reason, waiting } => (CauseKind::Stop, Some(station), reason, waiting),
            Found::Planned { station, reason } => (CauseKind::Planned, Some(station), reason, false),
            Found::EmptyHopper { portioner } => {
                (CauseKind::Supply, Some(self.supply_of(portioner)), Reason::NONE, false)
            }
            Found::NoState => (CauseKind::Unknown, None, Reason::NONE, false),
            Found::NoStop if self.side == Side::Upstream && !self.first_product_seen => {
                (CauseKind::StartUp, None, Reason::NONE, false)
            }
            Found::NoStop => {
                let side = if self.side == Side::Downstream { Side::Downstream } else { Side::Upstream };
                match self.recovery[side as usize] {
                    Some(it) => (CauseKind::Recovery, Some(it.station), it.reason, false),
                    None => (CauseKind::Rate, self.slowest[side as usize], Reason::NONE, false),
                }
            }
        };
        Charge { sum: self.sum_of(Cause { kind, station, reason }), waiting }
    }

    /// Follows starved stations upstream and blocked ones downstream.
    fn follow(&self, clocks: &StateClocks) -> Found {
        let constraint = &clocks.stations[self.constraint];
        match (constraint.state, self.side) {
            (None, _) => Found::NoState,
            (_, Side::Upstream) => self.follow_upstream(clocks),
            (_, Side::Downstream) => self.follow_downstream(clocks),
            (_, Side::Own) => stop_at(clocks, self.constraint).unwrap_or(Found::NoState),
        }
    }

    fn follow_upstream(&self, clocks: &StateClocks) -> Found {
        let mut empty_hopper = None;
        for station in (0..self.constraint).rev() {
            if let Some(stop) = stop_at(clocks, station) {
                return stop;
            }
            let role = self.places[station].role;
            match clocks.stations[station].state {
                None => {}
                Some(_) if matches!(role, Role::Accumulator | Role::RigidBelt) => {}
                Some(StationState::Starved) if role == Role::Portioner => empty_hopper = Some(station),
                Some(StationState::Starved) => {}
                Some(_) => break,
            }
        }
        empty_hopper.map_or(Found::NoStop, |portioner| Found::EmptyHopper { portioner })
    }

    fn follow_downstream(&self, clocks: &StateClocks) -> Found {
        for station in self.constraint + 1..self.places.len() {
            if let Some(stop) = stop_at(clocks, station) {
                return stop;
            }
            match clocks.stations[station].state {
                None | Some(StationState::Blocked) => {}
                Some(_) if self.places[station].role == Role::Accumulator => {}
                Some(_) => break,
            }
        }
        Found::NoStop
    }

    fn sum_of(&mut self, cause: Cause) -> usize {
        let known = self.sums.iter().position(|sum| sum.cause == cause);
        known.unwrap_or_else(|| {
            self.sums.push(CauseSum { cause, time: Span::ZERO, waiting: Span::ZERO });
            self.sums.len() - 1
        })
    }
}

/// The own or planned stop in which the station is.
fn stop_at(clocks: &StateClocks, station: usize) -> Option<Found> {
    let clock = &clocks.stations[station];
    let reason = clock.reason;
    match clock.state? {
        StationState::StoppedWaiting => Some(Found::Stop { station, reason, waiting: true }),
        StationState::StoppedRepair => Some(Found::Stop { station, reason, waiting: false }),
        StationState::Planned => Some(Found::Planned { station, reason }),
        StationState::Running | StationState::Starved | StationState::Blocked => None,
    }
}
