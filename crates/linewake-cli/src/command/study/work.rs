//! Makes the runs of a study, and the folder of what it found.

use super::folder::{COMMAND, StudyCommand, StudyFolder, model_name};
use super::{Asked, ask, results};
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::output_folder::OutputFolder;
use crate::pictures::pictures;
use crate::progress::Progress;
use crate::report_folder::{self, quoted};
use linewake_kpi::study::precision::WarmUp;
use linewake_kpi::study::{StudyHead, StudyKind, StudyResult};
use linewake_kpi::summary::StartKind;
use linewake_report::input::StudyReport;
use linewake_study::journal::{JournalError, JournalHead, Part};
use linewake_study::precision::warm_up_method;
use linewake_study::replicate::Workers;
use linewake_study::runner::{RunError, Runner};
use linewake_study::study::Study;
use std::path::{Path, PathBuf};

/// A question, and what was found before the study.
pub(crate) struct Found<'a> {
    /// The question.
    pub(crate) asked: &'a Asked,
    /// The warm-up, where it was to be found from the data.
    pub(crate) warm_up: Option<WarmUp>,
}

/// Runs the study, and writes and prints what it found. Of a part only the runs are made.
pub(crate) fn work<S: Study>(study: &S, found: &Found<'_>, console: &mut Console<'_>) -> Result<Exit, Failure>
where
    StudyResult: From<S::Found>,
{
    let asked = found.asked;
    let (question, plan) = (&asked.question, study.plan());
    let (common, part) = (question.common(), question.part());
    let target = common.out.clone().unwrap_or_else(|| default_folder(asked));
    let head = JournalHead::of(plan, part);
    let files = files(asked);
    let (mut folder, earlier) =
        StudyFolder::open(&target, common.force, &head, asked.merged.as_deref(), &files)?;
    let workers = Workers::new(common.threads, console.stop)?;
    let journal_path = folder.journal_path();
    let mut kept = earlier.as_ref().map_or(0, |journal| journal.records.len() as u64);
    if kept > 0 && asked.merged.is_none() && !console.quiet {
        console.tell(&format!("{kept} runs are there already, in {}\n", journal_path.display()));
    }
    let due = match plan.job_count() {
        Some(jobs) => Some((0..jobs).filter(|job| part.has(*job)).count() as u64 - kept),
        None => study.runs_due().map(|due| due.saturating_sub(kept)),
    };
    let outcome = {
        let progress = Progress::begin("runs", due, console);
        let done = || progress.step();
        let mut runner = Runner::new(plan, &workers, &done)
            .resume(part, earlier, &mut folder.journal)
            .map_err(|error| of_journal(&journal_path, error))?;
        let outcome = if part == Part::WHOLE {
            study.conclude(&mut runner).map(|found| Some(StudyResult::from(found)))
        } else {
            runner.run_part(part).map(|()| None)
        };
        kept = runner.records().len() as u64;
        outcome
    };
    let result = outcome.map_err(|error| match error {
        RunError::Interrupted => {
            Failure::Paused { runs: kept, journal: journal_path.clone(), command: going_on(asked, &target) }
        }
        RunError::Journal(error) => full(&journal_path, &error),
        other => ask::not_run(other),
    })?;
    let Some(mut result) = result else { return tell_part(part, kept, &journal_path, common.json, console) };

    if let Some(warm_up) = &found.warm_up {
        state_warm_up(result.head_mut(), warm_up);
    }
    let line = &asked.models[0]
        .checked(&mut Console::new(&mut std::io::sink(), &mut std::io::sink(), console.stop))?
        .line;
    let report = StudyReport {
        model: report_folder::identity(line, &asked.models[0]),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: result.head().seed,
        command: question.command(),
        conditions: conditions(result.head()),
        result,
    };
    let results = results::text(&report);
    folder.finish(|folder| write(&report, &results, &files, "", &workers, folder))?;
    if common.json {
        console.print(&results)?;
    } else {
        console.print(&linewake_report::study_text(&report))?;
        console.print(&format!("\nReport: {}\n", target.join("report.html").display()))?;
    }
    Ok(Exit::Done)
}

/// What the folder holds from the beginning: the question and the models.
fn files(asked: &Asked) -> Vec<(String, String)> {
    let command = StudyCommand::of(&asked.question, &asked.models);
    let mut files = vec![(COMMAND.to_owned(), command.text())];
    for (place, file) in asked.models.iter().enumerate() {
        files.push((model_name(place), file.text.clone()));
    }
    files
}

/// Writes page, figures, tables, results and further files; `below` goes before their names.
pub(crate) fn write(
    report: &StudyReport,
    results: &str,
    files: &[(String, String)],
    below: &str,
    workers: &Workers<'_>,
    folder: &mut OutputFolder,
) -> Result<(), Failure> {
    folder.write(&format!("{below}report.html"), linewake_report::study_html(report).as_bytes())?;
    let charts = linewake_report::study_charts(report);
    for (name, picture) in pictures(&charts, workers)? {
        folder.write(&format!("{below}charts/{name}"), &picture)?;
    }
    for (name, chart) in charts {
        folder.write(&format!("{below}charts/{name}"), chart.as_bytes())?;
    }
    for (name, table) in linewake_report::study_tables(report) {
        folder.write(&format!("{below}tables/{name}"), table.as_bytes())?;
    }
    folder.write(&format!("{below}results.json"), results.as_bytes())?;
    for (name, text) in files {
        folder.write(&format!("{below}{name}"), text.as_bytes())?;
    }
    Ok(())
}

fn tell_part(
    part: Part,
    runs: u64,
    journal: &Path,
    json: bool,
    console: &mut Console<'_>,
) -> Result<Exit, Failure> {
    if json {
        let answer =
            serde_json::json!({ "schema": "linewake.study-part/1", "part": part.to_string(), "runs": runs });
        console.print(&format!("{answer:#}\n"))?;
    } else {
        let text = format!(
            "Part {part}: {runs} runs in {}\nPut the parts together with linewake merge.\n",
            journal.display()
        );
        console.print(&text)?;
    }
    Ok(Exit::Done)
}

/// `linewake-out/`, the name of the first model file, the study, and the part.
fn default_folder(asked: &Asked) -> PathBuf {
    let file = &asked.models[0];
    let stem = Path::new(&file.name).file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let model = match (&file.model, stem) {
        (Ok(checked), _) if file.name == "standard input" => report_folder::plain_name(&checked.line.name),
        (_, stem) => stem.unwrap_or_else(|| "line".to_owned()),
    };
    let part = match asked.question.part() {
        Part::WHOLE => String::new(),
        part => format!("-part-{}-of-{}", part.number, part.of),
    };
    Path::new("linewake-out").join(format!("{model}-{}{part}", asked.question.word()))
}

/// The command that goes on with the study in that folder.
fn going_on(asked: &Asked, target: &Path) -> String {
    let part = match asked.question.part() {
        Part::WHOLE => String::new(),
        part => format!(" --part {part}"),
    };
    format!("{}{part} --out {}", asked.question.command(), quoted(&target.display().to_string()))
}

fn of_journal(path: &Path, error: JournalError) -> Failure {
    match error {
        JournalError::Io(error) => full(path, &error),
        other => Failure::Invalid { what: format!("{}: {other}", path.display()), hint: String::new() },
    }
}

/// The journal could not be written.
fn full(path: &Path, error: &std::io::Error) -> Failure {
    match Failure::of_file("write", path, error) {
        Failure::Failed { what, .. } => {
            Failure::failed(what, "the runs before it are kept: make room, and give the same command again")
        }
        other => other,
    }
}

/// Says in the head how the warm-up was found.
pub(crate) fn state_warm_up(head: &mut StudyHead, warm_up: &WarmUp) {
    head.methods.push(warm_up_method());
    let end = if warm_up.settled { "" } else { "; the runs are too short to see its end" };
    head.notes.push(format!(
        "the warm-up of {} was found from {} runs{end}",
        in_words(warm_up.used_s),
        warm_up.runs
    ));
}

/// How the runs were made, in words.
pub(crate) fn conditions(head: &StudyHead) -> String {
    let start = match head.start {
        StartKind::LongRun => {
            format!("as a shift of the long run, after a warm-up of {}", in_words(head.warm_up_s))
        }
        StartKind::NewRolls | StartKind::Logged => "from an empty line with everything new".to_owned(),
    };
    let length = match head.kind {
        StudyKind::Order => format!("as many shifts as the order takes, at most {}", in_words(head.run_s)),
        _ => in_words(head.run_s),
    };
    format!(
        "runs of {length}, {start}; intervals at {} %",
        // To twelve digits, so that 0.95 x 100 is 95.
        (head.level * 1e12).round() / 1e10
    )
}

fn in_words(seconds: f64) -> String {
    let is_whole = |unit: f64| seconds > 0.0 && (seconds / unit).fract().abs() < 1e-9;
    if is_whole(3600.0) {
        format!("{} h", seconds / 3600.0)
    } else if is_whole(60.0) {
        format!("{} min", seconds / 60.0)
    } else {
        format!("{seconds} s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_in_the_largest_unit_that_is_whole() {
        assert_eq!([0.0, 90.0, 120.0, 7200.0].map(in_words), ["0 s", "90 s", "2 min", "2 h"]);
    }
}
