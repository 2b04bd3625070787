//! `run --stops-from`: each logged shift once more on the model's line, with its stops as they happened.

use super::command;
use super::logs::{Shift, write_shifts};
use crate::args::{LogCount, Run, WaitingFrom};
use crate::command::report::shifts::{LogsAsked, read};
use crate::console::Console;
use crate::failure::Failure;
use crate::log_files;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::progress::Progress;
use crate::report_folder;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::summary::{StartKind, Summary};
use linewake_log::header::LineFacts;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_report::input::{Assumption, AssumptionGroup, PlanFacts, RunReport};
use linewake_study::replicate::{Workers, run_once, timeline};
use linewake_study::summarise::summarise;
use linewake_study::trace::{LoggedLine, TraceOptions, TracedWaiting, Which};
use std::path::Path;

/// Runs the logged shifts and writes their logs; gives the report.
pub(super) fn run(
    options: &Run,
    file: &ModelFile,
    line: &Line,
    seed: u64,
    target: &Path,
    folder: &mut OutputFolder,
    console: &mut Console<'_>,
) -> Result<RunReport, Failure> {
    let files = log_files::log_files(&options.stops_from)?;
    log_files::outside_of(&files, target)?;
    let asked = LogsAsked {
        mapping: options.mapping.as_deref(),
        counts: &options.counts,
        minor_stops: options.minor_stops,
        planned_stops: options.planned_stops,
        threads: options.threads,
        over_time: false,
    };
    let read = read(&asked, &files, Some(line), console)?;
    let trace = TraceOptions {
        waiting: match options.waiting_from {
            WaitingFrom::Log => TracedWaiting::AsLogged,
            WaitingFrom::Crew => TracedWaiting::FromCrew,
        },
        warm_up: Span::from_seconds(options.warm_up.seconds()),
    };
    let mut logged = LoggedLine::of(line, &read.shifts, trace).map_err(|differs| Failure::Invalid {
        what: format!("the log is not one of the model's line: {differs}"),
        hint: "give the model that describes this line".to_owned(),
    })?;
    logged.line.about = format!("{} (stops taken from logs)", line.about).trim().to_owned();
    let shifts: Vec<Shift> = read
        .shifts
        .iter()
        .enumerate()
        .map(|(place, shift)| Shift {
            plan: logged.plan(place, Which::All),
            // A simulated shift keeps its luck.
            replication: if shift.header.seed.is_some() { shift.header.replication } else { place as u64 },
        })
        .collect();
    if let LogCount::First(logs) = options.logs
        && logs > shifts.len() as u64
        && logs > 1
    {
        let what = format!("--logs {logs} asks for more logs than there are shifts ({})", shifts.len());
        return Err(Failure::usage(what, "ask for fewer logs"));
    }
    let workers = Workers::new(options.threads, console.stop)?;
    let conventions = report_folder::conventions(options.minor_stops, options.planned_stops);
    let results = {
        let progress = Progress::new("shifts", shifts.len() as u64, console);
        let one = |number: u64| {
            let shift = &shifts[usize::try_from(number).unwrap_or(0)];
            run_once(&logged.line, &shift.plan, conventions, seed, shift.replication)
        };
        workers.each(shifts.len() as u64, &|| progress.step(), one)?
    };
    let summaries = summaries(&logged.line, &shifts, &results, seed);
    let written = match options.logs {
        LogCount::First(logs) => usize::try_from(logs).unwrap_or(usize::MAX).min(shifts.len()),
        LogCount::All => shifts.len(),
    };
    write_shifts(options, &logged.line, &shifts[..written], "logs", seed, folder, console)?;
    let mut assumptions = linewake_report::assumptions::groups(line);
    assumptions.insert(
        0,
        taken(options, &logged, &read.shifts.iter().map(|it| it.stops.stops.len()).collect::<Vec<_>>()),
    );
    let longest = shifts.iter().map(|shift| shift.plan.horizon.since(shift.plan.warm_up)).max();
    Ok(RunReport {
        model: report_folder::identity(&logged.line, file),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: Some(seed),
        command: command(options, seed),
        plan: PlanFacts {
            shifts: summaries.last().map_or(0, |summary| summary.shifts.len()),
            hours: longest.unwrap_or_default().seconds() / 3600.0,
            warm_up_s: summaries.last().map_or(0.0, |summary| summary.warm_up_s),
        },
        facts: Some(LineFacts::of(&logged.line)),
        summaries,
        logs: None,
        figures_without_simulation: linewake_report::analytic::figures_without_simulation(line),
        assumptions,
    })
}

/// One for each kind of start that the logged shifts have.
fn summaries(line: &Line, shifts: &[Shift], results: &[ShiftResult], seed: u64) -> Vec<Summary> {
    let mut summaries = Vec::new();
    for start in [StartKind::NewRolls, StartKind::LongRun] {
        let here: Vec<usize> =
            (0..shifts.len()).filter(|&place| StartKind::of(shifts[place].plan.start()) == start).collect();
        let Some(&first) = here.first() else { continue };
        let first = &shifts[first];
        let of: Vec<ShiftResult> = here.iter().map(|&place| results[place].clone()).collect();
        let warm_up = first.plan.warm_up.since(Moment::ZERO);
        let summary = summarise(&LineFacts::of(line), warm_up, start, &of);
        let over_time = timeline(line, &first.plan, seed, first.replication);
        summaries.extend(summary.map(|summary| Summary { timeline: Some(over_time), ..summary }));
    }
    summaries
}

/// What the report says of the stops that were taken from logs.
fn taken(options: &Run, logged: &LoggedLine, stops: &[usize]) -> AssumptionGroup {
    let row = |what: &str, value: String| Assumption { what: what.to_owned(), value };
    let named = |is: &dyn Fn((usize, linewake_model::stop::Reason)) -> bool| {
        let names = logged.reasons.iter().filter(|key| is(**key)).map(|key| {
            format!("{}: {}", logged.line.stations[key.0].id, logged.word(key.1).replace('_', " "))
        });
        names.collect::<Vec<_>>().join(", ")
    };
    let none = |text: String| if text.is_empty() { "none".to_owned() } else { text };
    let silent = logged
        .line
        .stations
        .iter()
        .enumerate()
        .filter(|(place, station)| !logged.told.contains(place) && !station.stops.is_empty());
    let silent: Vec<&str> = silent.map(|(_, station)| station.id.as_str()).collect();
    AssumptionGroup {
        title: "Stops are taken from logs, not drawn".to_owned(),
        rows: vec![
            row("logged shifts", stops.len().to_string()),
            row("stops in them, planned ones included", stops.iter().sum::<usize>().to_string()),
            row(
                "waiting for an operator",
                match options.waiting_from {
                    WaitingFrom::Log => "as logged".to_owned(),
                    WaitingFrom::Crew => {
                        "until the model's crew comes, where the log tells it apart".to_owned()
                    }
                },
            ),
            row(
                "reasons of the log that the model does not have",
                none(named(&|key| !logged.is_modelled(key))),
            ),
            row("stations of which the log does not tell: their stops are drawn", none(silent.join(", "))),
        ],
    }
}
