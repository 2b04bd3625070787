//! Numbers and durations as people and spreadsheets write them.

use super::spec::DurationSpec;

/// Marks of the numbers in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NumberForm {
    /// Before decimals.
    pub(crate) decimal: char,
    /// Between thousands.
    pub(crate) thousands: Option<char>,
}

/// A value that was read, and what is unusual about how it is written.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Written<T> {
    pub(crate) value: T,
    /// In words; `None` if it has the stated form.
    pub(crate) unusual: Option<String>,
}

/// Largest count or duration figure that is believed.
const LARGEST: f64 = 1e12;

const MICROS: f64 = 1e6;

impl NumberForm {
    /// Reads a number that is not negative. A mark that is not the stated one is understood where only one meaning
    /// is left: a count has no decimals, so that a mark before three digits parts thousands.
    pub(crate) fn read(self, text: &str, is_count: bool) -> Result<Written<f64>, String> {
        let text = text.trim();
        let due = if is_count { "a count" } else { "a number" };
        let no_number = || format!("\"{}\" is not {due}", shown(text));
        // "12.000" packs are no 12, whichever mark is stated before decimals.
        let decimal_parts_thousands =
            is_count && text.rsplit_once(self.decimal).is_some_and(|(_, tail)| tail.len() == 3);
        let stated = match self.digits(text, self.decimal, self.thousands) {
            Some(_) if decimal_parts_thousands && self.thousands.is_none_or(|mark| !text.contains(mark)) => {
                None
            }
            digits => digits,
        };
        let (digits, unusual) = match stated {
            Some(digits) => (digits, None),
            None => {
                let (digits, what) = self.otherwise(text, is_count).ok_or_else(no_number)?;
                (digits, Some(format!("\"{}\" has {what}", shown(text))))
            }
        };
        let value: f64 = digits.parse().map_err(|_| no_number())?;
        if !value.is_finite() || value > LARGEST {
            return Err(format!("\"{}\" is too large", shown(text)));
        }
        if is_count && value.fract() > 0.0 {
            return Err(format!("\"{}\" is not a whole number, and {due} is due", shown(text)));
        }
        Ok(Written { value, unusual })
    }

    /// The number with "." before its decimals and nothing between thousands, if it has just these marks.
    fn digits(self, text: &str, decimal: char, thousands: Option<char>) -> Option<String> {
        let (whole, fraction) = text.split_once(decimal).map_or((text, None), |(w, f)| (w, Some(f)));
        let all_digits = |part: &str| !part.is_empty() && part.chars().all(|c| c.is_ascii_digit());
        if fraction.is_some_and(|fraction| !all_digits(fraction)) {
            return None;
        }
        let whole = match thousands {
            Some(mark) if whole.contains(mark) => {
                let groups: Vec<&str> = whole.split(mark).collect();
                let sound = groups.iter().all(|group| all_digits(group))
                    && groups[0].len() <= 3
                    && groups[1..].iter().all(|group| group.len() == 3);
                sound.then(|| groups.concat())?
            }
            _ => all_digits(whole).then(|| whole.to_owned())?,
        };
        Some(fraction.map_or(whole.clone(), |fraction| format!("{whole}.{fraction}")))
    }

    /// The number with marks other than the stated ones, and what they are.
    fn otherwise(self, text: &str, is_count: bool) -> Option<(String, &'static str)> {
        let blanks = [' ', '\u{a0}', '\u{202f}', '\''];
        if let Some(mark) = blanks.into_iter().find(|&mark| text.contains(mark)) {
            return self.digits(text, self.decimal, Some(mark)).map(|it| (it, "blanks between thousands"));
        }
        let other = if self.decimal == ',' { '.' } else { ',' };
        let three_behind = |mark: char| text.rsplit_once(mark).is_some_and(|(_, tail)| tail.len() == 3);
        match (text.contains(','), text.contains('.')) {
            (true, true) => {
                let last = text.rfind([',', '.']).and_then(|at| text[at..].chars().next())?;
                let first = if last == ',' { '.' } else { ',' };
                self.digits(text, last, Some(first)).map(|it| (it, "marks other than stated"))
            }
            (false, false) => None,
            _ if is_count => {
                let mark = if text.contains(',') { ',' } else { '.' };
                self.digits(text, '\0', Some(mark)).map(|it| (it, "a mark between thousands"))
            }
            // Three digits behind the mark of the other kind can be thousands as well as decimals.
            _ if three_behind(other) => None,
            _ => self.digits(text, other, None).map(|it| (it, "the other decimal mark")),
        }
    }

    /// Reads a duration, in microseconds.
    pub(crate) fn duration(self, text: &str, form: DurationSpec) -> Result<Written<i64>, String> {
        let text = text.trim();
        let clock = |names: &[f64]| clock_duration(text, names);
        let micros = |seconds: f64| (seconds * MICROS).round() as i64;
        let seconds_each = match form {
            DurationSpec::HoursMinutes => return clock(&[3600.0, 60.0]),
            DurationSpec::HoursMinutesSeconds => return clock(&[3600.0, 60.0, 1.0]),
            DurationSpec::MinutesSeconds => return clock(&[60.0, 1.0]),
            DurationSpec::Seconds => 1.0,
            DurationSpec::Minutes => 60.0,
            DurationSpec::Hours => 3600.0,
        };
        let (figure, unit) =
            text.split_at(text.trim_end_matches(|c: char| c.is_alphabetic() || c == '.').len());
        if unit.chars().any(char::is_alphabetic) {
            let seconds_each = match unit.trim_end_matches('.').to_lowercase().as_str() {
                "s" | "sec" | "sek" => 1.0,
                "m" | "min" | "mins" => 60.0,
                "h" | "hr" | "hrs" | "std" => 3600.0,
                _ => return Err(format!("\"{}\" is not a duration", shown(text))),
            };
            let read = self.read(figure, false)?;
            let unusual = Some(format!("\"{}\" carries a unit", shown(text)));
            return Ok(Written { value: micros(read.value * seconds_each), unusual });
        }
        let read = self.read(text, false)?;
        Ok(Written { value: micros(read.value * seconds_each), unusual: read.unusual })
    }
}

/// A duration such as 1:05:30; every part but the first is below 60.
fn clock_duration(text: &str, seconds_each: &[f64]) -> Result<Written<i64>, String> {
    let wrong = || format!("\"{}\" is not a duration of {} parts", shown(text), seconds_each.len());
    let parts: Vec<&str> = text.split(':').collect();
    if parts.len() != seconds_each.len() {
        return Err(wrong());
    }
    let mut seconds = 0.0;
    for (place, (part, each)) in parts.iter().zip(seconds_each).enumerate() {
        let digits = part.len() <= 6 && !part.is_empty() && part.chars().all(|c| c.is_ascii_digit());
        let figure: f64 = part.parse().map_err(|_| wrong())?;
        if !digits || place > 0 && figure >= 60.0 {
            return Err(wrong());
        }
        seconds += figure * each;
    }
    Ok(Written { value: (seconds * MICROS) as i64, unusual: None })
}

/// A cell in a message: cut where it is long.
pub(crate) fn shown(text: &str) -> String {
    let mut start: String = text.chars().take(40).collect();
    if start.len() < text.len() {
        start.push_str("...");
    }
    start
}

#[cfg(test)]
mod tests {
    use super::*;

    const GERMAN: NumberForm = NumberForm { decimal: ',', thousands: Some('.') };
    const PLAIN: NumberForm = NumberForm { decimal: '.', thousands: None };

    fn value(form: NumberForm, text: &str, is_count: bool) -> Option<(f64, bool)> {
        form.read(text, is_count).ok().map(|it| (it.value, it.unusual.is_some()))
    }

    #[test]
    fn stated_marks_are_usual_and_others_are_understood_where_one_meaning_is_left() {
        assert_eq!(value(GERMAN, "1.234,5", false), Some((1234.5, false)));
        assert_eq!(value(GERMAN, "12,5", false), Some((12.5, false)));
        assert_eq!(value(GERMAN, "1.234", true), Some((1234.0, false)));
        assert_eq!(value(GERMAN, "12.5", false), Some((12.5, true)));
        assert_eq!(value(GERMAN, "1,234.5", false), Some((1234.5, true)));
        assert_eq!(value(PLAIN, "12,5", false), Some((12.5, true)));
        assert_eq!(value(PLAIN, "1,234", false), None, "a thousand or one and a bit");
        assert_eq!(value(PLAIN, "1,234", true), Some((1234.0, true)));
        assert_eq!(value(PLAIN, "12 345", true), Some((12345.0, true)));
        assert_eq!(value(PLAIN, "12.345", true), Some((12345.0, true)), "a count has no decimals");
        assert_eq!(value(PLAIN, "12.000", true), Some((12000.0, true)));
        assert_eq!(value(PLAIN, "12.0", true), Some((12.0, false)));
        assert_eq!(value(GERMAN, "1.234,000", true), Some((1234.0, false)));
        assert_eq!(value(GERMAN, "2,500", true), Some((2500.0, true)));
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in [
            "",
            "-3",
            "abc",
            "1..2",
            "1,2,3",
            "12,34,567",
            ".",
            ",5",
            "5,",
            "NaN",
            "inf",
            "1e5",
            "9999999999999",
        ] {
            assert_eq!(value(PLAIN, text, true), None, "{text}");
        }
        assert_eq!(value(PLAIN, "3.5", true), None);
    }

    #[test]
    fn durations_have_their_form() {
        let read = |text, form| {
            GERMAN.duration(text, form).ok().map(|it| (it.value / 1_000_000, it.unusual.is_some()))
        };
        assert_eq!(read("7,5", DurationSpec::Minutes), Some((450, false)));
        assert_eq!(read("7.5", DurationSpec::Minutes), Some((450, true)));
        assert_eq!(read("12 min", DurationSpec::Hours), Some((720, true)));
        assert_eq!(read("1:05", DurationSpec::HoursMinutes), Some((3900, false)));
        assert_eq!(read("1:05", DurationSpec::MinutesSeconds), Some((65, false)));
        assert_eq!(read("1:05:30", DurationSpec::HoursMinutesSeconds), Some((3930, false)));
        for text in ["1:75", "1:5:0:0", ":", "1:-5", "1:0.5"] {
            assert_eq!(read(text, DurationSpec::HoursMinutes), None, "{text}");
        }
        assert_eq!(read("12 apples", DurationSpec::Minutes), None);
    }
}
