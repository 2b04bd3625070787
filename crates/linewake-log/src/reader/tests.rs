//! Writer and reader together: what is written comes back, and what is wrong is told with its line.

use super::*;
use crate::event::{CallStep, Counter, EventSink, NO_CONTENT, NO_ITEM, PackStep, StationState};
use crate::header::{Consequence, LineFacts, ShiftStart, StationFacts};
use crate::writer::{LogWriter, gzip_writer};
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::Span;
use proptest::prelude::*;
use std::io::Write;

/// Reasons of the header below, after the fixed ones.
const STOOD: Reason = Reason(FIXED_REASONS.len() as u16);
const FILM: Reason = Reason(STOOD.0 + 1);

fn station(id: &str, kind: &str) -> StationFacts {
    StationFacts {
        id: id.to_owned(),
        kind: kind.to_owned(),
        has_states: kind != "accumulating_table",
        rate_per_min: Some(104.5),
        transit_to_constraint: Span(12_345_678),
        capacity: (kind == "accumulating_table").then_some(60),
        portions_per_piece: if kind == "accumulating_table" { 1 } else { 2 },
        supplier: None,
    }
}

/// A header with names that need quotes.
fn header() -> LogHeader {
    let mut former = station("former, \"big\" one", "former");
    former.supplier = Some("Invented\nMachines".to_owned());
    LogHeader {
        program_version: "0.1.0".to_owned(),
        model_name: "Alder Hill, line \"1\"".to_owned(),
        model_about: "An invented line,\nfor tests".to_owned(),
        model_digest: "ab12".to_owned(),
        seed: Some(u64::MAX),
        replication: 3,
        start: Some(ShiftStart::LongRun),
        warm_up: Moment(10_000_000),
        horizon: Moment(1_000_000_000_000),
        facts: LineFacts {
            design_rate_per_min: 104.0 / 3.0,
            constraint: 0,
            good_after: 2,
            short_stop_limit: Span(300_000_000),
            left_out: vec![FILM],
            consequences: vec![
                Consequence {
                    tag: STOOD,
                    station: Some(0),
                    stop: Reason::NONE,
                    longer_than: Span(120_000_000),
                },
                Consequence { tag: STOOD, station: None, stop: FILM, longer_than: Span::ZERO },
            ],
            stations: vec![former, station("table", "accumulating_table"), station("x-ray", "x_ray")],
            reasons: FIXED_REASONS
                .iter()
                .copied()
                .chain(["held in seal", "film, top"])
                .map(str::to_owned)
                .collect(),
        },
    }
}

/// One event of each kind, with and without the fields that may be empty.
fn events() -> Vec<Event> {
    use StationState::{Blocked, Planned, Running, StoppedRepair, StoppedWaiting};
    let state = |from, to, reason, content_before, content_after| EventKind::State {
        from,
        to,
        reason,
        made: 1234,
        content_before,
        content_after,
    };
    let pack = |step, item, into, weight_ug| EventKind::Pack { step, item, into, reason: STOOD, weight_ug };
    let kinds = vec![
        (0, 0, state(Running, Running, Reason::NONE, NO_CONTENT, 0)),
        (0, 2, EventKind::Call { step: CallStep::Called, reason: FILM }),
        (4_615_385, 0, state(Running, StoppedWaiting, FILM, 7, NO_CONTENT)),
        (4_615_385, 0, state(StoppedWaiting, StoppedRepair, FILM, 7, 9)),
        (5_000_000, 2, state(Blocked, Planned, Reason::NONE, 0, NO_CONTENT - 1)),
        (5_000_000, 1, EventKind::Content { pieces: 59 }),
        (6_000_000, 2, pack(PackStep::Cut, 17, NO_ITEM, 405_123_456)),
        (6_000_000, 2, pack(PackStep::Loaded, 0, 17, 0)),
        (6_000_000, 2, pack(PackStep::Lost, NO_ITEM, NO_ITEM, 1)),
        (10_000_000, 0, EventKind::WarmUpEnd),
        (10_000_000, 2, EventKind::Count { counter: Counter::Rejected, reason: STOOD, value: 1 << 40 }),
        (1_000_000_000_000, 0, EventKind::End),
    ];
    kinds.into_iter().map(|(at, station, kind)| Event { at: Moment(at), station, kind }).collect()
}

fn written(header: &LogHeader, events: &[Event]) -> Vec<u8> {
    let mut writer = LogWriter::new(Vec::new(), header, Detail::Packs);
    for event in events {
        writer.record(event);
    }
    writer.finish().unwrap()
}

fn read_all(bytes: &[u8]) -> Result<(LogHeader, Vec<Event>), String> {
    let reader = LogReader::new(bytes).map_err(|error| error.to_string())?;
    let header = reader.header().clone();
    let events: Result<Vec<_>, _> = reader.collect();
    Ok((header, events.map_err(|error| error.to_string())?))
}

#[test]
fn what_is_written_comes_back() {
    let bytes = written(&header(), &events());
    let (back, told) = read_all(&bytes).unwrap();
    assert_eq!(back, header());
    assert_eq!(told, events());
    assert_eq!(LogReader::new(bytes.as_slice()).unwrap().detail(), Detail::Packs);
}

#[test]
fn rows_are_rectangular_and_exact() {
    let mut plain = header();
    plain.facts.stations[0].id = "former".to_owned();
    plain.facts.reasons[usize::from(FILM.0)] = "film".to_owned();
    let text = String::from_utf8(written(&plain, &events())).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[0],
        "time_s,event,station,from,to,reason,key,value,made,content_before,content_after,item,into,weight_g"
    );
    assert!(lines.contains(&"0.000000,meta,,,,,format_version,1,,,,,,"));
    assert!(lines.contains(&"0.000000,meta,,,,film,reason,left_out,,,,,,"));
    assert!(
        lines.contains(&"0.000000,meta,former,,,held in seal,tag_after_stop_longer_than_s,120.000000,,,,,,")
    );
    assert!(lines.contains(&"4.615385,state,former,running,stopped_waiting,film,,,1234,7,,,,"));
    assert!(lines.contains(&"5.000000,content,table,,,,,59,,,,,,"));
    assert!(lines.contains(&"6.000000,pack,x-ray,,,held in seal,cut,,,,,17,,405.123456"));
    assert!(lines.contains(&"0.000000,call,x-ray,,,film,called,,,,,,,"));
    assert_eq!(lines.last(), Some(&"1000000.000000,end,former,,,,,,,,,,,"));
    // The supplier's name and the text about the model hold a line end, so their rows take two lines; every other row
    // has 13 commas.
    assert_eq!(
        lines.iter().filter(|line| line.matches(',').count() != 13).count(),
        2 + 1 /* model name */ + 2 /* about */
    );
}

#[test]
fn gzip_is_read_as_it_is_and_in_several_members() {
    let plain = written(&header(), &events());
    let mut zipped = gzip_writer(Vec::new());
    zipped.write_all(&plain).unwrap();
    let zipped = zipped.finish().unwrap();
    assert_eq!(read_all(&zipped), read_all(&plain));
    let (first, second) = plain.split_at(plain.len() / 2);
    let mut members = Vec::new();
    for part in [first, second] {
        let mut member = gzip_writer(members);
        member.write_all(part).unwrap();
        members = member.finish().unwrap();
    }
    assert_eq!(read_all(&members), read_all(&plain));
    let cut = &zipped[..zipped.len() - 12];
    assert!(read_all(cut).unwrap_err().contains("the compressed file is cut off"));
}

/// A long log cut off anywhere behind its header, plain or packed: the events before the cut, then that it breaks off.
#[test]
fn a_log_that_is_cut_off_is_read_up_to_there() {
    let many: Vec<Event> = (0..20_000)
        .map(|second| Event {
            at: Moment(second * 1_000_000),
            station: 2,
            kind: EventKind::Pack {
                step: PackStep::Cut,
                item: second,
                into: NO_ITEM,
                reason: Reason::NONE,
                weight_ug: 405_000_000 + second,
            },
        })
        .collect();
    let plain = written(&header(), &many);
    let mut zipped = gzip_writer(Vec::new());
    zipped.write_all(&plain).unwrap();
    let zipped = zipped.finish().unwrap();
    let head = written(&header(), &[]).len();
    for (bytes, from) in [(&plain, head), (&zipped, zipped.len() / 10)] {
        for cut in (from..bytes.len()).step_by(bytes.len() / 97) {
            let mut rows: Vec<_> = LogReader::new(&bytes[..cut]).unwrap().collect();
            let last = rows.pop().unwrap();
            assert!(matches!(last, Err(LogError::BrokenOff { .. })), "{last:?}");
            let told: Vec<Event> = rows.into_iter().map(Result::unwrap).collect();
            assert_eq!(told, many[..told.len()], "what is told is whole");
            assert!(told.len() + 3000 > many.len() * cut / bytes.len(), "{} of {cut} bytes", told.len());
        }
    }
    let unended = LogReader::new(plain.as_slice()).unwrap().last().unwrap();
    assert!(unended.unwrap_err().to_string().contains("its last row must be `end`"));
}

/// The log with one piece of text replaced: the error must name the line and say what would be right.
#[test]
fn errors_name_the_line_and_what_would_be_right() {
    let mut plain = header();
    plain.model_name = "plain".to_owned();
    plain.facts.stations[0].id = "former".to_owned();
    plain.facts.stations[0].supplier = None;
    let text = String::from_utf8(written(&plain, &events())).unwrap();
    let line_of = |part: &str| 1 + text.lines().position(|line| line.contains(part)).unwrap();
    let cases = [
        ("time_s,event", "t,event", "time_s,event", "first line must be the column names"),
        ("format_version,1", "format_version,2", "format_version", "reads version 1"),
        ("meta,,,,,seed", "meta,,,,,sead", "seed", "key is \"sead\""),
        (
            "design_rate_per_min,34.",
            "design_rate_per_min,-34.",
            "design_rate_per_min",
            "a rate over 0 is due",
        ),
        ("key,value", "value,key", "time_s", "first line must be the column names"),
        ("has_states,false", "has_states,no", "has_states,false", "true or false is due"),
        ("meta,table,,,,capacity", "meta,former,,,,capacity", "capacity", "must follow the row `station`"),
        (
            "4.615385,state,former,running",
            "4.615385,state,former,runing",
            "4.615385",
            "known are running, starved",
        ),
        (
            "5.000000,content,table",
            "5.000000,content,tabel",
            "5.000000,content",
            "the header has former, table, x-ray",
        ),
        ("5.000000,content", "3.000000,content", "5.000000,content", "time goes back"),
        ("content,table,,,,,59", "content,table,,,,,fifty", "content,table", "a whole number is due"),
        ("content,table,,,,,59", "content,table,,,,,4294967295", "content,table", "at most 4294967294"),
        ("content,table,,,,,59", "content,table,,,cold,,59", "content,table", "column reason must be empty"),
        ("405.123456", "405,123456", "405.123456", "15 columns"),
        ("405.123456", "405.1234567", "405.123456", "at most six decimals"),
        (
            "pack,x-ray,,,held in seal,cut",
            "pack,x-ray,,,held,cut",
            "405.123456",
            "the header has held in seal",
        ),
        ("called", "shouted", "called", "called, arrived, released"),
        ("6.000000,pack,x-ray", "6.000000,puck,x-ray", "6.000000,pack", "known are meta, state"),
        ("1000000.000000,end", "1000000.000001,end", "1000000.000000,end", "behind the end of the run"),
    ];
    for (from, to, at, what) in cases {
        let broken = text.replacen(from, to, 1);
        assert_ne!(broken, text, "{from}");
        let error = read_all(broken.as_bytes()).unwrap_err();
        let line = format!("line {}: ", line_of(at));
        assert!(error.starts_with(&line), "{from} -> {to}: {error}, not at {line}");
        assert!(error.contains(what), "{from} -> {to}: {error}");
    }
}

#[test]
fn what_is_missing_is_named() {
    let text = String::from_utf8(written(&header(), &events())).unwrap();
    let without = |part: &str| -> String {
        text.lines().filter(|line| !line.contains(part)).map(|it| format!("{it}\n")).collect()
    };
    for key in ["model_name", "detail", "horizon_s", "good_after", "has_states", "short_stop_limit_s"] {
        let error = read_all(without(key).as_bytes()).unwrap_err();
        assert!(error.contains(key), "{error}");
    }
    let told_nothing = ["program_version", "model_digest", "model_about", "seed", "replication", "start,"];
    let of_a_real_line = told_nothing.iter().fold(text.replace("line,\nfor", "line"), |text, part| {
        text.lines().filter(|line| !line.contains(part)).map(|it| format!("{it}\n")).collect()
    });
    let (header, _) = read_all(of_a_real_line.as_bytes()).unwrap();
    assert_eq!((header.seed, header.start, header.model_digest.as_str()), (None, None, ""));
    let error = read_all(without("end").as_bytes()).unwrap_err();
    assert!(error.contains("breaks off"), "{error}");
    assert!(read_all(b"").unwrap_err().starts_with("line 1: this is no log"));
    let after_end = format!("{text}1000000.000000,content,table,,,,,1,,,,,,\n");
    assert!(read_all(after_end.as_bytes()).unwrap_err().contains("follows the `end` row"));
}

#[test]
fn after_a_wrong_row_the_next_is_read() {
    let text = String::from_utf8(written(&header(), &events())).unwrap().replace(",called,", ",shouted,");
    let rows: Vec<_> = LogReader::new(text.as_bytes()).unwrap().collect();
    assert_eq!(rows.len(), events().len());
    assert_eq!(rows.iter().filter(|row| row.is_err()).count(), 1);
}

#[test]
fn windows_line_ends_and_a_byte_order_mark_do_no_harm() {
    let text = String::from_utf8(written(&header(), &events())).unwrap();
    let (_, told) = read_all(text.replace('\n', "\r\n").as_bytes()).unwrap();
    assert_eq!(told, events());
    let (_, told) = read_all(format!("\u{feff}{text}").as_bytes()).unwrap();
    assert_eq!(told, events());
}

/// A file that takes so many bytes and then is full.
struct Full(usize);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.0 < bytes.len() {
            return Err(io::Error::new(io::ErrorKind::StorageFull, "no room"));
        }
        self.0 -= bytes.len();
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn an_error_in_writing_is_kept_to_the_end() {
    let mut writer = LogWriter::new(Full(100_000), &header(), Detail::States);
    for _ in 0..10_000 {
        writer.record(&events()[2]);
    }
    let error = writer.finish().err().unwrap();
    assert_eq!(error.kind(), io::ErrorKind::StorageFull);
}

#[test]
fn names_that_cannot_be_told_apart_are_refused() {
    let refused = |change: fn(&mut LogHeader), event: Event| {
        let mut header = header();
        change(&mut header);
        let mut writer = LogWriter::new(Vec::new(), &header, Detail::States);
        writer.record(&event);
        writer.finish().err().unwrap().to_string()
    };
    let fine = events()[0];
    assert!(refused(|it| it.facts.stations[0].id = "table".to_owned(), fine).contains("two stations"));
    assert!(
        refused(|it| it.facts.reasons[usize::from(STOOD.0)] = "film, top".to_owned(), fine)
            .contains("two reasons")
    );
    assert!(refused(|it| it.facts.stations[0].id = String::new(), fine).contains("empty id"));
    assert!(refused(|it| it.facts.constraint = 9, fine).contains("do not list"));
    assert!(refused(|_| (), Event { station: 3, ..fine }).contains("station 3"));
    let call = EventKind::Call { step: CallStep::Called, reason: Reason(FILM.0 + 1) };
    assert!(refused(|_| (), Event { kind: call, ..fine }).contains(&format!("reason {}", FILM.0 + 1)));
}

fn any_kind() -> impl Strategy<Value = EventKind> {
    let state = || proptest::sample::select(StationState::ALL.as_slice());
    let reason = || (0_u16..3).prop_map(Reason);
    let content = || prop_oneof![Just(NO_CONTENT), any::<u32>()];
    let item = || prop_oneof![Just(NO_ITEM), any::<u64>()];
    let call = proptest::sample::select([CallStep::Called, CallStep::Arrived, CallStep::Released].as_slice());
    let counter = proptest::sample::select(Counter::ALL.as_slice());
    let step = proptest::sample::select(PackStep::ALL.as_slice());
    prop_oneof![
        (state(), state(), reason(), 0..=1_u64 << 40, content(), content()).prop_map(
            |(from, to, reason, made, content_before, content_after)| EventKind::State {
                from,
                to,
                reason,
                made,
                content_before,
                content_after
            }
        ),
        (counter, reason(), 0..=1_u64 << 40).prop_map(|(counter, reason, value)| {
            let is_reasoned =
                matches!(counter, Counter::Rejected | Counter::Escaped | Counter::Tagged | Counter::Lost);
            EventKind::Count { counter, reason: if is_reasoned { reason } else { Reason::NONE }, value }
        }),
        (0..NO_CONTENT).prop_map(|pieces| EventKind::Content { pieces }),
        (call, reason()).prop_map(|(step, reason)| EventKind::Call { step, reason }),
        (step, item(), item(), reason(), any::<u64>()).prop_map(|(step, item, into, reason, weight_ug)| {
            EventKind::Pack { step, item, into, reason, weight_ug }
        }),
        Just(EventKind::WarmUpEnd),
    ]
}

fn any_events() -> impl Strategy<Value = Vec<Event>> {
    proptest::collection::vec((0_u64..1_000_000_000_000, 0_u16..3, any_kind()), 0..60).prop_map(|rows| {
        let mut times: Vec<u64> = rows.iter().map(|(at, ..)| *at).collect();
        times.sort_unstable();
        let rows = times.into_iter().zip(rows);
        let mut events: Vec<Event> =
            rows.map(|(at, (_, station, kind))| Event { at: Moment(at), station, kind }).collect();
        events.push(Event { at: header().horizon, station: 0, kind: EventKind::End });
        events
    })
}

proptest! {
    #[test]
    fn any_events_come_back(events in any_events()) {
        let (_, told) = read_all(&written(&header(), &events)).unwrap();
        prop_assert_eq!(told, events);
    }

    #[test]
    fn any_names_come_back(id in "\\PC{1,12}|[a-z,\"\r\n ]{1,12}", reason in "\\PC{1,12}|[a-z,\"\r\n ]{1,12}") {
        let mut named = header();
        named.facts.stations[2].id = format!("_{id}");
        named.facts.reasons[usize::from(STOOD.0)] = format!("_{reason}");
        named.model_name = id;
        named.program_version = reason;
        let (back, told) = read_all(&written(&named, &events())).unwrap();
        prop_assert_eq!(back, named);
        prop_assert_eq!(told, events());
    }

    #[test]
    fn any_bytes_give_an_error_and_no_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(read_all(&bytes).is_err());
        let gzip = [&[0x1f, 0x8b, 8, 0][..], &bytes].concat();
        prop_assert!(read_all(&gzip).is_err());
    }

    #[test]
    fn a_log_with_bytes_changed_gives_events_or_errors(
        changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in any::<prop::sample::Index>(),
    ) {
        let mut bytes = written(&header(), &events());
        for (place, byte) in changes {
            let place = place.index(bytes.len());
            bytes[place] = byte;
        }
        if let Ok(reader) = LogReader::new(bytes.as_slice()) {
            prop_assert!(reader.count() <= bytes.len());
        }
        bytes.truncate(cut.index(bytes.len() - 1));
        prop_assert!(read_all(&bytes).is_err());
    }
}

/// The documentation of the format names every column, event, state, counter, step and key.
#[test]
fn the_format_is_documented_whole() {
    use crate::columns::meta;
    let doc = include_str!("../../../../docs/reference/event-log.md");
    let states = StationState::ALL.map(StationState::word);
    let counters = Counter::ALL.map(Counter::word);
    let steps = PackStep::ALL.map(PackStep::word);
    let keys = [
        meta::FORMAT_VERSION,
        meta::PROGRAM_VERSION,
        meta::MODEL_NAME,
        meta::MODEL_ABOUT,
        meta::MODEL_DIGEST,
        meta::SEED,
        meta::REPLICATION,
        meta::START,
        meta::DETAIL,
        meta::WARM_UP,
        meta::HORIZON,
        meta::DESIGN_RATE,
        meta::SHORT_STOP_LIMIT,
        meta::REASON,
        meta::LEFT_OUT,
        meta::STATION,
        meta::HAS_STATES,
        meta::RATE,
        meta::TRANSIT,
        meta::CAPACITY,
        meta::PORTIONS_PER_PIECE,
        meta::SUPPLIER,
        meta::CONSTRAINT,
        meta::GOOD_AFTER,
        meta::CONSEQUENCE,
    ];
    let words = COLUMNS.iter().chain(&states).chain(&counters).chain(&steps).chain(&keys).copied();
    for word in words.chain(event::ALL.split(", ")) {
        assert!(doc.contains(&format!("`{word}`")), "{word}");
    }
}

/// Rows with plain names, a few times over, so that their words are known; one field in some of them is another text.
fn rows_with_dirt() -> impl Strategy<Value = Vec<(Vec<String>, &'static str)>> {
    let mut plain = header();
    plain.facts.stations[0].id = "former".to_owned();
    plain.facts.reasons[usize::from(FILM.0)] = "film".to_owned();
    let told: Vec<Event> = events().into_iter().filter(|event| event.kind != EventKind::End).collect();
    let text = String::from_utf8(written(&plain, &told)).unwrap();
    let rows: Vec<Vec<String>> = text
        .lines()
        .rev()
        .take(told.len())
        .map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>())
        .map(|mut row| {
            row[0] = "20.000000".to_owned();
            row
        })
        .collect();
    let dirt = prop::sample::select(vec![
        "",
        "0",
        "7",
        "007",
        "12",
        "1.5",
        "20.5",
        "20.000001",
        "021.000000",
        "19.999999",
        "9999999.000000",
        "1099511627777",
        "4294967294",
        "4294967295",
        "999999999999999999",
        "1000000000000000000",
        "18446744073709551615",
        "18446744073709.551615",
        "1099511627776.000000",
        "-1",
        " 1",
        "1 ",
        "x",
        ".",
        "former",
        "table",
        "film",
        "running",
        "state",
        "pack",
        "made",
        "0.000000",
        "\r",
        "7\r",
    ]);
    let place = 0..COLUMNS.len() + 1;
    let end = prop::sample::select(vec!["\n", "\n", "\n", "\r\n", ",\n", "\n\n", ""]);
    let changed = prop::option::weighted(0.3, (place, dirt, end));
    prop::collection::vec((prop::sample::select(rows), changed), 1..60).prop_map(|rows| {
        rows.into_iter()
            .map(|(mut row, changed)| {
                let Some((place, dirt, end)) = changed else { return (row, "\n") };
                if let Some(field) = row.get_mut(place) {
                    *field = dirt.to_owned();
                }
                (row, end)
            })
            .collect()
    })
}

proptest! {
    /// A quote sends a row the long way, by its fields: the events, errors and lines are the same as by its known words.
    #[test]
    fn known_words_tell_what_the_fields_tell(rows in rows_with_dirt()) {
        let mut plain = header();
        plain.facts.stations[0].id = "former".to_owned();
        plain.facts.reasons[usize::from(FILM.0)] = "film".to_owned();
        let head = String::from_utf8(written(&plain, &[])).unwrap();
        let text = |quote: &str| {
            let rows = rows.iter().map(|(row, end)| {
                let rest = row[2..].join(",");
                format!("{},{quote}{}{quote},{rest}{end}", row[0], row[1])
            });
            format!("{head}{}", rows.collect::<String>())
        };
        let read = |text: &str| -> Result<Vec<Result<Event, String>>, String> {
            // The row after the header is told wrong with it.
            let rows = LogReader::new(text.as_bytes()).map_err(|error| error.to_string())?;
            Ok(rows.map(|row| row.map_err(|error| error.to_string())).collect())
        };
        let (by_words, by_fields) = (read(&text("")), read(&text("\"")));
        prop_assert_eq!(by_words, by_fields);
    }
}
