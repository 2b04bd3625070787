//! The crew: a few people who look after the whole line.
//!
//! An attended stop calls. While there are more calls without an operator on the way than operators on the way, a free
//! one sets out and arrives after a response time. Operators are not bound to a call: an arrival serves the call that
//! came first (or that of the station with precedence). An operator who is at a station already answers its next call at
//! once: that is so at the instant at which one stop ends and the next calls. Afterwards the operator looks after the
//! whole line again, and needs the response time wherever the next call comes from.

use crate::queue::Timer;
use crate::world::World;
use linewake_log::event::{CallStep, EventKind, StationState};
use linewake_model::line::{CallOrder, StationIndex};
use linewake_model::time::{Moment, Span};

/// What an operator is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Doing {
    Free,
    OnTheWay,
    AtWork,
}

#[derive(Debug)]
struct Operator {
    doing: Doing,
    /// Where the operator was last at work, and when that work ended.
    left: Option<(StationIndex, Moment)>,
    arrival: Timer,
}

#[derive(Debug)]
struct Call {
    station: StationIndex,
    response: Span,
}

/// Operators and the calls that wait for one.
#[derive(Debug)]
pub(crate) struct Crew {
    operators: Vec<Operator>,
    /// In the order in which they are to be served.
    calls: Vec<Call>,
}

impl Crew {
    pub(crate) fn new(arrivals: Vec<Timer>) -> Self {
        let operator = |arrival| Operator { doing: Doing::Free, left: None, arrival };
        Self { operators: arrivals.into_iter().map(operator).collect(), calls: Vec::new() }
    }

    /// A free operator who has this instant ended work at that station.
    fn is_there(&self, station: StationIndex, now: Moment) -> Option<usize> {
        let there =
            |operator: &Operator| operator.doing == Doing::Free && operator.left == Some((station, now));
        self.operators.iter().position(there)
    }

    /// Keeps the first free operator at work; none if none is free.
    pub(crate) fn keep_busy(&mut self) -> Option<usize> {
        let free = self.operators.iter().position(|operator| operator.doing == Doing::Free)?;
        self.operators[free].doing = Doing::AtWork;
        Some(free)
    }

    fn on_the_way(&self) -> usize {
        self.operators.iter().filter(|operator| operator.doing == Doing::OnTheWay).count()
    }
}

impl World<'_> {
    /// The station, in a stop, calls for an operator, who would need that response time.
    pub(crate) fn call(&mut self, station: StationIndex, response: Span) {
        self.tell_call(station, CallStep::Called);
        if let Some(operator) = self.crew.is_there(station, self.now) {
            return self.serve(operator, station);
        }
        let place = match self.line.crew.order {
            CallOrder::FirstCome => self.crew.calls.len(),
            CallOrder::StationPriority => {
                let rank = |station: StationIndex| self.line.stations[station].call_priority;
                let later = |call: &Call| rank(call.station) > rank(station);
                self.crew.calls.iter().position(later).unwrap_or(self.crew.calls.len())
            }
        };
        self.crew.calls.insert(place, Call { station, response });
        self.send_operators();
    }

    /// Sends free operators out while there are calls that none is on the way for.
    fn send_operators(&mut self) {
        loop {
            let on_the_way = self.crew.on_the_way();
            let Some(call) = self.crew.calls.get(on_the_way) else {
                return;
            };
            let Some(operator) =
                self.crew.operators.iter().position(|operator| operator.doing == Doing::Free)
            else {
                return;
            };
            let (station, response) = (call.station, call.response);
            let there = self.crew.is_there(station, self.now);
            let operator = there.unwrap_or(operator);
            let response = if there.is_some() { Span::ZERO } else { response };
            self.crew.operators[operator].doing = Doing::OnTheWay;
            if response == Span::ZERO {
                self.operator_arrives(operator);
            } else {
                let arrival = self.crew.operators[operator].arrival;
                self.set_in(arrival, response);
            }
        }
    }

    pub(crate) fn operator_arrives(&mut self, operator: usize) {
        if self.crew.calls.is_empty() {
            // Cannot happen: there are never more operators on the way than calls.
            self.crew.operators[operator].doing = Doing::Free;
            return;
        }
        let call = self.crew.calls.remove(0);
        self.serve(operator, call.station);
    }

    fn serve(&mut self, operator: usize, station: StationIndex) {
        self.crew.operators[operator].doing = Doing::AtWork;
        self.tell_call(station, CallStep::Arrived);
        let frame = &mut self.frames[station];
        let reason = frame.hold.map_or(linewake_model::stop::Reason::NONE, |(_, reason)| reason);
        let timer = frame.stop_end;
        if let Some(stop) = &mut frame.rare.stop {
            stop.operator = Some(operator);
            let duration = stop.duration;
            self.set_hold(station, Some((StationState::StoppedRepair, reason)));
            self.set_in(timer, duration);
        }
    }

    /// The operator is free again, and goes to the next call if there is one.
    pub(crate) fn release(&mut self, operator: usize, station: StationIndex) {
        self.crew.operators[operator].doing = Doing::Free;
        self.crew.operators[operator].left = Some((station, self.now));
        self.tell_call(station, CallStep::Released);
        self.send_operators();
    }

    pub(crate) fn tell_call(&mut self, station: StationIndex, step: CallStep) {
        let reason =
            self.frames[station].hold.map_or(linewake_model::stop::Reason::NONE, |(_, reason)| reason);
        self.emit(station, EventKind::Call { step, reason });
    }
}
