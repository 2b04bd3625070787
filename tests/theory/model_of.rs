//! From the parameters of a check to a model file of generic machines, read by the program's own reader.
//!
//! | in the table | in the model |
//! | --- | --- |
//! | station | `machine`; the first never runs dry, the last is never full |
//! | storage of b places (the place in a station is not counted) | `accumulating_table` of capacity b, transit 0 |
//! | operation-dependent failure | unattended stop after `running_time` |
//! | time-dependent failure | unattended stop after `calendar_time` |
//! | repair workers | attended stops, `crew` of so many operators, response 0 |
//! | jam of an item with probability p | stop after `pieces`, geometric of mean 1/p: a count stop holds its piece |
//! | Poisson arrivals, a queue | `arrivals`, a table without limit, a machine |

use crate::checks::Check;
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use serde_json::{Value, json};

/// A model with what is needed to read its figures.
#[derive(Debug)]
pub(crate) struct Model {
    pub line: Line,
    /// Seconds in one time unit of the check.
    pub unit_s: f64,
    /// Places of the machines in the line; the k-th station of the check.
    pub machines: Vec<usize>,
    /// Places of the storages.
    pub storages: Vec<usize>,
    /// Operators who repair.
    pub workers: u32,
}

/// Why a check cannot be told as a model.
pub(crate) type Reason = String;

/// The model of a check.
pub(crate) fn model_of(check: &Check) -> Result<Model, Reason> {
    let parameters = &check.parameters;
    let unit = if check.id == "A11" || check.id == "B04" { Unit::Minute } else { Unit::Second };
    let (stations, workers) = match check.kind.as_str() {
        "machine_interference" => interference(parameters),
        "line_slotted_bernoulli" => (bernoulli(parameters)?, 0),
        "line_slotted_buzacott_gershwin" => (buzacott_gershwin(parameters), 0),
        "line_slotted_geometric_tdf" => {
            return Err("Machines change state slot by slot, also while they wait, and are blocked before \
                        service. A machine here holds its piece until downstream takes it, and in a stop it takes \
                        none, so that the place in the machine is sometimes one of the N and sometimes not."
                .to_owned());
        }
        "queue_mm1" | "queue_mg1" => (queue(parameters), 0),
        "queue_mmck" | "queue_mmc" => {
            return Err(
                "Several servers work on one queue; a machine here has one place, and stations stand in \
                        series."
                    .to_owned(),
            );
        }
        "erlang_bc" => {
            return Err(format!(
                "Several servers work on one queue. {} meets the loss formula with a table that has a transit time.",
                crate::free_checks::LOSS
            ));
        }
        "station_availability" => (single(parameters), 0),
        "synchronous_block" => (synchronous_block(parameters), 0),
        _ => serial(parameters, unit),
    };
    Ok(model(&check.id, stations, workers, unit))
}

/// The serial line of a check whose machines keep a finished piece in any stop: the other convention of L3.
pub(crate) fn model_that_holds(check: &Check) -> Model {
    let (mut stations, workers) = serial(&check.parameters, Unit::Second);
    for station in &mut stations {
        if let Some(machine) = station.get_mut("machine") {
            machine["holds_in_stops"] = json!(true);
        }
    }
    model(&check.id, stations, workers, Unit::Second)
}

/// Unit of time of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Unit {
    Second,
    Minute,
}

impl Unit {
    fn symbol(self) -> &'static str {
        match self {
            Self::Second => "s",
            Self::Minute => "min",
        }
    }

    fn seconds(self) -> f64 {
        match self {
            Self::Second => 1.0,
            Self::Minute => 60.0,
        }
    }
}

/// Writes the model file and reads it back with the program's reader.
pub(crate) fn model(name: &str, stations: Vec<Value>, workers: u32, unit: Unit) -> Model {
    let mut document = json!({
        "model_version": 1,
        "name": name,
        "about": "A line of the theory of queues, not of any plant.",
        "shift": { "length": "8 h" },
        "design_rate": "60/min",
        "constraint": "machine 1",
        "stations": stations,
    });
    if workers > 0 {
        document["crew"] = json!({ "operators": workers, "response": "0 s" });
    }
    let line = linewake_model::parse(&document.to_string())
        .unwrap_or_else(|problems| panic!("{name}: {problems:?}\n{document}"))
        .line;
    let places = |wanted: fn(&StationKind) -> bool| {
        let stations = line.stations.iter().enumerate();
        stations.filter(|(_, station)| wanted(&station.kind)).map(|(place, _)| place).collect()
    };
    let machines = places(|kind| matches!(kind, StationKind::Machine(_)));
    let storages = places(|kind| matches!(kind, StationKind::Accumulator(_)));
    Model { line, unit_s: unit.seconds(), machines, storages, workers }
}

// ----- the parts of a line

/// A time of the check as the model file writes it.
pub(crate) fn time(value: f64, unit: Unit) -> Value {
    json!(format!("{value} {}", unit.symbol()))
}

/// A distribution of the check as the model file writes it.
fn distribution(given: &Value, unit: Unit) -> Value {
    let figure = |key: &str| given[key].as_f64().unwrap_or_else(|| panic!("no {key} in {given}"));
    match given["dist"].as_str().expect("a family") {
        "exponential" => json!({ "exponential": { "mean": time(figure("mean"), unit) } }),
        "deterministic" => time(figure("value"), unit),
        "gamma" => json!({ "gamma": { "shape": figure("shape"), "mean": time(figure("mean"), unit) } }),
        "weibull" => json!({ "weibull": { "shape": figure("shape"), "scale": time(figure("scale"), unit) } }),
        "lognormal" => json!({ "lognormal": { "mean": time(figure("mean"), unit), "cv": figure("cv") } }),
        "geometric" => json!({ "geometric": { "mean": figure("mean"), "step": time(1.0, unit) } }),
        other => panic!("no such family: {other}"),
    }
}

fn geometric(mean: f64) -> Value {
    json!({ "geometric": { "mean": mean, "step": "1 s" } })
}

fn stop(reason: &str, after: Value, duration: Value, attended: bool) -> Value {
    json!({ "reason": reason, "after": after, "duration": duration, "attended": attended })
}

/// A generic machine; `number` from 1.
pub(crate) fn machine(number: usize, process: Value, stops: Vec<Value>) -> Value {
    json!({ "machine": { "id": format!("machine {number}"), "process": process, "stops": stops } })
}

/// A storage without transit; `number` from 1.
pub(crate) fn storage(number: usize, capacity: Value) -> Value {
    json!({ "accumulating_table": { "id": format!("storage {number}"), "capacity": capacity, "transit": "0 s" } })
}

// ----- the lines

/// Conventions L1 to L5: stations in series with storages between them.
fn serial(parameters: &Value, unit: Unit) -> (Vec<Value>, u32) {
    let workers = parameters["repair_workers"].as_u64().unwrap_or(0) as u32;
    // A station may have a mode of its own.
    let basis =
        |station: &Value| match station["failure_mode"].as_str().or(parameters["failure_mode"].as_str()) {
            Some("time_dependent") => "calendar_time",
            _ => "running_time",
        };
    let mut line = Vec::new();
    for (place, station) in parameters["stations"].as_array().expect("stations").iter().enumerate() {
        let mut stops = Vec::new();
        if let Some(probability) = station["failure_probability_per_item"].as_f64() {
            let after = json!({ "pieces": { "geometric": { "mean": 1.0 / probability } } });
            stops.push(stop("jam", after, distribution(&station["repair"], unit), false));
        } else if !station["time_to_failure"].is_null() {
            let after = json!({ basis(station): distribution(&station["time_to_failure"], unit) });
            stops.push(stop("failure", after, distribution(&station["repair"], unit), workers > 0));
        }
        line.push(machine(place + 1, distribution(&station["service"], unit), stops));
        if let Some(capacity) = parameters["storage"].get(place) {
            line.push(storage(place + 1, capacity.clone()));
        }
    }
    (line, workers)
}

/// Convention L4: machines whose clock to the next failure runs whenever they are up, whatever flows. What flows does
/// not matter, so that a line of machines with time-dependent failures is a set of independent machines.
fn interference(parameters: &Value) -> (Vec<Value>, u32) {
    let workers = parameters["repair_workers"].as_u64().expect("workers") as u32;
    let machines = parameters["machines"].as_u64().expect("machines") as usize;
    let line = (1..=machines).map(|number| {
        let after = json!({ "calendar_time": distribution(&parameters["time_to_failure"], Unit::Second) });
        let repair = distribution(&parameters["repair"], Unit::Second);
        machine(number, json!("60 s"), vec![stop("failure", after, repair, true)])
    });
    (line.collect(), workers)
}

/// Convention L6 with two machines. The first machine of a Bernoulli line tries once a slot and its piece comes to
/// nothing when there is no place at the end of the slot: arrivals, geometric, lost when full. The second never waits
/// for room: a machine with a geometric process. N counts the piece in the machine, so the storage has N - 1 places.
fn bernoulli(parameters: &Value) -> Result<Vec<Value>, Reason> {
    let probability = |place: usize| parameters["p"][place].as_f64().expect("a probability");
    if parameters["p"].as_array().is_none_or(|machines| machines.len() != 2) {
        return Err("A machine in the middle of the line is blocked before service: in a slot in which it finds its \
                    buffer full it does nothing, unless the next machine takes a piece in that slot. A machine \
                    here begins whenever it has a piece, and holds it when it is finished."
            .to_owned());
    }
    let places = parameters["N"][0].as_u64().expect("places");
    let between = geometric(1.0 / probability(0));
    Ok(vec![
        json!({ "arrivals": { "id": "arrivals", "between": between, "when_full": "lost" } }),
        storage(1, json!(places - 1)),
        machine(1, geometric(1.0 / probability(1)), Vec::new()),
    ])
}

/// Convention L7. A machine that begins a piece fails with probability p and is down for a geometric number of cycles,
/// then makes the piece in one cycle, which cannot fail again: a jam of the piece, before or after its cycle alike. It
/// begins a piece when n < N at the start of the cycle, n the pieces that the first has finished and the second has not:
/// with blocking after service that is a storage of N - 2 places, one piece in the second machine and one finished in
/// the first.
fn buzacott_gershwin(parameters: &Value) -> Vec<Value> {
    let station = |place: usize| {
        let figure = |key: &str| parameters[key][place].as_f64().expect("a probability");
        let after = json!({ "pieces": { "geometric": { "mean": 1.0 / figure("p_fail") } } });
        let stops = vec![stop("jam", after, geometric(1.0 / figure("r_repair")), false)];
        machine(place + 1, json!("1 s"), stops)
    };
    let places = parameters["N"].as_u64().expect("places");
    vec![station(0), storage(1, json!(places - 2)), station(1)]
}

/// Convention Q1 with one server.
fn queue(parameters: &Value) -> Vec<Value> {
    let rate = parameters["arrival_rate"].as_f64().expect("a rate");
    let between = json!({ "exponential": { "mean": time(1.0 / rate, Unit::Second) } });
    vec![
        json!({ "arrivals": { "id": "arrivals", "between": between } }),
        storage(1, json!("unlimited")),
        machine(1, distribution(&parameters["service"], Unit::Second), Vec::new()),
    ]
}

/// One saturated machine.
fn single(parameters: &Value) -> Vec<Value> {
    let of = |key: &str| distribution(&parameters[key], Unit::Second);
    let after = json!({ "running_time": of("time_to_failure") });
    vec![machine(1, of("service"), vec![stop("failure", after, of("repair"), false)])]
}

/// Convention L8: one machine with several stop modes. Their running-time clocks stand still in any stop.
fn synchronous_block(parameters: &Value) -> Vec<Value> {
    let stops = parameters["causes"].as_array().expect("causes").iter().enumerate().map(|(place, cause)| {
        let exponential = |key: &str| {
            let mean = cause[key].as_f64().expect("a mean");
            json!({ "exponential": { "mean": time(mean, Unit::Second) } })
        };
        let reason = format!("cause {}", place + 1);
        stop(&reason, json!({ "running_time": exponential("mtbf") }), exponential("mttr"), false)
    });
    let cycle = parameters["cycle"].as_f64().expect("a cycle");
    vec![machine(1, time(cycle, Unit::Second), stops.collect())]
}
