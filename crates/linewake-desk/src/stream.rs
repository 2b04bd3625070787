//! Server-sent events, told by a thread that works while the page listens. A page that goes away is noticed at the next
//! event, and the work ends.

use crate::answer::{self, Answer};
use crate::desk::Desk;
use axum::body::Body;
use axum::http::StatusCode;
use serde::Serialize;
use std::convert::Infallible;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;

/// Events that wait for a slow reader before the work waits too.
const MOST_UNREAD: usize = 16;

/// Tells the page what comes up.
pub(crate) struct Teller {
    events: mpsc::Sender<Result<Vec<u8>, Infallible>>,
    stop: Arc<AtomicBool>,
}

impl Teller {
    /// Tells an event.
    pub(crate) fn tell(&self, event: &str, data: &impl Serialize) {
        let data = serde_json::to_string(data).unwrap_or_default();
        let text = format!("event: {event}\ndata: {data}\n\n");
        if self.events.blocking_send(Ok(text.into_bytes())).is_err() {
            self.stop.store(true, Ordering::SeqCst);
        }
    }

    /// Raised when the work should end: the page went away, began something new, or the server ends.
    pub(crate) fn stop(&self) -> &AtomicBool {
        if self.events.is_closed() {
            self.stop.store(true, Ordering::SeqCst);
        }
        &self.stop
    }
}

/// Does `work` when its turn comes, and answers with the events that it tells.
pub(crate) fn events(
    desk: &Arc<Desk>,
    page: &str,
    work: impl FnOnce(&Desk, &Teller) + Send + 'static,
) -> Answer {
    let (events, received) = mpsc::channel(MOST_UNREAD);
    let (desk, stop) = (Arc::clone(desk), desk.begin(page));
    tokio::spawn(async move {
        let teller = Teller { events, stop };
        let turn = tokio::select! {
            () = teller.events.closed() => return,
            turn = desk.turn() => turn,
        };
        if turn.is_none() {
            let busy = "event: busy\ndata: {\"error\": \"too much is being run at once; try again in a moment\"}\n\n";
            let _gone = teller.events.send(Ok(busy.as_bytes().to_vec())).await;
            return;
        }
        let shared = Arc::clone(&desk);
        let done = tokio::task::spawn_blocking(move || work(&shared, &teller)).await;
        drop(turn);
        // A panic of the work is a defect; the stream just ends, and the page says that it broke off.
        drop(done);
    });
    answer::of(StatusCode::OK, "text/event-stream", Body::from_stream(ReceiverStream::new(received)))
}
