//! Every pack that is drawn stands where the log of packs says: at random instants of random shifts the rule of places is
//! held against a reader of the log that shares nothing with it, and the script of the page against the rule.

use linewake_engine::plan::{InjectedStop, RunPlan};
use linewake_engine::run;
use linewake_log::event::{Detail, Event, EventKind, Keep, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use linewake_replay::place::{Place, Spot, places_at};
use linewake_replay::record::Recorder;
use linewake_replay::{ItemKind, Replay};
use linewake_stats::stream::Streams;
use linewake_tests::load_model;
use std::collections::BTreeMap;
use std::process::Command;

/// Instants in each of the windows below: 100 in all.
const INSTANTS: usize = 25;

/// A line, the log of a shift of it, what was recorded of it, and instants within the window.
struct Case {
    line: Line,
    events: Vec<Event>,
    replay: Replay,
    instants_us: Vec<u64>,
}

fn case(model: &str, seed: u64, from_s: u64, to_s: u64) -> Case {
    let line = load_model(model);
    let stop = |station, at_s, s: u64| InjectedStop {
        station,
        at: Moment(at_s * 1_000_000),
        duration: Span(s * 1_000_000),
    };
    let injected =
        vec![stop(line.constraint, from_s + 60, 45), stop(line.stations.len() - 1, from_s + 70, 90)];
    let plan = RunPlan { injected, ..RunPlan::shift(&line) };
    let mut keep = Keep::new(Detail::Packs);
    run(&line, &plan, seed, 0, &mut keep);
    let mut recorder =
        Recorder::new(&line, plan.horizon, Moment(from_s * 1_000_000), Moment(to_s * 1_000_000));
    run(&line, &plan, seed, 0, &mut recorder);
    let replay = recorder.finish();
    let mut dice = Streams::new(seed, 0).get("instants of a replay");
    let length = (to_s - from_s) * 1_000_000;
    let instants_us =
        (0..INSTANTS).map(|_| from_s * 1_000_000 + (dice.open01() * length as f64) as u64).collect();
    Case { line, events: keep.events, replay, instants_us }
}

/// The start of a shift, a window with two stops, one over a break, and a line of generic machines.
fn cases() -> Vec<Case> {
    vec![
        case("alder-hill-mince", 11, 0, 400),
        case("alder-hill-mince", 12, 4_700, 5_600),
        case("tern-quay-fish", 13, 14_200, 16_800),
        case("merrow-three-machines", 14, 1_000, 2_000),
    ]
}

/// Where the log says that a piece is.
#[derive(Clone, Copy, Debug)]
struct Seen {
    station: usize,
    came: u64,
    /// Order of coming, over all stations.
    order: usize,
    /// Packs of the same placement before it.
    placed_before: u64,
    picked: bool,
}

/// Everything in the line at that instant, by kind and number, and the advances so far: one pass over the log.
fn seen_at(line: &Line, events: &[Event], t: u64) -> (BTreeMap<(bool, u64), Seen>, u64) {
    let former = line.stations.iter().position(|it| matches!(it.kind, StationKind::Former(_)));
    let mut there: BTreeMap<(bool, u64), Seen> = BTreeMap::new();
    let mut advances = 0;
    for (order, event) in events.iter().enumerate().take_while(|(_, event)| event.at.0 <= t) {
        let EventKind::Pack { step, item, into, .. } = event.kind else { continue };
        let station = usize::from(event.station);
        let is_pack = former.is_none_or(|former| station >= former);
        let came = event.at.0;
        match step {
            PackStep::Portioned | PackStep::Entered => {
                let same = |seen: &&Seen| seen.station == station && seen.came == came;
                let placed_before = there.values().filter(same).count() as u64;
                there.insert((is_pack, item), Seen { station, came, order, placed_before, picked: false });
            }
            PackStep::Loaded => {
                there.remove(&(false, item));
                let station = station + 1;
                there.entry((true, into)).or_insert(Seen {
                    station,
                    came,
                    order,
                    placed_before: 0,
                    picked: false,
                });
            }
            PackStep::Picked => {
                if let Some(seen) = there.get_mut(&(true, item)) {
                    seen.picked = true;
                }
            }
            PackStep::Rejected | PackStep::Cased | PackStep::Left => {
                there.remove(&(is_pack, item));
            }
            PackStep::Advanced => advances = item,
            PackStep::Tipped | PackStep::Cut | PackStep::Defect | PackStep::Tagged | PackStep::Lost => {}
        }
    }
    (there, advances)
}

/// Time between two instants in which the station was in such a state.
fn time_in(
    events: &[Event],
    station: usize,
    from: u64,
    to: u64,
    counts: impl Fn(StationState, Reason) -> bool,
) -> u64 {
    let (mut since, mut counted, mut sum) = (0, false, 0);
    for event in events.iter().take_while(|event| event.at.0 <= to) {
        if let EventKind::State { to: state, reason, .. } = event.kind
            && usize::from(event.station) == station
        {
            if counted {
                sum += event.at.0.saturating_sub(from.max(since));
            }
            (since, counted) = (event.at.0, counts(state, reason));
        }
    }
    if counted { sum + to.saturating_sub(from.max(since)) } else { sum }
}

fn check(case: &Case, t: u64, places: &[Place]) {
    let Case { line, events, replay, .. } = case;
    let (there, advances) = seen_at(line, events, t);
    assert_eq!(places.len(), there.len(), "{}: pieces in the line at {t} us", line.name);
    for place in places {
        let item = &replay.items[place.item];
        let key = (item.kind == ItemKind::Pack, item.number);
        let seen = there.get(&key).unwrap_or_else(|| panic!("{key:?} is not in the line at {t} us"));
        assert_eq!(place.station, seen.station, "{key:?} at {t} us");
        let before = there.values().filter(|it| it.station == seen.station && it.order < seen.order).count();
        let behind = there.values().filter(|it| it.station == seen.station && it.order > seen.order).count();
        let what = format!("{}: {key:?} at {t} us: {:?}", line.name, place.spot);
        match (&line.stations[seen.station].kind, &place.spot) {
            (StationKind::Accumulator(belt), Spot::Along(along)) => {
                let first = (0..line.stations.len()).find(|&it| replay.stations[it].has_states).unwrap_or(0);
                let stood = if replay.stations[seen.station].has_states {
                    time_in(events, seen.station, seen.came, t, |state, _| {
                        state.is_own_stop() || state == StationState::Planned
                    })
                } else {
                    time_in(events, first, seen.came, t, |_, reason| reason == Reason::BREAK)
                };
                let carried = (t - seen.came - stood) as f64 / belt.transit.0 as f64;
                let queue = 1.0 - before as f64 / f64::from(belt.capacity);
                let due = if belt.transit == Span::ZERO { queue } else { carried.min(queue).min(1.0) };
                assert!((along - due).abs() < 1e-9, "{what}, not {due}");
            }
            (StationKind::RigidBelt(belt), Spot::Along(along)) => {
                let moved =
                    time_in(events, seen.station, seen.came, t, |state, _| state == StationState::Running);
                let metres = moved as f64 / 1e6 * belt.speed_m_s - seen.placed_before as f64 * belt.pitch_m;
                let due = (metres / belt.length_m).clamp(0.0, 1.0);
                // Times of a pitch and of the transit are rounded to microseconds.
                assert!((along - due).abs() < 1e-5, "{what}, not {due}");
            }
            (StationKind::Loader(loader), Spot::Array { lane, row, complete }) => {
                let array = (loader.lanes * loader.array_rows) as usize;
                assert_eq!((lane * loader.array_rows + row) as usize, before % array, "{what}");
                // Whole once the last portion of its file is there, on B if that belongs to the first array.
                let file_end = (before / loader.array_rows as usize + 1) * loader.array_rows as usize;
                assert_eq!(*complete, before < array && file_end <= before + 1 + behind, "{what}");
            }
            (StationKind::Former(former), Spot::Web { position, lane, row }) => {
                let frame = item.number / former.pockets() as u64;
                let stands = f64::from(former.positions.cut) + advances as f64 - frame as f64;
                assert_eq!(
                    u64::from(lane * former.rows_per_index + row),
                    item.number % former.pockets() as u64
                );
                // How much running time is left to the advance: less than one means that the web moves.
                let next = events.iter().find(|event| {
                    event.at.0 > t && matches!(event.kind, EventKind::Pack { step: PackStep::Advanced, .. })
                });
                let part = next.map_or(0.0, |next| {
                    let left = time_in(events, seen.station, t, next.at.0, |state, _| {
                        state == StationState::Running
                    });
                    (1.0 - left as f64 / former.advance.0 as f64).clamp(0.0, 1.0)
                });
                assert!((position - stands - part).abs() < 1e-9, "{what}, not {stands} + {part}");
            }
            (StationKind::PickRobot(_), Spot::Web { position, .. }) => {
                assert!(!seen.picked && position.fract() < 1e-12, "{what}");
            }
            (StationKind::PickRobot(_), Spot::Gripper { .. }) => assert!(seen.picked, "{what}"),
            (StationKind::CasePacker(_), Spot::Lane(place)) => assert_eq!(*place as usize, before, "{what}"),
            (
                StationKind::Portioner(_)
                | StationKind::Gate(_)
                | StationKind::Machine(_)
                | StationKind::Arrivals(_),
                Spot::Inside,
            ) => assert_eq!(before + behind, 0, "{what}: one piece at a time"),
            (kind, spot) => panic!("{what}: {spot:?} in {kind:?}"),
        }
    }
}

#[test]
fn at_random_instants_every_pack_stands_where_its_log_says() {
    let mut drawn = 0;
    for case in cases() {
        for &t in &case.instants_us {
            let places = places_at(&case.replay, t);
            drawn += places.len();
            check(&case, t, &places);
        }
    }
    assert!(drawn > 5_000, "{drawn} places were checked");
}

/// The place as one row: number, station, then what the script calls it and where.
fn row(replay: &Replay, place: &Place) -> serde_json::Value {
    use serde_json::json;
    let number = replay.items[place.item].number;
    let spot = match &place.spot {
        Spot::Inside => json!({ "spot": "inside" }),
        Spot::Along(along) => json!({ "spot": "along", "along": along }),
        Spot::Array { lane, row, complete } => {
            json!({ "spot": "array", "lane": lane, "row": row, "complete": complete })
        }
        Spot::Web { position, lane, row } => {
            json!({ "spot": "web", "position": position, "lane": lane, "row": row })
        }
        Spot::Gripper { lane, row } => json!({ "spot": "gripper", "lane": lane, "row": row }),
        Spot::Lane(before) => json!({ "spot": "lane", "before": before }),
    };
    json!([number, place.station, spot])
}

/// Both are 64-bit arithmetic of the same order, so they agree to the last bit, up to how numbers are printed.
fn same(one: &serde_json::Value, other: &serde_json::Value) -> bool {
    use serde_json::Value::{Array, Number, Object};
    match (one, other) {
        (Number(one), Number(other)) => {
            one.as_f64().zip(other.as_f64()).is_some_and(|(one, other)| (one - other).abs() < 1e-12)
        }
        (Array(one), Array(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
        }
        (Object(one), Object(other)) => {
            one.len() == other.len()
                && one.iter().all(|(key, value)| other.get(key).is_some_and(|other| same(value, other)))
        }
        _ => one == other,
    }
}

/// Runs the script of the page under Node.js, which the tests need anyway to drive a browser.
#[test]
fn the_script_of_the_page_puts_every_pack_where_the_rule_does() {
    let folder = std::env::temp_dir().join(format!("linewake-replay-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("replay.mjs"), linewake_replay::script::module()).unwrap();
    let script = "import { readFileSync } from 'node:fs';\n\
        import { placesAt } from './replay.mjs';\n\
        const { replay, instants_us } = JSON.parse(readFileSync(process.argv[2], 'utf8'));\n\
        const rows = instants_us.map((t) => placesAt(replay, t).map(({ item, station, ...spot }) =>\n\
          [replay.items[item].number, station, spot]));\n\
        process.stdout.write(JSON.stringify(rows));\n";
    std::fs::write(folder.join("places.mjs"), script).unwrap();
    for case in cases() {
        let input = serde_json::json!({ "replay": case.replay, "instants_us": case.instants_us });
        std::fs::write(folder.join("input.json"), input.to_string()).unwrap();
        let output = Command::new("node")
            .arg(folder.join("places.mjs"))
            .arg(folder.join("input.json"))
            .output()
            .expect("Node.js is needed, as for the tests in a browser (see .ci/test)");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let drawn: Vec<Vec<serde_json::Value>> = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(drawn.len(), case.instants_us.len());
        for (&t, drawn) in case.instants_us.iter().zip(&drawn) {
            let due: Vec<serde_json::Value> =
                places_at(&case.replay, t).iter().map(|place| row(&case.replay, place)).collect();
            assert_eq!(due.len(), drawn.len());
            for (due, drawn) in due.iter().zip(drawn) {
                assert!(same(due, drawn), "{} at {t} us: {drawn}, not {due}", case.line.name);
            }
        }
    }
    std::fs::remove_dir_all(&folder).unwrap();
}
