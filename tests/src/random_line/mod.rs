//! Random valid lines as model files, drawn over every station kind and every option of a line: short shifts with
//! frequent stops and short times, so that everything happens in each of them.

mod dice;
mod full;
mod generic;
mod tail;
mod upkeep;

use dice::{Dice, per_min};
use linewake_engine::plan::RunPlan;
use linewake_model::line::Line;
use linewake_model::time::Span;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

/// A random line.
#[derive(Clone, Debug)]
pub struct RandomLine {
    /// Its model file.
    pub model: Value,
    /// The options that occur in it, of [`OPTIONS`].
    pub options: BTreeSet<&'static str>,
    /// The part of a warm-up in its run, if it has one, in seconds.
    pub warm_up_s: Option<f64>,
}

/// Every option that a line is drawn over: station kinds, ways of giving, rules.
pub const OPTIONS: &[&str] = &[
    "kind: bulk supply",
    "kind: portioner",
    "kind: loader",
    "kind: former",
    "kind: pick robot",
    "kind: rigid belt",
    "kind: accumulating belt",
    "kind: accumulating table",
    "kind: checkweigher",
    "kind: metal detector",
    "kind: X-ray",
    "kind: leak test",
    "kind: case packer",
    "kind: machine",
    "kind: arrivals",
    "arrivals: wait",
    "arrivals: lost",
    "first machine never dry",
    "line that ends without cases",
    "weight: batch shift",
    "weight: drift",
    "weight: feedback",
    "weight: feedback without rejects",
    "loader: take time",
    "loader: two loads a zone",
    "loader: array of several indexes",
    "loader: open time limit",
    "former: cycle cap",
    "former: no cycle cap",
    "former: run_empty",
    "former: stop scrap",
    "former: stop scrap of empty pockets",
    "former: printer",
    "former: vision",
    "former: vision stop rule",
    "former: leaks",
    "former: missing labels",
    "former: contamination",
    "own defects",
    "robot: gripper of several",
    "robot: drops",
    "table: direct hand-over",
    "table: small",
    "table: big",
    "table: unlimited",
    "table: first in first out",
    "table: last in first out",
    "table: restart_at",
    "table: release",
    "table: length and speed",
    "table: own stops",
    "gate: further finds",
    "gate: false rejects",
    "gate: rejects in a row",
    "gate: bin full",
    "gate: challenge",
    "gate: challenge out of planned production time",
    "stop: running time",
    "stop: calendar time",
    "stop: count",
    "stop: roll",
    "stop: magazine",
    "stop: attended",
    "stop: unattended",
    "stop: initial fraction",
    "stop: initial uniform",
    "stop: scrap_after",
    "stops in a group",
    "response by station",
    "crew of 0",
    "crew of 1",
    "crew of 2",
    "crew of 3",
    "crew of 4",
    "calls: first come",
    "calls: station priority",
    "breaks",
    "breaks: supply goes on",
    "breaks: repairs go on",
    "breaks: in planned production time",
    "speed control: portioner",
    "speed control: loader",
    "speed control: former",
    "speed control: pick robot",
    "speed control: rigid belt",
    "speed control: accumulating belt or table",
    "speed control: gate",
    "speed control: case packer",
    "speed control: machine",
    "constraint named",
    "warm-up, consumables part used",
    "distribution: constant",
    "distribution: exponential",
    "distribution: uniform",
    "distribution: triangular",
    "distribution: truncated normal",
    "distribution: lognormal",
    "distribution: Weibull",
    "distribution: gamma",
    "distribution: empirical",
    "distribution: geometric",
];

/// The line of that number; the same number gives the same line.
#[must_use]
pub fn random_line(number: u64) -> RandomLine {
    let mut dice = Dice::new(number);
    let mut model = Map::new();
    model.insert("model_version".into(), json!(1));
    model.insert("name".into(), json!(format!("random line {number}")));
    let length_s = dice.real(240.0, 420.0);
    model.insert("shift".into(), dice.shift(length_s));
    let (crew, attended) = dice.crew();
    if let Some(crew) = crew {
        model.insert("crew".into(), crew);
    }
    let own_defects = dice.own_defects(&mut model);
    let full = dice.chance(0.62);
    let (mut stations, rate) =
        if full { dice.full_line(attended, own_defects) } else { dice.generic_line(attended, own_defects) };
    speed_controls(&mut dice, &mut stations);
    model.insert("design_rate".into(), json!(per_min(rate)));
    model.insert("short_stop_limit".into(), json!(dice.one_of(&["3 s", "10 s", "1 min"])));
    constraint(&mut dice, &mut model, &mut stations, full);
    model.insert("stations".into(), stations.into());
    let warm_up_s = dice.option("warm-up, consumables part used", 0.25).then(|| dice.real(20.0, 100.0));
    RandomLine { model: model.into(), options: dice.options, warm_up_s }
}

impl RandomLine {
    /// The plan of its run: a shift from new, or one of the long run after a warm-up.
    #[must_use]
    pub fn plan(&self, line: &Line) -> RunPlan {
        match self.warm_up_s {
            Some(warm_up_s) => RunPlan::long_run(line, Span::from_seconds(warm_up_s)),
            None => RunPlan::shift(line),
        }
    }
}

fn kind_of(station: &Value) -> &str {
    station.as_object().and_then(|it| it.keys().next()).map_or("", String::as_str)
}

/// Speed steps at some of the stations, by the content of any belt or table.
fn speed_controls(dice: &mut Dice, stations: &mut [Value]) {
    let watched: Vec<(String, u64)> = stations
        .iter()
        .filter_map(|station| {
            let kind = kind_of(station);
            let it = &station[kind];
            let capacity = match kind {
                "rigid_belt" => 4,
                "accumulating_belt" | "accumulating_table" => it["capacity"].as_u64().unwrap_or(20),
                _ => 0,
            };
            (capacity >= 2).then(|| (it["id"].as_str().unwrap_or_default().to_owned(), capacity))
        })
        .collect();
    if watched.is_empty() {
        return;
    }
    for station in stations {
        let kind = kind_of(station).to_owned();
        let (option, likely) = match kind.as_str() {
            "portioner" => ("speed control: portioner", 0.25),
            "loader" => ("speed control: loader", 0.25),
            "former" if station["former"].get("max_cycles").is_some() => ("speed control: former", 0.4),
            "pick_robot" => ("speed control: pick robot", 0.25),
            "rigid_belt" => ("speed control: rigid belt", 0.25),
            "accumulating_belt" | "accumulating_table" if station[&kind]["capacity"] != json!(0) => {
                ("speed control: accumulating belt or table", 0.2)
            }
            "checkweigher" | "metal_detector" | "x_ray" | "leak_test" => ("speed control: gate", 0.2),
            "case_packer" => ("speed control: case packer", 0.2),
            "machine" => ("speed control: machine", 0.2),
            _ => continue,
        };
        if dice.option(option, likely) {
            station[&kind]["speed_control"] = dice.speed_control(&watched);
        }
    }
}

/// Names the station on which the OEE is judged: always in a line of generic machines, where two may be equally slow.
fn constraint(dice: &mut Dice, model: &mut Map<String, Value>, stations: &mut [Value], full: bool) {
    if full && !dice.chance(0.5) {
        return;
    }
    let works = ["portioner", "loader", "former", "pick_robot", "case_packer", "machine"];
    let gates = ["checkweigher", "metal_detector", "x_ray", "leak_test"];
    let challenged = stations.iter().position(|station| {
        gates.contains(&kind_of(station)) && station[kind_of(station)].get("challenge").is_some()
    });
    let chosen = match challenged {
        Some(gate) if dice.chance(0.7) => gate,
        _ => {
            let fit: Vec<usize> =
                (0..stations.len()).filter(|place| works.contains(&kind_of(&stations[*place]))).collect();
            dice.one_of(&fit)
        }
    };
    let kind = kind_of(&stations[chosen]).to_owned();
    if gates.contains(&kind.as_str()) && dice.option("gate: challenge out of planned production time", 0.6) {
        stations[chosen][&kind]["challenge"]["in_planned_production_time"] = json!(false);
    }
    dice.note("constraint named");
    model.insert("constraint".into(), stations[chosen][&kind]["id"].clone());
}
