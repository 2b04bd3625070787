//! The rules of the mapping file: what must hold before a list is read by it.

mod files;
mod line;
mod shifts;

use super::clock::Clock;
use super::mapping::{Effect, Mapping, Meaning, folded};
use super::spec::{MappingSpec, ReasonSpec};
use crate::header::LineFacts;
use jiff::tz::{TimeZone, TimeZoneDatabase};
use linewake_model::problem::{Findings, Path};
use linewake_model::spec::suggest;
use linewake_model::stop::Reason;
use std::collections::BTreeMap;

/// The checked mapping; `None` if it cannot be had, which the findings tell of.
pub(super) fn mapping_of(
    spec: &MappingSpec,
    model: Option<&LineFacts>,
    findings: &mut Findings,
) -> Option<Mapping> {
    let root = Path::default();
    if spec.mapping_version != 1 {
        let what = format!("mapping_version is {}", spec.mapping_version);
        findings.error(&root.key("mapping_version"), what, "this program reads version 1");
    }
    let zone = time_zone(&spec.time_zone, &root.key("time_zone"), findings);
    let mut facts = line::facts_of(spec, model, findings);
    let machines = line::machines_of(spec, &facts, findings);
    let reasons = reasons_of(spec, &mut facts, findings);
    let shifts = shifts::shifts_of(&spec.shifts, &root.key("shifts"), findings);
    let stops = files::stops_of(&spec.stops, &root.key("stops"), findings);
    let counts = spec
        .counts
        .as_ref()
        .map(|counts| files::counts_of(counts, &spec.stops, &mut facts, &root.key("counts"), findings));
    if findings.is_clean() {
        Some(Mapping {
            name: spec.name.clone(),
            about: spec.about.clone().unwrap_or_default(),
            digest: linewake_model::digest_of(&MappingSpec { schema: None, ..spec.clone() }),
            warnings: Vec::new(),
            facts,
            clock: Clock { zone: zone? },
            shifts: shifts?,
            machines,
            reasons,
            lists_reasons: spec.reasons.is_some(),
            stops: stops?,
            counts: match counts {
                Some(counts) => Some(counts?),
                None => None,
            },
        })
    } else {
        None
    }
}

fn time_zone(name: &str, path: &Path, findings: &mut Findings) -> Option<TimeZone> {
    let zones = TimeZoneDatabase::bundled();
    if let Ok(zone) = zones.get(name) {
        return Some(zone);
    }
    let known: Vec<String> = zones.available().map(|zone| zone.as_str().to_owned()).collect();
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let hint = match suggest::nearest(name, &known) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None => "a name of the IANA database is due, such as \"Europe/Berlin\" or \"UTC\"".to_owned(),
    };
    findings.error(path, format!("there is no time zone \"{name}\""), hint);
    None
}

/// The number of a reason, which is added if it is new; `None` if there are too many.
pub(super) fn reason_numbered(reasons: &mut Vec<String>, word: &str) -> Option<Reason> {
    if let Some(place) = reasons.iter().position(|it| it == word) {
        return u16::try_from(place).ok().map(Reason);
    }
    let number = u16::try_from(reasons.len()).ok().filter(|&number| number < u16::MAX)?;
    reasons.push(word.to_owned());
    Some(Reason(number))
}

fn reasons_of(
    spec: &MappingSpec,
    facts: &mut LineFacts,
    findings: &mut Findings,
) -> BTreeMap<String, Meaning> {
    let mut reasons = BTreeMap::new();
    for (place, it) in spec.reasons.iter().flatten().enumerate() {
        let path = Path::default().key("reasons").element(place);
        let Some(meaning) = meaning_of(it, facts, &path, findings) else { continue };
        let own = (path.key("reason"), &it.reason);
        let names = it.names.iter().flatten().enumerate();
        let names = names.map(|(place, name)| (path.key("names").element(place), name));
        for (path, name) in std::iter::once(own).chain(names) {
            let before = reasons.insert(folded(name), meaning);
            if before.is_some_and(|before| before != meaning) {
                let what = format!("\"{name}\" stands for two reasons");
                findings.error(&path, what, "each word of the list has one meaning");
            }
        }
    }
    reasons
}

fn meaning_of(
    spec: &ReasonSpec,
    facts: &mut LineFacts,
    path: &Path,
    findings: &mut Findings,
) -> Option<Meaning> {
    let effect = spec.is.unwrap_or(Effect::OwnStop);
    if spec.reason.trim().is_empty() {
        findings.error(&path.key("reason"), "a reason is due here, not a blank", "");
        return None;
    }
    let waits = matches!(effect, Effect::Starved | Effect::Blocked);
    let reason = if waits { Some(Reason::NONE) } else { reason_numbered(&mut facts.reasons, &spec.reason) };
    let Some(reason) = reason else {
        findings.error(path, "there are more reasons than can be told apart", "at most 65,000");
        return None;
    };
    match effect {
        Effect::PlannedLeftOut if !facts.left_out.contains(&reason) => facts.left_out.push(reason),
        Effect::Planned if facts.left_out.contains(&reason) => {
            let what = format!("\"{}\" is left out of planned production time elsewhere", spec.reason);
            findings.error(&path.key("is"), what, "write planned_left_out, or take another word");
        }
        _ => {}
    }
    Some(Meaning { reason, effect, whole_line: spec.whole_line.unwrap_or(false) })
}
