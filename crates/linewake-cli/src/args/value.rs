//! Values of options that need more than a number.

use super::warm_up;
use linewake_model::time::Span;

/// The warm-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum WarmUp {
    /// In seconds.
    Fixed(f64),
    /// Found from the data.
    Auto,
}

impl WarmUp {
    /// In seconds; 0 while it is to be found.
    pub(crate) fn seconds(self) -> f64 {
        match self {
            Self::Fixed(seconds) => seconds,
            Self::Auto => 0.0,
        }
    }
}

/// The length of a run that was asked for; `None`: the model's shift.
pub(crate) fn run_length(hours: Option<f64>) -> Option<Span> {
    hours.map(|hours| Span::from_seconds(hours * 3600.0))
}

/// A value of the model, and what it is to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Vary {
    /// Path in the model.
    pub(crate) path: String,
    /// List or range, as typed.
    pub(crate) values: String,
}

/// A path, "=" and a list or range.
pub(super) fn vary(text: &str) -> Result<Vary, String> {
    let mut depth = 0_i32;
    let split = text.char_indices().find(|(_, letter)| {
        depth += i32::from(*letter == '[') - i32::from(*letter == ']');
        *letter == '=' && depth == 0
    });
    match split {
        Some((at, _)) if at > 0 && at + 1 < text.len() => {
            Ok(Vary { path: text[..at].trim().to_owned(), values: text[at + 1..].trim().to_owned() })
        }
        _ => {
            Err("give a path, \"=\" and a list or range, such as stations[table].capacity=0,20,40".to_owned())
        }
    }
}

/// A confidence level: a share that is neither 0 nor 1.
pub(super) fn level(text: &str) -> Result<f64, String> {
    match share(text) {
        Ok(level) if level > 0.0 && level < 1.0 => Ok(level),
        _ => Err("give a share between 0 and 1, such as 90% or 0.9".to_owned()),
    }
}

/// A share: `90%` or `0.9`.
pub(super) fn share(text: &str) -> Result<f64, String> {
    const HINT: &str = "give a share between 0 and 1, such as 90% or 0.9";
    let text = text.trim();
    let (digits, parts) = match text.strip_suffix('%') {
        Some(digits) => (digits.trim_end(), 100.0),
        None => (text, 1.0),
    };
    match digits.parse::<f64>() {
        Ok(number) if (0.0..=1.0).contains(&(number / parts)) => Ok(number / parts),
        _ => Err(HINT.to_owned()),
    }
}

/// A number above 0.
pub(super) fn positive(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(number) if number > 0.0 && number.is_finite() => Ok(number),
        _ => Err("give a number above 0".to_owned()),
    }
}

/// A share or a number.
pub(super) fn limit(text: &str) -> Result<f64, String> {
    if text.trim().ends_with('%') { share(text) } else { positive(text) }
}

/// A time, or "auto".
pub(super) fn warm_up_or_auto(text: &str) -> Result<WarmUp, String> {
    if text.trim() == "auto" { Ok(WarmUp::Auto) } else { warm_up(text).map(WarmUp::Fixed) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_written_in_two_ways() {
        assert_eq!((share("0.5%"), share("0.9"), share("90 %")), (Ok(0.005), Ok(0.9), Ok(0.9)));
        for wrong in ["", "%", "150%", "-1%", "nan", "ten"] {
            assert!(share(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_value_and_its_list_are_parted_at_the_sign_outside_of_brackets() {
        let read = vary("stations[a=b].capacity=0..60 step 20").expect("a path and a range");
        assert_eq!((read.path.as_str(), read.values.as_str()), ("stations[a=b].capacity", "0..60 step 20"));
        for wrong in ["", "=1", "stations[table].capacity", "path=", "stations[table=1]"] {
            assert!(vary(wrong).is_err(), "{wrong}");
        }
    }
}
