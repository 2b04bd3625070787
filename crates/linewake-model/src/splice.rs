//! Changing values of a model file in its text: all else, comments and layout, stays as it was typed.

use crate::problem::{Finding, Path, Problem, Severity, Step};
use crate::spec::document::Document;
use std::ops::Range;

/// A model text with changes to be made.
pub struct Splice<'t> {
    text: &'t str,
    document: Document<'t>,
    /// Bytes to be replaced, and by what.
    changes: Vec<(Range<usize>, String)>,
}

/// A place: keys and list places from the root.
fn path(steps: &[Step]) -> Path {
    Path(steps.to_vec())
}

/// A key of a model file.
#[must_use]
pub fn key(name: &str) -> Step {
    Step::Key(name.to_owned())
}

impl<'t> Splice<'t> {
    /// A text that is to be changed.
    ///
    /// # Errors
    /// The text is no JSON.
    pub fn of(text: &'t str) -> Result<Self, Box<Problem>> {
        Ok(Self { text, document: Document::parse(text)?, changes: Vec::new() })
    }

    /// Where the value stands.
    fn span(&self, steps: &[Step]) -> Range<usize> {
        let (what, hint) = (String::new(), String::new());
        self.document.locate(Finding { severity: Severity::Error, path: path(steps), what, hint }).span
    }

    /// Whether a value stands there.
    #[must_use]
    pub fn has(&self, steps: &[Step]) -> bool {
        self.document.span_of(&path(steps)).is_some()
    }

    /// Puts `value` in the place of the value there, with a comment after it.
    pub fn replace(&mut self, steps: &[Step], value: &str, comment: &str) {
        let span = self.span(steps);
        self.changes.push((span, format!("{value}{}", in_comment(comment))));
    }

    /// Adds a key right behind the value there, which stands in an object.
    pub fn add_behind(&mut self, steps: &[Step], name: &str, value: &str, comment: &str) {
        let end = self.span(steps).end;
        self.changes.push((end..end, format!(", \"{name}\": {value}{}", in_comment(comment))));
    }

    /// Adds an element at the front of the list there, which is not empty.
    pub fn add_element(&mut self, steps: &[Step], value: &str, comment: &str) {
        let start = self.span(steps).start + 1;
        self.changes.push((start..start, format!(" {value}{},", in_comment(comment))));
    }

    /// The text with all changes.
    #[must_use]
    pub fn text(mut self) -> String {
        // Those of one place in the order in which they were asked for.
        self.changes.sort_by_key(|(span, _)| (span.start, span.end));
        let mut text = String::with_capacity(self.text.len() + 4096);
        let mut at = 0;
        for (span, new) in &self.changes {
            text.push_str(&self.text[at..span.start.max(at)]);
            text.push_str(new);
            at = span.end.max(at);
        }
        text.push_str(&self.text[at..]);
        text
    }
}

/// Nothing in it can end the comment.
fn in_comment(words: &str) -> String {
    if words.is_empty() { String::new() } else { format!(" /* {} */", words.replace("*/", "* /")) }
}
