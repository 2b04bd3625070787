//! How numbers are printed: thousands set off by commas, three to four significant digits, a true minus sign.
//!
//! Packs a shift keep their digits, since people count packs; a mean with an interval is rounded to two significant
//! digits of the half width.

use linewake_kpi::summary::{Mean, ShiftRange};

/// Stands where there is no figure.
pub(crate) const NONE: &str = "none";

/// A value with so many decimals.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let digits = format!("{:.*}", decimals, value.abs());
    let (whole, fraction) = digits.split_once('.').unwrap_or((&digits, ""));
    let mut shown = String::new();
    // What rounds to zero has no sign.
    if value < 0.0 && digits.bytes().any(|byte| (b'1'..=b'9').contains(&byte)) {
        shown.push('\u{2212}');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            shown.push(',');
        }
        shown.push(digit);
    }
    if !fraction.is_empty() {
        shown.push('.');
        shown.push_str(fraction);
    }
    shown
}

/// Packs, stops and other counts that may be fractions as means: whole from 100 on, else one decimal.
pub(crate) fn count(value: f64) -> String {
    if value.abs() >= 99.95 { fixed(value, 0) } else { small(value) }
}

/// A change in packs: gains carry a plus sign as losses carry a minus.
pub(crate) fn change(value: f64) -> String {
    let shown = if value.abs() >= 99.95 { fixed(value, 0) } else { fixed(value, 1) };
    if value > 0.0 && shown != "0.0" { format!("+{shown}") } else { shown }
}

/// One decimal, without hiding that there is something.
fn small(value: f64) -> String {
    if value > 0.0 && value < 0.05 { "<0.1".to_owned() } else { fixed(value, 1) }
}

/// Seconds in minutes.
pub(crate) fn minutes(seconds: f64) -> String {
    count(seconds / 60.0)
}

/// A share in percent with one decimal, unit included.
pub(crate) fn percent(share: f64) -> String {
    format!("{}\u{a0}%", fixed(share * 100.0, 1))
}

/// A share in percent with one decimal, without unit.
pub(crate) fn percent_figure(share: f64) -> String {
    fixed(share * 100.0, 1)
}

/// A length of time in the unit that people would say.
pub(crate) fn duration(seconds: f64) -> String {
    let (value, unit) = if seconds >= 3600.0 {
        (seconds / 3600.0, "h")
    } else if seconds >= 600.0 {
        (seconds / 60.0, "min")
    } else {
        (seconds, "s")
    };
    format!("{}\u{a0}{unit}", plain(value))
}

/// At most four significant digits, no zeros at the end.
pub(crate) fn plain(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 1000.0 => 0,
        size if size >= 100.0 => 1,
        size if size >= 10.0 => 2,
        size if size >= 1.0 => 3,
        size if size < f64::MIN_POSITIVE => 0,
        size => significant_decimals(size, 4),
    };
    let shown = fixed(value, decimals);
    if shown.contains('.') { shown.trim_end_matches('0').trim_end_matches('.').to_owned() } else { shown }
}

/// Decimals with which `value` shows so many significant digits; at most 12.
fn significant_decimals(value: f64, digits: i32) -> usize {
    let place = value.abs().log10().floor() as i32;
    usize::try_from(digits - 1 - place).unwrap_or(0).min(12)
}

/// A mean and its half width, both rounded to two significant digits of the half width.
pub(crate) struct Rounded {
    /// The mean.
    pub(crate) mean: String,
    /// The half width; [`NONE`] if there is none.
    pub(crate) half_width: String,
}

impl Rounded {
    /// "38,120 ± 410", or the mean alone.
    pub(crate) fn joined(&self) -> String {
        if self.half_width == NONE {
            self.mean.clone()
        } else {
            format!("{}\u{a0}±\u{a0}{}", self.mean, self.half_width)
        }
    }
}

/// Rounds a mean of counts: never beyond one decimal.
pub(crate) fn rounded(mean: &Mean) -> Rounded {
    rounded_with(mean.mean, mean.half_width, 1)
}

/// Rounds a mean share, in percent without unit: never beyond two decimals.
pub(crate) fn rounded_percent(mean: &Mean) -> Rounded {
    rounded_with(mean.mean * 100.0, mean.half_width.map(|half_width| half_width * 100.0), 2)
}

/// "76.4 ± 0.8 %".
pub(crate) fn percent_with_interval(mean: &Mean) -> String {
    format!("{}\u{a0}%", short_percent(mean).joined())
}

/// Rounds a mean share, in percent without unit, where there is little room: never beyond one decimal.
pub(crate) fn short_percent(mean: &Mean) -> Rounded {
    rounded_with(mean.mean * 100.0, mean.half_width.map(|half_width| half_width * 100.0), 1)
}

/// The ends of a range of packs, rounded to two significant digits of its width; joined by `word`.
pub(crate) fn range(range: ShiftRange, word: &str) -> String {
    let width = range.p90 - range.p10;
    let step = if width >= 100.0 { 10_f64.powi(width.log10().floor() as i32 - 1) } else { 1.0 };
    let round = |value: f64| fixed((value / step).round() * step, 0);
    format!("{} {word} {}", round(range.p10), round(range.p90))
}

fn rounded_with(mean: f64, half_width: Option<f64>, most_decimals: usize) -> Rounded {
    let Some(half_width) = half_width.filter(|it| it.is_finite()) else {
        let mean = if mean.abs() >= 99.95 { fixed(mean, 0) } else { fixed(mean, 1) };
        return Rounded { mean, half_width: NONE.to_owned() };
    };
    if half_width < f64::MIN_POSITIVE {
        return Rounded { mean: plain(mean), half_width: "0".to_owned() };
    }
    let decimals = significant_decimals(half_width, 2).min(most_decimals);
    let place = half_width.log10().floor() as i32;
    // Tens and hundreds are rounded away as well.
    let step = if place >= 2 { 10_f64.powi(place - 1) } else { 1.0 };
    let round = |value: f64| fixed((value / step).round() * step, decimals);
    Rounded {
        mean: if step > 1.0 { round(mean) } else { fixed(mean, decimals) },
        half_width: if step > 1.0 {
            round(half_width)
        } else {
            let shown = fixed(half_width, decimals);
            if shown.bytes().all(|byte| matches!(byte, b'0' | b'.')) {
                format!("<{}1", &shown[..shown.len() - 1])
            } else {
                shown
            }
        },
    }
}

/// Pads numbers of one column with figure spaces, so that their decimal points stand below each other.
pub(crate) fn align_decimals(column: &mut [&mut String]) {
    let after_point = |shown: &str| {
        let point = shown.rfind('.');
        point.map_or(0, |point| shown.len() - point - 1)
    };
    let is_number = |shown: &str| {
        let of_number = |it: char| it.is_ascii_digit() || matches!(it, ',' | '.' | '\u{2212}' | '<');
        !shown.is_empty() && shown.chars().all(of_number)
    };
    let longest =
        column.iter().filter(|shown| is_number(shown)).map(|shown| after_point(shown)).max().unwrap_or(0);
    for shown in column.iter_mut().filter(|shown| is_number(shown)) {
        let decimals = after_point(shown);
        if longest > 0 && decimals == 0 {
            shown.push('\u{2008}');
        }
        for _ in decimals..longest {
            shown.push('\u{2007}');
        }
    }
}

/// The same text in plain characters, for a terminal.
pub(crate) fn plain_characters(text: &str) -> String {
    let mut plain = String::new();
    for character in text.chars() {
        match character {
            '\u{2212}' | '\u{2013}' => plain.push('-'),
            '\u{a0}' | '\u{2007}' | '\u{2008}' | '\u{202f}' => plain.push(' '),
            '±' => plain.push_str("+/-"),
            '×' => plain.push('x'),
            '≥' => plain.push_str(">="),
            // Control characters from an id must not reach a terminal.
            other if other.is_control() => plain.push(' '),
            other => plain.push(other),
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean(mean: f64, half_width: f64) -> Mean {
        Mean { mean, half_width: Some(half_width), n: 30 }
    }

    #[test]
    fn thousands_are_set_off_and_zero_has_no_sign() {
        assert_eq!(fixed(1_234_567.0, 0), "1,234,567");
        assert_eq!(fixed(-999.96, 1), "\u{2212}1,000.0");
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(fixed(f64::NAN, 1), NONE);
        assert_eq!(count(99.96), "100");
        assert_eq!(count(0.01), "<0.1");
        assert_eq!(
            (change(82.3), change(-0.01), change(-1234.0)),
            ("+82.3".into(), "0.0".into(), "\u{2212}1,234".into())
        );
        assert_eq!(plain(0.002), "0.002");
        assert_eq!(plain(4.615_38), "4.615");
        assert_eq!(plain(0.0), "0");
        assert_eq!(duration(300.0), "300\u{a0}s");
        assert_eq!(duration(28_800.0), "8\u{a0}h");
    }

    #[test]
    fn a_mean_is_rounded_to_two_digits_of_its_half_width() {
        assert_eq!(rounded(&mean(38_124.0, 412.0)).joined(), "38,120\u{a0}±\u{a0}410");
        assert_eq!(rounded(&mean(38_124.4, 41.2)).joined(), "38,124\u{a0}±\u{a0}41");
        assert_eq!(rounded(&mean(12.34, 3.21)).joined(), "12.3\u{a0}±\u{a0}3.2");
        assert_eq!(rounded(&mean(12.34, 0.0321)).joined(), "12.3\u{a0}±\u{a0}<0.1");
        assert_eq!(rounded(&Mean { mean: 5.0, half_width: None, n: 1 }).joined(), "5.0");
        assert_eq!(percent_with_interval(&mean(0.7641, 0.0083)), "76.4\u{a0}±\u{a0}0.8\u{a0}%");
        let shifts = ShiftRange { p10: 34_487.2, p90: 38_087.0 };
        assert_eq!(range(shifts, "and"), "34,500 and 38,100");
    }

    #[test]
    fn decimal_points_line_up() {
        let (mut whole, mut fraction, mut none) = ("120".to_owned(), "1.5".to_owned(), NONE.to_owned());
        align_decimals(&mut [&mut whole, &mut fraction, &mut none]);
        assert_eq!((whole.as_str(), fraction.as_str(), none.as_str()), ("120\u{2008}\u{2007}", "1.5", NONE));
    }

    #[test]
    fn terminal_gets_no_control_characters() {
        assert_eq!(plain_characters("a\u{1b}[31m ± \u{2212}1"), "a [31m +/- -1");
    }
}
