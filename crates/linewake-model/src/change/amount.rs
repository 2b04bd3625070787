//! Numbers and quantities of the tree, made larger or smaller.

use crate::units::{self, Kind};
use serde_json::{Number, Value};

/// Keys under which a bare number has the size of what is described; other numbers of a distribution are its shape.
const SIZES: [&str; 11] =
    ["mean", "median", "p90", "min", "max", "mode", "half_width", "sd", "scale", "constant", "empirical"];
/// Keys that stay when what is around them is scaled.
const STAYS: [&str; 5] = ["shape", "cv", "sigma", "step", "per_cycle"];

/// Multiplies a value in place; `key` is the key that it stands under.
pub(super) fn scale(value: &mut Value, key: Option<&str>, factor: f64) -> Result<(), &'static str> {
    match value {
        Value::Number(number) => match number.as_f64().and_then(|n| Number::from_f64(rounded(n * factor))) {
            Some(scaled) => {
                *number = whole_or(scaled);
                Ok(())
            }
            None => Err("the result is no number"),
        },
        Value::String(text) => match split(text) {
            Some((number, unit)) => {
                *text = joined(rounded(number * factor), unit);
                Ok(())
            }
            None => Err("it is a word"),
        },
        Value::Array(list) if key == Some("empirical") => {
            list.iter_mut().try_for_each(|element| scale(element, None, factor))
        }
        Value::Object(object) if object.len() == 1 => {
            object.iter_mut().try_for_each(|(key, inner)| scale(inner, Some(key), factor))
        }
        Value::Object(object) => {
            let mut any = false;
            for (key, inner) in object.iter_mut() {
                let is_size = SIZES.contains(&key.as_str())
                    || matches!(inner, Value::String(text) if split(text).is_some())
                    || matches!(key.as_str(), "pieces" | "length");
                if is_size && !STAYS.contains(&key.as_str()) {
                    scale(inner, Some(key), factor)?;
                    any = true;
                }
            }
            if any { Ok(()) } else { Err("it has no size of its own; give the path of one of its values") }
        }
        Value::Bool(_) => Err("it is true or false"),
        _ => Err("it is a list; give the path of one of its values"),
    }
}

/// A value that the model allows where the scaled one is not.
pub(super) struct Nearest {
    pub(super) value: Value,
    pub(super) factor: f64,
}

/// The scaled value as a whole number (`must_differ`: another than before); a share at most 1.
pub(super) fn nearest_allowed(before: &Value, factor: f64, must_differ: bool) -> Option<Nearest> {
    match before {
        Value::Number(number) => {
            let number = number.as_f64()?;
            if number <= 0.0 {
                return None;
            }
            let is_count = number.fract() == 0.0 && number >= 1.0;
            let wanted = number * factor;
            let new = if is_count && wanted.fract() != 0.0 {
                let whole = libm_round(wanted);
                match (must_differ, factor > 1.0) {
                    (false, _) => whole,
                    (true, true) => whole.max(number + 1.0),
                    (true, false) => whole.min(number - 1.0).max(0.0),
                }
            } else if number <= 1.0 && wanted > 1.0 {
                1.0
            } else {
                return None;
            };
            let value = Value::Number(whole_or(Number::from_f64(new)?));
            Some(Nearest { value, factor: new / number })
        }
        Value::String(text) => {
            let (number, unit) = split(text)?;
            (unit.kind == Kind::Share && number <= 100.0 && number * factor > 100.0)
                .then(|| Nearest { value: Value::String("100 %".to_owned()), factor: 100.0 / number })
        }
        _ => None,
    }
}

/// What share of the amount `of` the amount `part` is: `"2 s"` of `"0.5 min"` is 1/15.
///
/// # Errors
/// In words, if one of them is no amount, their units differ in kind, or `of` is 0.
pub fn relative_to(part: &str, of: &str) -> Result<f64, String> {
    let base = |text: &str| -> Result<(f64, Option<Kind>), String> {
        if let Ok(number) = text.trim().parse::<f64>() {
            return Ok((number, None));
        }
        match split(text) {
            Some((number, unit)) => Ok((number * unit.numerator / unit.denominator, Some(unit.kind))),
            None => Err(format!("\"{text}\" is no number and no quantity")),
        }
    };
    let (part_base, part_kind) = base(part)?;
    let (whole, whole_kind) = base(of)?;
    let kinds_agree = part_kind == whole_kind
        || matches!((part_kind, whole_kind), (Some(Kind::Share), None) | (None, Some(Kind::Share)));
    if !kinds_agree {
        return Err(format!("\"{part}\" does not go with \"{of}\": the units differ in kind"));
    }
    if whole == 0.0 {
        return Err(format!("a share of \"{of}\" is not defined"));
    }
    Ok((part_base / whole).abs())
}

/// A number or a quantity in its base unit (s, per minute, g, m, m/s; a share of 1); `None` for anything else.
#[must_use]
pub fn number_of(text: &str) -> Option<f64> {
    let bare = text.trim().parse::<f64>().ok().filter(|number| number.is_finite());
    bare.or_else(|| split(text).map(|(number, unit)| number * unit.numerator / unit.denominator))
}

/// The number of a bare number or quantity, and the unit as it is written behind it (empty for a bare number).
///
/// ```
/// use linewake_model::change::number_and_unit;
/// assert_eq!(number_and_unit("70 min"), Some((70.0, "min")));
/// assert_eq!(number_and_unit("12"), Some((12.0, "")));
/// assert_eq!(number_and_unit("unlimited"), None);
/// ```
#[must_use]
pub fn number_and_unit(text: &str) -> Option<(f64, &'static str)> {
    let bare = text.trim().parse::<f64>().ok().filter(|number| number.is_finite());
    bare.map(|number| (number, "")).or_else(|| split(text).map(|(number, unit)| (number, unit.symbol)))
}

/// A quantity of the file: its number and unit.
pub(super) fn split(text: &str) -> Option<(f64, &'static units::Unit)> {
    let trimmed = text.trim();
    let end = trimmed.find(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).unwrap_or(trimmed.len());
    let (number, symbol) = trimmed.split_at(end);
    Some((number.parse().ok()?, units::by_symbol(symbol.trim_start())?))
}

fn joined(number: f64, unit: &units::Unit) -> String {
    let gap = if unit.symbol.starts_with('/') { "" } else { " " };
    format!("{number}{gap}{}", unit.symbol)
}

/// To twelve significant digits, so that 12 times 1.2 is written 14.4. The rounding is that of decimal text, the same on
/// every machine.
fn rounded(number: f64) -> f64 {
    format!("{number:.11e}").parse().unwrap_or(number)
}

fn libm_round(number: f64) -> f64 {
    let below = number - number.fract();
    if number.fract() >= 0.5 { below + 1.0 } else { below }
}

/// A whole number without a decimal point, so that a count stays a count.
fn whole_or(number: Number) -> Number {
    match number.as_f64() {
        Some(n) if n.fract() == 0.0 && (0.0..=1e15).contains(&n) => Number::from(n as u64),
        _ => number,
    }
}
