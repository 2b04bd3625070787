//! What marks, inspects and labels on the web: printer, vision, seal, label, and the tag that travels with the pack.

use super::{Model, Run, every, seconds, small_line};
use linewake_log::event::{Counter, PackStep};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// The small line with a printer and a vision inspection at position 3, one index behind the seal.
fn printed(printer: Value, vision: Value) -> Model {
    small_line()
        .with(
            "former",
            json!({ "positions": { "print_inspection": 3 }, "printer": printer, "vision": vision }),
        )
        .line(json!({ "crew": { "operators": 1, "response": "2 s" } }))
}

/// Chain with p, r and q.
fn chain(p: f64, r: f64, q: f64) -> Value {
    json!({ "good_to_faulty": p, "faulty_to_good": r, "misprint_when_faulty": q })
}

/// A vision that finds all misprints, and nothing else.
fn sharp() -> Value {
    json!({ "sensitivity": 1 })
}

/// For each frame with packs, in order: how many of its packs were misprinted.
fn misprints(run: &Run) -> Vec<usize> {
    let faulty: BTreeSet<u64> =
        run.steps_for("former", PackStep::Defect, Some("misprint")).iter().map(|step| step.item).collect();
    let packs: Vec<u64> = run.steps("former", PackStep::Cut).iter().map(|step| step.item).collect();
    packs.chunks(2).map(|frame| frame.iter().filter(|item| faulty.contains(item)).count()).collect()
}

/// p = 1, r = 1: the chain changes with each index. The first index, sealed in the first dwell, is empty and good; frame 1 is
/// the second index: faulty, both packs (q = 1); frame 2 good, frame 3 faulty, ...
#[test]
fn print_faults_step_index_by_index_empty_ones_too() {
    let run = printed(chain(1.0, 1.0, 1.0), json!({ "sensitivity": 0 })).run();
    assert_eq!(misprints(&run)[..6], [2, 0, 2, 0, 2, 0]);
    // Running empty from 1.5 on puts one more empty index before the first load: now frame 1 is the third index, good.
    let run = printed(chain(1.0, 1.0, 1.0), json!({ "sensitivity": 0 }))
        .with("former", json!({ "without_product": "run_empty" }))
        .run();
    assert_eq!(misprints(&run)[..6], [0, 2, 0, 2, 0, 2]);
}

/// p = 1, r = 0: once faulty, always faulty. q = 0: a faulty index without a misprint.
#[test]
fn a_fault_that_never_ends_and_one_that_marks_nothing() {
    let run = printed(chain(1.0, 0.0, 1.0), json!({ "sensitivity": 0 })).run();
    assert!(misprints(&run).len() > 20 && misprints(&run).iter().all(|&packs| packs == 2));
    let run = printed(chain(1.0, 0.0, 0.0), json!({ "sensitivity": 0 })).run();
    assert!(misprints(&run).iter().all(|&packs| packs == 0));
    let run = printed(chain(0.0, 1.0, 1.0), json!({ "sensitivity": 0 })).run();
    assert!(misprints(&run).iter().all(|&packs| packs == 0));
}

/// p = 0.1, r = 0.25, q = 1: runs of faulty indexes are 1 / 0.25 = 4 long on average (geometric, standard deviation
/// sqrt(0.75) / 0.25 = 3.46), and 0.1 / 0.35 = 28.6 % of all indexes are faulty. 10 000 indexes have about 714 runs: the mean
/// run lies within 5 x 3.46 / sqrt(650) = 0.68 (error probability 1e-6). q = 0.4: 40 % of the packs of faulty indexes.
#[test]
fn print_faults_come_in_runs() {
    let long = |q| printed(chain(0.1, 0.25, q), json!({ "sensitivity": 0 })).lasting("20020 s").run();
    let frames = misprints(&long(1.0));
    let mut runs = Vec::new();
    let mut length = 0_u32;
    for &packs in &frames {
        assert!(packs == 0 || packs == 2);
        if packs == 2 {
            length += 1;
        } else if length > 0 {
            runs.push(length);
            length = 0;
        }
    }
    assert!(frames.len() > 9990 && runs.len() > 650, "{} {}", frames.len(), runs.len());
    let mean = f64::from(runs.iter().sum::<u32>()) / runs.len() as f64;
    assert!((mean - 4.0).abs() < 0.68, "{mean}");
    // The same indexes are faulty with q = 0.4; of about 5700 packs 40 %, standard deviation 0.65 %; five of them.
    let faulty_packs = frames.iter().sum::<usize>() as f64;
    let marked = misprints(&long(0.4)).iter().sum::<usize>() as f64;
    assert!((marked / faulty_packs - 0.4).abs() < 0.0325, "{}", marked / faulty_packs);
}

/// Frame 1 is faulty. It is inspected at 3 in the dwell of 5.0; the cut (4) follows, and only in the pick zone (5, from 9.0)
/// the robot leaves it behind: two advances later. It drops into the bin as the next advance starts, at 10.5.
#[test]
fn the_tag_travels_with_the_pack_to_the_pick_robot() {
    let run = printed(chain(1.0, 1.0, 1.0), sharp()).run();
    let tagged = run.steps_for("former", PackStep::Tagged, Some("misprint"));
    let first_frame: Vec<u64> =
        run.steps("loader", PackStep::Loaded)[..2].iter().map(|step| step.into).collect();
    assert_eq!(tagged[..2].iter().map(|step| step.item).collect::<Vec<_>>(), first_frame);
    assert!(tagged[..2].iter().all(|step| seconds(&[5.0, 6.5]).contains(&step.at)), "{tagged:?}");
    // Every other frame: bins at 10.5, 14.5, ...
    let bins: Vec<_> = run.rejects("robot", "misprint").into_iter().step_by(2).collect();
    assert_eq!(bins[..5], every(10.5, 4.0, 5));
    // Frame 2 is picked from 11.0 on, frame 1 never.
    assert_eq!(run.times("robot", PackStep::Picked)[..2], seconds(&[11.3, 11.3]));
    assert_eq!(run.escaped("misprint"), 0);
}

/// Sensitivity 0.25: of the misprinted packs a quarter is tagged, the others escape. 10 000 packs: standard deviation 0.43 %,
/// five of them allowed. A pack that was not tagged and is handed over by the last gate has escaped.
#[test]
fn vision_finds_misprints_with_its_sensitivity() {
    let run = printed(chain(1.0, 0.0, 1.0), json!({ "sensitivity": 0.25 })).lasting("10020 s").run();
    let tagged = run.rejects("robot", "misprint").len() as f64;
    let inspected = tagged + run.steps("robot", PackStep::Picked).len() as f64;
    assert!((tagged / inspected - 0.25).abs() < 0.0217, "{tagged} of {inspected}");
    let good = run.result.oee.good_packs;
    assert!(good > 7000);
    assert_eq!(run.escaped("misprint"), good, "escapes count as good and are counted besides");
}

/// A tenth of the right packs is tagged by mistake: standard deviation of 10 000 packs 0.3 %, five of them.
#[test]
fn vision_tags_right_packs_by_mistake() {
    let run =
        printed(chain(0.0, 1.0, 1.0), json!({ "sensitivity": 1, "false_tag": 0.1 })).lasting("10020 s").run();
    let tagged = run.rejects("robot", "false_tag").len() as f64;
    let inspected = tagged + run.steps("robot", PackStep::Picked).len() as f64;
    assert!((tagged / inspected - 0.1).abs() < 0.015, "{tagged} of {inspected}");
}

/// Frame 1 is held in the seal (stop of 6 s from 3.5) and misprinted as well: the first tag is its reason.
#[test]
fn the_first_tag_is_the_reason() {
    let run = printed(chain(1.0, 1.0, 1.0), sharp())
        .with("former", json!({ "stop_scrap": { "longer_than": "5 s", "positions": [2] } }))
        .run_stopped(&[("former", 3.5, 6.0)]);
    assert_eq!(run.rejects("robot", "held_in_seal"), seconds(&[16.5, 16.5]));
    // Frame 3, frame 5, ... are misprints.
    assert_eq!(run.rejects("robot", "misprint")[..2], seconds(&[20.5, 20.5]));
}

/// All is misprinted and found. Frame 1 is inspected in the dwell of 5.0, frame 2 in that of 7.0: with two consecutive
/// indexes the former stops at the end of that cycle, 9.0; the operator is there at 11.0, done at 18.0. Counted afresh:
/// frames 3 and 4 in the dwells of 18.0 and 20.0, stop at 22.0.
#[test]
fn consecutive_indexes_with_tagged_packs_stop_the_former() {
    let vision = json!({ "sensitivity": 1, "stop_rule": { "indexes": 2, "duration": "7 s" } });
    let run = printed(chain(1.0, 0.0, 1.0), vision.clone()).lasting("23 s").run();
    assert_eq!(run.stops("former"), "tags_in_row 9..11..18, tags_in_row 22");
    // Every other index only: never two in a row.
    let run = printed(chain(1.0, 1.0, 1.0), vision).run();
    assert_eq!(run.stops("former"), "");
}

/// Nothing looks for missing labels or for leaks: all escape, and are counted. A leak test finds the leaks.
#[test]
fn what_no_inspection_finds_escapes() {
    let line = small_line().with(
        "former",
        json!({ "positions": { "label": 3 }, "label_missing_probability": 1, "leak_probability": 1 }),
    );
    let run = line.run();
    let good = run.result.oee.good_packs;
    // The last gate is the checkweigher: packs out at 11.9 + 2 k and 12.1 + 2 k, before 60: 25 + 24.
    assert_eq!(good, 49);
    assert_eq!((run.escaped("label_missing"), run.escaped("leak")), (49, 49));
    let leak_test = json!({ "leak_test": { "id": "leak test", "max_rate": "300/min", "sensitivity": 1 } });
    let run = line.behind("checkweigher", leak_test).run();
    assert_eq!((run.result.oee.good_packs, run.escaped("leak")), (0, 0));
    assert!(run.count("leak test", Counter::Rejected) > 40);
    // A gate may look for the label as well.
    let finds = json!([{ "defect": "label_missing", "probability": 1 }]);
    let run = small_line()
        .with("former", json!({ "positions": { "label": 3 }, "label_missing_probability": 1 }))
        .with("checkweigher", json!({ "finds": finds }))
        .run();
    assert_eq!(run.rejects("checkweigher", "label_missing").len(), 49);
}
