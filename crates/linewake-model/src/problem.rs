//! What is wrong with a model file (or another JSON file of ours), where, and what would be right.

use std::fmt;
use std::ops::Range;

/// A problem of a model file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Whether the model can be run all the same.
    pub severity: Severity,
    /// Line in the file, from 1.
    pub line: usize,
    /// Column in the line, in characters, from 1.
    pub column: usize,
    /// The place in the file, in bytes: what a marker underlines.
    pub span: Range<usize>,
    /// Where in the model, as keys and list places from 0: `stations[3].loader.array_rows`. Empty for the whole file.
    pub path: String,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub hint: String,
}

/// How much a problem matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The model cannot be run.
    Error,
    /// The model can be run, and does perhaps not say what was meant.
    Warning,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Error => "error",
            Self::Warning => "warning",
        })
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}: ", self.line, self.column, self.severity)?;
        if !self.path.is_empty() {
            write!(f, "{}: ", self.path)?;
        }
        f.write_str(&self.what)?;
        if !self.hint.is_empty() {
            write!(f, "; {}", self.hint)?;
        }
        Ok(())
    }
}

/// One step of a [`Path`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// The value of a key.
    Key(String),
    /// The element of a list, from 0.
    Element(usize),
}

/// A place in the model: keys and list places from the root.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Path(pub Vec<Step>);

impl Path {
    /// The value of `key` here.
    pub fn key(&self, key: &str) -> Self {
        self.then(Step::Key(key.to_owned()))
    }

    /// The element `place` of the list here.
    pub fn element(&self, place: usize) -> Self {
        self.then(Step::Element(place))
    }

    fn then(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, step) in self.0.iter().enumerate() {
            match step {
                Step::Key(key) if place == 0 => f.write_str(key)?,
                Step::Key(key) => write!(f, ".{key}")?,
                Step::Element(element) => write!(f, "[{element}]")?,
            }
        }
        Ok(())
    }
}

/// A problem that does not know its line yet.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Whether the file can be used all the same.
    pub severity: Severity,
    /// Where.
    pub path: Path,
    /// What is wrong.
    pub what: String,
    /// What would be right; may be empty.
    pub hint: String,
}

/// Findings as they come up.
#[derive(Debug, Default)]
pub struct Findings(pub Vec<Finding>);

impl Findings {
    /// Notes an error.
    pub fn error(&mut self, path: &Path, what: impl Into<String>, hint: impl Into<String>) {
        self.note(Severity::Error, path, what.into(), hint.into());
    }

    /// Notes a warning.
    pub fn warning(&mut self, path: &Path, what: impl Into<String>, hint: impl Into<String>) {
        self.note(Severity::Warning, path, what.into(), hint.into());
    }

    /// Whether no error is among them.
    pub fn is_clean(&self) -> bool {
        self.0.iter().all(|finding| finding.severity != Severity::Error)
    }

    fn note(&mut self, severity: Severity, path: &Path, what: String, hint: String) {
        self.0.push(Finding { severity, path: path.clone(), what, hint });
    }
}
