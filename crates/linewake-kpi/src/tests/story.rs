//! A log told by hand: the tests' line, and a short way of writing its events.
//!
//! The line is invented: supply, portioner, infeed belt, loader, former (the constraint), robot, rigid belt,
//! checkweigher (the last gate), table, case packer. Its design rate is 60 packs/min, so that a second is a pack.

use crate::accumulator::Accumulator;
use crate::convention::{Conventions, MinorStops};
use crate::result::{CauseKind, ShiftResult};
use linewake_log::event::{Counter, Event, EventKind, EventSink, NO_CONTENT, StationState};
use linewake_log::header::{Consequence, LineFacts, StationFacts};
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::{Moment, Span};

pub(crate) use StationState::{Blocked, Planned, Running, Starved, StoppedRepair, StoppedWaiting};

pub(crate) const SUPPLY: usize = 0;
pub(crate) const PORTIONER: usize = 1;
pub(crate) const LOADER: usize = 3;
pub(crate) const FORMER: usize = 4;
pub(crate) const ROBOT: usize = 5;
pub(crate) const BELT: usize = 6;
pub(crate) const GATE: usize = 7;
pub(crate) const TABLE: usize = 8;
pub(crate) const PACKER: usize = 9;

/// Reasons: the fixed ones, then these.
pub(crate) const JAM: Reason = Reason(FIXED_REASONS.len() as u16);
pub(crate) const FILM: Reason = Reason(FIXED_REASONS.len() as u16 + 1);

pub(crate) fn facts() -> LineFacts {
    let station = |(id, kind, rate_per_min, transit_s): (&str, &str, f64, f64)| StationFacts {
        id: id.to_owned(),
        kind: kind.to_owned(),
        has_states: !kind.starts_with("accumulating"),
        rate_per_min: (rate_per_min > 0.0).then_some(rate_per_min),
        transit_to_constraint: Span::from_seconds(transit_s),
        capacity: kind.starts_with("accumulating").then_some(60),
        portions_per_piece: 1,
        supplier: None,
    };
    let stations = [
        ("supply", "bulk_supply", 110.0, 13.5),
        ("portioner", "portioner", 65.0, 13.0),
        ("infeed", "accumulating_belt", 0.0, 10.0),
        ("loader", "loader", 220.0, 0.0),
        ("former", "former", 61.0, 0.0),
        ("robot", "pick_robot", 130.0, 0.0),
        ("belt", "rigid_belt", 144.0, 1.0),
        ("checkweigher", "checkweigher", 120.0, 11.0),
        ("table", "accumulating_table", 0.0, 11.5),
        ("packer", "case_packer", 144.0, 15.5),
    ];
    let mut reasons: Vec<String> = FIXED_REASONS.iter().map(|&it| it.to_owned()).collect();
    reasons.extend(["jam".to_owned(), "film change".to_owned()]);
    LineFacts {
        design_rate_per_min: 60.0,
        constraint: FORMER as u16,
        good_after: GATE as u16,
        short_stop_limit: Span(12_000_000),
        left_out: vec![Reason::BREAK],
        consequences: vec![Consequence {
            tag: Reason::HELD_IN_SEAL,
            station: Some(FORMER as u16),
            stop: Reason::NONE,
            longer_than: Span(20_000_000),
        }],
        stations: stations.into_iter().map(station).collect(),
        reasons,
    }
}

/// The events of a run, told in order of time.
pub(crate) struct Story {
    facts: LineFacts,
    conventions: Conventions,
    warm_up_s: f64,
    states: Vec<StationState>,
    /// Packs that the former has made, as its state rows tell.
    pub(crate) made: u64,
    pub(crate) events: Vec<Event>,
}

impl Story {
    /// All stations with states run from time 0, and product has gone through the former already.
    pub(crate) fn new() -> Self {
        Self::with(facts())
    }

    pub(crate) fn with(facts: LineFacts) -> Self {
        let states = vec![Running; facts.stations.len()];
        let mut story = Self {
            facts,
            conventions: Conventions::default(),
            warm_up_s: 0.0,
            states,
            made: 1,
            events: Vec::new(),
        };
        for station in 0..story.states.len() {
            if story.facts.stations[station].has_states {
                story.at(0.0, station, Running);
            }
        }
        story
    }

    pub(crate) fn under(self, conventions: Conventions) -> Self {
        Self { conventions, ..self }
    }

    pub(crate) fn push(&mut self, at_s: f64, station: usize, kind: EventKind) -> &mut Self {
        self.events.push(Event { at: moment(at_s), station: station as u16, kind });
        self
    }

    /// The station goes into a state without a reason.
    pub(crate) fn at(&mut self, at_s: f64, station: usize, to: StationState) -> &mut Self {
        self.stop(at_s, station, to, Reason::NONE)
    }

    /// The station goes into a state with a reason.
    pub(crate) fn stop(&mut self, at_s: f64, station: usize, to: StationState, reason: Reason) -> &mut Self {
        let from = std::mem::replace(&mut self.states[station], to);
        let (made, content_before, content_after) = (self.made, NO_CONTENT, NO_CONTENT);
        self.push(at_s, station, EventKind::State { from, to, reason, made, content_before, content_after })
    }

    /// A break of the whole line.
    pub(crate) fn line_break(&mut self, start_s: f64, end_s: f64) -> &mut Self {
        let before: Vec<(usize, StationState, Reason)> = (0..self.states.len())
            .filter(|&station| self.facts.stations[station].has_states)
            .map(|station| (station, self.states[station], self.reason_of(station)))
            .collect();
        for &(station, ..) in &before {
            self.stop(start_s, station, Planned, Reason::BREAK);
        }
        for (station, state, reason) in before {
            self.stop(end_s, station, state, reason);
        }
        self
    }

    fn reason_of(&self, wanted: usize) -> Reason {
        let rows = self.events.iter().rev().filter(|event| usize::from(event.station) == wanted);
        rows.filter_map(|event| match event.kind {
            EventKind::State { reason, .. } => Some(reason),
            _ => None,
        })
        .next()
        .unwrap_or_default()
    }

    pub(crate) fn count(&mut self, at_s: f64, station: usize, counter: Counter, value: u64) -> &mut Self {
        self.count_for(at_s, station, counter, Reason::NONE, value)
    }

    pub(crate) fn count_for(
        &mut self,
        at_s: f64,
        station: usize,
        counter: Counter,
        reason: Reason,
        value: u64,
    ) -> &mut Self {
        self.push(at_s, station, EventKind::Count { counter, reason, value })
    }

    /// Packs cut and good so far.
    pub(crate) fn packs(&mut self, at_s: f64, cut: u64, good: u64) -> &mut Self {
        self.count(at_s, FORMER, Counter::Made, cut).count(at_s, GATE, Counter::HandedOver, good)
    }

    pub(crate) fn warm_up_end(&mut self, at_s: f64) -> &mut Self {
        self.warm_up_s = at_s;
        self.push(at_s, 0, EventKind::WarmUpEnd)
    }

    pub(crate) fn end(&mut self, at_s: f64) -> &mut Self {
        self.push(at_s, 0, EventKind::End)
    }

    /// The result, doubted or not.
    pub(crate) fn result(&self) -> ShiftResult {
        let mut accumulator = Accumulator::of(&self.facts, moment(self.warm_up_s)).under(self.conventions);
        for event in &self.events {
            accumulator.record(event);
        }
        accumulator.finish()
    }

    /// The result of a sound log: no doubts, times that add up to the microsecond, a ledger that closes.
    pub(crate) fn sound_result(&self) -> ShiftResult {
        let result = self.result();
        assert_eq!(result.doubts, vec![]);
        assert_adds_up(&result);
        result
    }
}

/// What must hold of every result.
pub(crate) fn assert_adds_up(result: &ShiftResult) {
    let window = result.window_end.since(result.window_start);
    for station in &result.stations {
        assert!(
            station.states.is_none_or(|states| states.all() == window),
            "{}: {:?}",
            station.id,
            station.states
        );
    }
    let oee = &result.oee;
    assert_eq!(oee.planned_production_time + oee.left_out, window);
    assert_eq!(result.ledger.charged_time() + oee.running, oee.planned_production_time);
    assert_eq!(oee.long_interruption_time + oee.short_interruption_time, result.ledger.charged_time());
    assert!(result.ledger.residual_packs().abs() < 1e-9, "{}", result.ledger.residual_packs());
    if let (Some(performance), Some(quality)) = (oee.performance, oee.quality) {
        assert!((oee.availability * performance * quality - oee.oee).abs() < 1e-12);
        let split = oee.split(MinorStops::Availability);
        if let Some(performance) = split.performance {
            assert!((split.availability * performance * quality - oee.oee).abs() < 1e-12);
        }
    }
    assert_eq!(result.output.iter().map(|bin| bin.good_packs).sum::<u64>(), oee.good_packs);
}

/// Causes of a result as (kind, station, reason, seconds, waiting seconds), in its order.
pub(crate) fn causes(result: &ShiftResult) -> Vec<(CauseKind, &str, &str, f64, f64)> {
    let row = |it: &crate::result::CauseRow| (it.time.seconds(), it.waiting.seconds());
    let rows = result.ledger.causes.iter();
    rows.map(|it| (it.kind, it.station.as_str(), it.reason.as_str(), row(it).0, row(it).1)).collect()
}

fn moment(at_s: f64) -> Moment {
    Moment(Span::from_seconds(at_s).0)
}
