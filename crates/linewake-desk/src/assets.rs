//! The files of the page. All of them are in the program; nothing comes from anywhere else.

use crate::answer::{self, Answer};
use axum::http::StatusCode;

/// Path, type, content.
const ASSETS: &[(&str, &str, &str)] = &[
    ("/", "text/html; charset=utf-8", include_str!("../assets/index.html")),
    ("/desk.css", "text/css; charset=utf-8", include_str!("../assets/desk.css")),
    ("/desk.js", "text/javascript; charset=utf-8", include_str!("../assets/desk.js")),
    ("/talk.js", "text/javascript; charset=utf-8", include_str!("../assets/talk.js")),
    ("/make.js", "text/javascript; charset=utf-8", include_str!("../assets/make.js")),
    ("/form.js", "text/javascript; charset=utf-8", include_str!("../assets/form.js")),
    ("/lessons.js", "text/javascript; charset=utf-8", include_str!("../assets/lessons.js")),
    ("/shift.js", "text/javascript; charset=utf-8", include_str!("../assets/shift.js")),
    ("/replay.js", "text/javascript; charset=utf-8", linewake_replay::SCRIPT),
    ("/outputs.js", "text/javascript; charset=utf-8", include_str!("../assets/outputs.js")),
];

/// The file at that path, if there is one.
pub(crate) fn at(path: &str) -> Option<Answer> {
    if path == "/replay.css" {
        return Some(answer::of(StatusCode::OK, "text/css; charset=utf-8", linewake_report::replay_sheet()));
    }
    ASSETS
        .iter()
        .find(|(known, _, _)| *known == path)
        .map(|(_, kind, text)| answer::of(StatusCode::OK, kind, *text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_names_another_place() {
        for (path, _, text) in ASSETS {
            for forbidden in
                ["http://", "https://", "//cdn", "@import", "url(", " style=\"", "onclick=", "eval("]
            {
                let text = text.replace("http://www.w3.org/2000/svg", "");
                assert!(!text.contains(forbidden), "{path} has {forbidden}");
            }
        }
    }
}
