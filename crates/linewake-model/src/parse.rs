//! Reading and writing model files, with every problem at its place.

use crate::check::line_of;
use crate::line::Line;
use crate::problem::{Problem, Severity};
use crate::spec::document::Document;
use crate::spec::line::LineSpec;
use crate::spec::typed::{Reader, Typed};
use sha2::{Digest, Sha256};

/// A model without errors.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// The line.
    pub line: Line,
    /// What is perhaps not meant so.
    pub warnings: Vec<Problem>,
}

/// Reads the text of a model file and checks it.
///
/// # Errors
/// All problems at once, in the order of the file, warnings among them: text that is not JSON (with comments and
/// trailing commas); unknown, missing and repeated keys; wrong types and units; figures out of range; stations that
/// make no line. Semantic rules are checked as soon as the file has the right shape.
pub fn parse(text: &str) -> Result<Checked, Vec<Problem>> {
    let document = Document::parse(text).map_err(|problem| vec![*problem])?;
    let mut reader = Reader::new(&document);
    let spec = LineSpec::read(&document.root, &mut reader);
    let mut problems = reader.problems;
    let line = spec.map(|spec| {
        let (line, findings) = line_of(&spec, digest(&spec), problems.is_empty());
        problems.extend(findings.0.into_iter().map(|finding| document.locate(finding)));
        line
    });
    problems.sort_by_key(|problem| problem.span.start);
    match line {
        Some(line) if problems.iter().all(|problem| problem.severity == Severity::Warning) => {
            Ok(Checked { line, warnings: problems })
        }
        _ => Err(problems),
    }
}

/// Reads the text of a model file as typed, without checking it.
///
/// # Errors
/// As [`parse`], but for the rules that need more than the shape of the file.
pub fn spec_of(text: &str) -> Result<LineSpec, Vec<Problem>> {
    let document = Document::parse(text).map_err(|problem| vec![*problem])?;
    let mut reader = Reader::new(&document);
    match LineSpec::read(&document.root, &mut reader) {
        Some(spec) if reader.problems.is_empty() => Ok(spec),
        _ => Err(reader.problems),
    }
}

/// Checks a model that was put together or changed by a program.
///
/// # Errors
/// As [`parse`]; lines and columns are those of the text that [`to_json`] writes.
pub fn check(spec: &LineSpec) -> Result<Checked, Vec<Problem>> {
    parse(&to_json(spec))
}

/// Writes a model as strict JSON that [`parse`] reads to the same line.
#[must_use]
pub fn to_json(spec: &LineSpec) -> String {
    spec.write().map_or(String::new(), |json| json.pretty())
}

/// SHA-256 of the model in hexadecimal: of strict JSON without blanks, keys in the order of the documentation,
/// numbers in their shortest form, without the reference to the schema. Comments, blanks and the order of keys do not
/// count.
#[must_use]
pub fn digest(spec: &LineSpec) -> String {
    digest_of(&LineSpec { schema: None, ..spec.clone() })
}

/// SHA-256 of any file of ours in hexadecimal, in the same way.
#[must_use]
pub fn digest_of(spec: &impl Typed) -> String {
    let text = spec.write().map_or(String::new(), |json| json.compact());
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests;
