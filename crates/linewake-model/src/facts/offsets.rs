//! From each detection to the exit where the pack leaves: the shift register, in indexes and seconds.

use super::pace::pace;
use super::shape::Shape;
use crate::line::Line;
use crate::station::StationKind;
use serde::Serialize;

/// How far a detection lies before the exit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DetectionOffset {
    /// Id of the station that detects.
    pub station: String,
    /// What is detected: a reason, or the name of an inspection.
    pub detection: String,
    /// Position on the web at which it is detected; absent for a gate.
    pub position: Option<u32>,
    /// Where the pack leaves, in words.
    pub exit: String,
    /// Advances from the position to the pick zone (the position after cut); 0 for a gate.
    pub indexes_to_pick_zone: u32,
    /// From the end of the dwell of the detection to the arrival in the pick zone, at the cycle without stops.
    pub to_pick_zone_s: f64,
    /// From the same instant to the advance that drops the pack into the bin: one cycle for each index.
    pub to_exit_s: f64,
    /// What to know about it, in words; may be empty.
    pub remark: String,
}

pub(super) fn detections(line: &Line, shape: &Shape<'_>) -> Vec<DetectionOffset> {
    let mut all = Vec::new();
    if let Some((index, former)) = shape.former {
        let cycle_s = pace(line, shape, index, 0.0, 1.0).time_s * shape.packs_per_index();
        let pick_zone = former.positions.cut + 1;
        let zone = shape.loader.map_or(1, |loader| loader.indexes_per_array.max(1));
        let first_filled = (former.positions.load_at + 1).saturating_sub(zone);
        let mut detect = |detection: &str, position: u32| {
            let indexes = pick_zone.saturating_sub(position);
            let film_only = position < first_filled;
            all.push(DetectionOffset {
                station: line.stations[index].id.clone(),
                detection: detection.to_owned(),
                position: Some(position),
                exit: "reject bin of the pick zone, at the advance after".to_owned(),
                indexes_to_pick_zone: indexes,
                to_pick_zone_s: if indexes > 0 {
                    f64::from(indexes - 1) * cycle_s + former.advance.seconds()
                } else {
                    0.0
                },
                to_exit_s: f64::from(indexes) * cycle_s,
                remark: if film_only { "nothing there but film".to_owned() } else { String::new() },
            });
        };
        if let Some(scrap) = &former.stop_scrap {
            let mut positions = scrap.positions.clone();
            positions.sort_unstable();
            for position in positions {
                detect(line.reason(scrap.reason), position);
            }
        }
        if shape.loader.is_some_and(|loader| loader.open_time_limit.is_some()) {
            detect("aged", former.positions.seal);
        }
        if line.stations.iter().any(|station| station.stops.iter().any(|mode| mode.scrap_after_indexes > 0)) {
            detect("first_off", former.positions.seal);
        }
        if let (Some(position), Some(_)) = (former.positions.print_inspection, &former.vision) {
            detect("print inspection", position);
        }
    }
    for station in &line.stations {
        if let StationKind::Gate(gate) = &station.kind {
            let mut looks_for: Vec<_> = gate.finds.iter().map(|find| line.reason(find.defect)).collect();
            if gate.weigher.is_some() {
                looks_for.insert(0, "weight");
            }
            all.push(DetectionOffset {
                station: station.id.clone(),
                detection: if looks_for.is_empty() { "verdict".to_owned() } else { looks_for.join(", ") },
                position: None,
                exit: "bin of the gate".to_owned(),
                indexes_to_pick_zone: 0,
                to_pick_zone_s: 0.0,
                to_exit_s: 0.0,
                remark: "immediate, with the verdict".to_owned(),
            });
        }
    }
    all
}
