//! Both conventions where sources contradict each other, on made-up days whose figures follow from the published
//! formulas by hand.

use super::Figure;
use super::told_log::ToldLog;
use crate::row::Row;
use linewake_kpi::convention::{Conventions, MinorStops, PlannedStops};

const MINOR: &str = "computed by hand: as a delay, ISO 22400-2 (read in a public ontology of it); as a performance loss, \
                     the six big losses of Nakajima (1988), from memory";
const PLANNED: &str = "computed by hand: in, SMRP Best Practices metric 2.1.1 (read); out, planned busy time of \
                       ISO 22400-2 (read in a public ontology of it)";

pub(super) fn rows() -> Vec<Row> {
    let mut rows = minor_stops();
    rows.extend(planned_stops());
    rows
}

/// 480 min: a breakdown of 48 min and 24 jams of 2 min. Cycle 0.5 min, 684 made, 670 good.
/// As a performance loss: A = 432/480, P = 342/432. As an availability loss: A = 384/480, P = 342/384.
fn minor_stops() -> Vec<Row> {
    let account = |limit_min: f64, minor_stops| {
        let mut log = ToldLog::of_cycle(0.5).short_stop_limit_min(limit_min);
        for _ in 0..24 {
            log = log.runs(15.0).stops("jam", 2.0);
        }
        let conventions = Conventions { minor_stops, ..Conventions::default() };
        let result = log.runs(12.0).stops("breakdown", 48.0).runs(12.0).account(684, 670, conventions);
        (result.oee.split(result.conventions.minor_stops), result.oee)
    };
    let mut rows = Vec::new();
    let cases = [
        ("performance, limit 5 min", 5.0, MinorStops::Performance, 432.0),
        ("availability, limit 5 min", 5.0, MinorStops::Availability, 384.0),
        // A limit that no jam falls short of makes the two the same; at the limit itself a stop is not minor.
        ("performance, limit 2 min", 2.0, MinorStops::Performance, 384.0),
    ];
    for (words, limit_min, convention, available_min) in cases {
        let (split, oee) = account(limit_min, convention);
        let model =
            "a made-up day of 480 min: a breakdown of 48 min, 24 jams of 2 min, 684 cut at 0.5 min, 670 good";
        let figures = [
            Figure::exact(format!("A, minor stops: {words}"), available_min / 480.0, split.availability),
            Figure::exact(format!("P, minor stops: {words}"), 342.0 / available_min, split.performance),
            Figure::exact(format!("Q, minor stops: {words}"), 670.0 / 684.0, oee.quality),
            Figure::exact(format!("OEE, minor stops: {words}"), 335.0 / 480.0, oee.oee),
        ];
        rows.extend(figures.into_iter().map(|figure| figure.row_of("CONV-1", model, MINOR)));
    }
    rows
}

/// 480 min: a break of 30 min and a test of 18 min, which the model leaves out and counts in; a breakdown of 32 min.
/// Running 400 min; cycle 0.5 min, 720 made, 684 good, so P = 360/400 and Q = 0.95 whatever is left out.
fn planned_stops() -> Vec<Row> {
    let account = |planned_stops| {
        let conventions = Conventions { planned_stops, ..Conventions::default() };
        ToldLog::of_cycle(0.5)
            .runs(100.0)
            .planned("break", 30.0)
            .runs(100.0)
            .planned("challenge", 18.0)
            .runs(100.0)
            .stops("breakdown", 32.0)
            .runs(100.0)
            .account(720, 684, conventions)
    };
    let model = "a made-up shift of 480 min: break 30 min, test 18 min, breakdown 32 min, 720 cut at 0.5 min, 684 good";
    let mut rows = Vec::new();
    for (words, convention, planned_min) in [
        ("as modelled", PlannedStops::AsModelled, 450.0),
        ("in", PlannedStops::In, 480.0),
        ("out", PlannedStops::Out, 432.0),
    ] {
        let result = account(convention);
        let oee = result.oee;
        let name = |symbol: &str| format!("{symbol}, planned stops: {words}");
        let minutes = oee.planned_production_time.seconds() / 60.0;
        let figures = [
            Figure::exact(name("planned production time, min"), planned_min, minutes),
            Figure::exact(name("A"), 400.0 / planned_min, oee.availability),
            Figure::exact(name("P"), 0.9, oee.performance),
            Figure::exact(name("Q"), 0.95, oee.quality),
            Figure::exact(name("OEE"), 342.0 / planned_min, oee.oee),
        ];
        rows.extend(figures.into_iter().map(|figure| figure.row_of("CONV-2", model, PLANNED)));
    }
    rows
}
