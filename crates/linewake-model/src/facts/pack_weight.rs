//! What a pack weighs before the checkweigher, and what the checkweigher and the weight feedback do with it: the figures
//! of the stations in terms of packs.
//!
//! A pack of several portions has the sum of their weights: what differs from portion to portion grows with the root of
//! their number; batch, drift and correction, which they share, with the number itself.

use super::feedback::dead_packs;
use super::shape::Shape;
use crate::line::{Line, StationIndex};
use crate::station::StationKind;

/// Weights of the packs of a line with a portioner. Masses in grams.
#[derive(Clone, Debug, PartialEq)]
pub struct PackWeight {
    /// Portions of a pack.
    pub portions: f64,
    /// Mean that the line is set to: with feedback what it holds, within the limits of the correction.
    pub mean_g: f64,
    /// Standard deviation from pack to pack.
    pub sd_pack_g: f64,
    /// Standard deviation of the shift of a batch.
    pub sd_batch_g: f64,
    /// Packs of a batch; at least 1. A line without bulk supply has batches of one pack.
    pub batch_packs: f64,
    /// Standard deviation of the slow drift, and the packs after which its correlation has fallen to 1/e.
    pub drift: Option<(f64, f64)>,
    /// The checkweigher: the one that the feedback measures with, else the first of the line.
    pub weigher: Option<PackWeigher>,
    /// The weight feedback, as modelled.
    pub feedback: Option<PackFeedback>,
}

/// A checkweigher.
#[derive(Clone, Debug, PartialEq)]
pub struct PackWeigher {
    /// Its id.
    pub id: String,
    /// Standard deviation of its own error.
    pub sd_g: f64,
    /// It rejects under this.
    pub low_g: Option<f64>,
    /// It rejects over this.
    pub high_g: Option<f64>,
    /// Packs between the cut and the weigher in steady running: what a feedback would have as its dead time.
    pub dead_time_packs: f64,
}

/// Weight feedback, of packs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PackFeedback {
    /// Weighed packs between two corrections.
    pub every_packs: u32,
    /// Share of a pack's deviation that one correction takes off: the stated gain times the portions of a pack.
    pub gain: f64,
    /// What the mean of readings is held to.
    pub target_g: f64,
    /// The correction of a pack never goes below this.
    pub lowest_g: f64,
    /// Nor above this.
    pub highest_g: f64,
    /// Packs rejected for weight count in the mean.
    pub count_rejects: bool,
}

/// The weights of a line's packs; `None` without a portioner.
#[must_use]
pub fn pack_weight(line: &Line) -> Option<PackWeight> {
    let shape = Shape::of(line);
    let weight = &shape.portioner?.weight;
    let portions = shape.portions_per_pack;
    let mean_g = shape.pack_g()?;
    let batch_g = line.stations.iter().find_map(|station| match &station.kind {
        StationKind::BulkSupply(supply) => Some(supply.batch_ug as f64 / 1e6),
        _ => None,
    });
    let packs_per_s = line.design_rate_per_min / 60.0;
    let weighs = |place: StationIndex| match &line.stations[place].kind {
        StationKind::Gate(gate) => gate.weigher,
        _ => None,
    };
    let place = weight
        .feedback
        .map(|feedback| feedback.from)
        .or_else(|| (0..line.stations.len()).find(|place| weighs(*place).is_some()));
    let weigher = place.and_then(|place| {
        weighs(place).map(|weigher| PackWeigher {
            id: line.stations[place].id.clone(),
            sd_g: weigher.sd_g,
            low_g: weigher.low_g,
            high_g: weigher.high_g,
            dead_time_packs: dead_packs(line, &shape, place),
        })
    });
    Some(PackWeight {
        portions,
        mean_g,
        sd_pack_g: portions.sqrt() * weight.sd_g,
        sd_batch_g: portions * weight.sd_batch_g,
        batch_packs: batch_g.map_or(1.0, |grams| (grams / mean_g).max(1.0)),
        drift: weight
            .drift
            .map(|drift| (portions * drift.sd_g, drift.correlation_time.seconds() * packs_per_s)),
        weigher,
        feedback: weight.feedback.map(|feedback| PackFeedback {
            every_packs: feedback.every_packs.max(1),
            gain: portions * feedback.gain,
            target_g: feedback.target_g,
            lowest_g: portions * feedback.lowest_g,
            highest_g: portions * feedback.highest_g,
            count_rejects: feedback.count_rejects,
        }),
    })
}
