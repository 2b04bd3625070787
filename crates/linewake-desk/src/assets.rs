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
    ("/outputs.js", "text/javascript; charset=utf-8", include_str!("../assets/outputs.js")),
];

/// Path, type, and what puts the content together.
type Joined = (&'static str, &'static str, fn() -> String);

/// What the picture of a shift is drawn with.
const JOINED: [Joined; 2] = [
    ("/replay.css", "text/css; charset=utf-8", linewake_report::replay_sheet),
    ("/replay.js", "text/javascript; charset=utf-8", linewake_replay::script::module),
];

/// The file at that path, if there is one.
pub(crate) fn at(path: &str) -> Option<Answer> {
    if let Some((_, kind, text)) = JOINED.iter().find(|(known, _, _)| *known == path) {
        return Some(answer::of(StatusCode::OK, kind, text()));
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
        let single = ASSETS.iter().map(|(path, _, text)| (*path, (*text).to_owned()));
        for (path, text) in single.chain(JOINED.iter().map(|(path, _, text)| (*path, text()))) {
            for forbidden in
                ["http://", "https://", "//cdn", "@import", "url(", " style=\"", "onclick=", "eval("]
            {
                let text = text.replace("http://www.w3.org/2000/svg", "");
                assert!(!text.contains(forbidden), "{path} has {forbidden}");
            }
        }
    }
}
