//! Warnings: models that can be run and do perhaps not say what was meant.

use super::{Checker, former, station_path};
use crate::line::{CallOrder, Line};
use crate::problem::Path;
use crate::station::{GateKind, Station, StationKind, UNLIMITED};
use crate::stop::Reason;

impl Checker<'_> {
    /// Called for a line without errors only.
    pub(super) fn warnings(&mut self, line: &Line) {
        let packs_per_min = line_rate(line, self.portions_per_pack);
        self.design_rate(line);
        self.throttles(line, packs_per_min);
        self.unused(line);
        self.never_found(line);
        self.weights(line);
    }

    /// The design rate should be one that the constraint can reach.
    fn design_rate(&mut self, line: &Line) {
        let constraint = &line.stations[line.constraint];
        let Some(best) = packs_per_min(constraint, self.portions_per_pack) else { return };
        if line.design_rate_per_min > best * 1.0005 {
            self.findings.warning(
                &Path::default().key("design_rate"),
                format!("{} can do no more than {best:.1} packs/min", constraint.id),
                "a design rate above it makes performance look worse than it is",
            );
        }
    }

    /// A belt or table that cannot pass on what the line makes.
    fn throttles(&mut self, line: &Line, packs_per_min: f64) {
        for (place, station) in line.stations.iter().enumerate() {
            let StationKind::Accumulator(table) = &station.kind else { continue };
            // Before the loader pieces are portions, and a pack takes several of them.
            let feeds_loader =
                line.stations[place..].iter().any(|later| matches!(later.kind, StationKind::Loader(_)));
            let needed =
                if feeds_loader { packs_per_min * f64::from(self.portions_per_pack) } else { packs_per_min };
            let path = station_path(place, &self.spec.stations[place]);
            if table.capacity > 0 && table.capacity != UNLIMITED && table.transit.0 > 0 {
                let most = f64::from(table.capacity) * 60.0 / table.transit.seconds();
                if most < needed {
                    self.findings.warning(
                        &path.key("capacity"),
                        format!(
                            "{} pieces in transit for {} let through no more than {most:.1}/min",
                            table.capacity, table.transit
                        ),
                        format!("the line makes {needed:.1}/min: it throttles"),
                    );
                }
            }
            if table.release.0 > 0 && 60.0 / table.release.seconds() < needed {
                self.findings.warning(
                    &path,
                    format!("pieces leave no closer than {}", table.release),
                    format!("the line makes {needed:.1}/min: it throttles"),
                );
            }
        }
    }

    /// What is given and has no effect.
    fn unused(&mut self, line: &Line) {
        let root = Path::default();
        if self.spec.crew.is_some() && self.attended.is_none() {
            self.findings.warning(
                &root.key("crew"),
                "no stop needs the crew",
                "set \"attended\": true where one does",
            );
        }
        if line.short_stop_limit > line.shift.length {
            self.findings.warning(
                &root.key("short_stop_limit"),
                "it is longer than the shift",
                "no stop can count against availability",
            );
        }
        for (place, spec) in self.spec.stations.iter().enumerate() {
            let path = station_path(place, spec);
            if spec.common().call_priority.is_some() && line.crew.order == CallOrder::FirstCome {
                self.findings.warning(
                    &path.key("call_priority"),
                    "calls are served first come, first served",
                    "set \"order\": \"station_priority\" in the crew",
                );
            }
            let stops = spec.common().stops;
            for (number, stop) in stops.iter().enumerate() {
                let Some(group) = &stop.group else { continue };
                if stops.iter().filter(|other| other.group.as_ref() == Some(group)).count() == 1 {
                    self.findings.warning(
                        &path.key("stops").element(number).key("group"),
                        format!("no other stop of this station is in group \"{group}\""),
                        "a group joins the stops of one station",
                    );
                }
            }
            if let crate::spec::station::StationSpec::Former(former) = spec
                && former.positions.print_inspection.is_some()
                && former.vision.is_none()
            {
                self.findings.warning(
                    &path.key("positions").key("print_inspection"),
                    "nothing inspects there",
                    "add \"vision\", or take the position away",
                );
            }
        }
    }

    /// A gate that looks for what no pack has.
    fn never_found(&mut self, line: &Line) {
        let former = line.stations.iter().find_map(|station| match &station.kind {
            StationKind::Former(former) => Some(former),
            _ => None,
        });
        let arises = |defect: Reason| match (defect, former) {
            (Reason::MISPRINT, Some(former)) => former.printer.is_some(),
            (Reason::LABEL_MISSING, Some(former)) => former.label_missing_probability > 0.0,
            (Reason::LEAK, Some(former)) => former.leak_probability > 0.0,
            (Reason::CONTAMINATED, Some(former)) => former.contaminated_probability > 0.0,
            (Reason::MISPRINT | Reason::LABEL_MISSING | Reason::LEAK | Reason::CONTAMINATED, None) => false,
            _ => true,
        };
        for (place, station) in line.stations.iter().enumerate() {
            let StationKind::Gate(gate) = &station.kind else { continue };
            let path = station_path(place, &self.spec.stations[place]);
            let own = usize::from(gate.kind != GateKind::Checkweigher);
            for (number, find) in gate.finds.iter().enumerate().filter(|(_, find)| !arises(find.defect)) {
                let path = match number.checked_sub(own) {
                    Some(further) => path.key("finds").element(further),
                    None => path.key("sensitivity"),
                };
                let defect = line.reason(find.defect);
                self.findings.warning(
                    &path,
                    format!("the gate looks for {defect}, and no pack of this line has it"),
                    "give the former a probability of it, or mean the false rejects only",
                );
            }
        }
    }

    /// Limits of a checkweigher beside the mean pack; feedback that overshoots.
    fn weights(&mut self, line: &Line) {
        let portion = line.stations.iter().enumerate().find_map(|(place, station)| match &station.kind {
            StationKind::Portioner(portioner) => Some((place, &portioner.weight)),
            _ => None,
        });
        let Some((at, weight)) = portion else { return };
        let pack_g = weight.mean_g * f64::from(self.portions_per_pack);
        if let Some(feedback) = &weight.feedback
            && feedback.gain * f64::from(self.portions_per_pack) >= 2.0
        {
            let path = station_path(at, &self.spec.stations[at]).key("weight").key("feedback").key("gain");
            self.findings.warning(
                &path,
                format!("a gain of {} overshoots by more than it corrects", feedback.gain),
                "stay below 2 over the portions in a pack; 0.3 to 0.7 is usual",
            );
        }
        for (place, station) in line.stations.iter().enumerate() {
            let StationKind::Gate(gate) = &station.kind else { continue };
            let Some(weigher) = gate.weigher else { continue };
            let path = station_path(place, &self.spec.stations[place]);
            if weigher.low_g.is_some_and(|low| low >= pack_g) {
                let what =
                    format!("half of all packs and more lie under it: they weigh {pack_g:.1} g on average");
                self.findings.warning(&path.key("low"), what, "lower it, or raise the portion");
            }
            if weigher.high_g.is_some_and(|high| high <= pack_g) {
                let what =
                    format!("half of all packs and more lie over it: they weigh {pack_g:.1} g on average");
                self.findings.warning(&path.key("high"), what, "raise it, or lower the portion");
            }
        }
    }
}

/// Best rate of the line in packs per minute: that of its slowest station.
fn line_rate(line: &Line, portions_per_pack: u32) -> f64 {
    line.stations
        .iter()
        .filter_map(|station| packs_per_min(station, portions_per_pack))
        .fold(f64::INFINITY, f64::min)
}

/// Best rate of one station in packs per minute, where it follows from a few of its figures.
fn packs_per_min(station: &Station, portions_per_pack: u32) -> Option<f64> {
    match &station.kind {
        StationKind::Portioner(portioner) => Some(portioner.rate_per_min / f64::from(portions_per_pack)),
        StationKind::Former(former) => {
            Some(former.pockets() as f64 * 60.0 / former::shortest_cycle(former).seconds())
        }
        StationKind::RigidBelt(belt) => Some(belt.speed_m_s / belt.pitch_m * 60.0),
        StationKind::Gate(gate) => Some(gate.max_rate_per_min),
        StationKind::CasePacker(packer) => {
            Some(f64::from(packer.packs_per_case) * 60.0 / packer.cycle.seconds())
        }
        StationKind::Machine(machine) => Some(60.0 / machine.process_s.mean()),
        StationKind::BulkSupply(_)
        | StationKind::Accumulator(_)
        | StationKind::Loader(_)
        | StationKind::PickRobot(_)
        | StationKind::Arrivals(_) => None,
    }
}
