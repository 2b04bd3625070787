//! What is sent back: JSON, text, and refusals with their reason.

use crate::folder::FileError;
use crate::guard::Refusal;
use axum::body::Body;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderValue, Response, StatusCode};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// An answer.
pub(crate) type Answer = Response<Body>;

/// A body with its type.
pub(crate) fn of(status: StatusCode, kind: &'static str, body: impl Into<Body>) -> Answer {
    let mut answer = Response::new(body.into());
    *answer.status_mut() = status;
    answer.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    answer
}

/// A value as JSON.
pub(crate) fn json(value: &impl Serialize) -> Answer {
    of(StatusCode::OK, "application/json", serde_json::to_vec(value).unwrap_or_default())
}

/// What is wrong, for the page to show: `{"error": "..."}`.
pub(crate) fn wrong(status: StatusCode, what: &str) -> Answer {
    let body = serde_json::json!({ "error": what }).to_string();
    of(status, "application/json", body)
}

/// Reads the body of a request.
///
/// # Errors
/// 400 with what is wrong, if it is not JSON of that form.
pub(crate) fn read<T: DeserializeOwned>(body: &[u8]) -> Result<T, Box<Answer>> {
    serde_json::from_slice(body).map_err(|error| {
        Box::new(wrong(StatusCode::BAD_REQUEST, &format!("the request cannot be read: {error}")))
    })
}

impl From<Refusal> for Answer {
    fn from(refusal: Refusal) -> Self {
        of(refusal.status, "text/plain; charset=utf-8", format!("{}\n", refusal.why))
    }
}

impl From<FileError> for Answer {
    fn from(error: FileError) -> Self {
        let status = match error {
            FileError::NoSuchFile(_) => StatusCode::NOT_FOUND,
            FileError::Name(_) | FileError::NotText(_) => StatusCode::UNPROCESSABLE_ENTITY,
            FileError::TooLarge(_) => StatusCode::PAYLOAD_TOO_LARGE,
            FileError::Changed(_) => StatusCode::PRECONDITION_FAILED,
            FileError::System(_) => StatusCode::INTERNAL_SERVER_ERROR,
        };
        wrong(status, &error.to_string())
    }
}
