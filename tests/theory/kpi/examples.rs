//! Published worked examples of OEE, told as logs.
//!
//! A source gives sums of minutes. Where it does not say when they fell, a day is told in which every stop is longer than
//! the short stop limit, so that both conventions of minor stops give the source's availability.

use super::told_log::ToldLog;
use super::{Example, Figure};
use linewake_kpi::convention::{Conventions, PlannedStops};
use linewake_kpi::result::{Oee, ShiftResult};

pub(super) fn values(example: &Example) -> Vec<Figure> {
    match example.id.as_str() {
        "OEE-1" => with_changeover(example),
        "OEE-1x" => vec![Figure::exact("OEE", example.expected("OEE"), changeover_day(example, 203).oee.oee)],
        "OEE-2" => without_rejects(example),
        "OEE-3" => from_shares(example),
        "OEE-4" => with_breaks(example),
        "OEE-5" => {
            // A day of 480 min whose design rate is the theoretical output a day; what was made was good.
            let good = example.count("good");
            let day = ToldLog::of_cycle(480.0 / example.number("theoretical")).runs(480.0);
            let oee = day.account(good, good, Conventions::default()).oee.oee;
            vec![Figure::exact("OEE", example.expected("OEE"), oee)]
        }
        "OEE-6" => seven_days(example),
        "OEE-7" => scheduled_downtime(example),
        id => panic!("{id}: which example?"),
    }
}

fn changeover_day(example: &Example, cycles: u64) -> ShiftResult {
    let [planned, stopped, changeover] =
        ["planned_min", "unplanned_stop_min", "changeover_min"].map(|name| example.input[name].as_f64());
    let planned = planned.expect("a time");
    // The identity on the same example names neither its stops nor its cycles.
    let (stopped, changeover) = (stopped.unwrap_or(115.0), changeover.unwrap_or(12.0));
    let good =
        example.input["right_first_time"].as_u64().or(example.input["good"].as_u64()).expect("a count");
    let running = planned - stopped - changeover;
    ToldLog::of_cycle(example.number("ideal_cycle_min"))
        .runs(0.4 * running)
        .planned("changeover", changeover)
        .runs(0.35 * running)
        .stops("breakdown", stopped)
        .runs(0.25 * running)
        .account(cycles, good, Conventions::default())
}

fn with_changeover(example: &Example) -> Vec<Figure> {
    let oee = changeover_day(example, example.count("cycles")).oee;
    vec![
        Figure::exact("uptime, min", example.expected("uptime_min"), oee.running.seconds() / 60.0),
        Figure::printed("A", example.expected("A"), oee.availability, 0.001),
        Figure::printed("A_iso", example.expected("A"), oee.availability_iso, 0.001),
        Figure::printed("P", example.expected("P"), oee.performance, 0.001)
            .noted("printed 77.7 %, cut and not rounded"),
        Figure::printed("Q", example.expected("Q"), oee.quality, 0.001),
        Figure::printed("OEE", example.expected("OEE"), oee.oee, 0.005),
    ]
}

fn without_rejects(example: &Example) -> Vec<Figure> {
    let (total, stopped) = (example.number("total_min"), example.number("unplanned_stop_min"));
    let output = example.count("output");
    let oee = ToldLog::of_cycle(example.number("ideal_cycle_min"))
        .runs(0.5 * (total - stopped))
        .stops("breakdown", stopped)
        .runs(0.5 * (total - stopped))
        .account(output, output - example.count("defects"), Conventions::default())
        .oee;
    printed_factors(example, &oee, 0.0005)
}

fn printed_factors(example: &Example, oee: &Oee, within: f64) -> Vec<Figure> {
    vec![
        Figure::printed("A", example.expected("A"), oee.availability, within),
        Figure::printed("P", example.expected("P"), oee.performance, within),
        Figure::printed("Q", example.expected("Q"), oee.quality, within),
        Figure::printed("OEE", example.expected("OEE"), oee.oee, within),
    ]
}

/// A day of which the source gives P and Q as shares: 1,000 pieces whose ideal time makes that P.
fn day_of(planned_min: f64, available_min: f64, p: f64, q: f64) -> Oee {
    let pieces = 1000;
    ToldLog::of_cycle(p * available_min / pieces as f64)
        .runs(available_min)
        .stops("not available", planned_min - available_min)
        .account(pieces, (q * pieces as f64).round() as u64, Conventions::default())
        .oee
}

fn from_shares(example: &Example) -> Vec<Figure> {
    let day = day_of(
        example.number("planned_min"),
        example.number("available_min"),
        example.number("P"),
        example.number("Q"),
    );
    let note =
        "the source gives P and Q as shares, 84.2 and 88.6 %: 1,000 pieces, of an ideal time that makes them";
    vec![
        Figure::printed("A", example.expected("A"), day.availability, 0.0005),
        Figure::printed("OEE", example.expected("OEE"), day.oee, 0.0005).noted(note),
    ]
}

fn with_breaks(example: &Example) -> Vec<Figure> {
    let (shift, breaks, stopped) =
        (example.number("shift_min"), example.number("breaks_min"), example.number("unplanned_min"));
    let running = shift - breaks - stopped;
    let (total, bad) = (example.count("total"), example.count("defective"));
    let oee = ToldLog::of_cycle(example.number("ideal_cycle_min"))
        .runs(0.3 * running)
        .planned("break", 0.5 * breaks)
        .runs(0.2 * running)
        .stops("breakdown", stopped)
        .runs(0.3 * running)
        .planned("break", 0.5 * breaks)
        .runs(0.2 * running)
        .account(total, total - bad, Conventions::default())
        .oee;
    let exact = |name: &str, key: &str, ours: Option<f64>| {
        Figure::exact(format!("{name}, exact"), example.expected(key), ours)
    };
    vec![
        Figure::exact(
            "planned production time, min",
            example.expected("planned_min"),
            oee.planned_production_time.seconds() / 60.0,
        ),
        Figure::exact("running, min", example.expected("run_min"), oee.running.seconds() / 60.0),
        Figure::exact("good", example.expected("good"), oee.good_packs as f64)
            .noted("the page writes 39 for the 56 rejects once; 525 - 56 = 469 is what it goes on with"),
        Figure::printed("A", example.expected("A"), oee.availability, 0.005),
        Figure::printed("P", example.expected("P"), oee.performance, 0.005),
        Figure::printed("Q", example.expected("Q"), oee.quality, 0.005),
        exact("P", "P_exact", oee.performance),
        exact("Q", "Q_exact", oee.quality),
        exact("OEE", "OEE_exact", Some(oee.oee)),
    ]
}

fn seven_days(example: &Example) -> Vec<Figure> {
    let days = example.input["rows_A_P_Q_percent"].as_array().expect("days");
    let expected = example.expected["OEE_percent"].as_array().expect("values");
    let figures = days.iter().zip(expected).enumerate().map(|(day, (factors, expected))| {
        let share = |place: usize| factors[place].as_f64().expect("a share") / 100.0;
        let oee = day_of(1000.0, 1000.0 * share(0), share(1), share(2)).oee;
        let expected = expected.as_f64().expect("a value");
        Figure::printed(format!("OEE of day {}, %", day + 1), expected, 100.0 * oee, 0.1)
    });
    figures.collect()
}

/// A day of 24 h with 8 h idle, told as a break that is left out; scheduled downtime is in, as in the source. Under the
/// rule of the standard it is out.
fn scheduled_downtime(example: &Example) -> Vec<Figure> {
    let minutes = |name: &str| 60.0 * example.number(name);
    let (idle, scheduled, stopped) =
        (minutes("idle_h"), minutes("scheduled_down_h"), minutes("unscheduled_down_h"));
    let running = minutes("total_h") - idle - scheduled - stopped;
    let account = |planned_stops| {
        ToldLog::of_cycle(1.0)
            .runs(0.25 * running)
            .planned("break", idle)
            .runs(0.25 * running)
            .planned("scheduled downtime", scheduled)
            .runs(0.25 * running)
            .stops("breakdown", stopped)
            .runs(0.25 * running)
            .account(600, 600, Conventions { planned_stops, ..Conventions::default() })
            .oee
    };
    let (as_modelled, out) = (account(PlannedStops::AsModelled), account(PlannedStops::Out));
    vec![
        Figure::exact("uptime, h", example.expected("uptime_h"), as_modelled.running.seconds() / 3600.0),
        Figure::printed(
            "A, scheduled downtime in",
            example.expected("A_smrp"),
            as_modelled.availability,
            0.0001,
        )
        .noted("planned stops: as modelled (idle time out, the rest in)"),
        Figure::exact("A, scheduled downtime out", example.expected("A_iso_pbt"), out.availability_iso)
            .noted("planned stops: out, as in the planned busy time of ISO 22400-2"),
    ]
}
