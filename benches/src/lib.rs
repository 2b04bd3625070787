//! Shared inputs of the benches: the models that are timed, and what stands beside them: the classic hold model, and
//! generic stations in series without the engine.

pub mod series;

use linewake_engine::plan::RunPlan;
use linewake_engine::{header, run};
use linewake_kpi::accumulator::Accumulator;
use linewake_model::line::Line;
use serde_json::{Value, json};
use std::cmp::Reverse;
use std::collections::BinaryHeap;
use std::hint::black_box;
use std::path::PathBuf;

/// A shipped model, checked.
///
/// # Panics
/// If it is not there or not right.
#[must_use]
pub fn load_model(name: &str) -> Line {
    parse(name, &text_of(&format!("../models/{name}.json")))
}

/// The model of ten generic stations in series, as JSON.
///
/// # Panics
/// If it is not there or no JSON.
#[must_use]
pub fn ten_stations() -> Value {
    serde_json::from_str(&text_of("ten-stations.json")).expect("strict JSON")
}

/// So many generic stations in series: those of [`ten_stations`], again from the first one where there are more.
///
/// # Panics
/// If there are fewer than four, of which the fourth is the slowest.
#[must_use]
pub fn stations_in_series(stations: usize) -> Line {
    let mut model = ten_stations();
    let ten = model["stations"].as_array().expect("stations").clone();
    let mut series = Vec::new();
    for number in 0..stations {
        if number > 0 {
            // Ten stations have nine buffers between them.
            let mut buffer = ten[2 * ((number - 1) % 9) + 1].clone();
            buffer["accumulating_table"]["id"] = json!(format!("buffer {number}"));
            series.push(buffer);
        }
        let mut station = ten[2 * (number % 10)].clone();
        station["machine"]["id"] = json!(format!("station {}", number + 1));
        series.push(station);
    }
    model["stations"] = json!(series);
    parse("stations in series", &model.to_string())
}

/// A model, checked.
///
/// # Panics
/// If it is not right.
#[must_use]
pub fn parse(name: &str, text: &str) -> Line {
    linewake_model::parse(text).unwrap_or_else(|problems| panic!("{name}: {problems:?}")).line
}

/// Text of a file, by its path from this package.
fn text_of(path: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The median of an odd number of figures; of an even number the upper of the middle two.
///
/// # Panics
/// Without figures.
#[must_use]
pub fn median(figures: &[f64]) -> f64 {
    let mut sorted = figures.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[sorted.len() / 2]
}

/// Slope of the least-squares line through points.
#[must_use]
pub fn slope(points: &[(f64, f64)]) -> f64 {
    let count = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|point| point.0), mean(|point| point.1));
    let products: f64 = points.iter().map(|point| (point.0 - x) * (point.1 - y)).sum();
    products / points.iter().map(|point| (point.0 - x).powi(2)).sum::<f64>()
}

/// One run with everything that the accounting takes from it, and no log. Returns the events of the engine.
#[must_use]
pub fn with_statistics(line: &Line, plan: &RunPlan, seed: u64, replication: u64) -> u64 {
    let mut statistics = Accumulator::new(&header(line, plan, seed, replication));
    let facts = run(line, plan, seed, replication, &mut statistics);
    black_box(statistics.finish());
    facts.events
}

/// The hold model: pop the earliest of 32 entries (time, sequence, id) of the standard library's heap and push it back
/// later, `holds` times. Returns the last time, so that nothing is optimised away.
#[must_use]
pub fn hold_model(holds: u64) -> u64 {
    let mut heap = BinaryHeap::with_capacity(32);
    let mut random: u64 = 0x9E37_79B9_7F4A_7C15;
    for id in 0..32_u32 {
        heap.push(Reverse((u64::from(id) * 31_250, u64::from(id), id)));
    }
    let mut last = 0;
    for sequence in 32..32 + holds {
        let Some(Reverse((time, _, id))) = heap.pop() else {
            break;
        };
        last = time;
        // xorshift64 (Marsaglia 2003): cheap, so that the heap is what is measured.
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        heap.push(Reverse((time + random % 1_000_000, sequence, id)));
    }
    last
}
