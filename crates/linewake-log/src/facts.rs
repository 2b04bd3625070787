//! What a log says of its line, taken from a checked [`Line`].
//!
//! Rules that are not in the model itself:
//! - A pack is good once the last gate has handed it over; in a line without gates, the pick robot; in a line without
//!   a robot, the last station.
//! - The best rate of a station, in packs per minute, is that of the rate ladder ([`best_rate_per_min`]).
//! - The empty-line transit time between two stations is the time a piece takes from leaving the one to reaching the
//!   other when nothing holds it up: the sum over what lies between, neither of the two included. See [`transit_of`].

mod compare;

use crate::header::{Consequence, LineFacts, StationFacts};
use linewake_model::facts::best_rate_per_min;
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::{Former, GateKind, Loader, StationKind, UNLIMITED};
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// The words for the kinds of station, as in a model file.
pub mod kind {
    use super::{GateKind, StationKind};

    /// Bulk supply.
    pub const BULK_SUPPLY: &str = "bulk_supply";
    /// Portioner.
    pub const PORTIONER: &str = "portioner";
    /// Accumulating belt.
    pub const ACCUMULATING_BELT: &str = "accumulating_belt";
    /// Accumulating table.
    pub const ACCUMULATING_TABLE: &str = "accumulating_table";
    /// Two-belt loader.
    pub const LOADER: &str = "loader";
    /// Thermoform form-fill-seal machine.
    pub const FORMER: &str = "former";
    /// Pick robot.
    pub const PICK_ROBOT: &str = "pick_robot";
    /// Rigid belt.
    pub const RIGID_BELT: &str = "rigid_belt";
    /// Checkweigher.
    pub const CHECKWEIGHER: &str = "checkweigher";
    /// Metal detector.
    pub const METAL_DETECTOR: &str = "metal_detector";
    /// X-ray inspection.
    pub const X_RAY: &str = "x_ray";
    /// Leak test.
    pub const LEAK_TEST: &str = "leak_test";
    /// Case packer.
    pub const CASE_PACKER: &str = "case_packer";
    /// Generic machine.
    pub const MACHINE: &str = "machine";
    /// Arrivals.
    pub const ARRIVALS: &str = "arrivals";

    /// All kinds.
    pub const ALL: [&str; 15] = [
        BULK_SUPPLY,
        PORTIONER,
        ACCUMULATING_BELT,
        ACCUMULATING_TABLE,
        LOADER,
        FORMER,
        PICK_ROBOT,
        RIGID_BELT,
        CHECKWEIGHER,
        METAL_DETECTOR,
        X_RAY,
        LEAK_TEST,
        CASE_PACKER,
        MACHINE,
        ARRIVALS,
    ];

    /// The word for a station's kind.
    #[must_use]
    pub fn word(kind: &StationKind) -> &'static str {
        match kind {
            StationKind::BulkSupply(_) => BULK_SUPPLY,
            StationKind::Portioner(_) => PORTIONER,
            StationKind::Accumulator(accumulator) if accumulator.is_belt => ACCUMULATING_BELT,
            StationKind::Accumulator(_) => ACCUMULATING_TABLE,
            StationKind::Loader(_) => LOADER,
            StationKind::Former(_) => FORMER,
            StationKind::PickRobot(_) => PICK_ROBOT,
            StationKind::RigidBelt(_) => RIGID_BELT,
            StationKind::Gate(gate) => match gate.kind {
                GateKind::Checkweigher => CHECKWEIGHER,
                GateKind::MetalDetector => METAL_DETECTOR,
                GateKind::XRay => X_RAY,
                GateKind::LeakTest => LEAK_TEST,
            },
            StationKind::CasePacker(_) => CASE_PACKER,
            StationKind::Machine(_) => MACHINE,
            StationKind::Arrivals(_) => ARRIVALS,
        }
    }
}

impl LineFacts {
    /// Place of the station that counts the total: the former, or in a line without one the constraint (the station
    /// of `good_after` if the constraint lies behind that).
    #[must_use]
    pub fn total_at(&self) -> u16 {
        let former = self.stations.iter().position(|station| station.kind == kind::FORMER);
        former.and_then(|place| u16::try_from(place).ok()).unwrap_or(self.constraint).min(self.good_after)
    }

    /// The facts of a line.
    ///
    /// # Panics
    /// Never: a line has at most 65,535 stations (checked with the model).
    #[must_use]
    pub fn of(line: &Line) -> Self {
        let constraint = line.constraint;
        Self {
            design_rate_per_min: line.design_rate_per_min,
            constraint: index(constraint),
            good_after: index(good_after(line)),
            short_stop_limit: line.short_stop_limit,
            left_out: left_out(line),
            consequences: consequences(line),
            stations: (0..line.stations.len()).map(|station| station_facts(line, station)).collect(),
            reasons: line.reasons.clone(),
        }
    }
}

fn index(station: StationIndex) -> u16 {
    u16::try_from(station).expect("a line has at most 65,535 stations")
}

fn good_after(line: &Line) -> StationIndex {
    let last_of =
        |wanted: fn(&StationKind) -> bool| line.stations.iter().rposition(|station| wanted(&station.kind));
    last_of(|kind| matches!(kind, StationKind::Gate(_)))
        .or_else(|| last_of(|kind| matches!(kind, StationKind::PickRobot(_))))
        .unwrap_or(line.stations.len().saturating_sub(1))
}

/// Breaks, and the challenge of a gate that is the constraint, unless they count in planned production time.
fn left_out(line: &Line) -> Vec<Reason> {
    let mut reasons = Vec::new();
    if !line.shift.breaks_in_planned_production_time {
        reasons.push(Reason::BREAK);
    }
    if let Some(StationKind::Gate(gate)) = line.stations.get(line.constraint).map(|station| &station.kind)
        && gate.challenge.as_ref().is_some_and(|challenge| !challenge.in_planned_production_time)
    {
        reasons.push(Reason::CHALLENGE);
    }
    reasons
}

fn consequences(line: &Line) -> Vec<Consequence> {
    let mut found = Vec::new();
    for (place, station) in line.stations.iter().enumerate() {
        let here = Some(index(place));
        if let StationKind::Former(former) = &station.kind
            && let Some(scrap) = &former.stop_scrap
        {
            let (tag, longer_than) = (scrap.reason, scrap.longer_than);
            found.push(Consequence { tag, station: here, stop: Reason::NONE, longer_than });
        }
        for stop in station.stops.iter().filter(|stop| stop.scrap_after_indexes > 0) {
            let (tag, stop) = (Reason::FIRST_OFF, stop.reason);
            found.push(Consequence { tag, station: here, stop, longer_than: Span::ZERO });
        }
        if let StationKind::Loader(loader) = &station.kind
            && loader.open_time_limit.is_some()
        {
            let tag = Reason::AGED;
            found.push(Consequence { tag, station: None, stop: Reason::NONE, longer_than: Span::ZERO });
        }
    }
    found
}

fn station_facts(line: &Line, place: StationIndex) -> StationFacts {
    let station = &line.stations[place];
    let accumulator = match &station.kind {
        StationKind::Accumulator(accumulator) => Some(accumulator),
        _ => None,
    };
    StationFacts {
        id: station.id.clone(),
        kind: kind::word(&station.kind).to_owned(),
        has_states: accumulator.is_none() || !station.stops.is_empty(),
        rate_per_min: best_rate_per_min(line, place),
        transit_to_constraint: transit_between(line, place, line.constraint),
        capacity: accumulator.map(|it| it.capacity).filter(|&capacity| capacity != UNLIMITED),
        portions_per_piece: portions_per_piece(line, place),
        supplier: station.supplier.clone(),
    }
}

/// Portions of a piece that a station hands over: 1 up to the loader, those of a pocket behind it.
fn portions_per_piece(line: &Line, place: StationIndex) -> u32 {
    let loader = line.stations[..place].iter().find_map(|station| match &station.kind {
        StationKind::Loader(loader) => Some(loader),
        _ => None,
    });
    loader.map_or(1, |loader| loader.loads_per_zone.max(1))
}

/// Empty-line transit time between two stations: the sum of [`transit_of`] what lies between them.
#[must_use]
pub fn transit_between(line: &Line, one: StationIndex, other: StationIndex) -> Span {
    let between = one.min(other) + 1..one.max(other);
    between.fold(Span::ZERO, |sum, place| sum + transit_of(line, place))
}

/// Time a piece takes through a station on an empty line, at set speed, with mean times where they vary.
///
/// - portioner: one cut; belt or table: its transit; rigid belt: length over speed; gate: 60 over its highest rate;
///   robot: pick and place; machine: its mean time; case packer: its cycle; supply, arrivals: none;
/// - loader: from the first portion to the array in the pockets, which is the longer of its own motions without the
///   return, and of the time in which the portions of an array come (at the portioner's rate, or as fast as belt A
///   takes them) with the last transfer and the load; times the loads of a zone;
/// - former: the advances that bring the front of the load zone into the pick zone, one cycle each.
#[must_use]
pub fn transit_of(line: &Line, place: StationIndex) -> Span {
    match &line.stations[place].kind {
        StationKind::BulkSupply(_) | StationKind::Arrivals(_) => Span::ZERO,
        StationKind::Portioner(portioner) => Span::from_seconds(60.0 / portioner.rate_per_min),
        StationKind::Accumulator(belt) => belt.transit,
        StationKind::Loader(loader) => loader_transit(line, place, loader),
        StationKind::Former(former) => {
            let advances = (former.positions.cut + 1).saturating_sub(former.positions.load_at);
            Span::from_seconds(f64::from(advances) * former_cycle_s(former))
        }
        StationKind::PickRobot(robot) => Span::from_seconds(robot.pick_s.mean() + robot.place_s.mean()),
        StationKind::RigidBelt(belt) => belt.transit(),
        StationKind::Gate(gate) => Span::from_seconds(60.0 / gate.max_rate_per_min),
        StationKind::CasePacker(packer) => packer.cycle,
        StationKind::Machine(machine) => Span::from_seconds(machine.process_s.mean()),
    }
}

fn loader_transit(line: &Line, place: StationIndex, loader: &Loader) -> Span {
    let lanes = u64::from(loader.lanes);
    let portions = lanes * u64::from(loader.array_rows);
    let file_s = line.stations[..place].iter().rev().find_map(|station| match &station.kind {
        StationKind::Portioner(portioner) => Some(60.0 / portioner.rate_per_min),
        _ => None,
    });
    let between_portions = Span::from_seconds(file_s.unwrap_or(0.0)).max(loader.take);
    let motions =
        times(loader.file_transfer, lanes) + times(loader.traverse, lanes.saturating_sub(1)) + loader.load;
    let product = times(between_portions, portions) + loader.file_transfer + loader.load;
    times(motions.max(product), u64::from(loader.loads_per_zone.max(1)))
}

fn former_cycle_s(former: &Former) -> f64 {
    let motions_s = (former.dwell() + former.advance).seconds();
    former.max_cycles_per_min.map_or(motions_s, |cap| motions_s.max(60.0 / cap))
}

fn times(length: Span, count: u64) -> Span {
    Span(length.0.saturating_mul(count))
}

#[cfg(test)]
mod tests;
