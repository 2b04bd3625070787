//! Own stops.

use super::Checker;
use super::distribution::Use;
use crate::problem::Path;
use crate::spec::share::InitialSpec;
use crate::spec::station::StationSpec;
use crate::spec::stop::{AfterSpec, MagazineSpec, RollSpec, StopSpec};
use crate::stop::{Basis, Initial, StopMode};
use linewake_stats::distribution::Distribution;

/// The word by which what a station does is counted, and what it is; `None` if it does nothing that counts.
fn count_word(checker: &Checker<'_>, place: usize, station: &StationSpec) -> Option<&'static str> {
    match station {
        StationSpec::BulkSupply(_) | StationSpec::Former(_) => Some("cycles"),
        StationSpec::Portioner(_) => Some("portions"),
        StationSpec::Loader(_) => Some("arrays"),
        StationSpec::PickRobot(_) => Some("picks"),
        StationSpec::CasePacker(_) => Some("cases"),
        StationSpec::Machine(_) => Some("pieces"),
        StationSpec::Arrivals(_) => None,
        StationSpec::AccumulatingBelt(_)
        | StationSpec::AccumulatingTable(_)
        | StationSpec::RigidBelt(_)
        | StationSpec::Checkweigher(_)
        | StationSpec::MetalDetector(_)
        | StationSpec::XRay(_)
        | StationSpec::LeakTest(_) => {
            let after = &checker.spec.stations[place..];
            let is_infeed = after.iter().any(|station| matches!(station, StationSpec::Loader(_)));
            let is_full = checker.is_full_line();
            Some(if is_infeed {
                "portions"
            } else if is_full {
                "packs"
            } else {
                "pieces"
            })
        }
    }
}

impl Checker<'_> {
    pub(super) fn stops(&mut self, place: usize, station: &StationSpec, path: &Path) -> Vec<StopMode> {
        let specs = station.common().stops;
        let root = path.key("stops");
        if !specs.is_empty() && matches!(station, StationSpec::Arrivals(_)) {
            self.findings.error(&root, "arrivals have no stops", "give the stops to the machines");
        }
        let word = count_word(self, place, station);
        let former = self.spec.stations.iter().position(|station| matches!(station, StationSpec::Former(_)));
        let tags_packs = former.is_some_and(|former| place <= former);
        let mut groups: Vec<&str> = Vec::new();
        let mut modes: Vec<StopMode> = Vec::new();
        for (number, spec) in specs.iter().enumerate() {
            let path = root.element(number);
            let mode = self.stop(spec, word, tags_packs, &mut groups, &path);
            if modes.iter().any(|before| before.reason == mode.reason) {
                self.findings.error(
                    &path.key("reason"),
                    format!("this station has two stops \"{}\"", spec.reason),
                    "give each stop of a station a reason of its own",
                );
            }
            if mode.attended && self.attended.is_none() {
                self.attended = Some(path);
            }
            modes.push(mode);
        }
        modes
    }

    fn stop<'g>(
        &mut self,
        spec: &'g StopSpec,
        word: Option<&str>,
        tags_packs: bool,
        groups: &mut Vec<&'g str>,
        path: &Path,
    ) -> StopMode {
        let (basis, between, is_consumable) = self.after(&spec.after, word, &path.key("after"));
        let scrap_after_indexes = spec.scrap_after.unwrap_or(0);
        if scrap_after_indexes > 0 && !tags_packs {
            self.findings.error(
                &path.key("scrap_after"),
                "no pack can be tagged after a stop of this station",
                "packs are tagged on the web: use it on stations up to the former",
            );
        }
        StopMode {
            reason: self.own_reason(&spec.reason, "stop", &path.key("reason")),
            basis,
            between,
            duration_s: self.times(&spec.duration, Use::Duration, &path.key("duration")),
            attended: spec.attended,
            initial: self.initial(spec.initial, &path.key("initial")),
            scrap_after_indexes,
            group: spec.group.as_deref().map(|group| {
                let place = groups.iter().position(|known| *known == group).unwrap_or_else(|| {
                    groups.push(group);
                    groups.len() - 1
                });
                u16::try_from(place).unwrap_or(u16::MAX)
            }),
            consumable: is_consumable,
        }
    }

    /// Basis, time or count between stops, and whether it is a consumable: a count that does not vary.
    fn after(&mut self, after: &AfterSpec, word: Option<&str>, path: &Path) -> (Basis, Distribution, bool) {
        let path = path.key(after.tag());
        match after {
            AfterSpec::RunningTime(times) => {
                (Basis::RunningTime, self.times(times, Use::Between, &path), false)
            }
            AfterSpec::CalendarTime(times) => {
                (Basis::CalendarTime, self.times(times, Use::Between, &path), false)
            }
            AfterSpec::Cycles(counts)
            | AfterSpec::Portions(counts)
            | AfterSpec::Arrays(counts)
            | AfterSpec::Picks(counts)
            | AfterSpec::Packs(counts)
            | AfterSpec::Cases(counts)
            | AfterSpec::Pieces(counts) => {
                if let Some(word) = word
                    && word != after.tag()
                {
                    self.findings.error(
                        &path,
                        format!("this station does not count {}", after.tag()),
                        format!("it counts {word}"),
                    );
                }
                let between = self.counts(counts, &path);
                let is_constant = between.is_constant();
                (Basis::Count, between, is_constant)
            }
            AfterSpec::Roll(roll) => (Basis::Count, self.roll(roll, &path), true),
            AfterSpec::Magazine(magazine) => (Basis::Count, self.magazine(magazine, &path), true),
        }
    }

    /// A roll lasts as many whole cycles as its length allows.
    fn roll(&mut self, roll: &RollSpec, path: &Path) -> Distribution {
        let length_m = self.length(roll.length, &path.key("length"));
        let per_cycle_m = self.length(roll.per_cycle, &path.key("per_cycle"));
        // A billionth more, so that 640 m over 320 mm is 2000 and not the whole number below 1999.9999999999998.
        let cycles = (length_m / per_cycle_m * (1.0 + 1e-9)).floor();
        if per_cycle_m > 0.0 && cycles < 1.0 {
            self.findings.error(
                path,
                format!("a roll of {} does not last one cycle that draws {}", roll.length, roll.per_cycle),
                "the roll must be at least as long as what a cycle draws",
            );
        } else if cycles > f64::from(crate::spec::typed::LARGEST_COUNT) {
            self.findings.error(path, format!("the roll lasts {cycles} cycles"), "leave this stop out");
        }
        Distribution::Constant { value: cycles }
    }

    /// A magazine lasts as many whole cycles as its pieces allow.
    fn magazine(&mut self, magazine: &MagazineSpec, path: &Path) -> Distribution {
        if magazine.per_cycle == 0 {
            self.findings.error(
                &path.key("per_cycle"),
                "a cycle that takes nothing never empties the magazine",
                "give the pieces that a cycle takes, at least 1",
            );
            return super::distribution::UNKNOWN;
        }
        let cycles = magazine.pieces / magazine.per_cycle;
        if cycles == 0 {
            self.findings.error(
                path,
                format!("{} pieces do not last one cycle that takes {}", magazine.pieces, magazine.per_cycle),
                "the magazine must hold at least what a cycle takes",
            );
        }
        Distribution::Constant { value: f64::from(cycles) }
    }

    fn initial(&mut self, spec: Option<InitialSpec>, path: &Path) -> Initial {
        match spec {
            None => Initial::New,
            // Stated, so it stands in a shift of the long run too, in which consumables are part used otherwise.
            Some(InitialSpec::New) => Initial::Fraction(0.0),
            Some(InitialSpec::Uniform) => Initial::Uniform,
            Some(InitialSpec::Part(share)) => {
                let used = share.value();
                if !used.is_nan() && !(0.0..1.0).contains(&used) {
                    self.findings.error(
                        path,
                        format!("a used part of {used} is impossible"),
                        "it lies from 0 (new) to below 1 (used up)",
                    );
                }
                Initial::Fraction(used)
            }
        }
    }
}
