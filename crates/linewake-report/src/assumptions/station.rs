//! Settings and own stops of a station in words.

use super::distribution::words;
use super::{STOP, fact, group};
use crate::input::{Assumption, AssumptionGroup};
use crate::number::{duration, plain};
use crate::wording;
use linewake_log::facts::kind;
use linewake_model::line::{Line, MICROGRAMS_PER_GRAM};
use linewake_model::station::{
    Accumulator, FailSafe, Former, Gate, LeaveOrder, Loader, PortionWeight, Station, StationKind, UNLIMITED,
    WhenFull, WithoutProduct,
};
use linewake_model::stop::{Basis, Initial, StopMode};

pub(super) fn group_of(line: &Line, station: &Station) -> AssumptionGroup {
    let mut rows = settings(line, &station.kind);
    if let Some(control) = &station.speed_control {
        let steps = control.steps.iter().map(|step| format!("{} %", plain(step.share * 100.0)));
        let watched = &line.stations[control.watch].id;
        rows.push(fact(
            "speed steps",
            format!("{} of the set speed, by the content of {watched}", steps.collect::<Vec<_>>().join(", ")),
        ));
    }
    if let Some(response_s) = &station.response_s {
        rows.push(fact("response time here", words(response_s, "s")));
    }
    if let Some(supplier) = &station.supplier {
        rows.push(fact("supplier", supplier.clone()));
    }
    rows.extend(station.stops.iter().map(|mode| stop(line, mode)));
    let kind = wording::station_kind(kind::word(&station.kind));
    let title = if station.id == kind { kind } else { format!("{} ({kind})", station.id) };
    group(&title, rows)
}

fn stop(line: &Line, mode: &StopMode) -> Assumption {
    let between = match mode.basis {
        Basis::RunningTime => format!("after a running time {}", words(&mode.between, "s")),
        Basis::CalendarTime => format!("after a calendar time {}", words(&mode.between, "s")),
        Basis::Count => format!("after a count of its cycles {}", words(&mode.between, "")),
    };
    let initial = match mode.initial {
        Initial::New => String::new(),
        Initial::Fraction(used) if used <= 0.0 => "; new at the start of every shift".to_owned(),
        Initial::Fraction(used) => format!("; at the start {}\u{a0}% used", plain(used * 100.0)),
        Initial::Uniform => "; part used at the start".to_owned(),
    };
    let who = if mode.attended { "attended" } else { "clears by itself" };
    let scrap = if mode.scrap_after_indexes > 0 {
        format!("; {} indexes of first-off packs after it", mode.scrap_after_indexes)
    } else {
        String::new()
    };
    fact(
        &format!("{STOP}{}", wording::reason(line.reason(mode.reason))),
        format!("{between}; lasts {}; {who}{initial}{scrap}", words(&mode.duration_s, "s")),
    )
}

fn settings(line: &Line, kind: &StationKind) -> Vec<Assumption> {
    match kind {
        StationKind::BulkSupply(supply) => vec![
            fact("batch", format!("{}\u{a0}kg", kilograms(supply.batch_ug))),
            fact("hopper", format!("{}\u{a0}kg", kilograms(supply.hopper_ug))),
            fact("preparation of a batch", words(&supply.preparation_s, "s")),
        ],
        StationKind::Portioner(portioner) => {
            let mut rows = vec![fact("rate", format!("{} portions/min", plain(portioner.rate_per_min)))];
            weight(line, &portioner.weight, &mut rows);
            rows
        }
        StationKind::Accumulator(table) => accumulator(table),
        StationKind::Loader(it) => loader(it),
        StationKind::Former(it) => former(line, it),
        StationKind::PickRobot(robot) => vec![
            fact("gripper", format!("{} packs", robot.gripper)),
            fact("pick", words(&robot.pick_s, "s")),
            fact("place", words(&robot.place_s, "s")),
            fact("probability of a drop", plain(robot.drop_probability)),
        ],
        StationKind::RigidBelt(belt) => vec![fact(
            "belt",
            format!(
                "{}\u{a0}m at {}\u{a0}m/s, pitch {}\u{a0}m",
                plain(belt.length_m),
                plain(belt.speed_m_s),
                plain(belt.pitch_m)
            ),
        )],
        StationKind::Gate(it) => gate(line, it),
        StationKind::CasePacker(packer) => vec![
            fact("case", format!("{} packs", packer.packs_per_case)),
            fact("collation lane", format!("{} packs", packer.lane_packs)),
            fact("cycle", duration(packer.cycle.seconds())),
        ],
        StationKind::Machine(machine) => vec![fact("time for a piece", words(&machine.process_s, "s"))],
        StationKind::Arrivals(arrivals) => vec![
            fact("time between arrivals", words(&arrivals.between_s, "s")),
            fact(
                "a piece that finds no room",
                match arrivals.when_full {
                    WhenFull::Wait => "waits",
                    WhenFull::Lost => "is lost",
                }
                .to_owned(),
            ),
        ],
    }
}

fn kilograms(micrograms: u64) -> String {
    plain(micrograms as f64 / MICROGRAMS_PER_GRAM / 1000.0)
}

fn weight(line: &Line, weight: &PortionWeight, rows: &mut Vec<Assumption>) {
    rows.push(fact(
        "weight of a portion",
        format!(
            "mean {}\u{a0}g, standard deviation {}\u{a0}g, of a batch {}\u{a0}g",
            plain(weight.mean_g),
            plain(weight.sd_g),
            plain(weight.sd_batch_g)
        ),
    ));
    if let Some(drift) = &weight.drift {
        let correlation = duration(drift.correlation_time.seconds());
        rows.push(fact(
            "drift",
            format!("standard deviation {}\u{a0}g, correlation time {correlation}", plain(drift.sd_g)),
        ));
    }
    if let Some(feedback) = &weight.feedback {
        rows.push(fact(
            "weight feedback",
            format!(
                "from {} after every {} packs, gain {}, target {}\u{a0}g, limits {} to {}\u{a0}g{}",
                line.stations[feedback.from].id,
                feedback.every_packs,
                plain(feedback.gain),
                plain(feedback.target_g),
                plain(feedback.lowest_g),
                plain(feedback.highest_g),
                if feedback.count_rejects { "" } else { "; rejected packs left out, which biases the mean" }
            ),
        ));
    }
}

fn accumulator(table: &Accumulator) -> Vec<Assumption> {
    let capacity = if table.capacity == UNLIMITED {
        "no limit".to_owned()
    } else {
        format!("{} pieces", table.capacity)
    };
    let mut rows =
        vec![fact("capacity", capacity), fact("transit when empty", duration(table.transit.seconds()))];
    if table.order == LeaveOrder::LastInFirstOut {
        rows.push(fact("order", "last in, first out".to_owned()));
    }
    if let Some(restart_at) = table.restart_at {
        rows.push(fact("once full", format!("takes none until down to {restart_at} pieces")));
    }
    rows
}

fn loader(loader: &Loader) -> Vec<Assumption> {
    let seconds = |span: linewake_model::time::Span| plain(span.seconds());
    let mut rows = vec![
        fact(
            "array",
            format!(
                "{} lanes x {} rows, fills {} indexes",
                loader.lanes, loader.array_rows, loader.indexes_per_array
            ),
        ),
        fact(
            "motions",
            format!(
                "file transfer {}, traverse {}, load {}, return {}\u{a0}s",
                seconds(loader.file_transfer),
                seconds(loader.traverse),
                seconds(loader.load),
                seconds(loader.return_)
            ),
        ),
    ];
    if loader.loads_per_zone > 1 {
        rows.push(fact("loads to a zone", loader.loads_per_zone.to_string()));
    }
    if let Some(limit) = loader.open_time_limit {
        rows.push(fact("age limit of open product", duration(limit.seconds())));
    }
    rows
}

fn former(line: &Line, former: &Former) -> Vec<Assumption> {
    let functions = former.functions.iter();
    let functions = functions.map(|it| format!("{} {}", it.name, plain(it.dwell.seconds())));
    let mut rows = vec![
        fact("index", format!("{} lanes x {} rows", former.lanes, former.rows_per_index)),
        fact("functions of the dwell", format!("{}\u{a0}s", functions.collect::<Vec<_>>().join(", "))),
        fact("advance", duration(former.advance.seconds())),
    ];
    if let Some(cap) = former.max_cycles_per_min {
        rows.push(fact("speed cap", format!("{} cycles/min", plain(cap))));
    }
    if former.without_product == WithoutProduct::RunEmpty {
        rows.push(fact("without product", "runs with empty pockets".to_owned()));
    }
    if let Some(scrap) = &former.stop_scrap {
        let positions: Vec<String> = scrap.positions.iter().map(u32::to_string).collect();
        rows.push(fact(
            "scrap after a long stop",
            format!(
                "{}, at positions {}, after stops longer than {}",
                wording::reason(line.reason(scrap.reason)),
                positions.join(", "),
                duration(scrap.longer_than.seconds())
            ),
        ));
    }
    if let Some(printer) = &former.printer {
        rows.push(fact(
            "print faults in runs",
            format!(
                "begin with probability {}, end with {}, misprint {} of a faulty index",
                plain(printer.p),
                plain(printer.r),
                plain(printer.q)
            ),
        ));
    }
    if let Some(vision) = &former.vision {
        rows.push(fact(
            "vision",
            format!("finds {}, false tags {}", plain(vision.sensitivity), plain(vision.false_tag)),
        ));
        if let Some(rule) = &vision.stop_rule {
            rows.push(fail_safe("vision stop rule, indexes in a row", rule));
        }
    }
    for (what, probability) in [
        ("probability of a leak", former.leak_probability),
        ("probability of no label", former.label_missing_probability),
        ("probability of contamination", former.contaminated_probability),
    ] {
        if probability > 0.0 {
            rows.push(fact(what, plain(probability)));
        }
    }
    rows
}

fn gate(line: &Line, gate: &Gate) -> Vec<Assumption> {
    let mut rows = vec![fact("rate at most", format!("{} packs/min", plain(gate.max_rate_per_min)))];
    if let Some(weigher) = &gate.weigher {
        let limit = |limit: Option<f64>| {
            limit.map_or_else(|| "none".to_owned(), |grams| format!("{}\u{a0}g", plain(grams)))
        };
        rows.push(fact(
            "weighing",
            format!(
                "error {}\u{a0}g, low limit {}, high limit {}",
                plain(weigher.sd_g),
                limit(weigher.low_g),
                limit(weigher.high_g)
            ),
        ));
    }
    for find in &gate.finds {
        let defect = wording::reason(line.reason(find.defect));
        rows.push(fact(&format!("finds {defect}"), format!("with probability {}", plain(find.probability))));
    }
    if gate.false_reject > 0.0 {
        rows.push(fact("probability of a false reject", plain(gate.false_reject)));
    }
    rows.extend(gate.rejects_in_row.iter().map(|rule| fail_safe("fail-safe, rejects in a row", rule)));
    rows.extend(gate.bin_full.iter().map(|rule| fail_safe("fail-safe, bin full after", rule)));
    if let Some(challenge) = &gate.challenge {
        rows.push(fact(
            "routine test",
            format!(
                "every {}, lasts {}, {}",
                duration(challenge.interval.seconds()),
                words(&challenge.duration_s, "s"),
                if challenge.in_planned_production_time {
                    "counted as downtime"
                } else {
                    "left out of planned production time"
                }
            ),
        ));
    }
    rows
}

fn fail_safe(what: &str, rule: &FailSafe) -> Assumption {
    fact(what, format!("{}; attended, lasts {}", rule.count, words(&rule.duration_s, "s")))
}
