//! Small models and whole studies for the tests of this crate.

use crate::plan::{BaseModel, Conditions};
use crate::replicate::Workers;
use crate::runner::Runner;
use crate::study::Study;
use linewake_kpi::summary::StartKind;
use linewake_model::time::Span;
use std::sync::atomic::AtomicBool;

/// The reference line of an invented plant.
pub(crate) const MINCE: &str = include_str!("../../../models/alder-hill-mince.json");

/// A line of generic machines with a design rate of 60/min; `extra` are further keys of the model.
pub(crate) fn line(extra: &str, stations: &[String]) -> BaseModel {
    let text = format!(
        r#"{{ "model_version": 1, "name": "a line for a test", "design_rate": "60/min", {extra}
            "constraint": "one", "stations": [{}] }}"#,
        stations.join(", ")
    );
    BaseModel::parse(&text).unwrap_or_else(|error| panic!("{error}"))
}

/// A machine with its process and stops.
pub(crate) fn machine(id: &str, process: &str, stops: &str) -> String {
    format!(r#"{{ "machine": {{ "id": "{id}", "process": {process}, "stops": [{stops}] }} }}"#)
}

/// An unattended stop with exponential times on running time.
pub(crate) fn stop(reason: &str, mtbf_s: f64, mttr_s: f64) -> String {
    format!(
        r#"{{ "reason": "{reason}", "attended": false,
            "after": {{ "running_time": {{ "exponential": {{ "mean": "{mtbf_s} s" }} }} }},
            "duration": {{ "exponential": {{ "mean": "{mttr_s} s" }} }} }}"#
    )
}

/// A storage without transit.
pub(crate) fn table(id: &str, capacity: u32) -> String {
    format!(r#"{{ "accumulating_table": {{ "id": "{id}", "capacity": {capacity}, "transit": "0 s" }} }}"#)
}

/// Runs of that length from an empty line.
pub(crate) fn conditions(runs: u64, length_s: f64) -> Conditions {
    Conditions {
        runs,
        start: StartKind::NewRolls,
        length: Some(Span::from_seconds(length_s)),
        ..Conditions::default()
    }
}

/// What the study finds.
pub(crate) fn conclusion<S: Study>(study: &S) -> S::Found {
    let stop = AtomicBool::new(false);
    let workers = Workers::new(None, &stop).expect("threads");
    let mut runner = Runner::new(study.plan(), &workers, &|| {});
    study.conclude(&mut runner).unwrap_or_else(|error| panic!("{error}"))
}

/// Fails unless the two differ by at most the tolerance.
#[track_caller]
pub(crate) fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected} +- {tolerance}");
}
