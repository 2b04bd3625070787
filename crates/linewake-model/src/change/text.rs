//! A changed model written into the text that it was read from: comments, blanks and the order of keys stay.

use super::ModelTree;
use crate::problem::{Path, Step};
use crate::spec::document::Document;
use serde_json::Value;
use std::ops::Range;

/// The text with every value that differs replaced. Where more than values differ, or a value does not stand in the
/// text, the whole model is written anew as strict JSON, in lines.
pub(super) fn written_into(text: &str, before: &ModelTree, after: &ModelTree) -> String {
    in_place(text, before, after).unwrap_or_else(|| match crate::spec_of(&after.text()) {
        Ok(spec) => crate::to_json(&spec),
        Err(_) => serde_json::to_string_pretty(&after.root).unwrap_or_default(),
    })
}

fn in_place(text: &str, before: &ModelTree, after: &ModelTree) -> Option<String> {
    let document = Document::parse(text).ok()?;
    let mut changes: Vec<(Range<usize>, String)> = Vec::new();
    collect(&before.root, &after.root, &mut Path::default(), &document, &mut changes)?;
    changes.sort_by_key(|(range, _)| std::cmp::Reverse(range.start));
    let mut changed = text.to_owned();
    for (range, value) in changes {
        changed.replace_range(range, &value);
    }
    Some(changed)
}

/// Notes what differs; `None` if it is not a value that stands in the text.
fn collect(
    before: &Value,
    after: &Value,
    path: &mut Path,
    document: &Document<'_>,
    changes: &mut Vec<(Range<usize>, String)>,
) -> Option<()> {
    if before == after {
        return Some(());
    }
    match (before, after) {
        (Value::Object(one), Value::Object(other)) => {
            if one.len() != other.len() {
                return None;
            }
            for (key, value) in one {
                path.0.push(Step::Key(key.clone()));
                collect(value, other.get(key)?, path, document, changes)?;
                path.0.pop();
            }
        }
        (Value::Array(one), Value::Array(other)) => {
            if one.len() != other.len() {
                return None;
            }
            for (place, (value, new)) in one.iter().zip(other).enumerate() {
                path.0.push(Step::Element(place));
                collect(value, new, path, document, changes)?;
                path.0.pop();
            }
        }
        _ => changes.push((document.span_of(path)?, after.to_string())),
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"// An invented line.
{
  "model_version": 1, "name": "two machines", "about": "Invented.",
  "shift": { "length": "8 h" }, "design_rate": "30/min", "constraint": "one",
  "stations": [
    { "machine": { "process": "2 s", "id": "one" } }, // equally slow
    { "accumulating_table": { "capacity": 10, "id": "table", "transit": "0 s" } },
    { "machine": { "id": "two", "process": { "lognormal": { "median": "2 s", "p90": "3 s" } } } },
  ],
}
"#;

    #[test]
    fn what_changes_is_replaced_and_all_else_stays() {
        let before = ModelTree::parse(TEXT).expect("a model");
        let mut after = before.clone();
        after.set("stations[table].capacity", "25").expect("a path");
        after.scale("stations[two].process", 2.0).expect("a distribution");
        let expected = TEXT
            .replace("\"capacity\": 10", "\"capacity\": 25")
            .replace(r#""median": "2 s", "p90": "3 s""#, r#""median": "4 s", "p90": "6 s""#);
        assert_eq!(after.written_into(TEXT, &before), expected);
        assert_eq!(before.written_into(TEXT, &before), TEXT);
        let with_mark = format!("\u{feff}{TEXT}");
        assert_eq!(after.written_into(&with_mark, &before), format!("\u{feff}{expected}"));
    }

    #[test]
    fn another_form_is_written_whole() {
        let before = ModelTree::parse(TEXT).expect("a model");
        let mut after = before.clone();
        after.set("stations[one].process", r#"{"exponential":{"mean":"3 s"}}"#).expect("a path");
        after.set("stations[table].restart_at", "5").expect("a key that was left out");
        let written = after.written_into(TEXT, &before);
        assert!(!written.contains("//"), "{written}");
        assert_eq!(ModelTree::parse(&written).expect("a model"), after);
    }
}
