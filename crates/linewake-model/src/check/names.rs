//! Names: ids of stations, reasons of stops and rejects, names of defects.

use super::{Checker, station_path};
use crate::defaults;
use crate::problem::Path;
use crate::stop::{FIXED_REASONS, Reason};

/// Longest id or reason, in characters.
const LONGEST_NAME: usize = 60;

/// All reasons of a line: the fixed ones, then those of the model.
#[derive(Debug, Default)]
pub(super) struct ReasonTable(Vec<String>);

impl ReasonTable {
    pub(super) fn new() -> Self {
        Self(FIXED_REASONS.iter().map(|name| (*name).to_owned()).collect())
    }

    /// The reason of that name, entered if it is new.
    fn enter(&mut self, name: &str) -> Reason {
        let place = self.0.iter().position(|known| known == name).unwrap_or_else(|| {
            self.0.push(name.to_owned());
            self.0.len() - 1
        });
        Reason(u16::try_from(place).unwrap_or(u16::MAX))
    }

    pub(super) fn into_names(self) -> Vec<String> {
        self.0
    }
}

/// The fixed reason that is written so, blanks, hyphens and capitals apart: "held in seal" is held_in_seal.
pub(super) fn fixed_reason(name: &str) -> Option<Reason> {
    let plain = |name: &str| name.trim().to_lowercase().replace([' ', '-'], "_");
    let name = plain(name);
    let place = FIXED_REASONS.iter().skip(1).position(|fixed| *fixed == name)? + 1;
    u16::try_from(place).ok().map(Reason)
}

impl Checker<'_> {
    /// A reason of the model's own, for a stop, a defect or a scrap; it must not look like a fixed one.
    pub(super) fn own_reason(&mut self, name: &str, what: &str, path: &Path) -> Reason {
        if let Some(fixed) = fixed_reason(name) {
            let fixed = FIXED_REASONS[usize::from(fixed.0)];
            self.findings.error(
                path,
                format!("\"{name}\" is the name of something that every model has ({fixed})"),
                format!("give the {what} another name"),
            );
        } else {
            self.name(name, what, path);
        }
        self.reasons.enter(name)
    }

    /// A fixed reason, or one of the model's own.
    pub(super) fn reason(&mut self, name: &str, path: &Path) -> Reason {
        fixed_reason(name).unwrap_or_else(|| self.own_reason(name, "reason", path))
    }

    /// Ids: there are stations, each has an id that can stand in a log, and no two have the same.
    pub(super) fn station_ids(&mut self) {
        let spec = self.spec;
        let root = Path::default().key("stations");
        if spec.stations.is_empty() {
            self.findings.error(&root, "the line has no stations", "list them in line order");
        }
        if spec.stations.len() > defaults::MOST_STATIONS {
            let most = defaults::MOST_STATIONS;
            self.findings.error(
                &root,
                format!("{} stations are too many", spec.stations.len()),
                format!("at most {most}"),
            );
        }
        for (place, station) in spec.stations.iter().enumerate() {
            let id = station.common().id;
            let path = station_path(place, station).key("id");
            self.name(id, "station", &path);
            let before = spec.stations[..place].iter().position(|other| other.common().id == id);
            if let Some(before) = before {
                self.findings.error(
                    &path,
                    format!("station {} is called \"{id}\" as well", before + 1),
                    "give each station an id of its own",
                );
            }
        }
    }

    fn name(&mut self, name: &str, what: &str, path: &Path) {
        let hint = format!("a {what} needs a name of letters, digits, blanks, \"-\", \"_\" or \".\"");
        let allowed = |c: char| c.is_alphanumeric() || " -_.,()+&%'".contains(c);
        if name.trim().is_empty() {
            self.findings.error(path, "the name is empty", hint);
        } else if name.trim() != name {
            self.findings.error(path, format!("\"{name}\" begins or ends with a blank"), "take it away");
        } else if let Some(odd) = name.chars().find(|c| !allowed(*c)) {
            self.findings.error(path, format!("{odd:?} cannot stand in a name"), hint);
        } else if name.chars().count() > LONGEST_NAME {
            self.findings.error(path, "the name is too long", format!("at most {LONGEST_NAME} characters"));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fixed_names_are_known_in_other_writings() {
        assert_eq!(fixed_reason("held in seal"), Some(Reason::HELD_IN_SEAL));
        assert_eq!(fixed_reason("Bin-full"), Some(Reason::BIN_FULL));
        assert_eq!(fixed_reason(""), None);
        assert_eq!(fixed_reason("blade jam"), None);
    }
}
