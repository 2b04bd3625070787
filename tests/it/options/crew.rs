//! The people who look after the line: queueing, response, priority.

use super::{Model, attended, machine, row, seconds};
use linewake_log::event::CallStep;
use serde_json::{Value, json};

/// Three machines that stop once, on the calendar, at the given seconds, for the given lengths: of 1000 s between stops all
/// but these seconds are used at the start.
fn three(operators: u32, stops: [(f64, &str); 3]) -> Model {
    let one = |id: &str, (at, length): (f64, &str)| {
        let mut jam = attended("jam", json!({ "calendar_time": "1000 s" }), length);
        jam["initial"] = json!(1.0 - at / 1000.0);
        let mut machine = machine(id, "1 s");
        machine["machine"]["stops"] = json!([jam]);
        machine
    };
    row(json!([one("a", stops[0]), one("b", stops[1]), one("c", stops[2])]))
        .line(json!({ "constraint": "a", "crew": { "operators": operators, "response": "5 s" } }))
}

const STOPS: [(f64, &str); 3] = [(10.0, "20 s"), (15.0, "10 s"), (16.0, "6 s")];

/// One operator, 5 s to come. a: called 10, there 15, done 35. b called at 15: the operator leaves a at 35, is there at 40,
/// done at 50. c called at 16: there at 55, done at 61.
#[test]
fn with_more_stops_than_people_stops_wait() {
    let run = three(1, STOPS).lasting("65 s").run();
    assert_eq!(run.stops("a"), "jam 10..15..35");
    assert_eq!(run.stops("b"), "jam 15..40..50");
    assert_eq!(run.stops("c"), "jam 16..55..61");
}

/// With three operators each stop waits for its own response only.
#[test]
fn with_enough_people_only_the_response_is_waited_for() {
    let run = three(3, STOPS).lasting("36 s").run();
    assert_eq!(run.stops("a"), "jam 10..15..35");
    assert_eq!(run.stops("b"), "jam 15..20..30");
    assert_eq!(run.stops("c"), "jam 16..21..27");
}

/// By priority the operator goes from a to c first, although b called first: c 16..40..46, b 15..51..61.
#[test]
fn calls_may_be_served_by_station_priority() {
    let run = three(1, STOPS)
        .line(json!({ "crew": { "order": "station_priority" } }))
        .with("c", json!({ "call_priority": 0 }))
        .with("a", json!({ "call_priority": 1 }))
        .with("b", json!({ "call_priority": 2 }))
        .lasting("62 s")
        .run();
    assert_eq!(run.stops("c"), "jam 16..40..46");
    assert_eq!(run.stops("b"), "jam 15..51..61");
}

/// The way to a takes 20 s, that to b 2 s. a calls at 10, b at 12; the second operator is there first, at 14, and that
/// arrival belongs to a, which called first. The other one comes at 30, to b.
#[test]
fn the_first_arrival_belongs_to_the_stop_that_called_first() {
    let run = three(2, [(10.0, "40 s"), (12.0, "3 s"), (59.0, "1 s")])
        .with("a", json!({ "response": "20 s" }))
        .with("b", json!({ "response": "2 s" }))
        .lasting("40 s")
        .run();
    assert_eq!(run.stops("a"), "jam 10..14");
    assert_eq!(run.stops("b"), "jam 12..30..33");
}

/// The response may be given by station: 2 s to b instead of the 5 s of the crew.
#[test]
fn the_response_may_be_given_by_station() {
    let run = three(3, STOPS).with("b", json!({ "response": "2 s" })).lasting("28 s").run();
    assert_eq!(run.stops("a"), "jam 10..15");
    assert_eq!(run.stops("b"), "jam 15..17..27");
    assert_eq!(run.calls("b", CallStep::Called), seconds(&[15.0]));
    assert_eq!(run.calls("b", CallStep::Arrived), seconds(&[17.0]));
    assert_eq!(run.calls("b", CallStep::Released), seconds(&[27.0]));
}

/// An operator who is at the press answers its next call with no response time: film called at 3, there at 8, done at 12; label
/// called at 12 and begun at once, done at 13. After that the operator looks after the whole line again: three pieces later,
/// at 16, the next call needs 5 s.
#[test]
fn an_operator_who_is_there_answers_the_next_call_at_once() {
    let stops: Value = json!([
        attended("film", json!({ "pieces": 3 }), "4 s"),
        attended("label", json!({ "pieces": 3 }), "1 s"),
    ]);
    let run = row(json!([machine("press", "1 s")]))
        .with("press", json!({ "stops": stops }))
        .line(json!({ "crew": { "operators": 1, "response": "5 s" } }))
        .lasting("22 s")
        .run();
    assert_eq!(run.stops("press"), "film 3..8..12, label 12..13, film 16..21");
}

/// Without a way to go there is no wait, and a state of length zero is not logged: 10 to 30 is all repair.
#[test]
fn a_wait_of_no_length_leaves_no_row() {
    let run = three(3, STOPS).line(json!({ "crew": { "response": "0 s" } })).lasting("31 s").run();
    assert!(
        run.states_between("a", 9.5, 31.0).starts_with("10 stopped_repair jam, 30 "),
        "{}",
        run.states("a")
    );
}
