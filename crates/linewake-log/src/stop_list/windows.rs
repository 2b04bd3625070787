//! The shifts on the calendar: which there are, and in which of them the line worked.

use super::clock::Clock;
use super::mapping::{Mapping, Shifts};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// A shift on the calendar; moments in microseconds since 1970.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Window {
    pub(crate) start: i64,
    pub(crate) end: i64,
    /// Date of its start and its name.
    pub(crate) name: String,
    pub(crate) breaks: Vec<(i64, i64)>,
}

/// The shifts in which the line worked, by their starts.
#[derive(Debug)]
pub(crate) struct Windows<'m> {
    clock: &'m Clock,
    shifts: &'m Shifts,
    worked: BTreeMap<i64, Window>,
}

impl<'m> Windows<'m> {
    /// Dated shifts are worked as they are stated; daily ones as rows lie in them.
    pub(crate) fn new(mapping: &'m Mapping) -> Self {
        let mut windows = Self { clock: &mapping.clock, shifts: &mapping.shifts, worked: BTreeMap::new() };
        if let Shifts::Dated(shifts) = &mapping.shifts {
            for shift in shifts {
                let at = |civil| mapping.clock.moment(civil);
                let breaks =
                    shift.breaks.iter().filter_map(|&(from, to)| Some((at(from)?, at(to)?))).collect();
                if let (Some(start), Some(end)) = (at(shift.start), at(shift.end)) {
                    let name = format!("{} {}", shift.start.date(), shift.name);
                    windows.work(Window { start, end, name, breaks });
                }
            }
        }
        windows
    }

    /// The shift in which a moment lies, its start included, its end not.
    pub(crate) fn at(&self, at: i64) -> Option<Window> {
        self.around(at, at).into_iter().find(|window| window.start <= at && at < window.end)
    }

    /// The shift in which a moment lies, its end included, its start not: that of a period which ends then.
    pub(crate) fn ending_at(&self, at: i64) -> Option<Window> {
        self.around(at, at).into_iter().find(|window| window.start < at && at <= window.end)
    }

    /// The shift of that name that starts on that date.
    pub(crate) fn named(&self, date: Date, name: &str) -> Option<Window> {
        match self.shifts {
            Shifts::Daily(_) => {
                let windows = self.on_date(date);
                windows.into_iter().find(|(word, _)| super::mapping::folded(word) == name).map(|it| it.1)
            }
            Shifts::Dated(shifts) => {
                let mut shifts = shifts.iter();
                let shift =
                    shifts.find(|it| it.start.date() == date && super::mapping::folded(&it.name) == name)?;
                self.worked.get(&self.clock.moment(shift.start)?).cloned()
            }
        }
    }

    /// A stop makes the shift worked in which it begins, and shifts that it fills from end to end; a planned stop that
    /// is left out makes none worked that it fills.
    pub(crate) fn work_by_stop(&mut self, start: i64, end: i64, left_out: bool) {
        let known = self.worked.range(..=start).next_back();
        if known.is_some_and(|(_, window)| end < window.end) {
            return;
        }
        for window in self.around(start, end) {
            let begins = window.start <= start && start < window.end;
            let fills = start <= window.start && window.end <= end;
            if if left_out { begins && !fills } else { begins || fills } {
                self.work(window);
            }
        }
    }

    /// Notes that the line worked in that shift.
    pub(crate) fn work(&mut self, window: Window) {
        if window.start < window.end {
            self.worked.entry(window.start).or_insert(window);
        }
    }

    /// The shifts that were worked, in order of time.
    pub(crate) fn worked(&self) -> impl Iterator<Item = &Window> {
        self.worked.values()
    }

    /// Those that were worked and overlap a stretch of time.
    pub(crate) fn worked_between(&self, start: i64, end: i64) -> impl Iterator<Item = &Window> {
        let first = self.worked.range(..=start).next_back().map_or(start, |(&first, _)| first);
        self.worked.range(first..end.max(first)).map(|it| it.1).filter(move |window| window.end > start)
    }

    /// All shifts that can overlap a stretch of time.
    fn around(&self, start: i64, end: i64) -> Vec<Window> {
        match self.shifts {
            Shifts::Dated(_) => {
                self.worked.values().filter(|it| it.start <= end && start <= it.end).cloned().collect()
            }
            Shifts::Daily(_) => {
                let (Some(first), Some(last)) = (self.clock.date_at(start), self.clock.date_at(end)) else {
                    return Vec::new();
                };
                // A shift can begin on the day before, and last to 24:00 of its own day.
                let Ok(mut date) = first.yesterday() else { return Vec::new() };
                let mut windows = Vec::new();
                while date <= last {
                    windows.extend(self.on_date(date).into_iter().map(|it| it.1));
                    let Ok(next) = date.tomorrow() else { break };
                    date = next;
                }
                windows
            }
        }
    }

    fn on_date(&self, date: Date) -> Vec<(&'m str, Window)> {
        let Shifts::Daily(shifts) = self.shifts else { return Vec::new() };
        let clock = self.clock;
        let windows = shifts.iter().filter_map(|shift| {
            let (start, end) = (clock.on(date, shift.start)?, clock.on(date, shift.end)?);
            let breaks = shift.breaks.iter();
            let breaks = breaks.filter_map(|&(from, to)| Some((clock.on(date, from)?, clock.on(date, to)?)));
            let breaks = breaks.filter(|(from, to)| from < to).collect();
            let name = format!("{date} {}", shift.name);
            (start < end).then_some((shift.name.as_str(), Window { start, end, name, breaks }))
        });
        windows.collect()
    }
}
