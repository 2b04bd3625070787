//! Generic stations in series, worked out without the engine: by a bare event loop, and by the recursion of departure
//! times. Both draw their stops from the streams that the engine draws from, so that all three see the same stops.
//!
//! What such a line does: a station works on one piece at a time; a finished piece stays in it until the buffer behind
//! it has room (blocking after service); stops come on running time, so in the middle of a piece, whose work then goes on
//! where it was left. The first station is never dry, the last never full.

use linewake_model::line::Line;
use linewake_model::station::{Station, StationKind, UNLIMITED};
use linewake_model::stop::Basis;
use linewake_model::time::Span;
use linewake_stats::distribution::Distribution;
use linewake_stats::stream::{Stream, Streams};

/// A line of generic stations with constant process times, and its luck up to here.
#[derive(Debug)]
pub struct Series {
    /// Constant process time of each station in microseconds.
    process: Vec<u64>,
    /// Places in the buffer behind each station but the last.
    places: Vec<usize>,
    stops: Vec<Stops>,
}

/// The stops of one station: running time between them, and how long they take.
#[derive(Debug)]
struct Stops {
    between: Distribution,
    between_stream: Stream,
    duration: Distribution,
    duration_stream: Stream,
}

impl Stops {
    fn running_time(&mut self) -> u64 {
        Span::from_seconds(self.between.sample(&mut self.between_stream)).0
    }

    fn length(&mut self) -> u64 {
        Span::from_seconds(self.duration.sample(&mut self.duration_stream)).0
    }
}

impl Series {
    /// The line as one replication of a seed meets it.
    ///
    /// # Panics
    /// If the line is another one: not machines and buffers by turns, a process time that is drawn, a buffer that has more
    /// than places, or other than one unattended stop on running time at each machine.
    #[must_use]
    pub fn new(line: &Line, seed: u64, replication: u64) -> Self {
        let streams = Streams::new(seed, replication);
        let mut series = Self { process: Vec::new(), places: Vec::new(), stops: Vec::new() };
        for (place, station) in line.stations.iter().enumerate() {
            match &station.kind {
                StationKind::Machine(machine) if place % 2 == 0 => {
                    let Distribution::Constant { value } = machine.process_s else {
                        panic!("{}: the process time must be constant", station.id);
                    };
                    series.process.push(Span::from_seconds(value).0);
                    series.stops.push(stops_of(line, station, &streams));
                }
                StationKind::Accumulator(buffer) if place % 2 == 1 => {
                    let plain = buffer.transit == Span::ZERO
                        && buffer.release == Span::ZERO
                        && buffer.restart_at.is_none()
                        && buffer.capacity != UNLIMITED;
                    assert!(plain, "{}: a buffer must have places, and nothing else", station.id);
                    series.places.push(buffer.capacity as usize);
                }
                _ => panic!("{}: machines and buffers must take turns", station.id),
            }
        }
        assert_eq!(series.places.len() + 1, series.process.len(), "the line ends with a machine");
        series
    }

    /// How many stations work on pieces; buffers are not counted.
    #[must_use]
    pub fn stations(&self) -> usize {
        self.process.len()
    }
}

fn stops_of(line: &Line, station: &Station, streams: &Streams) -> Stops {
    let [stop] = &station.stops[..] else {
        panic!("{}: one stop", station.id);
    };
    assert!(
        stop.basis == Basis::RunningTime && !stop.attended,
        "{}: unattended, on running time",
        station.id
    );
    let stream = |what| streams.get(&format!("{}/stop {}/{what}", station.id, line.reason(stop.reason)));
    Stops {
        between: stop.between.clone(),
        between_stream: stream("between"),
        duration: stop.duration_s.clone(),
        duration_stream: stream("duration"),
    }
}

/// What a station of the bare loop has under way.
#[derive(Clone, Copy, PartialEq)]
enum Doing {
    /// Works, and finishes its piece next.
    Finishes,
    /// Works, and a stop strikes first.
    Fails,
    /// Is being put right.
    Repaired,
    /// Waits for a piece.
    Starved,
    /// Waits for room.
    Blocked,
}

/// Bits of a due time's key that hold the station.
const STATION_BITS: u32 = 8;

/// Keys that [`least_in_pairs`] takes at once; the bare loop has a multiple of it.
const BLOCK: usize = 16;

/// The smallest key, by comparing one after the other: the search that is written first. Which of them is the smallest
/// cannot be foreseen, so that it waits for the branches.
#[must_use]
pub fn least_in_turn(keys: &[u64]) -> u64 {
    keys.iter().fold(u64::MAX, |least, key| least.min(*key))
}

/// The smallest key, by comparing pairs, then pairs of pairs: no comparison waits for the one before it. The search of
/// somebody who has looked at the time that the first one takes.
#[must_use]
pub fn least_in_pairs(keys: &[u64]) -> u64 {
    let least = |block: &[u64; BLOCK]| {
        let pair = |at: usize| block[at].min(block[at + 8]);
        let four = |at: usize| pair(at).min(pair(at + 4));
        four(0).min(four(1)).min(four(2).min(four(3)))
    };
    keys.as_chunks::<BLOCK>().0.iter().map(least).fold(u64::MAX, u64::min)
}

/// A hand-written event loop for this one line: arrays, and no more. `least` finds the smallest of the keys, a multiple of 16
/// of them. Tells of each piece that leaves a station which station and when (microseconds), in the order of time, until
/// so many pieces have left the last one. Returns how many events it worked off.
///
/// # Panics
/// With 256 stations or more.
pub fn bare_loop(
    mut series: Series,
    pieces: u64,
    least: impl Fn(&[u64]) -> u64,
    mut leaves: impl FnMut(usize, u64),
) -> u64 {
    let count = series.process.len();
    assert!(count < 1 << STATION_BITS, "more stations than a key holds");
    let mut due = vec![u64::MAX; count.next_multiple_of(BLOCK)];
    let mut doing = vec![Doing::Starved; count];
    let mut content = vec![0; count];
    let mut work_left = vec![0; count];
    let mut until_stop: Vec<u64> = series.stops.iter_mut().map(Stops::running_time).collect();
    let (mut left, mut events) = (0, 0);
    // The station works on, so much of its piece being left, until the piece is finished or a stop strikes.
    macro_rules! work {
        ($station:expr, $now:expr, $work:expr) => {{
            let (station, now, work): (usize, u64, u64) = ($station, $now, $work);
            let next = if until_stop[station] <= work {
                doing[station] = Doing::Fails;
                work_left[station] = work - until_stop[station];
                until_stop[station]
            } else {
                doing[station] = Doing::Finishes;
                until_stop[station] -= work;
                work
            };
            due[station] = (now + next) << STATION_BITS | station as u64;
        }};
    }
    work!(0, 0, series.process[0]);
    while left < pieces {
        let key = least(&due);
        let (now, mut station) = (key >> STATION_BITS, (key & ((1 << STATION_BITS) - 1)) as usize);
        events += 1;
        match doing[station] {
            Doing::Fails => {
                doing[station] = Doing::Repaired;
                due[station] = (now + series.stops[station].length()) << STATION_BITS | station as u64;
                continue;
            }
            Doing::Repaired => {
                until_stop[station] = series.stops[station].running_time();
                work!(station, now, work_left[station]);
                continue;
            }
            Doing::Finishes | Doing::Starved | Doing::Blocked => {}
        }
        // The finished piece goes on: out of the line, to a station that waits for it, or into the buffer.
        if station + 1 == count {
            left += 1;
        } else if doing[station + 1] == Doing::Starved {
            work!(station + 1, now, series.process[station + 1]);
        } else if content[station] < series.places[station] {
            content[station] += 1;
        } else {
            doing[station] = Doing::Blocked;
            due[station] = u64::MAX;
            continue;
        }
        leaves(station, now);
        // It takes the next piece; that makes room for the station before it, if that one is blocked, and so on upstream.
        while let Some(before) = station.checked_sub(1) {
            let blocked = doing[before] == Doing::Blocked;
            if content[before] == 0 && !blocked {
                doing[station] = Doing::Starved;
                due[station] = u64::MAX;
                break;
            }
            work!(station, now, series.process[station]);
            if !blocked {
                content[before] -= 1;
                break;
            }
            leaves(before, now);
            station = before;
        }
        if station == 0 {
            work!(0, now, series.process[0]);
        }
    }
    events
}

/// The recursion of departure times, with stops as part of the work on the piece that they strike. With D(i, n) the
/// departure of piece n from station i and b places behind it:
/// D(i, n) = max(max(D(i - 1, n), D(i, n - 1)) + work(i, n), D(i + 1, n - b - 1)).
///
/// Tells of each piece that leaves a station which station and when (microseconds), piece after piece.
///
/// *Source*: Buzacott and Shanthikumar (1993), Stochastic Models of Manufacturing Systems, section 5 (from memory);
/// derived anew here.
pub fn recursion(mut series: Series, pieces: u64, mut leaves: impl FnMut(usize, u64)) {
    let count = series.process.len();
    let mut until_stop: Vec<u64> = series.stops.iter_mut().map(Stops::running_time).collect();
    // Departures of the last pieces, a row for each: as many as any buffer looks back, the piece itself, and one.
    let rows = series.places.iter().max().map_or(0, |most| most + 1) + 1;
    let mut departures = vec![0; rows * count];
    // Where station i finds D(i + 1, n - b - 1), as a distance back from D(i, n) in a ring of rows.
    let back: Vec<usize> = series.places.iter().map(|places| (places + 1) * count - 1).collect();
    let mut row = 0;
    for _ in 0..pieces {
        let mut arrives = 0;
        let before = if row == 0 { (rows - 1) * count } else { row - count };
        for station in 0..count {
            let mut work = series.process[station];
            if until_stop[station] <= work {
                work += stops_during(&mut series.stops[station], &mut until_stop[station], work);
            } else {
                until_stop[station] -= work;
            }
            let finished = departures[before + station].max(arrives) + work;
            let room = match back.get(station) {
                Some(back) => {
                    let here = row + station;
                    departures[if here >= *back { here - back } else { here + rows * count - back }]
                }
                None => 0,
            };
            arrives = finished.max(room);
            departures[row + station] = arrives;
            leaves(station, arrives);
        }
        row = if row + count == rows * count { 0 } else { row + count };
    }
}

/// Length of all stops that strike during so much work; leaves the running time until the next one.
#[cold]
fn stops_during(stops: &mut Stops, until_stop: &mut u64, mut work: u64) -> u64 {
    let mut stopped = 0;
    while *until_stop <= work {
        work -= *until_stop;
        stopped += stops.length();
        *until_stop = stops.running_time();
    }
    *until_stop -= work;
    stopped
}
