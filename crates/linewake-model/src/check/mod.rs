//! From the model file as typed to a checked line: every rule, all problems at once.

mod composition;
mod distribution;
mod figures;
mod former;
mod gate;
mod names;
mod shift;
mod station;
mod stop;
mod targets;
mod uncertainty;
mod warnings;

use crate::defaults;
use crate::line::{Line, OwnDefect};
use crate::problem::{Findings, Path};
use crate::spec::line::LineSpec;
use crate::spec::station::StationSpec;
use crate::station::Station;
use names::ReasonTable;

/// Checks the model rule by rule; what is wrong is noted, and the check goes on.
struct Checker<'s> {
    spec: &'s LineSpec,
    findings: Findings,
    reasons: ReasonTable,
    /// A stop that needs an operator, if there is one: where.
    attended: Option<Path>,
    /// Portions in a pack: loads to a zone.
    portions_per_pack: u32,
    /// The reader found no error.
    is_well_read: bool,
}

/// The line of a model, with what was found; it is worth something only if no error was found. `is_well_read`: the
/// reader found none either; only then are there warnings.
pub(crate) fn line_of(spec: &LineSpec, digest: String, is_well_read: bool) -> (Line, Findings) {
    let mut checker = Checker {
        spec,
        findings: Findings::default(),
        reasons: ReasonTable::new(),
        attended: None,
        portions_per_pack: portions_per_pack(spec),
        is_well_read,
    };
    let line = checker.line(digest);
    (line, checker.findings)
}

/// Where the stations stand in the model.
fn station_path(place: usize, spec: &StationSpec) -> Path {
    Path::default().key("stations").element(place).key(spec.tag())
}

fn portions_per_pack(spec: &LineSpec) -> u32 {
    let loads = spec.stations.iter().find_map(|station| match station {
        StationSpec::Loader(loader) => loader.loads_per_zone,
        _ => None,
    });
    loads.unwrap_or(1)
}

impl Checker<'_> {
    fn line(&mut self, digest: String) -> Line {
        let (spec, root) = (self.spec, Path::default());
        if spec.model_version != defaults::MODEL_VERSION {
            self.findings.error(
                &root.key("model_version"),
                format!("this program does not know model version {}", spec.model_version),
                format!("it reads version {}; use a newer program for a newer file", defaults::MODEL_VERSION),
            );
        }
        if spec.name.trim().is_empty() {
            self.findings.error(&root.key("name"), "the line has no name", "write a name");
        } else if spec.name.chars().any(char::is_control) {
            self.findings.error(&root.key("name"), "the name has control characters", "write it on one line");
        }
        let stops: usize = spec.stations.iter().map(|station| station.common().stops.len()).sum();
        let reasons = stops + spec.defects.as_ref().map_or(0, Vec::len);
        if reasons > defaults::MOST_REASONS {
            let what = format!("{reasons} stops and defects are too many");
            self.findings.error(&root.key("stations"), what, format!("at most {}", defaults::MOST_REASONS));
        }
        self.station_ids();
        self.composition();
        let shift = self.shift();
        let own_defects = self.own_defects();
        let stations: Vec<Station> =
            spec.stations.iter().enumerate().map(|(place, station)| self.station(place, station)).collect();
        let constraint = self.constraint(&stations);
        let line = Line {
            name: spec.name.clone(),
            about: spec.about.clone().unwrap_or_default(),
            digest,
            design_rate_per_min: self.rate(spec.design_rate, &root.key("design_rate")),
            constraint,
            short_stop_limit: spec
                .short_stop_limit
                .map_or(defaults::SHORT_STOP_LIMIT, |limit| self.time(limit, &root.key("short_stop_limit"))),
            crew: self.crew(),
            shift,
            own_defects,
            trade: self.trade(),
            uncertainty: self.uncertainty(),
            stations,
            reasons: std::mem::take(&mut self.reasons).into_names(),
        };
        self.across_stations(&line);
        if self.is_well_read && self.findings.is_clean() {
            self.warnings(&line);
        }
        line
    }

    fn own_defects(&mut self) -> Vec<OwnDefect> {
        let root = Path::default().key("defects");
        let defects = self.spec.defects.as_deref().unwrap_or_default();
        let mut own: Vec<OwnDefect> = Vec::new();
        for (place, defect) in defects.iter().enumerate() {
            let path = root.element(place);
            let reason = self.own_reason(&defect.name, "defect", &path.key("name"));
            if own.iter().any(|before| before.reason == reason) {
                self.findings.error(
                    &path.key("name"),
                    format!("there are two defects \"{}\"", defect.name),
                    "give each defect a name of its own",
                );
            }
            let probability = self.probability(defect.probability, &path.key("probability"));
            own.push(OwnDefect { reason, probability });
        }
        own
    }
}

#[cfg(test)]
mod tests;
