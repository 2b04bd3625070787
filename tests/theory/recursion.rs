//! A second way to the same departures: for a reliable line in series the times at which pieces leave follow from those
//! of the pieces before them, without a clock or events. With the engine's own draws the two agree to the microsecond.
//!
//! With C(i, k) the end of service of piece k at station i, D(i, k) its departure, S(i, k) its start, b places behind i:
//!
//! - blocking after service: S(i, k) = max(D(i-1, k), D(i, k-1)); D(i, k) = max(C(i, k), S(i+1, k-b)), without storage
//!   D(i, k) = max(C(i, k), D(i+1, k-1));
//! - blocking before service: S(i, k) = max(C(i-1, k), C(i, k-1), S(i+1, k-b)): no start without a place for the piece;
//!   D = C.
//!
//! *Source*: Buzacott and Shanthikumar (1993), Stochastic Models of Manufacturing Systems, section 5 (from memory);
//! derived anew here. Before service with b places is after service with b - 1: D(i, k-1) >= S(i+1, k-1-(b-1)).

use linewake_engine::plan::RunPlan;
use linewake_log::event::{Detail, Event, EventKind, EventSink, PackStep};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::time::{Moment, Span};
use linewake_stats::stream::Streams;

/// When a station is blocked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Blocking {
    AfterService,
    BeforeService,
}

/// Departures from the last station in microseconds, for so many places behind each station but the last.
pub(crate) fn departures(
    line: &Line,
    places: &[usize],
    blocking: Blocking,
    seed: u64,
    replication: u64,
    pieces: usize,
) -> Vec<u64> {
    let streams = Streams::new(seed, replication);
    let mut services: Vec<_> = line
        .stations
        .iter()
        .filter_map(|station| match &station.kind {
            StationKind::Machine(machine) => {
                Some((machine.process_s.clone(), streams.get(&format!("{}/process", station.id))))
            }
            _ => None,
        })
        .collect();
    let count = services.len();
    assert_eq!(places.len() + 1, count);
    let mut start = vec![vec![0_u64; pieces]; count];
    let mut end = start.clone();
    let mut leave = start.clone();
    for piece in 0..pieces {
        for station in 0..count {
            let (service, stream) = &mut services[station];
            let length = Span::from_seconds(service.sample(stream)).0;
            let before = piece.checked_sub(1);
            let arrives = station.checked_sub(1).map_or(0, |from| leave[from][piece]);
            let free = before.map_or(0, |before| leave[station][before]);
            let begin = arrives.max(free);
            // The piece whose start at the next station frees the place for this one.
            let frees = places.get(station).and_then(|places| piece.checked_sub(*places));
            match blocking {
                Blocking::AfterService => {
                    start[station][piece] = begin;
                    end[station][piece] = begin + length;
                    let room = match (places.get(station), frees, before) {
                        (Some(0), _, Some(before)) => leave[station + 1][before],
                        (Some(0), _, None) | (None, ..) | (_, None, _) => 0,
                        (_, Some(frees), _) => start[station + 1][frees],
                    };
                    leave[station][piece] = end[station][piece].max(room);
                }
                Blocking::BeforeService => {
                    let room = frees.map_or(0, |frees| start[station + 1][frees]);
                    start[station][piece] = begin.max(room);
                    end[station][piece] = start[station][piece] + length;
                    leave[station][piece] = end[station][piece];
                }
            }
        }
    }
    leave.pop().expect("at least one station")
}

/// Departures as the engine tells them, up to that moment.
pub(crate) fn departures_of_engine(line: &Line, until: Moment, seed: u64, replication: u64) -> Vec<u64> {
    struct Departures(Vec<u64>);
    impl EventSink for Departures {
        fn detail(&self) -> Detail {
            Detail::Packs
        }
        fn record(&mut self, event: &Event) {
            if matches!(event.kind, EventKind::Pack { step: PackStep::Left, .. }) {
                self.0.push(event.at.0);
            }
        }
    }
    let plan = RunPlan { horizon: until, ..RunPlan::shift(line) };
    let mut departures = Departures(Vec::new());
    linewake_engine::run(line, &plan, seed, replication, &mut departures);
    departures.0
}
