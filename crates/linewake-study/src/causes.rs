//! Everything of a line that can cost output, and how each thing is switched off.

use crate::plan::{BaseModel, Conditions};
use linewake_engine::plan::RunPlan;
use linewake_kpi::study::losses::LossKind;
use linewake_model::change::ChangeError;
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::{Gate, Station, StationKind};
use linewake_model::stop::{Basis, Reason, StopMode};
use linewake_stats::distribution::Distribution;

/// A speed limit is lifted by making the machine so many times as fast: not infinitely, so that a line of which it is the
/// only limit still takes time.
pub(crate) const FASTER: f64 = 10.0;

/// A cause that can be switched off.
#[derive(Clone, Debug)]
pub(crate) struct Cause {
    pub(crate) kind: LossKind,
    pub(crate) station: Option<StationIndex>,
    pub(crate) reason: String,
    /// What is done, in words.
    pub(crate) switched_off: String,
    off: Off,
}

/// How a cause is switched off.
#[derive(Clone, Debug)]
enum Off {
    /// A stop is not drawn.
    Stop(StationIndex, Reason),
    /// The checked line is changed.
    Line(fn(&mut Line, StationIndex)),
    /// A defect of the model's own never arises.
    OwnDefect(Reason),
    /// One value of the model, or several, are multiplied.
    Scale(Vec<(String, f64)>),
    /// A key of the model is left out.
    Remove(String),
    /// A value of the model is set.
    Set(String, String),
}

impl Cause {
    /// The line and plan without it.
    pub(crate) fn without(
        &self,
        base: &BaseModel,
        conditions: &Conditions,
    ) -> Result<(Line, RunPlan), ChangeError> {
        let mut line = base.line.clone();
        let mut switched_off = Vec::new();
        match &self.off {
            Off::Stop(station, reason) => switched_off.push((*station, *reason)),
            Off::Line(change) => change(&mut line, self.station.unwrap_or(0)),
            Off::OwnDefect(reason) => {
                let own = line.own_defects.iter_mut().filter(|defect| defect.reason == *reason);
                own.for_each(|defect| defect.probability = 0.0);
            }
            Off::Scale(values) => {
                let mut tree = base.tree.clone();
                for (path, factor) in values {
                    tree.scale(path, *factor)?;
                }
                line = tree.check()?.line;
            }
            Off::Remove(path) => {
                let mut tree = base.tree.clone();
                tree.remove(path)?;
                line = tree.check()?.line;
            }
            Off::Set(path, value) => {
                let mut tree = base.tree.clone();
                tree.set(path, value)?;
                line = tree.check()?.line;
            }
        }
        let plan = RunPlan { switched_off, ..conditions.run_plan(&line) };
        Ok((line, plan))
    }
}

/// All causes of a line, in line order.
pub(crate) fn causes_of(line: &Line) -> Vec<Cause> {
    let mut causes = Vec::new();
    for (place, station) in line.stations.iter().enumerate() {
        let mut of = CausesOf { line, place, station, causes: &mut causes };
        of.stops();
        of.fail_safes();
        of.rejects();
        of.speed_limits();
    }
    for defect in &line.own_defects {
        if defect.probability > 0.0 {
            causes.push(Cause {
                kind: LossKind::RejectCause,
                station: None,
                reason: line.reason(defect.reason).to_owned(),
                switched_off: "it never arises".to_owned(),
                off: Off::OwnDefect(defect.reason),
            });
        }
    }
    if line.stations.iter().any(|station| station.stops.iter().any(|stop| stop.attended)) {
        causes.push(Cause {
            kind: LossKind::Crew,
            station: None,
            reason: "waiting for an operator".to_owned(),
            switched_off: "as many operators as stations, each there at once".to_owned(),
            off: Off::Line(unlimited_crew),
        });
    }
    causes
}

/// A consumable: given as a roll or magazine, or as a count that is always the same.
pub(crate) fn is_consumable(stop: &StopMode) -> bool {
    stop.consumable || stop.basis == Basis::Count && stop.between.is_constant()
}

fn unlimited_crew(line: &mut Line, _: StationIndex) {
    line.crew.operators = u32::try_from(line.stations.len()).unwrap_or(u32::MAX).max(line.crew.operators);
    line.crew.response_s = Distribution::Constant { value: 0.0 };
    line.stations.iter_mut().for_each(|station| station.response_s = None);
}

struct CausesOf<'l, 'c> {
    line: &'l Line,
    place: StationIndex,
    station: &'l Station,
    causes: &'c mut Vec<Cause>,
}

impl CausesOf<'_, '_> {
    fn push(&mut self, kind: LossKind, reason: &str, switched_off: &str, off: Off) {
        self.causes.push(Cause {
            kind,
            station: Some(self.place),
            reason: reason.to_owned(),
            switched_off: switched_off.to_owned(),
            off,
        });
    }

    fn stops(&mut self) {
        for stop in &self.station.stops {
            let kind = if is_consumable(stop) { LossKind::Consumable } else { LossKind::Stop };
            let off = Off::Stop(self.place, stop.reason);
            self.push(kind, self.line.reason(stop.reason), "it never happens", off);
        }
    }

    fn fail_safe(&mut self, reason: Reason) {
        let off = Off::Stop(self.place, reason);
        self.push(LossKind::FailSafe, self.line.reason(reason), "it never stops the station", off);
    }

    fn fail_safes(&mut self) {
        match &self.station.kind {
            StationKind::Gate(gate) => {
                if gate.rejects_in_row.is_some() {
                    self.fail_safe(Reason::REJECTS_IN_ROW);
                }
                if gate.bin_full.is_some() {
                    self.fail_safe(Reason::BIN_FULL);
                }
                if gate.challenge.is_some() {
                    let off = Off::Remove(self.path("challenge"));
                    let reason = self.line.reason(Reason::CHALLENGE);
                    self.push(LossKind::PlannedStop, reason, "no routine test", off);
                }
            }
            StationKind::Former(former)
                if former.vision.as_ref().is_some_and(|vision| vision.stop_rule.is_some()) =>
            {
                self.fail_safe(Reason::TAGS_IN_ROW);
            }
            _ => {}
        }
    }

    fn reject(&mut self, reason: Reason, switched_off: &str, change: fn(&mut Line, StationIndex)) {
        let word = self.line.reason(reason).to_owned();
        self.push(LossKind::RejectCause, &word, switched_off, Off::Line(change));
    }

    fn rejects(&mut self) {
        if self.station.stops.iter().any(|stop| stop.scrap_after_indexes > 0) {
            self.reject(Reason::FIRST_OFF, "no scrap after stops of this station", |line, at| {
                line.stations[at].stops.iter_mut().for_each(|stop| stop.scrap_after_indexes = 0);
            });
        }
        match &self.station.kind {
            StationKind::Loader(loader) if loader.open_time_limit.is_some() => {
                self.reject(Reason::AGED, "no limit of open time", |line, at| {
                    if let StationKind::Loader(loader) = &mut line.stations[at].kind {
                        loader.open_time_limit = None;
                    }
                });
            }
            StationKind::Former(former) => self.former_rejects(former),
            StationKind::PickRobot(robot) if robot.drop_probability > 0.0 => {
                self.reject(Reason::DROPPED, "no pack is dropped", |line, at| {
                    if let StationKind::PickRobot(robot) = &mut line.stations[at].kind {
                        robot.drop_probability = 0.0;
                    }
                });
            }
            StationKind::Gate(gate) => self.gate_rejects(gate),
            _ => {}
        }
    }

    fn former_rejects(&mut self, former: &linewake_model::station::Former) {
        if former.printer.is_some() && former.vision.is_some() {
            self.reject(Reason::MISPRINT, "the print is always right", |line, at| {
                former_of(line, at, |former| former.printer = None);
            });
        }
        if former.vision.as_ref().is_some_and(|vision| vision.false_tag > 0.0) {
            self.reject(Reason::FALSE_TAG, "vision never tags a right pack", |line, at| {
                former_of(line, at, |former| {
                    if let Some(vision) = &mut former.vision {
                        vision.false_tag = 0.0;
                    }
                });
            });
        }
        if let Some(scrap) = &former.stop_scrap {
            self.reject(scrap.reason, "no pack is spoilt by a long stop", |line, at| {
                former_of(line, at, |former| former.stop_scrap = None);
            });
        }
        let found = |defect: Reason| {
            self.line.stations.iter().any(|station| match &station.kind {
                StationKind::Gate(gate) => gate.finds.iter().any(|find| find.defect == defect),
                _ => false,
            })
        };
        let (leaks, labels, bodies) =
            (found(Reason::LEAK), found(Reason::LABEL_MISSING), found(Reason::CONTAMINATED));
        if former.leak_probability > 0.0 && leaks {
            self.reject(Reason::LEAK, "every seal is tight", |line, at| {
                former_of(line, at, |former| former.leak_probability = 0.0);
            });
        }
        if former.label_missing_probability > 0.0 && labels {
            self.reject(Reason::LABEL_MISSING, "no label is missing", |line, at| {
                former_of(line, at, |former| former.label_missing_probability = 0.0);
            });
        }
        if former.contaminated_probability > 0.0 && bodies {
            self.reject(Reason::CONTAMINATED, "no pack is contaminated", |line, at| {
                former_of(line, at, |former| former.contaminated_probability = 0.0);
            });
        }
    }

    fn gate_rejects(&mut self, gate: &Gate) {
        if gate.false_reject > 0.0 {
            self.reject(Reason::FALSE_REJECT, "the gate rejects no right pack", |line, at| {
                gate_of(line, at, |gate| gate.false_reject = 0.0);
            });
        }
        let Some(weigher) = &gate.weigher else { return };
        if weigher.low_g.is_some() {
            self.reject(Reason::UNDERWEIGHT, "no low limit", |line, at| {
                gate_of(line, at, |gate| {
                    if let Some(weigher) = &mut gate.weigher {
                        weigher.low_g = None;
                    }
                });
            });
        }
        if weigher.high_g.is_some() {
            self.reject(Reason::OVERWEIGHT, "no high limit", |line, at| {
                gate_of(line, at, |gate| {
                    if let Some(weigher) = &mut gate.weigher {
                        weigher.high_g = None;
                    }
                });
            });
        }
    }

    fn path(&self, key: &str) -> String {
        format!("stations[{}].{key}", self.station.id)
    }

    fn faster(&mut self, limit: &str, keys: &[&str], factor: f64) {
        let values = keys.iter().map(|key| (self.path(key), factor)).collect();
        let words = format!("{FASTER} times as fast");
        self.push(LossKind::SpeedLimit, limit, &words, Off::Scale(values));
    }

    fn speed_limits(&mut self) {
        match &self.station.kind {
            StationKind::BulkSupply(_) => self.faster("preparation", &["preparation"], 1.0 / FASTER),
            StationKind::Portioner(_) => self.faster("rate", &["rate"], FASTER),
            StationKind::Loader(loader) => {
                let mut keys = vec!["file_transfer", "traverse", "load", "return"];
                if loader.take > linewake_model::time::Span::ZERO {
                    keys.push("take");
                }
                self.faster("cycle", &keys, 1.0 / FASTER);
            }
            StationKind::Former(former) => {
                if former.max_cycles_per_min.is_some() {
                    let off = Off::Remove(self.path("max_cycles"));
                    self.push(LossKind::SpeedLimit, "cap on the cycles", "no cap", off);
                }
                if let Some(longest) = former.functions.iter().max_by_key(|function| function.dwell) {
                    let name = longest.name.clone();
                    let place = former.functions.iter().position(|it| it.name == name).unwrap_or(0);
                    let path = self.path(&format!("functions[{place}].dwell"));
                    let off = Off::Scale(vec![(path, 1.0 / FASTER)]);
                    let words = format!("{FASTER} times as fast: the next function limits");
                    self.push(LossKind::SpeedLimit, &format!("function {name}"), &words, off);
                }
            }
            StationKind::PickRobot(_) => self.faster("pick and place", &["pick", "place"], 1.0 / FASTER),
            StationKind::RigidBelt(_) => self.faster("belt speed", &["speed"], FASTER),
            StationKind::Gate(_) => self.faster("rate", &["max_rate"], FASTER),
            StationKind::CasePacker(_) => self.faster("cycle", &["cycle"], 1.0 / FASTER),
            StationKind::Machine(_) => self.faster("process", &["process"], 1.0 / FASTER),
            StationKind::Accumulator(table) => {
                if table.release > linewake_model::time::Span::ZERO {
                    let off = Off::Set(self.path("release"), "0 s".to_owned());
                    self.push(LossKind::SpeedLimit, "release", "packs leave at once", off);
                }
            }
            StationKind::Arrivals(_) => self.faster("arrivals", &["between"], 1.0 / FASTER),
        }
    }
}

fn former_of(line: &mut Line, at: StationIndex, change: impl FnOnce(&mut linewake_model::station::Former)) {
    if let StationKind::Former(former) = &mut line.stations[at].kind {
        change(former);
    }
}

fn gate_of(line: &mut Line, at: StationIndex, change: impl FnOnce(&mut Gate)) {
    if let StationKind::Gate(gate) = &mut line.stations[at].kind {
        change(gate);
    }
}
