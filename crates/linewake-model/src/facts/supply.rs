//! Product needed against product prepared, and whether the hopper can run empty.

use super::shape::{Shape, array_portions, capacity};
use super::stages::full_picks;
use super::stop_free;
use crate::line::Line;
use crate::station::{BulkSupply, StationKind};
use serde::Serialize;

/// Bulk supply against the line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyFacts {
    /// Station id.
    pub station: String,
    /// Product needed at the line's rate without stops.
    pub needed_kg_per_h: f64,
    /// Product prepared when batch follows batch.
    pub prepared_kg_per_h: f64,
    /// Mass of a batch.
    pub batch_kg: f64,
    /// What the hopper holds.
    pub hopper_kg: f64,
    /// How long a batch lasts at the line's rate.
    pub batch_lasts_s: f64,
    /// Mean time to prepare a batch.
    pub preparation_mean_s: f64,
    /// Longest time to prepare a batch; absent if there is none.
    pub preparation_longest_s: Option<f64>,
    /// Product that the line uses in the mean time.
    pub used_in_mean_preparation_kg: f64,
    /// Product that the line uses in the longest time; absent if there is none.
    pub used_in_longest_preparation_kg: Option<f64>,
    /// The hopper can run empty, be it rarely.
    pub can_run_short: bool,
    /// The line needs more than is prepared: supply is what limits it.
    pub limits_the_line: bool,
    /// Why, in words.
    pub because: String,
}

pub(super) fn supply(line: &Line, shape: &Shape<'_>) -> Option<SupplyFacts> {
    let (index, bulk) =
        line.stations.iter().enumerate().find_map(|(index, station)| match &station.kind {
            StationKind::BulkSupply(bulk) => Some((index, bulk)),
            _ => None,
        })?;
    let pack_kg = shape.pack_g()? / 1e3;
    let rest = index + 1..line.stations.len();
    let seconds_per_pack = stop_free::seconds_per_pack(line, shape, rest, full_picks(shape));
    let kg_per_s = if seconds_per_pack > 0.0 { pack_kg / seconds_per_pack } else { 0.0 };
    let (batch_kg, hopper_kg) = (bulk.batch_ug as f64 / 1e9, bulk.hopper_ug as f64 / 1e9);
    let mean_s = bulk.preparation_s.mean();
    let longest_s = Some(bulk.preparation_s.largest()).filter(|longest| longest.is_finite());
    let stops = !line.stations[index].stops.is_empty();
    let because = shortage(line, shape, bulk, kg_per_s, stops);
    let limits = kg_per_s * mean_s > batch_kg;
    Some(SupplyFacts {
        station: line.stations[index].id.clone(),
        needed_kg_per_h: 3600.0 * kg_per_s,
        prepared_kg_per_h: 3600.0 * batch_kg / mean_s,
        batch_kg,
        hopper_kg,
        batch_lasts_s: batch_kg / kg_per_s,
        preparation_mean_s: mean_s,
        preparation_longest_s: longest_s,
        used_in_mean_preparation_kg: kg_per_s * mean_s,
        used_in_longest_preparation_kg: longest_s.map(|longest| kg_per_s * longest),
        can_run_short: because.is_some(),
        limits_the_line: limits,
        because: because
            .unwrap_or_else(|| "even the longest preparation uses no more than a batch".to_owned()),
    })
}

/// Why the hopper can run empty; `None` if it cannot.
///
/// A batch that waits is tipped in with `hopper - batch` left, so that much must start a cut. From one tipping to the
/// next no more than a batch, less the portion that the last cut needs, may be used in the longest preparation, at
/// the line's rate with all belts between portioner and web refilled, or at the portioner's rate if that is less.
fn shortage(line: &Line, shape: &Shape<'_>, bulk: &BulkSupply, kg_per_s: f64, stops: bool) -> Option<String> {
    let portioner = shape.portioner?;
    let portion_kg = shape.pack_g()? / shape.portions_per_pack / 1e3;
    let (batch_kg, hopper_kg) = (bulk.batch_ug as f64 / 1e9, bulk.hopper_ug as f64 / 1e9);
    let longest_s = bulk.preparation_s.largest();
    if stops {
        return Some("the supply has stops of its own".to_owned());
    }
    if hopper_kg - batch_kg < portion_kg {
        return Some("a waiting batch fits only when less than a portion is left".to_owned());
    }
    if !longest_s.is_finite() {
        return Some("a preparation can take any time".to_owned());
    }
    let steps =
        line.stations.iter().flat_map(|station| &station.speed_control).flat_map(|control| &control.steps);
    let fastest = steps.map(|step| step.share).fold(1.0, f64::max);
    let at_portioner = portioner.rate_per_min / 60.0 * longest_s * portion_kg * fastest;
    let at_line = kg_per_s * longest_s * fastest + portion_kg * portions_in_front(line, shape);
    let used_kg = at_portioner.min(at_line);
    (used_kg + portion_kg > batch_kg).then(|| {
        format!("the longest preparation, {longest_s:.0} s, uses up to {used_kg:.0} kg, more than a batch of {batch_kg:.0} kg")
    })
}

/// Portions that belts, loader and a load zone hold between portioner and web.
fn portions_in_front(line: &Line, shape: &Shape<'_>) -> f64 {
    let stations = line.stations.iter().enumerate().filter(|(index, _)| shape.is_before_packs(*index));
    stations
        .map(|(_, station)| match &station.kind {
            StationKind::Accumulator(belt) => capacity(belt).unwrap_or(f64::INFINITY),
            StationKind::RigidBelt(belt) => belt.length_m / belt.pitch_m,
            StationKind::Loader(loader) => array_portions(loader) + f64::from(loader.array_rows),
            _ => 1.0,
        })
        .sum()
}
