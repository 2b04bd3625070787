//! Ten generic stations in series with buffers of 4, 43,200 pieces: the engine with full statistics beside a bare event
//! loop for this one line and beside the recursion of departure times, which give the same departures (a test). The loop
//! stands there twice: with the quicker search for its next event, and with the plain one.
//!
//! `cargo bench -p linewake-benches --bench series`. Each round times every part once, in turn, so that a machine whose
//! speed drifts slows all of them; times are medians of 11 rounds, ratios medians of the ratios within a round. Without
//! `--bench` (as `cargo test` calls it) one round of few pieces runs and nothing is to be read from its times.

use linewake_benches::series::{Series, bare_loop, least_in_pairs, least_in_turn, recursion};
use linewake_benches::{median, stations_in_series, with_statistics};
use linewake_engine::plan::RunPlan;
use linewake_engine::run;
use linewake_log::event::Forget;
use linewake_model::line::Line;
use linewake_model::time::Moment;
use std::hint::black_box;
use std::io::{self, Write};
use std::time::Instant;

/// A named part of a round; it is given the replication, and returns how many events it worked off, if it has events.
type Part<'a> = (&'a str, Box<dyn Fn(u64, &RunPlan) -> Option<u64> + 'a>);

const SEED: u64 = 1;

fn main() {
    let timed = std::env::args().any(|argument| argument == "--bench");
    let (rounds, pieces) = if timed { (11, 43_200) } else { (1, 1_000) };
    let line = stations_in_series(10);
    let parts: [Part<'_>; 5] = [
        ("engine, statistics", Box::new(|r, plan| Some(with_statistics(&line, plan, SEED, r)))),
        ("engine, no statistics", Box::new(|r, plan| Some(run(&line, plan, SEED, r, Forget).events))),
        ("bare loop", Box::new(|r, _| Some(bare(&line, r, pieces, least_in_pairs)))),
        ("bare loop, plain search", Box::new(|r, _| Some(bare(&line, r, pieces, least_in_turn)))),
        (
            "recursion",
            Box::new(|r, _| {
                last_departure(&line, r, pieces);
                None
            }),
        ),
    ];
    let mut times = vec![Vec::new(); parts.len()];
    let mut events = vec![None; parts.len()];
    for round in 0..rounds {
        // The run ends when the last of these pieces has left: all parts do the same work.
        let horizon = Moment(last_departure(&line, round, pieces) + 1);
        let plan = RunPlan { horizon, ..RunPlan::shift(&line) };
        for (place, (_, part)) in parts.iter().enumerate() {
            let start = Instant::now();
            events[place] = part(round, &plan);
            times[place].push(start.elapsed().as_nanos() as f64);
        }
    }
    let out = &mut io::stdout().lock();
    let write = (|| -> io::Result<()> {
        writeln!(out, "{}, {pieces} pieces, {rounds} rounds:", line.name)?;
        writeln!(
            out,
            "{:24} {:>10} {:>10} {:>12} {:>12} {:>12} {:>12}",
            "part", "events", "ms", "ns/event", "x bare loop", "x plain loop", "x recursion"
        )?;
        for (place, (name, _)) in parts.iter().enumerate() {
            let beside = |other: usize| {
                let ratios: Vec<f64> = times[place].iter().zip(&times[other]).map(|(a, b)| a / b).collect();
                median(&ratios)
            };
            let ns = median(&times[place]);
            let counted = events[place].map_or_else(String::new, |events| events.to_string());
            let each = events[place].map_or_else(String::new, |events| format!("{:.1}", ns / events as f64));
            let (ms, [bare, plain, recursion]) = (ns / 1e6, [2, 3, 4].map(beside));
            writeln!(
                out,
                "{name:24} {counted:>10} {ms:>10.2} {each:>12} {bare:>12.2} {plain:>12.2} {recursion:>12.2}"
            )?;
        }
        Ok(())
    })();
    // A closed pipe is no failure of a bench.
    drop(write);
}

fn bare(line: &Line, replication: u64, pieces: u64, least: impl Fn(&[u64]) -> u64) -> u64 {
    // The sum of departures, so that none of them is left out.
    let mut sum = 0_u64;
    let leaves = |_, at| sum = sum.wrapping_add(at);
    let events = bare_loop(Series::new(line, SEED, replication), pieces, least, leaves);
    black_box(sum);
    events
}

/// When the last of so many pieces leaves the line, in microseconds.
fn last_departure(line: &Line, replication: u64, pieces: u64) -> u64 {
    let (mut sum, mut last) = (0_u64, 0);
    let leaves = |_, at| {
        sum = sum.wrapping_add(at);
        last = at;
    };
    recursion(Series::new(line, SEED, replication), pieces, leaves);
    black_box(sum);
    last
}
