//! The line of a mapping: its stations and facts, from the mapping or from the model that lies alongside.

use crate::facts::kind;
use crate::header::{LineFacts, StationFacts};
use crate::stop_list::mapping::folded;
use crate::stop_list::spec::{MappingSpec, StationSpec};
use linewake_model::defaults;
use linewake_model::problem::{Findings, Path};
use linewake_model::quantity::{Quantity, Rate, Time};
use linewake_model::spec::suggest;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::Span;
use std::collections::BTreeMap;

/// Facts of the line; where something is missing or wrong it stands in the findings, and the facts are not to be used.
pub(super) fn facts_of(spec: &MappingSpec, model: Option<&LineFacts>, findings: &mut Findings) -> LineFacts {
    check_ids(&spec.stations, findings);
    match model {
        Some(model) => with_model(spec, model, findings),
        None => without_model(spec, findings),
    }
}

fn check_ids(stations: &[StationSpec], findings: &mut Findings) {
    let root = Path::default().key("stations");
    if stations.is_empty() {
        findings.error(&root, "no station is stated", "state at least the constraint");
    }
    if stations.len() >= usize::from(u16::MAX) {
        findings.error(&root, "there are too many stations", "at most 65,000");
    }
    for (place, station) in stations.iter().enumerate() {
        let path = root.element(place).key("id");
        if station.id.trim().is_empty() {
            findings.error(&path, "an id is due here, not a blank", "");
        } else if stations[..place].iter().any(|before| before.id == station.id) {
            findings.error(&path, format!("two stations have the id \"{}\"", station.id), "ids are unique");
        }
    }
}

fn with_model(spec: &MappingSpec, model: &LineFacts, findings: &mut Findings) -> LineFacts {
    let root = Path::default();
    let known: Vec<&str> = model.stations.iter().map(|station| station.id.as_str()).collect();
    for (place, station) in spec.stations.iter().enumerate() {
        let path = root.key("stations").element(place);
        let Some(facts) = model.stations.iter().find(|it| it.id == station.id) else {
            let what = format!("the model has no station \"{}\"", station.id);
            findings.error(&path.key("id"), what, suggest::hint(&station.id, &known));
            continue;
        };
        if station.kind.as_ref().is_some_and(|kind| *kind != facts.kind) {
            let what = format!("the model says that \"{}\" is a {}", station.id, facts.kind);
            findings.error(&path.key("kind"), what, "leave the key out");
        }
    }
    let agrees = |key: &str, stated: Option<String>, says: String, findings: &mut Findings| {
        if stated.is_some_and(|stated| stated != says) {
            findings.error(&root.key(key), format!("the model says {says}"), "leave the key out");
        }
    };
    let id_of =
        |place: u16| model.stations.get(usize::from(place)).map(|it| it.id.clone()).unwrap_or_default();
    agrees("constraint", spec.constraint.clone(), id_of(model.constraint), findings);
    agrees("good_after", spec.good_after.clone(), id_of(model.good_after), findings);
    let rate = Quantity::<Rate>::in_base(model.design_rate_per_min).to_string();
    let stated = spec.design_rate.map(|it| Quantity::<Rate>::in_base(it.value()).to_string());
    agrees("design_rate", stated, rate, findings);
    let limit = Quantity::<Time>::in_base(model.short_stop_limit.seconds()).to_string();
    let stated = spec.short_stop_limit.map(|it| Quantity::<Time>::in_base(it.value()).to_string());
    agrees("short_stop_limit", stated, limit, findings);
    model.clone()
}

fn without_model(spec: &MappingSpec, findings: &mut Findings) -> LineFacts {
    let root = Path::default();
    let design_rate_per_min = match spec.design_rate {
        Some(rate) if rate.value() > 0.0 && rate.value() <= 1e6 => rate.value(),
        Some(_) => {
            findings.error(
                &root.key("design_rate"),
                "this is no rate of a line",
                "above 0, at most 1000000/min",
            );
            1.0
        }
        None => {
            findings.error(&root.key("design_rate"), "\"design_rate\" is missing", "it has no default");
            1.0
        }
    };
    let limit_s = spec.short_stop_limit.map_or(defaults::SHORT_STOP_LIMIT.seconds(), Quantity::value);
    if !(0.0..=86_400.0).contains(&limit_s) {
        findings.error(&root.key("short_stop_limit"), "this is no limit of short stops", "0 s to 24 h");
    }
    let stations: Vec<StationFacts> = spec
        .stations
        .iter()
        .enumerate()
        .map(|(place, station)| station_facts(station, &root.key("stations").element(place), findings))
        .collect();
    let constraint = constraint(spec, &stations, findings);
    let good_after = match &spec.good_after {
        Some(id) => place_of(id, &stations, &root.key("good_after"), findings).unwrap_or(0),
        None => good_after(&stations),
    };
    LineFacts {
        design_rate_per_min,
        constraint,
        good_after,
        short_stop_limit: Span::from_seconds(limit_s),
        left_out: vec![Reason::BREAK],
        consequences: Vec::new(),
        stations,
        reasons: FIXED_REASONS.iter().map(|&word| word.to_owned()).collect(),
    }
}

fn station_facts(spec: &StationSpec, path: &Path, findings: &mut Findings) -> StationFacts {
    let word = spec.kind.as_deref().unwrap_or(kind::MACHINE);
    if !kind::ALL.contains(&word) {
        let hint = suggest::hint(word, &kind::ALL);
        findings.error(&path.key("kind"), format!("there is no kind of station \"{word}\""), hint);
    }
    let rate_per_min = spec.rate.map(Quantity::value);
    if rate_per_min.is_some_and(|rate| !(rate > 0.0 && rate <= 1e6)) {
        findings.error(&path.key("rate"), "this is no rate of a station", "above 0, at most 1000000/min");
    }
    let transit_s = spec.transit_to_constraint.map_or(0.0, Quantity::value);
    if !(0.0..=86_400.0).contains(&transit_s) {
        let path = path.key("transit_to_constraint");
        findings.error(&path, "this is no transit time", "0 s to 24 h");
    }
    StationFacts {
        id: spec.id.clone(),
        kind: word.to_owned(),
        has_states: true,
        rate_per_min,
        transit_to_constraint: Span::from_seconds(transit_s),
        capacity: None,
        portions_per_piece: 1,
        supplier: spec.supplier.clone(),
    }
}

fn constraint(spec: &MappingSpec, stations: &[StationFacts], findings: &mut Findings) -> u16 {
    let path = Path::default().key("constraint");
    if let Some(id) = &spec.constraint {
        return place_of(id, stations, &path, findings).unwrap_or(0);
    }
    let former = stations.iter().position(|it| it.kind == kind::FORMER);
    match former {
        Some(place) => u16::try_from(place).unwrap_or(0),
        None if stations.len() == 1 => 0,
        None => {
            findings.error(
                &path,
                "\"constraint\" is missing",
                "the line has no former, so it has no default",
            );
            0
        }
    }
}

/// The last gate, else the robot, else the last station, as in a model.
fn good_after(stations: &[StationFacts]) -> u16 {
    const GATES: [&str; 4] = [kind::CHECKWEIGHER, kind::METAL_DETECTOR, kind::X_RAY, kind::LEAK_TEST];
    let last = |wanted: &dyn Fn(&str) -> bool| stations.iter().rposition(|it| wanted(&it.kind));
    let place = last(&|it| GATES.contains(&it))
        .or_else(|| last(&|it| it == kind::PICK_ROBOT))
        .unwrap_or(stations.len().saturating_sub(1));
    u16::try_from(place).unwrap_or(0)
}

/// Place of the station with that id.
pub(super) fn place_of(
    id: &str,
    stations: &[StationFacts],
    path: &Path,
    findings: &mut Findings,
) -> Option<u16> {
    let place = stations.iter().position(|it| it.id == id);
    if place.is_none() {
        let known: Vec<&str> = stations.iter().map(|it| it.id.as_str()).collect();
        findings.error(path, format!("there is no station \"{id}\""), suggest::hint(id, &known));
    }
    place.and_then(|place| u16::try_from(place).ok())
}

/// Stations by the names of the list. A name of two stations is a warning: rows with it cannot be told apart.
pub(super) fn machines_of(
    spec: &MappingSpec,
    facts: &LineFacts,
    findings: &mut Findings,
) -> BTreeMap<String, Vec<u16>> {
    let mut machines: BTreeMap<String, Vec<u16>> = BTreeMap::new();
    let root = Path::default().key("stations");
    for (place, station) in spec.stations.iter().enumerate() {
        let Some(index) = facts.stations.iter().position(|it| it.id == station.id) else { continue };
        let Ok(index) = u16::try_from(index) else { continue };
        let own = (root.element(place).key("id"), &station.id);
        let names = station.names.iter().flatten().enumerate();
        let names =
            names.map(|(name_place, name)| (root.element(place).key("names").element(name_place), name));
        for (path, name) in std::iter::once(own).chain(names) {
            if name.trim().is_empty() {
                findings.error(&path, "a name is due here, not a blank", "");
            }
            let known = machines.entry(folded(name)).or_default();
            if !known.contains(&index) {
                known.push(index);
            }
            if known.len() > 1 {
                let what = format!("\"{name}\" is the name of two stations");
                let hint = "rows with it are left out, unless the column \"area\" tells them apart";
                findings.warning(&path, what, hint);
            }
        }
    }
    machines
}
