//! How pieces stand in the stations of a line.

use crate::{Layout, WebReplay};
use linewake_model::line::Line;
use linewake_model::station::{LeaveOrder, Station, StationKind};

/// Places along a belt or table that never fills: for the picture only.
const PLACES_WITHOUT_END: u32 = 100;

/// How pieces stand in that station.
pub(super) fn layout_of(station: &Station, capacity: Option<u32>) -> Layout {
    match &station.kind {
        StationKind::BulkSupply(_) => Layout::Hopper,
        StationKind::Portioner(_)
        | StationKind::Gate(_)
        | StationKind::Machine(_)
        | StationKind::Arrivals(_) => Layout::Single,
        StationKind::Accumulator(belt) => Layout::Queue {
            transit_us: belt.transit.0,
            places: capacity.unwrap_or(PLACES_WITHOUT_END),
            last_in_first_out: belt.order == LeaveOrder::LastInFirstOut,
        },
        StationKind::Loader(loader) => Layout::Array { lanes: loader.lanes, rows: loader.array_rows },
        StationKind::Former(_) => Layout::Web,
        StationKind::PickRobot(robot) => Layout::PickZone { gripper: robot.gripper },
        StationKind::RigidBelt(belt) => {
            let places = (belt.length_m / belt.pitch_m).ceil().clamp(1.0, 10_000.0);
            Layout::Rigid { transit_us: belt.transit().0, places: places as u32 }
        }
        StationKind::CasePacker(packer) => {
            Layout::Lane { packs_per_case: packer.packs_per_case, places: packer.lane_packs }
        }
    }
}

/// The web of the line, if it has one.
pub(super) fn web_of(line: &Line) -> Option<WebReplay> {
    let (station, former) = line.stations.iter().enumerate().find_map(|(place, it)| match &it.kind {
        StationKind::Former(former) => Some((place, former)),
        _ => None,
    })?;
    let load_length = line.stations.iter().find_map(|it| match &it.kind {
        StationKind::Loader(loader) => Some(loader.indexes_per_array),
        _ => None,
    });
    Some(WebReplay {
        station,
        lanes: former.lanes,
        rows_per_index: former.rows_per_index,
        load_at: former.positions.load_at,
        load_length: load_length.unwrap_or(1),
        seal: former.positions.seal,
        print_inspection: former.positions.print_inspection,
        label: former.positions.label,
        cut: former.positions.cut,
        advance_us: former.advance.0,
        advances_before: 0,
        advances: Vec::new(),
    })
}
