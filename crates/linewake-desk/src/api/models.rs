//! Model files of the folder: which there are, what is in one, and a new one.

use crate::answer::{self, Answer};
use crate::desk::Desk;
use axum::http::header::{ETAG, IF_MATCH, IF_NONE_MATCH};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use serde::{Deserialize, Serialize};

/// A name in the folder.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Open {
    name: String,
}

/// A file as it was read.
#[derive(Serialize)]
struct File<'a> {
    name: &'a str,
    text: &'a str,
    hash: &'a str,
}

/// A file to write.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Save {
    name: String,
    text: String,
}

/// What the page knows of the file that it wants to write.
pub(super) enum Known {
    /// `If-Match` with a hash: it replaces that file.
    Hash(String),
    /// `If-None-Match: *`: there is none.
    New,
    /// Neither: nothing is written.
    Nothing,
}

/// Reads it from the headers.
pub(super) fn known_hash(headers: &HeaderMap) -> Known {
    let value = |name| headers.get(name).and_then(|value: &HeaderValue| value.to_str().ok());
    match (value(IF_MATCH), value(IF_NONE_MATCH)) {
        (Some(hash), None) => Known::Hash(hash.trim_matches('"').to_owned()),
        (None, Some("*")) => Known::New,
        _ => Known::Nothing,
    }
}

pub(super) fn list(desk: &Desk) -> Answer {
    answer::json(&serde_json::json!({ "models": desk.folder.list() }))
}

pub(super) fn open(desk: &Desk, body: &[u8]) -> Answer {
    let wanted: Open = match answer::read(body) {
        Ok(wanted) => wanted,
        Err(wrong) => return *wrong,
    };
    match desk.folder.read(&wanted.name) {
        Ok(opened) => answer::json(&File { name: &wanted.name, text: &opened.text, hash: &opened.hash }),
        Err(error) => error.into(),
    }
}

pub(super) fn save(desk: &Desk, body: &[u8], known: &Known) -> Answer {
    let wanted: Save = match answer::read(body) {
        Ok(wanted) => wanted,
        Err(wrong) => return *wrong,
    };
    let known = match known {
        Known::Hash(hash) => Some(hash.as_str()),
        Known::New => None,
        Known::Nothing => {
            return answer::wrong(
                StatusCode::PRECONDITION_REQUIRED,
                "say which file is replaced (If-Match), or that it is a new one (If-None-Match: *)",
            );
        }
    };
    match desk.folder.save(&wanted.name, &wanted.text, known) {
        Ok(hash) => {
            let mut done = answer::json(&serde_json::json!({ "name": wanted.name, "hash": hash }));
            if let Ok(tag) = HeaderValue::from_str(&format!("\"{hash}\"")) {
                done.headers_mut().insert(ETAG, tag);
            }
            done
        }
        Err(error) => error.into(),
    }
}
