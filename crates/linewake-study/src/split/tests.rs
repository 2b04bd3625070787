//! Ways to share out, and a line whose best split is plain. How often the choice is right is a check of the theory tests.

use super::*;
use crate::journal::{Journal, Part};
use crate::replicate::Workers;
use crate::testing::{conclusion, conditions, line, machine, stop, table};
use std::sync::atomic::AtomicBool;

#[test]
fn ways_to_share_out() {
    let splits = splits_of(40, 3, 0, 20).expect("ways");
    assert_eq!(
        splits,
        [[0, 0, 40], [0, 20, 20], [0, 40, 0], [20, 0, 20], [20, 20, 0], [40, 0, 0]].map(Vec::from)
    );
    assert_eq!(splits_of(12, 2, 5, 1).expect("ways"), [[5, 7], [6, 6], [7, 5]].map(Vec::from));
    for (total, buffers, least, step) in
        [(10, 2, 6, 1), (10, 2, 0, 3), (10, 2, 5, 1), (500, 5, 0, 1), (4, 2, 0, 0)]
    {
        assert!(splits_of(total, buffers, least, step).is_err());
    }
}

/// Only the first two machines stop, so that places behind the second one are lost.
fn base() -> BaseModel {
    line(
        "",
        &[
            machine("one", "\"1 s\"", &stop("jam", 60.0, 10.0)),
            table("a", 5),
            machine("two", "\"1 s\"", &stop("jam", 60.0, 10.0)),
            table("b", 15),
            machine("three", "\"1 s\"", ""),
        ],
    )
}

fn options() -> SplitOptions {
    SplitOptions {
        paths: vec!["stations[a].capacity".to_owned(), "stations[b].capacity".to_owned()],
        step: 5,
        indifference_packs: 20.0,
        first: 10,
        ..SplitOptions::default()
    }
}

#[test]
fn places_go_where_the_stops_are() {
    let study = SplitStudy::prepare(base(), options(), &conditions(2, 7200.0)).expect("a study");
    let result = conclusion(&study);
    assert_eq!((result.total, result.splits.len(), result.is_decided), (20, 5, true));
    assert_eq!(result.splits[0].places, [20, 0]);
    assert!(!result.splits[0].is_dropped && result.splits[0].against_chosen.is_none());
    assert_eq!(result.as_modelled.map(|place| result.splits[place].places.clone()), Some(vec![5, 15]));
    assert!(result.splits.iter().skip(1).all(|row| row.against_chosen.expect("another").mean < 0.0));
    assert!(result.splits[4].runs <= result.splits[0].runs);
    assert_eq!(result.head.runs, result.splits.iter().map(|row| row.runs).sum::<u64>());
}

#[test]
fn bad_input_is_told() {
    let refused = |options| {
        SplitStudy::prepare(base(), options, &conditions(2, 100.0)).expect_err("refused").to_string()
    };
    assert!(
        refused(SplitOptions { paths: vec!["stations[a].capacity".to_owned()], ..options() }).contains("two")
    );
    let wrong = vec!["stations[a].capacity".to_owned(), "stations[one].process".to_owned()];
    assert!(refused(SplitOptions { paths: wrong, ..options() }).contains("capacity of a belt or table"));
    let twice = vec!["stations[a].capacity".to_owned(), "stations[1].capacity".to_owned()];
    assert!(refused(SplitOptions { paths: twice, ..options() }).contains("once"));
    assert!(refused(SplitOptions { indifference_packs: 0.0, ..options() }).contains("above 0"));
    assert!(refused(SplitOptions { total: Some(21), ..options() }).contains("multiple"));
    assert!(refused(SplitOptions { first: 5, ..options() }).contains("10"));
}

/// A study that decides on the way goes on from its journal to the same bytes and the same choice, and has no parts.
#[test]
fn an_interrupted_choice_goes_on() {
    let study = SplitStudy::prepare(base(), options(), &conditions(2, 1800.0)).expect("a study");
    let raised = AtomicBool::new(false);
    let workers = Workers::new(Some(2), &raised).expect("threads");
    let run = |earlier: &[u8]| {
        let mut bytes = earlier.to_vec();
        let earlier = Journal::read(earlier).ok();
        let mut runner = Runner::new(study.plan(), &workers, &|| {})
            .resume(Part::WHOLE, earlier, &mut bytes)
            .expect("it belongs to the study");
        let found = study.conclude(&mut runner).expect("a choice");
        drop(runner);
        (bytes, found)
    };
    let (whole, found) = run(&[]);
    let lines: Vec<usize> =
        whole.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|it| it.0 + 1).collect();
    for cut in [lines[0], lines[lines.len() / 2], whole.len()] {
        assert!(run(&whole[..cut]) == (whole.clone(), found.clone()), "cut at {cut}");
    }
    let mut runner = Runner::new(study.plan(), &workers, &|| {});
    assert!(matches!(runner.run_part(Part { number: 1, of: 2 }), Err(RunError::NoParts)));
}
