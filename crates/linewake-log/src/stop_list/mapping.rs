//! The mapping file, checked: what the columns, times, machines and reasons of a plant's stop list mean.

use super::check;
use super::clock::{Clock, TimeForm};
use super::number::NumberForm;
use super::spec::{
    ColumnSpec, CountColumnsSpec, CountedSpec, CountsAreSpec, DurationSpec, EncodingSpec, MappingSpec,
    StopColumnsSpec, WithoutEndSpec,
};
use crate::header::LineFacts;
use jiff::civil::DateTime;
use linewake_model::problem::{Findings, Problem, Severity};
use linewake_model::spec::document::Document;
use linewake_model::spec::typed::{Reader, Typed};
use linewake_model::stop::Reason;
use std::collections::BTreeMap;

/// A mapping without errors.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapping {
    pub(super) name: String,
    pub(super) about: String,
    pub(super) digest: String,
    pub(super) warnings: Vec<Problem>,
    /// Facts of the line; its reasons grow by those that only the list knows.
    pub(super) facts: LineFacts,
    pub(super) clock: Clock,
    pub(super) shifts: Shifts,
    /// Stations by the names of the list, in [`folded`] form; more than one makes a row ambiguous.
    pub(super) machines: BTreeMap<String, Vec<u16>>,
    /// Reasons by the words of the list, in [`folded`] form.
    pub(super) reasons: BTreeMap<String, Meaning>,
    /// The mapping lists the reasons, so that others are reported.
    pub(super) lists_reasons: bool,
    pub(super) stops: Stops,
    pub(super) counts: Option<Counts>,
}

/// What a reason means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Meaning {
    pub(super) reason: Reason,
    pub(super) effect: Effect,
    pub(super) whole_line: bool,
}

/// What a row says of its machine.
pub(super) type Effect = super::spec::EffectSpec;

/// When the line is planned to work.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shifts {
    /// In order of their starts, without overlap.
    Daily(Vec<Daily>),
    /// In order of their starts, without overlap.
    Dated(Vec<Dated>),
}

/// A shift of each day, in seconds after the midnight before its start.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Daily {
    pub(super) name: String,
    pub(super) start: u32,
    pub(super) end: u32,
    pub(super) breaks: Vec<(u32, u32)>,
}

/// A shift on its date.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Dated {
    pub(super) name: String,
    pub(super) start: DateTime,
    pub(super) end: DateTime,
    pub(super) breaks: Vec<(DateTime, DateTime)>,
}

/// How a file is written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Form {
    pub(super) encoding: EncodingSpec,
    pub(super) delimiter: u8,
    pub(super) skip_lines: u32,
    pub(super) headings: bool,
    pub(super) numbers: NumberForm,
    pub(super) times: Vec<TimeForm>,
}

/// The stop list.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Stops {
    pub(super) form: Form,
    pub(super) columns: StopColumnsSpec,
    pub(super) duration: DurationSpec,
    pub(super) without_end: WithoutEndSpec,
    /// In microseconds.
    pub(super) longest: i64,
}

/// The counts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Counts {
    pub(super) form: Form,
    /// The rows of the stop list that they are, by column and words in [`folded`] form; `None`: a file of their own.
    pub(super) in_list: Option<(ColumnSpec, Vec<String>)>,
    pub(super) columns: CountColumnsSpec,
    /// In microseconds.
    pub(super) period: Option<i64>,
    pub(super) are: CountsAreSpec,
    pub(super) values: Vec<CountValue>,
}

/// A column with figures.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct CountValue {
    pub(super) column: ColumnSpec,
    pub(super) counted: CountedSpec,
    /// `None`: the machine of the row.
    pub(super) station: Option<u16>,
    pub(super) reason: Reason,
}

impl Mapping {
    /// Reads the text of a mapping file (JSON, comments and trailing commas allowed) and checks it.
    ///
    /// `line`: facts of the model that lies alongside, if one does. Then design rate, constraint, limit of short
    /// stops, kinds and rates of the stations and planned stops that are left out come from it: the mapping need only
    /// say how the list calls its stations, and what it states besides must agree.
    ///
    /// # Errors
    /// All problems at once, in the order of the file, each with line and column.
    pub fn parse(text: &str, line: Option<&LineFacts>) -> Result<Self, Vec<Problem>> {
        let document = Document::parse(text).map_err(|problem| vec![*problem])?;
        let mut reader = Reader::new(&document);
        let spec = MappingSpec::read(&document.root, &mut reader);
        let mut problems = reader.problems;
        let mut findings = Findings::default();
        let mapping = spec.and_then(|spec| check::mapping_of(&spec, line, &mut findings));
        problems.extend(findings.0.into_iter().map(|finding| document.locate(finding)));
        problems.sort_by_key(|problem| problem.span.start);
        match mapping {
            Some(mapping) if problems.iter().all(|problem| problem.severity == Severity::Warning) => {
                Ok(Self { warnings: problems, ..mapping })
            }
            _ => Err(problems),
        }
    }

    /// What is perhaps not meant so.
    #[must_use]
    pub fn warnings(&self) -> &[Problem] {
        &self.warnings
    }

    /// Name of the line.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// SHA-256 of the mapping in hexadecimal; comments, blanks and the order of keys do not count.
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.digest
    }

    /// The counts stand in a file of their own, which [`super::read`] must be given.
    #[must_use]
    pub fn has_file_of_counts(&self) -> bool {
        self.counts.as_ref().is_some_and(|counts| counts.in_list.is_none())
    }

    /// Facts of the line, with the reasons that the mapping names.
    #[must_use]
    pub fn facts(&self) -> &LineFacts {
        &self.facts
    }
}

/// A name or word as it is compared: small letters, single blanks, none around.
pub(super) fn folded(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
