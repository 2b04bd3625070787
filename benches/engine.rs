//! One 8 h shift of the reference line: time and events without a log, with statistics, with the state log, with the
//! pack log, and nanoseconds an event beside those of the hold model, all in one run; and the events of that shift by
//! kind, with their limit.
//!
//! `cargo bench -p linewake-benches --bench engine`. Each round times every part once, in turn, so that a machine whose
//! speed drifts slows all of them; the median of 11 rounds is printed. Without `--bench` (as `cargo test` calls it) one
//! round runs and nothing is to be read from its times.

use linewake_benches::{hold_model, load_model, median, with_statistics};
use linewake_engine::plan::RunPlan;
use linewake_engine::{count_events, header, run};
use linewake_log::event::{Detail, Event, EventSink, Forget};
use linewake_log::writer::LogWriter;
use linewake_model::line::Line;
use std::hint::black_box;
use std::io::{self, Write};
use std::time::Instant;

/// Most events that a shift of the reference line may take.
const MOST_EVENTS: u64 = 350_000;

/// A named part of a round; it returns how many units of work it did (events, holds) and rows written.
type Part<'a> = (&'a str, Box<dyn Fn(u64) -> (u64, u64) + 'a>);

fn main() {
    let timed = std::env::args().any(|argument| argument == "--bench");
    let rounds = if timed { 11 } else { 1 };
    let line = load_model("alder-hill-mince");
    let plan = RunPlan::shift(&line);
    let parts: [Part<'_>; 5] = [
        ("hold model, 32 entries", Box::new(|_| hold())),
        ("no log", Box::new(|r| (run(&line, &plan, 1, r, Forget).events, 0))),
        ("statistics, no log", Box::new(|r| (with_statistics(&line, &plan, 1, r), 0))),
        ("state log", Box::new(|r| with_log(&line, &plan, r, Detail::States))),
        ("pack log", Box::new(|r| with_log(&line, &plan, r, Detail::Packs))),
    ];
    let mut times = vec![Vec::new(); parts.len()];
    let mut work = vec![(0, 0); parts.len()];
    for round in 0..rounds {
        for (place, (_, part)) in parts.iter().enumerate() {
            let start = Instant::now();
            let done = part(round);
            let ns = start.elapsed().as_nanos() as f64;
            times[place].push(ns / done.0 as f64);
            work[place] = (work[place].0 + done.0, work[place].1 + done.1);
        }
    }
    let counts = count_events(&line, &plan, 1, 0, Forget);
    let medians: Vec<f64> = times.iter().map(|part| median(part)).collect();
    let out = &mut io::stdout().lock();
    let write = (|| -> io::Result<()> {
        writeln!(out, "One 8 h shift of {}, {rounds} shifts, median of each part:", line.name)?;
        writeln!(
            out,
            "{:24} {:>12} {:>10} {:>10} {:>10} {:>12}",
            "part", "events", "rows", "ns/event", "x hold", "ms/shift"
        )?;
        for (place, (name, _)) in parts.iter().enumerate() {
            let (events, rows) = (work[place].0 / rounds, work[place].1 / rounds);
            let ns = medians[place];
            let ratio = ns / medians[0];
            let shift_ms =
                if place == 0 { "".to_owned() } else { format!("{:.2}", ns * events as f64 / 1e6) };
            writeln!(out, "{name:24} {events:>12} {rows:>10} {ns:>10.1} {ratio:>10.2} {shift_ms:>12}")?;
        }
        writeln!(out, "\nEvents of the first of these shifts by kind:")?;
        for row in &counts {
            let station = row.station.map_or("crew", |station| &line.stations[station].id);
            writeln!(out, "{station:24} {:24} {:>12}", row.kind, row.count)?;
        }
        let all: u64 = counts.iter().map(|row| row.count).sum();
        writeln!(out, "{:49} {all:>12}, at most {MOST_EVENTS} allowed", "all")
    })();
    // A closed pipe is no failure of a bench.
    drop(write);
    // Every shift that was timed, not only the first.
    if timed {
        for replication in 0..rounds {
            let events = run(&line, &plan, 1, replication, Forget).events;
            assert!(events <= MOST_EVENTS, "shift {replication} takes {events} events, limit {MOST_EVENTS}");
        }
    }
}

fn hold() -> (u64, u64) {
    let holds = 1_000_000;
    black_box(hold_model(holds));
    (holds, 0)
}

/// Counts rows on their way into a writer that forgets them: what is timed is the making of rows, not the disk.
struct Counted {
    writer: LogWriter<io::Sink>,
    rows: u64,
    detail: Detail,
}

impl EventSink for Counted {
    fn detail(&self) -> Detail {
        self.detail
    }
    fn record(&mut self, event: &Event) {
        self.rows += 1;
        self.writer.record(event);
    }
}

fn with_log(line: &Line, plan: &RunPlan, replication: u64, detail: Detail) -> (u64, u64) {
    let writer = LogWriter::new(io::sink(), &header(line, plan, 1, replication), detail);
    let mut sink = Counted { writer, rows: 0, detail };
    let facts = run(line, plan, 1, replication, &mut sink);
    let finished = sink.writer.finish();
    assert!(finished.is_ok(), "a sink takes everything");
    (facts.events, sink.rows)
}
