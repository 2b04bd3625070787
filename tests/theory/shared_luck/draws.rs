//! The draws of a run, read from its log: what chance gave to each portion, pack and stop.
//!
//! - weight of each portion, by its number (batch shift and own deviation);
//! - defects of each pack that was cut; drops of each pack that was picked; false tags and verdicts of each pack that was
//!   inspected or weighed, by its number;
//! - the duration of each stop that was put right (from the arrival of the operator), by station, reason and count;
//! - the running time between stops with a running-time clock, by station, reason and count.
//!
//! A stop that has begun and not ended is no draw yet. The reference line has no breaks and no stops that share a
//! duration.

use linewake_engine::plan::RunPlan;
use linewake_log::event::{Detail, Event, EventKind, Keep, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::{Basis, Reason};
use linewake_model::time::{Moment, Span};
use std::collections::{BTreeMap, BTreeSet};

/// Station and word of a stop or verdict.
type Name = (String, String);

/// What chance gave, as far as the log shows it.
#[derive(Debug, Default)]
pub(super) struct Draws {
    weights_ug: BTreeMap<u64, u64>,
    /// Yes-or-no draws: packs that were asked, by station and question, and those with the answer yes.
    asked: BTreeMap<Name, BTreeSet<u64>>,
    yes: BTreeMap<Name, BTreeSet<u64>>,
    durations: BTreeMap<Name, Vec<Span>>,
    running_between: BTreeMap<Name, Vec<Span>>,
}

/// How many draws two runs both made, and how many of them differ.
#[derive(Debug, Default)]
pub(super) struct Compared {
    pub(super) different: usize,
    /// Weights, durations and running times.
    pub(super) continuous: usize,
    answers: usize,
    hits: usize,
    stops: usize,
}

impl Compared {
    pub(super) fn add(&mut self, one: &Draws, other: &Draws) {
        for (portion, weight_ug) in &one.weights_ug {
            if let Some(other_ug) = other.weights_ug.get(portion) {
                self.continuous += 1;
                self.different += usize::from(weight_ug != other_ug);
            }
        }
        for (name, asked) in &one.asked {
            let Some(also_asked) = other.asked.get(name) else { continue };
            let (none, also_none) = (BTreeSet::new(), BTreeSet::new());
            let yes = one.yes.get(name).unwrap_or(&none);
            let also_yes = other.yes.get(name).unwrap_or(&also_none);
            for pack in asked.intersection(also_asked) {
                self.answers += 1;
                self.hits += usize::from(yes.contains(pack));
                self.different += usize::from(yes.contains(pack) != also_yes.contains(pack));
            }
        }
        for (mine, others) in
            [(&one.durations, &other.durations), (&one.running_between, &other.running_between)]
        {
            for (name, spans) in mine {
                for (span, other_span) in spans.iter().zip(others.get(name).into_iter().flatten()) {
                    self.continuous += 1;
                    self.stops += 1;
                    self.different += usize::from(span != other_span);
                }
            }
        }
    }

    /// Enough of each kind has been seen to tell.
    pub(super) fn is_enough(&self) -> bool {
        self.continuous > 10_000 && self.hits > 500 && self.stops > 100
    }

    pub(super) fn words(&self) -> String {
        format!(
            "{} weights of portions, {} durations and running times of stops, {} verdicts on packs ({} of them yes)",
            self.continuous - self.stops,
            self.stops,
            self.answers,
            self.hits
        )
    }
}

/// The draws of one shift of the line.
pub(super) fn of(line: &Line, seed: u64, shift: u64) -> Draws {
    let mut keep = Keep::new(Detail::Packs);
    linewake_engine::run(line, &RunPlan::shift(line), seed, shift, &mut keep);
    let mut draws = Draws::default();
    draws.of_packs(line, &keep.events);
    draws.of_stops(line, &keep.events);
    draws
}

impl Draws {
    fn of_packs(&mut self, line: &Line, events: &[Event]) {
        // A pack that is tagged already is not tagged again: no answer of the vision shows.
        let mut tagged_before = BTreeSet::new();
        for event in events {
            let EventKind::Pack { step, item, reason, weight_ug, .. } = event.kind else { continue };
            let station = usize::from(event.station);
            let id = &line.stations[station].id;
            let word = line.reason(reason);
            let name = |question: &str| (id.clone(), question.to_owned());
            match step {
                PackStep::Portioned => drop(self.weights_ug.insert(item, weight_ug)),
                PackStep::Defect => drop(self.yes.entry(name(word)).or_default().insert(item)),
                PackStep::Tagged if matches!(reason, Reason::MISPRINT | Reason::FALSE_TAG) => {
                    self.yes.entry(name("tag")).or_default().insert(item);
                }
                PackStep::Tagged => drop(tagged_before.insert(item)),
                PackStep::Cut => {
                    for defect in
                        [Reason::MISPRINT, Reason::LEAK, Reason::LABEL_MISSING, Reason::CONTAMINATED]
                    {
                        self.asked.entry(name(line.reason(defect))).or_default().insert(item);
                    }
                    if !tagged_before.contains(&item) {
                        self.asked.entry(name("tag")).or_default().insert(item);
                    }
                }
                PackStep::Picked => drop(self.asked.entry(name("drop")).or_default().insert(item)),
                PackStep::Rejected if reason == Reason::DROPPED => {
                    self.asked.entry(name("drop")).or_default().insert(item);
                    self.yes.entry(name("drop")).or_default().insert(item);
                }
                PackStep::Rejected if matches!(line.stations[station].kind, StationKind::Gate(_)) => {
                    self.yes.entry(name("reject")).or_default().insert(item);
                    self.asked.entry(name("reject")).or_default().insert(item);
                }
                // It came into the next station: the gate before has passed it.
                PackStep::Entered if station > 0 => {
                    let before = &line.stations[station - 1];
                    if matches!(before.kind, StationKind::Gate(_)) {
                        let name = (before.id.clone(), "reject".to_owned());
                        self.asked.entry(name).or_default().insert(item);
                    }
                }
                _ => {}
            }
        }
    }

    fn of_stops(&mut self, line: &Line, events: &[Event]) {
        let mut clocks = vec![Clock::default(); line.stations.len()];
        for event in events {
            let EventKind::State { from, to, reason, .. } = event.kind else { continue };
            let station = usize::from(event.station);
            let spec = &line.stations[station];
            let clock = &mut clocks[station];
            let since = std::mem::replace(&mut clock.since, event.at);
            if from == StationState::Running {
                clock.ran += event.at.since(since);
            }
            if from == StationState::StoppedRepair && event.at > since {
                let name = (spec.id.clone(), line.reason(clock.reason).to_owned());
                self.durations.entry(name).or_default().push(event.at.since(since));
                clock.ran_at_end.insert(clock.reason, clock.ran);
            }
            let begins =
                to.is_own_stop() && !(from == StationState::StoppedWaiting && reason == clock.reason);
            clock.reason = reason;
            let on_running_time = |stop: &&linewake_model::stop::StopMode| {
                stop.reason == reason && stop.basis == Basis::RunningTime
            };
            if begins && spec.stops.iter().find(on_running_time).is_some() {
                let before = clock.ran_at_end.get(&reason).copied().unwrap_or(Span::ZERO);
                let name = (spec.id.clone(), line.reason(reason).to_owned());
                self.running_between.entry(name).or_default().push(clock.ran - before);
            }
        }
    }
}

/// How long a station has run, and where that clock stood when each stop ended.
#[derive(Clone, Debug, Default)]
struct Clock {
    since: Moment,
    reason: Reason,
    ran: Span,
    ran_at_end: BTreeMap<Reason, Span>,
}
