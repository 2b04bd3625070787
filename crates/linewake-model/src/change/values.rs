//! Lists and ranges of values as people write them: `0,4,8` and `0..120 step 20`.

use std::fmt;

/// Most values that one range may have.
const MOST: usize = 10_000;

/// A list or range that cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValuesError {
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub hint: String,
}

impl fmt::Display for ValuesError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.what, self.hint)
    }
}

impl std::error::Error for ValuesError {}

/// The values of a list: each element is a value or a range. A comma within braces, brackets or quotes separates nothing.
/// Both ends of a range belong to it if the step meets them; its numbers may carry a unit, the same in all three.
///
/// ```
/// use linewake_model::change::values_of;
/// assert_eq!(values_of("0, 4, unlimited").unwrap(), ["0", "4", "unlimited"]);
/// assert_eq!(values_of("0..60 step 20").unwrap(), ["0", "20", "40", "60"]);
/// assert_eq!(values_of("10 s..20 s step 5 s").unwrap(), ["10 s", "15 s", "20 s"]);
/// ```
///
/// # Errors
/// An empty list or element, a repeated value, a range without a step, one that goes down or has more than 10,000 values,
/// units that differ.
pub fn values_of(text: &str) -> Result<Vec<String>, ValuesError> {
    let mut values: Vec<String> = Vec::new();
    for element in elements(text) {
        let element = element.trim();
        if element.is_empty() {
            return Err(error("a value is missing in the list", "write values as in 0,4,8"));
        }
        let is_range = !element.starts_with(['{', '[', '"']) && element.contains("..");
        let new = if is_range { range(element)? } else { vec![element.to_owned()] };
        for value in new {
            if values.contains(&value) {
                return Err(error(format!("{value} stands in the list twice"), "name each value once"));
            }
            values.push(value);
        }
    }
    Ok(values)
}

fn error(what: impl Into<String>, hint: impl Into<String>) -> ValuesError {
    ValuesError { what: what.into(), hint: hint.into() }
}

fn elements(text: &str) -> Vec<&str> {
    let (mut depth, mut quoted, mut start) = (0_i32, false, 0);
    let mut elements = Vec::new();
    for (at, letter) in text.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '{' | '[' if !quoted => depth += 1,
            '}' | ']' if !quoted => depth -= 1,
            ',' if !quoted && depth == 0 => {
                elements.push(&text[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    elements.push(&text[start..]);
    elements
}

fn range(text: &str) -> Result<Vec<String>, ValuesError> {
    const HINT: &str = "write a range as in 0..120 step 20";
    let Some((from, rest)) = text.split_once("..") else { return Err(error("no range", HINT)) };
    let Some((to, step)) = rest.split_once("step") else {
        return Err(error(format!("the range {text} has no step"), HINT));
    };
    let (from, from_unit) = number(from, HINT)?;
    let (to, to_unit) = number(to, HINT)?;
    let (step, step_unit) = number(step, HINT)?;
    if from_unit != to_unit || from_unit != step_unit {
        let what = format!("the units of {text} differ");
        return Err(error(what, "give both ends and the step in the same unit"));
    }
    if step <= 0.0 || to < from {
        return Err(error(format!("the range {text} does not rise"), HINT));
    }
    let count = (to - from) / step * (1.0 + 1e-12) + 1.0;
    if count >= MOST as f64 {
        return Err(error(format!("the range {text} has too many values"), format!("at most {MOST}")));
    }
    let gap = if from_unit.is_empty() || from_unit.starts_with('/') { "" } else { " " };
    let values = (0..count as u32).map(|place| {
        // To twelve digits, so that 0.1 + 2 x 0.1 is written 0.3.
        let value = from + f64::from(place) * step;
        let value: f64 = format!("{value:.11e}").parse().unwrap_or(value);
        format!("{value}{gap}{from_unit}")
    });
    Ok(values.collect())
}

fn number<'t>(text: &'t str, hint: &str) -> Result<(f64, &'t str), ValuesError> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).unwrap_or(text.len());
    match text[..end].parse::<f64>() {
        Ok(number) if number.is_finite() => Ok((number, text[end..].trim())),
        _ => Err(error(format!("\"{text}\" does not begin with a number"), hint)),
    }
}
