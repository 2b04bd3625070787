//! Writes a log as one rectangular CSV: column names, rows `meta`, then one row for each event.
//!
//! The bytes depend on the header and the events alone: no clock, no locale, no floating-point formatting in event
//! rows. The columns are described in docs/reference/event-log.md.

use crate::columns::{COLUMNS, DETAIL_PACKS, DETAIL_STATES, event, meta};
use crate::event::{
    Counter, Detail, Event, EventKind, EventSink, NO_CONTENT, NO_ITEM, PackStep, StationState,
};
use crate::header::{FORMAT_VERSION, LineFacts, LogHeader};
use crate::row::quoted;
use crate::row_buffer::{RowBuffer, Text};
use flate2::Compression;
use flate2::write::GzEncoder;
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use std::io::{self, Write};

/// Rows are handed on when so many bytes have gathered.
const BUFFER_BYTES: usize = 1 << 16;
/// Room for the longest row without its names.
const ROW_BYTES: usize = 512;

/// Writes the events that it is told to a CSV file.
///
/// An error in writing is kept, further rows are dropped, and [`LogWriter::finish`] gives the error back.
pub struct LogWriter<W: Write> {
    out: W,
    detail: Detail,
    buffer: RowBuffer,
    words: Words,
    /// Text of the last time, with its comma: many rows share one moment.
    time: Text,
    time_of: Moment,
    error: Option<io::Error>,
}

/// Texts of the fields, quoted where they need it, each with the comma that follows.
struct Words {
    stations: Vec<Text>,
    reasons: Vec<Text>,
    states: [Text; StationState::ALL.len()],
    counters: [Text; Counter::ALL.len()],
    steps: [Text; PackStep::ALL.len()],
}

impl Words {
    fn of(facts: &LineFacts) -> Self {
        let with_comma = |text: &String| {
            let mut field = quoted(text);
            field.push(b',');
            Text::new(&field)
        };
        Self {
            stations: facts.stations.iter().map(|station| with_comma(&station.id)).collect(),
            reasons: facts.reasons.iter().map(with_comma).collect(),
            states: StationState::ALL.map(|state| Text::word(state.word())),
            counters: Counter::ALL.map(|counter| Text::word(counter.word())),
            steps: PackStep::ALL.map(|step| Text::word(step.word())),
        }
    }
}

/// A writer that compresses what it is given with gzip, level 1 (a log grows while a line runs; level 6 takes five
/// times as long for three quarters of the size). Same bytes in, same bytes out: the gzip header holds no time.
/// Finish it with `finish()`.
pub fn gzip_writer<W: Write>(out: W) -> GzEncoder<W> {
    GzEncoder::new(out, Compression::new(1))
}

impl<W: Write> LogWriter<W> {
    /// Begins a log: the column names and the header.
    pub fn new(out: W, header: &LogHeader, detail: Detail) -> Self {
        let mut writer = Self {
            out,
            detail,
            buffer: RowBuffer::new(BUFFER_BYTES + ROW_BYTES),
            words: Words::of(&header.facts),
            time: Text::word("0.000000"),
            time_of: Moment::ZERO,
            error: check(&header.facts).err(),
        };
        writer.buffer.put_slice(COLUMNS.join(",").as_bytes());
        writer.buffer.put_array(b"\n");
        writer.header(header);
        writer
    }

    /// Hands on what is left and gives the file back.
    ///
    /// # Errors
    /// The first error that writing met, or a header or event that cannot be told apart when read: two stations with
    /// one id, two reasons with one word, a station or reason that the header does not have.
    pub fn finish(mut self) -> io::Result<W> {
        self.hand_on();
        if let Some(error) = self.error {
            return Err(error);
        }
        self.out.flush()?;
        Ok(self.out)
    }

    fn hand_on(&mut self) {
        if self.error.is_none()
            && let Err(error) = self.out.write_all(self.buffer.bytes())
        {
            self.error = Some(error);
        }
        self.buffer.clear();
    }

    fn header(&mut self, header: &LogHeader) {
        let facts = &header.facts;
        self.meta(meta::FORMAT_VERSION, &FORMAT_VERSION.to_string());
        self.meta(meta::PROGRAM_VERSION, &header.program_version);
        self.meta(meta::MODEL_NAME, &header.model_name);
        if !header.model_about.is_empty() {
            self.meta(meta::MODEL_ABOUT, &header.model_about);
        }
        self.meta(meta::MODEL_DIGEST, &header.model_digest);
        if let Some(seed) = header.seed {
            self.meta(meta::SEED, &seed.to_string());
        }
        self.meta(meta::REPLICATION, &header.replication.to_string());
        if let Some(start) = header.start {
            self.meta(meta::START, start.word());
        }
        let detail = if self.detail == Detail::Packs { DETAIL_PACKS } else { DETAIL_STATES };
        self.meta(meta::DETAIL, detail);
        self.meta(meta::WARM_UP, &seconds(header.warm_up.0));
        self.meta(meta::HORIZON, &seconds(header.horizon.0));
        self.meta(meta::DESIGN_RATE, &facts.design_rate_per_min.to_string());
        self.meta(meta::SHORT_STOP_LIMIT, &seconds(facts.short_stop_limit.0));
        for (number, reason) in facts.reasons.iter().enumerate() {
            let left_out = facts.left_out.iter().any(|it| usize::from(it.0) == number);
            self.meta_of("", "", reason, meta::REASON, if left_out { meta::LEFT_OUT } else { "" });
        }
        for (number, station) in facts.stations.iter().enumerate() {
            let id = &station.id;
            self.meta_of(id, "", "", meta::STATION, &station.kind);
            self.meta_of(id, "", "", meta::HAS_STATES, if station.has_states { "true" } else { "false" });
            if let Some(rate) = station.rate_per_min {
                self.meta_of(id, "", "", meta::RATE, &rate.to_string());
            }
            self.meta_of(id, "", "", meta::TRANSIT, &seconds(station.transit_to_constraint.0));
            if let Some(capacity) = station.capacity {
                self.meta_of(id, "", "", meta::CAPACITY, &capacity.to_string());
            }
            if station.portions_per_piece != 1 {
                self.meta_of(id, "", "", meta::PORTIONS_PER_PIECE, &station.portions_per_piece.to_string());
            }
            if let Some(supplier) = &station.supplier {
                self.meta_of(id, "", "", meta::SUPPLIER, supplier);
            }
            if usize::from(facts.constraint) == number {
                self.meta_of(id, "", "", meta::CONSTRAINT, "");
            }
            if usize::from(facts.good_after) == number {
                self.meta_of(id, "", "", meta::GOOD_AFTER, "");
            }
        }
        for it in &facts.consequences {
            let id = it
                .station
                .and_then(|place| facts.stations.get(usize::from(place)))
                .map_or("", |station| &station.id);
            let word = |reason: Reason| facts.reasons.get(usize::from(reason.0)).map_or("", String::as_str);
            self.meta_of(id, word(it.stop), word(it.tag), meta::CONSEQUENCE, &seconds(it.longer_than.0));
        }
    }

    fn meta(&mut self, key: &str, value: &str) {
        self.meta_of("", "", "", key, value);
    }

    fn meta_of(&mut self, station: &str, from: &str, reason: &str, key: &str, value: &str) {
        self.buffer.put_array(b"0.000000,");
        self.buffer.put_slice(event::META);
        for field in [station, from, "", reason, key, value] {
            self.buffer.put_array(b",");
            self.buffer.put_slice(&quoted(field));
        }
        self.buffer.put_array(b",,,,,,\n");
    }

    /// Time, event and station of a row.
    #[inline]
    fn begin(&mut self, at: Moment, event: &[u8], station: u16) {
        if at == self.time_of {
            self.buffer.put(&self.time);
        } else {
            let start = self.buffer.len();
            self.buffer.put_millionths(at.0);
            self.buffer.put_array(b",");
            self.time = self.buffer.block_since(start);
            self.time_of = at;
        }
        self.buffer.put_slice(event);
        self.buffer.put_array(b",");
        match self.words.stations.get(usize::from(station)) {
            Some(field) => self.buffer.put(field),
            None => self.refuse("station", station),
        }
    }

    #[inline]
    fn reason(&mut self, reason: Reason) {
        match self.words.reasons.get(usize::from(reason.0)) {
            Some(field) => self.buffer.put(field),
            None => self.refuse("reason", reason.0),
        }
    }

    #[cold]
    fn refuse(&mut self, what: &str, number: u16) {
        let message = format!("an event names {what} {number}, which the header of the log does not have");
        self.error.get_or_insert_with(|| io::Error::new(io::ErrorKind::InvalidInput, message));
    }
}

impl<W: Write> EventSink for LogWriter<W> {
    fn detail(&self) -> Detail {
        self.detail
    }

    fn record(&mut self, told: &Event) {
        if self.error.is_some() {
            return;
        }
        let (at, station) = (told.at, told.station);
        match told.kind {
            EventKind::State { from, to, reason, made, content_before, content_after } => {
                self.begin(at, event::STATE, station);
                self.buffer.put(&self.words.states[from as usize]);
                self.buffer.put(&self.words.states[to as usize]);
                self.reason(reason);
                self.buffer.put_array(b",,");
                self.buffer.put_integer(made);
                for content in [content_before, content_after] {
                    self.buffer.put_array(b",");
                    if content != NO_CONTENT {
                        self.buffer.put_integer(u64::from(content));
                    }
                }
                self.buffer.put_array(b",,,\n");
            }
            EventKind::Count { counter, reason, value } => {
                self.begin(at, event::COUNT, station);
                self.buffer.put_array(b",,");
                self.reason(reason);
                self.buffer.put(&self.words.counters[counter as usize]);
                self.buffer.put_integer(value);
                self.buffer.put_array(b",,,,,,\n");
            }
            EventKind::Content { pieces } => {
                self.begin(at, event::CONTENT, station);
                self.buffer.put_array(b",,,,");
                self.buffer.put_integer(u64::from(pieces));
                self.buffer.put_array(b",,,,,,\n");
            }
            EventKind::Call { step, reason } => {
                self.begin(at, event::CALL, station);
                self.buffer.put_array(b",,");
                self.reason(reason);
                self.buffer.put_slice(step.word().as_bytes());
                self.buffer.put_array(b",,,,,,,\n");
            }
            EventKind::Pack { step, item, into, reason, weight_ug } => {
                self.begin(at, event::PACK, station);
                self.buffer.put_array(b",,");
                self.reason(reason);
                self.buffer.put(&self.words.steps[step as usize]);
                self.buffer.put_array(b",,,,");
                for number in [item, into] {
                    if number != NO_ITEM {
                        self.buffer.put_integer(number);
                    }
                    self.buffer.put_array(b",");
                }
                if weight_ug != 0 {
                    self.buffer.put_millionths(weight_ug);
                }
                self.buffer.put_array(b"\n");
            }
            EventKind::WarmUpEnd => {
                self.begin(at, event::WARM_UP_END, station);
                self.buffer.put_array(b",,,,,,,,,,\n");
            }
            EventKind::End => {
                self.begin(at, event::END, station);
                self.buffer.put_array(b",,,,,,,,,,\n");
            }
        }
        if self.buffer.len() >= BUFFER_BYTES {
            self.hand_on();
        }
    }
}

fn seconds(micros: u64) -> String {
    let mut text = RowBuffer::new(0);
    text.put_millionths(micros);
    String::from_utf8_lossy(text.bytes()).into_owned()
}

/// Names must tell stations and reasons apart, since rows name them by word.
fn check(facts: &LineFacts) -> io::Result<()> {
    let refuse = |what: String| Err(io::Error::new(io::ErrorKind::InvalidInput, what));
    if let Some(id) = first_double(facts.stations.iter().map(|station| station.id.as_str())) {
        return refuse(format!("two stations have the id \"{id}\": a log needs ids that differ"));
    }
    if facts.stations.iter().any(|station| station.id.is_empty()) {
        return refuse("a station has an empty id: rows name stations by id".to_owned());
    }
    if let Some(word) = first_double(facts.reasons.iter().map(String::as_str)) {
        return refuse(format!("two reasons are called \"{word}\": a log needs reasons that differ"));
    }
    let stations = facts.stations.len();
    let reasons = facts.reasons.len();
    let constraint_known =
        usize::from(facts.constraint) < stations && usize::from(facts.good_after) < stations;
    let consequences_known = facts.consequences.iter().all(|it| {
        it.station.is_none_or(|place| usize::from(place) < stations)
            && usize::from(it.tag.0) < reasons
            && usize::from(it.stop.0) < reasons
    });
    let left_out_known = facts.left_out.iter().all(|it| usize::from(it.0) < reasons);
    if facts.reasons.first().map(String::as_str) != Some("") {
        return refuse("the first reason must be the empty one, for \"no reason\"".to_owned());
    }
    if !constraint_known || !consequences_known || !left_out_known {
        return refuse("the facts of the line name a station or reason that they do not list".to_owned());
    }
    Ok(())
}

/// The first text that occurs twice.
pub(crate) fn first_double<'a>(texts: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let mut sorted: Vec<&str> = texts.collect();
    sorted.sort_unstable();
    sorted.windows(2).find(|pair| pair[0] == pair[1]).map(|pair| pair[0])
}
