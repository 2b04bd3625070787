//! One run, for a count of its instructions: unlike time they are the same on a busy machine, so that a guard can hold
//! them. `.ci/instructions` counts what `counted_run` does, under callgrind, against `instructions.toml`.
//!
//! `cargo run --release -p linewake-benches --example instructions -- PART`, a part being one of [`PARTS`].

use linewake_benches::series::{Series, recursion};
use linewake_benches::{load_model, stations_in_series, with_statistics};
use linewake_engine::plan::RunPlan;
use linewake_model::line::Line;
use linewake_model::time::{MICROS_PER_SECOND, Moment};
use std::io::{self, Write};
use std::process::ExitCode;

const SEED: u64 = 1;

/// A line and the plan of its run.
type Setup = fn() -> (Line, RunPlan);

/// What can be counted.
const PARTS: [(&str, Setup); 3] = [
    ("reference_shift", reference_shift),
    ("reference_week", reference_week),
    ("ten_stations", ten_stations),
];

fn main() -> ExitCode {
    let wanted = std::env::args().nth(1).unwrap_or_default();
    let Some((_, setup)) = PARTS.iter().find(|(name, _)| *name == wanted) else {
        let names = PARTS.map(|(name, _)| name).join(", ");
        drop(writeln!(io::stderr(), "which run is to be counted? One of: {names}; not \"{wanted}\""));
        return ExitCode::FAILURE;
    };
    let (line, plan) = setup();
    let events = counted_run(&line, &plan);
    // A closed pipe is no failure.
    drop(writeln!(io::stdout(), "{wanted}: {events} events"));
    ExitCode::SUCCESS
}

/// What is counted: one run with full statistics and no log. The guard knows it by its name.
#[inline(never)]
fn counted_run(line: &Line, plan: &RunPlan) -> u64 {
    with_statistics(line, plan, SEED, 0)
}

/// One 8 h shift of the reference line.
fn reference_shift() -> (Line, RunPlan) {
    let line = load_model("alder-hill-mince");
    let plan = RunPlan::shift(&line);
    (line, plan)
}

/// A week, 168 h, of the reference line without a pause but its breaks: for a profile.
fn reference_week() -> (Line, RunPlan) {
    let line = load_model("alder-hill-mince");
    let plan = RunPlan { horizon: Moment(168 * 3600 * MICROS_PER_SECOND), ..RunPlan::shift(&line) };
    (line, plan)
}

/// Ten generic stations in series until 43,200 pieces have left.
fn ten_stations() -> (Line, RunPlan) {
    let line = stations_in_series(10);
    let mut last = 0;
    recursion(Series::new(&line, SEED, 0), 43_200, |_, at| last = at);
    let plan = RunPlan { horizon: Moment(last + 1), ..RunPlan::shift(&line) };
    (line, plan)
}
