//! More operators never wait longer, and one who is always needed is worth what theory says.

use super::*;
use crate::testing::{conclusion, conditions, line, machine, near};

/// *Source*: machine interference (the repairman problem): of m machines, each up for an exponential time of mean 1/a and
/// put right by one of c operators in one of mean 1/b, the number down is a birth and death chain; the share of time a
/// machine is up follows from its balance. Takacs (1962), Introduction to the Theory of Queues, and Ashcroft (1950), Journal
/// of the Royal Statistical Society B 12 (from memory). Two machines on calendar time, 1/a = 100 s, 1/b = 50 s: with one
/// operator p0 : p1 : p2 = 1 : 1 : 0.5, so each is up for 0.6; with two 1 : 1 : 0.25, so for 2/3.
#[test]
fn a_second_operator_is_worth_what_the_repairman_formula_says() {
    let stop = r#"{ "reason": "fault", "attended": true,
        "after": { "calendar_time": { "exponential": { "mean": "100 s" } } },
        "duration": { "exponential": { "mean": "50 s" } } }"#;
    let base = line(
        r#""crew": { "operators": 1, "response": "0 s" },"#,
        &[
            machine("one", "\"1 s\"", stop),
            r#"{ "accumulating_table": { "id": "table", "capacity": "unlimited", "transit": "0 s" } }"#
                .to_owned(),
            machine("two", "\"0.5 s\"", stop),
        ],
    );
    let options = CrewOptions { operators: vec![2, 1, 3], response_factors: vec![1.0] };
    let study = CrewStudy::prepare(base, options, &conditions(20, 50_000.0)).expect("a study");
    let result = conclusion(&study);
    assert_eq!(result.operators, [1, 2, 3]);
    // The first machine alone sets the pace: the second is twice as fast behind an unlimited table.
    for (cell, up) in result.cells.iter().zip([0.6, 2.0 / 3.0, 2.0 / 3.0]) {
        let half_width = cell.figures.good_packs.half_width.expect("20 runs");
        near(cell.figures.good_packs.mean, 50_000.0 * up, 2.0 * half_width + 100.0);
    }
    let second = result.cells[1].packs_per_operator.expect("one more");
    near(second.mean, 50_000.0 * (2.0 / 3.0 - 0.6), 2.0 * second.half_width.expect("20 runs") + 100.0);
    assert!(result.cells[0].waiting_s.mean > 1000.0 && result.cells[1].waiting_s.mean < 1e-9);
    assert_eq!((result.enough, result.operators_as_modelled), (Some(2), 1));
}

#[test]
fn response_times_are_scaled_and_bad_input_is_told() {
    let base = || BaseModel::parse(crate::testing::MINCE).expect("a model");
    let study = |options| CrewStudy::prepare(base(), options, &conditions(2, 100.0));
    let twice = study(CrewOptions { operators: vec![2], response_factors: vec![2.0] }).expect("a study");
    let mean = |place: usize| twice.plan().designs[place].line.crew.response_s.mean();
    near(mean(1), 2.0 * mean(0), 1e-9);
    assert!(study(CrewOptions { operators: vec![], response_factors: vec![1.0] }).is_err());
    assert!(study(CrewOptions { operators: vec![1], response_factors: vec![0.0] }).is_err());
    assert!(
        study(CrewOptions { operators: vec![0], response_factors: vec![1.0] }).is_err(),
        "attended stops"
    );
    let none = line("", &[machine("one", "\"1 s\"", "")]);
    assert!(CrewStudy::prepare(none, CrewOptions::default(), &conditions(2, 100.0)).is_err());
}
