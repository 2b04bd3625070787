//! Tags and fail-safes on variants of the reference line: no tagged pack reaches a case, what vision missed does and is
//! counted; a shift register that is off by one position is noticed; every fail-safe fires at its count.

#![expect(clippy::print_stdout, reason = "the counts that a test prints say how much it has seen")]

use linewake_engine::plan::RunPlan;
use linewake_engine::{header, run};
use linewake_kpi::accumulator::Accumulator;
use linewake_log::event::{Counter, Detail, Event, EventKind, EventSink, Keep, PackStep, StationState};
use linewake_model::line::{Line, StationIndex};
use linewake_model::station::{FailSafe, StationKind};
use linewake_model::stop::Reason;
use linewake_model::time::Moment;
use linewake_stats::distribution::Distribution;
use linewake_tests::load_model;
use linewake_tests::pack_checker::{Totals, check};
use std::collections::{BTreeMap, BTreeSet};

const PICK_ROBOT: StationIndex = 5;

/// The reference line with a worse printer and a worse eye: of some 39,000 packs 6 % are misprinted, and every tenth
/// of these is missed.
fn misprinting() -> Line {
    let mut line = load_model("alder-hill-mince");
    for station in &mut line.stations {
        if let StationKind::Former(former) = &mut station.kind {
            if let Some(printer) = &mut former.printer {
                printer.p = 0.02;
            }
            if let Some(vision) = &mut former.vision {
                vision.sensitivity = 0.9;
            }
        }
    }
    line
}

fn events_of(line: &Line) -> Vec<Event> {
    let mut keep = Keep::new(Detail::Packs);
    run(line, &RunPlan::shift(line), 3, 0, &mut keep);
    keep.events
}

fn checked(line: &Line, events: &[Event]) -> Totals {
    check(line, &RunPlan::shift(line), events).unwrap_or_else(|what| panic!("{what}"))
}

/// Packs of the steps that fit.
fn packs(events: &[Event], wanted: impl Fn(StationIndex, PackStep, Reason) -> bool) -> BTreeSet<u64> {
    let of = |event: &Event| match event.kind {
        EventKind::Pack { step, item, reason, .. } => {
            wanted(usize::from(event.station), step, reason).then_some(item)
        }
        _ => None,
    };
    events.iter().filter_map(of).collect()
}

/// Moments at which an own stop of that reason begins at the station.
fn strikes(events: &[Event], station: StationIndex, wanted: Reason) -> Vec<Moment> {
    let mut now = Reason::NONE;
    let mut found = Vec::new();
    for event in events.iter().filter(|event| usize::from(event.station) == station) {
        if let EventKind::State { to, reason, .. } = event.kind {
            if to.is_own_stop() && reason == wanted && now != wanted {
                found.push(event.at);
            }
            now = reason;
        }
    }
    found
}

fn place(line: &Line, id: &str) -> StationIndex {
    line.station(id).unwrap_or_else(|| panic!("no station {id}"))
}

#[test]
fn no_tagged_pack_reaches_a_case_and_missed_ones_escape() {
    let line = misprinting();
    let events = events_of(&line);
    let tagged = packs(&events, |_, step, _| step == PackStep::Tagged);
    let cased = packs(&events, |_, step, _| step == PackStep::Cased);
    let misprinted = packs(&events, |_, step, reason| step == PackStep::Defect && reason == Reason::MISPRINT);
    assert!(tagged.len() >= 1000, "{} tagged packs are too few", tagged.len());
    assert_eq!(tagged.intersection(&cased).count(), 0);

    // Every tagged pack whose index was advanced out of the pick zone is in the robot's bin.
    let binned = packs(&events, |at, step, reason| {
        at == PICK_ROBOT && step == PackStep::Rejected && reason != Reason::DROPPED
    });
    assert_eq!(binned.difference(&tagged).count(), 0);
    let frame_of = |pack: &u64| pack / 8;
    let left: Vec<&u64> = tagged.difference(&binned).collect();
    let last_binned = binned.iter().next_back().map_or(0, frame_of);
    assert!(
        left.iter().all(|pack| frame_of(pack) > last_binned),
        "{left:?} are neither binned nor in the line"
    );

    // What vision missed and no gate looked for has been handed over by the metal detector, and is counted.
    let good_after = place(&line, "metal detector");
    let handed_over = packs(&events, |at, step, _| at > good_after && step == PackStep::Entered);
    let escaped: BTreeSet<u64> =
        misprinted.difference(&tagged).filter(|pack| handed_over.contains(*pack)).copied().collect();
    assert!(escaped.len() >= 100, "{} escaped packs are too few", escaped.len());
    assert!(escaped.intersection(&cased).count() >= 100);
    let totals = checked(&line, &events);
    let by_checker =
        totals.gains(good_after, Counter::Escaped).find(|(reason, _)| *reason == Reason::MISPRINT);
    assert_eq!(by_checker, Some((Reason::MISPRINT, escaped.len() as u64)));
    let mut accumulator = Accumulator::new(&header(&line, &RunPlan::shift(&line), 3, 0));
    events.iter().for_each(|event| accumulator.record(event));
    let result = accumulator.finish();
    let printed = result.packs.escaped.iter().find(|row| row.reason == "misprint").map(|row| row.packs);
    assert_eq!(printed, Some(escaped.len() as u64));
    println!("{} tagged, {} misprinted, {} escaped", tagged.len(), misprinted.len(), escaped.len());
}

/// The events with tags that go to the pack so many pockets on: those of the numbers in `which`, counted from 0. The
/// broken events bear the weight of the pack that they name, so that it is not the weight that gives them away.
fn with_shifted_tags(events: &[Event], pockets: i64, which: impl Fn(usize) -> bool) -> Vec<Event> {
    let weights: BTreeMap<u64, u64> = events
        .iter()
        .filter_map(|event| match event.kind {
            EventKind::Pack { step: PackStep::Cut, item, weight_ug, .. } => Some((item, weight_ug)),
            _ => None,
        })
        .collect();
    let mut events = events.to_vec();
    let tags = events
        .iter_mut()
        .filter(|event| matches!(event.kind, EventKind::Pack { step: PackStep::Tagged, .. }));
    for (number, event) in tags.enumerate() {
        if let EventKind::Pack { item, weight_ug, .. } = &mut event.kind
            && which(number)
        {
            *item = item.checked_add_signed(pockets).expect("tags come after the first index");
            *weight_ug = weights.get(item).copied().unwrap_or(*weight_ug);
        }
    }
    events
}

#[test]
fn a_shift_register_that_is_off_by_one_position_is_noticed() {
    let line = misprinting();
    let events = events_of(&line);
    let tags = packs(&events, |_, step, _| step == PackStep::Tagged).len();
    let plan = RunPlan::shift(&line);
    assert!(check(&line, &plan, &with_shifted_tags(&events, 0, |_| true)).is_ok(), "unbroken, it is right");
    // One index is 8 pockets: a position early or late, or a pocket to the side.
    for pockets in [8, -8, 1, -1] {
        let error =
            check(&line, &plan, &with_shifted_tags(&events, pockets, |_| true)).expect_err("all broken");
        println!("{pockets:+}: {error}");
        // A single one of them, too.
        for broken in [0, tags / 3, tags / 2, tags - 100] {
            let broken_events = with_shifted_tags(&events, pockets, |number| number == broken);
            assert!(check(&line, &plan, &broken_events).is_err(), "tag {broken} shifted by {pockets}");
        }
    }
}

#[test]
fn a_tag_that_is_not_obeyed_is_noticed() {
    let line = misprinting();
    let events = events_of(&line);
    let tags = packs(&events, |_, step, _| step == PackStep::Tagged);
    let victim = *tags.iter().nth(500).expect("there are over 1000 tags");
    // The same pack, picked instead of left behind.
    let mut broken = events.clone();
    let at = broken.iter().position(|event| {
        matches!(event.kind, EventKind::Pack { step: PackStep::Rejected, item, .. } if item == victim)
    });
    let at = at.expect("a tagged pack is rejected");
    if let EventKind::Pack { step, reason, .. } = &mut broken[at].kind {
        (*step, *reason) = (PackStep::Picked, Reason::NONE);
    }
    let error = check(&line, &RunPlan::shift(&line), &broken).expect_err("a tagged pack was picked");
    assert!(error.contains("tagged pack"), "{error}");
}

/// What a gate did with one pack: when, and whether it rejected it.
fn verdicts(events: &[Event], gate: StationIndex) -> Vec<(Moment, bool)> {
    let of = |event: &Event| match event.kind {
        EventKind::Pack { step: PackStep::Rejected, .. } if usize::from(event.station) == gate => {
            Some((event.at, true))
        }
        EventKind::Pack { step: PackStep::Entered, .. } if usize::from(event.station) == gate + 1 => {
            Some((event.at, false))
        }
        _ => None,
    };
    events.iter().filter_map(of).collect()
}

/// The reference line with nothing but its gates: no own stops, so that only fail-safes strike.
fn fail_safes_only() -> Line {
    let mut line = load_model("alder-hill-mince");
    for station in &mut line.stations {
        station.stops.clear();
    }
    line
}

#[test]
fn rejects_in_a_row_and_a_full_bin_stop_the_gate_at_their_counts() {
    let mut line = fail_safes_only();
    let gate = place(&line, "checkweigher");
    // Packs of 405 g in the mean against a limit of 403 g: about a third is rejected.
    if let StationKind::Gate(checkweigher) = &mut line.stations[gate].kind
        && let Some(weigher) = &mut checkweigher.weigher
    {
        weigher.low_g = Some(403.0);
    }
    let events = events_of(&line);
    let totals = checked(&line, &events);
    let (mut row, mut bin, mut rows_due, mut bins_due) = (0, 0, Vec::new(), 0);
    let (mut in_a_row, mut rejects) = (0, 0);
    for (at, rejected) in verdicts(&events, gate) {
        rejects += u64::from(rejected);
        (row, bin) = if rejected { (row + 1, bin + 1) } else { (0, bin) };
        if row == 5 {
            rows_due.push(at);
            (row, in_a_row) = (0, in_a_row + 1);
        }
        if bin == 60 {
            (bin, bins_due) = (0, bins_due + 1);
        }
    }
    assert_eq!(strikes(&events, gate, Reason::REJECTS_IN_ROW), rows_due);
    assert_eq!(strikes(&events, gate, Reason::BIN_FULL).len(), bins_due);
    let counts = |wanted: Reason| -> BTreeSet<u64> {
        let of =
            |(at, reason, count): &(usize, Reason, u64)| (*at == gate && *reason == wanted).then_some(*count);
        totals.strikes.iter().filter_map(of).collect()
    };
    assert_eq!(counts(Reason::REJECTS_IN_ROW), BTreeSet::from([5]));
    assert_eq!(counts(Reason::BIN_FULL), BTreeSet::from([60]));
    println!("{rejects} rejects, {in_a_row} rows of 5, {bins_due} bins of 60");
    assert!(in_a_row >= 10 && bins_due >= 50, "{in_a_row} rows and {bins_due} bins are too few");
}

#[test]
fn a_reject_that_completes_the_row_and_fills_the_bin_stops_for_the_row_first() {
    let mut line = fail_safes_only();
    let gate = place(&line, "checkweigher");
    if let StationKind::Gate(checkweigher) = &mut line.stations[gate].kind {
        // No pack passes, so the third reject is both.
        checkweigher.weigher.as_mut().expect("it weighs").low_g = Some(500.0);
        checkweigher.weigher.as_mut().expect("it weighs").high_g = None;
        let fail_safe = |count| Some(FailSafe { count, duration_s: Distribution::Constant { value: 20.0 } });
        (checkweigher.rejects_in_row, checkweigher.bin_full) = (fail_safe(3), fail_safe(3));
    }
    let events = events_of(&line);
    checked(&line, &events);
    let (rows, bins) =
        (strikes(&events, gate, Reason::REJECTS_IN_ROW), strikes(&events, gate, Reason::BIN_FULL));
    assert!(rows.len() >= 100, "{} strikes", rows.len());
    let third = verdicts(&events, gate).into_iter().skip(2).step_by(3).map(|(at, _)| at);
    assert!(rows.iter().copied().eq(third.take(rows.len())), "each third reject stops the gate");
    for (row, bin) in rows.iter().zip(&bins) {
        // The row is put right in 20 s once an operator is there (5 to 25 s; one who is there stays for the bin).
        let later = bin.since(*row).seconds();
        assert!((25.0..=45.0).contains(&later), "the bin follows after {later} s");
    }
}

#[test]
fn a_full_bin_of_the_metal_detector_is_emptied() {
    let mut line = fail_safes_only();
    let gate = place(&line, "metal detector");
    if let StationKind::Gate(detector) = &mut line.stations[gate].kind {
        detector.false_reject = 0.05;
    }
    let events = events_of(&line);
    let totals = checked(&line, &events);
    let rejects = packs(&events, |at, step, _| at == gate && step == PackStep::Rejected).len();
    let full = strikes(&events, gate, Reason::BIN_FULL).len();
    assert_eq!(full, rejects / 40, "{rejects} rejects");
    assert!(full >= 20, "{full} bins are too few");
    let here = totals.strikes.iter().filter(|(at, reason, _)| (*at, *reason) == (gate, Reason::BIN_FULL));
    assert!(here.clone().count() == full && here.clone().all(|(.., count)| *count == 40));
}

#[test]
fn the_vision_rule_stops_the_former_after_indexes_in_a_row_with_a_tag() {
    let mut line = fail_safes_only();
    let former_at = place(&line, "former");
    let duration_s = Distribution::Constant { value: 30.0 };
    if let StationKind::Former(former) = &mut line.stations[former_at].kind {
        former.stop_scrap = None;
        former.printer.as_mut().expect("it prints").p = 0.05;
        let vision = former.vision.as_mut().expect("it sees");
        vision.stop_rule = Some(FailSafe { count: 3, duration_s });
    }
    let events = events_of(&line);
    checked(&line, &events);
    // From the tags alone: indexes of 8 pockets, three in a row, counted afresh after each stop.
    let tagged: BTreeSet<u64> =
        packs(&events, |_, step, _| step == PackStep::Tagged).iter().map(|pack| pack / 8).collect();
    let (mut row, mut last, mut due) = (0, None, Vec::new());
    for index in tagged {
        row = if last.is_some_and(|last| last + 1 == index) { row + 1 } else { 1 };
        last = Some(index);
        if row == 3 {
            due.push(index);
            row = 0;
            last = None;
        }
    }
    let struck = strikes(&events, former_at, Reason::TAGS_IN_ROW);
    assert_eq!(struck.len(), due.len());
    assert!(struck.len() >= 20, "{} stops are too few", struck.len());
    // It strikes at the end of the cycle: vision stands at 9 and cut at 14, so the index that completes the row is
    // inspected 5 advances before its cut and 6 before it is in the pick zone; at the strike it has advanced once.
    for (index, at) in due.iter().zip(&struck) {
        let advanced: Vec<u64> = packs_entering(&events, *at).iter().map(|pack| pack / 8).collect();
        assert!(
            advanced.iter().all(|frame| frame + 5 == *index),
            "index {index}: {advanced:?} entered the pick zone"
        );
    }
}

/// Packs that come into the pick zone at that moment.
fn packs_entering(events: &[Event], at: Moment) -> BTreeSet<u64> {
    let then: Vec<Event> = events.iter().filter(|event| event.at == at).copied().collect();
    packs(&then, |station, step, _| station == PICK_ROBOT && step == PackStep::Entered)
}

#[test]
fn a_challenge_comes_at_each_multiple_of_its_interval_once_the_gate_is_empty() {
    let line = fail_safes_only();
    let gate = place(&line, "metal detector");
    let events = events_of(&line);
    checked(&line, &events);
    let mut tests: Vec<(Moment, Moment)> = Vec::new();
    for event in events.iter().filter(|event| usize::from(event.station) == gate) {
        match event.kind {
            EventKind::State { to: StationState::Planned, reason, .. } => {
                assert_eq!(reason, Reason::CHALLENGE);
                tests.push((event.at, event.at));
            }
            EventKind::State { from: StationState::Planned, .. } => {
                tests.last_mut().expect("it began").1 = event.at;
            }
            _ => {}
        }
    }
    // 8 h are 28,800 s: at 3600, 7200, ... 25,200 s.
    assert_eq!(tests.len(), 7);
    for (k, (began, ended)) in (1..).zip(&tests) {
        // A pack is in the gate for 0.4 s, unless the table behind it is full.
        let late = began.seconds() - 3600.0 * f64::from(k);
        assert!((0.0..=0.4).contains(&late), "test {k} begins {late} s late");
        let length = ended.since(*began).seconds();
        assert!((80.0..=130.0).contains(&length), "test {k} lasts {length} s");
    }
}
