//! When the line is planned to work: shifts of each day, or stated ones.

use crate::stop_list::clock::{dated, second_of_day};
use crate::stop_list::mapping::{Daily, Dated, Shifts};
use crate::stop_list::spec::{BreakSpec, DailyShiftSpec, DatedShiftSpec, ShiftsSpec};
use linewake_model::problem::{Findings, Path};

const DAY_S: u32 = 86_400;

/// Longest stated shift in hours: a shift is one log.
const LONGEST_SHIFT_H: i64 = 31 * 24;

pub(super) fn shifts_of(spec: &ShiftsSpec, path: &Path, findings: &mut Findings) -> Option<Shifts> {
    let path = path.key(spec.tag());
    let shifts = match spec {
        ShiftsSpec::Daily(shifts) => {
            let shifts = each(shifts, &path, |shift, path| daily(shift, path, findings))?;
            Shifts::Daily(shifts)
        }
        ShiftsSpec::Dated(shifts) => {
            let shifts = each(shifts, &path, |shift, path| dated_shift(shift, path, findings))?;
            Shifts::Dated(shifts)
        }
    };
    in_order(shifts, &path, findings)
}

fn each<S, T>(shifts: &[S], path: &Path, mut read: impl FnMut(&S, &Path) -> Option<T>) -> Option<Vec<T>> {
    let read: Vec<Option<T>> =
        shifts.iter().enumerate().map(|(place, shift)| read(shift, &path.element(place))).collect();
    read.into_iter().collect()
}

/// Shifts in order of their starts; refuses none at all, and those that overlap, also over midnight.
fn in_order(mut shifts: Shifts, path: &Path, findings: &mut Findings) -> Option<Shifts> {
    let (is_empty, overlap) = match &mut shifts {
        Shifts::Daily(shifts) => {
            shifts.sort_by_key(|it| it.start);
            let over_midnight = match (shifts.first(), shifts.last()) {
                (Some(first), Some(last)) => last.end > first.start + DAY_S,
                _ => false,
            };
            (shifts.is_empty(), over_midnight || shifts.windows(2).any(|pair| pair[0].end > pair[1].start))
        }
        Shifts::Dated(shifts) => {
            shifts.sort_by_key(|it| it.start);
            (shifts.is_empty(), shifts.windows(2).any(|pair| pair[0].end > pair[1].start))
        }
    };
    if is_empty {
        findings.error(path, "no shift is stated", "state at least one");
        return None;
    }
    if overlap {
        findings.error(path, "two shifts overlap", "each moment lies in one shift at most");
        return None;
    }
    Some(shifts)
}

fn daily(spec: &DailyShiftSpec, path: &Path, findings: &mut Findings) -> Option<Daily> {
    let mut at = |text: &str, path: Path| {
        let second = second_of_day(text);
        if second.is_none() {
            findings.error(&path, format!("\"{text}\" is no time of day"), "write it as \"06:00\"");
        }
        second
    };
    let (start, end) = (at(&spec.start, path.key("start")), at(&spec.end, path.key("end")));
    let breaks = bounds_of_breaks(&spec.breaks, path, at);
    let (start, end) = (start?, end?);
    let start = start % DAY_S;
    let end = if end > start { end } else { end + DAY_S };
    // A break after midnight belongs to the shift that began before.
    let onwards = |second: u32| if second < start { second + DAY_S } else { second };
    let breaks = breaks?.into_iter().map(|(from, to)| (onwards(from), onwards(to))).collect();
    let breaks = breaks_within(breaks, start, end, path, findings)?;
    Some(Daily { name: spec.name.clone(), start, end, breaks })
}

fn dated_shift(spec: &DatedShiftSpec, path: &Path, findings: &mut Findings) -> Option<Dated> {
    let mut at = |text: &str, path: Path| {
        let moment = dated(text);
        if moment.is_none() {
            let hint = "write it as \"2026-03-02 06:00\"";
            findings.error(&path, format!("\"{text}\" is no date and time of day"), hint);
        }
        moment
    };
    let (start, end) = (at(&spec.start, path.key("start")), at(&spec.end, path.key("end")));
    let breaks = bounds_of_breaks(&spec.breaks, path, at);
    let (start, end) = (start?, end?);
    if end <= start || start.duration_until(end).as_hours() > LONGEST_SHIFT_H {
        let what = format!("the shift lasts from {start} to {end}");
        findings.error(&path.key("end"), what, "its end lies after its start, by 31 days at most");
        return None;
    }
    let breaks = breaks_within(breaks?, start, end, path, findings)?;
    Some(Dated { name: spec.name.clone(), start, end, breaks })
}

fn bounds_of_breaks<T>(
    breaks: &Option<Vec<BreakSpec>>,
    path: &Path,
    mut at: impl FnMut(&str, Path) -> Option<T>,
) -> Option<Vec<(T, T)>> {
    let mut read = Vec::new();
    for (place, it) in breaks.iter().flatten().enumerate() {
        let path = path.key("breaks").element(place);
        read.push((at(&it.start, path.key("start")), at(&it.end, path.key("end"))));
    }
    read.into_iter().map(|(start, end)| Some((start?, end?))).collect()
}

/// Breaks in order; refuses those that run backwards, lie outside their shift or overlap.
fn breaks_within<T: Ord + Copy>(
    mut breaks: Vec<(T, T)>,
    start: T,
    end: T,
    path: &Path,
    findings: &mut Findings,
) -> Option<Vec<(T, T)>> {
    breaks.sort();
    let outside = breaks.iter().any(|&(from, to)| from < start || to <= from || to > end);
    let overlap = breaks.windows(2).any(|pair| pair[0].1 > pair[1].0);
    if outside || overlap {
        let what = if outside { "a break lies outside its shift" } else { "two breaks overlap" };
        findings.error(
            &path.key("breaks"),
            what,
            "each ends after its start, within the shift, before the next",
        );
        return None;
    }
    Some(breaks)
}
