//! Each option of the line, shown on a small line by a number worked by hand.
//!
//! Every test builds a model file, runs it, and compares what happened with the arithmetic in its comment. All lines
//! are invented. Two kinds of line are used:
//!
//! * machines in a row, where one option can be seen by itself;
//! * the [`small_line`], a whole line from kitchen to case whose timetable is worked out below.
//!
//! # Timetable of the small line
//! Portions are cut every 0.5 s and ride 1 s on the infeed belt: portion k lies on belt A at 1 + 0.5 k s. One portion is
//! a file (transfer 0.2 s, traverse 0.1 s), two files an array (load 0.3 s, return 0.2 s), one array an index.
//!
//! * Portion 1 at 1.5: passed at 1.7, traversed at 1.8. Portion 2 at 2.0: passed at 2.2, the array is ready. The former
//!   has waited since the end of its functions at 1.5; load to 2.5, advance (0.5 s) to 3.0, return to 2.7.
//! * Portion 3 passed at 2.9, portion 4 at 3.2: the next array waits for the dwell of 3.0 and is loaded at 3.5, inside
//!   it. From here on the former is never short: dwells begin at 3, 5, 7, ... and end (1.5 s) at 4.5, 6.5, 8.5, ...
//! * The first frame with product, loaded at position 1 in the dwell of 0, is sealed (2) in the dwell of 3, is at 3 in
//!   that of 5, is cut (4) at the end of that of 7, at 8.5, and lies in the pick zone (5) at 9.0.
//! * Robot: pick to 9.3, place to 9.7. Belt 1.2 m at 0.6 m/s: the two packs are at its end at 11.7 and 11.9 (0.12 m
//!   apart). Checkweigher 0.2 s: out at 11.9 and 12.1. Table 1 s: in the lane at 12.9 and 13.1.
//! * The next frame follows 2 s later: lane 14.9 and 15.1. Four packs: the first case begins at 15.1 and leaves at 16.1,
//!   the next ones every 4 s.

mod accumulation;
mod breaks;
mod case_packer;
mod clock;
mod crew;
mod distributions;
mod feedback_loop;
mod former;
mod former_stops;
mod gates;
mod infeed_and_loader;
mod machines;
mod measures;
mod pick_robot;
mod portioner;
mod rigid_belt;
mod small_line;
mod speed_control;
mod start;
mod stop_bases;
mod stop_groups;
mod supply;
mod web;

use linewake_engine::plan::{InjectedStop, RunPlan};
use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::result::ShiftResult;
use linewake_log::event::{CallStep, Counter, Detail, Event, EventKind, Keep, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// A model file in the making.
#[derive(Clone)]
struct Model(Value);

/// A line of generic stations, everything constant.
fn row(stations: Value) -> Model {
    Model(json!({
        "model_version": 1,
        "name": "Row of an invented plant",
        "design_rate": "60/min",
        "shift": { "length": "60 s" },
        "stations": stations,
    }))
}

/// A generic machine that needs a constant time for a piece.
fn machine(id: &str, process: &str) -> Value {
    json!({ "machine": { "id": id, "process": process } })
}

/// The whole line of the timetable above.
fn small_line() -> Model {
    Model(json!({
        "model_version": 1,
        "name": "Small line of an invented plant",
        "design_rate": "60/min",
        "shift": { "length": "60 s" },
        "stations": [
            { "bulk_supply": { "id": "supply", "batch": "500 kg", "hopper": "1200 kg", "preparation": "600 s" } },
            { "portioner": { "id": "portioner", "rate": "120/min", "weight": { "mean": "400 g", "sd": "0 g" } } },
            { "accumulating_belt": { "id": "infeed", "capacity": 8, "transit": "1 s" } },
            { "loader": {
                "id": "loader", "lanes": 2, "array_rows": 1, "indexes_per_array": 1,
                "file_transfer": "0.2 s", "traverse": "0.1 s", "load": "0.3 s", "return": "0.2 s",
            } },
            { "former": {
                "id": "former", "lanes": 2, "rows_per_index": 1,
                "functions": [{ "name": "form", "dwell": "1 s" }, { "name": "seal", "dwell": "1.5 s" }],
                "advance": "0.5 s",
                "positions": { "load_at": 1, "seal": 2, "cut": 4 },
            } },
            { "pick_robot": { "id": "robot", "gripper": 2, "pick": "0.3 s", "place": "0.4 s" } },
            { "rigid_belt": { "id": "belt", "length": "1.2 m", "speed": "0.6 m/s", "pitch": "0.12 m" } },
            { "checkweigher": { "id": "checkweigher", "max_rate": "300/min", "sd_weigh": "0 g" } },
            { "accumulating_table": { "id": "table", "capacity": 20, "transit": "1 s" } },
            { "case_packer": { "id": "packer", "packs_per_case": 4, "lane_packs": 8, "cycle": "1 s" } },
        ],
    }))
}

/// An unattended stop as the model file has it.
fn stop(reason: &str, after: Value, duration: &str) -> Value {
    json!({ "reason": reason, "after": after, "duration": duration, "attended": false })
}

/// An attended one.
fn attended(reason: &str, after: Value, duration: &str) -> Value {
    json!({ "reason": reason, "after": after, "duration": duration, "attended": true })
}

impl Model {
    /// Sets keys of the line itself.
    fn line(mut self, keys: Value) -> Self {
        merge(&mut self.0, keys);
        self
    }

    /// Sets the length of the shift.
    fn lasting(self, length: &str) -> Self {
        self.line(json!({ "shift": { "length": length } }))
    }

    /// Sets keys of a station; objects are merged, everything else is replaced.
    fn with(mut self, id: &str, keys: Value) -> Self {
        merge(self.station(id), keys);
        self
    }

    /// Puts a station behind another one.
    fn behind(mut self, id: &str, station: Value) -> Self {
        let place = self.place(id);
        self.0["stations"].as_array_mut().expect("a list of stations").insert(place + 1, station);
        self
    }

    /// Puts a station in the place of another one.
    fn instead_of(mut self, id: &str, station: Value) -> Self {
        let place = self.place(id);
        self.0["stations"][place] = station;
        self
    }

    fn place(&self, id: &str) -> usize {
        let stations = self.0["stations"].as_array().expect("a list of stations");
        let has_id = |station: &Value| {
            station.as_object().expect("a station").values().any(|keys| keys["id"].as_str() == Some(id))
        };
        stations.iter().position(has_id).unwrap_or_else(|| panic!("no station {id}"))
    }

    fn station(&mut self, id: &str) -> &mut Value {
        let place = self.place(id);
        let station = self.0["stations"][place].as_object_mut().expect("a station");
        station.values_mut().next().expect("a kind")
    }

    /// The text of the model file, with a comment as people write them.
    fn text(&self) -> String {
        format!("// An invented line.\n{:#}\n", self.0)
    }

    /// The checked line.
    fn checked(&self) -> Line {
        match linewake_model::parse(&self.text()) {
            Ok(checked) => checked.line,
            Err(problems) => {
                let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
                panic!("{}", all.join("\n"))
            }
        }
    }

    /// What the check warns of.
    fn warnings(&self) -> String {
        let checked = linewake_model::parse(&self.text()).expect("the model is right");
        checked.warnings.iter().fold(String::new(), |all, warning| all + &warning.to_string() + "\n")
    }

    /// One shift, everything new.
    fn run(&self) -> Run {
        self.run_with(|_, _| {})
    }

    /// One shift with stops on purpose, each given by station, start and length in seconds.
    fn run_stopped(&self, stops: &[(&str, f64, f64)]) -> Run {
        self.run_with(|plan, line| {
            plan.injected = stops.iter().map(|&(id, at, length)| injected(line, id, at, length)).collect();
        })
    }

    /// One shift by a changed plan.
    fn run_with(&self, change: impl FnOnce(&mut RunPlan, &Line)) -> Run {
        self.replication(0, change)
    }

    /// The shift of that number.
    fn replication(&self, replication: u64, change: impl FnOnce(&mut RunPlan, &Line)) -> Run {
        let line = self.checked();
        let mut plan = RunPlan::shift(&line);
        change(&mut plan, &line);
        let mut keep = Keep::new(Detail::Packs);
        let mut accounts = Accumulator::new(&linewake_engine::header(&line, &plan, 1, replication));
        linewake_engine::run(&line, &plan, 1, replication, (&mut keep, &mut accounts));
        let result = accounts.finish();
        assert!(result.doubts.is_empty(), "{:?}", result.doubts);
        Run { line, events: keep.events, result }
    }
}

/// Puts `keys` into `into`; objects within objects are merged, everything else is replaced.
fn merge(into: &mut Value, keys: Value) {
    match (into, keys) {
        (Value::Object(into), Value::Object(keys)) => {
            for (key, value) in keys {
                merge(into.entry(key).or_insert(Value::Null), value);
            }
        }
        (into, value) => *into = value,
    }
}

fn injected(line: &Line, id: &str, at_s: f64, length_s: f64) -> InjectedStop {
    let station = line.station(id).expect("the station is there");
    InjectedStop { station, at: second(at_s), duration: Span::from_seconds(length_s) }
}

/// That many seconds.
fn span(seconds: f64) -> Span {
    Span::from_seconds(seconds)
}

/// Equal but for the rounding of a few floating-point operations.
fn is_close(left: f64, right: f64) -> bool {
    (left - right).abs() < 1e-9
}

/// That second of the run.
fn second(seconds: f64) -> Moment {
    Moment::ZERO + Span::from_seconds(seconds)
}

/// Those seconds of the run.
fn seconds(all: &[f64]) -> Vec<Moment> {
    all.iter().copied().map(second).collect()
}

/// `count` moments, from `first` on, `step` apart (in seconds).
fn every(first: f64, step: f64, count: u32) -> Vec<Moment> {
    (0..count).map(|number| second(first + step * f64::from(number))).collect()
}

/// A step of a portion or pack.
#[derive(Clone, Copy, Debug)]
struct Step {
    at: Moment,
    item: u64,
    into: u64,
    weight_ug: u64,
}

/// What a run told, in the words of the model.
struct Run {
    line: Line,
    events: Vec<Event>,
    result: ShiftResult,
}

impl Run {
    fn station(&self, id: &str) -> u16 {
        u16::try_from(self.line.station(id).unwrap_or_else(|| panic!("no station {id}")))
            .expect("few stations")
    }

    fn events_of(&self, id: &str) -> impl Iterator<Item = &Event> {
        let station = self.station(id);
        self.events.iter().filter(move |event| event.station == station)
    }

    /// Changes of state of a station, as in "0 starved, 2.5 running"; of stops with their reason.
    fn states(&self, id: &str) -> String {
        self.states_between(id, 0.0, f64::INFINITY)
    }

    /// The same, from one second to the other.
    fn states_between(&self, id: &str, from_s: f64, to_s: f64) -> String {
        let mut text = String::new();
        for event in self.events_of(id).filter(|event| (from_s..=to_s).contains(&event.at.seconds())) {
            let EventKind::State { to, reason, .. } = event.kind else { continue };
            let reason = self.line.reason(reason);
            let comma = if text.is_empty() { "" } else { ", " };
            let _ = write!(text, "{comma}{} {}", event.at.seconds(), to.word());
            if !reason.is_empty() {
                let _ = write!(text, " {reason}");
            }
        }
        text
    }

    /// Stops and planned stops of a station, as in "jam 10..12..17" (begin, arrival of an operator, end) or
    /// "jam 10..17" (no operator needed, or one there at once).
    fn stops(&self, id: &str) -> String {
        let mut text = String::new();
        let mut is_waiting = false;
        for event in self.events_of(id) {
            let EventKind::State { from, to, reason, .. } = event.kind else { continue };
            let was_stopped = from.is_own_stop() || from == StationState::Planned;
            if was_stopped && event.at > Moment::ZERO {
                let _ = write!(text, "..{}", event.at.seconds());
            }
            if !is_waiting && (to.is_own_stop() || to == StationState::Planned) {
                let comma = if text.is_empty() { "" } else { ", " };
                let _ = write!(text, "{comma}{} {}", self.line.reason(reason), event.at.seconds());
            }
            is_waiting = to == StationState::StoppedWaiting;
        }
        text
    }

    /// Steps of a kind at a station.
    fn steps(&self, id: &str, wanted: PackStep) -> Vec<Step> {
        self.steps_for(id, wanted, None)
    }

    /// Steps of a kind for a reason.
    fn steps_for(&self, id: &str, wanted: PackStep, wanted_reason: Option<&str>) -> Vec<Step> {
        let mut steps = Vec::new();
        for event in self.events_of(id) {
            let EventKind::Pack { step, item, into, reason, weight_ug } = event.kind else { continue };
            if step == wanted && wanted_reason.is_none_or(|wanted| wanted == self.line.reason(reason)) {
                steps.push(Step { at: event.at, item, into, weight_ug });
            }
        }
        steps
    }

    /// When such steps happened.
    fn times(&self, id: &str, wanted: PackStep) -> Vec<Moment> {
        self.steps(id, wanted).iter().map(|step| step.at).collect()
    }

    /// The first such moments.
    fn first_times(&self, id: &str, wanted: PackStep, count: usize) -> Vec<Moment> {
        self.times(id, wanted).into_iter().take(count).collect()
    }

    /// When packs were rejected at a station for a reason.
    fn rejects(&self, id: &str, reason: &str) -> Vec<Moment> {
        self.steps_for(id, PackStep::Rejected, Some(reason)).iter().map(|step| step.at).collect()
    }

    /// Weights in grams at a step, in the order of the log.
    fn grams(&self, id: &str, wanted: PackStep) -> Vec<f64> {
        self.steps(id, wanted).iter().map(|step| step.weight_ug as f64 / 1e6).collect()
    }

    /// Moments of a step of a call for an operator.
    fn calls(&self, id: &str, wanted: CallStep) -> Vec<Moment> {
        let is_wanted = |event: &&Event| matches!(event.kind, EventKind::Call { step, .. } if step == wanted);
        self.events_of(id).filter(is_wanted).map(|event| event.at).collect()
    }

    /// Where a counter stands at the end, over all reasons.
    fn count(&self, id: &str, counter: Counter) -> u64 {
        self.result.stations[usize::from(self.station(id))].counted(counter)
    }

    /// Packs that escaped with a defect.
    fn escaped(&self, defect: &str) -> u64 {
        let rows = self.result.packs.escaped.iter();
        rows.filter(|row| row.reason == defect).map(|row| row.packs).sum()
    }
}
