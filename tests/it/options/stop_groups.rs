//! Several stops at one moment: in listed order, in a group, one after another.

use super::{Model, attended, machine, row, seconds, stop};
use linewake_log::event::CallStep;
use serde_json::{Value, json};

/// One machine that takes 1 s for a piece, and one operator who needs 1 s to come.
fn press(stops: Value) -> Model {
    row(json!([machine("press", "1 s")]))
        .with("press", json!({ "stops": stops }))
        .line(json!({ "crew": { "operators": 1, "response": "1 s" } }))
        .lasting("14 s")
}

/// Both are due after piece 3, at 3 s. The film is listed first: called at 3, operator at 4, done at 6. The label calls at 6:
/// the operator is there already, done at 10. Three more pieces: 13.
#[test]
fn stops_due_together_follow_in_listed_order_each_with_its_own_call() {
    let film = attended("film", json!({ "pieces": 3 }), "2 s");
    let label = attended("label", json!({ "pieces": 3 }), "4 s");
    let run = press(json!([film.clone(), label.clone()])).run();
    assert_eq!(run.stops("press"), "film 3..4..6, label 6..10, film 13");
    assert_eq!(run.calls("press", CallStep::Called), seconds(&[3.0, 6.0, 13.0]));
    let run = press(json!([label, film])).run();
    assert_eq!(run.stops("press"), "label 3..4..8, film 8..10, label 13");
}

/// The same two in a group: one stop as long as the longest, 1 s for the way and 4 s, with one call. Three more pieces to 11, and
/// the same again to 16.
#[test]
fn a_group_is_one_stop_as_long_as_the_longest() {
    let mut film = attended("film", json!({ "pieces": 3 }), "2 s");
    let mut label = attended("label", json!({ "pieces": 3 }), "4 s");
    film["group"] = json!("web");
    label["group"] = json!("web");
    let run = press(json!([film, label])).lasting("17 s").run();
    assert_eq!(run.stops("press"), "label 3..4..8, label 11..12..16");
    assert_eq!(run.calls("press", CallStep::Called), seconds(&[3.0, 11.0]));
}

/// In a group, but not due together: film after pieces 2, 4, 6; label after 3 and 6. They join at piece 6 only:
/// 2 pieces, film 2..4, a piece, label 5..9, a piece, film 10..12, two pieces, both at 14 (4 s).
#[test]
fn a_group_joins_only_what_is_due_together() {
    let mut film = stop("film", json!({ "pieces": 2 }), "2 s");
    let mut label = stop("label", json!({ "pieces": 3 }), "4 s");
    film["group"] = json!("web");
    label["group"] = json!("web");
    let run = press(json!([film, label])).lasting("19 s").run();
    assert_eq!(run.stops("press"), "film 2..4, label 5..9, film 10..12, label 14..18");
}

/// The rinse is due at 5, while the press stands for its change of 3..13: it waits, 13..15.
#[test]
fn a_calendar_stop_that_falls_into_another_stop_waits() {
    let change = stop("change", json!({ "pieces": 3 }), "10 s");
    let rinse = stop("rinse", json!({ "calendar_time": "5 s" }), "2 s");
    let run = press(json!([change, rinse])).lasting("17 s").run();
    assert_eq!(run.stops("press"), "change 3..13, rinse 13..15");
}

/// A stop on purpose falls into the change and follows it.
#[test]
fn an_injected_stop_follows_the_stop_into_which_it_falls() {
    let change = stop("change", json!({ "pieces": 3 }), "10 s");
    let run = press(json!([change])).lasting("17 s").run_stopped(&[("press", 4.0, 1.5)]);
    assert_eq!(run.stops("press"), "change 3..13, injected 13..14.5");
}
