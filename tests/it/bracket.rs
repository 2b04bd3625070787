//! The output figures of `check` against the simulated long run: they need no simulation, so a simulation must agree.
//!
//! Each simulated figure is the mean of independent runs of the long run (consumables part used, a warm-up dropped) with
//! a crew that is never short, and its confidence interval at 99.9 % (Student t over the runs). Where a figure is met
//! exactly, other seeds would fail once in a thousand times; where the claim has room, hardly ever. Seeds are fixed.

use linewake_engine::plan::RunPlan;
use linewake_kpi::accumulator::Accumulator;
use linewake_model::facts::{FigureKind, OutputFigures, facts};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::StopMode;
use linewake_model::time::{Moment, Span};
use linewake_stats::distribution::Distribution;
use linewake_stats::estimate::Estimate;
use linewake_tests::command_line::{TestFolder, linewake};
use linewake_tests::{load_model, model_text};

/// Confidence level of the simulated figures.
const LEVEL: f64 = 0.999;

/// More operators than calls.
const AMPLE: u32 = 50;

/// How much is simulated: runs, and shifts of each that are dropped and counted.
struct Length {
    runs: u64,
    dropped: u64,
    counted: u64,
}

/// Good packs per hour of planned production time in the long run.
#[derive(Debug)]
struct Simulated {
    mean: f64,
    low: f64,
    high: f64,
}

fn simulated(line: &Line, seed: u64, length: Length) -> Simulated {
    let shift = line.shift.length;
    let warm_up = Span(shift.0 * length.dropped);
    let horizon = Moment(warm_up.0 + shift.0 * length.counted);
    let plan = RunPlan { horizon, ..RunPlan::long_run(line, warm_up) };
    let per_hour: Vec<f64> = (0..length.runs)
        .map(|replication| {
            let mut accumulator = Accumulator::new(&linewake_engine::header(line, &plan, seed, replication));
            linewake_engine::run(line, &plan, seed, replication, &mut accumulator);
            let result = accumulator.finish();
            assert!(result.doubts.is_empty(), "{:?}", result.doubts);
            result.oee.good_packs as f64 * 3600.0 / result.oee.planned_production_time.seconds()
        })
        .collect();
    let estimate = Estimate::of(&per_hour, LEVEL).expect("runs with finite figures");
    let half_width = estimate.half_width.expect("more than one run");
    Simulated { mean: estimate.mean, low: estimate.mean - half_width, high: estimate.mean + half_width }
}

/// The figures of `check` and the simulated one; told when a test is run by itself with its output shown.
fn compared(what: &str, line: &Line, seed: u64, length: Length) -> (OutputFigures, Simulated) {
    let figures = facts(line).output;
    let found = simulated(line, seed, length);
    eprintln!(
        "{what}: no help {:.1}, simulated {:.1} +/- {:.1}, full help {:.1}",
        figures.no_help.good_packs_per_h,
        found.mean,
        found.high - found.mean,
        figures.full_help.good_packs_per_h
    );
    (figures, found)
}

/// The whole interval of the simulated figure lies between the figures of `check`.
fn assert_bracketed(name: &str, seed: u64, length: Length) -> OutputFigures {
    let mut line = load_model(name);
    line.crew.operators = AMPLE;
    let (figures, found) = compared(name, &line, seed, length);
    assert!(figures.no_help.good_packs_per_h <= found.low, "{name}: {found:?}, {:?}", figures.no_help);
    assert!(found.high <= figures.full_help.good_packs_per_h, "{name}: {found:?}, {:?}", figures.full_help);
    assert_eq!(figures.full_help.kind, FigureKind::UpperBound);
    figures
}

/// The simulated figure equals that figure of `check` within its own interval, of 0.3 % at most.
fn assert_met(figure: f64, found: &Simulated) {
    assert!(found.low <= figure && figure <= found.high, "{figure}, simulated {found:?}");
    assert!(found.high - found.mean < 0.003 * found.mean, "too few runs to tell: {found:?}");
}

#[test]
fn the_reference_line_lies_between_its_figures() {
    let figures = assert_bracketed("alder-hill-mince", 1, Length { runs: 12, dropped: 1, counted: 15 });
    // Its supply can run short, so the lower figure is an estimate; it lies below all the same.
    assert_eq!(figures.no_help.kind, FigureKind::Estimate);
}

#[test]
fn the_line_of_another_format_lies_between_its_figures() {
    let figures = assert_bracketed("low-sallow-burgers", 2, Length { runs: 12, dropped: 1, counted: 15 });
    assert_eq!(figures.no_help.kind, FigureKind::Estimate);
}

#[test]
fn the_small_line_lies_between_its_figures() {
    let figures = assert_bracketed("tern-quay-fish", 3, Length { runs: 12, dropped: 1, counted: 15 });
    assert_eq!(figures.no_help.kind, FigureKind::LowerBound);
}

#[test]
fn three_machines_lie_between_their_figures() {
    let figures = assert_bracketed("merrow-three-machines", 4, Length { runs: 12, dropped: 2, counted: 40 });
    assert_eq!(figures.no_help.kind, FigureKind::LowerBound);
}

/// The three machines with so much storage between each two.
fn three_machines(text: &str, storage: u32) -> Line {
    let mut line = linewake_model::parse(text).expect("a valid model").line;
    for station in &mut line.stations {
        if let StationKind::Accumulator(table) = &mut station.kind {
            table.capacity = storage;
        }
    }
    line
}

#[test]
fn without_storage_three_machines_make_what_no_help_says() {
    let line = three_machines(&model_text("merrow-three-machines"), 0);
    let (figures, found) = compared("storage 0", &line, 5, Length { runs: 30, dropped: 1, counted: 60 });
    let lower = figures.no_help.good_packs_per_h;
    // 3600 / 2 s / (1 + 3 x 30 / 300) (Buzacott 1967).
    assert!((lower - 1800.0 / 1.3).abs() < 1e-6, "{lower}");
    assert!(lower <= found.high, "{lower}, {found:?}");
    // The piece that each machine holds lets stops overlap a little: no more than 1 %.
    assert!(found.high <= 1.01 * lower, "{lower}, {found:?}");
}

/// How long a storage takes to fill: its content is a random walk between empty and full. A machine makes 0.5 pieces/s
/// for 300 s and none for 30 s, both exponential: variance 0.25 x 2 x 300^2 x 30^2 / 330^3 = 1.127 pieces^2/s; of the
/// difference of two machines v = 2.254. From empty, what the storage takes out of the output falls as sqrt(v / 2 pi t);
/// after 720 h that is 0.00037 pieces/s, 0.08 % of 0.4545. So the warm-up of 90 shifts is long enough for the 0.5 %.
#[test]
fn with_a_very_large_storage_three_machines_make_what_full_help_says() {
    let line = three_machines(&model_text("merrow-three-machines"), 10_000);
    let (figures, found) =
        compared("storage 10,000", &line, 6, Length { runs: 16, dropped: 90, counted: 60 });
    let upper = figures.full_help.good_packs_per_h;
    // 3600 / 2 s x 300 / 330.
    assert!((upper - 1800.0 / 1.1).abs() < 1e-6, "{upper}");
    assert!(found.low <= upper, "{upper}, {found:?}");
    assert!(found.low >= 0.995 * upper, "{upper}, {found:?}");
}

#[test]
fn with_exponential_work_times_the_lower_figure_is_no_bound() {
    let text = model_text("merrow-three-machines")
        .replace(r#""process": "2 s""#, r#""process": { "exponential": { "mean": "2 s" } }"#);
    let folder = TestFolder::new();
    std::fs::write(folder.of("model.json"), &text).expect("can be written");
    let answer = linewake(&["check", &folder.of("model.json"), "--json"]);
    let told: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    let lower = &told["facts"]["output"]["no_help"];
    assert_eq!(lower["is_bound"], false);
    assert_eq!(lower["kind"], "estimate");
    let reasons: Vec<&str> =
        lower["reasons"].as_array().expect("reasons").iter().filter_map(|reason| reason.as_str()).collect();
    for machine in ["machine 1", "machine 2", "machine 3"] {
        let varies = format!("the work times of {machine} vary");
        assert!(reasons.iter().any(|reason| reason.starts_with(&varies)), "{reasons:?}");
    }

    // And rightly so: without storage machines that work at random wait for one another, besides the stops.
    let line = three_machines(&text, 0);
    let (figures, found) = compared("random work", &line, 7, Length { runs: 12, dropped: 1, counted: 10 });
    assert!(found.high < figures.no_help.good_packs_per_h, "{found:?}, {:?}", figures.no_help);
}

fn one_machine(stops: &str) -> Line {
    let text = format!(
        r#"{{
            "model_version": 1,
            "name": "One machine",
            "about": "Invented.",
            "shift": {{ "length": "8 h" }},
            "design_rate": "30/min",
            "constraint": "press",
            "crew": {{ "operators": {AMPLE}, "response": {{ "uniform": {{ "min": "5 s", "max": "25 s" }} }} }},
            "stations": [{{ "machine": {{ "id": "press", "process": "2 s", "stops": [{stops}] }} }}]
        }}"#
    );
    linewake_model::parse(&text).unwrap_or_else(|problems| panic!("{problems:?}")).line
}

#[test]
fn one_station_with_three_stop_modes_meets_both_figures() {
    let line = one_machine(
        r#"{ "reason": "breakdown", "attended": true,
             "after": { "running_time": { "weibull": { "shape": 1.3, "mean": "10 min" } } },
             "duration": { "lognormal": { "median": "20 s", "p90": "60 s" } } },
           { "reason": "jam", "attended": true,
             "after": { "pieces": { "geometric": { "mean": 400 } } },
             "duration": { "exponential": { "mean": "25 s" } } },
           { "reason": "reset", "attended": false,
             "after": { "running_time": { "exponential": { "mean": "15 min" } } },
             "duration": { "uniform": { "min": "5 s", "max": "15 s" } } }"#,
    );
    let (figures, found) = compared("one station", &line, 8, Length { runs: 24, dropped: 1, counted: 40 });
    // A lognormal of median m and 90th percentile q has the mean m exp(s^2 / 2), s = ln(q / m) / 1.281552.
    let breakdown_s = 15.0 + 20.0 * (0.5 * (3.0_f64.ln() / 1.281_552).powi(2)).exp();
    let per_running_s = breakdown_s / 600.0 + (15.0 + 25.0) / 800.0 + 10.0 / 900.0;
    let by_hand = 1800.0 / (1.0 + per_running_s);
    for figure in [&figures.no_help, &figures.full_help] {
        assert!(figure.is_bound, "{:?}", figure.reasons);
        assert!((figure.good_packs_per_h - by_hand).abs() < 1e-3, "{}, {by_hand}", figure.good_packs_per_h);
        assert_met(figure.good_packs_per_h, &found);
    }
}

#[test]
fn calls_that_are_answered_at_once_are_in_the_upper_figure() {
    let line = one_machine(
        r#"{ "reason": "jam", "attended": true,
             "after": { "pieces": { "geometric": { "mean": 10 } } }, "duration": "4 s" },
           { "reason": "misfeed", "attended": true,
             "after": { "pieces": { "geometric": { "mean": 5 } } }, "duration": "2 s" }"#,
    );
    let (figures, found) = compared("two counts", &line, 9, Length { runs: 24, dropped: 1, counted: 60 });
    assert_met(figures.full_help.good_packs_per_h, &found);
    assert!(figures.no_help.good_packs_per_h < found.low, "{found:?}, {:?}", figures.no_help);
}

#[test]
fn what_the_wait_for_the_cap_hides_is_in_the_upper_figure() {
    let mut line = load_model("alder-hill-mince");
    for station in &mut line.stations {
        let last_mode = station.stops.pop();
        station.stops.clear();
        match &mut station.kind {
            StationKind::BulkSupply(supply) => supply.preparation_s = Distribution::Constant { value: 300.0 },
            StationKind::Gate(gate) => {
                (gate.challenge, gate.bin_full, gate.rejects_in_row) = (None, None, None);
            }
            // Its label roll change comes after every 40 cycles of 4.615 s and takes 5 s; a cycle waits 0.515 s for the cap.
            StationKind::Former(_) => station.stops.extend(last_mode.map(|mode| StopMode {
                between: Distribution::Constant { value: 40.0 },
                duration_s: Distribution::Constant { value: 5.0 },
                attended: false,
                ..mode
            })),
            _ => {}
        }
    }
    let (figures, found) = compared("capped former", &line, 10, Length { runs: 12, dropped: 1, counted: 5 });
    assert_eq!(figures.full_help.stations, ["former"]);
    assert_met(figures.full_help.good_packs_per_h, &found);
    assert!(figures.no_help.good_packs_per_h < found.low, "{found:?}, {:?}", figures.no_help);
}
