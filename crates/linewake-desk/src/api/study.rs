//! Shifts of a line, told as they finish, beside those of the pinned line with the same luck.

use super::edit::Faults;
use crate::answer::{self, Answer};
use crate::desk::Desk;
use crate::shifts::{self, Wanted};
use crate::stream::{self, Teller};
use axum::http::StatusCode;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::summary::Summary;
use linewake_log::header::LineFacts;
use linewake_model::line::Line;
use linewake_model::time::Moment;
use linewake_report::live::{self, LivePicture, LiveRow};
use linewake_study::paired::paired_difference;
use linewake_study::summarise::summarise;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Figures are told at most this often while shifts are being run.
const BETWEEN_FIGURES: Duration = Duration::from_millis(250);

/// A line, and the one that it is compared with.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Study {
    name: String,
    text: String,
    pinned: Option<String>,
    wanted: Wanted,
}

/// How far the shifts are.
#[derive(Serialize)]
struct Progress {
    done: u64,
    of: u64,
    /// Which line is being run.
    line: &'static str,
}

/// What the shifts so far amount to.
#[derive(Serialize)]
struct Figures<'a> {
    done: u64,
    of: u64,
    is_final: bool,
    rows: Vec<LiveRow>,
    losses: LivePicture,
    /// Good packs of each shift, in order of replication.
    good_packs: Vec<u64>,
    /// Those of the pinned line, the same replications.
    pinned_good_packs: Option<Vec<u64>>,
    digest: &'a str,
    /// The command that gives the same figures.
    command: String,
}

pub(super) fn study(desk: &Arc<Desk>, page: &str, body: &[u8]) -> Answer {
    let wanted: Study = match answer::read(body) {
        Ok(wanted) => wanted,
        Err(wrong) => return *wrong,
    };
    if let Some(fault) = wanted.wanted.fault() {
        return answer::wrong(StatusCode::UNPROCESSABLE_ENTITY, &fault);
    }
    stream::events(desk, page, move |desk, teller| work(desk, &wanted, teller))
}

fn work(desk: &Desk, study: &Study, teller: &Teller) {
    let Some(line) = checked(&study.name, &study.text, teller) else { return };
    let pinned = match &study.pinned {
        Some(text) => match checked("the pinned line", text, teller) {
            Some(line) => Some(line),
            None => return,
        },
        None => None,
    };
    let of = study.wanted.shifts;
    let base = pinned.map(|line| {
        let mut news = |done: &BTreeMap<u64, ShiftResult>| {
            teller.tell("progress", &Progress { done: done.len() as u64, of, line: "pinned" });
        };
        shifts::run(&desk.memory, &line, &study.wanted, teller, &mut news).map(|shifts| (line, shifts))
    });
    let base = match base.transpose() {
        Ok(base) => base,
        Err(error) => return teller.tell("ended", &error.to_string()),
    };
    let seen =
        View { study, line: &line, base: base.as_ref().map(|(line, shifts)| (line, shifts.as_slice())) };
    let mut last: Option<Instant> = None;
    let mut news = |done: &BTreeMap<u64, ShiftResult>| {
        let is_due = last.is_none_or(|last| last.elapsed() >= BETWEEN_FIGURES);
        // An interval needs some shifts before it says anything.
        if is_due && done.len() >= 4 {
            last = Some(Instant::now());
            if let Some(figures) = seen.figures(done.iter().map(|(place, shift)| (*place, shift))) {
                teller.tell("figures", &figures);
            }
        } else {
            teller.tell("progress", &Progress { done: done.len() as u64, of, line: "this" });
        }
    };
    match shifts::run(&desk.memory, &line, &study.wanted, teller, &mut news) {
        Ok(all) => {
            if let Some(figures) =
                seen.figures(all.iter().enumerate().map(|(place, shift)| (place as u64, shift)))
            {
                teller.tell("figures", &figures);
            }
        }
        Err(error) => teller.tell("ended", &error.to_string()),
    }
}

/// Checks the text; what is wrong is told.
pub(super) fn checked(name: &str, text: &str, teller: &Teller) -> Option<Line> {
    match linewake_model::parse(text) {
        Ok(checked) => Some(checked.line),
        Err(found) => {
            teller.tell("problems", &Faults::of(name, text, &found));
            None
        }
    }
}

/// The summary of shifts of a line.
pub(super) fn summary(line: &Line, wanted: &Wanted, shifts: &[ShiftResult]) -> Option<Summary> {
    let warm_up = wanted.plan(line).warm_up.since(Moment::ZERO);
    summarise(&LineFacts::of(line), warm_up, wanted.start.kind(), shifts)
}

/// What the figures of shifts are made from.
struct View<'a> {
    study: &'a Study,
    line: &'a Line,
    base: Option<(&'a Line, &'a [ShiftResult])>,
}

impl<'a> View<'a> {
    fn figures<'s>(&self, done: impl Iterator<Item = (u64, &'s ShiftResult)>) -> Option<Figures<'a>> {
        let wanted = &self.study.wanted;
        let (places, shifts): (Vec<u64>, Vec<ShiftResult>) =
            done.map(|(place, shift)| (place, shift.clone())).unzip();
        let summarised = summary(self.line, wanted, &shifts)?;
        // Shifts with the same luck, and no others.
        let same = |base: &[ShiftResult]| -> Vec<ShiftResult> {
            places.iter().filter_map(|place| base.get(usize::try_from(*place).ok()?).cloned()).collect()
        };
        let base = self.base.map(|(line, base)| (line, same(base)));
        let compared = base.as_ref().and_then(|(line, base)| {
            let minor_stops = summarised.conventions.minor_stops;
            let apart = paired_difference(base, &shifts, minor_stops, summarised.level)?;
            Some((summary(line, wanted, base)?, apart))
        });
        let done = shifts.len() as u64;
        let packs = |shifts: &[ShiftResult]| shifts.iter().map(|shift| shift.oee.good_packs).collect();
        Some(Figures {
            done,
            of: wanted.shifts,
            is_final: done == wanted.shifts,
            rows: live::rows(&summarised, compared.as_ref().map(|(summary, apart)| (summary, apart))),
            losses: live::losses(&summarised),
            good_packs: packs(&shifts),
            pinned_good_packs: base.as_ref().map(|(_, base)| packs(base)),
            digest: &self.line.digest,
            command: command(&self.study.name, wanted),
        })
    }
}

/// The command that gives the same figures, as `linewake run` writes it.
pub(super) fn command(name: &str, wanted: &Wanted) -> String {
    let warm_up = format!("{} s", shifts::WARM_UP_S);
    let (name, shifts, seed) = (typed_name(name), wanted.shifts, wanted.seed);
    format!("linewake run {name} --shifts {shifts} --seed {seed} --warm-up \"{warm_up}\"")
}

/// The name of a file as it is typed.
pub(super) fn typed_name(name: &str) -> String {
    let plain = |letter: char| letter.is_alphanumeric() || "-_./\\:".contains(letter);
    if name.chars().all(plain) { name.to_owned() } else { format!("\"{name}\"") }
}
