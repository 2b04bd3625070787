//! Stated uncertainties: what they are of must be there and have a size.

use super::Checker;
use crate::change::{ModelTree, relative_to};
use crate::line::Uncertainty;
use crate::problem::Path;

impl Checker<'_> {
    /// The stated uncertainties, each of a value that exists.
    pub(super) fn uncertainty(&mut self) -> Vec<Uncertainty> {
        let Some(stated) = self.spec.uncertainty.as_deref().filter(|stated| !stated.is_empty()) else {
            return Vec::new();
        };
        let tree = ModelTree::of(self.spec);
        let root = Path::default().key("uncertainty");
        let mut found: Vec<Uncertainty> = Vec::new();
        for (number, spec) in stated.iter().enumerate() {
            let place = root.element(number);
            let path = match tree.full_path(&spec.path) {
                Ok(path) => path,
                Err(error) => {
                    let hint = format!("did you mean \"{}\"?", error.nearest);
                    let what = format!("the model has no \"{}\"", error.path);
                    self.findings.error(&place.key("path"), what, hint);
                    continue;
                }
            };
            if let Err(error) = tree.is_scalable(&path) {
                self.findings.error(
                    &place.key("path"),
                    error.to_string(),
                    "name a quantity or a distribution",
                );
                continue;
            }
            if found.iter().any(|before| before.path == path) {
                let what = format!("the uncertainty of {path} is stated twice");
                self.findings.error(&place.key("path"), what, "keep one of the two");
                continue;
            }
            let value = tree.value(&path).unwrap_or_default();
            let Some((relative, stated)) = self.half_range(spec, &value, &place) else { continue };
            found.push(Uncertainty { path, value, relative, stated });
        }
        found
    }

    fn half_range(
        &mut self,
        spec: &crate::spec::uncertainty::UncertaintySpec,
        value: &str,
        place: &Path,
    ) -> Option<(f64, String)> {
        let (relative, stated, key) = match (&spec.relative, &spec.plus_minus) {
            (Some(share), None) => (share.value(), per_cent(share.value()), "relative"),
            (None, Some(amount)) => match relative_to(&amount.text(), value) {
                Ok(relative) => (relative, amount.text(), "plus_minus"),
                Err(what) => {
                    let hint = "give the half range in the unit of the value, or as \"relative\"";
                    self.findings.error(&place.key("plus_minus"), what, hint);
                    return None;
                }
            },
            _ => {
                let what = "the half range is to be given once";
                self.findings.error(place, what, "give either \"relative\" or \"plus_minus\"");
                return None;
            }
        };
        if !(relative > 0.0 && relative < 1.0) {
            let what = format!("a half range of {} of the value cannot be", per_cent(relative));
            self.findings.error(&place.key(key), what, "above 0 and below the value itself");
            return None;
        }
        Some((relative, stated))
    }
}

/// A share for people.
fn per_cent(share: f64) -> String {
    let number: f64 = format!("{:.11e}", share * 100.0).parse().unwrap_or(share);
    format!("{number} %")
}
