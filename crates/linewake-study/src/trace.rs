//! From the stops of logs to plans in which they happen again: all of them, or those of one station and reason while the others are
//! drawn.

use crate::logs::LoggedShift;
use linewake_engine::plan::{RunPlan, Trace, TraceClock, TracedReason, TracedStop};
use linewake_kpi::summary::StartKind;
use linewake_log::header::LineFacts;
use linewake_log::stop_trace::{LoggedStop, StopTrace};
use linewake_model::line::{Break, Line, StationIndex};
use linewake_model::station::{Station, StationKind};
use linewake_model::stop::{Basis, Reason};
use linewake_model::time::{Moment, Span};
use std::collections::{BTreeMap, BTreeSet};

/// A station and a reason of the line.
pub type StopKey = (StationIndex, Reason);

/// How logged stops are traced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TraceOptions {
    /// Where the waiting of attended stops comes from.
    pub waiting: TracedWaiting,
    /// Before the log of a real line, which begins with a line at work, the model runs for so long with drawn stops. The log of
    /// a simulated shift holds its own beginning.
    pub warm_up: Span,
}

/// Where the waiting of traced attended stops comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TracedWaiting {
    /// The log: a stop is as long as it was.
    AsLogged,
    /// The model's crew, where the log tells waiting and repair apart; else the log.
    FromCrew,
}

/// The shifts of a log, ready to be run again on a line.
#[derive(Clone, Debug)]
pub struct LoggedLine {
    /// The line, with the reasons of the log that the model does not have added to its words.
    pub line: Line,
    /// The shifts.
    pub shifts: Vec<TracedShift>,
    /// Stations of the line of whose states the log tells.
    pub told: BTreeSet<StationIndex>,
    /// Those of which the log tells when they wait for their neighbours, so that their running time is known.
    waits_told: BTreeSet<StationIndex>,
    /// Stops that the model has on stations of which the log tells, and those of the log; planned ones of the log are among
    /// them where the model does not plan them itself.
    pub reasons: Vec<StopKey>,
}

/// One logged shift.
#[derive(Clone, Debug)]
pub struct TracedShift {
    /// A run of its length with its breaks, all stops drawn.
    plan: RunPlan,
    /// Where in that run the log begins.
    from: Moment,
    /// Its stops.
    stops: BTreeMap<StopKey, Vec<LoggedStop>>,
}

/// What is traced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// Nothing: every stop is drawn.
    None,
    /// The stops of one station and reason.
    One(StopKey),
    /// All stops of all stations of which the log tells.
    All,
}

impl LoggedLine {
    /// The shifts on that line.
    ///
    /// # Errors
    /// A station of the log that the line does not have, in words.
    pub fn of(line: &Line, shifts: &[LoggedShift], options: TraceOptions) -> Result<Self, String> {
        let mut known = Self {
            line: line.clone(),
            shifts: Vec::with_capacity(shifts.len()),
            told: BTreeSet::new(),
            waits_told: BTreeSet::new(),
            reasons: Vec::new(),
        };
        for shift in shifts {
            let shift = known.shift(shift, options)?;
            known.shifts.push(shift);
        }
        let mut reasons: BTreeSet<StopKey> = BTreeSet::new();
        for (place, station) in
            line.stations.iter().enumerate().filter(|(place, _)| known.told.contains(place))
        {
            reasons.extend(own_stops(station).into_iter().map(|(reason, _)| (place, reason)));
        }
        reasons.extend(known.shifts.iter().flat_map(|shift| shift.stops.keys().copied()));
        known.reasons = reasons.into_iter().collect();
        let plans: Vec<Vec<TracedReason>> =
            known.shifts.iter().map(|shift| known.traced(shift, options.waiting)).collect();
        for (shift, stops) in known.shifts.iter_mut().zip(plans) {
            shift.plan.trace = Trace { from: shift.from, stops };
        }
        Ok(known)
    }

    /// The plan of a run of a shift.
    ///
    /// # Panics
    /// If there is no such shift.
    #[must_use]
    pub fn plan(&self, shift: usize, which: Which) -> RunPlan {
        let mut plan = self.shifts[shift].plan.clone();
        match which {
            Which::None => plan.trace = Trace::default(),
            Which::One(key) => plan.trace.stops.retain(|stops| (stops.station, stops.reason) == key),
            Which::All => {}
        }
        plan
    }

    /// The word of a reason.
    #[must_use]
    pub fn word(&self, reason: Reason) -> &str {
        self.line.reasons.get(usize::from(reason.0)).map_or("", String::as_str)
    }

    /// Whether the model has that stop.
    #[must_use]
    pub fn is_modelled(&self, key: StopKey) -> bool {
        own_stops(&self.line.stations[key.0]).iter().any(|(reason, _)| *reason == key.1)
    }

    /// Own stops that the model has on a station.
    pub(crate) fn own_reasons(&self, station: StationIndex) -> Vec<Reason> {
        own_stops(&self.line.stations[station]).into_iter().map(|(reason, _)| reason).collect()
    }

    /// Whether the log calls that stop a planned one.
    pub(crate) fn is_planned_in_log(&self, key: StopKey) -> bool {
        self.shifts.iter().filter_map(|shift| shift.stops.get(&key)).flatten().any(|stop| stop.planned)
    }

    fn shift(&mut self, shift: &LoggedShift, options: TraceOptions) -> Result<TracedShift, String> {
        let facts = &shift.header.facts;
        let places = self.places(facts)?;
        let is_simulated = shift.header.seed.is_some();
        for (place, station) in places.iter().zip(&shift.result.stations) {
            let Some(states) = &station.states else { continue };
            self.told.insert(*place);
            if is_simulated || states.starved + states.blocked > Span::ZERO {
                self.waits_told.insert(*place);
            }
        }
        let before = if is_simulated { Span::ZERO } else { options.warm_up };
        let end = if shift.broken_off.is_some() { shift.stops.end } else { shift.header.horizon };
        let plan = RunPlan {
            horizon: end + before,
            warm_up: shift.header.warm_up + before,
            consumables_part_used: !is_simulated || StartKind::of(shift.header.start) == StartKind::LongRun,
            breaks: Some(breaks(&shift.stops, facts, is_simulated, before)),
            ..RunPlan::shift(&self.line)
        };
        let mut stops: BTreeMap<StopKey, Vec<LoggedStop>> = BTreeMap::new();
        for stop in &shift.stops.stops {
            let Some(&place) = places.get(usize::from(stop.station)) else { continue };
            let reason = self.reason(facts, stop.reason);
            if stop.planned && (self.plans_itself(place, reason) || facts.left_out.contains(&stop.reason)) {
                continue;
            }
            stops.entry((place, reason)).or_default().push(*stop);
        }
        Ok(TracedShift { plan, from: Moment::ZERO + before, stops })
    }

    /// Place in the line of each station of the log.
    fn places(&self, facts: &LineFacts) -> Result<Vec<StationIndex>, String> {
        let ids = || {
            let ids: Vec<&str> = self.line.stations.iter().map(|station| station.id.as_str()).collect();
            ids.join(", ")
        };
        let place = |id: &str| {
            let place = self.line.stations.iter().position(|station| station.id == id);
            place.ok_or_else(|| format!("the log has a station \"{id}\", and the model has {}", ids()))
        };
        facts.stations.iter().map(|station| place(&station.id)).collect()
    }

    /// The reason as the line numbers it; a word that it does not have is added.
    fn reason(&mut self, facts: &LineFacts, reason: Reason) -> Reason {
        let word = facts.reasons.get(usize::from(reason.0)).map_or("", String::as_str);
        let known = self.line.reasons.iter().position(|known| known == word);
        let place = known.unwrap_or_else(|| {
            self.line.reasons.push(word.to_owned());
            self.line.reasons.len() - 1
        });
        Reason(u16::try_from(place).unwrap_or(0))
    }

    /// A routine test that the model has.
    fn plans_itself(&self, place: StationIndex, reason: Reason) -> bool {
        let has_challenge =
            matches!(&self.line.stations[place].kind, StationKind::Gate(gate) if gate.challenge.is_some());
        reason == Reason::CHALLENGE && has_challenge
    }

    /// Every stop of the shift, and that there are none of what it does not have.
    fn traced(&self, shift: &TracedShift, waiting: TracedWaiting) -> Vec<TracedReason> {
        let traced = self.reasons.iter().map(|&(station, reason)| {
            let everywhere =
                || self.shifts.iter().filter_map(|shift| shift.stops.get(&(station, reason))).flatten();
            let modelled = own_stops(&self.line.stations[station]).into_iter().find(|(it, _)| *it == reason);
            let tells_waiting = everywhere().any(|stop| stop.waiting > Span::ZERO);
            let clock = match modelled.map_or_else(|| clock_of(everywhere()), |(_, stop)| stop.clock) {
                TraceClock::CalendarTime => TraceClock::CalendarTime,
                _ if !self.waits_told.contains(&station) => TraceClock::OutsideStops,
                clock => clock,
            };
            let from_crew = waiting == TracedWaiting::FromCrew && tells_waiting;
            let repairs_in_breaks = self.line.shift.repairs_in_breaks;
            let stops = shift.stops.get(&(station, reason)).into_iter().flatten().map(|stop| {
                let in_breaks = if repairs_in_breaks { stop.breaks_in_repair } else { Span::ZERO };
                TracedStop {
                    after: match clock {
                        TraceClock::CalendarTime => stop.at.since(Moment::ZERO),
                        TraceClock::OutsideStops => stop.outside_stops,
                        TraceClock::RunningTime | TraceClock::EndOfCycle => stop.ran,
                    },
                    waiting: (!from_crew).then_some(stop.waiting),
                    repair: stop.repair + in_breaks,
                }
            });
            TracedReason {
                station,
                reason,
                attended: modelled.is_some_and(|(_, stop)| stop.attended) || tells_waiting,
                clock,
                stops: stops.collect(),
            }
        });
        traced.collect()
    }
}

/// What is known of a stop of the model.
#[derive(Clone, Copy, Debug)]
struct Modelled {
    attended: bool,
    clock: TraceClock,
}

/// Own stops of a station as the model has them, fail-safes and stop rules included.
fn own_stops(station: &Station) -> Vec<(Reason, Modelled)> {
    let drawn = station.stops.iter().map(|stop| {
        let clock = match stop.basis {
            Basis::RunningTime => TraceClock::RunningTime,
            Basis::CalendarTime => TraceClock::CalendarTime,
            Basis::Count => TraceClock::EndOfCycle,
        };
        (stop.reason, Modelled { attended: stop.attended, clock })
    });
    let mut stops: Vec<(Reason, Modelled)> = drawn.collect();
    let mut fail_safe = |is_there: bool, reason: Reason| {
        if is_there {
            stops.push((reason, Modelled { attended: true, clock: TraceClock::EndOfCycle }));
        }
    };
    match &station.kind {
        StationKind::Gate(gate) => {
            fail_safe(gate.rejects_in_row.is_some(), Reason::REJECTS_IN_ROW);
            fail_safe(gate.bin_full.is_some(), Reason::BIN_FULL);
        }
        StationKind::Former(former) => {
            let has_rule = former.vision.as_ref().is_some_and(|vision| vision.stop_rule.is_some());
            fail_safe(has_rule, Reason::TAGS_IN_ROW);
        }
        _ => {}
    }
    stops
}

/// The clock of a stop that the model does not have: running time, unless one of them struck a station that waited, or it is
/// planned.
fn clock_of<'a>(mut stops: impl Iterator<Item = &'a LoggedStop>) -> TraceClock {
    if stops.any(|stop| stop.planned || stop.struck_running == Some(false)) {
        TraceClock::CalendarTime
    } else {
        TraceClock::RunningTime
    }
}

/// Breaks of the run: those of the log, and in the log of a real line all planned stops of the constraint that are left out.
fn breaks(stops: &StopTrace, facts: &LineFacts, is_simulated: bool, before: Span) -> Vec<Break> {
    let of_line = stops.breaks.iter().map(|pause| (pause.start, pause.duration));
    let mut all: Vec<(Moment, Span)> = of_line.collect();
    if !is_simulated {
        let left_out = stops.stops.iter().filter(|stop| {
            stop.planned && stop.station == facts.constraint && facts.left_out.contains(&stop.reason)
        });
        all.extend(left_out.map(|stop| (stop.at, stop.length())));
        all.sort_unstable();
    }
    let mut breaks: Vec<Break> = Vec::with_capacity(all.len());
    for (start, duration) in all {
        let start = start + before;
        let free = breaks.last().map_or(Moment::ZERO, |last| last.start + last.duration);
        let late = free.since(start);
        if duration > late {
            breaks.push(Break { start: start + late, duration: Span(duration.0 - late.0) });
        }
    }
    breaks
}

#[cfg(test)]
mod tests;
