//! Checks that need no table: identities, and theorems met with lines of our own.

use crate::checks::{self, Check, Reference, Tolerance};
use crate::compare::{Sample, judge};
use crate::identities::{Deviation, Identity};
use crate::measured::Measured;
use crate::model_of::{Model, Unit, machine, model, model_of};
use crate::quantities::Seen;
use crate::recursion::{Blocking, departures, departures_of_engine};
use crate::replications::{Lengths, replicate};
use crate::row::{Row, RunSet, Verdict};
use crate::simulated::{Simulated, run_check};
use linewake_log::event::Counter;
use linewake_model::time::Moment;
use serde_json::{Value, json};

/// Heading of the family.
pub(crate) const TITLE: &str = "X. Identities and theorems that need no table";
/// Id of the check that tells the two conventions of time-dependent failures apart.
pub(crate) const CONVENTIONS: &str = "X06";
/// Id of the check of the loss formula.
pub(crate) const LOSS: &str = "X07";

const SEED: u64 = 7_001;

/// The rows of the page.
pub(crate) fn rows(simulated: &Simulated, set: RunSet) -> Vec<Row> {
    let mut rows = identities(&simulated.deviations);
    rows.push(two_conventions(set));
    rows.push(loss_formula(set));
    rows.extend(reversed_lines(set));
    rows.push(more_storage(&simulated.rows));
    rows.push(departures_by_recursion());
    rows
}

fn blank(id: &str, model: &str, quantity: &str, source: &str) -> Row {
    Row {
        family: TITLE,
        id: id.to_owned(),
        model: model.to_owned(),
        quantity: quantity.to_owned(),
        source: source.to_owned(),
        ..Row::default()
    }
}

/// A row of something that must never happen.
fn never(row: Row, cases: u64, note: String) -> Row {
    let verdict = if cases == 0 { Verdict::Agrees } else { Verdict::Differs };
    Row { published: 0.0, ours: cases as f64, tolerance: "none at all".to_owned(), verdict, note, ..row }
}

fn identities(deviations: &[Deviation]) -> Vec<Row> {
    let of = |identity: Identity| -> Vec<&Deviation> {
        deviations.iter().filter(|deviation| deviation.identity == identity).collect()
    };
    let exact = |id: &str, identity: Identity, quantity: &str, source: &str| {
        let found = of(identity);
        let model = format!("{} places in the lines of families A to H, each replication", found.len());
        let failures = found.iter().map(|deviation| deviation.size as u64).sum();
        let failed: Vec<&str> = found
            .iter()
            .filter(|deviation| deviation.size > 0.0)
            .map(|deviation| deviation.place.as_str())
            .collect();
        never(blank(id, &model, quantity, source), failures, failed.join(", "))
    };
    let in_errors = |id: &str, identity: Identity, quantity: &str, source: &str| {
        let found = of(identity);
        let largest = found
            .iter()
            .max_by(|one, other| one.size.abs().total_cmp(&other.size.abs()))
            .expect("an identity is looked at somewhere");
        let model = format!("{} places in the lines of families A to H", found.len());
        Row {
            published: 0.0,
            ours: largest.size,
            standardised: Some(largest.size),
            tolerance: "four standard errors".to_owned(),
            verdict: if largest.size.abs() <= 4.0 { Verdict::Agrees } else { Verdict::Differs },
            note: format!("the largest of all, at {}", largest.place),
            ..blank(id, &model, quantity, source)
        }
    };
    vec![
        exact(
            "X01",
            Identity::StatesAddUp,
            "windows in which the states of a station do not add up to the time, to the microsecond",
            "definition of states",
        ),
        exact(
            "X02",
            Identity::PiecesAreKept,
            "runs in which pieces into a storage are not pieces out and pieces in it",
            "conservation of pieces",
        ),
        in_errors(
            "X03",
            Identity::WorkingTime,
            "working - throughput x mean service time, in standard errors",
            "flow balance",
        ),
        in_errors(
            "X04",
            Identity::RepairTime,
            "time under repair - stops by the clock of the stop x mean repair, in standard errors",
            "renewal-reward theorem (from memory)",
        ),
        in_errors(
            "X05",
            Identity::Little,
            "content of the line - throughput x time in line, in standard errors",
            "Little (1961), Operations Research 9(3) (from memory)",
        ),
    ]
}

/// C02 long enough to see that a finished piece may leave a machine in a stop.
fn two_conventions(set: RunSet) -> Row {
    let check = checks::one("C02");
    let value = |name: &str| check.values.iter().find(|value| value.quantity == name).expect("C02");
    let (right, other) = (value("throughput"), value("throughput_if_down_station_cannot_release"));
    let rate = value("output_variance_rate").value;
    let model = model_of(&check).expect("a line");
    let lengths = Lengths { batches: 150, ..Lengths::of("C02", RunSet::Short) };
    let lengths = if set == RunSet::Full { lengths.four_times() } else { lengths };
    let run = |lengths, seed| {
        let seen = Seen { model: &model, windows: replicate(&model, lengths, seed, false) };
        let measured = seen.quantity("throughput").expect("a throughput");
        let standard_error = (rate / seen.units()).sqrt();
        Sample { ours: Measured { standard_error, ..measured }, reference_error: 0.0 }
    };
    let sample = run(lengths, SEED);
    let away = sample.standardised(other.value).expect("a standard error");
    let words = format!("C02 once more, long enough to tell two conventions apart; {}", lengths.words());
    let note = format!(
        "{} standard errors from the other convention, {}",
        crate::page::errors(Some(away)),
        other.value
    );
    let row = Row { note, ..blank(CONVENTIONS, &words, "", "") };
    let row = judge(row, right, sample, || run(lengths.four_times(), SEED + 1));
    let verdict = if away > 4.0 { row.verdict } else { Verdict::Differs };
    Row { verdict, ..row }
}

/// Erlang's loss formula holds for any distribution of service, so also for a table with a constant transit time and as
/// many places as there are servers. The machine behind it takes a millisecond and all but never holds a piece up.
fn loss_formula(set: RunSet) -> Row {
    let check = checks::one("F07");
    let figure = |key: &str| check.parameters[key].as_f64().expect(key);
    let value = check.values.iter().find(|value| value.quantity == "erlang_B").expect("F07");
    let table = json!({ "accumulating_table": {
        "id": "servers", "capacity": figure("servers") as u64, "transit": format!("{} s", figure("erlang"))
    } });
    let between = json!({ "exponential": { "mean": "1 s" } });
    let stations = vec![
        json!({ "arrivals": { "id": "arrivals", "between": between, "when_full": "lost" } }),
        table,
        machine(1, json!("1 ms"), Vec::new()),
    ];
    let model = model("loss system", stations, 0, Unit::Second);
    let lengths = Lengths { replications: 200, warm_up: 1_000, batch: 1_000, batches: 40 };
    let lengths = if set == RunSet::Full { Lengths { batches: 400, ..lengths } } else { lengths };
    let run = |lengths, seed| {
        let seen = Seen { model: &model, windows: replicate(&model, lengths, seed, false) };
        let ours = seen.ratio(
            |window| window.stations[0].counted(Counter::Lost),
            |window| window.stations[0].counted(Counter::Made),
        );
        Sample { ours, reference_error: 0.0 }
    };
    let words = format!(
        "Poisson arrivals of 1 a unit, lost when full, at a table of 10 places and a transit of 8 units; {}",
        lengths.words()
    );
    let reference = Reference {
        quantity: "share lost".to_owned(),
        tolerance: Tolerance::Within(0.005 * value.value),
        tolerance_text: "0.5 %".to_owned(),
        source: "computed: closed form; Erlang B is insensitive to the distribution of service (Sevastyanov 1957, from \
                 memory)"
            .to_owned(),
        ..value.clone()
    };
    let row = blank(LOSS, &words, "", "");
    judge(row, &reference, run(lengths, SEED + 2), || run(lengths.four_times(), SEED + 3))
}

/// Throughput does not change when a line with own workers and operation-dependent failures runs the other way round.
fn reversed_lines(set: RunSet) -> Vec<Row> {
    let mut rows = Vec::new();
    for (place, (id, of)) in [("X08", "B03"), ("X09", "H02")].into_iter().enumerate() {
        let mut reversed = checks::one(of);
        for key in ["stations", "storage"] {
            if let Value::Array(values) = &mut reversed.parameters[key] {
                values.reverse();
            }
        }
        reversed
            .values
            .retain(|value| matches!(value.quantity.as_str(), "throughput" | "output_variance_rate"));
        let run = run_check(&reversed, set, SEED + 10 * (place as u64 + 1));
        let throughput = run.rows.into_iter().find(|row| row.quantity == "throughput").expect("a throughput");
        rows.push(Row {
            family: TITLE,
            id: id.to_owned(),
            model: format!("{of} reversed: {}", throughput.model),
            note: format!(
                "reversal: Yamazaki and Sakasegawa (1975), Muth (1979), from memory {}",
                throughput.note
            ),
            ..throughput
        });
    }
    rows
}

/// More storage, more output, but never more than the slowest station makes by itself.
fn more_storage(rows: &[Row]) -> Row {
    let throughputs: Vec<f64> = rows
        .iter()
        .filter(|row| row.id.starts_with("B01") && row.quantity == "throughput")
        .map(|row| row.ours)
        .collect();
    let alone = 20.0 / (20.0 + 5.0);
    let falls = throughputs.windows(2).filter(|pair| pair[1] <= pair[0]).count();
    let beyond = throughputs.iter().filter(|throughput| **throughput >= alone).count();
    let row = blank(
        "X10",
        "B01a to B01e: storage 0, 2, 5, 10, 20",
        "times that throughput does not rise with storage, or passes that of a station alone",
        "monotony: Shanthikumar and Yao (1989), from memory",
    );
    never(row, (falls + beyond) as u64, format!("{throughputs:.4?} of {alone}"))
}

/// Lines without stops, against the recursion of departures with the engine's own draws.
fn departures_by_recursion() -> Row {
    let lines: Vec<Check> = checks::all()
        .into_iter()
        .filter(|check| check.id.starts_with('A') || check.kind == "line_deterministic")
        .collect();
    let mut compared = 0;
    let mut wrong = 0;
    for check in &lines {
        let Model { line, unit_s, .. } = model_of(check).expect("a line");
        let places = check.parameters["storage"].as_array().expect("storage");
        let places: Vec<usize> =
            places.iter().map(|places| places.as_u64().expect("places") as usize).collect();
        let until = Moment((10_000.0 * unit_s * 1e6) as u64);
        let of_engine = departures_of_engine(&line, until, SEED, 0);
        let pieces = of_engine.len();
        let worked_out = departures(&line, &places, Blocking::AfterService, SEED, 0, pieces);
        compared += pieces;
        wrong += of_engine.iter().zip(&worked_out).filter(|(one, other)| one != other).count();
    }
    let row = blank(
        "X11",
        &format!("{compared} departures from {} lines without stops", lines.len()),
        "departures that are not where the recursion of blocking after service has them, to the microsecond",
        "Buzacott and Shanthikumar (1993), chapter 5 (from memory), derived anew in the test",
    );
    never(row, wrong as u64, "the engine's own draws on either side".to_owned())
}
