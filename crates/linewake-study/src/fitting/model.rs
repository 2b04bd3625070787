//! The fitted stops as a model file has them: a fragment to be pasted, or a model in which they take the place of the
//! typed ones. Every number says where it comes from.

use linewake_kpi::study::fitting::{Attendance, Bounded, FitClock, FitResult, ReasonFit, TimesFit};
use linewake_model::problem::{Problem, Step};
use linewake_model::spec::line::LineSpec;
use linewake_model::spec::stop::AfterSpec;
use linewake_model::splice::{Splice, key};
use std::collections::BTreeMap;

/// Response times fewer than this do not replace the model's.
const LEAST_RESPONSES: u64 = 10;
/// A stop that the model expects more often than this, and that was never seen, is told.
const EXPECTED_TO_TELL: f64 = 3.0;

/// A model with the fitted stops in place.
#[derive(Clone, Debug, PartialEq)]
pub struct IntoModel {
    /// Its text.
    pub text: String,
    /// What was put in, in words.
    pub placed: Vec<String>,
    /// What was left as it was and why, and what was added.
    pub notes: Vec<String>,
}

/// The stops of each station as they stand in a model file: an object with one key for each station id.
#[must_use]
pub fn fragment(result: &FitResult) -> String {
    let mut by_station: Vec<(&str, Vec<&ReasonFit>)> = Vec::new();
    for fit in result.stops.iter().filter(|fit| fit.between.is_some()) {
        match by_station.last_mut() {
            Some((station, fits)) if *station == fit.station => fits.push(fit),
            _ => by_station.push((&fit.station, vec![fit])),
        }
    }
    let mut text = format!(
        "// Stops fitted to {} of {}: the list of each station goes under its key \"stops\" in a model file.\n{{\n",
        shifts(result),
        result.line.replace(['\n', '\r'], " ")
    );
    for (station, fits) in by_station {
        text.push_str(&format!("  {}: [\n", quoted(station)));
        for fit in fits {
            for note in fit.notes.iter().chain(warnings(fit)) {
                text.push_str(&format!("    // {}: {note}\n", fit.reason.replace(['\n', '\r'], " ")));
            }
            text.push_str(&format!("    {},\n", stop_text(fit, result, "\n      ", "\n    ")));
        }
        text.push_str("  ],\n");
    }
    text.push_str("}\n");
    text
}

/// A stop as an object; `gap` stands before each key, `end` before its brace.
fn stop_text(fit: &ReasonFit, result: &FitResult, gap: &str, end: &str) -> String {
    let Some(between) = &fit.between else { return String::new() };
    format!(
        "{{{gap}\"reason\": {},{gap}\"after\": {{ \"{}\": {} }}, /* {} */{gap}\"duration\": {}, /* {} */{gap}\"attended\": {}{end}}}",
        quoted(&fit.reason),
        clock_key(fit.clock),
        between.chosen.json,
        origin(between, result),
        fit.duration.chosen.json,
        origin(&fit.duration, result),
        fit.attendance == Attendance::Attended,
    )
}

fn warnings(fit: &ReasonFit) -> impl Iterator<Item = &String> {
    let of_between = fit.between.iter().flat_map(|between| &between.warnings);
    of_between.chain(&fit.duration.warnings).map(|warning| &warning.words)
}

fn clock_key(clock: FitClock) -> &'static str {
    match clock {
        FitClock::RunningTime => "running_time",
        FitClock::CalendarTime => "calendar_time",
        FitClock::Count(word) => word,
    }
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

fn shifts(result: &FitResult) -> String {
    if result.shifts == 1 { "1 shift".to_owned() } else { format!("{} shifts", result.shifts) }
}

/// Where a law comes from, in one line.
fn origin(fit: &TimesFit, result: &FitResult) -> String {
    let cut_off = if fit.cut_off > 0 { format!(" and {} cut off", fit.cut_off) } else { String::new() };
    let mean = &fit.chosen.mean;
    let kind = if fit.complete == 1 { "time" } else { "times" };
    format!(
        "{}: {}, fitted to {} {kind}{cut_off} in {}; mean {}",
        fit.what,
        fit.chosen.family,
        fit.complete,
        shifts(result),
        bounded(mean, fit.unit, result.level),
    )
}

fn bounded(mean: &Bounded, unit: &str, level: f64) -> String {
    let figure = super::typed::digits;
    let three = |value: f64| figure(format!("{value:.2e}").parse().unwrap_or(value));
    let shown = three(mean.value);
    match (mean.low, mean.high) {
        (Some(low), Some(high)) => {
            format!("{shown} {unit} ({} to {} at {} %)", three(low), three(high), figure(level * 100.0))
        }
        _ => format!("{shown} {unit}"),
    }
}

/// Puts the fitted stops into the text of a model file. Consumables given as a roll or a magazine keep theirs, as do stops
/// in groups; what the logs do not show stays as it is.
///
/// # Errors
/// The model does not pass the check, before or after.
pub fn into_model(text: &str, spec: &LineSpec, result: &FitResult) -> Result<IntoModel, Vec<Problem>> {
    let splice = Splice::of(text).map_err(|problem| vec![*problem])?;
    let mut work = Work { splice, result, placed: Vec::new(), notes: Vec::new() };
    let fits: BTreeMap<(&str, &str), &ReasonFit> =
        result.stops.iter().map(|fit| ((fit.station.as_str(), fit.reason.as_str()), fit)).collect();
    let mut used: Vec<(&str, &str)> = Vec::new();
    for (place, station) in spec.stations.iter().enumerate() {
        let common = station.common();
        let at = [key("stations"), Step::Element(place), key(station.tag())];
        for (number, stop) in common.stops.iter().enumerate() {
            let mut at = at.to_vec();
            at.extend([key("stops"), Step::Element(number)]);
            match fits.get(&(common.id, stop.reason.as_str())) {
                Some(fit) => {
                    used.push((&fit.station, &fit.reason));
                    work.stop(&at, stop, fit);
                }
                None => work.never_seen(common.id, &stop.reason, &stop.after),
            }
        }
        for name in ["rejects_in_row", "bin_full"] {
            if let Some(fit) = fits.get(&(common.id, name)) {
                let mut at = at.to_vec();
                at.push(key(name));
                if work.splice.has(&at) {
                    at.push(key("duration"));
                    used.push((&fit.station, &fit.reason));
                    work.value(&at, &fit.duration, &format!("{}, {name}", common.id));
                }
            }
        }
        for fit in result.stops.iter().filter(|fit| fit.station == common.id) {
            let is_known = used.contains(&(fit.station.as_str(), fit.reason.as_str()));
            if !is_known && fit.between.is_some() {
                used.push((&fit.station, &fit.reason));
                work.new_stop(&at, fit, common.stops.is_empty());
            }
        }
    }
    for fit in &result.stops {
        if !used.contains(&(fit.station.as_str(), fit.reason.as_str())) {
            work.notes.push(format!(
                "{}, {}: not put into the model, which has no place for it",
                fit.station, fit.reason
            ));
        }
    }
    work.response(spec);
    work.weights(spec);
    let origin = format!("Stops fitted to {} of {}.", shifts(result), result.line);
    match &spec.about {
        Some(about) => work.splice.replace(&[key("about")], &quoted(&format!("{about} {origin}")), ""),
        None => work.splice.add_behind(&[key("name")], "about", &quoted(&origin), ""),
    }
    let (placed, notes, text) = (work.placed, work.notes, work.splice.text());
    linewake_model::parse(&text)?;
    Ok(IntoModel { text, placed, notes })
}

struct Work<'t> {
    splice: Splice<'t>,
    result: &'t FitResult,
    placed: Vec<String>,
    notes: Vec<String>,
}

impl Work<'_> {
    fn value(&mut self, at: &[Step], fit: &TimesFit, words: &str) {
        self.splice.replace(at, &fit.chosen.json, &origin(fit, self.result));
        self.placed.push(format!("{words}: {} from {} times", fit.what, fit.complete));
    }

    fn stop(&mut self, at: &[Step], stop: &linewake_model::spec::stop::StopSpec, fit: &ReasonFit) {
        let words = format!("{}, {}", fit.station, fit.reason);
        let below = |name: &str| {
            let mut at = at.to_vec();
            at.push(key(name));
            at
        };
        match (&fit.between, &stop.after) {
            (_, AfterSpec::Roll(_) | AfterSpec::Magazine(_)) => self.notes.push(format!(
                "{words}: roll or magazine kept as bought; {}",
                fit.between.as_ref().map_or(
                    "the log does not count its cycles".to_owned(),
                    |between| format!(
                        "the log shows one in {} {}",
                        super::typed::digits(between.mean.round()),
                        between.unit
                    )
                )
            )),
            (Some(_), _) if stop.group.is_some() => {
                self.notes.push(format!("{words}: frequency kept as modelled, for the stop is in a group"));
            }
            (Some(between), _) => {
                let value = format!("{{ \"{}\": {} }}", clock_key(fit.clock), between.chosen.json);
                self.splice.replace(&below("after"), &value, &origin(between, self.result));
                self.placed.push(format!("{words}: {} from {} times", between.what, between.complete));
            }
            (None, _) => self.notes.push(format!("{words}: frequency kept as modelled")),
        }
        self.value(&below("duration"), &fit.duration, &words);
        let attended = fit.attendance == Attendance::Attended;
        if attended != stop.attended {
            let why = if fit.attendance == Attendance::NotTold {
                "the log does not tell waiting from repair: the duration takes in both"
            } else {
                "as the log tells it"
            };
            self.splice.replace(&below("attended"), &attended.to_string(), why);
        }
    }

    fn never_seen(&mut self, station: &str, reason: &str, after: &AfterSpec) {
        let watched = self.result.watched_s;
        // At most: as if the station had run all the time.
        let expected = match after {
            AfterSpec::CalendarTime(law) | AfterSpec::RunningTime(law) => {
                mean_of(law).map(|mean| watched / mean)
            }
            _ => None,
        };
        let words = match expected {
            Some(expected) if expected > EXPECTED_TO_TELL => format!(
                "; the model expects up to {} in that time, so look whether the log names it otherwise",
                super::typed::digits(expected.round())
            ),
            _ => String::new(),
        };
        self.notes.push(format!("{station}, {reason}: not in the logs, kept as modelled{words}"));
    }

    fn new_stop(&mut self, station: &[Step], fit: &ReasonFit, is_first: bool) {
        let stop = stop_text(fit, self.result, " ", " ");
        let why = "not in the model before";
        let mut at = station.to_vec();
        if is_first {
            at.push(key("id"));
            self.splice.add_behind(&at, "stops", &format!("[{stop}]"), why);
        } else {
            at.push(key("stops"));
            self.splice.add_element(&at, &stop, why);
        }
        self.notes.push(format!("{}, {}: added to the model", fit.station, fit.reason));
    }

    fn response(&mut self, spec: &LineSpec) {
        let Some(response) = &self.result.response else { return };
        if spec.crew.is_none() {
            return;
        }
        if spec.stations.iter().any(|station| station.common().response.is_some()) {
            self.notes.push("response kept as modelled: it differs between stations of the model".to_owned());
        } else if response.complete < LEAST_RESPONSES {
            self.notes.push(format!("response kept as modelled: only {} plain calls", response.complete));
        } else {
            self.value(&[key("crew"), key("response")], response, "crew");
        }
    }

    fn weights(&mut self, spec: &LineSpec) {
        let Some(weights) = &self.result.weights else { return };
        let Some(place) = spec.stations.iter().position(|station| station.tag() == "portioner") else {
            self.notes.push("portion weights: the model has no portioner".to_owned());
            return;
        };
        let at = [key("stations"), Step::Element(place), key("portioner"), key("weight")];
        let below = |name: &str| {
            let mut at = at.to_vec();
            at.push(key(name));
            at
        };
        let grams = |bounded: &Bounded| format!("\"{} g\"", super::typed::digits(bounded.value));
        let from = |bounded: &Bounded| {
            format!("fitted to {} packs: {}", weights.packs, self::bounded(bounded, "g", self.result.level))
        };
        let typed = spec.stations.iter().find_map(|station| match station {
            linewake_model::spec::station::StationSpec::Portioner(spec) => Some(&spec.weight),
            _ => None,
        });
        self.splice.replace(&below("mean"), &grams(&weights.mean_g), &from(&weights.mean_g));
        self.splice.replace(&below("sd"), &grams(&weights.sd_g), &from(&weights.sd_g));
        if let Some(batch) = &weights.sd_batch_g {
            if typed.is_some_and(|weight| weight.sd_batch.is_some()) {
                self.splice.replace(&below("sd_batch"), &grams(batch), &from(batch));
            } else {
                self.splice.add_behind(&below("sd"), "sd_batch", &grams(batch), &from(batch));
            }
        }
        if let Some(drift) = &weights.drift
            && let Some(time) = drift.correlation_s
        {
            let value = format!(
                "{{ \"sd\": {}, \"correlation_time\": \"{} s\" }}",
                grams(&drift.sd_g),
                super::typed::digits(time)
            );
            if typed.is_some_and(|weight| weight.drift.is_some()) {
                self.splice.replace(&below("drift"), &value, &from(&drift.sd_g));
            } else {
                self.splice.add_behind(&below("mean"), "drift", &value, &from(&drift.sd_g));
            }
        }
        self.placed.push(format!("portioner: weights from {} packs", weights.packs));
    }
}

/// The mean of a law as typed, where it is given in a way that tells it at once.
fn mean_of(law: &linewake_model::spec::distribution::TimeDistribution) -> Option<f64> {
    use linewake_model::spec::distribution::DistributionSpec as Spec;
    match law {
        Spec::Constant(value) => Some(value.value()),
        Spec::Exponential(spec) => spec.mean.map(|mean| mean.value()),
        Spec::Weibull(spec) => spec.mean.map(|mean| mean.value()),
        Spec::Lognormal(spec) => spec.mean.map(|mean| mean.value()),
        Spec::Gamma(spec) => spec.mean.map(|mean| mean.value()),
        _ => None,
    }
}
