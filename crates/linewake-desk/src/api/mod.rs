//! What the page asks for: one module for each view, with the mirror types of its requests and answers.

mod edit;
mod form;
pub(crate) mod lessons;
mod models;
pub(crate) mod replay;
mod report;
mod study;

use crate::answer::{self, Answer};
use crate::desk::Desk;
use crate::guard::OUR_HEADER;
use axum::http::request::Parts;
use axum::http::{Method, StatusCode};
use std::sync::Arc;

/// Longest name of a page.
const LONGEST_PAGE: usize = 40;

/// Answers a request that is not for a file of the page.
pub(crate) async fn answer(desk: &Arc<Desk>, head: &Parts, body: Vec<u8>) -> Answer {
    let page = page_of(head);
    match (&head.method, head.uri.path()) {
        (&Method::GET, "/api/models") => quickly(desk, models::list).await,
        (&Method::GET, "/api/status") => answer::json(&serde_json::json!({ "running": desk.running() })),
        (&Method::POST, "/api/open") => quickly(desk, move |desk| models::open(desk, &body)).await,
        (&Method::POST, "/api/edit") => quickly(desk, move |_| edit::edit(&body)).await,
        (&Method::POST, "/api/save") => {
            let known = models::known_hash(&head.headers);
            quickly(desk, move |desk| models::save(desk, &body, &known)).await
        }
        (&Method::POST, "/api/study") => study::study(desk, &page, &body),
        (&Method::POST, "/api/replay") => replay::replay(desk, &format!("{page} replay"), &body),
        (&Method::GET, "/api/lessons") => quickly(desk, |_| lessons::list()).await,
        (&Method::POST, "/api/lesson") => lessons::lesson(desk, &format!("{page} lesson"), &body),
        (&Method::POST, "/api/training-page") => lessons::training_page(desk, &format!("{page} lesson")),
        (&Method::POST, "/api/report") => report::report(desk, &format!("{page} report"), &body),
        _ => answer::wrong(StatusCode::NOT_FOUND, "there is nothing at this address"),
    }
}

/// Work of a few milliseconds, off the threads that answer.
async fn quickly(desk: &Arc<Desk>, work: impl FnOnce(&Desk) -> Answer + Send + 'static) -> Answer {
    let desk = Arc::clone(desk);
    let done = tokio::task::spawn_blocking(move || work(&desk)).await;
    done.unwrap_or_else(|_| {
        answer::wrong(StatusCode::INTERNAL_SERVER_ERROR, "linewake met a defect of its own")
    })
}

/// The open page that asks, by the name that it gave itself.
fn page_of(head: &Parts) -> String {
    let name = head.headers.get(OUR_HEADER).and_then(|name| name.to_str().ok()).unwrap_or_default();
    name.chars().take(LONGEST_PAGE).collect()
}
