//! A log told by hand: one machine, and what it did one stretch after the other.
//!
//! It is written in the program's own log format and read back, and the accounting is given what was read.

use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::ShiftResult;
use linewake_log::event::{Counter, Detail, Event, EventKind, EventSink, NO_CONTENT, StationState};
use linewake_log::header::{LineFacts, LogHeader, StationFacts};
use linewake_log::reader::LogReader;
use linewake_log::writer::LogWriter;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::{Moment, Span};

/// A log under way.
#[derive(Clone, Debug)]
pub(crate) struct ToldLog {
    facts: LineFacts,
    events: Vec<Event>,
    state: StationState,
    now: Moment,
}

impl ToldLog {
    /// A machine that should make a piece in so many minutes. Breaks are left out of planned production time, other
    /// planned stops are in it; the short stop limit is 5 min.
    pub(crate) fn of_cycle(ideal_min: f64) -> Self {
        let machine = StationFacts {
            id: "machine".to_owned(),
            kind: "machine".to_owned(),
            has_states: true,
            rate_per_min: Some(1.0 / ideal_min),
            transit_to_constraint: Span::ZERO,
            capacity: None,
            portions_per_piece: 1,
            supplier: None,
        };
        let facts = LineFacts {
            design_rate_per_min: 1.0 / ideal_min,
            constraint: 0,
            good_after: 0,
            short_stop_limit: Span::from_seconds(300.0),
            left_out: vec![Reason::BREAK],
            consequences: Vec::new(),
            stations: vec![machine],
            reasons: FIXED_REASONS.iter().map(|&word| word.to_owned()).collect(),
        };
        Self { facts, events: Vec::new(), state: StationState::Running, now: Moment::ZERO }
    }

    /// With another short stop limit.
    pub(crate) fn short_stop_limit_min(mut self, limit_min: f64) -> Self {
        self.facts.short_stop_limit = Span::from_seconds(60.0 * limit_min);
        self
    }

    /// So many minutes of work.
    pub(crate) fn runs(self, minutes: f64) -> Self {
        self.stretch(StationState::Running, "", minutes)
    }

    /// An own stop.
    pub(crate) fn stops(self, reason: &str, minutes: f64) -> Self {
        self.stretch(StationState::StoppedRepair, reason, minutes)
    }

    /// A planned stop; "break" is one of the whole line.
    pub(crate) fn planned(self, reason: &str, minutes: f64) -> Self {
        self.stretch(StationState::Planned, reason, minutes)
    }

    /// Nothing to do.
    pub(crate) fn starves(self, minutes: f64) -> Self {
        self.stretch(StationState::Starved, "", minutes)
    }

    fn stretch(mut self, to: StationState, reason: &str, minutes: f64) -> Self {
        let reason = self.reason(reason);
        let from = if self.events.is_empty() { to } else { self.state };
        let (made, content_before, content_after) = (0, NO_CONTENT, NO_CONTENT);
        self.push(EventKind::State { from, to, reason, made, content_before, content_after });
        self.state = to;
        self.now += Span::from_seconds(60.0 * minutes);
        self
    }

    fn reason(&mut self, word: &str) -> Reason {
        let known = self.facts.reasons.iter().position(|known| known == word);
        let place = known.unwrap_or_else(|| {
            self.facts.reasons.push(word.to_owned());
            self.facts.reasons.len() - 1
        });
        Reason(place as u16)
    }

    fn push(&mut self, kind: EventKind) {
        self.events.push(Event { at: self.now, station: 0, kind });
    }

    /// The end, with the pieces made and the good ones among them, and what the accounting makes of it.
    pub(crate) fn account(mut self, made: u64, good: u64, conventions: Conventions) -> ShiftResult {
        let counts = [(Counter::Made, made), (Counter::HandedOver, good), (Counter::Rejected, made - good)];
        for (counter, value) in counts {
            self.push(EventKind::Count { counter, reason: Reason::NONE, value });
        }
        self.push(EventKind::End);
        let header = LogHeader {
            model_name: "told by hand".to_owned(),
            horizon: self.now,
            facts: self.facts,
            ..LogHeader::default()
        };
        let mut writer = LogWriter::new(Vec::new(), &header, Detail::States);
        for event in &self.events {
            writer.record(event);
        }
        let written = writer.finish().expect("memory takes what is written");
        let log = LogReader::new(written.as_slice()).expect("a log");
        let mut account = Accumulator::new(log.header()).under(conventions);
        for event in log {
            account.record(&event.expect("a row of the log"));
        }
        let result = account.finish();
        assert_eq!(result.doubts, [], "{:?}", result.stations);
        assert!(result.ledger.residual_packs().abs() < 1e-6, "the ledger closes");
        result
    }
}
