//! Properties of every line, on random valid lines drawn over every station kind and every option.
//!
//! No statistics here: each property holds on each line, so there is no error probability. The numbers of the lines are
//! fixed; a failure prints the number and the model file of its line.

#![expect(clippy::print_stdout, reason = "the counts that a test prints say how much it has seen")]

use linewake_engine::plan::RunPlan;
use linewake_engine::{header, run};
use linewake_kpi::accumulator::Accumulator;
use linewake_kpi::result::ShiftResult;
use linewake_log::event::{Counter, Detail, Event, EventKind, EventSink, Keep, PackStep, StationState};
use linewake_log::reader::LogReader;
use linewake_log::writer::LogWriter;
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::{FIXED_REASONS, Reason};
use linewake_model::time::Moment;
use linewake_stats::stream::Streams;
use linewake_tests::pack_checker::{Totals, check};
use linewake_tests::random_line::{OPTIONS, RandomLine, random_line};
use std::collections::{BTreeMap, BTreeSet};

/// Lines of the test; `.ci/full lines` asks for more by LINEWAKE_RANDOM_LINES.
const LINES: u64 = 1200;

fn lines() -> u64 {
    let wanted = std::env::var("LINEWAKE_RANDOM_LINES").ok();
    wanted.map_or(LINES, |text| {
        text.parse::<u64>().expect("LINEWAKE_RANDOM_LINES is a whole number").max(LINES)
    })
}

/// Every option occurs in at least this share of the lines, in per cent.
const LEAST_SHARE: u64 = 5;

fn text_of(random: &RandomLine) -> String {
    serde_json::to_string_pretty(&random.model).expect("a model is JSON")
}

fn line_of(text: &str) -> Result<Line, String> {
    linewake_model::parse(text).map(|checked| checked.line).map_err(|problems| format!("{problems:#?}"))
}

fn events_of(line: &Line, plan: &RunPlan, seed: u64, detail: Detail) -> Vec<Event> {
    let mut keep = Keep::new(detail);
    run(line, plan, seed, 0, &mut keep);
    keep.events
}

#[test]
fn random_lines_keep_their_balance_at_every_event() {
    let mut occurred: BTreeMap<&str, u64> = OPTIONS.iter().map(|option| (*option, 0)).collect();
    let (mut events, mut packs, mut stops) = (0, 0, 0);
    let mut happened = Happened::default();
    let asked = lines();
    for number in 0..asked {
        let random = random_line(number);
        for option in &random.options {
            *occurred.get_mut(option).unwrap_or_else(|| panic!("{option} is not listed")) += 1;
        }
        let text = text_of(&random);
        let (seen, totals) =
            holds(&random, &text, number).unwrap_or_else(|what| panic!("line {number}: {what}\n{text}"));
        events += seen;
        packs += totals.packs_begun;
        stops += totals.stops.values().sum::<u64>();
        happened.add(&totals);
    }
    println!("{asked} lines, {events} events, {packs} packs or pieces, {stops} stops");
    for (option, lines) in &occurred {
        println!("{:>5.1} %  {option}", *lines as f64 * 100.0 / asked as f64);
    }
    for (option, lines) in &occurred {
        assert!(lines * 100 >= LEAST_SHARE * asked, "{option} occurs in {lines} of {asked} lines");
    }
    happened.is_enough();
}

/// How often things happened for each fixed reason, over all lines: an option that is drawn and never matters tests
/// nothing.
#[derive(Debug, Default)]
struct Happened {
    stops: BTreeMap<Reason, u64>,
    counts: BTreeMap<(Counter, Reason), u64>,
}

impl Happened {
    fn add(&mut self, totals: &Totals) {
        for ((_, reason), times) in &totals.stops {
            *self.stops.entry(*reason).or_default() += times;
        }
        for ((_, counter, reason), packs) in &totals.counts {
            *self.counts.entry((*counter, *reason)).or_default() += packs;
        }
    }

    fn is_enough(&self) {
        let stops = [Reason::REJECTS_IN_ROW, Reason::BIN_FULL, Reason::TAGS_IN_ROW];
        let tags =
            [Reason::MISPRINT, Reason::FALSE_TAG, Reason::HELD_IN_SEAL, Reason::AGED, Reason::FIRST_OFF];
        let defects = [Reason::MISPRINT, Reason::LABEL_MISSING, Reason::LEAK, Reason::CONTAMINATED];
        let rejects = [Reason::UNDERWEIGHT, Reason::OVERWEIGHT, Reason::FALSE_REJECT, Reason::DROPPED];
        let counted = |counter: Counter, reasons: &[Reason]| -> Vec<(String, u64)> {
            let times = |reason: &Reason| self.counts.get(&(counter, *reason)).copied().unwrap_or(0);
            let name =
                |reason: &Reason| format!("{} {}", counter.word(), FIXED_REASONS[usize::from(reason.0)]);
            reasons.iter().map(|reason| (name(reason), times(reason))).collect()
        };
        let stopped = stops.map(|reason| {
            let times = self.stops.get(&reason).copied().unwrap_or(0);
            (format!("stopped {}", FIXED_REASONS[usize::from(reason.0)]), times)
        });
        let all = [
            counted(Counter::Tagged, &tags),
            counted(Counter::Rejected, &defects),
            counted(Counter::Rejected, &rejects),
            counted(Counter::Escaped, &defects),
            counted(Counter::Lost, &[Reason::NONE]),
            counted(Counter::Cased, &[Reason::NONE]),
            stopped.to_vec(),
        ];
        for (name, times) in all.concat() {
            println!("{times:>8}  {name}");
            assert!(times >= 50, "{name} happened {times} times");
        }
    }
}

/// Every property of one line; its events and the checker's totals.
fn holds(random: &RandomLine, text: &str, seed: u64) -> Result<(usize, Totals), String> {
    let line = line_of(text)?;
    let plan = random.plan(&line);
    let events = events_of(&line, &plan, seed, Detail::Packs);
    let totals = check(&line, &plan, &events)?;
    if events_of(&line, &plan, seed, Detail::Packs) != events {
        return Err("a second run tells other events".to_owned());
    }
    let without_packs: Vec<Event> =
        events.iter().filter(|event| !matches!(event.kind, EventKind::Pack { .. })).copied().collect();
    if events_of(&line, &plan, seed, Detail::States) != without_packs {
        return Err("a run at the detail of states tells other states".to_owned());
    }
    survives_the_file(&line, &plan, seed, &events)?;
    accounts(&line, &plan, seed, &events, &totals)?;
    Ok((events.len(), totals))
}

fn survives_the_file(line: &Line, plan: &RunPlan, seed: u64, events: &[Event]) -> Result<(), String> {
    let header = header(line, plan, seed, 0);
    let mut writer = LogWriter::new(Vec::new(), &header, Detail::Packs);
    for event in events {
        writer.record(event);
    }
    let bytes = writer.finish().map_err(|error| error.to_string())?;
    let reader = LogReader::new(bytes.as_slice()).map_err(|error| error.to_string())?;
    if *reader.header() != header {
        return Err(format!("the header is read as {:?}", reader.header()));
    }
    let read: Vec<Event> = reader.collect::<Result<_, _>>().map_err(|error| error.to_string())?;
    if read != events { Err("the log is read as other events".to_owned()) } else { Ok(()) }
}

/// The accounting closes, and agrees with what the checker counted.
fn accounts(line: &Line, plan: &RunPlan, seed: u64, events: &[Event], totals: &Totals) -> Result<(), String> {
    let mut accumulator = Accumulator::new(&header(line, plan, seed, 0));
    for event in events {
        accumulator.record(event);
    }
    let result = accumulator.finish();
    let mut wrong = Vec::new();
    let mut must = |holds: bool, what: String| {
        if !holds {
            wrong.push(what);
        }
    };
    must(result.doubts.is_empty(), format!("doubts: {:?}", result.doubts));
    let window = result.window_end.since(result.window_start);
    must(
        result.window_end == plan.horizon && result.window_start == plan.warm_up,
        format!("window {window}"),
    );
    let oee = &result.oee;
    match (oee.performance, oee.quality) {
        (Some(performance), Some(quality)) => {
            let product = oee.availability * performance * quality;
            must(
                (product - oee.oee).abs() <= 1e-12 * oee.oee.max(1.0),
                format!("A x P x Q = {product}: {oee:?}"),
            );
        }
        (None, None) => must(oee.oee == 0.0, format!("OEE without factors: {oee:?}")),
        _ => must(false, format!("only one of P and Q: {oee:?}")),
    }
    let residual = result.ledger.residual_packs();
    must(residual.abs() < 1e-6, format!("the ledger leaves {residual} packs"));
    let left_out = left_out(line, plan, events);
    must(oee.left_out.0 == left_out, format!("left out {} us, not {left_out} us", oee.left_out.0));
    must((oee.planned_production_time + oee.left_out) == window, format!("planned production time: {oee:?}"));
    let charged = result.ledger.charged_time();
    must(charged == oee.planned_production_time - oee.running, format!("{charged} are charged to causes"));
    for (station, times) in result.stations.iter().zip(&totals.states) {
        let own: Option<u64> = times.map(|times| times.iter().sum());
        let sum = station.states.map(|states| states.all());
        must(own.is_none_or(|own| own == plan.horizon.0), format!("{}: {own:?}", station.id));
        must(sum.is_none_or(|sum| sum == window), format!("{}: its states add up to {sum:?}", station.id));
        must(sum.is_some() == own.is_some(), format!("{}: has states: {}", station.id, sum.is_some()));
        if let (Some(states), Some(times), true) = (station.states, times, plan.warm_up == Moment::ZERO) {
            let [running, starved, blocked, waiting, repair, planned] = *times;
            let seen = [states.running, states.starved, states.blocked].map(|time| time.0);
            let stopped = [states.stopped_waiting, states.stopped_repair, states.planned].map(|time| time.0);
            must(seen == [running, starved, blocked], format!("{}: {states:?}", station.id));
            must(stopped == [waiting, repair, planned], format!("{}: {states:?}", station.id));
        }
    }
    packs_agree(line, &result, totals, &mut must);
    if wrong.is_empty() { Ok(()) } else { Err(wrong.join("\n")) }
}

fn packs_agree(line: &Line, result: &ShiftResult, totals: &Totals, must: &mut impl FnMut(bool, String)) {
    let former = line.stations.iter().position(|station| matches!(station.kind, StationKind::Former(_)));
    let good_after = line.station(&result.good_after).expect("the result names a station");
    let last = line.stations.len() - 1;
    let good = totals.gained(good_after, Counter::HandedOver);
    must(result.oee.good_packs == good, format!("good: {} and {good}", result.oee.good_packs));
    let cases = totals.gained(last, Counter::Cased);
    must(result.packs.cases == cases, format!("cases: {} and {cases}", result.packs.cases));
    let mut escaped: Vec<(&str, u64)> = totals
        .gains(good_after, Counter::Escaped)
        .map(|(reason, packs)| (line.reason(reason), packs))
        .collect();
    escaped.retain(|(_, packs)| *packs > 0);
    escaped.sort_unstable();
    let mut told: Vec<(&str, u64)> =
        result.packs.escaped.iter().map(|row| (row.reason.as_str(), row.packs)).collect();
    told.sort_unstable();
    must(told == escaped, format!("escaped: {told:?} and {escaped:?}"));
    let Some(former) = former else { return };
    let total = totals.gained(former, Counter::Made);
    must(result.oee.total_packs == total, format!("total: {} and {total}", result.oee.total_packs));
    let mut rejected: Vec<(usize, &str, u64)> = Vec::new();
    for station in former..=good_after {
        let here = totals.gains(station, Counter::Rejected).filter(|(_, packs)| *packs > 0);
        rejected.extend(here.map(|(reason, packs)| (station, line.reason(reason), packs)));
    }
    rejected.sort_unstable();
    let rows = &result.ledger.rejects;
    let mut told: Vec<(usize, &str, u64)> =
        rows.iter().map(|row| (row.station_index, row.reason.as_str(), row.packs)).collect();
    told.sort_unstable();
    must(told == rejected, format!("rejects: {told:?} and {rejected:?}"));
    let in_line = result.packs.in_line_at_end_packs;
    must(
        in_line == totals.packs_before_good as i64,
        format!("in the line: {in_line}, and in places {}", totals.packs_before_good),
    );
    if result.window_start == Moment::ZERO {
        let rejected = result.packs.rejected_packs;
        must(total == good + rejected + in_line as u64, format!("{total} = {good} + {rejected} + {in_line}"));
    }
    let grams = (totals.tipped_ug, totals.hopper_ug + totals.portions_ug + totals.packs_ug + totals.gone_ug);
    must(grams.0 == grams.1, format!("mass: {grams:?} ug"));
}

/// Planned stops of the constraint in the window that are left out of planned production time, from its state rows.
fn left_out(line: &Line, plan: &RunPlan, events: &[Event]) -> u64 {
    let challenges_out = match &line.stations[line.constraint].kind {
        StationKind::Gate(gate) => gate.challenge.as_ref().is_some_and(|it| !it.in_planned_production_time),
        _ => false,
    };
    let counts = |state: StationState, reason: Reason| {
        state == StationState::Planned
            && (reason == Reason::BREAK && !line.shift.breaks_in_planned_production_time
                || reason == Reason::CHALLENGE && challenges_out)
    };
    let (mut sum, mut since) = (0, None);
    let mut ends = |since: &mut Option<Moment>, at: Moment| {
        if let Some(began) = since.take() {
            sum += at.since(began.max(plan.warm_up)).0;
        }
    };
    for event in events.iter().filter(|event| usize::from(event.station) == line.constraint) {
        if let EventKind::State { to, reason, .. } = event.kind {
            ends(&mut since, event.at);
            since = counts(to, reason).then_some(event.at);
        }
    }
    ends(&mut since, plan.horizon);
    sum
}

/// Ways of breaking the event of a piece, each of which a checker must notice.
fn broken(events: &[Event], at: usize, way: u64) -> Vec<Event> {
    let mut events = events.to_vec();
    match (way, &mut events[at].kind) {
        (0, _) => drop(events.remove(at)),
        (1, _) => events.insert(at, events[at]),
        (2, EventKind::Pack { item, .. }) => *item += 1,
        (3, EventKind::Pack { weight_ug, .. }) => *weight_ug += 1,
        _ => events[at].station = events[at].station.wrapping_add(1),
    }
    events
}

#[test]
fn the_checker_notices_whatever_is_broken() {
    let (mut tried, mut by_way) = (0, BTreeMap::new());
    for number in 0..100 {
        let random = random_line(number);
        let text = text_of(&random);
        let line = line_of(&text).unwrap_or_else(|what| panic!("line {number}: {what}\n{text}"));
        let plan = random.plan(&line);
        let events = events_of(&line, &plan, number, Detail::Packs);
        // A defect that is forgotten, in a pack that leaves nowhere as escaped, leaves no trace; all else does.
        let pieces: Vec<usize> = (0..events.len())
            .filter(|at| matches!(events[*at].kind, EventKind::Pack { step, .. } if step != PackStep::Defect))
            .collect();
        let mut dice = Streams::new(number, 0).get("broken events");
        for _ in 0..20 {
            let at = pieces[(dice.open01() * pieces.len() as f64) as usize];
            let way = (dice.open01() * 5.0) as u64;
            let outcome = check(&line, &plan, &broken(&events, at, way));
            assert!(
                outcome.is_err(),
                "line {number}: event {at} {:?} broken in way {way}\n{text}",
                events[at]
            );
            *by_way.entry(way).or_insert(0) += 1;
            tried += 1;
        }
    }
    println!("{tried} broken events noticed: {by_way:?}");
    assert!(by_way.len() == 5 && by_way.values().all(|times| *times >= 100), "{by_way:?}");
}

/// What belongs to packs, by their numbers: defects of packs that were cut, drops of packs that were picked.
#[derive(Debug, Default)]
struct Luck {
    cut: BTreeSet<u64>,
    defects: BTreeSet<(u64, u16)>,
    picked: BTreeSet<u64>,
    dropped: BTreeSet<u64>,
}

fn luck_of(events: &[Event]) -> Luck {
    let mut luck = Luck::default();
    for event in events {
        let EventKind::Pack { step, item, reason, .. } = event.kind else { continue };
        match step {
            PackStep::Cut => drop(luck.cut.insert(item)),
            PackStep::Defect => drop(luck.defects.insert((item, reason.0))),
            PackStep::Picked => drop(luck.picked.insert(item)),
            PackStep::Rejected if reason == Reason::DROPPED => {
                luck.picked.insert(item);
                luck.dropped.insert(item);
            }
            _ => {}
        }
    }
    luck
}

/// The same model with another stop at the former, and a gate before the packer that was not there.
fn with_more(model: &serde_json::Value) -> Option<serde_json::Value> {
    let mut model = model.clone();
    let stations = model["stations"].as_array_mut()?;
    let former = stations.get_mut(4)?.get_mut("former")?.as_object_mut()?;
    let stop = serde_json::json!({
        "reason": "one more", "after": { "running_time": { "exponential": { "mean": "30 s" } } },
        "duration": "4 s", "attended": false });
    match former.get_mut("stops").and_then(serde_json::Value::as_array_mut) {
        Some(stops) => stops.insert(0, stop),
        None => drop(former.insert("stops".into(), serde_json::json!([stop]))),
    }
    let gate = serde_json::json!({ "x_ray": {
        "id": "one more gate", "max_rate": "600/min", "sensitivity": 1, "false_reject": "10 %" } });
    let packer = stations.len() - 1;
    stations.insert(packer, gate);
    Some(model)
}

#[test]
fn another_stop_and_another_station_change_the_luck_of_no_pack() {
    let (mut lines, mut compared) = (0, 0);
    for number in (LINES..).take(400) {
        let random = random_line(number);
        let Some(more) = with_more(&random.model) else { continue };
        let text = text_of(&random);
        let both = [text.clone(), more.to_string()].map(|text| {
            let line = line_of(&text).unwrap_or_else(|what| panic!("line {number}: {what}\n{text}"));
            luck_of(&events_of(&line, &random.plan(&line), number, Detail::Packs))
        });
        let [one, other] = &both;
        let cut: BTreeSet<u64> = one.cut.intersection(&other.cut).copied().collect();
        let defects = |luck: &Luck| -> Vec<(u64, u16)> {
            luck.defects.iter().filter(|(pack, _)| cut.contains(pack)).copied().collect()
        };
        assert_eq!(defects(one), defects(other), "line {number}\n{text}");
        let picked: BTreeSet<u64> = one.picked.intersection(&other.picked).copied().collect();
        let dropped = |luck: &Luck| -> Vec<u64> {
            luck.dropped.iter().filter(|pack| picked.contains(pack)).copied().collect()
        };
        assert_eq!(dropped(one), dropped(other), "line {number}\n{text}");
        lines += 1;
        compared += defects(one).len() + dropped(one).len();
    }
    println!("{lines} lines, {compared} defects and drops that both have");
    assert!(lines >= 200 && compared >= 2000, "{lines} lines and {compared} events are too few to tell");
}

/// Weights of the portions by number, and lengths of the stops of one reason in the order in which they came.
fn weights_and_stops(line: &Line, reason: &str) -> (BTreeMap<u64, u64>, Vec<u64>) {
    let mut weights = BTreeMap::new();
    let (mut lengths, mut began) = (Vec::new(), None);
    for event in events_of(line, &RunPlan::shift(line), 11, Detail::Packs) {
        match event.kind {
            EventKind::Pack { step: PackStep::Portioned, item, weight_ug, .. } => {
                weights.insert(item, weight_ug);
            }
            EventKind::State { from, to, reason: now, .. } => {
                let is_repair = to == StationState::StoppedRepair && line.reason(now) == reason;
                if let Some(began) = began.take_if(|_| from == StationState::StoppedRepair && !is_repair) {
                    lengths.push(event.at.since(began).0);
                }
                if is_repair {
                    began = Some(event.at);
                }
            }
            _ => {}
        }
    }
    (weights, lengths)
}

#[test]
fn another_stop_and_a_larger_table_change_no_weight_and_no_stop_length() {
    let mut line = linewake_tests::load_model("alder-hill-mince");
    let (weights, jams) = weights_and_stops(&line, "case jam");
    for station in &mut line.stations {
        let added = station.stops.first().cloned();
        match &mut station.kind {
            StationKind::Accumulator(table) if !table.is_belt => table.capacity = 240,
            // Another mode before all others: it is not the first one's luck that it takes.
            StationKind::Loader(_) => {
                let mut stop = added.expect("the loader of the reference line has a stop");
                stop.reason = Reason::INJECTED;
                station.stops.insert(0, stop);
            }
            _ => {}
        }
    }
    let (other_weights, other_jams) = weights_and_stops(&line, "case jam");
    let both = weights.keys().filter(|portion| other_weights.contains_key(portion)).count();
    let differ = weights
        .iter()
        .filter(|(portion, weight)| other_weights.get(portion).is_some_and(|other| other != *weight));
    assert_eq!(differ.count(), 0, "of {both} weights");
    let common = jams.len().min(other_jams.len());
    assert_eq!(jams[..common], other_jams[..common]);
    assert!(both > 30_000 && common >= 5, "{both} weights and {common} stops are too few to tell");
}
