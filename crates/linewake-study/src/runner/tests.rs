//! Journals: the same bytes whatever the threads, parts and interrupts; what does not belong together is refused.

use super::{RunError, Runner};
use crate::buffers::{BuffersOptions, BuffersStudy};
use crate::journal::{Journal, JournalError, JournalHead, Part, merge};
use crate::plan::{BaseModel, Conditions};
use crate::replicate::Workers;
use crate::study::Study;
use linewake_kpi::summary::StartKind;
use linewake_model::time::Span;
use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

const MODEL: &str = r#"{ "model_version": 1, "name": "two machines", "design_rate": "60/min",
    "constraint": "first", "shift": { "length": "1 h" }, "stations": [
    { "machine": { "id": "first", "process": "1 s", "stops": [ { "reason": "jam", "attended": false,
        "after": { "running_time": { "exponential": { "mean": "100 s" } } },
        "duration": { "exponential": { "mean": "10 s" } } } ] } },
    { "accumulating_table": { "id": "table", "capacity": 5, "transit": "0 s" } },
    { "machine": { "id": "second", "process": "1 s", "stops": [ { "reason": "jam", "attended": false,
        "after": { "running_time": { "exponential": { "mean": "100 s" } } },
        "duration": { "exponential": { "mean": "10 s" } } } ] } } ] }"#;

fn conditions(seed: u64) -> Conditions {
    Conditions {
        seed,
        runs: 7,
        start: StartKind::NewRolls,
        length: Some(Span::from_seconds(600.0)),
        ..Conditions::default()
    }
}

fn study(seed: u64) -> BuffersStudy {
    let base = BaseModel::parse(MODEL).expect("a model");
    let options = BuffersOptions {
        vary: vec![("stations[table].capacity".to_owned(), "0,5,20".to_owned())],
        ..BuffersOptions::default()
    };
    BuffersStudy::prepare(base, options, &conditions(seed)).expect("a study")
}

fn journal_of(study: &BuffersStudy, threads: usize, part: Part, earlier: Option<&[u8]>) -> Vec<u8> {
    let stop = AtomicBool::new(false);
    let workers = Workers::new(Some(threads), &stop).expect("threads");
    let mut bytes = Vec::new();
    let earlier = earlier.and_then(|earlier| {
        let journal = Journal::read(earlier).ok()?;
        bytes.extend_from_slice(&earlier[..usize::try_from(journal.good_bytes).expect("small")]);
        Some(journal)
    });
    let mut runner = Runner::new(study.plan(), &workers, &|| {})
        .resume(part, earlier, &mut bytes)
        .expect("it belongs to the study");
    runner.run_part(part).expect("all runs");
    drop(runner);
    bytes
}

fn read(bytes: &[u8]) -> Journal {
    Journal::read(bytes).expect("a journal")
}

#[test]
fn threads_parts_and_interrupts_change_no_byte() {
    let study = study(1);
    let whole = journal_of(&study, 1, Part::WHOLE, None);
    // As modelled, 0, 20 and unlimited (5 is as modelled), 7 runs each.
    assert_eq!(read(&whole).records.len(), 28);
    assert_eq!(journal_of(&study, 3, Part::WHOLE, None), whole);
    for of in [2, 3, 28, 40] {
        let parts: Vec<Journal> =
            (1..=of).map(|number| read(&journal_of(&study, 2, Part { number, of }, None))).collect();
        let mut merged = Vec::new();
        merge(&parts, &mut merged).expect("all parts");
        assert!(merged == whole, "{of} parts");
    }
    // Cut off anywhere, also within the head or a line, it goes on to the same bytes.
    for cut in (0..whole.len()).step_by(487) {
        assert!(journal_of(&study, 2, Part::WHOLE, Some(&whole[..cut])) == whole, "cut at {cut}");
    }
}

#[test]
fn a_whole_journal_gives_the_conclusion_without_another_run() {
    let study = study(1);
    let whole = read(&journal_of(&study, 1, Part::WHOLE, None));
    let stop = AtomicBool::new(false);
    let workers = Workers::new(Some(1), &stop).expect("threads");
    let made = AtomicU64::new(0);
    let count = || {
        made.fetch_add(1, Ordering::Relaxed);
    };
    let mut from_journal =
        Runner::new(study.plan(), &workers, &count).with(whole).expect("it belongs to the study");
    let found = study.conclude(&mut from_journal).expect("a conclusion");
    assert_eq!(made.load(Ordering::Relaxed), 0);
    let mut anew = Runner::new(study.plan(), &workers, &count);
    assert_eq!(study.conclude(&mut anew).expect("a conclusion"), found);
    assert_eq!(made.load(Ordering::Relaxed), 28);
}

#[test]
fn strangers_gaps_and_doubles_are_refused() {
    let (one, other) = (study(1), study(2));
    let part = |study: &BuffersStudy, number| read(&journal_of(study, 1, Part { number, of: 3 }, None));
    let (first, second, third) = (part(&one, 1), part(&one, 2), part(&one, 3));
    let refused = |parts: &[Journal]| merge(parts, &mut Vec::new()).expect_err("refused").to_string();
    let all = refused(&[first.clone(), third.clone()]);
    assert!(all.contains("missing: part 2/3"), "{all}");
    let all = refused(&[first.clone(), second.clone(), second.clone(), third.clone()]);
    assert!(all.contains("part 2/3 is given twice"), "{all}");
    let all = refused(&[first.clone(), part(&other, 2), third.clone()]);
    assert!(all.contains("the seed is 2 there and 1 here"), "{all}");
    let bytes = journal_of(&one, 1, Part { number: 2, of: 3 }, None);
    let all = refused(&[first.clone(), read(&bytes[..bytes.len() - 5]), third]);
    assert!(all.contains("part 2/3 has 8 of its 9 runs"), "{all}");
    let mut older = first.clone();
    older.head.identity.program_version = "0.0.1".to_owned();
    assert!(refused(&[first.clone(), older]).contains("version"));
    assert!(matches!(merge(&[], &mut Vec::new()), Err(JournalError::Empty)));
    // A journal of another part is not gone on with.
    let head = JournalHead::of(one.plan(), Part { number: 2, of: 3 });
    assert!(
        first.belongs_to(&head).expect_err("another part").to_string().contains("1/3 there and 2/3 here")
    );
}

#[test]
fn lines_that_are_no_runs_are_told() {
    let whole = journal_of(&study(1), 1, Part::WHOLE, None);
    let text = String::from_utf8(whole).expect("text");
    let lines: Vec<&str> = text.lines().collect();
    let with = |lines: &[&str]| Journal::read(format!("{}\n", lines.join("\n")).as_bytes());
    let torn = with(&[lines[0], lines[1], "{ \"job\": 1", lines[3]]).expect_err("no run");
    assert!(torn.to_string().contains("line 3"), "{torn}");
    assert!(matches!(with(&[lines[0], lines[1], lines[1]]), Err(JournalError::Twice(0))));
    assert!(matches!(with(&[lines[1]]), Err(JournalError::NoJournal(_))));
    assert!(matches!(with(&["no JSON"]), Err(JournalError::NoJournal(_))));
    let later = lines[0].replace("\"linewake_journal\":1", "\"linewake_journal\":9");
    assert!(with(&[&later]).expect_err("another format").to_string().contains("format 9"));
    assert!(matches!(Journal::read(&b""[..]), Err(JournalError::Empty)));
}

#[test]
fn a_line_cut_inside_a_letter_is_cut_off() {
    let whole = journal_of(&study(1), 1, Part::WHOLE, None);
    let lines: Vec<&[u8]> = whole.split_inclusive(|byte| *byte == b'\n').collect();
    let mut cut = lines[..2].concat();
    let good = cut.len() as u64;
    // The first byte of a letter of two.
    cut.extend(b"{ \"job\": 1, \"what\": \"caf\xc3");
    let journal = Journal::read(&cut[..]).expect("good up to its last whole line");
    assert_eq!((journal.good_bytes, journal.records.len()), (good, 1));
}

#[test]
fn parts_are_numbered_from_one() {
    assert_eq!(Part::parse("2/8"), Ok(Part { number: 2, of: 8 }));
    for wrong in ["0/8", "9/8", "1", "a/b", "1/0", "-1/3", ""] {
        assert!(Part::parse(wrong).is_err(), "{wrong}");
    }
}

/// A disk that is full after so many bytes.
struct Full(usize);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if bytes.len() > self.0 {
            return Err(io::Error::new(io::ErrorKind::StorageFull, "no space left"));
        }
        self.0 -= bytes.len();
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_and_an_interrupt_end_the_study_with_an_error() {
    let study = study(1);
    let stop = AtomicBool::new(false);
    let workers = Workers::new(Some(2), &stop).expect("threads");
    let mut disk = Full(2000);
    let mut runner = Runner::new(study.plan(), &workers, &|| {})
        .resume(Part::WHOLE, None, &mut disk)
        .expect("room for the head");
    let error = runner.run_all().expect_err("no room");
    assert!(matches!(error, RunError::Journal(_)), "{error}");
    drop(runner);

    let made = AtomicU64::new(0);
    let interrupt = || {
        if made.fetch_add(1, Ordering::Relaxed) == 9 {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let mut kept = Vec::new();
    let mut runner = Runner::new(study.plan(), &workers, &interrupt)
        .resume(Part::WHOLE, None, &mut kept)
        .expect("a journal");
    assert!(matches!(runner.run_all(), Err(RunError::Interrupted)));
    drop(runner);
    // Every run that was made is there, without a gap, and the study goes on from there.
    let count = read(&kept).records.len() as u64;
    assert_eq!(count, made.load(Ordering::Relaxed));
    assert!((10..28).contains(&count));
    stop.store(false, Ordering::Relaxed);
    let whole = journal_of(&study, 1, Part::WHOLE, None);
    assert_eq!(journal_of(&study, 2, Part::WHOLE, Some(&kept)), whole);
}
