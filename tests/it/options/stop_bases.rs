//! What brings a stop about: running time, calendar time, counts, consumables; and how much of it is used at the start.

use super::{Model, attended, machine, row, second, seconds, small_line, stop};
use linewake_log::event::PackStep;
use serde_json::{Value, json};

/// The feeder gives a piece every 2 s, the press needs 1 s for it: it runs in 2..3, 4..5, 6..7, ...
fn half_used_press(stops: Value) -> Model {
    row(json!([machine("feeder", "2 s"), machine("press", "1 s")])).with("press", json!({ "stops": stops }))
}

/// One machine that takes 1 s for a piece.
fn press(stops: Value) -> Model {
    row(json!([machine("press", "1 s")])).with("press", json!({ "stops": stops }))
}

/// After nine pieces (the ninth in 18..19) the clock of the mode stands at 9 s; half a second into the tenth (20..21) it is
/// at 9.5 s. The stop strikes in the middle of work, which goes on after it: 5 s, then the other half, to 26.
#[test]
fn running_time_stands_while_the_station_waits() {
    let run = half_used_press(json!([stop("jam", json!({ "running_time": "9.5 s" }), "5 s")])).run();
    assert_eq!(
        run.states_between("press", 19.0, 27.5),
        "19 starved, 20 running, 20.5 stopped_repair jam, 25.5 running, 27 starved"
    );
    assert_eq!(run.times("press", PackStep::Left)[9], second(26.0));
    // The feeder's piece of 22 waits to 26, and its clock of work begins again there.
    assert_eq!(run.states_between("feeder", 20.0, 27.0), "22 blocked, 26 running");
}

/// Calendar time runs while the press is starved: 9.5 s after the start, and again 9.5 s after the end of that stop.
#[test]
fn calendar_time_runs_while_the_station_waits() {
    let run = half_used_press(json!([stop("rinse", json!({ "calendar_time": "9.5 s" }), "3 s")])).run();
    assert_eq!(
        run.stops("press"),
        "rinse 9.5..12.5, rinse 22..25, rinse 34.5..37.5, rinse 47..50, rinse 59.5"
    );
}

/// Running time again, with blocking instead of starving: the clock of the first machine stands while it is blocked.
/// The press (2 s) takes a piece at 1, 3, 5, ...; the feeder works 1 s, then 1..2, and from 3 on one second in each two: its
/// fifth running second ends in 7..8, so the 4.5th at 7.5.
#[test]
fn running_time_stands_while_the_station_is_blocked() {
    let run = row(json!([machine("feeder", "1 s"), machine("press", "2 s")]))
        .with("feeder", json!({ "stops": [stop("jam", json!({ "running_time": "4.5 s" }), "1 s")] }))
        .run();
    assert_eq!(run.states_between("feeder", 0.0, 4.0), "0 running, 2 blocked, 3 running, 4 blocked");
    assert!(run.stops("feeder").starts_with("jam 7.5..8.5, "), "{}", run.stops("feeder"));
}

/// While the press is in one stop, the running-time clock of the other stands: 4 s of work, stop a of 10 s (3 to 13), then
/// the fourth second of work: stop b at 14.
#[test]
fn running_time_stands_in_another_stop() {
    let stops = json!([
        stop("a", json!({ "running_time": "3 s" }), "10 s"),
        stop("b", json!({ "running_time": "4 s" }), "1 s"),
    ]);
    assert!(press(stops).run().stops("press").starts_with("a 3..13, b 14..15, a 17..27"));
}

/// Each kind of station counts its own cycles, and stops at the end of the one that reaches the count. All moments are those
/// of the timetable of the small line.
#[test]
fn counts_strike_at_the_end_of_the_cycle() {
    let all = [
        ("supply", "cycles", 1, 600.0),     // the batch begun at 0 is ready at 600
        ("portioner", "portions", 3, 1.5),  // 3 x 0.5
        ("infeed", "portions", 2, 2.0),     // the second portion leaves it at 2.0
        ("loader", "arrays", 2, 3.7),       // second load to 3.5, return 0.2
        ("former", "cycles", 3, 7.0),       // cycles end with the advance: 3, 5, 7
        ("robot", "picks", 1, 9.7),         // pick to 9.3, place to 9.7
        ("belt", "packs", 2, 11.9),         // the second pack leaves it at 11.9
        ("checkweigher", "packs", 3, 13.9), // third pack in at 13.7
        ("table", "packs", 1, 12.9),        // in at 11.9, 1 s transit
        ("packer", "cases", 1, 16.1),       // 15.1 + 1
    ];
    for (id, basis, count, at) in all {
        let stops = json!([stop("change", json!({ basis: count }), "7 s")]);
        let run = small_line().with(id, json!({ "stops": stops })).lasting("610 s").run();
        let begins = format!("change {at}..{}", at + 7.0);
        assert!(run.stops(id).starts_with(&begins), "{id}: {} instead of {begins}", run.stops(id));
    }
}

/// Pieces 1, 2, 3 in 3 s, stop of 4 s, pieces 4, 5, 6 from 7 to 10, stop again: counted afresh after each stop.
#[test]
fn a_count_is_drawn_afresh_after_each_stop() {
    let run = press(json!([stop("change", json!({ "pieces": 3 }), "4 s")])).lasting("22 s").run();
    assert_eq!(run.stops("press"), "change 3..7, change 10..14, change 17..21");
}

/// Any count between 2.1 and 2.9 is rounded up to 3. Of 0.2 and 1.8 pieces, each as likely, one becomes 1 and the other 2.
#[test]
fn counts_are_rounded_up_to_at_least_one() {
    let count = json!({ "pieces": { "uniform": { "min": 2.1, "max": 2.9 } } });
    let run = press(json!([stop("change", count, "4 s")])).lasting("16 s").run();
    assert_eq!(run.stops("press"), "change 3..7, change 10..14");
    let count = json!({ "pieces": { "empirical": [0.2, 1.8] } });
    let run = press(json!([stop("change", count, "1000 s")]));
    let firsts: std::collections::BTreeSet<String> =
        (0..30).map(|number| run.replication(number, |_, _| {}).stops("press")).collect();
    assert_eq!(firsts.into_iter().collect::<Vec<_>>(), ["change 1", "change 2"]);
}

/// 75 % of ten pieces are used: 2.5 are left, that is three; then ten. 30 % of 10 s are used: 7 s are left, then 10.
#[test]
fn an_initial_part_shortens_the_first_count_or_time_only() {
    let mut mode = stop("change", json!({ "pieces": 10 }), "4 s");
    mode["initial"] = json!(0.75);
    assert_eq!(press(json!([mode])).lasting("25 s").run().stops("press"), "change 3..7, change 17..21");
    let mut mode = stop("jam", json!({ "running_time": "10 s" }), "4 s");
    mode["initial"] = json!("30 %");
    assert_eq!(press(json!([mode])).lasting("26 s").run().stops("press"), "jam 7..11, jam 21..25");
}

/// Uniformly used: of a count of 10 between 1 and 10 are left, each as likely as any other; mean 5.5, standard deviation
/// sqrt((100 - 1) / 12) = 2.87. Over 400 replications the mean lies within 4 x 2.87 / 20 = 0.57 (error probability 6e-5).
#[test]
fn an_initial_uniform_part_is_drawn_for_each_run() {
    let mut mode = stop("change", json!({ "pieces": 10 }), "100 s");
    mode["initial"] = json!("uniform");
    let line = press(json!([mode])).lasting("30 s");
    let firsts: Vec<usize> = (0..400)
        .map(|number| line.replication(number, |_, _| {}).times("press", PackStep::Left).len())
        .collect();
    // The piece of the count is held to the end of the stop, which lies behind the horizon: one less has left.
    let left: Vec<f64> = firsts.iter().map(|&pieces| pieces as f64 + 1.0).collect();
    assert!(left.iter().all(|count| (1.0..=10.0).contains(count)));
    let mean = left.iter().sum::<f64>() / 400.0;
    assert!((mean - 5.5).abs() < 0.57, "{mean}");
}

/// An operator needs 7 s to come, and puts it right in 5 s; an unattended stop clears by itself in 5 s.
#[test]
fn an_attended_stop_waits_for_an_operator() {
    let crew = json!({ "crew": { "operators": 1, "response": "7 s" } });
    let count = json!({ "pieces": 3 });
    let run = press(json!([attended("jam", count.clone(), "5 s")])).line(crew).lasting("16 s").run();
    assert_eq!(run.states("press"), "0 running, 3 stopped_waiting jam, 10 stopped_repair jam, 15 running");
    let run = press(json!([stop("jam", count, "5 s")])).lasting("9 s").run();
    assert_eq!(run.states("press"), "0 running, 3 stopped_repair jam, 8 running");
}

/// A roll of 1 m of which a cycle draws 0.3 m lasts three whole cycles; 10 cartons at 4 a cycle last two.
#[test]
fn rolls_and_magazines_last_whole_cycles() {
    let roll = json!({ "roll": { "length": "1 m", "per_cycle": "300 mm" } });
    let run = press(json!([stop("film", roll, "2 s")])).lasting("9 s").run();
    assert_eq!(run.stops("press"), "film 3..5, film 8");
    let magazine = json!({ "magazine": { "pieces": 10, "per_cycle": 4 } });
    let run = press(json!([stop("cartons", magazine, "2 s")])).lasting("7 s").run();
    assert_eq!(run.stops("press"), "cartons 2..4, cartons 6");
}

/// A film of 3.2 m of which an index draws 0.8 m stops the former after four cycles: advances end at 3, 5, 7, 9.
#[test]
fn a_roll_of_film_stops_the_former() {
    let film = json!({ "roll": { "length": "3.2 m", "per_cycle": "0.8 m" } });
    let run =
        small_line().with("former", json!({ "stops": [stop("film", film, "6 s")] })).lasting("20 s").run();
    assert_eq!(run.stops("former"), "film 9..15");
}

/// Of 200 cycles all but two are used: the former stops at 5.0 for 1 s; the next three indexes to be sealed are first-offs. Sealed next is the
/// second frame with product (dwell from 6): frames 2, 3 and 4, six packs. They lie in the pick zone from 12, 14, 16 and
/// drop into the bin as the next advance starts, 1.5 s later; frame 1 before them is good.
#[test]
fn scrap_after_tags_the_indexes_sealed_next() {
    let mut mode = stop("splice", json!({ "cycles": 200 }), "1 s");
    mode["scrap_after"] = json!(3);
    mode["initial"] = json!(0.99);
    let run = small_line().with("former", json!({ "stops": [mode] })).lasting("60 s").run();
    assert_eq!(run.stops("former"), "splice 5..6");
    assert_eq!(run.rejects("robot", "first_off"), seconds(&[13.5, 13.5, 15.5, 15.5, 17.5, 17.5]));
}
