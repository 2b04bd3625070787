//! Reading a log for a report: time for a row of the csv crate alone, of the log reader, of the reader with the accounting
//! (all key figures), and of all that `linewake report` does with a row, over the same bytes in memory, in one run.
//!
//! `cargo bench -p linewake-benches --bench report`. Each round times every part once, in turn, so that a machine whose
//! speed drifts slows all of them; the ratios are medians of the ratios within a round, over 11 rounds. Without `--bench`
//! (as `cargo test` calls it) one round of a short log runs and nothing is to be read from its times.
//!
//! A log of so many rows as a file, for a measurement of memory:
//! `cargo bench -p linewake-benches --bench report -- --write 10000000 FILE`.

use linewake_benches::{load_model, median};
use linewake_engine::plan::RunPlan;
use linewake_engine::{header, run};
use linewake_kpi::convention::Conventions;
use linewake_log::event::Detail;
use linewake_log::reader::LogReader;
use linewake_log::writer::LogWriter;
use linewake_model::time::{Moment, Span};
use linewake_study::logs;
use std::fs::File;
use std::hint::black_box;
use std::io::{self, BufWriter, Write};
use std::sync::atomic::AtomicBool;
use std::time::Instant;

/// Rows of a state log of the reference line in an hour, about: only to choose how long it runs.
const ROWS_PER_HOUR: f64 = 30_500.0;

/// A named part of a round; it returns the rows that it read.
type Part<'a> = (&'a str, Box<dyn Fn() -> u64 + 'a>);

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(place) = arguments.iter().position(|argument| argument == "--write") {
        let rows = arguments[place + 1].parse().expect("a number of rows");
        let file = File::create(&arguments[place + 2]).expect("a file that can be written");
        write_log(rows, BufWriter::new(file)).expect("the disk takes the log");
        return;
    }
    let timed = arguments.iter().any(|argument| argument == "--bench");
    let (rounds, rows) = if timed { (11, 1_000_000) } else { (1, 20_000) };
    let log = write_log(rows, Vec::new()).expect("memory takes the log");
    let parts: [Part<'_>; 4] = [
        ("csv crate alone", Box::new(|| csv_alone(&log))),
        ("log reader", Box::new(|| read(&log))),
        ("to key figures", Box::new(|| report(&log, false))),
        ("and pictures over time", Box::new(|| report(&log, true))),
    ];
    let mut times = vec![Vec::new(); parts.len()];
    let mut counted = 0;
    for _ in 0..rounds {
        for (place, (_, part)) in parts.iter().enumerate() {
            let start = Instant::now();
            counted = part();
            times[place].push(start.elapsed().as_nanos() as f64);
        }
    }
    let out = &mut io::stdout().lock();
    let write = (|| -> io::Result<()> {
        let megabytes = log.len() as f64 / 1e6;
        writeln!(
            out,
            "State log of the reference line, {counted} rows, {megabytes:.0} MB, {rounds} rounds:"
        )?;
        writeln!(out, "{:24} {:>10} {:>10} {:>16}", "part", "ns/row", "MB/s", "x csv's speed")?;
        for (place, (name, _)) in parts.iter().enumerate() {
            let ns = median(&times[place]);
            let speeds: Vec<f64> = times[0].iter().zip(&times[place]).map(|(csv, part)| csv / part).collect();
            let (row, rate) = (ns / counted as f64, log.len() as f64 * 1e3 / ns);
            writeln!(out, "{name:24} {row:>10.1} {rate:>10.0} {:>16.2}", median(&speeds))?;
        }
        Ok(())
    })();
    // A closed pipe is no failure of a bench.
    drop(write);
}

/// A state log of the reference line of about so many rows.
fn write_log<W: Write>(rows: u64, out: W) -> io::Result<W> {
    let line = load_model("alder-hill-mince");
    let length = Span::from_seconds(3600.0 * rows as f64 / ROWS_PER_HOUR);
    let plan = RunPlan { horizon: Moment::ZERO + length, ..RunPlan::shift(&line) };
    let mut log = LogWriter::new(out, &header(&line, &plan, 1, 0), Detail::States);
    run(&line, &plan, 1, 0, &mut log);
    log.finish()
}

fn csv_alone(log: &[u8]) -> u64 {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).buffer_capacity(1 << 16).from_reader(log);
    let mut record = csv::ByteRecord::new();
    let mut rows = 0;
    while reader.read_byte_record(&mut record).expect("rows of equal width") {
        rows += 1;
        black_box(&record);
    }
    rows
}

fn read(log: &[u8]) -> u64 {
    let reader = LogReader::new(log).expect("a log");
    let mut rows = 0;
    for event in reader {
        black_box(event.expect("a row"));
        rows += 1;
    }
    rows
}

/// As `linewake report` reads a log: with the accounting, and of the first shift the pictures over time as well.
fn report(log: &[u8], over_time: bool) -> u64 {
    let reader = LogReader::new(log).expect("a log");
    let facts = reader.header().facts.clone();
    let stop = AtomicBool::new(false);
    let shift = logs::read(reader, &facts, Conventions::default(), over_time, &stop).expect("a sound log");
    black_box(shift).rows
}
