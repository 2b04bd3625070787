//! The stations one by one, except the former and the gates.

use super::distribution::Use;
use super::{Checker, station_path};
use crate::defaults;
use crate::line::MICROGRAMS_PER_GRAM;
use crate::problem::Path;
use crate::spec::share::CapacitySpec;
use crate::spec::station::{
    AccumulatorSpec, BulkSupplySpec, CasePackerSpec, LeaveOrderSpec, LoaderSpec, PickRobotSpec,
    PortionerSpec, RigidBeltSpec, StationSpec, WeightSpec, WhenFullSpec,
};
use crate::station::{
    Accumulator, Arrivals, BulkSupply, CasePacker, Drift, Feedback, LeaveOrder, Loader, Machine, PickRobot,
    PortionWeight, Portioner, RigidBelt, Station, StationKind, UNLIMITED, WhenFull,
};
use crate::time::Span;

impl Checker<'_> {
    pub(super) fn station(&mut self, place: usize, spec: &StationSpec) -> Station {
        let path = station_path(place, spec);
        let common = spec.common();
        let kind = self.kind(place, spec, &path);
        let response_s =
            common.response.map(|response| self.times(response, Use::Duration, &path.key("response")));
        Station {
            id: common.id.to_owned(),
            kind,
            stops: self.stops(place, spec, &path),
            response_s,
            call_priority: common.call_priority.unwrap_or(place as u32),
            speed_control: common
                .speed_control
                .and_then(|control| self.speed_control(control, spec, &path.key("speed_control"))),
            supplier: common.supplier.map(str::to_owned),
        }
    }

    fn kind(&mut self, place: usize, spec: &StationSpec, path: &Path) -> StationKind {
        match spec {
            StationSpec::BulkSupply(supply) => StationKind::BulkSupply(self.bulk_supply(supply, path)),
            StationSpec::Portioner(portioner) => StationKind::Portioner(self.portioner(portioner, path)),
            StationSpec::AccumulatingBelt(belt) => {
                StationKind::Accumulator(self.accumulator(belt, true, path))
            }
            StationSpec::AccumulatingTable(table) => {
                StationKind::Accumulator(self.accumulator(table, false, path))
            }
            StationSpec::Loader(loader) => StationKind::Loader(self.loader(loader, path)),
            StationSpec::Former(former) => {
                StationKind::Former(Box::new(self.former(former, self.loader_before(place), path)))
            }
            StationSpec::PickRobot(robot) => StationKind::PickRobot(self.pick_robot(robot, path)),
            StationSpec::RigidBelt(belt) => StationKind::RigidBelt(self.rigid_belt(belt, path)),
            StationSpec::Checkweigher(_)
            | StationSpec::MetalDetector(_)
            | StationSpec::XRay(_)
            | StationSpec::LeakTest(_) => StationKind::Gate(self.gate(spec, path)),
            StationSpec::CasePacker(packer) => StationKind::CasePacker(self.case_packer(packer, path)),
            StationSpec::Machine(machine) => StationKind::Machine(Machine {
                process_s: self.times(&machine.process, Use::Between, &path.key("process")),
                holds_in_stops: machine.holds_in_stops.unwrap_or(false),
            }),
            StationSpec::Arrivals(arrivals) => StationKind::Arrivals(Arrivals {
                between_s: self.times(&arrivals.between, Use::Between, &path.key("between")),
                when_full: match arrivals.when_full {
                    None | Some(WhenFullSpec::Wait) => WhenFull::Wait,
                    Some(WhenFullSpec::Lost) => WhenFull::Lost,
                },
            }),
        }
    }

    fn loader_before(&self, place: usize) -> Option<LoaderSpec> {
        self.spec.stations[..place].iter().find_map(|station| match station {
            StationSpec::Loader(loader) => Some(loader.clone()),
            _ => None,
        })
    }

    fn bulk_supply(&mut self, spec: &BulkSupplySpec, path: &Path) -> BulkSupply {
        let batch_g = self.mass(spec.batch, &path.key("batch"));
        let hopper_g = self.mass(spec.hopper, &path.key("hopper"));
        if batch_g > hopper_g {
            self.findings.error(
                &path.key("batch"),
                format!("a batch of {} never fits into the hopper of {}", spec.batch, spec.hopper),
                "the hopper must hold at least a batch",
            );
        }
        let portion_g = self.spec.stations.iter().find_map(|station| match station {
            StationSpec::Portioner(portioner) => Some(portioner.weight.mean.value()),
            _ => None,
        });
        if portion_g.is_some_and(|portion_g| hopper_g < portion_g) {
            self.findings.error(
                &path.key("hopper"),
                format!("a hopper of {} never holds a portion", spec.hopper),
                "it must hold at least the mean portion",
            );
        }
        BulkSupply {
            batch_ug: micrograms(batch_g),
            hopper_ug: micrograms(hopper_g),
            preparation_s: self.times(&spec.preparation, Use::Duration, &path.key("preparation")),
        }
    }

    fn portioner(&mut self, spec: &PortionerSpec, path: &Path) -> Portioner {
        Portioner {
            rate_per_min: self.rate(spec.rate, &path.key("rate")),
            weight: self.weight(&spec.weight, &path.key("weight")),
        }
    }

    fn weight(&mut self, spec: &WeightSpec, path: &Path) -> PortionWeight {
        let mean_g = self.mass(spec.mean, &path.key("mean"));
        if mean_g > 0.0 && mean_g < 1.0 {
            self.findings.error(
                &path.key("mean"),
                format!("a mean portion of {} is below 1 g", spec.mean),
                "no portion is ever cut below 1 g",
            );
        }
        let drift = spec.drift.as_ref().map(|drift| {
            let path = path.key("drift");
            Drift {
                sd_g: self.spread(drift.sd, &path.key("sd")),
                correlation_time: self.positive_time(drift.correlation_time, &path.key("correlation_time")),
            }
        });
        let feedback = spec.feedback.as_ref().map(|feedback| {
            let path = path.key("feedback");
            let lowest_g = self.any_mass(feedback.lowest, &path.key("lowest"));
            let highest_g = self.any_mass(feedback.highest, &path.key("highest"));
            if lowest_g > 0.0 || highest_g < 0.0 {
                self.findings.error(
                    &path.key(if lowest_g > 0.0 { "lowest" } else { "highest" }),
                    "no correction lies outside the limits",
                    "lowest is 0 or below and highest 0 or above, as in \"-6 g\" and \"6 g\"",
                );
            } else if mean_g + lowest_g < 1.0 {
                self.findings.error(
                    &path.key("lowest"),
                    format!("a correction of {} leaves less than 1 g of a portion", feedback.lowest),
                    "bring it closer to 0",
                );
            }
            let gain = feedback.gain.value();
            if gain <= 0.0 || gain > 10.0 {
                self.findings.error(
                    &path.key("gain"),
                    format!("a gain of {gain} is impossible"),
                    "it is the share of the deviation that is taken off: above 0, and at most 10",
                );
            }
            let pack_g = mean_g * f64::from(self.portions_per_pack);
            Feedback {
                from: self.feedback_source(&feedback.from, &path.key("from")),
                every_packs: self.count(
                    feedback.every_packs,
                    1,
                    crate::spec::typed::LARGEST_COUNT,
                    &path.key("every_packs"),
                ),
                gain,
                target_g: feedback.target.map_or(pack_g, |target| self.mass(target, &path.key("target"))),
                lowest_g,
                highest_g,
                count_rejects: feedback.count_rejects.unwrap_or(true),
            }
        });
        PortionWeight {
            mean_g,
            sd_g: self.spread(spec.sd, &path.key("sd")),
            sd_batch_g: spec.sd_batch.map_or(0.0, |sd| self.spread(sd, &path.key("sd_batch"))),
            drift,
            feedback,
        }
    }

    fn accumulator(&mut self, spec: &AccumulatorSpec, is_belt: bool, path: &Path) -> Accumulator {
        let capacity = match spec.capacity {
            CapacitySpec::Unlimited => UNLIMITED,
            CapacitySpec::Pieces(pieces) => {
                self.count(pieces, 0, defaults::LARGEST_CAPACITY, &path.key("capacity"))
            }
        };
        let length_m = spec.length.map(|length| self.length(length, &path.key("length")));
        let speed_m_s = spec.speed.map(|speed| self.speed(speed, &path.key("speed")));
        let pitch_m = spec.pitch.map(|pitch| self.length(pitch, &path.key("pitch")));
        let stated = spec.transit.map(|transit| self.time(transit, &path.key("transit")));
        let transit = match (stated, length_m, speed_m_s) {
            (Some(_), Some(_), _) => {
                self.findings.error(
                    &path.key("transit"),
                    "the transit time is given, and by length and speed as well",
                    "keep one of the two",
                );
                Span::ZERO
            }
            (Some(transit), None, _) => transit,
            (None, Some(length_m), Some(speed_m_s)) => self.passage(length_m, speed_m_s, &path.key("length")),
            (None, _, _) => {
                self.findings.error(
                    path,
                    "the transit time is missing",
                    "give \"transit\": \"4 s\", or \"length\" and \"speed\"",
                );
                Span::ZERO
            }
        };
        let release = match (spec.release, pitch_m, speed_m_s) {
            (Some(_), Some(_), _) => {
                self.findings.error(
                    &path.key("release"),
                    "the release is given, and by the pitch as well",
                    "keep one of the two",
                );
                Span::ZERO
            }
            (Some(release), None, _) => self.time(release, &path.key("release")),
            (None, Some(pitch_m), Some(speed_m_s)) => self.passage(pitch_m, speed_m_s, &path.key("pitch")),
            (None, Some(_), None) => {
                self.findings.error(
                    &path.key("pitch"),
                    "a pitch without a speed says nothing about time",
                    "add \"speed\", or give \"release\" as a time",
                );
                Span::ZERO
            }
            (None, None, _) => Span::ZERO,
        };
        if let Some(restart_at) = spec.restart_at
            && restart_at >= capacity
        {
            self.findings.error(
                &path.key("restart_at"),
                format!("{restart_at} is not below the capacity"),
                "once full, none is taken until the content is down to restart_at",
            );
        }
        Accumulator {
            is_belt,
            transit,
            capacity,
            release,
            order: match spec.order {
                None | Some(LeaveOrderSpec::FirstInFirstOut) => LeaveOrder::FirstInFirstOut,
                Some(LeaveOrderSpec::LastInFirstOut) => LeaveOrder::LastInFirstOut,
            },
            restart_at: spec.restart_at,
        }
    }

    fn loader(&mut self, spec: &LoaderSpec, path: &Path) -> Loader {
        let most = defaults::MOST_LANES_OR_ROWS;
        Loader {
            lanes: self.count(spec.lanes, 1, most, &path.key("lanes")),
            array_rows: self.count(spec.array_rows, 1, most, &path.key("array_rows")),
            take: spec.take.map_or(Span::ZERO, |take| self.time(take, &path.key("take"))),
            file_transfer: self.time(spec.file_transfer, &path.key("file_transfer")),
            traverse: self.time(spec.traverse, &path.key("traverse")),
            load: self.time(spec.load, &path.key("load")),
            return_: self.time(spec.return_, &path.key("return")),
            indexes_per_array: self.count(spec.indexes_per_array, 1, most, &path.key("indexes_per_array")),
            loads_per_zone: spec
                .loads_per_zone
                .map_or(1, |loads| self.count(loads, 1, most, &path.key("loads_per_zone"))),
            open_time_limit: spec
                .open_time_limit
                .map(|limit| self.positive_time(limit, &path.key("open_time_limit"))),
        }
    }

    fn pick_robot(&mut self, spec: &PickRobotSpec, path: &Path) -> PickRobot {
        let gripper_path = path.key("gripper");
        let most = defaults::MOST_LANES_OR_ROWS * defaults::MOST_LANES_OR_ROWS;
        self.count(spec.gripper, 1, most, &gripper_path);
        let pockets = self.spec.stations.iter().find_map(|station| match station {
            StationSpec::Former(former) => Some(u64::from(former.lanes) * u64::from(former.rows_per_index)),
            _ => None,
        });
        if let Some(pockets) = pockets
            && (1..=u64::from(most)).contains(&pockets)
            && spec.gripper > 0
            && !pockets.is_multiple_of(u64::from(spec.gripper))
        {
            self.findings.error(
                &gripper_path,
                format!("a gripper of {} does not divide a frame of {pockets} pockets", spec.gripper),
                format!("use one of {}", divisors(pockets)),
            );
        }
        PickRobot {
            gripper: spec.gripper,
            pick_s: self.times(&spec.pick, Use::Duration, &path.key("pick")),
            place_s: self.times(&spec.place, Use::Duration, &path.key("place")),
            drop_probability: self.probability_or_none(spec.drop_probability, &path.key("drop_probability")),
        }
    }

    fn rigid_belt(&mut self, spec: &RigidBeltSpec, path: &Path) -> RigidBelt {
        let belt = RigidBelt {
            length_m: self.length(spec.length, &path.key("length")),
            speed_m_s: self.speed(spec.speed, &path.key("speed")),
            pitch_m: self.length(spec.pitch, &path.key("pitch")),
        };
        if belt.pitch_m > belt.length_m {
            self.findings.error(
                &path.key("pitch"),
                format!("a pitch of {} is longer than the belt of {}", spec.pitch, spec.length),
                "the belt must hold at least one pack",
            );
        }
        self.passage(belt.length_m, belt.speed_m_s, &path.key("length"));
        belt
    }

    fn case_packer(&mut self, spec: &CasePackerSpec, path: &Path) -> CasePacker {
        let most = defaults::LARGEST_CAPACITY;
        if spec.packs_per_case > spec.lane_packs {
            self.findings.error(
                &path.key("lane_packs"),
                format!("a lane of {} never holds a case of {}", spec.lane_packs, spec.packs_per_case),
                "the lane must hold at least a case",
            );
        }
        CasePacker {
            packs_per_case: self.count(spec.packs_per_case, 1, most, &path.key("packs_per_case")),
            lane_packs: self.count(spec.lane_packs, 1, most, &path.key("lane_packs")),
            cycle: self.positive_time(spec.cycle, &path.key("cycle")),
        }
    }
}

/// Grams as whole micrograms; what is negative or unknown is 0.
fn micrograms(grams: f64) -> u64 {
    (grams * MICROGRAMS_PER_GRAM).round() as u64
}

/// "1, 2, 4 or 8".
fn divisors(number: u64) -> String {
    let all: Vec<String> =
        (1..=number).filter(|d| number.is_multiple_of(*d)).map(|d| d.to_string()).collect();
    match all.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => String::new(),
    }
}
