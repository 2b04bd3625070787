//! Formulas of ISO 22400-2 and EN 415-11 on made-up numbers, told as logs.

use super::told_log::ToldLog;
use super::{Example, Figure};
use linewake_kpi::convention::{Conventions, MinorStops};

/// The time elements of the standard as the states of a machine: production = running, set-up = a planned stop
/// "changeover", delay = own stops, down (not running an order) = starved. The ratios that the program does not print
/// are formed here from the times of its accounting.
pub(super) fn iso_22400(example: &Example) -> Vec<Figure> {
    let minutes = |name: &str| example.number(name);
    let (production, set_up, delay) = (minutes("APT"), minutes("ASUT"), minutes("ADET"));
    let idle = minutes("PBT") - minutes("AUBT");
    let conventions = Conventions { minor_stops: MinorStops::Availability, ..Conventions::default() };
    let mut log =
        ToldLog::of_cycle(example.number("PRI")).runs(0.5 * production).planned("changeover", set_up);
    // The delay in stops of 2 min: the standard knows no limit.
    let stops = (delay / 2.0) as u32;
    for _ in 0..stops {
        log = log.runs(0.25 * production / f64::from(stops)).stops("minor stop", 2.0);
    }
    let result = log.runs(0.25 * production).starves(idle).account(
        example.count("PQ"),
        example.count("GQ"),
        conventions,
    );
    let oee = &result.oee;
    let split = oee.split(result.conventions.minor_stops);
    let states = result.stations[0].states.expect("a machine has states");
    let seconds = |span: linewake_model::time::Span| span.seconds();
    let (apt, asut, adet) = (seconds(states.running), seconds(states.planned), seconds(states.stopped()));
    let pbt = seconds(oee.planned_production_time);
    let (aupt, aubt) = (apt + asut, apt + asut + adet);
    let factors = split.performance.zip(oee.quality);
    let formed = "formed from the times of the accounting; the report does not print it";
    let orders = "The time from start to end of an order has transport and queueing in it, which lie outside the line: \
                  our log has no orders.";
    let exact = |name: &str, key: &str, ours: Option<f64>| Figure::exact(name, example.expected(key), ours);
    vec![
        exact("availability (A_iso)", "availability", Some(split.availability)),
        exact("effectiveness (P_iso)", "effectiveness", split.performance),
        exact("quality ratio (Q)", "quality_ratio", oee.quality),
        exact("OEE index", "oee", Some(oee.oee)),
        exact("NEE index", "nee", factors.map(|(p, q)| aupt / pbt * p * q)).noted(formed),
        exact("allocation efficiency", "allocation_efficiency", Some(aubt / pbt)).noted(formed),
        exact("utilisation efficiency", "utilisation_efficiency", Some(apt / aubt)).noted(formed),
        exact("technical efficiency", "technical_efficiency", Some(apt / (apt + adet))).noted(formed),
        exact("set-up ratio", "setup_ratio", Some(asut / aupt)).noted(formed),
        exact("allocation ratio", "allocation_ratio", None).noted(orders),
        exact("throughput rate", "throughput_rate", None).noted(orders),
        exact("production process ratio", "production_process_ratio", None).noted(orders),
    ]
}

/// E = Q x P: losses of output whatever their cause, over the operating time. With minor stops as a performance loss and
/// no longer stop, A is 1 and the OEE is E.
pub(super) fn en_415_11(example: &Example) -> Vec<Figure> {
    let (p, q) = (example.number("P"), example.number("Q"));
    let mut log = ToldLog::of_cycle(480.0 / 1000.0);
    for _ in 0..12 {
        log = log.runs(36.0).stops("minor stop", 4.0);
    }
    let total = (1000.0 * p).round() as u64;
    let oee = log.account(total, (total as f64 * q).round() as u64, Conventions::default()).oee;
    vec![
        Figure::exact("P", p, oee.performance),
        Figure::exact("Q", q, oee.quality),
        Figure::exact("E (OEE with A = 1)", example.expected("E"), oee.oee),
    ]
}
