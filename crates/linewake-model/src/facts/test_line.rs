//! Small lines put together by hand.

use crate::line::{CallOrder, Crew, Line, Shift};
use crate::station::{Accumulator, LeaveOrder, Machine, Station, StationKind};
use crate::stop::{Basis, FIXED_REASONS, Initial, Reason, StopMode};
use crate::time::{MICROS_PER_SECOND, Span};
use linewake_stats::distribution::Distribution;

/// Every time the same.
pub(super) fn constant(value: f64) -> Distribution {
    Distribution::Constant { value }
}

/// A line of these stations without breaks, whose operators need 10 s to come.
pub(super) fn line(stations: Vec<Station>) -> Line {
    Line {
        name: "test".to_owned(),
        about: String::new(),
        digest: String::new(),
        shift: Shift {
            length: Span(28_800 * MICROS_PER_SECOND),
            breaks: Vec::new(),
            supply_in_breaks: false,
            repairs_in_breaks: false,
            breaks_in_planned_production_time: false,
        },
        design_rate_per_min: 60.0,
        constraint: 0,
        short_stop_limit: Span(300 * MICROS_PER_SECOND),
        crew: Crew { operators: 99, response_s: constant(10.0), order: CallOrder::FirstCome },
        own_defects: Vec::new(),
        reasons: FIXED_REASONS.iter().map(|&reason| reason.to_owned()).collect(),
        stations,
        trade: None,
        uncertainty: Vec::new(),
    }
}

/// A station without stops.
pub(super) fn station(id: &str, kind: StationKind) -> Station {
    Station {
        id: id.to_owned(),
        kind,
        stops: Vec::new(),
        response_s: None,
        call_priority: 0,
        speed_control: None,
        supplier: None,
    }
}

/// A generic machine with stops.
pub(super) fn machine(id: &str, process_s: Distribution, stops: Vec<StopMode>) -> Station {
    Station { stops, ..station(id, StationKind::Machine(Machine { process_s, holds_in_stops: false })) }
}

/// A table without transit time.
pub(super) fn table(id: &str, capacity: u32, restart_at: Option<u32>) -> Station {
    let table = Accumulator {
        is_belt: false,
        transit: Span::ZERO,
        capacity,
        release: Span::ZERO,
        order: LeaveOrder::FirstInFirstOut,
        restart_at,
    };
    station(id, StationKind::Accumulator(table))
}

/// An unattended stop.
pub(super) fn stop(basis: Basis, between: Distribution, duration_s: Distribution) -> StopMode {
    StopMode {
        reason: Reason::NONE,
        basis,
        between,
        duration_s,
        attended: false,
        initial: Initial::Uniform,
        scrap_after_indexes: 0,
        group: None,
        consumable: false,
    }
}
