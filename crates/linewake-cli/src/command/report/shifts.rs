//! Reading the shifts: their heads first, so that logs that do not belong together are told before millions of rows are
//! read; then all of them on all threads.

use super::Read;
use crate::args::{MinorStops, PlannedStops};
use crate::console::Console;
use crate::failure::Failure;
use crate::log_files::LogFile;
use crate::progress::Progress;
use crate::report_folder;
use linewake_log::header::{LineFacts, LogHeader};
use linewake_log::reader::{LogError, LogReader};
use linewake_log::stop_list::{self, ListFile, Mapping, StopList, StopListProblem};
use linewake_model::line::Line;
use linewake_report::input::{DirtyRow, LogRead, LogsRead};
use linewake_report::problems::{self, Look};
use linewake_study::logs::{LoggedShift, ReadError, first_shifts, read as read_log, told};
use linewake_study::replicate::Workers;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// What errors of a mapping forbid.
const CANNOT_READ: &str = "no list can be read by this mapping";

/// How logs are to be read.
pub(crate) struct LogsAsked<'a> {
    /// They are stop lists; what they mean.
    pub(crate) mapping: Option<&'a Path>,
    /// Counts in files of their own, one for each stop list.
    pub(crate) counts: &'a [PathBuf],
    pub(crate) minor_stops: MinorStops,
    pub(crate) planned_stops: PlannedStops,
    pub(crate) threads: Option<usize>,
    /// The first shift of each kind of start is drawn up over time.
    pub(crate) over_time: bool,
}

/// Reads them, under a model if there is one.
pub(crate) fn read(
    options: &LogsAsked<'_>,
    files: &[LogFile],
    line: Option<&Line>,
    console: &mut Console<'_>,
) -> Result<Read, Failure> {
    let model = line.map(LineFacts::of);
    match options.mapping {
        Some(mapping) => stop_lists(options, mapping, files, model.as_ref(), console),
        None => logs(options, files, model.as_ref(), console),
    }
}

fn logs(
    options: &LogsAsked<'_>,
    files: &[LogFile],
    model: Option<&LineFacts>,
    console: &mut Console<'_>,
) -> Result<Read, Failure> {
    let mut heads = Vec::new();
    for file in files {
        heads.push(open(file)?.header().clone());
    }
    let named: Vec<(String, &LogHeader)> =
        files.iter().map(|file| file.path.display().to_string()).zip(&heads).collect();
    let facts = facts_of(&named, model)?;
    no_shift_twice(&named)?;

    let conventions = report_folder::conventions(options.minor_stops, options.planned_stops);
    let (workers, stop) = (Workers::new(options.threads, console.stop)?, console.stop);
    let progress = Progress::new("logs", files.len() as u64, console);
    let first = first_shifts(&heads.iter().collect::<Vec<_>>());
    let over_time: Vec<bool> = first.into_iter().map(|first| first && options.over_time).collect();
    let one = |number: u64| -> Option<Result<LoggedShift, Failure>> {
        let place = usize::try_from(number).ok()?;
        let (file, facts, over_time) = (files.get(place)?, facts.get(place)?, *over_time.get(place)?);
        Some(open(file).and_then(|log| {
            read_log(log, facts, conventions, over_time, stop).map_err(|error| match error {
                ReadError::Log(error) => wrong(file, &error),
                ReadError::Interrupted => Failure::Interrupted,
            })
        }))
    };
    let shifts = workers.each(files.len() as u64, &|| progress.step(), one)?;
    let shifts = shifts.into_iter().flatten().collect::<Result<Vec<LoggedShift>, Failure>>()?;
    let logs = files.iter().zip(&shifts).map(|(file, shift)| LogRead {
        file: file.name.clone(),
        rows: shift.rows,
        broken_off: shift.broken_off.clone(),
        dirty_rows: Vec::new(),
    });
    let logs = LogsRead { logs: logs.collect(), ..LogsRead::default() };
    Ok(Read { facts: facts.into_iter().next().unwrap_or_default(), shifts, logs })
}

pub(crate) fn open(file: &LogFile) -> Result<LogReader<File>, Failure> {
    let opened = File::open(&file.path).map_err(|error| Failure::of_file("read", &file.path, &error))?;
    LogReader::new(opened).map_err(|error| wrong(file, &error))
}

pub(crate) fn wrong(file: &LogFile, error: &LogError) -> Failure {
    let what = format!("{}: {error}", file.path.display());
    let hint =
        "a log is described in docs/reference/event-log.md; for a stop list of a plant, give --mapping";
    match error {
        LogError::Read(cause)
            if !matches!(
                cause.kind(),
                ErrorKind::InvalidData | ErrorKind::InvalidInput | ErrorKind::UnexpectedEof
            ) =>
        {
            Failure::failed(what, "")
        }
        LogError::Read(_) => Failure::Invalid { what, hint: "the file is damaged".to_owned() },
        LogError::Row { .. } | LogError::BrokenOff { .. } => Failure::Invalid { what, hint: hint.to_owned() },
    }
}

/// The facts under which each log is read: its own, or those of the model laid over them. All are of one line.
pub(crate) fn facts_of(
    heads: &[(String, &LogHeader)],
    model: Option<&LineFacts>,
) -> Result<Vec<LineFacts>, Failure> {
    let Some((first, head)) = heads.first() else { return Ok(Vec::new()) };
    for (name, other) in &heads[1..] {
        head.same_line(other).map_err(|differs| Failure::Invalid {
            what: format!("{first} and {name} are not of the same line: {differs}"),
            hint: "make a report of each line by itself".to_owned(),
        })?;
    }
    let under = |(name, head): &(String, &LogHeader)| match model {
        None => Ok(head.facts.clone()),
        Some(model) => head.facts.under_model(model).map_err(|differs| Failure::Invalid {
            what: format!("{name} is not a log of the model's line: {differs}"),
            hint: "give the model that describes this line, or none".to_owned(),
        }),
    };
    heads.iter().map(under).collect()
}

/// Two logs of the same simulated shift would count it twice.
pub(crate) fn no_shift_twice(heads: &[(String, &LogHeader)]) -> Result<(), Failure> {
    let mut seen = BTreeMap::new();
    for (name, head) in heads {
        let Some(seed) = head.seed else { continue };
        let shift = (seed, head.replication, head.start, head.warm_up, head.horizon);
        if let Some(first) = seen.insert(shift, name) {
            return Err(Failure::Invalid {
                what: format!(
                    "{first} and {name} are logs of the same shift (seed {seed}, replication {}), which would count twice",
                    head.replication
                ),
                hint: "name one of them".to_owned(),
            });
        }
    }
    Ok(())
}

fn stop_lists(
    options: &LogsAsked<'_>,
    mapping: &Path,
    files: &[LogFile],
    model: Option<&LineFacts>,
    console: &mut Console<'_>,
) -> Result<Read, Failure> {
    let conventions = report_folder::conventions(options.minor_stops, options.planned_stops);
    let (mut shifts, mut logs, mut heads) = (Vec::new(), Vec::new(), Vec::new());
    each_stop_list(mapping, options.counts, files, model, console, |file, list| {
        logs.push(LogRead {
            file: file.name.clone(),
            rows: list.rows,
            broken_off: None,
            dirty_rows: dirty_rows(&list),
        });
        for shift in list.shifts {
            let (header, over_time) = (&shift.header, options.over_time && shifts.is_empty());
            shifts.push(told(header, &shift.events, &header.facts, conventions, over_time));
            heads.push((format!("{} of {}", shift.name, file.path.display()), shift.header));
        }
    })?;
    let named: Vec<(String, &LogHeader)> = heads.iter().map(|(name, head)| (name.clone(), head)).collect();
    let facts = facts_of(&named, None)?;
    let logs = LogsRead { logs, ..LogsRead::default() };
    Ok(Read { facts: facts.into_iter().next().unwrap_or_default(), shifts, logs })
}

/// Reads stop lists one after the other, each with its file of counts if there are any, and hands on what each of them says.
pub(crate) fn each_stop_list(
    mapping: &Path,
    counts: &[PathBuf],
    files: &[LogFile],
    model: Option<&LineFacts>,
    console: &mut Console<'_>,
    mut each: impl FnMut(&LogFile, StopList),
) -> Result<(), Failure> {
    if !counts.is_empty() && counts.len() != files.len() {
        let what = format!("{} files of counts for {} stop lists", counts.len(), files.len());
        return Err(Failure::usage(what, "give one --counts for each stop list, in the same order, or none"));
    }
    let mapping = mapping_of(mapping, model, console)?;
    for (place, file) in files.iter().enumerate() {
        let counts = counts.get(place).map(|path| opened(path)).transpose()?;
        let list = stop_list::read(&mapping, opened(&file.path)?, counts)
            .map_err(|problem| wrong_list(file, &problem))?;
        each(file, list);
        console.go_on()?;
    }
    Ok(())
}

fn mapping_of(path: &Path, model: Option<&LineFacts>, console: &mut Console<'_>) -> Result<Mapping, Failure> {
    let name = path.display().to_string();
    let text = std::fs::read_to_string(path).map_err(|error| match error.kind() {
        ErrorKind::InvalidData => Failure::Invalid {
            what: format!("{name}: the text is not UTF-8"),
            hint: "is this the mapping? It is a JSON file: docs/reference/stop-lists.md".to_owned(),
        },
        _ => Failure::of_file("read", path, &error),
    })?;
    match Mapping::parse(&text, model) {
        Ok(mapping) => {
            console.tell(&problems::shown(&name, &text, mapping.warnings(), CANNOT_READ, Look::Coloured));
            Ok(mapping)
        }
        Err(problems) => {
            console.tell(&problems::shown(&name, &text, &problems, CANNOT_READ, Look::Coloured));
            Err(Failure::InvalidModel)
        }
    }
}

pub(crate) fn opened(path: &Path) -> Result<File, Failure> {
    File::open(path).map_err(|error| Failure::of_file("read", path, &error))
}

fn wrong_list(file: &LogFile, problem: &StopListProblem) -> Failure {
    let what = format!("{}: {problem}", file.path.display());
    match problem {
        StopListProblem::Read(..) => Failure::failed(what, ""),
        StopListProblem::File { file: ListFile::Counts, .. } => Failure::Invalid {
            what,
            hint: "counts in a file of their own are given with --counts, and the mapping says how they are to be \
                   read: docs/reference/stop-lists.md"
                .to_owned(),
        },
        StopListProblem::File { .. } => Failure::Invalid {
            what,
            hint: "the mapping says how the file is to be read: docs/reference/stop-lists.md".to_owned(),
        },
    }
}

fn dirty_rows(list: &StopList) -> Vec<DirtyRow> {
    let row = |row: &stop_list::DirtyRow| DirtyRow {
        line: row.line,
        kind: row.kind.words().to_owned(),
        what: match row.file {
            ListFile::Stops => row.what.clone(),
            ListFile::Counts => format!("{}: {}", row.file, row.what),
        },
        done: row.done.clone(),
    };
    list.dirty_rows.iter().map(row).collect()
}
