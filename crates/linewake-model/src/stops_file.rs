//! Stops in a file of their own: an object with one key for each station id, and the list of stops as it would stand in a
//! model. Each takes the place of the model's stop of that station and reason, or is added.

use crate::problem::{Finding, Path, Problem, Severity, Step};
use crate::spec::document::Document;
use crate::spec::line::LineSpec;
use crate::spec::station::CommonSpec;
use crate::spec_of;
use crate::splice::{Splice, key};
use jsonc_parser::ast::{Object, Value};
use std::collections::BTreeSet;

/// A model with the stops of a file in place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WithStops {
    /// Its text: comments and layout are those of the model and of the file.
    pub text: String,
    /// Station and reason of each stop that took the place of the model's.
    pub replaced: Vec<(String, String)>,
    /// Station and reason of each stop that the model did not have.
    pub added: Vec<(String, String)>,
}

/// Why the stops do not go into the model.
#[derive(Clone, Debug, PartialEq)]
pub enum StopsFileError {
    /// The file of stops is not right.
    File(Box<Problem>),
    /// The model without these stops is not right.
    Model(Vec<Problem>),
}

/// Puts the stops of a file into the text of a model. What the file does not name stays as it is. The model that comes of it
/// is to be checked like any other.
///
/// # Errors
/// The file is not of that form or names a station that the model does not have; the model does not pass the check.
pub fn with_stops(model: &str, stops: &str) -> Result<WithStops, StopsFileError> {
    let spec = spec_of(model).map_err(StopsFileError::Model)?;
    let splice = Splice::of(model).map_err(|problem| StopsFileError::Model(vec![*problem]))?;
    let document = Document::parse(stops).map_err(StopsFileError::File)?;
    let mut work = Work { file: stops, document: &document, splice, replaced: Vec::new(), added: Vec::new() };
    work.stations(&spec).map_err(|problem| StopsFileError::File(Box::new(problem)))?;
    let Work { splice, replaced, added, .. } = work;
    Ok(WithStops { text: splice.text(), replaced, added })
}

struct Work<'t> {
    file: &'t str,
    document: &'t Document<'t>,
    splice: Splice<'t>,
    replaced: Vec<(String, String)>,
    added: Vec<(String, String)>,
}

impl Work<'_> {
    fn stations(&mut self, spec: &LineSpec) -> Result<(), Problem> {
        const FORM: &str =
            "an object is due: { \"loader\": [ { \"reason\": ... } ] }, with one key for each station id";
        let document = self.document;
        let Value::Object(root) = &document.root else {
            return Err(self.wrong(&Path::default(), "this is no file of stops", FORM));
        };
        let mut named = BTreeSet::new();
        for property in &root.properties {
            let id = property.name.as_str();
            let path = Path::default().key(id);
            let place = spec.stations.iter().position(|station| station.common().id == id);
            let Some(place) = place else {
                let ids: Vec<&str> = spec.stations.iter().map(|station| station.common().id).collect();
                let hint = format!("its stations: {}", ids.join(", "));
                return Err(self.wrong(&path, &format!("the model has no station \"{id}\""), &hint));
            };
            if !named.insert(id) {
                let hint = "put all its stops into one list";
                return Err(self.wrong(&path, &format!("\"{id}\" is named twice"), hint));
            }
            let Value::Array(list) = &property.value else {
                let what = format!("the stops of \"{id}\" are no list");
                return Err(self.wrong(&path, &what, "a list is due: [ { \"reason\": ... } ]"));
            };
            let station = &spec.stations[place];
            let at = [key("stations"), Step::Element(place), key(station.tag())];
            self.stops(&at, station.common(), &list.elements, &path)?;
        }
        Ok(())
    }

    /// The stops of the station at that place of the model; `path` is that of its list in the file.
    fn stops(
        &mut self,
        at: &[Step],
        station: CommonSpec<'_>,
        stops: &[Value<'_>],
        path: &Path,
    ) -> Result<(), Problem> {
        let mut reasons = BTreeSet::new();
        let mut new = Vec::new();
        for (number, stop) in stops.iter().enumerate() {
            let path = path.element(number);
            let Some((object, reason)) = reason_of(stop) else {
                let hint =
                    "a stop is as in a model: { \"reason\": \"jam\", \"after\": ..., \"duration\": ... }";
                return Err(self.wrong(&path, "a stop without a reason", hint));
            };
            if !reasons.insert(reason.clone()) {
                let hint = "a file holds one stop for each reason of a station";
                return Err(self.wrong(&path, &format!("\"{reason}\" is there twice"), hint));
            }
            let text = &self.file[self.document.bytes_of(object)];
            let modelled = station.stops.iter().position(|stop| stop.reason == reason);
            let station_and_reason = (station.id.to_owned(), reason);
            match modelled {
                Some(number) => {
                    let stop = [at, &[key("stops"), Step::Element(number)]].concat();
                    self.splice.replace(&stop, text, "");
                    self.replaced.push(station_and_reason);
                }
                None => {
                    new.push(text);
                    self.added.push(station_and_reason);
                }
            }
        }
        self.add(at, station.stops.is_empty(), &new);
        Ok(())
    }

    /// Adds stops to the station at that place.
    fn add(&mut self, station: &[Step], is_first: bool, stops: &[&str]) {
        if stops.is_empty() {
            return;
        }
        let (list, stops) = ([station, &[key("stops")]].concat(), stops.join(", "));
        match (is_first, self.splice.has(&list)) {
            (false, _) => self.splice.add_element(&list, &stops, ""),
            (true, true) => self.splice.replace(&list, &format!("[{stops}]"), ""),
            (true, false) => {
                let id = [station, &[key("id")]].concat();
                self.splice.add_behind(&id, "stops", &format!("[{stops}]"), "");
            }
        }
    }

    fn wrong(&self, path: &Path, what: &str, hint: &str) -> Problem {
        let (what, hint) = (what.to_owned(), hint.to_owned());
        self.document.locate(Finding { severity: Severity::Error, path: path.clone(), what, hint })
    }
}

fn reason_of<'v, 't>(stop: &'v Value<'t>) -> Option<(&'v Object<'t>, String)> {
    let Value::Object(object) = stop else { return None };
    let reason = object.properties.iter().find(|property| property.name.as_str() == "reason")?;
    match &reason.value {
        Value::StringLit(text) => Some((object, text.value.to_string())),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
