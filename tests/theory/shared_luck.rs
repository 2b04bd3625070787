//! Common random numbers: two designs that run with one seed see the same luck, so that the difference of their means is
//! known far better than the means themselves.
//!
//! The first row measures it on the reference line with a table of 60 and of 120 places before the case packer. The
//! others say why: whatever is added to a line, every draw that both lines make is the same (for random lines, see
//! `another_stop_and_another_station_change_the_luck_of_no_pack` in tests/it/properties.rs). *Sources*: Law (2015),
//! Simulation Modeling and Analysis, 5th edition, section 11.2 (from memory) for the method; the bounds are our own.

mod draws;

use crate::replications::on_all_cores;
use crate::row::{Row, RunSet, Verdict};
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_model::line::Line;
use linewake_stats::interval::shared_luck_ratio;
use linewake_study::replicate::run_once;
use linewake_tests::model_text;
use serde_json::{Value, json};

const FAMILY: &str = "L. Common random numbers";
const MODEL: &str = "alder-hill-mince";
const SEED: u64 = 1;
/// The variance of the paired difference is to be below this share of that of two independent runs.
const MOST: f64 = 1.0 / 20.0;
/// Shifts of which every draw is compared.
const SHIFTS_COMPARED: u64 = 2;

/// The rows of the page.
pub(crate) fn rows(set: RunSet) -> Vec<Row> {
    let mut rows = vec![paired_difference(set)];
    let reference = line(&model());
    let drawn: Vec<draws::Draws> =
        (0..SHIFTS_COMPARED).map(|shift| draws::of(&reference, SEED, shift)).collect();
    for (id, words, other) in [
        ("L02", "a table of 120 places in place of 60", with_table(120)),
        ("L03", "another stop mode of the former, listed first", with_another_stop()),
        ("L04", "another station, a gate before the table", with_another_station()),
        ("L05", "a stop mode of the former taken away", without_a_stop()),
    ] {
        rows.push(same_draws(id, words, &drawn, &line(&other)));
    }
    rows
}

// ----- the lines

fn model() -> Value {
    // The file has comments, which plain JSON has not.
    let spec = linewake_model::spec_of(&model_text(MODEL)).expect("a shipped model");
    serde_json::from_str(&linewake_model::to_json(&spec)).expect("JSON")
}

fn line(model: &Value) -> Line {
    linewake_model::parse(&model.to_string()).unwrap_or_else(|problems| panic!("{problems:?}")).line
}

fn station<'m>(model: &'m mut Value, kind: &str) -> &'m mut Value {
    let stations = model["stations"].as_array_mut().expect("stations");
    let found = stations.iter_mut().find(|station| station.get(kind).is_some());
    &mut found.unwrap_or_else(|| panic!("no {kind}"))[kind]
}

fn stops_of_former(model: &mut Value) -> &mut Vec<Value> {
    station(model, "former")["stops"].as_array_mut().expect("stops")
}

fn with_table(places: u32) -> Value {
    let mut model = model();
    station(&mut model, "accumulating_table")["capacity"] = json!(places);
    model
}

fn with_another_stop() -> Value {
    let mut model = model();
    let stop = json!({
        "reason": "one more",
        "after": { "running_time": { "exponential": { "mean": "300 s" } } },
        "duration": { "exponential": { "mean": "20 s" } },
        "attended": true
    });
    stops_of_former(&mut model).insert(0, stop);
    model
}

fn without_a_stop() -> Value {
    let mut model = model();
    stops_of_former(&mut model).retain(|stop| stop["reason"] != "seal temperature");
    model
}

fn with_another_station() -> Value {
    let mut model = model();
    let gate = json!({ "x_ray": {
        "id": "one more gate", "max_rate": "150/min", "sensitivity": 0.9, "false_reject": 0.02,
        "stops": [{
            "reason": "one more jam", "after": { "running_time": { "exponential": { "mean": "600 s" } } },
            "duration": { "exponential": { "mean": "60 s" } }, "attended": true
        }]
    } });
    let stations = model["stations"].as_array_mut().expect("stations");
    let table = stations.iter().position(|station| station.get("accumulating_table").is_some());
    stations.insert(table.expect("a table"), gate);
    model
}

// ----- the rows

/// The variance of the difference of independent runs is the sum of the two variances.
fn paired_difference(set: RunSet) -> Row {
    let shifts = if set == RunSet::Full { 1_000 } else { 150 };
    let good = |places: u32| {
        let line = line(&with_table(places));
        let plan = RunPlan::shift(&line);
        on_all_cores(shifts, |shift| {
            run_once(&line, &plan, Conventions::default(), SEED, shift).oee.good_packs as f64
        })
    };
    let (small, large) = (good(60), good(120));
    let ratio = shared_luck_ratio(&small, &large).expect("many shifts");
    let mean = |values: &[f64]| linewake_stats::estimate::mean(values).expect("many shifts");
    Row {
        family: FAMILY,
        id: "L01".to_owned(),
        model: format!(
            "{MODEL}: a table of 60 and of 120 places, {shifts} shifts of 8 h with new rolls, seed {SEED}"
        ),
        quantity: "variance of the paired difference in good packs / that of independent runs".to_owned(),
        source: "own bound: a twentieth".to_owned(),
        published: MOST,
        ours: ratio,
        // Of a ratio of variances of about normal values; they are correlated, which makes it narrower.
        half_width: Some(1.96 * ratio * (4.0 / (shifts as f64 - 1.0)).sqrt()),
        tolerance: "below".to_owned(),
        verdict: if ratio < MOST { Verdict::Agrees } else { Verdict::Differs },
        note: format!(
            "mean difference {:.0} packs a shift; as sure as {:.0} times as many independent shifts",
            mean(&large) - mean(&small),
            1.0 / ratio
        ),
        ..Row::default()
    }
}

/// Every draw that the reference line and the other one both make, compared one by one over a few shifts.
fn same_draws(id: &str, words: &str, reference: &[draws::Draws], other: &Line) -> Row {
    let mut compared = draws::Compared::default();
    for (shift, drawn) in (0..).zip(reference) {
        compared.add(drawn, &draws::of(other, SEED, shift));
    }
    Row {
        family: FAMILY,
        id: id.to_owned(),
        model: format!("{MODEL} and the same with {words}, {SHIFTS_COMPARED} shifts"),
        quantity: "draws that differ, of those that both make".to_owned(),
        source: "own rule: every random quantity has a stream of its own".to_owned(),
        published: 0.0,
        ours: compared.different as f64,
        tolerance: "exact".to_owned(),
        verdict: if compared.different == 0 && compared.is_enough() {
            Verdict::Agrees
        } else {
            Verdict::Differs
        },
        note: compared.words(),
        ..Row::default()
    }
}

#[test]
fn designs_share_their_luck() {
    let rows = rows(RunSet::asked_for());
    let bad: Vec<&Row> = rows.iter().filter(|row| row.verdict != Verdict::Agrees).collect();
    assert!(bad.is_empty(), "{bad:#?}");
}

/// Another seed is another luck: nearly every continuous draw differs, so the comparison can tell.
#[test]
fn another_seed_is_another_luck() {
    let line = line(&model());
    let mut compared = draws::Compared::default();
    compared.add(&draws::of(&line, SEED, 0), &draws::of(&line, SEED + 1, 0));
    assert!(compared.is_enough() && compared.different * 10 > compared.continuous * 9, "{compared:?}");
}
