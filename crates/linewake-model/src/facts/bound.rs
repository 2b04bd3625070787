//! Why the figure without help is no bound on a line, if it is none.

use super::shape::Shape;
use super::supply::supply;
use crate::line::Line;
use crate::station::{StationKind, WhenFull, WithoutProduct};
use linewake_stats::distribution::Distribution;

/// Everything that can make the line do worse than the sum of its stops; empty for a lower bound.
pub(super) fn doubts_of_lower(line: &Line, shape: &Shape<'_>) -> Vec<String> {
    let mut doubts = Vec::new();
    for station in &line.stations {
        let id = &station.id;
        if has_random_work_time(&station.kind) {
            doubts
                .push(format!("the work times of {id} vary: waits for one another come on top of the stops"));
        }
        if station.speed_control.is_some() {
            doubts.push(format!("{id} changes its speed: its work times vary"));
        }
        match &station.kind {
            StationKind::Accumulator(table) if table.restart_at.is_some() => {
                doubts.push(format!(
                    "{id} has restart_at: once full it holds the line up longer than the stop"
                ));
            }
            StationKind::Former(former) if former.without_product == WithoutProduct::RunEmpty => {
                doubts.push(format!("{id} runs empty without product: a short wait costs a whole index"));
            }
            StationKind::Arrivals(arrivals) if arrivals.when_full == WhenFull::Lost => {
                doubts.push(format!(
                    "{id} loses what finds no room: a stop costs up to one time between arrivals more"
                ));
            }
            StationKind::Portioner(_) if shape.feedback.is_some() => {
                doubts.push(format!(
                    "the weight feedback of {id} shifts the pack weight: weight rejects are estimated"
                ));
            }
            StationKind::Loader(loader) if loader.open_time_limit.is_some() => {
                doubts.push(format!(
                    "product ages in {id} and open pockets: what stops cost by that is estimated"
                ));
            }
            _ => {}
        }
    }
    if let Some(supply) = supply(line, shape).filter(|supply| supply.can_run_short) {
        doubts.push(format!("supply can run short: {}", supply.because));
    }
    doubts
}

fn has_random_work_time(kind: &StationKind) -> bool {
    let varies = |time: &Distribution| !time.is_constant();
    match kind {
        StationKind::PickRobot(robot) => varies(&robot.pick_s) || varies(&robot.place_s),
        StationKind::Machine(machine) => varies(&machine.process_s),
        StationKind::Arrivals(arrivals) => varies(&arrivals.between_s),
        _ => false,
    }
}
