//! Which stations may follow one another: a full line from supply to case packer, or a line of generic machines.

use super::{Checker, station_path};
use crate::problem::Path;
use crate::spec::share::CapacitySpec;
use crate::spec::station::StationSpec;

/// What a full line begins with, in order.
const HEAD: [&str; 6] = ["bulk_supply", "portioner", "accumulating_belt", "loader", "former", "pick_robot"];

/// What may stand between the robot (or the first machine) and the end of the line.
const TAIL: &str = "rigid_belt, accumulating_belt, accumulating_table, checkweigher, metal_detector, x_ray, \
                    leak_test and machine";

impl Checker<'_> {
    /// A full line has at least one of the stations that only a full line has.
    pub(super) fn is_full_line(&self) -> bool {
        self.spec.stations.iter().any(|station| is_of_full_line(station.tag()))
    }

    pub(super) fn composition(&mut self) {
        if self.spec.stations.is_empty() {
            return;
        }
        if self.is_full_line() {
            self.full_line();
        } else {
            self.generic_line();
        }
    }

    fn full_line(&mut self) {
        let stations = &self.spec.stations;
        let head_is_right = stations.len() >= HEAD.len()
            && stations.iter().zip(HEAD).all(|(station, due)| station.tag() == due);
        if !head_is_right {
            let place = stations.iter().zip(HEAD).position(|(station, due)| station.tag() != due);
            let place = place.unwrap_or(stations.len().min(HEAD.len()));
            let order = HEAD.join(", ");
            match stations.get(place) {
                Some(station) => self.findings.error(
                    &station_path(place, station),
                    format!("a {} stands where the {} is due", station.tag(), HEAD[place]),
                    format!("a full line begins with {order}"),
                ),
                None => self.findings.error(
                    &Path::default().key("stations"),
                    format!("the line ends before its {}", HEAD[place]),
                    format!("a full line begins with {order}, then belts, gates and a case_packer"),
                ),
            }
            return;
        }
        let tail = &stations[HEAD.len()..];
        let last = stations.len() - 1;
        for (place, station) in stations.iter().enumerate().skip(HEAD.len()) {
            let path = station_path(place, station);
            let tag = station.tag();
            if HEAD.contains(&tag) && tag != "accumulating_belt" {
                let what = format!("a second {tag} stands after the pick robot");
                self.findings.error(
                    &path,
                    what,
                    format!("allowed here: {TAIL}, and a case_packer at the end"),
                );
            } else if tag == "arrivals" {
                self.findings.error(&path, "arrivals open a line of generic machines", "take them out");
            } else if tag == "case_packer" && place != last {
                self.findings.error(
                    &path,
                    "stations follow the case packer",
                    "cases leave the line: it stands last",
                );
            }
        }
        if !matches!(stations[last], StationSpec::CasePacker(_)) {
            self.findings.error(
                &station_path(last, &stations[last]),
                "the line does not end with a case packer",
                "add a case_packer as the last station",
            );
        }
        if let Some(first) = tail.first() {
            self.discharge(first);
        }
    }

    /// What stands after the pick robot must take a whole group at once.
    fn discharge(&mut self, first: &StationSpec) {
        let StationSpec::PickRobot(robot) = &self.spec.stations[HEAD.len() - 1] else { return };
        let path = station_path(HEAD.len(), first);
        match first {
            StationSpec::RigidBelt(_) => {}
            StationSpec::AccumulatingBelt(belt) | StationSpec::AccumulatingTable(belt) => {
                if let CapacitySpec::Pieces(pieces) = belt.capacity
                    && pieces < robot.gripper
                {
                    self.findings.error(
                        &path.key("capacity"),
                        format!("{pieces} packs are fewer than the {} of the robot's gripper", robot.gripper),
                        "the robot places a whole group at once",
                    );
                }
            }
            _ => self.findings.error(
                &path,
                format!("the robot cannot place on a {}", first.tag()),
                "put a rigid_belt, an accumulating_belt or an accumulating_table after it",
            ),
        }
    }

    fn generic_line(&mut self) {
        let stations = &self.spec.stations;
        let last = stations.len() - 1;
        for (place, station) in stations.iter().enumerate() {
            let path = station_path(place, station);
            match station {
                StationSpec::Arrivals(_) if place > 0 => {
                    self.findings.error(&path, "arrivals within the line", "they stand first, or not at all");
                }
                StationSpec::CasePacker(_) if place != last => {
                    self.findings.error(
                        &path,
                        "stations follow the case packer",
                        "cases leave the line: it stands last",
                    );
                }
                StationSpec::Checkweigher(_) => self.findings.error(
                    &path,
                    "pieces of generic machines have no weight",
                    "a checkweigher needs a line with a portioner",
                ),
                _ => {}
            }
        }
        let opens = usize::from(matches!(stations[0], StationSpec::Arrivals(_)));
        match stations.get(opens) {
            Some(StationSpec::Machine(_)) => {}
            Some(StationSpec::AccumulatingBelt(_) | StationSpec::AccumulatingTable(_)) if opens == 1 => {}
            Some(station) => self.findings.error(
                &station_path(opens, station),
                format!("a {} cannot open a line of generic machines", station.tag()),
                "begin with a machine, or with arrivals and then a machine or a table",
            ),
            None => self.findings.error(
                &Path::default().key("stations"),
                "nothing follows the arrivals",
                "add a machine",
            ),
        }
        let ends_well = matches!(
            stations[last],
            StationSpec::Machine(_)
                | StationSpec::CasePacker(_)
                | StationSpec::MetalDetector(_)
                | StationSpec::XRay(_)
                | StationSpec::LeakTest(_)
                | StationSpec::Arrivals(_)
                | StationSpec::Checkweigher(_)
        );
        if !ends_well {
            self.findings.error(
                &station_path(last, &stations[last]),
                format!("a {} cannot end the line", stations[last].tag()),
                "what leaves the last station is out at once: end with a machine, a gate or a case_packer",
            );
        }
        if !stations.iter().any(|station| matches!(station, StationSpec::Machine(_))) {
            self.findings.error(
                &Path::default().key("stations"),
                "no machine is in the line",
                format!("a full line begins with {}; any other needs a machine", HEAD.join(", ")),
            );
        }
    }
}

fn is_of_full_line(tag: &str) -> bool {
    HEAD.contains(&tag) && tag != "accumulating_belt"
}
