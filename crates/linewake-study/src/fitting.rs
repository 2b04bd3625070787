//! From the logs of a line to its stop modes: the times between the stops of each reason and their durations, with the laws
//! that describe them, and the model that follows.
//!
//! A stop of the model is a clock, a law of the time on it, a repair, and whether an operator comes first. The log tells
//! these apart where it was written by a run; a plant's list tells the whole stop, so that its duration takes in the waits
//! and the stop is put into the model as one that nobody is called to.

mod curves;
mod family;
mod history;
mod law;
mod methods;
mod model;
mod samples;
mod typed;
mod warnings;
pub mod weights;

pub use law::{FEW, FitSettings, MOST_JUDGED};
pub use model::{IntoModel, fragment, into_model};
pub use warnings::TOLD_BELOW;

use crate::logs::ReadError;
use crate::replicate::{ReplicateError, Workers};
use history::{CycleCounter, ShiftHistory, StopWatch};
use law::{Fitted, Times, fitted};
use linewake_kpi::study::fitting::{Attendance, FitClock, FitResult, ReasonFit, TimesFit};
use linewake_log::event::{Event, EventSink};
use linewake_log::header::{LineFacts, ShiftStart};
use linewake_log::reader::{LogError, LogReader};
use linewake_model::spec::line::LineSpec;
use linewake_model::spec::share::InitialSpec;
use linewake_model::spec::stop::{AfterSpec, StopSpec};
use linewake_model::stop::Reason;
use samples::{Series, Shift, Window};
use std::collections::BTreeSet;
use std::io::Read;
use std::sync::atomic::{AtomicBool, Ordering};
use typed::Unit;

/// Stops that something else calls: their frequency is a setting, no chance of their own.
const CALLED: [&str; 4] = ["bin_full", "rejects_in_row", "tags_in_row", "injected"];
/// Share of stops that strike while the machine waits, from which a calendar clock is taken.
const CALENDAR_SHARE: f64 = 0.1;
/// Counts whose spread is below this share of their mean are those of a consumable.
const CONSUMABLE_CV: f64 = 0.05;

/// The stops of one shift, read from its log.
#[derive(Clone, Debug, PartialEq)]
pub struct ShiftStops {
    /// Name of its group, such as "early"; empty where shifts have none.
    pub group: String,
    /// Where and why the log breaks off; `None` for a whole one.
    pub broken_off: Option<String>,
    start: Option<ShiftStart>,
    is_simulated: bool,
    reasons: Vec<String>,
    history: ShiftHistory,
}

/// Reads the stops of a log, to its end or to where it breaks off. Raising `stop` ends the work.
///
/// # Errors
/// A row is wrong, the file cannot be read, or the flag was raised.
pub fn read<R: Read>(mut log: LogReader<R>, stop: &AtomicBool) -> Result<ShiftStops, ReadError> {
    let header = log.header().clone();
    let mut watch = StopWatch::new(&header.facts);
    let mut broken_off = None;
    for number in 1_u64.. {
        match log.next() {
            None => break,
            Some(Ok(event)) => watch.record(&event),
            Some(Err(error @ LogError::BrokenOff { .. })) => {
                broken_off = Some(error.to_string());
                break;
            }
            Some(Err(error)) => return Err(ReadError::Log(error)),
        }
        if number % (1 << 16) == 0 && stop.load(Ordering::Relaxed) {
            return Err(ReadError::Interrupted);
        }
    }
    let is_simulated = header.seed.is_some();
    // A simulated log without a stated start begins with everything new.
    let start = header.start.or(is_simulated.then_some(ShiftStart::NewRolls));
    let (reasons, history) = (header.facts.reasons, watch.finish());
    Ok(ShiftStops { group: String::new(), broken_off, start, is_simulated, reasons, history })
}

/// The stops of a shift whose events are in memory, such as those made from a stop list. `name` is that of the shift, whose
/// words after the date are its group.
#[must_use]
pub fn told(events: &[Event], facts: &LineFacts, name: &str) -> ShiftStops {
    let mut watch = StopWatch::new(facts);
    events.iter().for_each(|event| watch.record(event));
    let group = name.split_once(' ').map_or("", |(_, group)| group).to_owned();
    ShiftStops {
        group,
        broken_off: None,
        start: None,
        is_simulated: false,
        reasons: facts.reasons.clone(),
        history: watch.finish(),
    }
}

/// What is to be fitted, and how.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// Name of the line.
    pub line: &'a str,
    /// Its stations, as the first log tells them.
    pub facts: &'a LineFacts,
    /// The model, whose clocks and consumables are kept.
    pub model: Option<&'a LineSpec>,
    /// How fits are made.
    pub settings: FitSettings,
    /// Where the data of a reason are few, the law that its family of reasons and the own data give is proposed.
    pub family_for_few: bool,
}

/// Fits all reasons of all stations, on all threads; `done` is called after each.
///
/// # Errors
/// The work was interrupted, or there are no threads.
pub fn fit(
    asked: &Asked<'_>,
    shifts: Vec<ShiftStops>,
    workers: &Workers<'_>,
    done: &(dyn Fn() + Sync),
) -> Result<FitResult, ReplicateError> {
    let is_simulated = shifts.iter().all(|shift| shift.is_simulated);
    let broken: Vec<String> = shifts.iter().filter_map(|shift| shift.broken_off.clone()).collect();
    let (shifts, reasons) = on_one_list(shifts);
    let jobs = jobs(asked.facts, &shifts, &reasons);
    let tells_waits = jobs.iter().any(|job| series(job, &shifts).all().any(|stop| stop.is_attended));
    let one = |number: u64| {
        let job = jobs.get(usize::try_from(number).ok()?)?;
        Some(fit_reason(asked, job, &shifts, is_simulated || tells_waits))
    };
    let fits: Vec<Outcome> = workers.each(jobs.len() as u64, done, one)?.into_iter().flatten().collect();
    let mut notes: Vec<String> =
        broken.iter().map(|how| format!("a log was read up to where it breaks off: {how}")).collect();
    let mut stops: Vec<(usize, ReasonFit, Option<Fitted>, Option<Fitted>)> = Vec::new();
    for (job, outcome) in jobs.iter().zip(fits) {
        match outcome {
            Outcome::Fit(fit) => {
                let (fit, between, duration) = *fit;
                stops.push((job.station, fit, between, duration));
            }
            Outcome::Nothing(why) => {
                notes.push(format!("{}, {}: not fitted; {why}", job.station_id, job.word));
            }
        }
    }
    for (_, fit, _, _) in &mut stops {
        fit.notes.extend(with_others(fit, &jobs, &shifts));
    }
    family::offer(&mut stops, asked.settings.level, asked.family_for_few);
    let mut stops: Vec<(usize, ReasonFit)> =
        stops.into_iter().map(|(station, fit, _, _)| (station, fit)).collect();
    stops.sort_by(|(one, a), (other, b)| one.cmp(other).then(b.stopped_s.total_cmp(&a.stopped_s)));
    let response = response(&shifts, asked.settings);
    notes.extend(methods::notes(is_simulated, tells_waits));
    Ok(FitResult {
        line: asked.line.to_owned(),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        shifts: shifts.len() as u64,
        watched_s: shifts.iter().map(watched_s).sum(),
        simulated: is_simulated,
        level: asked.settings.level,
        seed: asked.settings.seed,
        stops: stops.into_iter().map(|(_, fit)| fit).collect(),
        response,
        weights: None,
        methods: methods::methods(),
        notes,
    })
}

/// Shifts whose reasons are numbered alike, and their words.
fn on_one_list(shifts: Vec<ShiftStops>) -> (Vec<Shift>, Vec<String>) {
    let mut words: Vec<String> = Vec::new();
    let mut shifts_out = Vec::with_capacity(shifts.len());
    for mut shift in shifts {
        let places: Vec<u16> = shift
            .reasons
            .iter()
            .map(|word| {
                let place = words.iter().position(|known| known == word).unwrap_or_else(|| {
                    words.push(word.clone());
                    words.len() - 1
                });
                u16::try_from(place).unwrap_or(u16::MAX)
            })
            .collect();
        for station in &mut shift.history.stations {
            for stop in &mut station.stops {
                stop.reason = Reason(places.get(usize::from(stop.reason.0)).copied().unwrap_or(u16::MAX));
            }
        }
        shifts_out.push(Shift { group: shift.group, start: shift.start, history: shift.history });
    }
    (shifts_out, words)
}

/// One reason of one station.
struct Job {
    station: usize,
    station_id: String,
    kind: String,
    reason: Reason,
    word: String,
}

fn jobs(facts: &LineFacts, shifts: &[Shift], reasons: &[String]) -> Vec<Job> {
    let mut found: BTreeSet<(usize, Reason)> = BTreeSet::new();
    for shift in shifts {
        for (station, history) in shift.history.stations.iter().enumerate() {
            found.extend(history.stops.iter().map(|stop| (station, stop.reason)));
        }
    }
    found
        .into_iter()
        .filter_map(|(station, reason)| {
            let facts = facts.stations.get(station)?;
            Some(Job {
                station,
                station_id: facts.id.clone(),
                kind: facts.kind.clone(),
                reason,
                word: reasons.get(usize::from(reason.0)).cloned().unwrap_or_default(),
            })
        })
        .collect()
}

fn series<'a>(job: &Job, shifts: &'a [Shift]) -> Series<'a> {
    Series { station: job.station, reason: job.reason, shifts }
}

/// What came of a reason.
enum Outcome {
    /// The fit, and the samples behind it.
    Fit(Box<(ReasonFit, Option<Fitted>, Option<Fitted>)>),
    /// Why there is none.
    Nothing(String),
}

/// Says when a reason begins at the same moments at other machines: a stop of the whole line.
fn with_others(fit: &ReasonFit, jobs: &[Job], shifts: &[Shift]) -> Option<String> {
    let own = jobs.iter().find(|job| job.station_id == fit.station && job.word == fit.reason)?;
    let moments = |job: &Job| -> BTreeSet<(usize, u64)> {
        let stops = |number: usize| {
            shifts[number].history.stations[job.station]
                .stops
                .iter()
                .filter(move |stop| stop.reason == job.reason)
        };
        (0..shifts.len())
            .flat_map(|number| stops(number).map(move |stop| (number, stop.began.calendar_s.round() as u64)))
            .collect()
    };
    let here = moments(own);
    let together: Vec<&str> = jobs
        .iter()
        .filter(|job| job.reason == own.reason && job.station != own.station)
        .filter(|job| moments(job).intersection(&here).count() * 5 >= here.len() * 4)
        .map(|job| job.station_id.as_str())
        .collect();
    (!together.is_empty()).then(|| {
        format!(
            "it begins at the same moments at {}: a stop of the whole line, which a model draws for each machine by \
             itself; keep it at one machine only, the constraint",
            together.join(", ")
        )
    })
}

fn fit_reason(asked: &Asked<'_>, job: &Job, shifts: &[Shift], tells_waits: bool) -> Outcome {
    let series = series(job, shifts);
    let typed = asked.model.and_then(|model| stop_of(model, &job.station_id, &job.word));
    let attended = series.all().filter(|stop| stop.is_attended).count();
    let all = series.all().count();
    let attendance = match (tells_waits, attended * 2 > all) {
        (false, _) => Attendance::NotTold,
        (true, true) => Attendance::Attended,
        (true, false) => Attendance::Unattended,
    };
    let mut notes = Vec::new();
    let durations = series.durations(attendance == Attendance::Attended);
    let of_duration = Times {
        what: if attendance == Attendance::Attended { "repair" } else { "duration" }.to_owned(),
        unit: Unit::Seconds,
        stream: format!("{}/{}/duration", job.station_id, job.word),
        complete: durations.iter().filter(|it| it.is_complete).map(|it| (it.seconds, it.shift)).collect(),
        cut_off: durations.iter().filter(|it| !it.is_complete).map(|it| it.seconds).collect(),
        windows: None,
        begins: series.begins(),
    };
    let duration = match fitted(&of_duration, asked.settings) {
        Ok(fitted) => fitted,
        Err(why) => return Outcome::Nothing(format!("its durations give no law: {why}")),
    };
    let called = CALLED.contains(&job.word.as_str());
    let (clock, clock_why) = clock(job, &series, typed);
    let part_used = typed.is_some_and(|stop| !matches!(stop.initial, None | Some(InitialSpec::New)));
    let windows = series.windows(clock, part_used);
    let of_between = between_of(job, clock, &windows, &series);
    let between = if called {
        notes.push("something else calls this stop, so that only its duration is fitted".to_owned());
        None
    } else {
        match fitted(&of_between, asked.settings) {
            Ok(fitted) => Some(fitted),
            Err(why) => {
                notes.push(format!("the times between stops give no law: {why}"));
                None
            }
        }
    };
    let mut fit = ReasonFit {
        station: job.station_id.clone(),
        reason: job.word.clone(),
        stops: all as u64,
        stopped_s: series.all().map(|stop| stop.waited_s + stop.repaired_s).sum(),
        attendance,
        clock,
        clock_why,
        between: between.as_ref().map(|fitted| fitted.shown.clone()),
        duration: duration.shown.clone(),
        notes,
    };
    by_shift(&mut fit, &of_between, &of_duration, &series);
    // The record loses the shortest stops: there are more of them than it shows.
    if let (Some(shown), Some(own), true) = (&mut fit.between, &between, duration.shown.unseen > 0.01) {
        let law = typed::scaled(&own.law, 1.0 - duration.shown.unseen);
        shown.chosen.json = typed::typed(&law, of_between.unit);
    }
    if typed.is_some_and(|stop| stop.group.is_some()) {
        fit.notes.push(
            "the model puts this stop into a group: stops that came together are logged under the longest one's name, so \
             its frequency is kept as modelled"
                .to_owned(),
        );
    }
    Outcome::Fit(Box::new((fit, between, Some(duration))))
}

fn between_of(job: &Job, clock: FitClock, windows: &[Window], series: &Series<'_>) -> Times {
    let unit = match clock {
        FitClock::Count(word) => Unit::Count(word),
        _ => Unit::Seconds,
    };
    let what = match clock {
        FitClock::RunningTime => "running time between stops".to_owned(),
        FitClock::CalendarTime => "calendar time between stops".to_owned(),
        FitClock::Count(word) => format!("{word} between stops"),
    };
    Times {
        what,
        unit,
        stream: format!("{}/{}/between", job.station_id, job.word),
        complete: windows.iter().flat_map(|window| window.complete.iter().copied()).collect(),
        cut_off: windows.iter().map(|window| window.cut_off).collect(),
        windows: Some(windows.to_vec()),
        begins: series.begins(),
    }
}

/// Which clock, and why.
fn clock(job: &Job, series: &Series<'_>, typed: Option<&StopSpec>) -> (FitClock, String) {
    let counted = CycleCounter::of_kind(&job.kind).map(|(_, word)| word);
    if let Some(stop) = typed {
        return match (clock_of(&stop.after), counted) {
            (Some(FitClock::Count(wanted)), counted) if counted != Some(wanted) => {
                (FitClock::RunningTime, format!("the model counts {wanted}, which the log does not tell"))
            }
            (Some(FitClock::Count(word)), _) => (FitClock::Count(word), "as in the model".to_owned()),
            (Some(clock), _) => (clock, "as in the model".to_owned()),
            (None, Some(word)) => (FitClock::Count(word), "a consumable of the model".to_owned()),
            (None, None) => (FitClock::RunningTime, "the log does not count its cycles".to_owned()),
        };
    }
    let all = series.all().count();
    let waiting = series.while_waiting();
    if waiting >= 3 && waiting as f64 >= CALENDAR_SHARE * all as f64 {
        return (
            FitClock::CalendarTime,
            format!("{waiting} of {all} stops struck while the machine waited, so its clock runs then too"),
        );
    }
    if let Some(word) = counted {
        let windows = series.windows(FitClock::Count(word), false);
        let counts: Vec<f64> =
            windows.iter().flat_map(|window| window.complete.iter().map(|(count, _)| *count)).collect();
        let mean = linewake_stats::estimate::mean(&counts).unwrap_or(0.0);
        let spread = linewake_stats::estimate::variance(&counts).unwrap_or(f64::INFINITY).sqrt();
        if counts.len() >= 3 && mean > 1.0 && spread < CONSUMABLE_CV * mean {
            let why =
                format!("it comes after nearly the same number of {word} each time, as a consumable does");
            return (FitClock::Count(word), why);
        }
    }
    let why =
        "stops begin while the machine runs; a clock that stands still while it waits is the usual case";
    (FitClock::RunningTime, why.to_owned())
}

/// The clock of a stop of the model; `None` of a roll or magazine.
fn clock_of(after: &AfterSpec) -> Option<FitClock> {
    Some(match after {
        AfterSpec::RunningTime(_) => FitClock::RunningTime,
        AfterSpec::CalendarTime(_) => FitClock::CalendarTime,
        AfterSpec::Cycles(_) => FitClock::Count("cycles"),
        AfterSpec::Portions(_) => FitClock::Count("portions"),
        AfterSpec::Arrays(_) => FitClock::Count("arrays"),
        AfterSpec::Picks(_) => FitClock::Count("picks"),
        AfterSpec::Packs(_) => FitClock::Count("packs"),
        AfterSpec::Cases(_) => FitClock::Count("cases"),
        AfterSpec::Pieces(_) => FitClock::Count("pieces"),
        AfterSpec::Roll(_) | AfterSpec::Magazine(_) => return None,
    })
}

fn stop_of<'m>(model: &'m LineSpec, station: &str, reason: &str) -> Option<&'m StopSpec> {
    let station = model.stations.iter().map(|spec| spec.common()).find(|common| common.id == station)?;
    station.stops.iter().find(|stop| stop.reason == reason)
}

fn by_shift(fit: &mut ReasonFit, between: &Times, duration: &Times, series: &Series<'_>) {
    let groups: Vec<String> = series.shifts.iter().map(|shift| shift.group.clone()).collect();
    let exposure: Vec<f64> = series
        .shifts
        .iter()
        .map(|shift| {
            let end = shift.history.stations[series.station].end;
            match fit.clock {
                FitClock::RunningTime => end.running_s,
                FitClock::CalendarTime => end.calendar_s,
                FitClock::Count(_) => end.cycles as f64,
            }
        })
        .collect();
    if let Some(fit) = &mut fit.between {
        fit.warnings.extend(warnings::by_group(between, &groups, &exposure));
    }
    fit.duration.warnings.extend(warnings::by_group(duration, &groups, &exposure));
}

fn response(shifts: &[Shift], settings: FitSettings) -> Option<TimesFit> {
    let complete: Vec<(f64, usize)> = shifts
        .iter()
        .enumerate()
        .flat_map(|(number, shift)| shift.history.responses_s.iter().map(move |time| (*time, number)))
        .collect();
    let times = Times {
        what: "response of the operators".to_owned(),
        unit: Unit::Seconds,
        stream: "crew/response".to_owned(),
        complete,
        cut_off: Vec::new(),
        windows: None,
        begins: Vec::new(),
    };
    fitted(&times, settings).ok().map(|fitted| fitted.shown)
}

fn watched_s(shift: &Shift) -> f64 {
    shift.history.stations.iter().map(|station| station.end.calendar_s).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests;
