//! What a log costs: nanoseconds a written row at both levels of detail, CSV to a file, and its share of the run's time.
//!
//! `cargo bench -p linewake-benches --bench log`. One 8 h shift of the reference line without a log, with the state log
//! and with the pack log; a row costs (time with the log - time without one) / rows. So the price holds all that a log
//! brings about: the events that the engine must tell, their text, and handing it to the system. Beside it, the writers
//! alone with the events of one shift from memory, and the system's share: the same bytes as one block into a file.
//!
//! Each round times every part once, in turn, so that a machine whose speed drifts slows all of them; figures are medians
//! of those of 11 rounds. Files are new in each round; that the disk has them is not waited for. Without `--bench` (as
//! `cargo test` calls it) one round of a short shift runs and nothing is to be read from its times.

use linewake_benches::{load_model, median};
use linewake_engine::plan::RunPlan;
use linewake_engine::{header, run};
use linewake_log::event::{Detail, Event, EventSink, Forget, Keep};
use linewake_log::header::LogHeader;
use linewake_log::writer::LogWriter;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use std::fs::{self, File};
use std::hint::black_box;
use std::io::{self, Write};
use std::path::PathBuf;
use std::time::Instant;

const SEED: u64 = 1;

/// One shift's log at one level.
struct Level {
    name: &'static str,
    detail: Detail,
    /// Rows of events and bytes of the log of a shift, header included.
    rows: usize,
    bytes: Vec<u8>,
    events: Vec<Event>,
    /// Nanoseconds, by round: of a run that writes this log, of the writer alone, of the bytes alone.
    run: Vec<f64>,
    writer: Vec<f64>,
    block: Vec<f64>,
}

fn main() {
    let timed = std::env::args().any(|argument| argument == "--bench");
    let (rounds, hours) = if timed { (11, 8.0) } else { (1, 0.2) };
    let line = load_model("alder-hill-mince");
    let plan =
        RunPlan { horizon: Moment::ZERO + Span::from_seconds(3600.0 * hours), ..RunPlan::shift(&line) };
    let head = header(&line, &plan, SEED, 0);
    let mut levels = [("state log", Detail::States), ("pack log", Detail::Packs)]
        .map(|(name, detail)| level(name, detail, &line, &plan, &head));
    let mut without = Vec::new();
    for _ in 0..rounds {
        without.push(time(|| black_box(run(&line, &plan, SEED, 0, Forget)).events));
        for level in &mut levels {
            let (detail, bytes) = (level.detail, level.bytes.len());
            level.run.push(in_file(bytes, |file| {
                let mut log = LogWriter::new(file, &head, detail);
                run(&line, &plan, SEED, 0, &mut log);
                log.finish()
            }));
            level.writer.push(in_file(bytes, |file| {
                let mut log = LogWriter::new(file, &head, detail);
                level.events.iter().for_each(|event| log.record(event));
                log.finish()
            }));
            level.block.push(in_file(bytes, |mut file| file.write_all(&level.bytes).map(|()| file)));
        }
    }
    // A closed pipe is no failure of a bench.
    drop(print(&line, rounds, hours, &without, &levels));
}

/// A shift's events and log, for its writers alone.
fn level(name: &'static str, detail: Detail, line: &Line, plan: &RunPlan, head: &LogHeader) -> Level {
    let mut kept = Keep::new(detail);
    let mut log = LogWriter::new(Vec::new(), head, detail);
    run(line, plan, SEED, 0, (&mut kept, &mut log));
    Level {
        name,
        detail,
        rows: kept.events.len(),
        bytes: log.finish().expect("memory takes the log"),
        events: kept.events,
        run: Vec::new(),
        writer: Vec::new(),
        block: Vec::new(),
    }
}

/// The time of `write` in nanoseconds: it gets a new file and gives it back with so many bytes in it.
fn in_file(bytes: usize, write: impl FnOnce(File) -> io::Result<File>) -> f64 {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("bench-log.csv");
    let file = File::create(&path).expect("a file that can be written");
    let ns = time(|| drop(write(file).expect("the disk takes the log")));
    let written = fs::metadata(&path).expect("a file that was written").len();
    assert_eq!(written, bytes as u64, "every writer gives the same log");
    fs::remove_file(&path).expect("a file that can be removed");
    ns
}

fn time<T>(work: impl FnOnce() -> T) -> f64 {
    let start = Instant::now();
    black_box(work());
    start.elapsed().as_nanos() as f64
}

fn print(line: &Line, rounds: usize, hours: f64, without: &[f64], levels: &[Level]) -> io::Result<()> {
    let out = &mut io::stdout().lock();
    writeln!(out, "One {hours} h shift of {}, CSV to a file, median of {rounds} rounds:", line.name)?;
    writeln!(
        out,
        "{:10} {:>9} {:>7} {:>9} {:>9} {:>13} {:>14} {:>13}",
        "log", "rows", "MB", "ms/shift", "ns/row", "share of run", "writer ns/row", "block ns/row"
    )?;
    writeln!(out, "{:10} {:>9} {:>7} {:>9.2}", "none", 0, 0, median(without) / 1e6)?;
    for level in levels {
        let rows = level.rows as f64;
        let per_round = |figure: fn(f64, f64) -> f64| {
            let figures = without.iter().zip(&level.run).map(|(&without, &with)| figure(without, with));
            median(&figures.collect::<Vec<_>>())
        };
        writeln!(
            out,
            "{:10} {:>9} {:>7.1} {:>9.2} {:>9.1} {:>12.0}% {:>14.1} {:>13.1}",
            level.name,
            level.rows,
            level.bytes.len() as f64 / 1e6,
            median(&level.run) / 1e6,
            per_round(|without, with| with - without) / rows,
            per_round(|without, with| 100.0 * (with - without) / with),
            median(&level.writer) / rows,
            median(&level.block) / rows
        )?;
    }
    Ok(())
}
