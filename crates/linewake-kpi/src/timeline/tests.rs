//! One shift over time: bands, cells and wakes worked by hand, and any run of states.

use super::*;
use crate::accumulator::Accumulator;
use crate::tests::story::{
    Blocked, FORMER, GATE, JAM, LOADER, PACKER, PORTIONER, ROBOT, Running, Starved, StoppedRepair,
    StoppedWaiting, Story, TABLE, facts,
};
use linewake_log::event::{Counter, Event, EventKind, EventSink, NO_CONTENT, StationState};
use linewake_log::header::{LineFacts, StationFacts};
use linewake_model::stop::Reason;
use proptest::prelude::*;

fn timeline(facts: &LineFacts, events: &[Event]) -> ShiftTimeline {
    let end = events.last().map_or(Moment::ZERO, |event| event.at);
    let mut timeline = Timeline::of(facts, end.since(Moment::ZERO));
    for event in events {
        timeline.record(event);
    }
    timeline.finish()
}

fn seconds(span: Span) -> f64 {
    span.seconds()
}

/// An hour of the tests' line: a jam of the former of 10 min, with the wake that it has up- and downstream.
fn story_of_a_jam() -> Story {
    let mut story = Story::new();
    story.stop(600.0, FORMER, StoppedWaiting, JAM).at(600.0, LOADER, Blocked);
    story.at(603.0, ROBOT, Starved).at(612.0, GATE, Starved).stop(630.0, FORMER, StoppedRepair, JAM);
    // The belt before the loader fills; then the portioner stands. The table before the packer runs empty.
    story.at(720.0, PORTIONER, Blocked).at(900.0, PACKER, Starved);
    story.at(1200.0, FORMER, Running).at(1201.0, LOADER, Running).at(1204.0, PORTIONER, Running);
    story.at(1205.0, ROBOT, Running).at(1217.0, GATE, Running).at(1230.0, PACKER, Running);
    // A wait that belongs to something else.
    story.at(2000.0, PACKER, Starved).at(2100.0, PACKER, Running);
    story.end(3600.0);
    story
}

#[test]
fn the_wake_of_the_longest_stop_is_followed_both_ways() {
    let story = story_of_a_jam();
    let shift = timeline(&facts(), &story.events);
    let wake = shift.wake.as_ref().expect("there was a stop");
    assert_eq!((wake.station.as_str(), wake.reason.as_str()), ("former", "jam"));
    assert_eq!((wake.start.seconds(), wake.end.seconds()), (600.0, 1200.0));
    let reaches: Vec<_> = wake
        .reaches
        .iter()
        .map(|it| (it.station.as_str(), it.state, it.start.seconds(), it.end.seconds(), seconds(it.waited)))
        .collect();
    assert_eq!(
        reaches,
        [
            ("portioner", BandState::Blocked, 720.0, 1204.0, 484.0),
            ("loader", BandState::Blocked, 600.0, 1201.0, 601.0),
            ("robot", BandState::Starved, 603.0, 1205.0, 602.0),
            // The rigid belt between the robot and the gate ran on, empty: it is passed through.
            ("checkweigher", BandState::Starved, 612.0, 1217.0, 605.0),
            ("packer", BandState::Starved, 900.0, 1230.0, 330.0),
        ]
    );
    assert_eq!(wake.stopped, Span(600_000_000));
}

/// A stop that a break interrupts is as long as what was seen of it, and the longest is chosen by that.
#[test]
fn a_break_does_not_make_a_stop_longer() {
    let mut story = Story::new();
    story.stop(100.0, FORMER, StoppedRepair, JAM).stop(200.0, FORMER, StationState::Planned, Reason::BREAK);
    story.stop(2000.0, FORMER, StoppedRepair, JAM).at(2050.0, FORMER, Running);
    story.stop(3000.0, LOADER, StoppedRepair, JAM).at(3200.0, LOADER, Running);
    story.end(3600.0);
    let wake = timeline(&facts(), &story.events).wake.expect("there was a stop");
    assert_eq!((wake.station.as_str(), wake.stopped), ("loader", Span(200_000_000)));
}

#[test]
fn bands_of_a_short_story_are_the_story() {
    let shift = timeline(&facts(), &story_of_a_jam().events);
    assert_eq!(shift.pixel, Span(5_000_000));
    let former = shift.stations.iter().find(|it| it.station == "former").expect("it has states");
    let bands: Vec<_> = former
        .bands
        .iter()
        .map(|it| (it.start.seconds(), it.end.seconds(), it.shows, it.reason.as_str(), it.stops))
        .collect();
    assert_eq!(
        bands,
        [
            (0.0, 600.0, BandState::Running, "", 0),
            (600.0, 1200.0, BandState::Stopped, "jam", 1),
            (1200.0, 3600.0, BandState::Running, "", 0),
        ]
    );
    assert_eq!(former.bands[1].times.stopped_waiting, Span(30_000_000));
    assert_eq!(former.bands[1].times.stopped_repair, Span(570_000_000));
}

#[test]
fn a_machine_that_is_quicker_than_its_line_shows_as_running_until_it_waits() {
    let mut story = Story::new();
    let mut at = 0.0;
    for cycle in 0..700 {
        // 1 s of work, 4 s of waiting; a wait of 100 s in between.
        story.at(at + 1.0, ROBOT, Starved);
        at += if cycle == 350 { 101.0 } else { 5.0 };
        story.at(at, ROBOT, Running);
    }
    story.end(at);
    let shift = timeline(&facts(), &story.events);
    let robot = shift.stations.iter().find(|it| it.station == "robot").expect("it has states");
    let shown: Vec<_> = robot.bands.iter().map(|it| it.shows).collect();
    assert_eq!(shown, [BandState::Running, BandState::Starved, BandState::Running]);
    let starved: f64 = robot.bands.iter().map(|it| seconds(it.times.starved)).sum();
    assert!((starved - (699.0 * 4.0 + 100.0)).abs() < 1e-6);
    assert!((seconds(robot.bands[1].times.starved) - 100.0).abs() <= 2.0 * seconds(shift.pixel));
}

#[test]
fn contents_and_output_stand_in_cells() {
    let mut story = Story::new();
    for row in 1..=360_u32 {
        let at = f64::from(10 * row);
        story.push(at, TABLE, EventKind::Content { pieces: row / 10 });
        story.packs(at, u64::from(10 * row), u64::from(9 * row));
    }
    story.end(3600.0);
    let shift = timeline(&facts(), &story.events);
    assert_eq!(shift.contents.iter().map(|it| it.station.as_str()).collect::<Vec<_>>(), ["infeed", "table"]);
    let table = &shift.contents[1];
    assert_eq!(table.capacity_pieces, Some(60));
    let mean: f64 =
        table.cells.iter().map(|it| it.mean_pieces * it.end.since(it.start).seconds()).sum::<f64>() / 3600.0;
    // Rows 1 to 359 stand for 10 s each.
    let exact: f64 = (1..360).map(|row| f64::from(row / 10)).sum::<f64>() * 10.0 / 3600.0;
    assert!((mean - exact).abs() < 1e-9, "{mean} and {exact}");
    assert!(shift.contents[0].cells.iter().all(|cell| cell.highest_pieces == 0));
    assert_eq!(shift.output.cell, Span(60_000_000));
    assert_eq!(shift.output.cells, vec![54; 60]);
    assert!((shift.output.design_packs - 60.0).abs() < 1e-12);
}

#[test]
fn a_window_begins_at_the_end_of_the_warm_up() {
    let mut story = story_of_a_jam();
    story.events.retain(|event| event.at <= Moment(1_000_000_000));
    story.warm_up_end(1000.0);
    story.packs(1000.0, 100, 90).at(1200.0, FORMER, Running).packs(1300.0, 130, 117).end(2000.0);
    let shift = timeline(&facts(), &story.events);
    assert_eq!((shift.start.seconds(), shift.end.seconds()), (1000.0, 2000.0));
    assert_eq!(shift.output.cells.iter().sum::<u64>(), 27);
    // The stop began before the window.
    assert_eq!(shift.wake, None);
    let former = shift.stations.iter().find(|it| it.station == "former").expect("it has states");
    assert_eq!(former.bands[0].shows, BandState::Stopped);
    assert_eq!(former.bands[0].start, shift.start);
}

/// A line of so many stations, each with a belt without states after it.
fn line_of(stations: usize) -> LineFacts {
    let mut line = facts();
    line.reasons.extend((0..5).map(|number| format!("reason {number}")));
    line.stations = (0..stations)
        .map(|place| {
            let belt = place % 3 == 2;
            StationFacts {
                id: format!("station {place}"),
                kind: if belt { "accumulating_table" } else { "machine" }.to_owned(),
                has_states: !belt,
                rate_per_min: Some(60.0),
                transit_to_constraint: Span(1_000_000 * place as u64),
                capacity: None,
                supplier: None,
                portions_per_piece: 1,
            }
        })
        .collect();
    (line.constraint, line.good_after) = (0, 0);
    line
}

/// One step of a random log: time since the last event, station, state, reason, and a content or count now and then.
type Step = (u64, usize, usize, u16, u32);

fn events_of(line: &LineFacts, steps: &[Step], repeat: usize) -> Vec<Event> {
    let stations = line.stations.len();
    let mut states = vec![StationState::Running; stations];
    let mut events = Vec::new();
    let mut at = Moment::ZERO;
    let mut state_row =
        |at: Moment, station: usize, to: StationState, reason: u16, events: &mut Vec<Event>| {
            let from = std::mem::replace(&mut states[station], to);
            let is_stop = to.is_own_stop() || to == StationState::Planned;
            let reason = if is_stop { Reason(13 + reason % 12) } else { Reason::NONE };
            let (made, content_before, content_after) = (0, NO_CONTENT, NO_CONTENT);
            let kind = EventKind::State { from, to, reason, made, content_before, content_after };
            events.push(Event { at, station: station as u16, kind });
        };
    for station in (0..stations).filter(|&station| line.stations[station].has_states) {
        state_row(at, station, StationState::Running, 0, &mut events);
    }
    for round in 0..repeat {
        for &(after, station, to, reason, pieces) in steps {
            at += Span(after);
            let station = (station + round) % stations;
            if line.stations[station].has_states {
                state_row(at, station, StationState::ALL[to], reason, &mut events);
            } else {
                events.push(Event { at, station: station as u16, kind: EventKind::Content { pieces } });
            }
        }
    }
    events.push(Event { at, station: 0, kind: EventKind::End });
    events
}

/// The stretches in which a station was in a stop of one reason, worked out without the program: start, end.
fn stops_of(station: usize, events: &[Event]) -> Vec<(u64, u64)> {
    let rows: Vec<(u64, Option<(bool, Reason)>)> = events
        .iter()
        .filter(|event| usize::from(event.station) == station)
        .filter_map(|event| match event.kind {
            EventKind::State { to, reason, .. } => {
                let stop = to.is_own_stop() || to == StationState::Planned;
                Some((event.at.0, stop.then_some((to.is_own_stop(), reason))))
            }
            _ => None,
        })
        .collect();
    let end = events.last().map_or(0, |event| event.at.0);
    let mut stops: Vec<(u64, u64, (bool, Reason))> = Vec::new();
    for (place, &(start, stop)) in rows.iter().enumerate() {
        let until = rows.get(place + 1).map_or(end, |next| next.0);
        let Some(stop) = stop.filter(|_| until > start) else { continue };
        match stops.last_mut() {
            Some(last) if last.1 == start && last.2 == stop => last.1 = until,
            _ => stops.push((start, until, stop)),
        }
    }
    stops.into_iter().map(|(start, end, _)| (start, end)).collect()
}

fn assert_holds(line: &LineFacts, events: &[Event]) -> Result<(), TestCaseError> {
    let shift = timeline(line, events);
    prop_assert!(shift.marks() <= MOST_MARKS, "{} marks", shift.marks());
    let mut accumulator = Accumulator::of(line, Moment::ZERO);
    events.iter().for_each(|event| accumulator.record(event));
    let result = accumulator.finish();
    // Charges add up to the loss exactly, and so do the interruptions of every machine.
    let oee = &result.oee;
    prop_assert_eq!(result.ledger.charged_time() + oee.running, oee.planned_production_time);
    for station in &result.stations {
        let Some((states, planned)) = station.states.zip(station.planned_times) else { continue };
        let interrupted = planned.long_interruption_time + planned.short_interruption_time;
        prop_assert_eq!(planned.planned_production_time, states.running + interrupted);
        prop_assert_eq!(planned.planned_production_time + planned.left_out, states.all());
        let own: Vec<_> = station.stops.iter().filter(|stop| !stop.planned).collect();
        prop_assert!(
            own.iter().all(|stop| stop.minor_count <= stop.count && stop.minor_time <= stop.begun_time)
        );
        let begun = own.iter().fold(Span::ZERO, |sum, stop| sum + stop.begun_time);
        prop_assert_eq!(begun, states.stopped());
        prop_assert!(own.iter().all(|stop| stop.lengths.total() <= stop.count));
    }
    for station in &shift.stations {
        // Bands cover the whole time without a gap, and their times are those of the accounting.
        let mut at = shift.start;
        let mut sum = StateTimes::default();
        for band in &station.bands {
            prop_assert_eq!(band.start, at);
            prop_assert!(band.end > band.start);
            prop_assert_eq!(band.times.all() + band.unknown, band.end.since(band.start));
            at = band.end;
            sum.running += band.times.running;
            sum.starved += band.times.starved;
            sum.blocked += band.times.blocked;
            sum.stopped_waiting += band.times.stopped_waiting;
            sum.stopped_repair += band.times.stopped_repair;
            sum.planned += band.times.planned;
        }
        prop_assert_eq!(at, shift.end);
        prop_assert_eq!(Some(sum), result.stations[station.station_index].states);
        for (start, end) in stops_of(station.station_index, events) {
            if end - start < shift.pixel.0 {
                continue;
            }
            let covered = station.bands.iter().any(|band| {
                matches!(band.shows, BandState::Stopped | BandState::Planned)
                    && band.start.0 <= start
                    && band.end.0 >= end
            });
            prop_assert!(covered, "stop from {start} to {end} of {}", station.station);
        }
    }
    for content in &shift.contents {
        let mut at = shift.start;
        for cell in &content.cells {
            prop_assert_eq!(cell.start, at);
            prop_assert!(f64::from(cell.lowest_pieces) <= cell.mean_pieces + 1e-9);
            prop_assert!(cell.mean_pieces <= f64::from(cell.highest_pieces) + 1e-9);
            at = cell.end;
        }
        prop_assert_eq!(at, shift.end);
    }
    Ok(())
}

fn steps() -> impl Strategy<Value = (usize, Vec<Step>, usize)> {
    (1_usize..60).prop_flat_map(|stations| {
        let after = prop_oneof![4 => 0_u64..20_000_000, 2 => 0_u64..200_000_000, 1 => 0_u64..4_000_000_000];
        let step = (after, 0..stations, 0_usize..6, 0_u16..12, 0_u32..500);
        (
            Just(stations),
            prop::collection::vec(step, 1..300),
            prop_oneof![3 => 1_usize..4, 1 => 20_usize..120],
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn whatever_happens_the_marks_are_few_and_every_long_stop_is_seen((stations, steps, repeat) in steps()) {
        let line = line_of(stations);
        assert_holds(&line, &events_of(&line, &steps, repeat))?;
    }
}

/// More stops of a pixel and longer than there are marks: they are put together, and none is lost.
#[test]
fn more_long_stops_than_marks() {
    let line = line_of(90);
    let machines: Vec<usize> = (0..90).filter(|&place| line.stations[place].has_states).collect();
    // 360 stops of two and a half pixels at each of 60 stations: 21,600, on 4,000 marks.
    let mut steps: Vec<Step> = Vec::new();
    for round in 0..720 {
        for (place, &station) in machines.iter().enumerate() {
            let after = if place == 0 { 40_000_000 } else { 0 };
            steps.push((after, station, if round % 2 == 0 { 4 } else { 0 }, 5, 0));
        }
    }
    let events = events_of(&line, &steps, 1);
    assert_holds(&line, &events).expect("the rule holds");
    let shift = timeline(&line, &events);
    assert!(shift.marks() > MOST_MARKS / 2, "no more is put together than must be: {}", shift.marks());
    for station in &shift.stations {
        assert_eq!(station.bands.iter().map(|band| band.stops).sum::<u64>(), 360, "{}", station.station);
    }
}

/// A long log does not fill the memory, and a stop of a pixel in it keeps its start and end.
#[test]
fn a_long_log_keeps_its_stops_to_the_microsecond() {
    let line = line_of(1);
    // Half a million cycles of 4.1 s of work and 0.5 s of waiting, a long stop after every 50,000.
    let cycles: Vec<Step> =
        (0..50_000).flat_map(|_| [(4_100_000, 0, 1, 0, 0), (500_000, 0, 0, 0, 0)]).collect();
    let mut steps = cycles;
    steps.push((1_000_001, 0, 4, 3, 0));
    steps.push((7_200_000_003, 0, 0, 0, 0));
    let events = events_of(&line, &steps, 10);
    assert!(events.len() > 1_000_000);
    assert_holds(&line, &events).expect("the rule holds");
    let shift = timeline(&line, &events);
    let stops: Vec<_> = shift.stations[0].bands.iter().filter(|it| it.shows == BandState::Stopped).collect();
    assert_eq!(stops.len(), 10);
    assert!(stops.iter().all(|it| it.end.since(it.start) == Span(7_200_000_003) && it.stops == 1));
    assert_eq!(shift.stations[0].bands.len(), 20);
}

#[test]
fn good_packs_of_a_long_log_are_all_there() {
    let mut line = facts();
    line.good_after = 0;
    let mut timeline = Timeline::of(&line, Span(1));
    for row in 1..=20_000_u64 {
        let at = Moment(row * 60_000_000);
        let kind = EventKind::Count { counter: Counter::HandedOver, reason: Reason::NONE, value: 7 * row };
        timeline.record(&Event { at, station: 0, kind });
    }
    let shift = timeline.finish();
    assert!(shift.output.cells.len() <= 240, "{}", shift.output.cells.len());
    assert_eq!(shift.output.cells.iter().sum::<u64>(), 140_000);
    assert!(shift.contents.iter().all(|it| it.cells.len() <= 360));
}
