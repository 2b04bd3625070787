//! The two files of a mapping: how they are written, and where things stand in them.

use super::line::place_of;
use super::reason_numbered;
use crate::header::LineFacts;
use crate::stop_list::clock::TimeForm;
use crate::stop_list::mapping::{CountValue, Counts, Form, Stops, folded};
use crate::stop_list::number::NumberForm;
use crate::stop_list::spec::{
    CountValueSpec, CountedSpec, CountsSpec, DurationSpec, EncodingSpec, FormSpec, StopsSpec, WithoutEndSpec,
};
use linewake_model::problem::{Findings, Path};
use linewake_model::quantity::{Quantity, Time};
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// Longest stop or period that a mapping may allow, in seconds: 31 days.
const LONGEST_S: f64 = 31.0 * 86_400.0;

/// Longest stop unless the mapping says otherwise, in seconds: a day.
const LONGEST_STOP_S: f64 = 86_400.0;

pub(super) fn stops_of(spec: &StopsSpec, path: &Path, findings: &mut Findings) -> Option<Stops> {
    let form = form_of(&spec.form, &path.key("form"), findings);
    let columns = &spec.columns;
    let place = path.key("columns");
    if columns.start.is_none() && (columns.end.is_none() || columns.duration.is_none()) {
        findings.error(
            &place,
            "\"start\" is missing",
            "name the column, or those of the end and the duration",
        );
    }
    if columns.end.is_none()
        && columns.duration.is_none()
        && spec.without_end != Some(WithoutEndSpec::UntilNextStop)
    {
        let hint = "name one of the two, or set without_end to until_next_stop";
        findings.error(&place, "neither \"end\" nor \"duration\" is named", hint);
    }
    let longest = micros(spec.longest, LONGEST_STOP_S, &path.key("longest"), findings);
    Some(Stops {
        form: form?,
        columns: columns.clone(),
        duration: spec.duration.unwrap_or(DurationSpec::Minutes),
        without_end: spec.without_end.unwrap_or(WithoutEndSpec::LeaveOut),
        longest,
    })
}

fn micros(time: Option<Quantity<Time>>, default_s: f64, path: &Path, findings: &mut Findings) -> i64 {
    let seconds = time.map_or(default_s, Quantity::value);
    if !(seconds > 0.0 && seconds <= LONGEST_S) {
        findings.error(path, "this length is out of range", "above 0 s, at most 744 h");
    }
    i64::try_from(Span::from_seconds(seconds).0).unwrap_or(0)
}

fn form_of(spec: &FormSpec, path: &Path, findings: &mut Findings) -> Option<Form> {
    let delimiter = delimiter(spec.delimiter.as_deref().unwrap_or(","), &path.key("delimiter"), findings);
    let decimal = match spec.decimal.as_deref().unwrap_or(".") {
        "." => '.',
        "," => ',',
        other => {
            let what = format!("\"{other}\" is no decimal mark");
            findings.error(&path.key("decimal"), what, "\".\" or \",\"");
            '.'
        }
    };
    let thousands = match spec.thousands.as_deref() {
        None | Some("") => None,
        Some("." | "," | "'" | " ") => spec.thousands.as_ref().and_then(|mark| mark.chars().next()),
        Some(other) => {
            let what = format!("\"{other}\" is no mark between thousands");
            findings.error(&path.key("thousands"), what, "\".\", \",\", \"'\" or a blank");
            None
        }
    };
    if thousands == Some(decimal) {
        let what = "the same mark stands between thousands and before decimals";
        findings.error(&path.key("thousands"), what, "");
    }
    let mut times = Vec::new();
    for (place, pattern) in spec.times.iter().enumerate() {
        match TimeForm::new(pattern) {
            Ok(form) => times.push(form),
            Err(why) => {
                let what = format!("\"{pattern}\" is no form of a time: {why}");
                let hint = "write it in the notation of strptime, such as \"%d.%m.%Y %H:%M\"";
                findings.error(&path.key("times").element(place), what, hint);
            }
        }
    }
    if spec.times.is_empty() {
        findings.error(&path.key("times"), "no form of a time is stated", "such as \"%d.%m.%Y %H:%M\"");
    }
    Some(Form {
        encoding: spec.encoding.unwrap_or(EncodingSpec::Utf8),
        delimiter: delimiter?,
        skip_lines: spec.skip_lines.unwrap_or(0),
        headings: spec.headings.unwrap_or(true),
        numbers: NumberForm { decimal, thousands },
        times,
    })
}

fn delimiter(text: &str, path: &Path, findings: &mut Findings) -> Option<u8> {
    match text.as_bytes() {
        [byte] if byte.is_ascii() && !byte.is_ascii_alphanumeric() && !b"\"\r\n".contains(byte) => {
            Some(*byte)
        }
        _ => {
            findings.error(
                path,
                format!("\"{text}\" is no delimiter"),
                "one of \",\", \";\", \"\\t\", \"|\"",
            );
            None
        }
    }
}

pub(super) fn counts_of(
    spec: &CountsSpec,
    stops: &StopsSpec,
    facts: &mut LineFacts,
    path: &Path,
    findings: &mut Findings,
) -> Option<Counts> {
    let form = match &spec.form {
        Some(form) => form_of(form, &path.key("form"), findings),
        None => form_of(&stops.form, &Path::default().key("stops").key("form"), &mut Findings::default()),
    };
    if spec.form.is_some() && spec.rows_of_stop_list.is_some() {
        let what = "counts that stand in the stop list have its form";
        findings.error(&path.key("form"), what, "leave the key out");
    }
    let columns = &spec.columns;
    let by_shift = columns.shift.is_some() && columns.date.is_some();
    if columns.end.is_none() && !(columns.start.is_some() && spec.period.is_some()) && !by_shift {
        let hint = "name the end, or the start and (beside the columns) the period, or date and shift";
        findings.error(&path.key("columns"), "the columns do not say when was counted", hint);
    }
    let period = spec.period.map(|it| micros(Some(it), 0.0, &path.key("period"), findings));
    if spec.values.is_empty() {
        findings.error(&path.key("values"), "no column with figures is named", "name at least one");
    }
    let mut values = Vec::new();
    for (place, value) in spec.values.iter().enumerate() {
        let path = path.key("values").element(place);
        values.push(value_of(value, spec.columns.machine.is_some(), facts, &path, findings));
    }
    if spec.rows_of_stop_list.as_ref().is_some_and(|rows| rows.words.is_empty()) {
        let path = path.key("rows_of_stop_list").key("words");
        findings.error(&path, "no word is named", "name at least one");
    }
    let in_list = spec.rows_of_stop_list.as_ref();
    Some(Counts {
        form: form?,
        in_list: in_list
            .map(|rows| (rows.column.clone(), rows.words.iter().map(|word| folded(word)).collect())),
        columns: columns.clone(),
        period,
        are: spec.are,
        values: values.into_iter().collect::<Option<_>>()?,
    })
}

fn value_of(
    spec: &CountValueSpec,
    has_machine: bool,
    facts: &mut LineFacts,
    path: &Path,
    findings: &mut Findings,
) -> Option<CountValue> {
    let stated = match &spec.station {
        Some(id) => Some(place_of(id, &facts.stations, &path.key("station"), findings)?),
        None => None,
    };
    let of_line = matches!(spec.counts, CountedSpec::Total | CountedSpec::Good);
    if of_line && stated.is_some() {
        let what = "total and good are of the line, not of a station";
        findings.error(&path.key("station"), what, "leave the key out, or count made");
    }
    if spec.reason.is_some() && spec.counts != CountedSpec::Rejected {
        findings.error(&path.key("reason"), "only rejected has a reason", "leave the key out");
    }
    if spec.counts == CountedSpec::Made && stated.is_none() && !has_machine {
        let what = "made is counted at a station";
        findings.error(path, what, "name it, or the column of the machine");
    }
    let station = match spec.counts {
        CountedSpec::Total => Some(facts.total_at()),
        CountedSpec::Good => Some(facts.good_after),
        CountedSpec::Rejected => Some(stated.unwrap_or(facts.good_after)),
        CountedSpec::Made => stated,
    };
    let reason = match &spec.reason {
        Some(word) => reason_numbered(&mut facts.reasons, word)?,
        None => Reason::NONE,
    };
    Some(CountValue { column: spec.column.clone(), counted: spec.counts, station, reason })
}
