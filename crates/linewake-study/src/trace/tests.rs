//! Logs of runs, traced.

use super::*;
use crate::logs::told;
use linewake_kpi::convention::Conventions;
use linewake_log::event::{Detail, Event, Keep};

const OPTIONS: TraceOptions =
    TraceOptions { waiting: TracedWaiting::AsLogged, warm_up: Span(3600 * 1_000_000) };

const MODELS: [&str; 5] = [
    include_str!("../../../../models/alder-hill-mince.json"),
    include_str!("../../../../models/alder-hill-mince-feedback.json"),
    include_str!("../../../../models/low-sallow-burgers.json"),
    include_str!("../../../../models/merrow-three-machines.json"),
    include_str!("../../../../models/tern-quay-fish.json"),
];

fn line(text: &str) -> Line {
    linewake_model::parse(text).expect("a shipped model").line
}

fn events(line: &Line, plan: &RunPlan, seed: u64, replication: u64) -> Vec<Event> {
    let mut keep = Keep { detail: Detail::Packs, events: Vec::new() };
    linewake_engine::run(line, plan, seed, replication, &mut keep);
    keep.events
}

fn logged(line: &Line, plan: &RunPlan, seed: u64, replication: u64) -> LoggedShift {
    let header = linewake_engine::header(line, plan, seed, replication);
    told(&header, &events(line, plan, seed, replication), &header.facts, Conventions::default(), false)
}

/// The log of a run, traced with the same seed, is that log: every pack, every state, every call.
#[test]
fn a_traced_log_is_the_log() {
    for text in MODELS {
        let line = line(text);
        let hours = |hours: f64| Moment::ZERO + Span::from_seconds(hours * 3600.0);
        let new_rolls = RunPlan { horizon: hours(3.0), ..RunPlan::shift(&line) };
        let long_run =
            RunPlan { horizon: hours(2.5), ..RunPlan::long_run(&line, Span::from_seconds(1800.0)) };
        for (replication, plan) in [(0, &new_rolls), (1, &long_run)] {
            let shift = logged(&line, plan, 11, replication);
            assert!(!shift.stops.stops.is_empty());
            let traced = LoggedLine::of(&line, std::slice::from_ref(&shift), OPTIONS).expect("its own line");
            let before = events(&line, plan, 11, replication);
            let after = events(&traced.line, &traced.plan(0, Which::All), 11, replication);
            let differs = before.iter().zip(&after).position(|(one, other)| one != other);
            if let Some(place) = differs {
                panic!(
                    "{} replication {replication}: {:#?} became {:#?}",
                    line.name,
                    &before[place.saturating_sub(3)..before.len().min(place + 3)],
                    &after[place.saturating_sub(3)..after.len().min(place + 3)]
                );
            }
            assert_eq!(before.len(), after.len());
        }
    }
}
