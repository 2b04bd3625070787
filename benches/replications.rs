//! Replications: what 2 threads of one process do together, beside what two processes of one thread do.
//!
//! `cargo bench -p linewake-benches --bench replications`. Each round times both, in turn, each in processes of their own;
//! the ratio is the median of those of 11 rounds, 1 meaning that threads cost each other nothing. Without `--bench` (as
//! `cargo test` calls it) one round of few shifts runs and nothing is to be read from its times.

use linewake_benches::{load_model, median};
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_study::replicate::{Workers, run_once};
use std::error::Error;
use std::hint::black_box;
use std::io::{self, Write};
use std::process::{Child, Command};
use std::sync::atomic::AtomicBool;
use std::time::Instant;

/// The argument by which this program makes shifts instead of timing them: threads, shifts, first replication follow.
const MAKE: &str = "--make";

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().collect();
    if let Some(place) = arguments.iter().position(|argument| argument == MAKE) {
        let number = |which: usize| -> Result<u64, Box<dyn Error>> {
            Ok(arguments.get(place + which).ok_or("threads, shifts, first replication")?.parse()?)
        };
        return make(usize::try_from(number(1)?)?, number(2)?, number(3)?);
    }
    let timed = arguments.iter().any(|argument| argument == "--bench");
    let (rounds, shifts) = if timed { (11, 60) } else { (1, 4) };
    let mut times = [Vec::new(), Vec::new()];
    for _ in 0..rounds {
        times[0].push(seconds(&[(2, shifts, 0)])?);
        times[1].push(seconds(&[(1, shifts / 2, 0), (1, shifts / 2, shifts / 2)])?);
    }
    let ratios: Vec<f64> =
        times[0].iter().zip(&times[1]).map(|(threads, processes)| processes / threads).collect();
    let least = ratios.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ratios.iter().copied().fold(0.0, f64::max);
    // A closed pipe is no failure of a bench.
    drop(writeln!(
        io::stdout(),
        "{shifts} shifts of the reference line, {rounds} rounds: one process of 2 threads {:.2} s, two processes {:.2} s; \
         2 threads reach {:.3} of two processes ({least:.3} to {most:.3})",
        median(&times[0]),
        median(&times[1]),
        median(&ratios),
    ));
    Ok(())
}

/// Time until processes that are started together have all ended; of each its threads, shifts and first replication.
fn seconds(processes: &[(u32, u64, u64)]) -> Result<f64, Box<dyn Error>> {
    let program = std::env::current_exe()?;
    let start = Instant::now();
    let begun: io::Result<Vec<Child>> = processes
        .iter()
        .map(|(threads, shifts, first)| {
            let figures = [threads.to_string(), shifts.to_string(), first.to_string()];
            Command::new(&program).arg(MAKE).args(figures).spawn()
        })
        .collect();
    for mut process in begun? {
        if !process.wait()?.success() {
            return Err("a process that makes shifts has failed".into());
        }
    }
    Ok(start.elapsed().as_secs_f64())
}

/// Makes so many shifts from that replication on, as studies do.
fn make(threads: usize, shifts: u64, first: u64) -> Result<(), Box<dyn Error>> {
    let line = load_model("alder-hill-mince");
    let plan = RunPlan::shift(&line);
    let stop = AtomicBool::new(false);
    let workers = Workers::new(Some(threads), &stop)?;
    let shift = |replication| run_once(&line, &plan, Conventions::default(), 1, first + replication);
    black_box(workers.each(shifts, &|| {}, shift)?);
    Ok(())
}
