//! Changing any value of a model by its path: `stations[table].capacity`, `crew.operators`.
//!
//! A [`ModelTree`] is a model file as a tree. What was changed is checked like any other model, by [`ModelTree::check`].

mod amount;
mod inputs;
mod path;
mod text;
mod values;

pub use amount::{number_and_unit, number_of, relative_to};
pub use inputs::{Input, InputKind};
pub use path::PathError;
pub use values::{ValuesError, values_of};

use crate::problem::Problem;
use crate::spec::line::LineSpec;
use crate::{Checked, parse, to_json};
use path::Place;
use serde_json::Value;
use std::fmt;

/// A model as a tree of keys, lists and values.
///
/// A path is written as in the messages of the model check, `stations[3].loader.take`, with some freedom: an element of a
/// list may be named by its id, reason or name (`stations[loader].take`, `stations[former].stops[web tracking]`), and a
/// key that only says what a value is (`loader`, `lognormal`) may be left out.
#[derive(Clone, Debug, PartialEq)]
pub struct ModelTree {
    root: Value,
}

/// Why a model could not be changed.
#[derive(Clone, Debug, PartialEq)]
pub enum ChangeError {
    /// There is no such place.
    Path(PathError),
    /// The value there cannot be scaled; path and reason.
    NotScalable(String, String),
    /// The changed model does not pass the check: all its errors.
    Invalid(Vec<Problem>),
}

impl fmt::Display for ChangeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Path(error) => error.fmt(f),
            Self::NotScalable(path, why) => write!(f, "{path} cannot be made larger or smaller: {why}"),
            Self::Invalid(problems) => {
                f.write_str("the changed model is not right")?;
                for problem in problems {
                    write!(f, "; {}: {}", problem.path, problem.what)?;
                    if !problem.hint.is_empty() {
                        write!(f, " ({})", problem.hint)?;
                    }
                }
                Ok(())
            }
        }
    }
}

impl std::error::Error for ChangeError {}

impl From<PathError> for ChangeError {
    fn from(error: PathError) -> Self {
        Self::Path(error)
    }
}

impl ModelTree {
    /// The tree of a model as typed.
    #[must_use]
    pub fn of(spec: &LineSpec) -> Self {
        Self { root: serde_json::from_str(&to_json(spec)).unwrap_or(Value::Null) }
    }

    /// The tree of the text of a model file.
    ///
    /// # Errors
    /// As [`crate::spec_of`].
    pub fn parse(text: &str) -> Result<Self, Vec<Problem>> {
        crate::spec_of(text).map(|spec| Self::of(&spec))
    }

    /// The model as strict JSON.
    #[must_use]
    pub fn text(&self) -> String {
        self.root.to_string()
    }

    /// Checks the model.
    ///
    /// # Errors
    /// [`ChangeError::Invalid`] with all problems that are errors.
    pub fn check(&self) -> Result<Checked, ChangeError> {
        parse(&self.text()).map_err(|mut problems| {
            problems.retain(|problem| problem.severity == crate::problem::Severity::Error);
            ChangeError::Invalid(problems)
        })
    }

    /// This tree, which came about from `before` by changes, written into the text that `before` was read from: comments,
    /// blanks and the order of keys stay. Where more than values differ it is strict JSON in lines.
    #[must_use]
    pub fn written_into(&self, text: &str, before: &Self) -> String {
        text::written_into(text, before, self)
    }

    /// The full path of a place, elements of lists by name where they have one.
    ///
    /// # Errors
    /// A path that is malformed or leads nowhere; the error names the nearest path that does.
    pub fn full_path(&self, path: &str) -> Result<String, PathError> {
        Ok(self.find(path)?.shown(&self.root))
    }

    /// Id of the station that the path leads into, if it leads into one.
    ///
    /// # Errors
    /// As [`Self::full_path`].
    pub fn station_of(&self, path: &str) -> Result<Option<String>, PathError> {
        Ok(self.find(path)?.station(&self.root))
    }

    /// The value there, as typed: a text without its quotes, anything else as JSON.
    ///
    /// # Errors
    /// As [`Self::full_path`].
    pub fn value(&self, path: &str) -> Result<String, PathError> {
        let place = self.find(path)?;
        Ok(place.get(&self.root).map_or_else(String::new, typed))
    }

    /// Sets the value there, given as JSON or as a bare word or quantity: `12`, `4.5 s`, `unlimited`, `true`. A key that may
    /// be left out, and is, can be set too.
    ///
    /// # Errors
    /// As [`Self::full_path`]. The value itself is looked at by [`Self::check`] only.
    pub fn set(&mut self, path: &str, value: &str) -> Result<(), PathError> {
        let new =
            serde_json::from_str(value.trim()).unwrap_or_else(|_| Value::String(value.trim().to_owned()));
        if let Ok(place) = self.find(path) {
            if let Some(old) = place.get_mut(&mut self.root) {
                *old = new;
            }
            return Ok(());
        }
        // Perhaps a key that was left out: then the reader of model files knows it.
        let (place, key) = self.find_parent(path)?;
        let mut tried = self.clone();
        if let Some(Value::Object(object)) = place.get_mut(&mut tried.root) {
            object.insert(key.clone(), new);
        }
        let unknown = match parse(&tried.text()) {
            Ok(_) => false,
            Err(problems) => problems.iter().any(|it| {
                it.what == format!("unknown key \"{key}\"")
                    || it.what.starts_with(&format!("\"{key}\" is no "))
            }),
        };
        if unknown {
            return Err(self.no_such(path));
        }
        *self = tried;
        Ok(())
    }

    /// Takes out an element of a list or a key that may be left out.
    ///
    /// # Errors
    /// As [`Self::full_path`].
    pub fn remove(&mut self, path: &str) -> Result<(), PathError> {
        let place = self.find(path)?;
        place.remove(&mut self.root);
        Ok(())
    }

    /// Multiplies the value there: a number, a quantity, or a distribution as a whole (its shape stays).
    ///
    /// # Errors
    /// As [`Self::full_path`], and [`ChangeError::NotScalable`] for what is no quantity.
    pub fn scale(&mut self, path: &str, factor: f64) -> Result<(), ChangeError> {
        let place = self.find(path)?;
        let shown = place.shown(&self.root);
        let key = place.last_key();
        let Some(value) = place.get_mut(&mut self.root) else { return Ok(()) };
        amount::scale(value, key.as_deref(), factor)
            .map_err(|why| ChangeError::NotScalable(shown, why.to_owned()))
    }

    /// Multiplies the value there and checks the model. A count is rounded, by at least one piece; a share stays at 1 or
    /// below. The second figure is what the value was really multiplied by.
    ///
    /// # Errors
    /// As [`Self::scale`] and [`Self::check`].
    pub fn scaled(&self, path: &str, factor: f64) -> Result<(Self, Checked, f64), ChangeError> {
        self.scaled_to(path, factor, true)
    }

    /// The same for a value that is drawn: a count is rounded to the nearest, which may be the one before.
    ///
    /// # Errors
    /// As [`Self::scaled`].
    pub fn scaled_to_nearest(&self, path: &str, factor: f64) -> Result<(Self, Checked, f64), ChangeError> {
        self.scaled_to(path, factor, false)
    }

    fn scaled_to(
        &self,
        path: &str,
        factor: f64,
        must_differ: bool,
    ) -> Result<(Self, Checked, f64), ChangeError> {
        let mut tree = self.clone();
        tree.scale(path, factor)?;
        let first = match tree.check() {
            Ok(checked) => return Ok((tree, checked, factor)),
            Err(error) => error,
        };
        let place = self.find(path)?;
        let Some(before) = place.get(&self.root) else { return Err(first) };
        let Some(nearest) = amount::nearest_allowed(before, factor, must_differ) else { return Err(first) };
        let mut tree = self.clone();
        if let Some(value) = place.get_mut(&mut tree.root) {
            *value = nearest.value;
        }
        match tree.check() {
            Ok(checked) => Ok((tree, checked, nearest.factor)),
            Err(_) => Err(first),
        }
    }

    /// Every quantity of the model that a study may move, in the order of the model.
    #[must_use]
    pub fn inputs(&self) -> Vec<Input> {
        inputs::of(&self.root)
    }

    /// Whether the place holds something that can be scaled.
    ///
    /// # Errors
    /// As [`Self::scale`].
    pub fn is_scalable(&self, path: &str) -> Result<(), ChangeError> {
        self.clone().scale(path, 1.0)
    }

    fn find(&self, path: &str) -> Result<Place, PathError> {
        match Place::find(&self.root, path) {
            Some(place) => Ok(place),
            None => Err(self.no_such(path)),
        }
    }

    fn find_parent(&self, path: &str) -> Result<(Place, String), PathError> {
        Place::find_parent(&self.root, path).ok_or_else(|| self.no_such(path))
    }

    fn no_such(&self, path: &str) -> PathError {
        PathError::of(path, &self.root)
    }
}

/// A value as a person types it.
fn typed(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests;
