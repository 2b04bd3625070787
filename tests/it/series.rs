//! Generic stations in series: the engine, a bare event loop and the recursion of departure times give the same
//! departures of every piece from every station, to the microsecond. The benches hold their times beside each other,
//! which says something only if all three do the same work.

use linewake_benches::series::{Series, bare_loop, least_in_pairs, least_in_turn, recursion};
use linewake_benches::{parse, stations_in_series, ten_stations};
use linewake_engine::plan::RunPlan;
use linewake_log::event::{Detail, Event, EventKind, EventSink, Forget, PackStep};
use linewake_model::line::Line;
use linewake_model::time::Moment;
use serde_json::json;

/// Departures in microseconds: for each station those of its pieces in turn.
type Departures = Vec<Vec<u64>>;

/// When pieces come into each place of the line (machines and buffers), and when they leave the last one.
struct Steps {
    entered: Departures,
    left: Vec<u64>,
}

impl EventSink for Steps {
    fn detail(&self) -> Detail {
        Detail::Packs
    }
    fn record(&mut self, event: &Event) {
        let EventKind::Pack { step, item, .. } = event.kind else {
            return;
        };
        let times = match step {
            PackStep::Entered => &mut self.entered[usize::from(event.station)],
            PackStep::Left => &mut self.left,
            other => panic!("no {other:?} on such a line"),
        };
        assert_eq!(item, times.len() as u64, "pieces come in their order, each once");
        times.push(event.at.0);
    }
}

/// Departures by the engine from the machines, and from the buffers between them, of pieces that leave up to that moment.
fn by_engine(line: &Line, seed: u64, last: u64) -> (Departures, Departures) {
    let plan = RunPlan { horizon: Moment(last + 1), ..RunPlan::shift(line) };
    let places = line.stations.len();
    let mut steps = Steps { entered: vec![Vec::new(); places], left: Vec::new() };
    linewake_engine::run(line, &plan, seed, 0, &mut steps);
    // What leaves a place comes into the next one at that moment. A buffer without places is none: pieces go past it.
    let from = |place: usize| match steps.entered.get(place + 1) {
        Some(entered) if entered.is_empty() => steps.entered[place + 2].clone(),
        Some(entered) => entered.clone(),
        None => steps.left.clone(),
    };
    ((0..places).step_by(2).map(from).collect(), (1..places).step_by(2).map(from).collect())
}

/// Holds the three against each other over so many pieces that leave the line.
fn agree(line: &Line, seed: u64, pieces: usize) {
    let series = || Series::new(line, seed, 0);
    let mut by_recursion: Departures = vec![Vec::new(); series().stations()];
    recursion(series(), pieces as u64, |station, at| by_recursion[station].push(at));
    let last = by_recursion.last().and_then(|times| times.last().copied()).expect("pieces");

    let by_loop = |least: fn(&[u64]) -> u64| {
        let mut departures: Departures = vec![Vec::new(); series().stations()];
        bare_loop(series(), pieces as u64, least, |station, at| departures[station].push(at));
        departures
    };
    let (by_loop, by_plain_loop) = (by_loop(least_in_pairs), by_loop(least_in_turn));
    let (by_engine, from_buffers) = by_engine(line, seed, last);

    for (station, expected) in by_recursion.iter().enumerate() {
        assert_eq!(expected.len(), pieces);
        let others = [
            ("bare loop", &by_loop[station]),
            ("bare loop with the plain search", &by_plain_loop[station]),
            ("engine", &by_engine[station]),
        ];
        for (name, times) in others {
            // Upstream some pieces more are on their way.
            assert!(times.len() >= pieces, "{name}, station {}: {} pieces", station + 1, times.len());
            if let Some(piece) = (0..pieces).find(|piece| times[*piece] != expected[*piece]) {
                panic!(
                    "{name}, station {}: piece {piece} leaves at {} us, by the recursion at {} us",
                    station + 1,
                    times[piece],
                    expected[piece]
                );
            }
        }
    }
    // A piece leaves its buffer when it is there and the station behind has let go of the one before.
    for (buffer, times) in from_buffers.iter().enumerate() {
        for piece in 0..pieces {
            let free = piece.checked_sub(1).map_or(0, |before| by_recursion[buffer + 1][before]);
            assert_eq!(times[piece], by_recursion[buffer][piece].max(free), "buffer {}", buffer + 1);
        }
    }
}

#[test]
fn ten_stations_engine_bare_loop_and_recursion_give_the_same_departures() {
    agree(&stations_in_series(10), 1, 43_200);
}

#[test]
fn so_do_longer_and_shorter_lines() {
    for (stations, seed) in [(4, 2), (5, 3), (23, 4)] {
        agree(&stations_in_series(stations), seed, 4_000);
    }
}

/// Equal times in whole seconds and repairs of whole seconds, so that stations finish, fail and are repaired at the
/// same moment; each buffer with its own number of places, from none up; stops every few pieces.
#[test]
fn so_do_lines_full_of_equal_moments_and_stops() {
    let mut model = ten_stations();
    let stations = model["stations"].as_array_mut().expect("stations");
    for (place, station) in stations.iter_mut().enumerate() {
        if place % 2 == 1 {
            station["accumulating_table"]["capacity"] = json!([0, 1, 2, 7, 0, 3, 1, 4, 12][place / 2]);
            continue;
        }
        station["machine"]["process"] = json!("1 s");
        let stop = &mut station["machine"]["stops"][0];
        stop["after"]["running_time"] = json!({ "geometric": { "mean": 6, "step": "0.5 s" } });
        stop["duration"] =
            if place % 4 == 0 { json!("2 s") } else { json!({ "geometric": { "mean": 3, "step": "1 s" } }) };
    }
    let line = parse("equal moments", &model.to_string());
    for seed in 1..=5 {
        agree(&line, seed, 4_000);
    }
}

/// A station's motion ends once for each piece that it finishes, and the events by kind are all events.
#[test]
fn events_by_kind_add_up_and_are_one_for_each_piece() {
    let (line, pieces) = (stations_in_series(4), 2_000);
    let mut last = 0;
    recursion(Series::new(&line, 1, 0), pieces, |_, at| last = at);
    let plan = RunPlan { horizon: Moment(last + 1), ..RunPlan::shift(&line) };
    let counts = linewake_engine::count_events(&line, &plan, 1, 0, Forget);
    let all: u64 = counts.iter().map(|row| row.count).sum();
    assert_eq!(all, linewake_engine::run(&line, &plan, 1, 0, Forget).events);
    let of = |station: &str, kind: &str| {
        let rows = counts.iter().filter(|row| row.station == line.station(station) && row.kind == kind);
        rows.map(|row| row.count).sum::<u64>()
    };
    assert_eq!(of("station 4", "motion ends"), pieces);
    for station in ["station 1", "station 2", "station 3", "station 4"] {
        // Upstream some pieces more are finished: those in the buffers and in the stations.
        assert!((pieces..pieces + 3 * 6).contains(&of(station, "motion ends")), "{station}");
        // The last stop may not be over at the end.
        let (struck, over) = (of(station, "stop strikes"), of(station, "stop ends"));
        assert!(struck > 0 && (over == struck || over + 1 == struck), "{station}: {struck}, {over}");
    }
}
