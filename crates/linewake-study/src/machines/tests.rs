//! Figures of machines: worked by hand, and held against the accounts of real runs.

use super::*;
use crate::replicate::run_once;
use linewake_engine::plan::RunPlan;
use linewake_kpi::convention::Conventions;
use linewake_kpi::summary::{StartKind, Summary};
use linewake_model::time::Moment;

fn assert_close(one: f64, other: f64, within: f64) {
    assert!((one - other).abs() <= within, "{one} and {other}");
}

/// A shipped line of generic stages, and the summary of some of its shifts.
fn simulated(model: &str, shifts: u64) -> (Vec<ShiftResult>, Summary) {
    let line = linewake_model::parse(model).expect("a shipped model").line;
    let plan = RunPlan {
        horizon: Moment::ZERO + Span::from_seconds(3.0 * 3600.0),
        ..RunPlan::long_run(&line, Span::from_seconds(900.0))
    };
    let shifts: Vec<ShiftResult> = (0..shifts)
        .map(|replication| run_once(&line, &plan, Conventions::default(), 7, replication))
        .collect();
    let facts = linewake_log::header::LineFacts::of(&line);
    let summary = crate::summarise::summarise(&facts, Span(plan.warm_up.0), StartKind::LongRun, &shifts)
        .expect("shifts");
    (shifts, summary)
}

fn models() -> [&'static str; 2] {
    [
        include_str!("../../../../models/tern-quay-fish.json"),
        include_str!("../../../../models/alder-hill-mince.json"),
    ]
}

#[test]
fn the_constraint_by_itself_is_the_line_but_for_its_quality() {
    for model in models() {
        let (_, summary) = simulated(model, 4);
        let constraint = summary.stations.iter().find(|it| it.id == summary.constraint).expect("it is there");
        let machine = constraint.machine.oee.as_ref().expect("it has states");
        assert_eq!(machine.availability, summary.availability);
        assert_eq!(machine.availability_iso, summary.availability_iso);
        assert_eq!(machine.performance.map(|it| it.mean), summary.performance.map(|it| it.mean));
        let quality = machine.quality.expect("it made packs").mean;
        let oee = machine.oee.expect("it made packs").mean;
        assert_close(oee, machine.availability.mean * machine.performance.unwrap().mean * quality, 1e-12);
    }
}

#[test]
fn figures_of_iso_are_those_of_the_summary_and_their_elements_add_up() {
    for model in models() {
        let (_, summary) = simulated(model, 4);
        let value = |symbol: &str| {
            let found =
                summary.iso.iter().find(|it| it.symbol == symbol).unwrap_or_else(|| panic!("{symbol}"));
            found.value.unwrap_or_else(|| panic!("{symbol}"))
        };
        assert_eq!(value("availability"), summary.availability_iso);
        assert_close(value("effectiveness").mean, summary.performance_iso.unwrap().mean, 1e-12);
        assert_close(value("quality_ratio").mean, summary.quality.unwrap().mean, 1e-12);
        assert_close(value("oee_index").mean, summary.oee.mean, 1e-12);
        assert_close(value("FPY").mean, summary.quality_without_in_line.unwrap().mean, 1e-12);
        let mean = |symbol: &str| value(symbol).mean;
        assert_close(mean("AUBT") + mean("ADOT"), mean("PBT"), 1e-6);
        assert_close(mean("APT") + mean("ASUT"), mean("AUPT"), 1e-6);
        assert_close(mean("POT"), summary.window_s, 1e-6);
        // No set-up: both indices are the same, and so are the intervals but for the way in which they are worked out.
        assert_close(mean("nee_index"), mean("oee_index"), 1e-12);
        let widths = (value("nee_index").half_width.unwrap(), value("oee_index").half_width.unwrap());
        assert_close(widths.0, widths.1, 0.02 * widths.1);
        for station in &summary.stations {
            assert_eq!(station.machine.iso.is_empty(), station.states.is_none(), "{}", station.id);
        }
    }
}

#[test]
fn stops_are_minor_or_long_and_stand_in_the_histograms() {
    for model in models() {
        let (shifts, summary) = simulated(model, 4);
        for (place, station) in summary.stations.iter().enumerate() {
            let machine = &station.machine;
            let Some((minor, long)) = machine.minor_stops.zip(machine.long_stops) else {
                assert!(station.states.is_none());
                continue;
            };
            assert_close(minor.count.mean + long.count.mean, station.own_stops, 1e-9);
            let states = station.states.expect("it has stops");
            let stopped = states.stopped_waiting_s + states.stopped_repair_s;
            // The rest of a stop that was under way at the start of the window is in neither class.
            assert!(minor.time_s.mean + long.time_s.mean <= stopped + 1e-6, "{}", station.id);
            let own = |shift: &ShiftResult| {
                let own = shift.stations[place].stops.iter().filter(|stop| !stop.planned);
                own.map(|stop| stop.lengths.total()).sum::<u64>()
            };
            let ended: u64 = shifts.iter().map(own).sum();
            let all = machine.stops.iter().find(|row| row.reason.is_empty());
            assert_eq!(all.map_or(0, |row| row.lengths.total()), ended);
            let by_reason: u64 = machine
                .stops
                .iter()
                .filter(|row| !row.reason.is_empty() && !row.planned)
                .map(|row| row.lengths.total())
                .sum();
            assert_eq!(by_reason, ended);
            assert_close(machine.starved_share.unwrap().mean, states.starved_s / summary.window_s, 1e-12);
            assert_close(machine.blocked_share.unwrap().mean, states.blocked_s / summary.window_s, 1e-12);
            if let Some(time) = machine.time_to_restore {
                assert_eq!(time.mean_s, station.time_to_restore_s);
                assert!(time.low_s.is_none_or(|low| low <= time.mean_s.unwrap()));
            }
            assert_eq!(
                machine.time_between_stops.and_then(|it| it.mean_s),
                station.running_time_between_stops_s
            );
        }
        assert!(summary.stations.iter().any(|it| it.machine.stops.len() > 1), "there were stops");
        for content in summary.stations.iter().filter_map(|it| it.machine.content_times.as_ref()) {
            assert_close(content.total().seconds(), 4.0 * summary.window_s, 1e-6);
        }
    }
}

#[test]
fn a_machine_that_never_stopped_has_a_lower_limit_and_no_upper_one() {
    let (mut shifts, _) = simulated(models()[0], 2);
    let place = shifts[0].stations.iter().position(|it| it.states.is_some()).expect("one has states");
    for shift in &mut shifts {
        shift.stations[place].stops.clear();
    }
    let time = machine(&shifts, place).time_between_stops.expect("it ran");
    assert_eq!((time.mean_s, time.high_s, time.events), (None, None, 0));
    // No failure in T: the lower end is T / -ln(0.025) (chi-square with two degrees of freedom is exponential).
    assert_close(time.low_s.unwrap(), time.time_s / -0.025_f64.ln(), 1e-6 * time.time_s);
    assert_eq!(machine(&shifts, place).time_to_restore, None);
}

/// Three windows worked by hand: a product of ratios, leaving one out at a time.
#[test]
fn interval_of_a_product_worked_by_hand() {
    let window = |production: f64, set_up: f64, produced: u64, good: u64| IsoElements {
        planned_busy: Span::from_seconds(100.0),
        production: Span::from_seconds(production),
        set_up: Span::from_seconds(set_up),
        run_time_per_unit_s: Some(1.0),
        produced: Some(produced),
        good,
        ..IsoElements::default()
    };
    let three = [window(50.0, 10.0, 40, 40), window(60.0, 0.0, 60, 54), window(70.0, 10.0, 56, 49)];
    // NEE = AUPT / PBT x PQ / APT x GQ / PQ = AUPT GQ / (PBT APT).
    let nee = |aupt: f64, good: f64, pbt: f64, apt: f64| aupt * good / (pbt * apt);
    let value = figure(&three, "nee_index").expect("a value");
    assert_close(value.mean, nee(200.0, 143.0, 300.0, 180.0), 1e-12);
    let without =
        [nee(140.0, 103.0, 200.0, 130.0), nee(140.0, 89.0, 200.0, 120.0), nee(120.0, 94.0, 200.0, 110.0)];
    let middle = without.iter().sum::<f64>() / 3.0;
    let squares: f64 = without.iter().map(|it| (it - middle).powi(2)).sum();
    // t(2, 0.975) = 4.302653 (table of Student's t).
    assert_close(value.half_width.unwrap(), 4.302_653 * (2.0 / 3.0 * squares).sqrt(), 1e-6);
    assert_eq!(figure(&three[..1], "nee_index").unwrap().half_width, None);
    assert_eq!(figure(&three, "FPY"), None);
    assert_eq!(figure(&[], "PBT"), None);
}

/// The picture of a shift and its account are made from the same run: times in each state and good packs agree.
#[test]
fn a_shift_over_time_is_the_shift_of_the_account() {
    for model in models() {
        let line = linewake_model::parse(model).expect("a shipped model").line;
        let plan = RunPlan {
            horizon: Moment::ZERO + Span::from_seconds(5.0 * 3600.0),
            ..RunPlan::long_run(&line, Span::from_seconds(3600.0))
        };
        let shift = run_once(&line, &plan, Conventions::default(), 7, 2);
        let timeline = crate::replicate::timeline(&line, &plan, 7, 2);
        assert_eq!((timeline.start, timeline.end), (shift.window_start, shift.window_end));
        assert_eq!(timeline.replication, Some(2));
        assert!(timeline.marks() <= linewake_kpi::timeline::MOST_MARKS);
        assert_eq!(timeline.stations.len(), shift.stations.iter().filter(|it| it.states.is_some()).count());
        for bands in &timeline.stations {
            let running = bands.bands.iter().fold(Span::ZERO, |sum, band| sum + band.times.running);
            let states = shift.stations[bands.station_index].states.expect("it has states");
            assert_eq!(running, states.running, "{}", bands.station);
        }
        assert_eq!(timeline.output.cells.iter().sum::<u64>(), shift.oee.good_packs);
        for content in &timeline.contents {
            let length = |it: &linewake_kpi::timeline::ContentCell| it.end.since(it.start).seconds();
            let mean: f64 =
                content.cells.iter().map(|it| it.mean_pieces * length(it)).sum::<f64>() / 14_400.0;
            // The content is known every 10 s, its mean in the account at every instant.
            let exact = shift.stations[content.station_index].content.and_then(|it| it.mean_pieces);
            let exact = exact.expect("it is counted");
            assert!((mean - exact).abs() <= 0.05 * exact + 0.5, "{}: {mean} and {exact}", content.station);
        }
        assert!(timeline.wake.is_some(), "something stopped in four hours");
    }
}
