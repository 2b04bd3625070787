//! Words and numbers of the fits.

use crate::number;
use linewake_kpi::study::fitting::{
    Attendance, Bounded, Candidate, FitClock, ReasonFit, TimesFit, WrittenDown,
};

/// The unit in which the values of a sample are shown.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shown {
    divisor: f64,
    unit: &'static str,
}

impl Shown {
    /// Seconds, minutes or hours, by the longest time; counts as they are.
    pub(super) fn of(fit: &TimesFit) -> Self {
        match fit.unit {
            "s" if fit.mean >= 3.0 * 3600.0 => Self { divisor: 3600.0, unit: "h" },
            "s" if fit.mean >= 300.0 => Self { divisor: 60.0, unit: "min" },
            unit => Self { divisor: 1.0, unit },
        }
    }

    pub(super) fn value(self, value: f64) -> f64 {
        value / self.divisor
    }

    /// "91.2 min".
    pub(super) fn with_unit(self, value: f64) -> String {
        format!("{}\u{a0}{}", self.figure(value), self.unit)
    }

    /// Three digits of a time, a count as it is.
    fn figure(self, value: f64) -> String {
        let is_time = matches!(self.unit, "s" | "min" | "h");
        if is_time || value < 100.0 { three(value / self.divisor) } else { number::fixed(value, 0) }
    }

    /// "91.2 (78.0 to 107) min".
    pub(super) fn bounded(self, bounded: &Bounded) -> String {
        let of = |value: f64| self.figure(value);
        match (bounded.low, bounded.high) {
            (None, None) => self.with_unit(bounded.value),
            _ => format!(
                "{} ({})\u{a0}{}",
                of(bounded.value),
                ends(bounded.low.map(of), bounded.high.map(of)),
                self.unit
            ),
        }
    }

    /// "78.0 to 107 min".
    pub(super) fn interval(self, bounded: &Bounded) -> String {
        let of = |value: f64| self.figure(value);
        match (bounded.low, bounded.high) {
            (None, None) => String::new(),
            _ => format!("{}\u{a0}{}", ends(bounded.low.map(of), bounded.high.map(of)), self.unit),
        }
    }

    /// Words of an axis of times.
    pub(super) fn axis(self, fit: &TimesFit) -> String {
        if fit.unit == "s" { format!("{}, {}", fit.what, self.unit) } else { fit.what.clone() }
    }

    pub(super) fn axis_of(self, words: &str) -> String {
        format!("{words}, {}", self.unit)
    }
}

fn ends(low: Option<String>, high: Option<String>) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!("{low} to {high}"),
        (Some(low), None) => format!("from {low}"),
        (None, Some(high)) => format!("to {high}"),
        (None, None) => String::new(),
    }
}

/// A bare number with its interval: "1.32 (1.08 to 1.58)".
pub(super) fn bare(bounded: &Bounded) -> String {
    match (bounded.low, bounded.high) {
        (None, None) => three(bounded.value),
        (low, high) => format!("{} ({})", three(bounded.value), ends(low.map(three), high.map(three))),
    }
}

/// Three significant digits, as finely as a fit is sure.
pub(super) fn three(value: f64) -> String {
    let rounded: f64 = format!("{value:.2e}").parse().unwrap_or(value);
    if value.abs() >= 1000.0 { number::fixed(rounded, 0) } else { number::plain(rounded) }
}

/// "Weibull, shape 1.32 (1.08 to 1.58), scale 99.0 (84 to 117) min".
pub(super) fn law(fit: &TimesFit) -> String {
    let shown = Shown::of(fit);
    let taken = fit.offer.as_ref().is_some_and(|offer| offer.taken);
    let candidate = fit.candidates.iter().find(|it| it.family == fit.chosen.family).filter(|_| !taken);
    let mean = shown.bounded(&fit.chosen.mean);
    match (fit.chosen.family, candidate) {
        ("constant", _) => format!("always {}", shown.with_unit(fit.chosen.mean.value)),
        ("exponential", _) => format!("exponential, mean {mean}"),
        ("empirical", _) => format!("the observed times as they are, mean {mean}"),
        (family, Some(candidate)) => {
            let shape = candidate.parameters.iter().find(|it| !it.has_unit);
            let shape = shape.map_or(String::new(), |it| format!(", {} {}", it.name, bare(&it.bounded)));
            format!("{family}{shape}, mean {mean}")
        }
        (family, None) => format!("{family}, mean {mean}"),
    }
}

/// Whether a law fits.
pub(super) fn verdict(candidate: &Candidate) -> String {
    let Some(goodness) = &candidate.goodness else {
        return match &candidate.why_not {
            Some(why) => format!("not fitted: {why}"),
            None => "not judged".to_owned(),
        };
    };
    let answer = if goodness.turned_down { "no" } else { "yes" };
    match (goodness.p, goodness.turned_down_at) {
        (Some(p), _) if p < 0.01 => format!("{answer}, p below 0.01"),
        (Some(p), _) => format!("{answer}, p = {}", number::fixed(p, 2)),
        (None, Some(level)) => format!("{answer}, p below {}", number::plain(level)),
        (None, None) => format!("{answer}, p above 0.1"),
    }
}

/// On which clock, as the head of a column.
pub(super) fn clock(clock: FitClock) -> String {
    match clock {
        FitClock::RunningTime => "running time".to_owned(),
        FitClock::CalendarTime => "calendar time".to_owned(),
        FitClock::Count(word) => word.to_owned(),
    }
}

pub(super) fn attendance(attendance: Attendance) -> &'static str {
    match attendance {
        Attendance::Attended => "an operator comes first; the duration is that of the repair",
        Attendance::Unattended => "nobody is waited for",
        Attendance::NotTold => {
            "the log does not tell whether somebody is waited for; the duration is of the whole stop"
        }
    }
}

/// How the times were written down, where it matters.
pub(super) fn written_down(fit: &TimesFit) -> Option<String> {
    let (grid, share, how) = match fit.written_down {
        WrittenDown::Exact | WrittenDown::WholeNumbers => return None,
        WrittenDown::Rounded { grid_s, share } => (grid_s, share, "were rounded to it"),
        WrittenDown::BothEnds { grid_s, share } => {
            (grid_s, share, "begin and end on it: a poll, or a rounded time of day")
        }
    };
    Some(format!(
        "{} of the times stand on a grid of {} and are taken as what {how}",
        number::percent(share),
        number::duration(grid)
    ))
}

/// Warnings of a reason in a few words.
pub(super) fn doubts(fit: &ReasonFit) -> Vec<&'static str> {
    use linewake_kpi::study::fitting::FitWarningKind as Kind;
    let all = fit.between.iter().flat_map(|it| &it.warnings).chain(&fit.duration.warnings);
    let mut words: Vec<&'static str> = all
        .map(|warning| match warning.kind {
            Kind::Few => "few data",
            Kind::Trend => "trend",
            Kind::ByShift => "differs by shift",
            Kind::HangTogether => "hang together",
            Kind::NoLaw => "no law fits",
            Kind::Unseen => "shortest unseen",
        })
        .collect();
    words.dedup();
    words
}

/// A length of time to three digits.
pub(super) fn length(seconds: f64) -> String {
    number::duration(format!("{seconds:.2e}").parse().unwrap_or(seconds))
}
