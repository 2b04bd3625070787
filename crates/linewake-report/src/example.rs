//! Invented results for tests: a line of a few stations with as many stop reasons as asked for.

mod timeline;

use crate::input::{
    AnalyticFigure, Assumption, AssumptionGroup, DirtyRow, LogRead, LogsRead, ModelIdentity, PlanFacts,
    RunReport,
};
use linewake_kpi::convention::Conventions;
use linewake_kpi::definition::KPIS;
use linewake_kpi::machine::{KpiValue, MachineOee, MachineSummary, MeanTime, StopClass};
use linewake_kpi::result::CauseKind;
use linewake_kpi::summary::{
    Balance, BalancePlace, BalanceRow, CauseSummary, ContentSummary, HourSummary, LedgerSummary, Mean,
    PacksSummary, ParetoSummaryRow, ReasonMean, RejectSummary, ShiftFigures, ShiftRange, StartKind,
    StateMeans, StationSummary, Summary,
};
use linewake_log::header::{LineFacts, StationFacts};
use linewake_model::time::Span;

/// An invented report: so many stop reasons at stations with the names that a plant would give.
pub(crate) fn report(reasons: usize) -> RunReport {
    RunReport {
        model: ModelIdentity {
            name: "Alder Hill Foods, 400 g turkey mince".to_owned(),
            about: "An invented plant; the figures are made up for this test.".to_owned(),
            digest: "6f1d0c".repeat(10),
            file: "models/alder-hill.json".to_owned(),
        },
        program_version: "0.1.0".to_owned(),
        seed: Some(1),
        command: "linewake run models/alder-hill.json --shifts 30 --seed 1".to_owned(),
        plan: PlanFacts { shifts: 30, hours: 8.0, warm_up_s: 7200.0 },
        facts: Some(facts()),
        summaries: vec![summary(StartKind::NewRolls, reasons), summary(StartKind::LongRun, reasons)],
        logs: None,
        figures_without_simulation: vec![AnalyticFigure {
            name: "no help from buffers".to_owned(),
            packs_per_h: 4321.0,
            text: "lower bound".to_owned(),
        }],
        assumptions: vec![AssumptionGroup {
            title: "former".to_owned(),
            rows: vec![Assumption {
                what: "web tracking".to_owned(),
                value: "running time, Weibull shape 1.3, mean 5,400 s".to_owned(),
            }],
        }],
    }
}

const STATIONS: [(&str, &str, bool); 11] = [
    ("kitchen", "bulk_supply", true),
    ("portioner", "portioner", true),
    ("infeed belt", "accumulating_belt", false),
    ("loader", "loader", true),
    ("former", "former", true),
    ("pick robot", "pick_robot", true),
    ("discharge belt", "rigid_belt", true),
    ("checkweigher", "checkweigher", true),
    ("metal detector", "metal_detector", true),
    ("table before case packer", "accumulating_table", false),
    ("case packer", "case_packer", true),
];

const REASONS: [&str; 12] = [
    "web tracking",
    "blade jam",
    "case jam",
    "seal temperature",
    "bottom web change",
    "top web change",
    "print ribbon change",
    "label roll change",
    "portion length fault",
    "misplaced portion",
    "vacuum loss",
    "case magazine empty",
];

/// Facts of that line.
fn facts() -> LineFacts {
    let stations = STATIONS.iter().map(|(id, kind, has_states)| StationFacts {
        id: (*id).to_owned(),
        kind: (*kind).to_owned(),
        has_states: *has_states,
        rate_per_min: has_states.then_some(110.0).filter(|_| *kind != "bulk_supply"),
        transit_to_constraint: Span::from_seconds(30.0),
        capacity: (!has_states).then_some(60),
        supplier: None,
        portions_per_piece: 1,
    });
    LineFacts {
        design_rate_per_min: 104.0,
        constraint: u16::try_from(place("former")).unwrap(),
        good_after: u16::try_from(place("metal detector")).unwrap(),
        short_stop_limit: Span::from_seconds(300.0),
        left_out: Vec::new(),
        consequences: Vec::new(),
        stations: stations.collect(),
        reasons: Vec::new(),
    }
}

fn mean(mean: f64, half_width: f64) -> Mean {
    Mean { mean, half_width: Some(half_width), n: 30 }
}

/// An invented summary.
pub(crate) fn summary(start: StartKind, reasons: usize) -> Summary {
    let factor = if start == StartKind::NewRolls { 1.0 } else { 1.03 };
    let design = 104.0 * 480.0;
    let causes = causes(reasons, factor);
    let rejects = rejects();
    let charged: f64 = causes.iter().map(|row| row.packs.mean).sum();
    let rejected: f64 = rejects.iter().map(|row| row.packs.mean).sum();
    let (slow, empty, in_line) = (212.0, 0.0, if start == StartKind::NewRolls { 161.0 } else { 0.4 });
    let good = design - charged - slow - empty - rejected - in_line;
    let total = good + rejected + in_line;
    let availability = 0.93;
    let shifts = shifts(good, total, design, availability);
    Summary {
        start,
        level: 0.95,
        window_s: 28_800.0,
        warm_up_s: if start == StartKind::NewRolls { 0.0 } else { 7200.0 },
        design_rate_per_min: 104.0,
        short_stop_limit_s: 300.0,
        conventions: Conventions::default(),
        constraint: "former".to_owned(),
        good_after: "metal detector".to_owned(),
        total_at: "former".to_owned(),
        planned_production_time_s: 28_800.0,
        left_out_s: 0.0,
        good_packs: mean(good, 412.0),
        good_packs_range: Some(ShiftRange { p10: good - 1890.0, p90: good + 1710.0 }),
        oee: mean(good / design, 412.0 / design),
        oee_range: Some(ShiftRange { p10: (good - 1890.0) / design, p90: (good + 1710.0) / design }),
        availability: mean(availability, 0.011),
        performance: Some(mean(total / design / availability, 0.009)),
        quality: Some(mean(good / total, 0.0006)),
        availability_iso: mean(1.0 - charged / design, 0.008),
        performance_iso: Some(mean(total / (design - charged), 0.002)),
        quality_without_in_line: Some(mean(good / (good + rejected), 0.0005)),
        long_interruptions: mean(4.1, 0.7),
        long_interruption_time_s: mean(2012.0, 310.0),
        short_interruptions: mean(88.3, 4.2),
        short_interruption_time_s: mean(4180.0, 280.0),
        packs: PacksSummary {
            total_packs: mean(total, 405.0),
            good_in_cases_packs: Some(mean(good - 11.0, 412.0)),
            good_waiting_packs: Some(mean(11.0, 2.0)),
            cases: mean((good / 12.0).floor(), 34.0),
            escaped: vec![
                ReasonMean { reason: "leak".to_owned(), packs: mean(23.1, 1.9) },
                ReasonMean { reason: "label_missing".to_owned(), packs: mean(15.4, 1.5) },
                ReasonMean { reason: "misprint".to_owned(), packs: mean(1.3, 0.6) },
            ],
            rejected_packs: mean(rejected, 31.0),
            empty_pockets: mean(0.0, 0.0),
            in_line_at_start_packs: mean(if start == StartKind::NewRolls { 0.0 } else { 160.0 }, 6.0),
            in_line_at_end_packs: mean(161.0, 6.0),
        },
        pareto: pareto(&causes),
        ledger: LedgerSummary {
            design_packs: mean(design, 0.0),
            causes,
            slow_cycles_packs: mean(slow, 14.0),
            empty_pockets: mean(empty, 0.0),
            rejects,
            still_in_line_packs: mean(in_line, 6.0),
            good_packs: mean(good, 412.0),
        },
        stations: stations(factor),
        iso: iso(),
        timeline: Some(timeline::timeline(reasons)),
        output: (0..8).map(|hour| this_hour(hour, good, start)).collect(),
        balance: Some(balance()),
        shifts,
        doubts: Vec::new(),
    }
}

fn place(station: &str) -> usize {
    STATIONS.iter().position(|(id, ..)| *id == station).unwrap_or(0)
}

fn station_of(place: usize) -> &'static str {
    const OF_REASONS: [&str; 12] = [
        "former",
        "portioner",
        "case packer",
        "former",
        "former",
        "former",
        "former",
        "former",
        "portioner",
        "loader",
        "pick robot",
        "case packer",
    ];
    OF_REASONS[place % OF_REASONS.len()]
}

fn causes(reasons: usize, factor: f64) -> Vec<CauseSummary> {
    let row = |kind: CauseKind, station: &str, reason: &str, packs: f64| CauseSummary {
        kind,
        station_index: (!station.is_empty()).then(|| place(station)),
        station: station.to_owned(),
        reason: reason.to_owned(),
        time_s: packs * 60.0 / 104.0,
        waiting_s: packs * 6.0 / 104.0,
        packs: mean(packs, packs * 0.12),
        waiting_packs: packs * 0.1,
        consequent_packs: if kind == CauseKind::Stop && reason == "web tracking" { 40.2 } else { 0.0 },
    };
    let mut rows = Vec::new();
    for place in 0..reasons {
        let reason = match REASONS.get(place) {
            Some(reason) => (*reason).to_owned(),
            None => format!("invented reason number {place}"),
        };
        let packs = factor * 2600.0 * 0.78_f64.powi(i32::try_from(place).unwrap_or(0));
        rows.push(row(CauseKind::Stop, station_of(place), &reason, packs));
        if place % 3 == 0 {
            rows.push(row(CauseKind::Recovery, station_of(place), &reason, packs * 0.08));
        }
    }
    rows.push(row(CauseKind::Planned, "metal detector", "challenge", 610.0));
    rows.push(row(CauseKind::Supply, "kitchen", "", 333.0));
    rows.push(row(CauseKind::Rate, "loader", "", 12.0));
    rows.push(row(CauseKind::StartUp, "", "", 52.0));
    rows.sort_by(|one, other| other.packs.mean.total_cmp(&one.packs.mean));
    rows
}

fn pareto(causes: &[CauseSummary]) -> Vec<ParetoSummaryRow> {
    let mut rows: Vec<ParetoSummaryRow> = Vec::new();
    for cause in causes {
        let kinds = [CauseKind::Stop, CauseKind::Planned, CauseKind::Supply];
        let Some(station_index) = cause.station_index.filter(|_| kinds.contains(&cause.kind)) else {
            continue;
        };
        let recovery = causes.iter().find(|other| {
            other.kind == CauseKind::Recovery
                && (&other.station, &other.reason) == (&cause.station, &cause.reason)
        });
        let recovery_packs = recovery.map_or(0.0, |row| row.packs.mean);
        rows.push(ParetoSummaryRow {
            kind: cause.kind,
            station_index,
            station: cause.station.clone(),
            reason: cause.reason.clone(),
            count: (cause.kind != CauseKind::Supply).then(|| mean(cause.time_s / 90.0, 0.8)),
            stopped_s: mean(cause.time_s * 1.2, cause.time_s * 0.1),
            waiting_s: cause.waiting_s * 1.2,
            packs: mean(cause.packs.mean + recovery_packs, cause.packs.mean * 0.12),
            recovery_packs,
            consequent_packs: cause.consequent_packs,
            share: 0.0,
            cumulative_share: 0.0,
        });
    }
    rows.sort_by(|one, other| other.packs.mean.total_cmp(&one.packs.mean));
    let all: f64 = rows.iter().map(|row| row.packs.mean).sum();
    let mut cumulative = 0.0;
    for row in &mut rows {
        row.share = row.packs.mean / all;
        cumulative += row.share;
        row.cumulative_share = cumulative;
    }
    rows
}

fn rejects() -> Vec<RejectSummary> {
    let row = |station: &str, reason: &str, packs: f64| RejectSummary {
        station_index: place(station),
        station: station.to_owned(),
        reason: reason.to_owned(),
        packs: mean(packs, packs * 0.1),
        consequence_of_stop: reason == "held_in_seal",
    };
    vec![
        row("pick robot", "misprint", 254.0),
        row("checkweigher", "underweight", 120.5),
        row("pick robot", "false_tag", 80.1),
        row("pick robot", "held_in_seal", 62.7),
        row("pick robot", "dropped", 31.2),
        row("metal detector", "false_reject", 19.4),
        row("checkweigher", "overweight", 0.03),
        row("metal detector", "contaminated", 0.8),
    ]
}

fn stations(factor: f64) -> Vec<StationSummary> {
    let stations = STATIONS.iter().enumerate().map(|(place, (id, kind, has_states))| {
        let place = place as f64;
        let states = StateMeans {
            running_s: 0.0,
            starved_s: factor * 180.0 * place,
            blocked_s: factor * 190.0 * (10.0 - place),
            stopped_waiting_s: if *id == "former" { 500.0 } else { 60.0 },
            stopped_repair_s: if *id == "former" { 3300.0 } else { 40.0 + 70.0 * place },
            planned_s: if *id == "metal detector" { 770.0 } else { 0.0 },
        };
        let states = StateMeans { running_s: 28_800.0 - states.not_running_s(), ..states };
        StationSummary {
            id: (*id).to_owned(),
            kind: (*kind).to_owned(),
            states: has_states.then_some(states),
            own_stops: if *has_states { 3.0 + place } else { 0.0 },
            running_time_between_stops_s: has_states.then(|| states.running_s / (3.0 + place)),
            time_to_restore_s: has_states.then(|| 100.0 + place),
            made_pieces: 40_000.0 - 100.0 * place,
            content: (!has_states).then_some(ContentSummary {
                capacity_pieces: Some(60),
                mean_pieces: Some(11.3),
                full_share: 0.041,
                empty_share: 0.32,
            }),
            machine: timeline::with_times(
                place as usize,
                if *has_states { machine(id == &"former") } else { MachineSummary::default() },
            ),
        }
    });
    stations.collect()
}

/// Figures of a machine by itself; the constraint has all of them.
fn machine(is_constraint: bool) -> MachineSummary {
    let share = |mean: f64| Mean { mean, half_width: Some(0.0123), n: 30 };
    let of_constraint = |value: Mean| is_constraint.then_some(value);
    let time = |mean_s: f64, high_s: Option<f64>| MeanTime {
        mean_s: Some(mean_s),
        low_s: Some(0.8 * mean_s),
        high_s,
        time_s: 30.0 * 20_000.0,
        events: 411,
        method: "invented for this test",
    };
    let class = |count: f64| Some(StopClass { count: mean(count, 0.7), time_s: mean(60.0 * count, 31.0) });
    MachineSummary {
        oee: Some(MachineOee {
            ideal_rate_per_min: is_constraint.then_some(104.0),
            availability: share(0.93),
            performance: of_constraint(share(0.83)),
            quality: Some(share(0.984)),
            oee: of_constraint(share(0.76)),
            availability_iso: share(0.81),
            performance_iso: of_constraint(share(0.99)),
        }),
        starved_share: Some(share(0.04)),
        blocked_share: Some(share(0.02)),
        minor_stops: class(12.0),
        long_stops: class(1.3),
        time_between_stops: Some(time(4_321.0, Some(5_000.0))),
        time_to_restore: Some(time(77.0, None)),
        first_pass_yield: of_constraint(share(0.99)),
        throughput_per_h: Some(mean(4_800.0, 52.0)),
        iso: iso(),
        stops: Vec::new(),
        content_times: None,
    }
}

/// A value for every definition that names ISO 22400-2.
fn iso() -> Vec<KpiValue> {
    let of_iso = KPIS.iter().filter(|kpi| kpi.source.contains("ISO 22400-2"));
    let value = |unit: &str| if unit == "1" { mean(0.83, 0.01) } else { mean(12_345.0, 67.0) };
    of_iso.map(|kpi| KpiValue { symbol: kpi.symbol, value: Some(value(kpi.unit)) }).collect()
}

/// Two logs, one of them broken off and dirty.
pub(crate) fn logs(dirty: usize) -> LogsRead {
    let row = |line: usize| DirtyRow {
        line: line as u64,
        kind: ["overlap", "no end"][line % 2].to_owned(),
        what: "begins before the stop above it has ended".to_owned(),
        done: "begins where the other ends".to_owned(),
    };
    LogsRead {
        logs: vec![
            LogRead { file: "logs/early.csv".to_owned(), rows: 12_345, ..LogRead::default() },
            LogRead {
                file: "logs/late.csv".to_owned(),
                rows: 678,
                broken_off: Some("breaks off in line 678".to_owned()),
                dirty_rows: (0..dirty).map(|place| row(place + 2)).collect(),
            },
        ],
        not_told: vec!["figures that need no simulation".to_owned()],
        need_packs: vec!["escapes".to_owned()],
    }
}

fn this_hour(hour: u32, good: f64, start: StartKind) -> HourSummary {
    let usual = good / 8.0;
    let first = if hour == 0 && start == StartKind::NewRolls { 0.95 } else { 1.0 };
    let packs = first * (usual + 60.0 * f64::from(hour % 3) - 60.0);
    HourSummary {
        start_s: 3600.0 * f64::from(hour),
        length_s: 3600.0,
        good_packs: mean(packs, 90.0),
        range: Some(ShiftRange { p10: packs - 800.0, p90: packs + 500.0 }),
    }
}

fn balance() -> Balance {
    let row = |place: BalancePlace, station: &str, reason: &str, count: i64| BalanceRow {
        place,
        station: station.to_owned(),
        reason: reason.to_owned(),
        count,
    };
    Balance {
        unit: "portions".to_owned(),
        came_in: 1_200_000,
        rows: vec![
            row(BalancePlace::Case, "case packer", "", 1_174_500),
            row(BalancePlace::Bin, "pick robot", "misprint", 9_800),
            row(BalancePlace::Bin, "checkweigher", "underweight", 8_700),
            row(BalancePlace::Scrap, "pick robot", "dropped", 1_000),
            row(BalancePlace::Line, "infeed belt", "", 300),
            row(BalancePlace::Line, "former", "", 5_700),
        ],
    }
}

fn shifts(good: f64, total: f64, design: f64, availability: f64) -> Vec<ShiftFigures> {
    let shifts = (0..30_u32).map(|replication| {
        // A fixed scatter without luck: multiples of the golden section, in the shape of a bell.
        let part = (f64::from(replication) * 0.618_034).fract() - 0.5;
        let off = 5200.0 * part * (0.35 + part.abs());
        ShiftFigures {
            replication: u64::from(replication),
            good_packs: (good + off).max(0.0) as u64,
            total_packs: (total + off).max(0.0) as u64,
            oee: (good + off) / design,
            availability,
            performance: Some((total + off) / design / availability),
            quality: Some((good + off) / (total + off)),
            availability_iso: availability - 0.05,
            performance_iso: Some((total + off) / design / (availability - 0.05)),
        }
    });
    shifts.collect()
}
