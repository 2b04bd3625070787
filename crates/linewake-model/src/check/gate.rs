//! In-line gates: weighing, what they look for, fail-safes, challenge.

use super::distribution::Use;
use super::names::fixed_reason;
use super::{Checker, defaults};
use crate::problem::Path;
use crate::spec::gate::{ChallengeSpec, CheckweigherSpec, CommonGateSpec, FailSafeSpec, FindSpec};
use crate::spec::share::ShareSpec;
use crate::spec::station::StationSpec;
use crate::station::{Challenge, FailSafe, Find, Gate, GateKind, Weigher};
use crate::stop::Reason;

/// Defects that are made before a gate and not tagged, so that a gate can meet them.
const FOUND_BY_GATES: [Reason; 4] =
    [Reason::MISPRINT, Reason::LABEL_MISSING, Reason::LEAK, Reason::CONTAMINATED];

impl Checker<'_> {
    pub(super) fn gate(&mut self, station: &StationSpec, path: &Path) -> Gate {
        match station {
            StationSpec::Checkweigher(spec) => {
                let weigher = Some(self.weigher(spec, path));
                self.gate_of(GateKind::Checkweigher, spec.gate(), weigher, None, path)
            }
            StationSpec::MetalDetector(spec) => {
                let own = Some((Reason::CONTAMINATED, spec.sensitivity));
                self.gate_of(GateKind::MetalDetector, spec.gate(), None, own, path)
            }
            StationSpec::XRay(spec) => {
                let own = Some((Reason::CONTAMINATED, spec.sensitivity));
                self.gate_of(GateKind::XRay, spec.gate(), None, own, path)
            }
            StationSpec::LeakTest(spec) => self.gate_of(
                GateKind::LeakTest,
                spec.gate(),
                None,
                Some((Reason::LEAK, spec.sensitivity)),
                path,
            ),
            _ => unreachable!("called for gates only"),
        }
    }

    fn gate_of(
        &mut self,
        kind: GateKind,
        spec: CommonGateSpec<'_>,
        weigher: Option<Weigher>,
        own: Option<(Reason, ShareSpec)>,
        path: &Path,
    ) -> Gate {
        let mut finds: Vec<Find> = Vec::new();
        if let Some((defect, sensitivity)) = own {
            let probability = self.probability(sensitivity, &path.key("sensitivity"));
            finds.push(Find { defect, probability });
        }
        self.further_finds(spec.finds, &mut finds, &path.key("finds"));
        Gate {
            kind,
            max_rate_per_min: self.rate(spec.max_rate, &path.key("max_rate")),
            weigher,
            finds,
            false_reject: self.probability_or_none(spec.false_reject, &path.key("false_reject")),
            rejects_in_row: spec
                .rejects_in_row
                .map(|fail_safe| self.fail_safe(fail_safe, &path.key("rejects_in_row"))),
            bin_full: spec.bin_full.map(|fail_safe| self.fail_safe(fail_safe, &path.key("bin_full"))),
            challenge: spec.challenge.map(|challenge| self.challenge(challenge, &path.key("challenge"))),
        }
    }

    fn weigher(&mut self, spec: &CheckweigherSpec, path: &Path) -> Weigher {
        let low_g = spec.low.map(|low| self.mass(low, &path.key("low")));
        let high_g = spec.high.map(|high| self.mass(high, &path.key("high")));
        if let (Some(low), Some(high)) = (spec.low, spec.high)
            && low.value() >= high.value()
        {
            self.findings.error(
                &path.key("low"),
                format!("the low limit of {low} is not below the high one of {high}"),
                "packs between the two are passed",
            );
        }
        Weigher { sd_g: self.spread(spec.sd_weigh, &path.key("sd_weigh")), low_g, high_g }
    }

    fn further_finds(&mut self, specs: &[FindSpec], finds: &mut Vec<Find>, root: &Path) {
        for (place, spec) in specs.iter().enumerate() {
            let path = root.element(place);
            let probability = self.probability(spec.probability, &path.key("probability"));
            let path = path.key("defect");
            let Some(defect) = self.defect(&spec.defect, &path) else { continue };
            if finds.iter().any(|before| before.defect == defect) {
                self.findings.error(
                    &path,
                    format!("this gate looks for {} twice", spec.defect),
                    "a metal detector or X-ray looks for contaminated and a leak test for leak by its sensitivity",
                );
            }
            finds.push(Find { defect, probability });
        }
    }

    /// A defect that a gate can look for.
    fn defect(&mut self, name: &str, path: &Path) -> Option<Reason> {
        let own = self.spec.defects.as_deref().unwrap_or_default();
        if own.iter().any(|defect| defect.name == name) {
            return Some(self.reason(name, path));
        }
        let fixed = fixed_reason(name);
        if let Some(defect) = fixed
            && FOUND_BY_GATES.contains(&defect)
        {
            return Some(defect);
        }
        let mut known = vec!["misprint", "label_missing", "leak", "contaminated"];
        known.extend(own.iter().map(|defect| defect.name.as_str()));
        let what = match fixed {
            Some(Reason::UNDERWEIGHT | Reason::OVERWEIGHT) => {
                format!("{name} is found by weighing: by the low and high limits of a checkweigher")
            }
            Some(Reason::HELD_IN_SEAL | Reason::AGED | Reason::FIRST_OFF | Reason::DROPPED) => {
                format!("{name} never reaches a gate: such packs leave at the pick robot")
            }
            _ => format!("no pack has a defect \"{name}\""),
        };
        self.findings.error(path, what, crate::spec::suggest::hint(name, &known));
        None
    }

    fn fail_safe(&mut self, spec: &FailSafeSpec, path: &Path) -> FailSafe {
        self.attended.get_or_insert_with(|| path.clone());
        FailSafe {
            count: self.count(spec.rejects, 1, defaults::LARGEST_CAPACITY, &path.key("rejects")),
            duration_s: self.times(&spec.duration, Use::Duration, &path.key("duration")),
        }
    }

    fn challenge(&mut self, spec: &ChallengeSpec, path: &Path) -> Challenge {
        let interval = self.positive_time(spec.interval, &path.key("interval"));
        let duration_s = self.times(&spec.duration, Use::Duration, &path.key("duration"));
        if interval.0 > 0 && interval.seconds() < defaults::SHORTEST_INTERVAL_S {
            self.findings.error(
                &path.key("interval"),
                format!("\"{}\" is too short an interval", spec.interval),
                format!("at least {} s", defaults::SHORTEST_INTERVAL_S),
            );
        } else if duration_s.mean() >= interval.seconds() && interval.0 > 0 {
            self.findings.error(
                &path.key("duration"),
                format!(
                    "a challenge takes {:.0} s on average and is due every {interval}",
                    duration_s.mean()
                ),
                "the gate would do nothing else: shorten it, or make the interval longer",
            );
        }
        let in_planned_production_time = spec.in_planned_production_time.unwrap_or(true);
        Challenge { interval, duration_s, in_planned_production_time }
    }
}
