//! `linewake report`: logs of shifts, read without a model, to the report that a run makes.

pub(crate) mod shifts;

use crate::args::Report;
use crate::console::Console;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::log_files;
use crate::model_file::ModelFile;
use crate::output_folder::OutputFolder;
use crate::report_folder;
use crate::results_json;
use linewake_kpi::summary::{StartKind, Summary};
use linewake_log::event::Detail;
use linewake_log::header::LineFacts;
use linewake_model::line::Line;
use linewake_model::time::Moment;
use linewake_report::input::{LogsRead, ModelIdentity, PlanFacts, RunReport};
use linewake_study::logs::{LoggedShift, summaries};
use linewake_study::replicate::Workers;
use std::path::{Path, PathBuf};

/// Figures of a pack by itself, which no report shows and logs at pack detail tell.
const NEED_PACKS: [&str; 3] =
    ["weight of each pack", "time of each pack in the line", "which pack was rejected, where and when"];

pub(crate) fn report(options: &Report, console: &mut Console<'_>) -> Result<Exit, Failure> {
    let files = log_files::log_files(&options.logs)?;
    let model = options.model.as_deref().map(ModelFile::read).transpose()?;
    let line = match &model {
        Some(file) => Some(&file.checked(console)?.line),
        None => None,
    };
    let asked = shifts::LogsAsked {
        mapping: options.mapping.as_deref(),
        counts: &options.counts,
        minor_stops: options.minor_stops,
        planned_stops: options.planned_stops,
        threads: options.threads,
        over_time: true,
    };
    let read = shifts::read(&asked, &files, line, console)?;
    console.go_on()?;

    let report = report_of(options, &read, line, model.as_ref());
    let target = options.out.clone().unwrap_or_else(|| default_folder(&report.model.name));
    log_files::outside_of(&files, &target)?;
    let mut folder = OutputFolder::begin(&target, options.force)?;
    let results = results_json::text(&report);
    let workers = Workers::new(options.threads, console.stop)?;
    report_folder::write(&report, &results, model.as_ref(), &workers, &mut folder)?;
    console.go_on()?;
    folder.finish()?;

    if options.json {
        console.print(&results)?;
    } else {
        console.print(&linewake_report::text(&report))?;
        console.print(&format!("\nReport: {}\n", target.join("report.html").display()))?;
    }
    Ok(Exit::Done)
}

/// What was read.
pub(crate) struct Read {
    facts: LineFacts,
    /// The shifts.
    pub(crate) shifts: Vec<LoggedShift>,
    logs: LogsRead,
}

fn report_of(options: &Report, read: &Read, line: Option<&Line>, model: Option<&ModelFile>) -> RunReport {
    let summaries = summaries(&read.facts, &read.shifts);
    let head = read.shifts.first().map(|shift| &shift.header);
    let identity = match (line, model) {
        (Some(line), Some(file)) => report_folder::identity(line, file),
        _ => head.map_or_else(ModelIdentity::default, |head| ModelIdentity {
            name: head.model_name.clone(),
            about: head.model_about.clone(),
            digest: head.model_digest.clone(),
            file: String::new(),
        }),
    };
    let seed = head.and_then(|head| head.seed);
    let one_seed = read.shifts.iter().all(|shift| shift.header.seed == seed);
    let mut logs = read.logs.clone();
    logs.not_told = not_told(line, &read.shifts);
    logs.need_packs = NEED_PACKS.map(str::to_owned).to_vec();
    RunReport {
        model: identity,
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: seed.filter(|_| one_seed),
        command: command(options),
        plan: plan(&summaries, &read.shifts),
        facts: Some(read.facts.clone()),
        summaries,
        logs: Some(logs),
        figures_without_simulation: line
            .map_or_else(Vec::new, linewake_report::analytic::figures_without_simulation),
        assumptions: line.map_or_else(Vec::new, linewake_report::assumptions::groups),
    }
}

/// How many shifts of each kind, and how long: those of the leading summary.
fn plan(summaries: &[Summary], shifts: &[LoggedShift]) -> PlanFacts {
    let Some(leading) = summaries.last() else { return PlanFacts::default() };
    let planned = shifts.iter().find(|shift| StartKind::of(shift.header.start) == leading.start);
    let length_s = planned.map_or(leading.window_s, |shift| {
        let warm_up = shift.header.warm_up.since(Moment::ZERO);
        (shift.header.horizon.since(Moment::ZERO) - warm_up).seconds()
    });
    PlanFacts { shifts: leading.shifts.len(), hours: length_s / 3600.0, warm_up_s: leading.warm_up_s }
}

/// What the report of a run has and this one does not.
fn not_told(line: Option<&Line>, shifts: &[LoggedShift]) -> Vec<String> {
    let mut words = Vec::new();
    if line.is_none() {
        words.push("what is assumed of stations, stops and crew; a model tells it (--model)".to_owned());
        words.push("the figures that need no simulation; a model tells them (--model)".to_owned());
    }
    let counts_content = |shift: &LoggedShift| shift.result.stations.iter().any(|it| it.content.is_some());
    if !shifts.iter().any(counts_content) {
        words.push("the content of belts and tables".to_owned());
    }
    if shifts.iter().all(|shift| shift.detail == Detail::States && shift.header.seed.is_none()) {
        words.push("the seed and the model that made them, for they are no logs of a simulation".to_owned());
    }
    words
}

/// `linewake-out/` and the name of the line.
fn default_folder(name: &str) -> PathBuf {
    Path::new("linewake-out").join(format!("{}-from-logs", report_folder::plain_name(name)))
}

/// The command that makes the same report again.
fn command(options: &Report) -> String {
    let path = |path: &PathBuf| report_folder::quoted(&path.display().to_string());
    let mut command = "linewake report".to_owned();
    for log in &options.logs {
        command.push_str(&format!(" {}", path(log)));
    }
    for (option, file) in [("--model", &options.model), ("--mapping", &options.mapping)] {
        if let Some(file) = file {
            command.push_str(&format!(" {option} {}", path(file)));
        }
    }
    for counts in &options.counts {
        command.push_str(&format!(" --counts {}", path(counts)));
    }
    command.push_str(&report_folder::conventions_as_typed(options.minor_stops, options.planned_stops));
    command
}
