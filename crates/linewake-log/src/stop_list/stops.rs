//! From the rows of the stop list to stops: which machine, from when to when, why. Whatever is odd about a row is
//! settled here by the rules of docs/reference/stop-lists.md; overlaps between rows come later.

use super::check::reason_numbered;
use super::clock::{Reading, Shown};
use super::dirt::{DirtKind, ListFile};
use super::dirt_book::DirtBook;
use super::mapping::{Effect, Mapping, Meaning, folded};
use super::number::shown;
use super::sheet::{Row, Sheet};
use super::spec::WithoutEndSpec;
use super::windows::Windows;
use super::{StopListProblem, pairing};
use linewake_model::spec::suggest;
use linewake_model::stop::Reason;
use std::collections::{BTreeMap, BTreeSet};

/// Word for the reason of a row that names none.
pub(crate) const NOT_STATED: &str = "not stated";

/// Start and end may differ from the duration by so much, in microseconds: plants round to the minute.
pub(crate) const AGREES_WITHIN: i64 = 60_000_000;

/// A stop as its row tells it; moments in microseconds since 1970.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Claim {
    /// Line of its row.
    pub(crate) line: u64,
    pub(crate) station: u16,
    pub(crate) start: i64,
    pub(crate) end: i64,
    pub(crate) meaning: Meaning,
}

/// Places of the columns.
struct Places {
    machine: Option<usize>,
    area: Option<usize>,
    date: Option<usize>,
    start: Option<usize>,
    end: Option<usize>,
    duration: Option<usize>,
    reason: Option<usize>,
}

/// Reads rows of the stop list.
struct RowReader<'m, 'd> {
    mapping: &'m Mapping,
    places: Places,
    meanings: BTreeMap<String, Meaning>,
    reasons: &'d mut Vec<String>,
    dirt: &'d mut DirtBook,
    /// End of the row before (its start, if it has no end).
    before: Option<i64>,
}

/// The stops of the rows for which `is_stop` holds. `reasons` grows by the words that the mapping does not have.
pub(crate) fn claims(
    mapping: &Mapping,
    sheet: &Sheet,
    is_stop: impl Fn(&Row) -> bool,
    reasons: &mut Vec<String>,
    dirt: &mut DirtBook,
) -> Result<Vec<Claim>, StopListProblem> {
    let columns = &mapping.stops.columns;
    let places = Places {
        machine: sheet.place(columns.machine.as_ref())?,
        area: sheet.place(columns.area.as_ref())?,
        date: sheet.place(columns.date.as_ref())?,
        start: sheet.place(columns.start.as_ref())?,
        end: sheet.place(columns.end.as_ref())?,
        duration: sheet.place(columns.duration.as_ref())?,
        reason: sheet.place(columns.reason.as_ref())?,
    };
    let meanings = mapping.reasons.clone();
    let mut reader = RowReader { mapping, places, meanings, reasons, dirt, before: None };
    let mut claims: Vec<(Claim, bool)> = Vec::new();
    let mut seen: BTreeMap<(u16, i64, i64, Reason, u8), u64> = BTreeMap::new();
    for row in sheet.rows.iter().filter(|row| is_stop(row)) {
        let Some((claim, is_open)) = reader.claim(row) else { continue };
        let meaning = claim.meaning;
        let key = (claim.station, claim.start, claim.end, meaning.reason, meaning.effect as u8);
        if let Some(first) = seen.get(&key) {
            let what = format!("the row says the same as line {first}");
            reader.dirt.note(ListFile::Stops, row.line, DirtKind::Duplicate, what, "left out");
            continue;
        }
        seen.insert(key, row.line);
        claims.push((claim, is_open));
    }
    Ok(close(mapping, claims, dirt))
}

/// Gives ends to the stops that have none.
fn close(mapping: &Mapping, claims: Vec<(Claim, bool)>, dirt: &mut DirtBook) -> Vec<Claim> {
    let mut starts: BTreeSet<(u16, i64)> = BTreeSet::new();
    if claims.iter().any(|(_, is_open)| *is_open) {
        starts.extend(claims.iter().map(|(claim, _)| (claim.station, claim.start)));
    }
    let windows = Windows::new(mapping);
    let mut closed = Vec::with_capacity(claims.len());
    for (mut claim, is_open) in claims {
        if is_open {
            let next = starts.range((claim.station, claim.start + 1)..).next();
            let next = next.filter(|(station, _)| *station == claim.station).map(|&(_, start)| start);
            let shift_end = windows.at(claim.start).map(|window| window.end);
            let what = "the stop has neither end nor duration";
            let end = match (next, shift_end) {
                (Some(next), Some(shift_end)) => next.min(shift_end),
                (None, Some(shift_end)) => shift_end,
                (Some(next), None) => next,
                (None, None) => claim.start,
            };
            let line = claim.line;
            if end <= claim.start || end - claim.start > mapping.stops.longest {
                dirt.note(ListFile::Stops, line, DirtKind::NoEnd, what, "left out");
                continue;
            }
            let until =
                if next == Some(end) { "the next stop of the machine" } else { "the end of the shift" };
            let done = format!("taken to last until {until}, {}", mapping.clock.words(end));
            dirt.note(ListFile::Stops, line, DirtKind::NoEnd, what, done);
            claim.end = end;
        }
        closed.push(claim);
    }
    closed
}

impl RowReader<'_, '_> {
    fn note(&mut self, row: &Row, kind: DirtKind, what: impl Into<String>, done: impl Into<String>) {
        self.dirt.note(ListFile::Stops, row.line, kind, what, done);
    }

    /// The stop of a row, and whether its end is open (and equal to its start for the time being).
    fn claim(&mut self, row: &Row) -> Option<(Claim, bool)> {
        let word = folded(row.cell(self.places.reason));
        let whole_line = self.mapping.reasons.get(&word).is_some_and(|meaning| meaning.whole_line);
        let station = if whole_line { self.mapping.facts.constraint } else { self.station(row)? };
        let (start, end) = self.times(row)?;
        self.before = Some(end.unwrap_or(start));
        let meaning = self.meaning(row);
        let claim = Claim { line: row.line, station, start, end: end.unwrap_or(start), meaning };
        Some((claim, end.is_none()))
    }

    fn station(&mut self, row: &Row) -> Option<u16> {
        if self.places.machine.is_none() {
            return Some(self.mapping.facts.constraint);
        }
        let name = row.cell(self.places.machine);
        if name.is_empty() {
            self.note(row, DirtKind::UnknownMachine, "the row names no machine", "left out");
            return None;
        }
        let machines = &self.mapping.machines;
        let area = row.cell(self.places.area);
        let by_area = machines.get(&folded(&format!("{area} / {name}"))).filter(|_| !area.is_empty());
        match by_area.or_else(|| machines.get(&folded(name))).map(Vec::as_slice) {
            Some([station]) => Some(*station),
            Some([first, second, ..]) => {
                let id = |place: &u16| self.mapping.facts.stations[usize::from(*place)].id.as_str();
                let what = format!("\"{}\" can be {} as well as {}", shown(name), id(first), id(second));
                self.note(row, DirtKind::AmbiguousMachine, what, "left out");
                None
            }
            _ => {
                let known: Vec<&str> = machines.keys().map(String::as_str).collect();
                let mut what = format!("there is no machine \"{}\" in the mapping", shown(name));
                if let Some(near) = suggest::nearest(name, &known) {
                    what.push_str(&format!("; is \"{near}\" meant?"));
                }
                self.note(row, DirtKind::UnknownMachine, what, "left out");
                None
            }
        }
    }

    fn meaning(&mut self, row: &Row) -> Meaning {
        let word = row.cell(self.places.reason);
        if word.is_empty() {
            if self.places.reason.is_some() {
                let done = format!("an own stop for the reason \"{NOT_STATED}\"");
                self.note(row, DirtKind::NoReason, "the row names no reason", done);
            }
            return self.own_stop(NOT_STATED);
        }
        let key = folded(word);
        let listed = self.mapping.reasons.contains_key(&key);
        if !listed && self.mapping.lists_reasons {
            let what = format!("the mapping does not name the reason \"{}\"", shown(word));
            self.note(row, DirtKind::UnknownReason, what, "an own stop for that reason");
        }
        if let Some(meaning) = self.meanings.get(&key) {
            return *meaning;
        }
        let meaning = self.own_stop(word);
        if self.reasons.get(usize::from(meaning.reason.0)).is_some_and(|it| it == word) {
            self.meanings.insert(key, meaning);
        } else {
            let what =
                format!("there are more reasons than can be told apart; this one is \"{}\"", shown(word));
            let done = format!("an own stop for the reason \"{NOT_STATED}\"");
            self.note(row, DirtKind::UnknownReason, what, done);
        }
        meaning
    }

    /// An own stop for that reason; without a word where there are too many.
    fn own_stop(&mut self, word: &str) -> Meaning {
        let known = reason_numbered(self.reasons, word);
        let reason = known.or_else(|| reason_numbered(self.reasons, NOT_STATED)).unwrap_or(Reason::INJECTED);
        Meaning { reason, effect: Effect::OwnStop, whole_line: false }
    }

    /// Start and end of a row; an end of `None` is still open.
    fn times(&mut self, row: &Row) -> Option<(i64, Option<i64>)> {
        let duration = self.duration(row);
        let (date, forms) = (row.cell(self.places.date), &self.mapping.stops.form.times);
        let date = Some(date).filter(|date| !date.is_empty());
        let clock = &self.mapping.clock;
        let (start_text, end_text) = (row.cell(self.places.start), row.cell(self.places.end));
        let starts = clock.readings(start_text, date, None, forms);
        let ends_of = |start: Option<&Reading>| {
            clock.readings(end_text, date, start.map(|start| start.civil.date()), forms)
        };
        let ends: Vec<Vec<Reading>> = if starts.is_empty() {
            vec![ends_of(None)]
        } else {
            starts.iter().map(|start| ends_of(Some(start))).collect()
        };
        let has_end = ends.iter().any(|ends| !ends.is_empty());
        for (text, is_read) in [(start_text, !starts.is_empty()), (end_text, has_end)] {
            if !text.is_empty() && !is_read {
                let what = format!("\"{}\" fits none of the stated forms of a time", shown(text));
                self.note(row, DirtKind::UnreadableTime, what, "taken as missing");
            }
        }
        match (starts.is_empty(), has_end) {
            (true, _) => self.without_start(row, &ends[0], duration),
            (false, false) => self.without_end(row, &starts, duration),
            (false, true) => self.with_both(row, &starts, &ends, duration),
        }
    }

    fn duration(&mut self, row: &Row) -> Option<i64> {
        let text = row.cell(self.places.duration);
        if text.is_empty() {
            return None;
        }
        match self.mapping.stops.form.numbers.duration(text, self.mapping.stops.duration) {
            Ok(read) => {
                if let Some(what) = read.unusual {
                    let done = format!("read as {}", minutes(read.value));
                    self.note(row, DirtKind::NumberForm, what, done);
                }
                Some(read.value)
            }
            Err(what) => {
                self.note(row, DirtKind::NoNumber, what, "taken as missing");
                None
            }
        }
    }

    fn without_start(
        &mut self,
        row: &Row,
        ends: &[Reading],
        duration: Option<i64>,
    ) -> Option<(i64, Option<i64>)> {
        let end = pairing::nearest(ends, self.before);
        let what = "the row has no start";
        let longest = self.mapping.stops.longest;
        match (end, duration.filter(|&it| it > 0 && it <= longest)) {
            (Some(end), Some(duration)) => {
                self.note_clock(row, &end, ends);
                self.note(row, DirtKind::NoStart, what, "worked out from end and duration");
                Some((end.at - duration, Some(end.at)))
            }
            _ => {
                self.note(row, DirtKind::NoStart, what, "left out");
                None
            }
        }
    }

    fn without_end(
        &mut self,
        row: &Row,
        starts: &[Reading],
        duration: Option<i64>,
    ) -> Option<(i64, Option<i64>)> {
        let start = pairing::nearest(starts, self.before)?;
        let longest = self.mapping.stops.longest;
        match duration {
            Some(0) => {
                self.note(row, DirtKind::NoLength, "the stop has a duration of 0", "left out");
                return None;
            }
            Some(duration) if duration > longest => {
                let what = format!("the stop lasts {}, more than {}", minutes(duration), minutes(longest));
                self.note(row, DirtKind::TooLong, what, "left out");
                return None;
            }
            Some(duration) => {
                self.note_clock(row, &start, starts);
                if self.places.end.is_some() {
                    let done = "worked out from start and duration";
                    self.note(row, DirtKind::NoEnd, "the row has no end", done);
                }
                return Some((start.at, Some(start.at + duration)));
            }
            None => {}
        }
        self.note_clock(row, &start, starts);
        if self.mapping.stops.without_end == WithoutEndSpec::UntilNextStop {
            return Some((start.at, None));
        }
        self.note(row, DirtKind::NoEnd, "the stop has neither end nor duration", "left out");
        None
    }

    fn with_both(
        &mut self,
        row: &Row,
        starts: &[Reading],
        ends: &[Vec<Reading>],
        duration: Option<i64>,
    ) -> Option<(i64, Option<i64>)> {
        let pair = pairing::best(&self.mapping.clock, starts, ends, duration, self.before)?;
        let all_ends: Vec<Reading> = ends.iter().flatten().copied().collect();
        self.note_clock(row, &pair.first, starts);
        self.note_clock(row, &pair.second, &all_ends);
        let words = |at| self.mapping.clock.words(at);
        match pair.order {
            pairing::Order::Forward => {}
            pairing::Order::NextDay => {
                let what = "the end lies before the start on the same date";
                let done =
                    format!("the end was read as {}, the shorter of the two readings", words(pair.end));
                self.note(row, DirtKind::NextDay, what, done);
            }
            pairing::Order::Reversed => {
                let what =
                    format!("the end, {}, lies before the start, {}", words(pair.start), words(pair.end));
                self.note(row, DirtKind::Reversed, what, "start and end were exchanged");
            }
        }
        let longest = self.mapping.stops.longest;
        let length = pair.end - pair.start;
        let instead = duration.filter(|&it| it > 0 && it <= longest);
        let (kind, what) = if length == 0 {
            (DirtKind::NoLength, "start and end are the same".to_owned())
        } else if length > longest {
            let what = format!("the stop lasts {}, more than {}", minutes(length), minutes(longest));
            (DirtKind::TooLong, what)
        } else {
            if let Some(duration) = duration.filter(|duration| (duration - length).abs() > AGREES_WITHIN) {
                let what = format!("start to end is {}, the duration {}", minutes(length), minutes(duration));
                self.note(row, DirtKind::DurationDisagrees, what, "start and end were taken");
            }
            return Some((pair.start, Some(pair.end)));
        };
        match instead {
            Some(duration) => {
                let start = pair.first.at;
                self.note(row, kind, what, format!("the duration was taken, {}", minutes(duration)));
                Some((start, Some(start + duration)))
            }
            None => {
                self.note(row, kind, what, "left out");
                None
            }
        }
    }

    /// Notes what is odd about a time as such.
    fn note_clock(&mut self, row: &Row, taken: &Reading, among: &[Reading]) {
        for (kind, what, done) in odd_time(&self.mapping.clock, taken, among) {
            self.note(row, kind, what, done);
        }
    }
}

/// What is odd about a time as such: that the clock skipped it or showed it twice, or that it has another reading.
pub(crate) fn odd_time(
    clock: &super::clock::Clock,
    taken: &Reading,
    among: &[Reading],
) -> Vec<(DirtKind, String, String)> {
    let mut odd = Vec::new();
    let civil = format!("{} {}", taken.civil.date(), taken.civil.time());
    match taken.shown {
        Shown::Once => {}
        Shown::Never => {
            let what = format!("the clock was put forward over {civil}");
            odd.push((DirtKind::ClockForward, what, format!("read as {}", clock.words(taken.at))));
        }
        Shown::Twice => {
            let what = format!("the clock showed {civil} twice");
            odd.push((DirtKind::ClockBack, what, format!("read as {}", clock.with_offset(taken.at))));
        }
    }
    let other = among
        .iter()
        .find(|it| it.civil.time() == taken.civil.time() && it.civil.date() != taken.civil.date());
    if let Some(other) = other {
        let what = format!("the date can be {} or {}", taken.civil.date(), other.civil.date());
        let done = format!("read as {}", taken.civil.date());
        odd.push((DirtKind::DateOrder, what, done));
    }
    odd
}

/// A length in words, in minutes.
pub(crate) fn minutes(micros: i64) -> String {
    let minutes = micros as f64 / 60e6;
    format!("{} min", (minutes * 100.0).round() / 100.0)
}
