//! From the rows of counts to what was counted when and where, in each shift.

use super::clock::Reading;
use super::dirt::{DirtKind, ListFile};
use super::dirt_book::DirtBook;
use super::mapping::{CountValue, Counts, Mapping, folded};
use super::number::shown;
use super::sheet::{Row, Sheet};
use super::spec::{CountedSpec, CountsAreSpec};
use super::stops::odd_time;
use super::windows::{Window, Windows};
use super::{StopListProblem, pairing};
use crate::event::Counter;
use linewake_model::stop::Reason;
use std::collections::{BTreeMap, BTreeSet};

/// What is counted: station, counter, reason.
pub(crate) type Counted = (u16, Counter, Reason);

/// So many pieces more by that moment, in microseconds since 1970.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Increment {
    pub(crate) line: u64,
    pub(crate) at: i64,
    pub(crate) counted: Counted,
    pub(crate) pieces: u64,
}

/// A figure as its row tells it.
struct Figure {
    line: u64,
    from: Option<i64>,
    at: i64,
    counted: Counted,
    value: u64,
}

struct Places {
    date: Option<usize>,
    start: Option<usize>,
    end: Option<usize>,
    shift: Option<usize>,
    machine: Option<usize>,
    values: Vec<Option<usize>>,
}

/// Reads rows of counts.
struct RowReader<'m, 'd, 'w> {
    mapping: &'m Mapping,
    counts: &'m Counts,
    windows: &'w Windows<'m>,
    file: ListFile,
    places: Places,
    dirt: &'d mut DirtBook,
    before: Option<i64>,
    /// Where each figure was told first.
    seen: BTreeMap<(Counted, i64), u64>,
}

/// The increments of all shifts, in order of time; their shifts are noted as worked.
pub(crate) fn increments(
    mapping: &Mapping,
    counts: &Counts,
    sheet: &Sheet,
    file: ListFile,
    is_count: impl Fn(&Row) -> bool,
    windows: &mut Windows<'_>,
    dirt: &mut DirtBook,
) -> Result<Vec<Increment>, StopListProblem> {
    let columns = &counts.columns;
    let values = counts.values.iter().map(|value| sheet.place(Some(&value.column)));
    let places = Places {
        date: sheet.place(columns.date.as_ref())?,
        start: sheet.place(columns.start.as_ref())?,
        end: sheet.place(columns.end.as_ref())?,
        shift: sheet.place(columns.shift.as_ref())?,
        machine: sheet.place(columns.machine.as_ref())?,
        values: values.collect::<Result<_, _>>()?,
    };
    let mut figures = Vec::new();
    let own = Windows::new(mapping);
    let mut reader =
        RowReader { mapping, counts, windows: &own, file, places, dirt, before: None, seen: BTreeMap::new() };
    for row in sheet.rows.iter().filter(|row| is_count(row)) {
        reader.take(row, &mut figures);
    }
    let increments = increments_of(figures, counts.are, &own, file, mapping, dirt);
    let mut ends = BTreeSet::new();
    for increment in &increments {
        if increment.pieces > 0
            && ends.insert(increment.at)
            && let Some(window) = own.ending_at(increment.at)
        {
            windows.work(window);
        }
    }
    Ok(increments)
}

fn increments_of(
    mut figures: Vec<Figure>,
    are: CountsAreSpec,
    windows: &Windows<'_>,
    file: ListFile,
    mapping: &Mapping,
    dirt: &mut DirtBook,
) -> Vec<Increment> {
    figures.sort_by_key(|it| (it.at, it.line));
    let words = |at| mapping.clock.words(at);
    // The last reading of each running total: its moment, value and shift.
    let mut last: BTreeMap<Counted, (i64, u64, Option<i64>)> = BTreeMap::new();
    let mut increments = Vec::new();
    for Figure { line, from, at, counted, value } in figures {
        let window = windows.ending_at(at);
        let shift = window.as_ref().map(|window| window.start);
        let before = last.insert(counted, (at, value, shift));
        let before = match are {
            CountsAreSpec::Increments => None,
            // The first reading says where counting begins.
            CountsAreSpec::Totals if before.is_none() => continue,
            CountsAreSpec::Totals => before,
            CountsAreSpec::TotalsOfShift => before.filter(|before| before.2 == shift),
        };
        let pieces = match before {
            Some((_, total, _)) if value < total => {
                let what = format!("the running total fell from {total} to {value}");
                let done = format!("counted on from 0: {value}");
                dirt.note(file, line, DirtKind::CountReset, what, done);
                value
            }
            Some((_, total, _)) => value - total,
            None => value,
        };
        let Some(window) = window else {
            if pieces > 0 {
                let what = format!("{} lies outside all shifts", words(at));
                dirt.note(file, line, DirtKind::OutsideShifts, what, format!("{pieces} packs were left out"));
            }
            continue;
        };
        let since = match are {
            CountsAreSpec::Increments | CountsAreSpec::TotalsOfShift => from,
            CountsAreSpec::Totals => before.map(|before| before.0),
        };
        if let Some(since) = since.filter(|&since| since < window.start && pieces > 0) {
            let what = format!("it counts from {}, before the shift {} began", words(since), window.name);
            let done = "counted in the shift in which it ends";
            dirt.note(file, line, DirtKind::CountAcrossShifts, what, done);
        }
        increments.push(Increment { line, at, counted, pieces });
    }
    increments
}

impl RowReader<'_, '_, '_> {
    fn note(&mut self, row: &Row, kind: DirtKind, what: impl Into<String>, done: impl Into<String>) {
        self.dirt.note(self.file, row.line, kind, what, done);
    }

    fn take(&mut self, row: &Row, figures: &mut Vec<Figure>) {
        let mut read: Vec<(Counted, u64)> = Vec::new();
        let mut is_empty = true;
        for (place, value) in self.counts.values.iter().enumerate() {
            let text = row.cell(self.places.values[place]);
            if text.is_empty() {
                continue;
            }
            is_empty = false;
            let Some(counted) = self.counted(row, value) else { return };
            match self.counts.form.numbers.read(text, true) {
                Ok(number) => {
                    let pieces = number.value as u64;
                    if let Some(what) = number.unusual {
                        self.note(row, DirtKind::NumberForm, what, format!("read as {pieces}"));
                    }
                    read.push((counted, pieces));
                }
                Err(what) => self.note(row, DirtKind::NoNumber, what, "this figure was left out"),
            }
        }
        if is_empty {
            self.note(row, DirtKind::NoNumber, "the row has no figure", "left out");
        }
        let Some(first) = read.first().map(|(counted, _)| *counted) else { return };
        let Some((from, at)) = self.when(row, first) else { return };
        self.before = Some(at);
        for (counted, value) in read {
            if let Some(&line) = self.seen.get(&(counted, at)) {
                let what = format!("line {line} has counted the same at the same time");
                self.note(row, DirtKind::Duplicate, what, "left out");
                continue;
            }
            self.seen.insert((counted, at), row.line);
            figures.push(Figure { line: row.line, from, at, counted, value });
        }
    }

    fn counted(&mut self, row: &Row, value: &CountValue) -> Option<Counted> {
        let counter = match value.counted {
            CountedSpec::Total | CountedSpec::Made => Counter::Made,
            CountedSpec::Good => Counter::HandedOver,
            CountedSpec::Rejected => Counter::Rejected,
        };
        if let Some(station) = value.station {
            return Some((station, counter, value.reason));
        }
        let name = row.cell(self.places.machine);
        match self.mapping.machines.get(&folded(name)).map(Vec::as_slice) {
            Some([station]) => Some((*station, counter, value.reason)),
            Some([_, _, ..]) => {
                let what = format!("\"{}\" is the name of two machines", shown(name));
                self.note(row, DirtKind::AmbiguousMachine, what, "left out");
                None
            }
            _ => {
                let what = format!("there is no machine \"{}\" in the mapping", shown(name));
                self.note(row, DirtKind::UnknownMachine, what, "left out");
                None
            }
        }
    }

    /// Start (where it is known) and end of the period.
    fn when(&mut self, row: &Row, first: Counted) -> Option<(Option<i64>, i64)> {
        if self.places.shift.is_some() && self.places.end.is_none() && self.places.start.is_none() {
            return self.of_shift(row).map(|window| (Some(window.start), window.end));
        }
        let clock = &self.mapping.clock;
        let forms = &self.counts.form.times;
        let date = Some(row.cell(self.places.date)).filter(|date| !date.is_empty());
        let start_text = row.cell(self.places.start);
        let end_text = row.cell(self.places.end);
        let starts = clock.readings(start_text, date, None, forms);
        if self.places.end.is_none() {
            let start = self.unused(&starts, first, self.counts.period.unwrap_or(0));
            return match (start, self.counts.period) {
                (Some(start), Some(period)) => {
                    self.note_clock(row, &start, &starts);
                    Some((Some(start.at), start.at + period))
                }
                _ => self.unreadable(row, start_text),
            };
        }
        if starts.is_empty() {
            let ends = clock.readings(end_text, date, None, forms);
            return match self.unused(&ends, first, 0) {
                Some(end) => {
                    self.note_clock(row, &end, &ends);
                    Some((None, end.at))
                }
                None => self.unreadable(row, end_text),
            };
        }
        let ends: Vec<Vec<Reading>> = starts
            .iter()
            .map(|start| clock.readings(end_text, date, Some(start.civil.date()), forms))
            .collect();
        let Some(pair) = pairing::best(clock, &starts, &ends, None, self.before) else {
            return self.unreadable(row, end_text);
        };
        self.note_clock(row, &pair.first, &starts);
        let all: Vec<Reading> = ends.iter().flatten().copied().collect();
        self.note_clock(row, &pair.second, &all);
        if pair.order == pairing::Order::Reversed {
            self.note(row, DirtKind::Reversed, "the period ends before it starts", "exchanged");
        }
        Some((Some(pair.start), pair.end))
    }

    /// The reading nearest to the row before for which nothing has been counted yet, `later` microseconds later.
    fn unused(&self, readings: &[Reading], counted: Counted, later: i64) -> Option<Reading> {
        let is_unused = |it: &&Reading| !self.seen.contains_key(&(counted, it.at + later));
        let unused: Vec<Reading> = readings.iter().filter(is_unused).copied().collect();
        pairing::nearest(&unused, self.before).or_else(|| pairing::nearest(readings, self.before))
    }

    fn of_shift(&mut self, row: &Row) -> Option<Window> {
        let name = folded(row.cell(self.places.shift));
        let dates = self.mapping.clock.dates(row.cell(self.places.date), &self.counts.form.times);
        let near = |date: &jiff::civil::Date| {
            let at = self.mapping.clock.on(*date, 0).unwrap_or(0);
            self.before.map_or(0, |before| at.abs_diff(before))
        };
        let Some(date) = dates.iter().min_by_key(|date| near(date)).copied() else {
            let text = row.cell(self.places.date).to_owned();
            return self.unreadable(row, &text);
        };
        if dates.len() > 1 {
            let what = format!("the date can be {} or {}", dates[0], dates[1]);
            self.note(row, DirtKind::DateOrder, what, format!("read as {date}"));
        }
        let window = self.windows.named(date, &name);
        if window.is_none() {
            let what = format!("there is no shift \"{}\" on {date}", shown(&name));
            self.note(row, DirtKind::OutsideShifts, what, "left out");
        }
        window
    }

    fn unreadable<T>(&mut self, row: &Row, text: &str) -> Option<T> {
        let what = format!("\"{}\" fits none of the stated forms of a time", shown(text));
        self.note(row, DirtKind::UnreadableTime, what, "left out");
        None
    }

    fn note_clock(&mut self, row: &Row, taken: &Reading, among: &[Reading]) {
        for (kind, what, done) in odd_time(&self.mapping.clock, taken, among) {
            self.note(row, kind, what, done);
        }
    }
}
