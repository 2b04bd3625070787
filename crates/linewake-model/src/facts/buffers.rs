//! What buffers are worth in time at the constraint's rate.

use super::shape::{Shape, capacity, kind_words, stores};
use super::stages::constraint_per_min;
use crate::line::Line;
use crate::station::StationKind;
use serde::Serialize;

/// A store of the line, as time at the constraint's best rate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BufferWorth {
    /// Station id.
    pub station: String,
    /// What it is: accumulating belt, table, or the collation lane of a case packer.
    pub kind: &'static str,
    /// What it holds: portions, packs or pieces.
    pub pieces: &'static str,
    /// Pieces that it holds at most; absent for one that never fills.
    pub capacity_pieces: Option<f64>,
    /// Capacity at the constraint's rate.
    pub worth_s: Option<f64>,
    /// Pieces on their way through it at the constraint's rate (in a lane: a case that is not yet full).
    pub in_transit_pieces: f64,
    /// What is left for a stop behind it to be hidden, when nothing is queued: capacity less what is on its way.
    pub free_s: Option<f64>,
    /// Capacity over transit time lies below the constraint's rate: it throttles the line.
    pub throttles: bool,
    /// What to know about it, in words; may be empty.
    pub remark: String,
}

pub(super) fn buffers(line: &Line, shape: &Shape<'_>) -> Vec<BufferWorth> {
    let packs_per_s = constraint_per_min(line, shape) / 60.0;
    let stations = line.stations.iter().enumerate();
    stations
        .filter_map(|(index, station)| {
            let per_s = packs_per_s * shape.pieces_per_pack(index);
            let (kind, capacity_pieces, in_transit) = match &station.kind {
                StationKind::Accumulator(table) => {
                    let in_transit = if stores(table) { per_s * table.transit.seconds() } else { 0.0 };
                    (kind_words(&station.kind), capacity(table), in_transit)
                }
                StationKind::CasePacker(packer) => {
                    ("collation lane", Some(f64::from(packer.lane_packs)), f64::from(packer.packs_per_case))
                }
                _ => return None,
            };
            let throttles = match &station.kind {
                StationKind::Accumulator(table) => {
                    stores(table)
                        && capacity_pieces.is_some_and(|pieces| pieces < per_s * table.transit.seconds())
                }
                _ => false,
            };
            let pieces = if shape.is_before_packs(index) {
                "portions"
            } else if shape.former.is_some() {
                "packs"
            } else {
                "pieces"
            };
            Some(BufferWorth {
                station: station.id.clone(),
                kind,
                pieces,
                capacity_pieces,
                worth_s: capacity_pieces.map(|pieces| pieces / per_s),
                in_transit_pieces: in_transit,
                free_s: capacity_pieces.map(|pieces| (pieces - in_transit).max(0.0) / per_s),
                throttles,
                remark: remark(line, index, per_s),
            })
        })
        .collect()
}

fn remark(line: &Line, index: usize, per_s: f64) -> String {
    match &line.stations[index].kind {
        StationKind::Accumulator(table) if !stores(table) => {
            let lane = line.stations[index + 1..].iter().find_map(|station| match &station.kind {
                StationKind::CasePacker(packer) => Some(f64::from(packer.lane_packs) / per_s),
                _ => None,
            });
            lane.map_or_else(
                || "a direct hand-over".to_owned(),
                |lane_s| {
                    format!(
                        "a direct hand-over, not \"no buffer\": the case packer's lane is worth {lane_s:.1} s"
                    )
                },
            )
        }
        StationKind::Accumulator(table) => table.restart_at.map_or_else(String::new, |restart_at| {
            format!("once full it takes nothing until its content is down to {restart_at}")
        }),
        _ => String::new(),
    }
}
