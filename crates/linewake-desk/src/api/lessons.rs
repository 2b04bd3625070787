//! The lessons: their texts, and what comes out of one.

use super::replay::recorded;
use crate::answer::{self, Answer};
use crate::desk::Desk;
use crate::lessons::{self, Lesson, Outcome, Prepared};
use crate::stream::{self, Teller};
use crate::training_page;
use axum::http::StatusCode;
use linewake_replay::Replay;
use linewake_report::live;
use linewake_study::replicate::Workers;
use linewake_study::wake::{WakeQuestion, replayed, wake};
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// What the page shows of a lesson before it is run.
#[derive(Serialize)]
pub(crate) struct LessonShown<'l> {
    id: &'l str,
    title: &'l str,
    aim: &'l str,
    line: String,
    situation: &'l [String],
    question: &'l str,
    unit: &'l str,
    why: &'l [String],
}

/// What came out of it.
#[derive(Serialize)]
pub(crate) struct Found {
    id: String,
    /// Mean with its interval, in words with the unit.
    mean: String,
    /// Range of one shift, in words with the unit.
    range: String,
    /// Ends of the range.
    low: f64,
    high: f64,
    /// Ends within which a guess is close.
    close_low: f64,
    close_high: f64,
    /// How it was found.
    how: String,
    /// One shift of it, to be looked at.
    replay: Replay,
}

pub(super) fn list() -> Answer {
    match lessons::all() {
        Ok(lessons) => answer::json(&lessons.iter().map(shown).collect::<Vec<_>>()),
        Err(error) => answer::wrong(StatusCode::INTERNAL_SERVER_ERROR, &error),
    }
}

/// A lesson as the page shows it.
pub(crate) fn shown(lesson: &Lesson) -> LessonShown<'_> {
    let line = lesson.line_text().and_then(|text| linewake_model::parse(text).ok());
    LessonShown {
        id: &lesson.id,
        title: &lesson.title,
        aim: &lesson.aim,
        line: line
            .map(|checked| format!("{}: {}", checked.line.name, checked.line.about))
            .unwrap_or_default(),
        situation: &lesson.situation,
        question: &lesson.question,
        unit: &lesson.unit,
        why: &lesson.why,
    }
}

/// Which lesson.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    id: String,
}

pub(super) fn lesson(desk: &Arc<Desk>, page: &str, body: &[u8]) -> Answer {
    let asked: Asked = match answer::read(body) {
        Ok(asked) => asked,
        Err(wrong) => return *wrong,
    };
    let Some(lesson) = lessons::named(&asked.id) else {
        return answer::wrong(StatusCode::NOT_FOUND, "there is no such lesson");
    };
    stream::events(desk, page, move |_, teller| work(lesson, teller))
}

fn work(lesson: Lesson, teller: &Teller) {
    let prepared = match lesson.prepare() {
        Ok(prepared) => prepared,
        Err(what) => return teller.tell("ended", &what),
    };
    let (done, of) = (AtomicU64::new(0), prepared.lesson.runs);
    let step = || {
        let done = done.fetch_add(1, Ordering::SeqCst) + 1;
        teller.tell("progress", &serde_json::json!({ "done": done, "of": of }));
    };
    let outcome = Workers::new(None, teller.stop()).and_then(|workers| prepared.run(&workers, &step));
    match outcome {
        Ok(outcome) => teller.tell("found", &found(&prepared, &outcome)),
        Err(error) => teller.tell("ended", &error.to_string()),
    }
}

pub(super) fn training_page(desk: &Arc<Desk>, page: &str) -> Answer {
    stream::events(desk, page, |_, teller| match every_lesson(teller) {
        Ok(html) => {
            teller.tell("page", &serde_json::json!({ "name": "linewake-lessons.html", "html": html }));
        }
        Err(what) => teller.tell("ended", &what),
    })
}

/// Runs every lesson, and gives the page.
fn every_lesson(teller: &Teller) -> Result<String, String> {
    let lessons = lessons::all()?;
    let of = lessons.len();
    let mut every = Vec::new();
    for (done, lesson) in lessons.iter().enumerate() {
        teller.tell("progress", &serde_json::json!({ "done": done, "of": of }));
        let prepared = lesson.clone().prepare()?;
        let workers = Workers::new(None, teller.stop()).map_err(|error| error.to_string())?;
        let outcome = prepared.run(&workers, &|| {}).map_err(|error| error.to_string())?;
        every.push(found(&prepared, &outcome));
    }
    Ok(training_page::page(&lessons, &every))
}

/// What came out of a lesson.
pub(crate) fn found(prepared: &Prepared, outcome: &Outcome) -> Found {
    let lesson = &prepared.lesson;
    let words = live::trial_words(&outcome.found, &lesson.unit);
    let with = &prepared.variant;
    let replay = if with.plan.injected.is_empty() {
        recorded(&with.line, &with.plan, lesson.seed(), 0)
    } else {
        let question = WakeQuestion {
            stops: with.plan.injected.clone(),
            random_luck: with.plan.own_stops,
            seed: lesson.seed(),
            replication: 0,
        };
        replayed(&with.line, &question, &wake(&with.line, &question))
    };
    Found {
        id: lesson.id.clone(),
        mean: words.mean,
        range: words.range,
        low: outcome.found.range.p10,
        high: outcome.found.range.p90,
        close_low: outcome.close.0,
        close_high: outcome.close.1,
        how: format!(
            "{} shifts without and with the change, the same luck in both, seed {}",
            outcome.found.values.len(),
            lesson.seed()
        ),
        replay,
    }
}
