//! Logs with known answers, through the whole chain: a plant's stop list and counts, the reader, the accounting.
//!
//! The plants are invented. The figures of the published examples are those of their sources, which each test names;
//! the arrangement of the minutes over a shift is ours, and does not matter to the answers.

use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::convention::{Conventions, PlannedStops};
use linewake_kpi::iso22400::IsoElements;
use linewake_kpi::result::{CauseKind, ShiftResult};
use linewake_log::event::{Detail, EventSink};
use linewake_log::reader::LogReader;
use linewake_log::stop_list::{self, Mapping, StopList};
use linewake_log::writer::LogWriter;

/// A list in one text: what is read, and how.
pub(crate) fn read(mapping: &str, list: &str, counts: Option<&str>) -> StopList {
    let mapping = match Mapping::parse(mapping, None) {
        Ok(mapping) => mapping,
        Err(problems) => panic!("{}", problems.iter().map(|it| format!("{it}\n")).collect::<String>()),
    };
    let counts = counts.map(str::as_bytes);
    stop_list::read(&mapping, list.as_bytes(), counts).unwrap_or_else(|problem| panic!("{problem}"))
}

/// The result of each shift; none has a doubt, the ledger of each closes, and so does that of its log once written and
/// read again.
pub(crate) fn results(list: &StopList, conventions: Conventions) -> Vec<ShiftResult> {
    let result = |shift: &stop_list::StopListShift| {
        let mut accumulator = Accumulator::new(&shift.header).under(conventions);
        let mut log = LogWriter::new(Vec::new(), &shift.header, Detail::States);
        for event in &shift.events {
            accumulator.record(event);
            log.record(event);
        }
        let result = accumulator.finish();
        assert_eq!(result.doubts, vec![], "{}", shift.name);
        let residual = result.ledger.residual_packs();
        assert!(residual.abs() < 1e-9 * result.ledger.design_packs.max(1e3), "{residual}");

        let bytes = log.finish().expect("a log");
        let log = LogReader::new(bytes.as_slice()).unwrap_or_else(|error| panic!("{error}"));
        let mut again = Accumulator::new(log.header()).under(conventions);
        for event in log {
            again.record(&event.unwrap_or_else(|error| panic!("{error}")));
        }
        assert_eq!(again.finish(), result, "{}", shift.name);
        result
    };
    list.shifts.iter().map(result).collect()
}

/// One shift of a line of one machine: minutes from its start at 06:00 on 2026-03-02.
struct Shift<'a> {
    /// Length, planned stops among it.
    length_min: f64,
    design_rate: &'static str,
    /// Start, length in minutes, reason.
    stops: &'a [(f64, f64, &'static str)],
    total: u64,
    good: u64,
}

/// Minutes from the start on the clock in UTC.
fn clock(min: f64) -> String {
    let seconds = (min * 60.0).round() as u64 + 6 * 3600;
    let (day, second) = (2 + seconds / 86_400, seconds % 86_400);
    format!("2026-03-{day:02} {:02}:{:02}:{:02}", second / 3600, second / 60 % 60, second % 60)
}

impl Shift<'_> {
    fn result(&self) -> ShiftResult {
        self.result_under(Conventions::default())
    }

    fn result_under(&self, conventions: Conventions) -> ShiftResult {
        let (start, end) = (clock(0.0), clock(self.length_min));
        let mapping = format!(
            r#"{{
              "mapping_version": 1, "name": "one machine", "time_zone": "UTC", "design_rate": "{}",
              "shifts": {{ "dated": [{{ "name": "the shift", "start": "{start}", "end": "{end}" }}] }},
              "stations": [{{ "id": "press" }}],
              "reasons": [
                {{ "reason": "stop" }}, {{ "reason": "changeover" }},
                {{ "reason": "waits", "is": "starved" }},
                {{ "reason": "scheduled", "is": "planned" }},
                {{ "reason": "idle", "is": "planned_left_out" }}
              ],
              "stops": {{
                "form": {{ "times": ["%Y-%m-%d %H:%M:%S"] }},
                "columns": {{ "machine": "machine", "start": "start", "end": "end", "reason": "reason" }}
              }},
              "counts": {{
                "columns": {{ "start": "start", "end": "end" }}, "are": "increments",
                "values": [{{ "column": "total", "counts": "total" }}, {{ "column": "good", "counts": "good" }}]
              }}
            }}"#,
            self.design_rate
        );
        let mut list = "machine,start,end,reason\n".to_owned();
        for (from, length, reason) in self.stops {
            list.push_str(&format!("press,{},{},{reason}\n", clock(*from), clock(from + length)));
        }
        let counts = format!("start,end,total,good\n{start},{end},{},{}\n", self.total, self.good);
        let read = read(&mapping, &list, Some(&counts));
        assert_eq!(read.dirty_rows, vec![]);
        let [result] = results(&read, conventions).try_into().expect("one shift");
        result
    }
}

pub(crate) fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value}, not {expected}");
}

/// "TPM: A Route to World-Class Performance", book pages 127-128 (digilib.universitaspertamina.ac.id, pages 148-149):
/// 910 min planned, 115 min of unplanned stops and 12 min of changeover, cycle 3 min, 203 cycles, 152 right first time:
/// up 783 min, A 86.0 %, P 77.7 % (cut, not rounded), Q 74.9 %, OEE 50 %. Exactly, OEE = 3 x 152 / 910.
#[test]
fn published_example_with_changeover() {
    let oee = Shift {
        length_min: 910.0,
        design_rate: "20/h",
        stops: &[(30.0, 115.0, "stop"), (400.0, 12.0, "changeover")],
        total: 203,
        good: 152,
    }
    .result()
    .oee;
    near(oee.running.seconds() / 60.0, 783.0, 1e-9);
    near(oee.availability, 0.86, 0.001);
    near(oee.performance.unwrap(), 0.777, 0.001);
    near(oee.quality.unwrap(), 0.749, 0.001);
    near(oee.oee, 0.5, 0.005);
    near(oee.oee, 0.501_098_901_098_901_1, 1e-12);
}

/// The same book, book page 82 (page 101): 1980 min, 50 min of unplanned stops, cycle 0.5 min, output 2498 without a
/// defect: A 97.5 %, P 64.7 %, Q 100 %, OEE 63.1 %.
#[test]
fn published_example_of_33_hours() {
    let oee = Shift {
        length_min: 1980.0,
        design_rate: "2/min",
        stops: &[(100.0, 20.0, "stop"), (900.0, 30.0, "stop")],
        total: 2498,
        good: 2498,
    }
    .result()
    .oee;
    near(oee.availability, 0.975, 0.0005);
    near(oee.performance.unwrap(), 0.647, 0.0005);
    near(oee.quality.unwrap(), 1.0, 1e-12);
    near(oee.oee, 0.631, 0.0005);
}

/// A university's worked example (people.utm.my/shamsul, "Calculating overall equipment effectiveness"): a shift of 960
/// min with 60 min of breaks, 90 min unplanned, 1.5 min a unit, 525 units, 56 of them defective: 900 min planned, 810
/// running, 469 good; printed 90, 97 and 89 %, exactly P = 0.972222, Q = 0.893333, OEE = 0.781667. (The page misprints
/// 39 for 56 once.)
#[test]
fn published_example_with_breaks_left_out() {
    let oee = Shift {
        length_min: 960.0,
        design_rate: "40/h",
        stops: &[(120.0, 30.0, "idle"), (300.0, 90.0, "stop"), (600.0, 30.0, "idle")],
        total: 525,
        good: 525 - 56,
    }
    .result()
    .oee;
    assert_eq!((oee.planned_production_time.seconds(), oee.running.seconds()), (54_000.0, 48_600.0));
    assert_eq!(oee.good_packs, 469);
    near(oee.availability, 0.9, 1e-12);
    near(oee.performance.unwrap(), 0.97, 0.005);
    near(oee.quality.unwrap(), 0.89, 0.005);
    near(oee.performance.unwrap(), 0.972_222_222_222_222_2, 1e-12);
    near(oee.quality.unwrap(), 0.893_333_333_333_333_3, 1e-12);
    near(oee.oee, 0.781_666_666_666_666_6, 1e-12);
}

/// A trade paper (automationworld.com, article 13309925): 9000 good pieces of 28 800 that the time would have allowed:
/// OEE 31.25 %. Here 480 min at 60/min.
#[test]
fn published_example_of_theoretical_output() {
    let shift = Shift { length_min: 480.0, design_rate: "60/min", stops: &[], total: 9000, good: 9000 };
    let result = shift.result();
    near(result.ledger.design_packs, 28_800.0, 1e-9);
    near(result.oee.oee, 0.3125, 1e-12);
}

/// "TPM: A Route to World-Class Performance", page 149, table 6.3: A, P and Q of seven machines in percent, and their
/// OEE. Each is told as a shift of 1000 min at 1000 packs a minute, so that a pack is a thousandth of a minute.
#[test]
fn published_table_of_seven_machines() {
    let rows = [
        (86.8, 71.0, 100.0, 61.6),
        (81.0, 75.3, 100.0, 61.0),
        (89.5, 45.7, 89.5, 36.6),
        (83.4, 82.6, 100.0, 68.9),
        (84.5, 68.3, 92.6, 53.4),
        (90.1, 55.2, 21.9, 10.9),
        (94.4, 79.6, 100.0, 75.1),
    ];
    for (a, p, q, oee_percent) in rows {
        let total = (a * 10.0 * p * 10.0_f64).round() as u64;
        let good = (total as f64 * q / 100.0).round() as u64;
        let stops = [(100.0, 1000.0 - a * 10.0, "stop")];
        let shift = Shift { length_min: 1000.0, design_rate: "1000/min", stops: &stops, total, good };
        let oee = shift.result().oee;
        near(oee.availability * 100.0, a, 1e-6);
        near(oee.performance.unwrap() * 100.0, p, 1e-3);
        near(oee.quality.unwrap() * 100.0, q, 1e-3);
        near(oee.oee * 100.0, oee_percent, 0.1);
    }
}

/// SMRP Best Practices, 6th edition, metric 2.1.1, page 26: of 24 h 8 h idle, 1.66 h of scheduled and 2.08 h of
/// unscheduled downtime: up 12.26 h, 76.63 % of 16 h. With the scheduled downtime out of the denominator, as the planned
/// busy time of ISO 22400-2 has it, 85.495 % (worked out here).
#[test]
fn published_availability_under_both_conventions() {
    let shift = Shift {
        length_min: 1440.0,
        design_rate: "1/min",
        stops: &[(60.0, 480.0, "idle"), (600.0, 99.6, "scheduled"), (900.0, 124.8, "stop")],
        total: 1,
        good: 1,
    };
    let smrp = shift.result().oee;
    near(smrp.running.seconds() / 3600.0, 12.26, 1e-9);
    near(smrp.availability, 0.7663, 0.0001);
    let out = Conventions { planned_stops: PlannedStops::Out, ..Conventions::default() };
    let iso = shift.result_under(out).oee;
    near(iso.planned_production_time.seconds() / 3600.0, 14.34, 1e-9);
    near(iso.availability_iso, 0.854_951_185_495_118_5, 1e-9);
}

/// The formulas of ISO 22400-2 (read in a public ontology of the standard) on made-up numbers: APT 360, PBT 480, ASUT
/// 40, ADET 40 min, so AUPT 400 and AUBT 440; PRI 0.5 min, PQ 684, GQ 670.
#[test]
fn formulas_of_the_standard() {
    let shift = Shift {
        length_min: 480.0,
        design_rate: "2/min",
        stops: &[(60.0, 40.0, "scheduled"), (200.0, 40.0, "stop"), (300.0, 40.0, "waits")],
        total: 684,
        good: 670,
    };
    let result = shift.result();
    let iso = IsoElements::of_line(&result).expect("states of the constraint");
    let value = |symbol: &str| iso.value(symbol).unwrap_or_else(|| panic!("no {symbol}"));
    for (symbol, min) in [("PBT", 480.0), ("APT", 360.0), ("ASUT", 40.0), ("AUPT", 400.0), ("ADET", 40.0)] {
        near(value(symbol) / 60.0, min, 1e-9);
    }
    near(value("AUBT") / 60.0, 440.0, 1e-9);
    for (symbol, expected) in [
        ("availability", 0.75),
        ("effectiveness", 0.95),
        ("quality_ratio", 0.979_532_163_742_69),
        ("oee_index", 0.697_916_666_666_666_6),
        ("nee_index", 0.775_462_962_962_962_9),
        ("AE", 0.916_666_666_666_666_6),
        ("UE", 0.818_181_818_181_818_2),
        ("TE", 0.9),
        ("setup_ratio", 0.1),
    ] {
        near(value(symbol), expected, 1e-12);
    }
    near(result.oee.oee, 0.697_916_666_666_666_6, 1e-12);
}

/// Worked by hand: 4 min and 5 min are below and at the limit of short stops, which is 300 s. A = 475/480, for the long
/// one alone; A_iso = 471/480, for both.
#[test]
fn a_stop_below_the_limit_costs_performance_and_one_at_it_availability() {
    let shift = Shift {
        length_min: 480.0,
        design_rate: "1/min",
        stops: &[(10.0, 4.0, "stop"), (100.0, 5.0, "stop")],
        total: 400,
        good: 380,
    };
    let oee = shift.result().oee;
    assert_eq!((oee.short_interruptions, oee.long_interruptions), (1, 1));
    near(oee.availability, 475.0 / 480.0, 1e-12);
    near(oee.availability_iso, 471.0 / 480.0, 1e-12);
    near(oee.performance.unwrap(), 400.0 / 475.0, 1e-12);
    near(oee.quality.unwrap(), 0.95, 1e-12);
    near(oee.oee, 380.0 / 480.0, 1e-12);
}

/// Worked by hand: nothing made, and nothing but a stop.
#[test]
fn a_shift_that_stood_has_an_oee_of_zero_and_no_factors() {
    let shift =
        Shift { length_min: 60.0, design_rate: "1/min", stops: &[(0.0, 60.0, "stop")], total: 0, good: 0 };
    let oee = shift.result().oee;
    assert_eq!((oee.performance, oee.quality), (None, None));
    near(oee.oee, 0.0, 1e-15);
    near(oee.availability, 0.0, 1e-15);
}

/// A line of three machines, the middle one its constraint, in shifts of each day.
const THREE: &str = r#"{
  // An invented line.
  "mapping_version": 1, "name": "three machines", "time_zone": "Europe/Berlin",
  "design_rate": "60/min", "constraint": "wrapper",
  "shifts": { "daily": [
    { "name": "early", "start": "06:00", "end": "14:00", "breaks": [{ "start": "10:00", "end": "10:30" }] },
    { "name": "night", "start": "22:00", "end": "06:00" },
  ] },
  "stations": [
    { "id": "slicer", "names": ["SL 1"] }, { "id": "wrapper", "names": ["WR 1"] }, { "id": "boxer", "names": ["BX 1"] },
  ],
  "reasons": [
    { "reason": "blade", "names": ["Messer"] },
    { "reason": "film", "names": ["Folie"] },
    { "reason": "waits", "names": ["wartet auf Ware"], "is": "starved" },
    { "reason": "full", "names": ["Stau"], "is": "blocked" },
    { "reason": "power", "names": ["Strom"], "whole_line": true },
  ],
  "stops": {
    "form": { "delimiter": ";", "decimal": ",", "thousands": ".", "times": ["%d.%m.%Y %H:%M"] },
    "columns": { "machine": "Anlage", "start": "Beginn", "end": "Ende", "reason": "Grund" },
  },
  "counts": {
    "columns": { "end": "bis" }, "are": "totals_of_shift",
    "values": [
      { "column": "Takte", "counts": "total" },
      { "column": "Metall", "counts": "rejected", "station": "boxer", "reason": "metal" },
    ],
  },
}"#;

/// Worked by hand. Early shift of 8 h less 30 min of break: 450 min, 27 000 packs by design.
/// - The wrapper waits from 7:00 to 7:20, the slicer stands from 6:58 to 7:15: 15 min are the blade's; the rest no stop
///   explains: recovery from it, for the transit time is 0 and the wrapper has not run since.
/// - The wrapper is full from 8:00 to 8:10, and the boxer stands from 7:50 to 8:30: 10 min are the film's.
/// - The power fails from 9:50 to 10:40: the wrapper's 20 min outside the break are the power's.
/// - The wrapper's own film from 13:30 to 14:15: 30 min in this shift, which ends at 14:00.
#[test]
fn waits_are_charged_to_the_machine_behind_them() {
    let list = "Anlage;Beginn;Ende;Grund\n\
                SL 1;02.03.2026 06:58;02.03.2026 07:15;Messer\n\
                WR 1;02.03.2026 07:00;02.03.2026 07:20;wartet auf Ware\n\
                BX 1;02.03.2026 07:50;02.03.2026 08:30;Folie\n\
                WR 1;02.03.2026 08:00;02.03.2026 08:10;Stau\n\
                SL 1;02.03.2026 09:50;02.03.2026 10:40;Strom\n\
                WR 1;02.03.2026 13:30;02.03.2026 14:15;Folie\n";
    let counts = "bis;Takte;Metall\n02.03.2026 10:00;9.000;4\n02.03.2026 14:00;18.500;10\n";
    let read = read(THREE, list, Some(counts));
    assert_eq!(read.shifts.len(), 1);
    assert_eq!(read.shifts[0].name, "2026-03-02 early");
    assert_eq!(read.shifts[0].start, "2026-03-02T06:00:00+01:00");
    let [result] = results(&read, Conventions::default()).try_into().expect("one shift");
    let oee = &result.oee;
    near(oee.planned_production_time.seconds() / 60.0, 450.0, 1e-9);
    near(oee.running.seconds() / 60.0, 370.0, 1e-9);
    assert_eq!((oee.total_packs, oee.good_packs), (18_500, 18_490));
    near(oee.availability, 370.0 / 450.0, 1e-12);
    near(oee.oee, 18_490.0 / 27_000.0, 1e-12);
    near(result.ledger.design_packs, 27_000.0, 1e-9);
    let rows = result.ledger.causes.iter();
    let mut causes: Vec<_> = rows
        .map(|row| (row.kind, row.station.as_str(), row.reason.as_str(), row.time.seconds() / 60.0))
        .collect();
    causes.sort_by(|one, other| (one.1, one.2).cmp(&(other.1, other.2)));
    assert_eq!(
        causes,
        vec![
            (CauseKind::Stop, "boxer", "film", 10.0),
            (CauseKind::Stop, "slicer", "blade", 15.0),
            (CauseKind::Recovery, "slicer", "blade", 5.0),
            (CauseKind::Stop, "wrapper", "film", 30.0),
            (CauseKind::Stop, "wrapper", "power", 20.0),
        ]
    );
    assert_eq!(result.ledger.rejects.len(), 1);
    assert_eq!((result.ledger.rejects[0].reason.as_str(), result.ledger.rejects[0].packs), ("metal", 10));
    // The power failure pauses in the break, and the last stop goes on where no shift is.
    let dirty: Vec<_> = read
        .dirty_rows
        .iter()
        .map(|row| (row.line, row.kind.words(), row.counted.seconds() / 60.0))
        .collect();
    assert_eq!(dirty, vec![(6, "in a break", 20.0), (7, "outside shifts", 30.0)]);
}

/// Nights on which the clock changes, by EU directive 2000/84/EC on the last Sundays of March and October: 22:00 to
/// 06:00 are 7 h and 9 h.
#[test]
fn a_night_shift_is_as_long_as_it_is() {
    for (date, next, hours) in [("28.03.2026", "29.03.2026", 7.0), ("24.10.2026", "25.10.2026", 9.0)] {
        let list = format!("Anlage;Beginn;Ende;Grund\nWR 1;{date} 23:00;{date} 23:30;Folie\n");
        let counts = format!("bis;Takte;Metall\n{next} 06:00;10.000;0\n");
        let read = read(THREE, &list, Some(&counts));
        assert_eq!(read.dirty_rows, vec![]);
        let [result] = results(&read, Conventions::default()).try_into().expect("one shift");
        near(result.oee.planned_production_time.seconds() / 3600.0, hours, 1e-12);
        near(result.oee.oee, 10_000.0 / (hours * 3600.0), 1e-12);
        near(result.oee.availability, (hours - 0.5) / hours, 1e-12);
    }
}

/// Two shifts, counted by one running total that never begins anew: 30 000 at its first reading, at the start.
#[test]
fn running_totals_are_counted_from_their_first_reading() {
    let mapping = THREE.replace("totals_of_shift", "totals");
    let list = "Anlage;Beginn;Ende;Grund\n\
                WR 1;02.03.2026 23:00;02.03.2026 23:48;Folie\n\
                WR 1;02.03.2026 06:00;02.03.2026 06:45;Folie\n";
    let counts = "bis;Takte;Metall\n02.03.2026 06:00;30.000;100\n02.03.2026 14:00;50.000;120\n\
                  02.03.2026 22:00;50.000;120\n03.03.2026 06:00;71.600;150\n";
    let read = read(&mapping, list, Some(counts));
    assert_eq!(read.dirty_rows, vec![]);
    let [early, night] = results(&read, Conventions::default()).try_into().expect("two shifts");
    assert_eq!((early.oee.total_packs, early.oee.good_packs), (20_000, 19_980));
    near(early.oee.availability, 405.0 / 450.0, 1e-12);
    assert_eq!((night.oee.total_packs, night.oee.good_packs), (21_600, 21_570));
    near(night.oee.availability, 432.0 / 480.0, 1e-12);
    near(night.oee.performance.unwrap(), 21_600.0 / (432.0 * 60.0), 1e-12);
}

/// Without counts there is availability and nothing else.
#[test]
fn a_list_without_counts_gives_availability() {
    let start = THREE.find("\"counts\": {").expect("counts");
    let mapping = format!("{}}}", &THREE[..start]);
    let list = "Anlage;Beginn;Ende;Grund\nWR 1;02.03.2026 06:00;02.03.2026 06:45;Folie\n";
    let read = read(&mapping, list, None);
    let [early] = results(&read, Conventions::default()).try_into().expect("one shift");
    near(early.oee.availability, 0.9, 1e-12);
    assert_eq!((early.oee.performance, early.oee.total_packs), (None, 0));
}
