//! The logs of a run: the shifts once more, with a log each. The same luck, so the same shifts.

use super::Plans;
use crate::args::{LogCount, LogDetail, LogFormat, Run};
use crate::console::Console;
use crate::failure::Failure;
use crate::output_folder::OutputFolder;
use crate::progress::Progress;
use linewake_engine::plan::RunPlan;
use linewake_log::event::Detail;
use linewake_log::writer::{LogWriter, gzip_writer};
use linewake_model::line::Line;
use linewake_study::replicate::Workers;
use std::fs::File;
use std::io::{self, Write};
use std::sync::{Mutex, PoisonError};

/// A shift that leaves a log.
pub(super) struct Shift {
    pub(super) plan: RunPlan,
    pub(super) replication: u64,
}

/// Writes the logs that are asked for: the first shifts with new rolls, or all shifts of both kinds.
pub(super) fn write(
    options: &Run,
    line: &Line,
    plans: &Plans,
    seed: u64,
    folder: &mut OutputFolder,
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    let of = |plan: &RunPlan, shifts: u64| -> Vec<Shift> {
        (0..shifts).map(|replication| Shift { plan: plan.clone(), replication }).collect()
    };
    match options.logs {
        LogCount::First(logs) => {
            write_shifts(options, line, &of(&plans.new_rolls, logs), "logs", seed, folder, console)
        }
        LogCount::All => [("logs/new-rolls", &plans.new_rolls), ("logs/long-run", &plans.long_run)]
            .into_iter()
            .try_for_each(|(below, plan)| {
                write_shifts(options, line, &of(plan, options.shifts), below, seed, folder, console)
            }),
    }
}

/// Writes a log of each of these shifts.
pub(super) fn write_shifts(
    options: &Run,
    line: &Line,
    shifts: &[Shift],
    below: &str,
    seed: u64,
    folder: &mut OutputFolder,
    console: &mut Console<'_>,
) -> Result<(), Failure> {
    let ending = match options.log_format {
        LogFormat::CsvGz => "csv.gz",
        LogFormat::Csv => "csv",
    };
    let workers = Workers::new(options.threads, console.stop)?;
    let progress = Progress::new("logs", shifts.len() as u64, console);
    let folder = Mutex::new(folder);
    let write = |number: u64| -> Result<(), Failure> {
        let name = format!("{below}/shift-{:04}.{ending}", number + 1);
        // A file is opened when its shift is run: there can be more shifts than files that may be open.
        let (shown, file) = {
            let mut folder = folder.lock().unwrap_or_else(PoisonError::into_inner);
            (folder.shown(&name), folder.create(&name)?)
        };
        let shift = &shifts[usize::try_from(number).unwrap_or(0)];
        write_log(options, line, &shift.plan, seed, shift.replication, file)
            .map_err(|error| Failure::of_file("write", &shown, &error))
    };
    let written = workers.each(shifts.len() as u64, &|| progress.step(), write)?;
    written.into_iter().collect()
}

fn write_log(
    options: &Run,
    line: &Line,
    plan: &RunPlan,
    seed: u64,
    replication: u64,
    file: File,
) -> io::Result<()> {
    let detail = match options.log_detail {
        LogDetail::States => Detail::States,
        LogDetail::Packs => Detail::Packs,
    };
    let header = linewake_engine::header(line, plan, seed, replication);
    match options.log_format {
        LogFormat::Csv => {
            let mut log = LogWriter::new(file, &header, detail);
            linewake_engine::run(line, plan, seed, replication, &mut log);
            log.finish()?.flush()
        }
        LogFormat::CsvGz => {
            let mut log = LogWriter::new(gzip_writer(file), &header, detail);
            linewake_engine::run(line, plan, seed, replication, &mut log);
            log.finish()?.finish()?.flush()
        }
    }
}
