//! The lessons as one file that works without the server: every lesson is run beforehand, and the page says so.

use crate::api::lessons::{Found, shown};
use crate::lessons::Lesson;
use serde::Serialize;

const SHEET: &str = include_str!("../assets/desk.css");
const SCRIPT: &str = include_str!("../assets/saved.js");

/// What a saved page may do: run what is in it, and reach nothing.
const POLICY: &str = "default-src 'none'; script-src 'unsafe-inline' data:; style-src 'unsafe-inline'; img-src data:; \
                      base-uri 'none'; form-action 'none'";

/// The page.
pub(crate) fn page(lessons: &[Lesson], found: &[Found]) -> String {
    let version = env!("CARGO_PKG_VERSION");
    let data = for_script(&lessons.iter().map(shown).collect::<Vec<_>>());
    let results = for_script(&found);
    let sheet = format!("{SHEET}\n{}", linewake_report::replay_sheet());
    let script = with_modules(SCRIPT);
    format!(
        r#"<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<meta name="generator" content="linewake {version}">
<link rel="icon" href="data:,">
<title>linewake: lessons</title>
<style>
{sheet}
</style>
</head>
<body>
<header class="top"><p class="mark">linewake</p></header>
<main id="main">
<h1>Lessons</h1>
<p class="note-saved">This page was saved from linewake {version}. It works by itself, without a server and without a network. Its scenarios were computed beforehand: whatever you guess, the same runs are shown, and nothing is simulated here.</p>
<div id="lessons"></div>
</main>
<footer><p>Every line and figure here is invented, and every result is an estimate from a model. Food safety, guarding and legal weights are for qualified people and local codes.</p></footer>
<script type="application/json" id="data">{data}</script>
<script type="application/json" id="results">{results}</script>
<script type="module">
{script}
</script>
</body>
</html>
"#
    )
}

/// JSON that cannot end the element it stands in.
fn for_script(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default().replace('<', "\\u003c")
}

/// The script with the modules that it imports put in as data.
fn with_modules(script: &str) -> String {
    // Each after those that it imports.
    let modules = [
        ("/make.js", include_str!("../assets/make.js").to_owned()),
        ("/replay.js", linewake_replay::script::module()),
        ("/lessons.js", include_str!("../assets/lessons.js").to_owned()),
    ];
    let mut known: Vec<(&str, String)> = Vec::new();
    let resolved = |text: &str, known: &[(&str, String)]| {
        known.iter().fold(text.to_owned(), |text, (name, address)| {
            text.replace(&format!("from '{name}'"), &format!("from '{address}'"))
        })
    };
    for (name, text) in modules {
        let text = resolved(&text, &known);
        known.push((name, format!("data:text/javascript;charset=utf-8,{}", encoded(&text))));
    }
    resolved(script, &known)
}

/// Percent-encoded for an address: everything but letters, digits and a few signs.
fn encoded(text: &str) -> String {
    let mut shown = String::with_capacity(text.len() * 2);
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.*()!~;,:=+/@$&?".contains(&byte) {
            shown.push(char::from(byte));
        } else {
            shown.push_str(&format!("%{byte:02X}"));
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_needs_nothing_else() {
        let page = page(&crate::lessons::all().expect("lessons"), &[]);
        assert!(!page.contains("from '/"), "a module is left out");
        assert!(!page.contains(" src=\""));
        assert!(!page.contains("url("));
        assert!(page.contains("computed beforehand"));
        assert_eq!(page.matches("<script").count(), 3);
        assert_eq!(page.matches("</script>").count(), 3);
    }

    #[test]
    fn what_stands_in_a_script_cannot_end_it() {
        assert_eq!(for_script(&"</script><b>"), "\"\\u003c/script>\\u003cb>\"");
        assert_eq!(encoded("a 'b'\n%"), "a%20%27b%27%0A%25");
    }
}
