//! Writes a log as one rectangular CSV: column names, rows `meta`, then one row for each event.
//!
//! The bytes depend on the header and the events alone: no clock, no locale, no floating-point formatting in event
//! rows. The columns are described in docs/reference/event-log.md.

use crate::columns::{COLUMNS, DETAIL_PACKS, DETAIL_STATES, event, meta};
use crate::event::{Detail, Event, EventKind, EventSink, NO_CONTENT, NO_ITEM};
use crate::header::{FORMAT_VERSION, LineFacts, LogHeader};
use crate::row::{put_integer, put_millionths, quoted};
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
    buffer: Vec<u8>,
    /// Ids of the stations, quoted, each with the comma that follows.
    stations: Vec<Vec<u8>>,
    /// Words of the reasons, quoted, each with the comma that follows.
    reasons: Vec<Vec<u8>>,
    /// Text of the last time, with its comma: many rows share one moment.
    time: Vec<u8>,
    time_of: Moment,
    error: Option<io::Error>,
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
        let with_comma = |text: &String| {
            let mut field = quoted(text);
            field.push(b',');
            field
        };
        let mut writer = Self {
            out,
            detail,
            buffer: Vec::with_capacity(BUFFER_BYTES + ROW_BYTES),
            stations: header.facts.stations.iter().map(|station| with_comma(&station.id)).collect(),
            reasons: header.facts.reasons.iter().map(with_comma).collect(),
            time: b"0.000000,".to_vec(),
            time_of: Moment::ZERO,
            error: check(&header.facts).err(),
        };
        writer.buffer.extend_from_slice(COLUMNS.join(",").as_bytes());
        writer.buffer.push(b'\n');
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
            && let Err(error) = self.out.write_all(&self.buffer)
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
        self.buffer.extend_from_slice(b"0.000000,");
        self.buffer.extend_from_slice(event::META);
        for field in [station, from, "", reason, key, value] {
            self.buffer.push(b',');
            self.buffer.extend_from_slice(&quoted(field));
        }
        self.buffer.extend_from_slice(b",,,,,,\n");
    }

    /// Time, event and station of a row.
    fn begin(&mut self, at: Moment, event: &[u8], station: u16) {
        if at != self.time_of {
            self.time_of = at;
            self.time.clear();
            put_millionths(&mut self.time, at.0);
            self.time.push(b',');
        }
        self.buffer.extend_from_slice(&self.time);
        self.buffer.extend_from_slice(event);
        self.buffer.push(b',');
        match self.stations.get(usize::from(station)) {
            Some(field) => self.buffer.extend_from_slice(field),
            None => self.refuse("station", station),
        }
    }

    fn reason(&mut self, reason: Reason) {
        match self.reasons.get(usize::from(reason.0)) {
            Some(field) => self.buffer.extend_from_slice(field),
            None => self.refuse("reason", reason.0),
        }
    }

    #[cold]
    fn refuse(&mut self, what: &str, number: u16) {
        let message = format!("an event names {what} {number}, which the header of the log does not have");
        self.error.get_or_insert_with(|| io::Error::new(io::ErrorKind::InvalidInput, message));
    }

    fn put(&mut self, bytes: &[u8]) {
        self.buffer.extend_from_slice(bytes);
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
                self.put(from.word().as_bytes());
                self.put(b",");
                self.put(to.word().as_bytes());
                self.put(b",");
                self.reason(reason);
                self.put(b",,");
                put_integer(&mut self.buffer, made);
                for content in [content_before, content_after] {
                    self.put(b",");
                    if content != NO_CONTENT {
                        put_integer(&mut self.buffer, u64::from(content));
                    }
                }
                self.put(b",,,\n");
            }
            EventKind::Count { counter, reason, value } => {
                self.begin(at, event::COUNT, station);
                self.put(b",,");
                self.reason(reason);
                self.put(counter.word().as_bytes());
                self.put(b",");
                put_integer(&mut self.buffer, value);
                self.put(b",,,,,,\n");
            }
            EventKind::Content { pieces } => {
                self.begin(at, event::CONTENT, station);
                self.put(b",,,,");
                put_integer(&mut self.buffer, u64::from(pieces));
                self.put(b",,,,,,\n");
            }
            EventKind::Call { step, reason } => {
                self.begin(at, event::CALL, station);
                self.put(b",,");
                self.reason(reason);
                self.put(step.word().as_bytes());
                self.put(b",,,,,,,\n");
            }
            EventKind::Pack { step, item, into, reason, weight_ug } => {
                self.begin(at, event::PACK, station);
                self.put(b",,");
                self.reason(reason);
                self.put(step.word().as_bytes());
                self.put(b",,,,,");
                for number in [item, into] {
                    if number != NO_ITEM {
                        put_integer(&mut self.buffer, number);
                    }
                    self.put(b",");
                }
                if weight_ug != 0 {
                    put_millionths(&mut self.buffer, weight_ug);
                }
                self.put(b"\n");
            }
            EventKind::WarmUpEnd => {
                self.begin(at, event::WARM_UP_END, station);
                self.put(b",,,,,,,,,,\n");
            }
            EventKind::End => {
                self.begin(at, event::END, station);
                self.put(b",,,,,,,,,,\n");
            }
        }
        if self.buffer.len() >= BUFFER_BYTES {
            self.hand_on();
        }
    }
}

fn seconds(micros: u64) -> String {
    let mut text = Vec::new();
    put_millionths(&mut text, micros);
    String::from_utf8_lossy(&text).into_owned()
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
