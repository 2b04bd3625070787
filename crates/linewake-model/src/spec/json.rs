//! Writing: strict JSON with the keys in the order of the documentation, short objects on one line.

/// A value to be written.
#[derive(Clone, Debug, PartialEq)]
pub enum Json {
    /// A number, `true` or `false`, as it is written.
    Bare(String),
    /// Text.
    Text(String),
    /// A list.
    List(Vec<Json>),
    /// Keys and values, in order.
    Object(Vec<(&'static str, Json)>),
}

/// Longest line that is not broken up.
const WIDTH: usize = 100;

impl Json {
    /// On one line without blanks: the form that is hashed.
    pub fn compact(&self) -> String {
        let mut out = String::new();
        self.write_line(&mut out, "", "");
        out
    }

    /// For people: two blanks a level, what fits on a line stands on one.
    pub fn pretty(&self) -> String {
        let mut out = String::new();
        self.write_pretty(&mut out, 0, 0);
        out.push('\n');
        out
    }

    fn write_line(&self, out: &mut String, gap: &str, inside: &str) {
        match self {
            Self::Bare(text) => out.push_str(text),
            Self::Text(text) => out.push_str(&quoted(text)),
            Self::List(elements) => {
                out.push('[');
                for (place, element) in elements.iter().enumerate() {
                    separate(out, place, gap);
                    element.write_line(out, gap, inside);
                }
                out.push(']');
            }
            Self::Object(entries) => {
                out.push('{');
                for (place, (key, value)) in entries.iter().enumerate() {
                    separate(out, place, gap);
                    out.push_str(if place == 0 { inside } else { "" });
                    out.push_str(&quoted(key));
                    out.push(':');
                    out.push_str(gap);
                    value.write_line(out, gap, inside);
                }
                out.push_str(if entries.is_empty() { "" } else { inside });
                out.push('}');
            }
        }
    }

    /// `used`: characters that stand on the line already.
    fn write_pretty(&self, out: &mut String, level: usize, used: usize) {
        let mut line = String::new();
        self.write_line(&mut line, " ", " ");
        let breakable = matches!(self, Self::List(_) | Self::Object(_));
        if level > 0 && used + line.chars().count() <= WIDTH || !breakable {
            out.push_str(&line);
            return;
        }
        let indent = "  ".repeat(level + 1);
        let (open, close) = if matches!(self, Self::List(_)) { ("[", "]") } else { ("{", "}") };
        out.push_str(open);
        let mut write = |place: usize, key: Option<&str>, value: &Self| {
            out.push_str(if place == 0 { "\n" } else { ",\n" });
            let head = key.map_or(String::new(), |key| format!("{}: ", quoted(key)));
            out.push_str(&indent);
            out.push_str(&head);
            value.write_pretty(out, level + 1, indent.len() + head.chars().count());
        };
        match self {
            Self::List(elements) => elements.iter().enumerate().for_each(|(n, e)| write(n, None, e)),
            Self::Object(entries) => {
                entries.iter().enumerate().for_each(|(n, (key, value))| write(n, Some(key), value));
            }
            Self::Bare(_) | Self::Text(_) => {}
        }
        out.push('\n');
        out.push_str(&"  ".repeat(level));
        out.push_str(close);
    }
}

fn separate(out: &mut String, place: usize, gap: &str) {
    if place > 0 {
        out.push(',');
        out.push_str(gap);
    }
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_objects_stay_on_a_line_and_the_compact_form_has_no_blanks() {
        let stop =
            Json::Object(vec![("reason", Json::Text("a \"jam\"".into())), ("n", Json::Bare("3".into()))]);
        let all = Json::Object(vec![("stops", Json::List(vec![stop]))]);
        assert_eq!(all.compact(), r#"{"stops":[{"reason":"a \"jam\"","n":3}]}"#);
        assert_eq!(all.pretty(), "{\n  \"stops\": [{ \"reason\": \"a \\\"jam\\\"\", \"n\": 3 }]\n}\n");
    }
}
