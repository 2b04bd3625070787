//! The report of a line: the page that `linewake run` writes.

use super::study::{checked, command, summary};
use crate::answer::{self, Answer};
use crate::desk::Desk;
use crate::shifts::{self, Start, Wanted};
use crate::stream::{self, Teller};
use axum::http::StatusCode;
use linewake_kpi::result::ShiftResult;
use linewake_kpi::summary::Summary;
use linewake_log::header::LineFacts;
use linewake_report::analytic::figures_without_simulation;
use linewake_report::assumptions::groups;
use linewake_report::input::{ModelIdentity, PlanFacts, RunReport};
use linewake_study::replicate::timeline;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A line, and how its shifts are run; both kinds of start are.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Report {
    name: String,
    text: String,
    wanted: Wanted,
}

/// The page.
#[derive(Serialize)]
struct Made {
    name: String,
    html: String,
}

pub(super) fn report(desk: &Arc<Desk>, page: &str, body: &[u8]) -> Answer {
    let wanted: Report = match answer::read(body) {
        Ok(wanted) => wanted,
        Err(wrong) => return *wrong,
    };
    if let Some(fault) = wanted.wanted.fault() {
        return answer::wrong(StatusCode::UNPROCESSABLE_ENTITY, &fault);
    }
    stream::events(desk, page, move |desk, teller| work(desk, &wanted, teller))
}

fn work(desk: &Desk, asked: &Report, teller: &Teller) {
    let Some(line) = checked(&asked.name, &asked.text, teller) else { return };
    let of = 2 * asked.wanted.shifts;
    let mut summaries: Vec<Summary> = Vec::new();
    for (before, start) in [(0, Start::NewRolls), (asked.wanted.shifts, Start::LongRun)] {
        let wanted = Wanted { start, ..asked.wanted };
        let mut news = |done: &BTreeMap<u64, ShiftResult>| {
            teller.tell("progress", &serde_json::json!({ "done": before + done.len() as u64, "of": of }));
        };
        let shifts = match shifts::run(&desk.memory, &line, &wanted, teller, &mut news) {
            Ok(shifts) => shifts,
            Err(error) => return teller.tell("ended", &error.to_string()),
        };
        let Some(summary) = summary(&line, &wanted, &shifts) else { return };
        let first = timeline(&line, &wanted.plan(&line), wanted.seed, 0);
        summaries.push(Summary { timeline: Some(first), ..summary });
    }
    let report = RunReport {
        model: ModelIdentity::of(&line, &asked.name),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: Some(asked.wanted.seed),
        command: command(&asked.name, &asked.wanted),
        plan: PlanFacts {
            shifts: usize::try_from(asked.wanted.shifts).unwrap_or(usize::MAX),
            hours: line.shift.length.seconds() / 3600.0,
            warm_up_s: shifts::WARM_UP_S,
        },
        facts: Some(LineFacts::of(&line)),
        summaries,
        logs: None,
        figures_without_simulation: figures_without_simulation(&line),
        assumptions: groups(&line),
    };
    let stem = asked.name.strip_suffix(".json").unwrap_or(&asked.name);
    teller
        .tell("report", &Made { name: format!("{stem}-report.html"), html: linewake_report::html(&report) });
}
