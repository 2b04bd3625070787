//! From the logs of shifts to summaries: the same as for simulated shifts, without engine and without model.
//!
//! A log is read once, event by event; what is kept of it is one [`ShiftResult`], whatever its length.

use crate::summarise::summarise;
use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::convention::Conventions;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::summary::{StartKind, Summary};
use linewake_kpi::timeline::{ShiftTimeline, Timeline};
use linewake_log::event::{Detail, Event, EventSink};
use linewake_log::header::{LineFacts, LogHeader};
use linewake_log::reader::{LogError, LogReader};
use linewake_log::stop_trace::{StopTrace, StopTracer};
use linewake_model::time::{Moment, Span};
use std::fmt;
use std::io::Read;
use std::sync::atomic::{AtomicBool, Ordering};

/// The flag that stops the work is looked at whenever so many rows are read.
const ROWS_BETWEEN_LOOKS: u64 = 1 << 16;

/// One shift, as its log tells it.
#[derive(Clone, Debug, PartialEq)]
pub struct LoggedShift {
    /// The head of the log.
    pub header: LogHeader,
    /// How much the log tells.
    pub detail: Detail,
    /// What the shift amounted to.
    pub result: ShiftResult,
    /// Its stops one by one.
    pub stops: StopTrace,
    /// The shift over time, where it was asked for.
    pub timeline: Option<ShiftTimeline>,
    /// Rows read, the column names and the header among them.
    pub rows: u64,
    /// Where and why the log breaks off, in words; `None` for a whole one.
    pub broken_off: Option<String>,
}

/// Why a log gives no shift.
#[derive(Debug)]
pub enum ReadError {
    /// The log is wrong or cannot be read.
    Log(LogError),
    /// The stop flag was raised.
    Interrupted,
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Log(error) => error.fmt(f),
            Self::Interrupted => f.write_str("interrupted"),
        }
    }
}

impl std::error::Error for ReadError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Log(error) => Some(error),
            Self::Interrupted => None,
        }
    }
}

/// Reads a log to its end, or to where it breaks off. `facts` are those of its header, or of a model laid over them
/// ([`LineFacts::under_model`]); the timeline is drawn up if `over_time` asks for it ([`first_shifts`]); raising `stop`
/// ends the work.
///
/// # Errors
/// A row is wrong, the file cannot be read, or the stop flag was raised. A log that breaks off is no error.
pub fn read<R: Read>(
    mut log: LogReader<R>,
    facts: &LineFacts,
    conventions: Conventions,
    over_time: bool,
    stop: &AtomicBool,
) -> Result<LoggedShift, ReadError> {
    let (header, detail) = (log.header().clone(), log.detail());
    let mut accumulator = Accumulator::of(facts, header.warm_up).under(conventions);
    let mut timeline = over_time.then(|| timeline_of(&header, facts));
    let mut stops = StopTracer::new();
    let mut broken_off = None;
    for number in 1_u64.. {
        match log.next() {
            None => break,
            Some(Ok(event)) => {
                accumulator.record(&event);
                stops.record(&event);
                if let Some(timeline) = &mut timeline {
                    timeline.record(&event);
                }
            }
            Some(Err(error @ LogError::BrokenOff { .. })) => {
                broken_off = Some(error.to_string());
                break;
            }
            Some(Err(error)) => return Err(ReadError::Log(error)),
        }
        if number % ROWS_BETWEEN_LOOKS == 0 && stop.load(Ordering::Relaxed) {
            return Err(ReadError::Interrupted);
        }
    }
    Ok(LoggedShift {
        header,
        detail,
        result: accumulator.finish(),
        stops: stops.finish(),
        timeline: timeline.map(Timeline::finish),
        rows: log.rows(),
        broken_off,
    })
}

/// The same for events that are in memory already, such as those made from a stop list.
#[must_use]
pub fn told(
    header: &LogHeader,
    events: &[Event],
    facts: &LineFacts,
    conventions: Conventions,
    over_time: bool,
) -> LoggedShift {
    let mut accumulator = Accumulator::of(facts, header.warm_up).under(conventions);
    let mut stops = StopTracer::new();
    for event in events {
        accumulator.record(event);
        stops.record(event);
    }
    let timeline = over_time.then(|| {
        let mut timeline = timeline_of(header, facts);
        events.iter().for_each(|event| timeline.record(event));
        timeline.finish()
    });
    LoggedShift {
        header: header.clone(),
        detail: Detail::States,
        result: accumulator.finish(),
        stops: stops.finish(),
        timeline,
        rows: 0,
        broken_off: None,
    }
}

fn timeline_of(header: &LogHeader, facts: &LineFacts) -> Timeline {
    if header.seed.is_some() {
        Timeline::new(&LogHeader { facts: facts.clone(), ..header.clone() })
    } else {
        Timeline::of(facts, header.horizon.since(header.warm_up))
    }
}

/// Which of the logs tell the first shift of a kind of start: the one that is shown over time.
#[must_use]
pub fn first_shifts(headers: &[&LogHeader]) -> Vec<bool> {
    let mut first = vec![false; headers.len()];
    for start in STARTS {
        let here = headers.iter().enumerate().filter(|(_, header)| StartKind::of(header.start) == start);
        if let Some((place, _)) = here.min_by_key(|(_, header)| order(header)) {
            first[place] = true;
        }
    }
    first
}

/// Kinds of start in the order of a report.
const STARTS: [StartKind; 3] = [StartKind::NewRolls, StartKind::LongRun, StartKind::Logged];

/// Simulated shifts are taken in the order of their seeds and replications, others as they come.
fn order(header: &LogHeader) -> Option<(u64, u64)> {
    header.seed.map(|seed| (seed, header.replication))
}

/// The shifts of one line together: a summary for each kind of start that there is, new rolls before the long run.
/// Simulated shifts are taken in the order of their seeds and replications, others as they come.
#[must_use]
pub fn summaries(facts: &LineFacts, shifts: &[LoggedShift]) -> Vec<Summary> {
    let mut summaries = Vec::new();
    for start in STARTS {
        let mut here: Vec<&LoggedShift> =
            shifts.iter().filter(|shift| StartKind::of(shift.header.start) == start).collect();
        here.sort_by_key(|shift| order(&shift.header));
        let timeline = here.iter().find_map(|shift| shift.timeline.clone());
        let warm_up = here.first().map_or(Span::ZERO, |shift| shift.header.warm_up.since(Moment::ZERO));
        let results: Vec<ShiftResult> = here.into_iter().map(|shift| shift.result.clone()).collect();
        let summary = summarise(facts, warm_up, start, &results);
        summaries.extend(summary.map(|summary| Summary { timeline, ..summary }));
    }
    summaries
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::replicate::{run_once, timeline};
    use linewake_engine::plan::RunPlan;
    use linewake_log::writer::LogWriter;
    use linewake_model::line::Line;

    fn line() -> Line {
        let text = include_str!("../../../models/low-sallow-burgers.json");
        linewake_model::parse(text).expect("a shipped model").line
    }

    fn plans(line: &Line) -> [RunPlan; 2] {
        let warm_up = Span::from_seconds(900.0);
        let hours = |hours: f64| Moment::ZERO + Span::from_seconds(hours * 3600.0);
        [
            RunPlan { horizon: hours(2.0), ..RunPlan::shift(line) },
            RunPlan { horizon: hours(2.25), ..RunPlan::long_run(line, warm_up) },
        ]
    }

    fn log_of(line: &Line, plan: &RunPlan, replication: u64, detail: Detail) -> Vec<u8> {
        let header = linewake_engine::header(line, plan, 5, replication);
        let mut log = LogWriter::new(Vec::new(), &header, detail);
        linewake_engine::run(line, plan, 5, replication, &mut log);
        log.finish().expect("memory takes the log")
    }

    fn read_back(log: &[u8]) -> LoggedShift {
        let reader = LogReader::new(log).expect("a header");
        let facts = reader.header().facts.clone();
        let stop = AtomicBool::new(false);
        read(reader, &facts, Conventions::default(), true, &stop).expect("a sound log")
    }

    /// What a log tells is what the run told, number by number.
    #[test]
    fn logs_give_the_summaries_of_the_runs_that_wrote_them() {
        let line = line();
        let facts = LineFacts::of(&line);
        let (mut shifts, mut simulated) = (Vec::new(), Vec::new());
        for (plan, detail) in plans(&line).iter().zip([Detail::States, Detail::Packs]) {
            let once = |replication| run_once(&line, plan, Conventions::default(), 5, replication);
            let results: Vec<ShiftResult> = (0..3).map(once).collect();
            let logs: Vec<LoggedShift> =
                (0..3).map(|it| read_back(&log_of(&line, plan, it, detail))).collect();
            assert_eq!(logs.iter().map(|log| log.result.clone()).collect::<Vec<_>>(), results);
            let start = StartKind::of(plan.start());
            let summary = summarise(&facts, plan.warm_up.since(Moment::ZERO), start, &results);
            let timeline = Some(timeline(&line, plan, 5, 0));
            simulated.extend(summary.map(|summary| Summary { timeline, ..summary }));
            // In any order.
            shifts.extend(logs.into_iter().rev());
        }
        shifts.rotate_left(4);
        let headers: Vec<&LogHeader> = shifts.iter().map(|shift| &shift.header).collect();
        for (shift, is_first) in shifts.iter().zip(first_shifts(&headers)) {
            assert_eq!(is_first, shift.header.replication == 0);
        }
        for shift in &mut shifts {
            shift.timeline.take_if(|_| shift.header.replication > 0);
        }
        let read = summaries(&shifts[0].header.facts, &shifts);
        assert_eq!(read, simulated);
        assert!(read.iter().all(|summary| summary.balance.as_ref().is_some_and(|it| it.difference() == 0)));
    }

    #[test]
    fn a_log_that_breaks_off_counts_up_to_there_and_says_so() {
        let line = line();
        let whole = log_of(&line, &plans(&line)[0], 0, Detail::States);
        let cut = read_back(&whole[..whole.len() * 2 / 3]);
        assert!(
            cut.broken_off.as_ref().is_some_and(|words| words.contains("mid-row")),
            "{:?}",
            cut.broken_off
        );
        assert!(cut.result.oee.good_packs < read_back(&whole).result.oee.good_packs);
        assert_eq!(cut.result.doubts, [linewake_kpi::result::Doubt::NoEnd]);
        assert!(cut.result.window_end < cut.header.horizon);
    }

    #[test]
    fn a_raised_flag_ends_the_reading() {
        let line = line();
        let plan = RunPlan { horizon: Moment(12 * 3600 * 1_000_000), ..RunPlan::shift(&line) };
        let log = log_of(&line, &plan, 0, Detail::Packs);
        let reader = LogReader::new(log.as_slice()).expect("a header");
        let facts = reader.header().facts.clone();
        let read = read(reader, &facts, Conventions::default(), false, &AtomicBool::new(true));
        assert!(matches!(read, Err(ReadError::Interrupted)));
    }
}
