//! Facts of a line that need no simulation: what an engineer looks at before any run.
//!
//! [`facts`] is a pure function of a checked [`Line`]. All times are in seconds, rates in packs per minute and hour;
//! the keys say which when serialised. In a line of generic machines a pack is a piece. The figures are explained, and
//! worked by hand for the reference line, in docs/concepts/line-facts.md and docs/reference/hand-calculation.md.

mod bound;
mod buffers;
mod cycle;
mod demand;
mod expectation;
mod feedback;
mod inspection;
mod offsets;
mod output;
mod pace;
mod pack_weight;
mod quality;
mod shape;
mod stages;
mod station_stops;
mod stop_free;
mod stops;
mod supply;

pub use buffers::BufferWorth;
pub use cycle::{CycleBudget, CycleLimit, FunctionBudget, LoaderTime, RobotTime};
pub use feedback::FeedbackLoop;
pub use offsets::DetectionOffset;
pub use output::{FigureKind, OutputFigure, OutputFigures};
pub use pack_weight::{PackFeedback, PackWeigher, PackWeight, pack_weight};
pub use quality::{Quality, QualityLoss};
pub use stages::{Rung, ThroughputCapacity};
pub use station_stops::{ConsumableChange, ModeStops, StationStops};
pub use supply::SupplyFacts;

use crate::line::{Line, StationIndex};
use serde::Serialize;

/// Everything that `check` tells about a line beside its problems.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Facts {
    /// Design rate of the model in packs per minute.
    pub design_rate_per_min: f64,
    /// Id of the constraint station.
    pub constraint: String,
    /// Packs per minute cut by the whole line when nothing stops.
    pub stop_free_packs_per_min: f64,
    /// Best rate of each stage, in line order; stages that nothing limits are left out.
    pub rate_ladder: Vec<Rung>,
    /// The former's cycle, function by function.
    pub cycle_budget: Option<CycleBudget>,
    /// The loader's time for an array against the former's.
    pub loader: Option<LoaderTime>,
    /// The robot's time for a frame against the cycle.
    pub robot: Option<RobotTime>,
    /// What gates and belts can pass and hold, in line order.
    pub capacities: Vec<ThroughputCapacity>,
    /// What each accumulator and the case packer's lane are worth, in line order.
    pub buffers: Vec<BufferWorth>,
    /// Expected stops, one per station that can stop, in line order.
    pub station_stops: Vec<StationStops>,
    /// How often consumables are changed, in line order.
    pub consumables: Vec<ConsumableChange>,
    /// How far each detection lies before the exit, in order of detection.
    pub detections: Vec<DetectionOffset>,
    /// Product needed and prepared.
    pub supply: Option<SupplyFacts>,
    /// The weight feedback as a control loop.
    pub feedback: Option<FeedbackLoop>,
    /// Quality losses, most likely values.
    pub quality: Quality,
    /// The three figures that need no simulation.
    pub output: OutputFigures,
}

/// The facts of a line.
#[must_use]
pub fn facts(line: &Line) -> Facts {
    let shape = shape::Shape::of(line);
    let output = output::output(line, &shape);
    let seconds_per_pack = 3600.0 / output.no_help.cut_packs_per_h.max(f64::MIN_POSITIVE);
    let demand = demand::demand(line, &shape, seconds_per_pack, demand::Lean::Expected);
    let stop_free_s =
        stop_free::seconds_per_pack(line, &shape, 0..line.stations.len(), demand.picks_per_pack);
    Facts {
        design_rate_per_min: line.design_rate_per_min,
        constraint: line.stations[line.constraint].id.clone(),
        stop_free_packs_per_min: stages::per_min(stop_free_s),
        rate_ladder: stages::ladder(line, &shape),
        cycle_budget: cycle::budget(&shape),
        loader: cycle::loader(&shape),
        robot: cycle::robot(line, &shape),
        capacities: stages::capacities(line, &shape),
        buffers: buffers::buffers(line, &shape),
        station_stops: station_stops::station_stops(line, &shape, &demand),
        consumables: station_stops::consumables(line, &demand),
        detections: offsets::detections(line, &shape),
        supply: supply::supply(line, &shape),
        feedback: feedback::feedback_loop(line, &shape),
        quality: demand.quality,
        output,
    }
}

/// Best rate of a station in packs per minute: never waiting, never stopped, at its fastest speed step. `None` where
/// nothing limits it.
#[must_use]
pub fn best_rate_per_min(line: &Line, station: StationIndex) -> Option<f64> {
    stages::best_per_min(line, &shape::Shape::of(line), station)
}

#[cfg(test)]
mod test_line;
#[cfg(test)]
mod tests;
