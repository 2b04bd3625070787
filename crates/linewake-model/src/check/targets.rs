//! Ids that name another station: constraint, watched belt or table, checkweigher of the feedback.

use super::{Checker, defaults, station_path};
use crate::line::{Line, StationIndex};
use crate::problem::Path;
use crate::spec::share::CapacitySpec;
use crate::spec::station::{SpeedControlSpec, StationSpec};
use crate::spec::suggest;
use crate::station::{SpeedControl, SpeedStep, Station, StationKind};

impl Checker<'_> {
    /// The station of that id, or an error with the nearest id.
    fn target(
        &mut self,
        id: &str,
        fits: fn(&StationSpec) -> bool,
        what: &str,
        path: &Path,
    ) -> Option<StationIndex> {
        let stations = &self.spec.stations;
        let fitting: Vec<&str> =
            stations.iter().filter(|station| fits(station)).map(|station| station.common().id).collect();
        match stations.iter().position(|station| station.common().id == id) {
            Some(place) if fits(&stations[place]) => Some(place),
            Some(place) => {
                let tag = stations[place].tag();
                let hint = if fitting.is_empty() {
                    format!("the line has no {what}")
                } else {
                    format!("name one of {}", fitting.join(", "))
                };
                self.findings.error(path, format!("\"{id}\" is a {tag}, and a {what} is due here"), hint);
                None
            }
            None => {
                self.findings.error(
                    path,
                    format!("no station is called \"{id}\""),
                    suggest::hint(id, &fitting),
                );
                None
            }
        }
    }

    pub(super) fn feedback_source(&mut self, id: &str, path: &Path) -> StationIndex {
        let is_weigher = |station: &StationSpec| matches!(station, StationSpec::Checkweigher(_));
        self.target(id, is_weigher, "checkweigher", path).unwrap_or(0)
    }

    /// The station on which the OEE is judged.
    pub(super) fn constraint(&mut self, stations: &[Station]) -> StationIndex {
        let path = Path::default().key("constraint");
        if let Some(id) = &self.spec.constraint {
            let works = |station: &StationSpec| {
                !matches!(
                    station,
                    StationSpec::BulkSupply(_)
                        | StationSpec::Arrivals(_)
                        | StationSpec::AccumulatingBelt(_)
                        | StationSpec::AccumulatingTable(_)
                        | StationSpec::RigidBelt(_)
                )
            };
            return self.target(id, works, "station that works on pieces", &path).unwrap_or(0);
        }
        let former = stations.iter().position(|station| matches!(station.kind, StationKind::Former(_)));
        if let Some(former) = former {
            return former;
        }
        let mut slowest: Vec<StationIndex> = Vec::new();
        let mean = |place: StationIndex| match &stations[place].kind {
            StationKind::Machine(machine) => machine.process_s.mean(),
            _ => 0.0,
        };
        for (place, station) in stations.iter().enumerate() {
            if !matches!(station.kind, StationKind::Machine(_)) {
                continue;
            }
            match slowest.first().map(|first| mean(place).total_cmp(&mean(*first))) {
                Some(std::cmp::Ordering::Less) => {}
                Some(std::cmp::Ordering::Equal) => slowest.push(place),
                Some(std::cmp::Ordering::Greater) | None => slowest = vec![place],
            }
        }
        match slowest.as_slice() {
            [one] => *one,
            [] => 0, // no machine at all: reported by the composition
            several if mean(several[0]).is_nan() => several[0], // reported already
            several => {
                let ids: Vec<&str> = several.iter().map(|place| stations[*place].id.as_str()).collect();
                self.findings.error(
                    &path,
                    format!(
                        "{} are equally slow, so none of them is the constraint by itself",
                        ids.join(", ")
                    ),
                    format!("name the one on which the OEE is judged, as in \"constraint\": \"{}\"", ids[0]),
                );
                several[0]
            }
        }
    }

    pub(super) fn speed_control(
        &mut self,
        spec: &SpeedControlSpec,
        station: &StationSpec,
        path: &Path,
    ) -> Option<SpeedControl> {
        match station {
            StationSpec::BulkSupply(_) | StationSpec::Arrivals(_) => {
                self.findings.error(
                    path,
                    format!("a {} has no speed", station.tag()),
                    "control the speed of a station that works on pieces, or of a belt",
                );
            }
            StationSpec::Former(former) if former.max_cycles.is_none() => self.findings.error(
                path,
                "the speed of a former is its cycle cap, and this one has none",
                "add \"max_cycles\": dwell and advance keep their times at any speed",
            ),
            _ => {}
        }
        let has_content = |station: &StationSpec| {
            matches!(
                station,
                StationSpec::AccumulatingBelt(_)
                    | StationSpec::AccumulatingTable(_)
                    | StationSpec::RigidBelt(_)
            )
        };
        let watch = self.target(&spec.watch, has_content, "belt or table", &path.key("watch"));
        let capacity = watch.and_then(|place| match &self.spec.stations[place] {
            StationSpec::AccumulatingBelt(watched) | StationSpec::AccumulatingTable(watched) => {
                match watched.capacity {
                    CapacitySpec::Pieces(pieces) => Some(pieces),
                    CapacitySpec::Unlimited => None,
                }
            }
            _ => None,
        });
        let steps = self.speed_steps(spec, capacity, &path.key("steps"));
        watch.map(|watch| SpeedControl { watch, steps })
    }

    fn speed_steps(&mut self, spec: &SpeedControlSpec, capacity: Option<u32>, root: &Path) -> Vec<SpeedStep> {
        if spec.steps.len() < 2 {
            self.findings.error(
                root,
                "one speed is no control",
                "list at least two steps, from low content to high",
            );
        }
        let mut steps: Vec<SpeedStep> = Vec::new();
        for (place, step) in spec.steps.iter().enumerate() {
            let path = root.element(place);
            let share = step.speed.value();
            if share <= 0.0 {
                self.findings.error(
                    &path.key("speed"),
                    format!("a speed of {share} is a stop"),
                    "a step is a share of the set speed above 0, as in \"80 %\"",
                );
            } else if share < defaults::SMALLEST_SPEED_SHARE {
                self.findings.error(
                    &path.key("speed"),
                    format!("a speed of {share} times the set speed is too slow"),
                    format!("at least {}", defaults::SMALLEST_SPEED_SHARE),
                );
            } else if share > defaults::LARGEST_SPEED_SHARE {
                self.findings.error(
                    &path.key("speed"),
                    format!("a speed of {share} times the set speed is too fast"),
                    format!("write \"{share} %\" if per cent are meant"),
                );
            }
            let (enter_at, leave_at) = match (place, step.enter_at, step.leave_at) {
                (0, None, None) => (0, 0),
                (0, _, _) => {
                    self.findings.error(
                        &path,
                        "the first step is neither entered nor left: the run starts in it",
                        "leave enter_at and leave_at out of it",
                    );
                    (0, 0)
                }
                (_, Some(enter_at), Some(leave_at)) => (enter_at, leave_at),
                _ => {
                    self.findings.error(
                        &path,
                        "the step does not say when it is entered and left",
                        "add enter_at and leave_at",
                    );
                    continue;
                }
            };
            if let Some(before) = steps.last() {
                if leave_at >= enter_at {
                    self.findings.error(
                        &path.key("leave_at"),
                        format!("the step is left at {leave_at} and entered at {enter_at}"),
                        "leave_at must be below enter_at, or the speed would flicker",
                    );
                } else if enter_at <= before.enter_at || leave_at < before.leave_at {
                    self.findings.error(
                        &path.key("enter_at"),
                        "the thresholds do not rise from step to step",
                        "list the steps from low content to high",
                    );
                } else if capacity.is_some_and(|capacity| enter_at > capacity) {
                    self.findings.error(
                        &path.key("enter_at"),
                        format!("the content never rises to {enter_at}"),
                        format!("the capacity is {}", capacity.unwrap_or(0)),
                    );
                }
            }
            steps.push(SpeedStep { share, enter_at, leave_at });
        }
        steps
    }

    /// Rules that need the whole line.
    pub(super) fn across_stations(&mut self, line: &Line) {
        for (place, (station, spec)) in line.stations.iter().zip(&self.spec.stations).enumerate() {
            if let StationKind::Gate(gate) = &station.kind
                && gate.challenge.as_ref().is_some_and(|challenge| !challenge.in_planned_production_time)
                && place != line.constraint
            {
                let path = station_path(place, spec).key("challenge").key("in_planned_production_time");
                self.findings.error(
                    &path,
                    "a challenge of a gate that is not the constraint cannot be left out of planned production time",
                    "only breaks and planned stops of the constraint itself can: take the key away",
                );
            }
        }
    }
}
