//! The text of a JSON file of ours as a tree that knows where each value stands. The only module that names the parser.

use crate::problem::{Finding, Path, Problem, Severity, Step};
use jsonc_parser::ast::Value;
use jsonc_parser::common::Ranged;
use jsonc_parser::errors::ParseErrorKind;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use std::ops::Range;

/// Strict JSON but for comments and trailing commas.
const OPTIONS: ParseOptions = ParseOptions {
    allow_comments: true,
    allow_loose_object_property_names: false,
    allow_trailing_commas: true,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

/// A parsed text.
pub struct Document<'t> {
    text: &'t str,
    /// Bytes that the parser did not see: a byte order mark.
    skipped: usize,
    /// The value that the text is.
    pub root: Value<'t>,
}

impl<'t> Document<'t> {
    /// Parses JSON with comments and trailing commas; a byte order mark is skipped.
    ///
    /// # Errors
    /// The text is empty or no JSON.
    pub fn parse(text: &'t str) -> Result<Self, Box<Problem>> {
        let body = text.strip_prefix('\u{feff}').unwrap_or(text);
        let skipped = text.len() - body.len();
        let fail = |range: Range<usize>, what: String, hint: &str| {
            let (line, column) = line_and_column(text, range.start);
            let hint = hint.to_owned();
            let severity = Severity::Error;
            Err(Box::new(Problem { severity, line, column, span: range, path: String::new(), what, hint }))
        };
        match parse_to_ast(body, &CollectOptions::default(), &OPTIONS) {
            Ok(result) => match result.value {
                Some(root) => Ok(Self { text, skipped, root }),
                None => fail(0..0, "the file is empty".to_owned(), "one JSON object is due: { ... }"),
            },
            Err(error) => {
                let range = error.range().start + skipped..error.range().end + skipped;
                fail(range, in_our_words(error.kind()), syntax_hint(error.kind()))
            }
        }
    }

    /// Where in the text the place of a finding stands: its value, or the nearest value around it that exists.
    pub fn locate(&self, finding: Finding) -> Problem {
        let mut span = self.root.range();
        let mut value = &self.root;
        for step in &finding.path.0 {
            match (step, value) {
                (Step::Key(key), Value::Object(object)) => {
                    let Some(property) = object.properties.iter().rfind(|p| p.name.as_str() == key) else {
                        span.end = span.start + 1; // the brace of the object in which the key is missing
                        break;
                    };
                    value = &property.value;
                }
                (Step::Element(place), Value::Array(array)) => match array.elements.get(*place) {
                    Some(element) => value = element,
                    None => break,
                },
                _ => break,
            }
            span = value.range();
        }
        let Finding { severity, path, what, hint } = finding;
        self.problem(severity, &path, span.start..span.end, what, hint)
    }

    /// Where in the text the value at that place stands, in bytes; `None` if there is none.
    pub fn span_of(&self, path: &Path) -> Option<Range<usize>> {
        let mut value = &self.root;
        for step in &path.0 {
            value = match (step, value) {
                (Step::Key(key), Value::Object(object)) => {
                    &object.properties.iter().rfind(|property| property.name.as_str() == key)?.value
                }
                (Step::Element(place), Value::Array(array)) => array.elements.get(*place)?,
                _ => return None,
            };
        }
        let range = value.range();
        Some(range.start + self.skipped..range.end + self.skipped)
    }

    /// Where in the text a value of the parser stands, in bytes.
    pub(crate) fn bytes_of(&self, value: &impl Ranged) -> Range<usize> {
        let range = value.range();
        range.start + self.skipped..range.end + self.skipped
    }

    /// A finding at a stated place of the parser's text.
    pub fn at(&self, range: jsonc_parser::common::Range, finding: Finding) -> Problem {
        let Finding { severity, path, what, hint } = finding;
        self.problem(severity, &path, range.start..range.end, what, hint)
    }

    fn problem(
        &self,
        severity: Severity,
        path: &Path,
        span: Range<usize>,
        what: String,
        hint: String,
    ) -> Problem {
        let span = span.start + self.skipped..span.end + self.skipped;
        let (line, column) = line_and_column(self.text, span.start);
        Problem { severity, line, column, span, path: path.to_string(), what, hint }
    }
}

/// Line and column (in characters), both from 1, of the byte `at`.
fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at.min(text.len())).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |end| end + 1);
    let column = before[line_start..].trim_start_matches('\u{feff}').chars().count() + 1;
    (before.matches('\n').count() + 1, column)
}

fn in_our_words(kind: &ParseErrorKind) -> String {
    let words = kind.to_string();
    let mut letters = words.chars();
    let first = letters.next().map(|c| c.to_ascii_lowercase());
    format!("this is not JSON: {}{}", first.map_or(String::new(), String::from), letters.as_str())
}

fn syntax_hint(kind: &ParseErrorKind) -> &'static str {
    match kind {
        ParseErrorKind::ExpectedComma => "a comma is missing here",
        ParseErrorKind::NonFiniteNumbersNotAllowed => "write a number that exists",
        ParseErrorKind::SingleQuotedStringsNotAllowed => "use double quotes",
        ParseErrorKind::ExpectedStringObjectProperty | ParseErrorKind::UnexpectedWord => {
            "keys and words stand in double quotes; only true, false and numbers stand bare"
        }
        ParseErrorKind::UnterminatedArray => "a ] is missing",
        ParseErrorKind::UnterminatedObject => "a } is missing",
        ParseErrorKind::NestingDepthExceeded => "no file of ours needs lists within lists so deep",
        ParseErrorKind::MultipleRootJsonValues => "the file is one JSON object and nothing after it",
        _ => "comments (// and /* */) and trailing commas are allowed, all else is JSON",
    }
}
