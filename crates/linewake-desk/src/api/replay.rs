//! One shift to be drawn, with everything new at its start as in `linewake wake`, and stops put in on purpose.

use super::study::{checked, typed_name};
use crate::answer::{self, Answer};
use crate::desk::Desk;
use crate::shifts::LARGEST_SEED;
use crate::stream::{self, Teller};
use axum::http::StatusCode;
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_model::line::Line;
use linewake_model::time::{Moment, Span};
use linewake_replay::Replay;
use linewake_replay::record::Recorder;
use linewake_report::WakeReport;
use linewake_report::input::ModelIdentity;
use linewake_study::replicate::run_once;
use linewake_study::wake::{WakeQuestion, parse_stop, replayed, wake};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Most stops that are put in.
const MOST_STOPS: usize = 50;
/// Without a stop, every piece is drawn from here on, in seconds of the run, ...
const DRAWN_FROM_S: f64 = 3_600.0;
/// ... for so long.
const DRAWN_S: f64 = 900.0;

/// A line, and what is put into its shift.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    name: String,
    text: String,
    /// Seed of all chance.
    seed: u64,
    /// Number of the shift, from 0.
    replication: u64,
    /// Whether the line has its own stops as well.
    luck: bool,
    stops: Vec<Stop>,
}

/// A stop put in.
#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stop {
    station: String,
    at_s: f64,
    duration_s: f64,
}

/// The shift, and what it comes to.
#[derive(Serialize)]
struct Shown {
    replay: Replay,
    good_packs: u64,
    /// Good packs without the stops that were put in; `None` where there are none.
    good_packs_without: Option<u64>,
    /// Good packs that the stops cost.
    lost: Option<i64>,
    /// What `linewake wake` tells of the stops.
    told: Option<String>,
}

impl Stop {
    /// As `linewake wake` takes it.
    fn typed(&self) -> String {
        format!("{}@{}s+{}s", self.station, self.at_s, self.duration_s)
    }
}

pub(super) fn replay(desk: &Arc<Desk>, page: &str, body: &[u8]) -> Answer {
    let asked: Asked = match answer::read(body) {
        Ok(asked) => asked,
        Err(wrong) => return *wrong,
    };
    if let Some(fault) = fault(&asked) {
        return answer::wrong(StatusCode::UNPROCESSABLE_ENTITY, &fault);
    }
    stream::events(desk, page, move |_, teller| work(&asked, teller))
}

fn fault(asked: &Asked) -> Option<String> {
    if asked.stops.len() > MOST_STOPS {
        return Some(format!("at most {MOST_STOPS} stops can be put in"));
    }
    if asked.seed > LARGEST_SEED || asked.replication > LARGEST_SEED {
        return Some(format!("seed and shift are whole numbers up to {LARGEST_SEED}"));
    }
    None
}

fn work(asked: &Asked, teller: &Teller) {
    let Some(line) = checked(&asked.name, &asked.text, teller) else { return };
    let stops = asked.stops.iter().map(|stop| parse_stop(&line, &stop.typed()));
    let stops = match stops.collect::<Result<Vec<_>, _>>() {
        Ok(stops) => stops,
        Err(error) => return teller.tell("ended", &error.to_string()),
    };
    let question =
        WakeQuestion { stops, random_luck: asked.luck, seed: asked.seed, replication: asked.replication };
    let shown = if question.stops.is_empty() {
        let plan = question.plan_without(&line);
        let replay = recorded(&line, &plan, question.seed, question.replication);
        let run = run_once(&line, &plan, Conventions::default(), question.seed, question.replication);
        Shown { replay, good_packs: run.oee.good_packs, good_packs_without: None, lost: None, told: None }
    } else {
        let result = wake(&line, &question);
        let report = WakeReport {
            model: ModelIdentity::of(&line, &asked.name),
            command: command(asked),
            replay: replayed(&line, &question, &result),
            result,
        };
        Shown {
            good_packs: report.result.packs.good_with,
            good_packs_without: Some(report.result.packs.good_without),
            lost: Some(report.result.packs.lost),
            told: Some(linewake_report::wake_text(&report)),
            replay: report.replay,
        }
    };
    teller.tell("replay", &shown);
}

/// The command that tells the same.
fn command(asked: &Asked) -> String {
    let mut command = format!("linewake wake {}", typed_name(&asked.name));
    for stop in &asked.stops {
        command.push_str(&format!(" --stop {}", typed_name(&stop.typed())));
    }
    if !asked.luck {
        command.push_str(" --random-luck off");
    }
    command.push_str(&format!(" --seed {}", asked.seed));
    if asked.replication > 0 {
        command.push_str(&format!(" --shift {}", asked.replication + 1));
    }
    command
}

/// A run without stops put in, to be drawn.
pub(crate) fn recorded(line: &Line, plan: &RunPlan, seed: u64, replication: u64) -> Replay {
    let from = (Moment::ZERO + Span::from_seconds(DRAWN_FROM_S)).max(plan.warm_up);
    let mut recorder = Recorder::new(line, plan.horizon, from, from + Span::from_seconds(DRAWN_S));
    linewake_engine::run(line, plan, seed, replication, &mut recorder);
    recorder.finish()
}
