//! A plant's stop list with every kind of dirt, generated, so that what each row must come to is known beforehand; and
//! bytes of any sort. The plant is invented.

use crate::known_logs::{read, results};
use linewake_kpi::convention::Conventions;
use linewake_log::stop_list::DirtKind::{self, *};
use linewake_log::stop_list::{self, ListFile, Mapping};
use std::collections::BTreeSet;

mod any_bytes;
mod beside_model;

/// Three shifts a day, none from 22:00 to 23:00; the slicer and the boxer have a belt each that the list calls "Band".
pub(crate) const MAPPING: &str = r#"{
  "mapping_version": 1, "name": "dirty plant", "about": "invented", "time_zone": "Europe/Berlin",
  "design_rate": "60/min", "constraint": "wrapper",
  "shifts": { "daily": [
    { "name": "early", "start": "06:00", "end": "14:00", "breaks": [{ "start": "10:00", "end": "10:30" }] },
    { "name": "late", "start": "14:00", "end": "22:00" },
    { "name": "night", "start": "23:00", "end": "06:00" },
  ] },
  "stations": [
    { "id": "slicer", "names": ["SL 1"] }, { "id": "belt 1", "names": ["Band"] },
    { "id": "wrapper", "names": ["WR 1"] }, { "id": "belt 2", "names": ["Band", "Halle 2 / Band"] },
  ],
  "reasons": [
    { "reason": "film change", "names": ["Folienwechsel", "Folien wechsel"] },
    { "reason": "fault", "names": ["Störung"] },
    { "reason": "break", "names": ["Pause"], "is": "planned_left_out" },
  ],
  "stops": {
    "form": { "delimiter": ";", "decimal": ",", "thousands": ".",
              "times": ["%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"] },
    "columns": { "machine": "Anlage", "area": "Bereich", "start": "Beginn", "end": "Ende", "duration": "Dauer",
                 "reason": "Grund" },
    "duration": "min",
  },
  "counts": {
    "columns": { "start": "von", "end": "bis" }, "are": "totals_of_shift",
    "values": [
      { "column": "Gesamt", "counts": "total" }, { "column": "Gut", "counts": "good" },
      { "column": "Ausschuss", "counts": "rejected", "reason": "fault" },
    ],
  },
}"#;

const HEADINGS: &str = "Anlage;Bereich;Beginn;Ende;Dauer;Grund";

/// A file as it is written, and what must be found in it.
#[derive(Default)]
struct Plant {
    bytes: Vec<u8>,
    /// Lines written so far.
    lines: u64,
    rows: u64,
    expected: Vec<(u64, DirtKind, f64)>,
    /// Minutes that the rows must count for in the end, all together.
    minutes: f64,
}

impl Plant {
    fn write(&mut self, text: &str) -> u64 {
        let line = self.lines + 1;
        self.bytes.extend(text.as_bytes());
        self.bytes.push(b'\n');
        self.lines += text.matches('\n').count() as u64 + 1;
        self.rows += 1;
        line
    }

    /// A row that is as it should be.
    fn clean(&mut self, row: &str, minutes: f64) {
        self.write(row);
        self.minutes += minutes;
    }

    /// A row with faults, which counts for so many minutes all the same.
    fn dirty(&mut self, row: &str, kinds: &[DirtKind], minutes: f64) {
        let line = self.write(row);
        self.expected.extend(kinds.iter().map(|&kind| (line, kind, minutes)));
        self.minutes += minutes;
    }
}

/// A date, and times on it.
struct Day {
    day: u32,
    month: u32,
}

impl Day {
    fn at(&self, time: &str) -> String {
        format!("{:02}.{:02}.2026 {time}", self.day, self.month)
    }

    /// A row of the slicer.
    fn row(&self, start: &str, end: &str, duration: &str, reason: &str) -> String {
        let at = |time: &str| if time.is_empty() { String::new() } else { self.at(time) };
        format!("SL 1;;{};{};{duration};{reason}", at(start), at(end))
    }
}

/// A kind of dirt: writes a row of it, and what must come of it.
type Dirt = fn(&Day, &mut Plant);

/// All that can be wrong with a row on any day.
const DIRTS: &[Dirt] = &[
    |day, plant| {
        // Windows-1252 in a file of UTF-8: the reason is known all the same.
        let row = day.row("07:00", "07:20", "20", "St");
        let line = plant.lines + 1;
        plant.bytes.extend(row.as_bytes());
        plant.bytes.extend(b"\xf6rung\n");
        plant.lines += 1;
        plant.rows += 1;
        plant.expected.push((line, Encoding, 20.0));
        plant.minutes += 20.0;
    },
    |day, plant| {
        plant.dirty(&day.row("07:00", "07:20", "20", "\"Folien\nwechsel\""), &[LineBreak], 20.0);
    },
    |_, plant| plant.dirty(";;;;;", &[EmptyRow], 0.0),
    |_, plant| plant.dirty(HEADINGS, &[RepeatedHeading], 0.0),
    |day, plant| plant.dirty(&(day.row("07:00", "07:20", "20", "Folienwechsel") + ";5"), &[Width], 20.0),
    |day, plant| {
        let row = format!("SL 1;;{};{}", day.at("07:00"), day.at("07:20"));
        plant.dirty(&row, &[Width, NoReason], 20.0);
    },
    |day, plant| {
        let row = day.row("07:00", "07:20", "20", "Folienwechsel").replace("SL 1", "SL 7");
        plant.dirty(&row, &[UnknownMachine], 0.0);
    },
    |day, plant| {
        let row = day.row("07:00", "07:20", "20", "Folienwechsel").replace("SL 1", "");
        plant.dirty(&row, &[UnknownMachine], 0.0);
    },
    |day, plant| {
        let row = day.row("07:00", "07:20", "20", "Folienwechsel").replace("SL 1;;", "Band;;");
        plant.dirty(&row, &[AmbiguousMachine], 0.0);
    },
    |day, plant| plant.dirty(&day.row("07:00", "07:20", "20", "Messer stumpf"), &[UnknownReason], 20.0),
    |day, plant| plant.dirty(&day.row("07:00", "07:20", "20", ""), &[NoReason], 20.0),
    |day, plant| {
        let row = day.row("07:00", "07:20", "20", "Folienwechsel").replace("07:00", "kurz nach 7");
        plant.dirty(&row, &[UnreadableTime, NoStart], 20.0);
    },
    |day, plant| plant.dirty(&day.row("", "07:20", "20", "Folienwechsel"), &[NoStart], 20.0),
    |day, plant| plant.dirty(&day.row("", "07:20", "", "Folienwechsel"), &[NoStart], 0.0),
    |day, plant| plant.dirty(&day.row("07:00", "", "12,5", "Folienwechsel"), &[NoEnd], 12.5),
    |day, plant| plant.dirty(&day.row("07:00", "", "", "Folienwechsel"), &[NoEnd], 0.0),
    |day, plant| plant.dirty(&day.row("07:20", "07:00", "20", "Folienwechsel"), &[Reversed], 20.0),
    |day, plant| plant.dirty(&day.row("07:20", "07:00", "", "Folienwechsel"), &[Reversed], 20.0),
    // Over midnight, with the date of the start at both.
    |day, plant| plant.dirty(&day.row("23:50", "00:15", "", "Folienwechsel"), &[NextDay], 25.0),
    |day, plant| plant.dirty(&day.row("23:50", "00:15", "25", "Folienwechsel"), &[NextDay], 25.0),
    |day, plant| plant.dirty(&day.row("07:00", "07:00", "4", "Folienwechsel"), &[NoLength], 4.0),
    |day, plant| plant.dirty(&day.row("07:00", "07:00", "", "Folienwechsel"), &[NoLength], 0.0),
    |day, plant| {
        let row = day.row("07:00", "07:20", "20", "Folienwechsel").replace("2026 07:20", "2027 07:20");
        plant.dirty(&row, &[TooLong], 20.0);
    },
    |day, plant| {
        let row = day.row("07:00", "07:20", "", "Folienwechsel").replace("2026 07:20", "2027 07:20");
        plant.dirty(&row, &[TooLong], 0.0);
    },
    |day, plant| plant.dirty(&day.row("07:00", "07:20", "35", "Folienwechsel"), &[DurationDisagrees], 20.0),
    |day, plant| {
        plant.clean(&day.row("07:00", "07:20", "20", "Folienwechsel"), 20.0);
        // The same line counts nothing more, and blanks and letters do not make it another.
        let row = day.row("07:00", "07:20", "20", " folienwechsel ");
        let line = plant.write(&row);
        plant.expected.push((line, Duplicate, 0.0));
    },
    |day, plant| {
        plant.clean(&day.row("07:00", "07:20", "20", "Folienwechsel"), 20.0);
        plant.dirty(&day.row("07:10", "07:40", "30", "Störung"), &[Overlap], 20.0);
    },
    |day, plant| {
        // The later line begins first: it is the one that keeps its time.
        plant.dirty(&day.row("07:10", "07:40", "30", "Störung"), &[Overlap], 20.0);
        plant.clean(&day.row("07:00", "07:20", "20", "Folienwechsel"), 20.0);
    },
    |day, plant| {
        plant.clean(&day.row("07:00", "07:40", "40", "Folienwechsel"), 40.0);
        plant.dirty(&day.row("07:10", "07:20", "10", "Störung"), &[Overlap], 0.0);
    },
    |day, plant| plant.dirty(&day.row("22:10", "22:30", "20", "Folienwechsel"), &[OutsideShifts], 0.0),
    |day, plant| plant.dirty(&day.row("21:50", "22:30", "40", "Folienwechsel"), &[OutsideShifts], 10.0),
    |day, plant| plant.dirty(&day.row("09:50", "10:40", "50", "Folienwechsel"), &[InBreak], 20.0),
    |day, plant| {
        plant.clean(&day.row("11:00", "11:30", "30", "Pause"), 30.0);
        plant.dirty(&day.row("10:50", "11:10", "20", "Störung"), &[InBreak], 10.0);
    },
    // Decimals behind a point where a comma is due; thousands that are none.
    |day, plant| plant.dirty(&day.row("07:00", "", "12.5", "Folienwechsel"), &[NoEnd, NumberForm], 12.5),
    |day, plant| plant.dirty(&day.row("07:00", "07:20", "20 min", "Folienwechsel"), &[NumberForm], 20.0),
    |day, plant| {
        plant.dirty(
            &day.row("07:00", "07:20", "1 020,0", "Folienwechsel"),
            &[DurationDisagrees, NumberForm],
            20.0,
        )
    },
    |day, plant| plant.dirty(&day.row("07:00", "07:20", "ca. 20", "Folienwechsel"), &[NoNumber], 20.0),
    |day, plant| plant.dirty(&day.row("07:00", "07:20", "-20", "Folienwechsel"), &[NoNumber], 20.0),
];

/// The list: each kind of dirt once on each of three days, clean rows between, then what needs its own date.
fn plant() -> Plant {
    let mut plant = Plant::default();
    plant.bytes.extend("\u{feff}".as_bytes());
    let line = plant.write(HEADINGS);
    plant.expected.push((line, ByteOrderMark, 0.0));
    // A day each: 28 of a month, from 1 May on.
    let days = (0..).map(|n| Day { day: n % 28 + 1, month: 5 + n / 28 });
    let dirts = (0..3).flat_map(|round| DIRTS.iter().map(move |dirt| (round, dirt)));
    let mut pending = Vec::new();
    for ((round, dirt), day) in dirts.zip(days) {
        let around =
            |time: &str, end: &str| format!("WR 1;;{};{};{};Folienwechsel", day.at(time), day.at(end), "5");
        plant.clean(&around(["06:00", "06:10", "06:20"][round], ["06:05", "06:15", "06:25"][round]), 5.0);
        dirt(&day, &mut plant);
        plant.clean(&format!("Band;Halle 2;{};{};10,0;Störung", day.at("13:00"), day.at("13:10")), 10.0);
        pending.push(day);
    }
    // 3 April, before and after rows of that day, and 4 March between such of its own.
    for (date, day, month) in [("03/04/2026", 3, 4), ("03/04/2026", 4, 3)] {
        let day = Day { day, month };
        plant.clean(&day.row("07:00", "07:10", "10", "Folienwechsel"), 10.0);
        let row = format!("SL 1;;{date} 08:00;{date} 08:30;30;Folienwechsel");
        plant.dirty(&row, &[DateOrder], 30.0);
        plant.clean(&day.row("09:00", "09:10", "10", "Folienwechsel"), 10.0);
    }
    // 13 can be a day only.
    plant.clean("SL 1;;13/04/2026 08:00;13/04/2026 08:30;30;Folienwechsel", 30.0);
    plant.clean("SL 1;;04/14/2026 08:00;04/14/2026 08:30;30;Folienwechsel", 30.0);
    // The clock skips 2:00 to 3:00 on 29 March, and shows it twice on 25 October (EU directive 2000/84/EC).
    let spring = Day { day: 29, month: 3 };
    plant.clean(&spring.row("01:30", "03:30", "60", "Folienwechsel"), 60.0);
    plant.dirty(&spring.row("02:45", "03:55", "10", "Störung"), &[ClockForward], 10.0);
    let autumn = Day { day: 25, month: 10 };
    plant.clean(&autumn.row("01:30", "01:50", "20", "Folienwechsel"), 20.0);
    plant.dirty(&autumn.row("01:55", "02:10", "75", "Folienwechsel"), &[ClockBack], 75.0);
    plant.dirty(&autumn.row("02:20", "02:40", "20", "Folienwechsel"), &[ClockBack], 20.0);
    plant.clean(&autumn.row("03:30", "03:40", "10", "Folienwechsel"), 10.0);
    // A quote that opens and takes three lines with it.
    let day = Day { day: 26, month: 10 };
    let swallowed = [
        day.row("07:00", "07:10", "10", "\"Folienwechsel"),
        day.row("08:00", "08:10", "10", "Folienwechsel"),
        day.row("09:00", "09:10", "10", "Folienwechsel\""),
    ];
    plant.dirty(&swallowed.join("\n"), &[OpenQuote], 0.0);
    plant.clean(&day.row("10:30", "10:40", "10", "Folienwechsel"), 10.0);
    plant
}

/// Counts of two shifts, and what must be found in them; then total and good packs.
const COUNTS: &str = "von;bis;Gesamt;Gut;Ausschuss\n\
    01.05.2026 06:00;01.05.2026 07:00;1.000;990;10\n\
    01.05.2026 07:00;01.05.2026 08:00;2,500;2.480;20\n\
    01.05.2026 08:00;01.05.2026 09:00;400;380;30\n\
    01.05.2026 08:00;01.05.2026 09:00;400;380;30\n\
    01.05.2026 09:00;01.05.2026 10:00;600;x;30\n\
    01.05.2026 10:00;01.05.2026 11:00;;;\n\
    02.05.2026 06:00;02.05.2026 14:00;1000;990;50\n\
    02.05.2026 22:00;02.05.2026 22:30;7;7;0\n\
    03.05.2026 13:30;03.05.2026 14:30;100;100;0\n";

fn counts_expected() -> Vec<(u64, DirtKind, f64)> {
    vec![
        (3, NumberForm, 0.0),
        (4, CountReset, 0.0),
        (5, Duplicate, 0.0),
        (6, NoNumber, 0.0),
        (7, NoNumber, 0.0),
        (8, CountsDisagree, 0.0),
        (9, OutsideShifts, 0.0),
        (10, CountAcrossShifts, 0.0),
    ]
}

#[test]
fn every_kind_of_dirt_is_found_and_settled_by_its_rule() {
    let plant = plant();
    let mapping = Mapping::parse(MAPPING, None).expect("a mapping");
    assert_eq!(mapping.warnings().len(), 1, "two stations are called Band");
    let list = stop_list::read(&mapping, plant.bytes.as_slice(), Some(COUNTS.as_bytes())).expect("a list");
    let found = |file: ListFile| -> Vec<(u64, DirtKind, f64)> {
        let rows = list.dirty_rows.iter().filter(|row| row.file == file);
        rows.map(|row| (row.line, row.kind, row.counted.seconds() / 60.0)).collect()
    };
    let mut expected = plant.expected.clone();
    expected.sort_by_key(|&(line, kind, _)| (line, kind));
    let text = String::from_utf8_lossy(&plant.bytes).into_owned();
    let lines: Vec<&str> = text.lines().collect();
    for (found, expected) in found(ListFile::Stops).iter().zip(&expected) {
        assert_eq!(found, expected, "{}", lines[expected.0 as usize - 1]);
    }
    assert_eq!(found(ListFile::Stops).len(), expected.len());
    assert_eq!(found(ListFile::Counts), counts_expected());
    let kinds: BTreeSet<DirtKind> = list.dirty_rows.iter().map(|row| row.kind).collect();
    let all: BTreeSet<DirtKind> = DirtKind::ALL.iter().copied().collect();
    assert_eq!(kinds, all, "every kind of dirt");
    assert!(kinds.len() >= 25);
    assert!(list.dirty_rows.iter().all(|row| !row.what.is_empty() && !row.done.is_empty()));
    assert_eq!(list.rows, plant.rows + COUNTS.lines().count() as u64);

    // The time of all stations in stops and planned stops is that of the rows, and the breaks of the shifts.
    let results = results(&list, Conventions::default());
    let stopped = |result: &linewake_kpi::result::ShiftResult| -> f64 {
        let states = result.stations.iter().filter_map(|station| station.states);
        states.map(|states| (states.stopped() + states.planned).seconds() / 60.0).sum()
    };
    let all: f64 = results.iter().map(stopped).sum();
    let early = list.shifts.iter().filter(|shift| shift.name.ends_with("early")).count();
    // No row names the first belt, so that nothing is told of it.
    let breaks = early as f64 * 30.0 * 3.0;
    assert!(
        (all - breaks - plant.minutes).abs() < 1e-6,
        "{all} min, {breaks} of breaks, {} due",
        plant.minutes
    );
    // 1000, 1500 and after the reset 400 and 200 packs.
    let first =
        list.shifts.iter().position(|shift| shift.name == "2026-05-01 early").expect("the first of May");
    assert_eq!((results[first].oee.total_packs, results[first].oee.good_packs), (3100, 2860));
}

/// A stop without end lasts until the next one of its machine or the end of its shift, if the mapping says so.
#[test]
fn a_stop_without_end_lasts_until_the_next_if_the_mapping_says_so() {
    let mapping = MAPPING
        .replace("\"duration\": \"min\",", "\"duration\": \"min\", \"without_end\": \"until_next_stop\",");
    let day = Day { day: 4, month: 5 };
    let rows = [
        day.row("07:00", "", "", "Störung"),
        day.row("08:00", "08:10", "", "Störung"),
        day.row("13:00", "", "", "Störung"),
        day.row("15:00", "15:10", "", "Störung"),
    ];
    let list =
        read(&mapping, &format!("{HEADINGS}\n{}\n", rows.join("\n")), Some("von;bis;Gesamt;Gut;Ausschuss\n"));
    let found: Vec<_> =
        list.dirty_rows.iter().map(|row| (row.line, row.kind, row.counted.seconds() / 60.0)).collect();
    assert_eq!(found, vec![(2, NoEnd, 60.0), (4, NoEnd, 60.0)]);
}

/// Counts that stand in the stop list, in rows of their own, by shift and date.
#[test]
fn counts_can_stand_in_the_stop_list() {
    let start = MAPPING.find("\"counts\": {").expect("counts");
    let mapping = format!(
        r#"{}"counts": {{
             "rows_of_stop_list": {{ "column": "Anlage", "words": ["Zähler"] }},
             "columns": {{ "date": "Beginn", "shift": "Bereich" }}, "are": "increments",
             "values": [{{ "column": "Dauer", "counts": "good" }}, {{ "column": "Grund", "counts": "rejected" }}] }} }}"#,
        MAPPING[..start].replace("\"%d.%m.%Y %H:%M\",", "\"%d.%m.%Y %H:%M\", \"%d.%m.%Y\",")
    );
    let text = format!(
        "{HEADINGS}\nSL 1;;04.05.2026 07:00;04.05.2026 07:10;10;Störung\nZähler;Early;04.05.2026;;20.000;500\n\
         Zähler;Dawn;04.05.2026;;20.000;500\n"
    );
    let list = read(&mapping, &text, None);
    let found: Vec<_> = list.dirty_rows.iter().map(|row| (row.line, row.kind)).collect();
    assert_eq!(found, vec![(4, OutsideShifts)]);
    let [early] = results(&list, Conventions::default()).try_into().expect("one shift");
    assert_eq!((early.oee.total_packs, early.oee.good_packs), (20_500, 20_000));
}

/// A file that is not the one of the mapping is refused, with its line.
#[test]
fn a_file_of_another_form_is_refused() {
    let mapping = Mapping::parse(MAPPING, None).expect("a mapping");
    let refused = |list: &str, counts: Option<&str>| {
        let problem =
            stop_list::read(&mapping, list.as_bytes(), counts.map(str::as_bytes)).expect_err("no list");
        problem.to_string()
    };
    let counts = Some("von;bis;Gesamt;Gut;Ausschuss\n");
    for (list, counts, why) in [
        ("", counts, "stop list, line 1: the file is empty"),
        ("Anlage,Beginn,Ende\n", counts, "only one column at all; is the delimiter right?"),
        ("Anlage;Bereich;Beginnt;Ende;Dauer;Grund\n", counts, "did you mean \"Beginnt\"?"),
        ("Anlage;Anlage;Beginn;Ende;Dauer;Grund\n", counts, "two columns have the heading \"Anlage\""),
        (HEADINGS, None, "the mapping tells of counts in a file of their own"),
        (HEADINGS, counts, "no row of the list lies in a shift"),
        (HEADINGS, Some("von;bis;Gesamt;Gut\n"), "file of counts, line 1: there is no column \"Ausschuss\""),
    ] {
        let told = refused(list, counts);
        assert!(told.contains(why), "{told}\nnot: {why}");
    }
}

/// UTF-16 with its mark and Windows-1252 give the same as UTF-8; so does a file whose lines end as on old machines.
#[test]
fn encodings_and_line_ends_do_not_matter() {
    let day = Day { day: 4, month: 5 };
    let text = format!(
        "{HEADINGS}\n{}\n{}\n",
        day.row("07:00", "07:10", "10", "Störung"),
        day.row("08:00", "", "", "Störung")
    );
    let counts = "von;bis;Gesamt;Gut;Ausschuss\n".as_bytes();
    let mapping = Mapping::parse(MAPPING, None).expect("a mapping");
    let of = |mapping: &Mapping, bytes: &[u8]| stop_list::read(mapping, bytes, Some(counts)).expect("a list");
    let plain = of(&mapping, text.as_bytes());
    assert_eq!(plain.dirty_rows.len(), 1);
    let utf16: Vec<u8> = [0xfeff].into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let latin: Vec<u8> = text.chars().map(|letter| letter as u8).collect();
    let of_latin = MAPPING.replacen("\"form\": {", "\"form\": { \"encoding\": \"windows-1252\",", 1);
    let of_latin = Mapping::parse(&of_latin, None).expect("a mapping");
    let marked = of(&mapping, &utf16);
    assert_eq!((&marked.shifts, marked.dirty_rows.len()), (&plain.shifts, 2));
    assert_eq!(of(&of_latin, &latin), plain);
    for end in ["\r\n", "\r"] {
        assert_eq!(of(&mapping, text.replace('\n', end).as_bytes()), plain);
    }
}

/// Each fault of a mapping is told with its line and column.
#[test]
fn problems_of_a_mapping_are_located() {
    // What is replaced, by what, where the problem stands, what is said of it.
    for (from, to, at, why) in [
        ("\"Europe/Berlin\"", "\"Europe/Berln\"", "\"Europe/Berln\"", "did you mean \"Europe/Berlin\"?"),
        ("\"wrapper\"", "\"wraper\"", "\"wraper\"", "there is no station \"wraper\""),
        ("\"06:00\", \"end\": \"14:00\"", "\"6\", \"end\": \"14:00\"", "\"6\"", "\"6\" is no time of day"),
        (
            "\"start\": \"14:00\"",
            "\"start\": \"13:00\"",
            "[\n    { \"name\": \"early\"",
            "two shifts overlap",
        ),
        ("\"start\": \"10:00\"", "\"start\": \"05:00\"", "[{ \"start\"", "a break lies outside its shift"),
        ("%d.%m.%Y %H:%M", "%d.%m.", "\"%d.%m.\"", "is no form of a time"),
        ("\"delimiter\": \";\"", "\"delimiter\": \"semicolon\"", "\"semicolon\"", "is no delimiter"),
        ("\"counts\": \"good\"", "\"counts\": \"god\"", "\"god\"", "did you mean \"good\"?"),
        ("\"planned_left_out\"", "\"planed\"", "\"planed\"", "did you mean \"planned\"?"),
        ("\"mapping_version\": 1", "\"mapping_version\": 2", "2, \"name\"", "this program reads version 1"),
        ("\"design_rate\": \"60/min\", ", "", "{", "\"design_rate\" is missing"),
        ("\"thousands\": \".\"", "\"thousands\": \",\"", "\",\",\n", "the same mark"),
        ("\"area\": \"Bereich\"", "\"aera\": \"Bereich\"", "\"aera\"", "did you mean \"area\"?"),
    ] {
        assert!(MAPPING.contains(from), "{from}");
        let text = MAPPING.replacen(from, to, 1);
        let problems = Mapping::parse(&text, None).expect_err(why);
        let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let problem = problems.iter().find(|it| it.to_string().contains(why));
        let problem = problem.unwrap_or_else(|| panic!("{told:?}, not: {why}"));
        let before = &text[..text.find(at).unwrap_or_else(|| panic!("no {at}"))];
        let line_start = before.rfind('\n').map_or(0, |end| end + 1);
        let due = (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1);
        assert_eq!((problem.line, problem.column), due, "{problem}");
    }
}
