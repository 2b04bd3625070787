//! Times on the plant's clock: forms in which they are written, and the moments that they can mean.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::fmt::strtime::BrokenDownTime;
use jiff::tz::{AmbiguousOffset, TimeZone};

/// Seconds of a day without a change of the clock.
const DAY_S: i64 = 86_400;

/// A form of times, in the notation of strptime.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TimeForm {
    pattern: String,
    has_date: bool,
    has_time: bool,
}

impl TimeForm {
    /// Takes a pattern if it gives back a date, a time of day to the minute, or both.
    pub(crate) fn new(pattern: &str) -> Result<Self, String> {
        let sample = jiff::civil::date(2026, 11, 25).at(14, 5, 37, 0);
        let moment = sample.to_zoned_datetime(TimeZone::UTC).map_err(|error| error.to_string())?;
        let written = BrokenDownTime::from(&moment).to_string(pattern).map_err(|error| error.to_string())?;
        let read = BrokenDownTime::parse(pattern, &written).map_err(|error| error.to_string())?;
        let has_date = read.to_date().is_ok_and(|date| date == sample.date());
        let same_time = |time: jiff::civil::Time| (time.hour(), time.minute()) == (14, 5);
        let has_time =
            read.hour().is_some() && read.minute().is_some() && read.to_time().is_ok_and(same_time);
        if !has_date && !has_time {
            return Err("it gives neither a date nor a time of day to the minute".to_owned());
        }
        Ok(Self { pattern: pattern.to_owned(), has_date, has_time })
    }

    fn parse(&self, text: &str) -> Option<BrokenDownTime> {
        BrokenDownTime::parse(&self.pattern, text).ok()
    }
}

/// How often the clock shows a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shown {
    /// Once, as it should be.
    Once,
    /// Never: the clock was put forward over it. The moment is that of a clock that was not.
    Never,
    /// Twice: the clock was put back over it.
    Twice,
}

/// A moment that a cell can mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Reading {
    /// Microseconds since 1970 (UTC).
    pub(crate) at: i64,
    /// On the plant's clock.
    pub(crate) civil: DateTime,
    pub(crate) shown: Shown,
}

/// Reads times of one plant.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Clock {
    pub(crate) zone: TimeZone,
}

impl Clock {
    /// What the cell can mean, each moment once, in the order of the forms; with the date of a cell of its own, or
    /// else of `implied`, if it has none.
    pub(crate) fn readings(
        &self,
        text: &str,
        date_text: Option<&str>,
        implied: Option<Date>,
        forms: &[TimeForm],
    ) -> Vec<Reading> {
        let text = text.trim();
        let date_text = date_text.map(str::trim).filter(|it| !it.is_empty());
        let mut found = Vec::new();
        if let Some(date) = date_text {
            self.whole(&format!("{date} {text}"), forms, &mut found);
        }
        self.whole(text, forms, &mut found);
        let dates: Vec<Date> = date_text.map_or(Vec::new(), |date| self.dates(date, forms));
        for form in forms.iter().filter(|form| form.has_time && !form.has_date) {
            let Some(time) = form.parse(text).and_then(|read| read.to_time().ok()) else { continue };
            for &date in dates.iter().chain(implied.filter(|_| dates.is_empty()).iter()) {
                self.add(date.to_datetime(time), &mut found);
            }
        }
        found
    }

    /// The dates that a cell can mean.
    pub(crate) fn dates(&self, text: &str, forms: &[TimeForm]) -> Vec<Date> {
        let mut dates = Vec::new();
        for form in forms.iter().filter(|form| form.has_date) {
            if let Some(date) = form.parse(text.trim()).and_then(|read| read.to_date().ok())
                && !dates.contains(&date)
            {
                dates.push(date);
            }
        }
        dates
    }

    fn whole(&self, text: &str, forms: &[TimeForm], found: &mut Vec<Reading>) {
        for form in forms.iter().filter(|form| form.has_date && form.has_time) {
            let Some(read) = form.parse(text) else { continue };
            if read.offset().is_some() {
                if let Ok(at) = read.to_timestamp() {
                    let civil = self.zone.to_datetime(at);
                    let reading = Reading { at: at.as_microsecond(), civil, shown: Shown::Once };
                    if !found.contains(&reading) {
                        found.push(reading);
                    }
                }
            } else if let Ok(civil) = read.to_datetime() {
                self.add(civil, found);
            }
        }
    }

    /// Adds the moments at which the clock shows that.
    fn add(&self, civil: DateTime, found: &mut Vec<Reading>) {
        if !found.iter().any(|it| it.civil == civil) {
            found.extend(self.moments(civil));
        }
    }

    /// The moments at which the clock shows that: one, or two if it was put back over it.
    pub(crate) fn moments(&self, civil: DateTime) -> Vec<Reading> {
        let moment = self.zone.to_ambiguous_timestamp(civil);
        let (first, second, shown) = match moment.offset() {
            AmbiguousOffset::Unambiguous { .. } => (moment.compatible().ok(), None, Shown::Once),
            AmbiguousOffset::Gap { .. } => (moment.compatible().ok(), None, Shown::Never),
            AmbiguousOffset::Fold { .. } => (moment.earlier().ok(), moment.later().ok(), Shown::Twice),
        };
        let reading = |at: Timestamp| Reading { at: at.as_microsecond(), civil, shown };
        first.into_iter().chain(second).map(reading).collect()
    }

    /// The first moment at which the clock shows that, in microseconds since 1970.
    pub(crate) fn moment(&self, civil: DateTime) -> Option<i64> {
        self.moments(civil).first().map(|reading| reading.at)
    }

    /// So many seconds after midnight of that date on the clock's face; 24 h and more lie on later days.
    pub(crate) fn on(&self, date: Date, second: u32) -> Option<i64> {
        let second = i64::from(second);
        let date = date.checked_add(jiff::Span::new().try_days(second / DAY_S).ok()?).ok()?;
        let second = second % DAY_S;
        let part = |it: i64| i8::try_from(it).ok();
        let time =
            jiff::civil::Time::new(part(second / 3600)?, part(second / 60 % 60)?, part(second % 60)?, 0)
                .ok()?;
        self.moment(date.to_datetime(time))
    }

    /// The date that the clock shows at a moment.
    pub(crate) fn date_at(&self, at: i64) -> Option<Date> {
        Some(self.zone.to_datetime(Timestamp::from_microsecond(at).ok()?).date())
    }

    /// A moment on the clock, "2026-03-02 06:00:00".
    pub(crate) fn words(&self, at: i64) -> String {
        Timestamp::from_microsecond(at).map_or_else(
            |_| "a time beyond the calendar".to_owned(),
            |at| {
                let civil = self.zone.to_datetime(at);
                format!("{} {}", civil.date(), civil.time())
            },
        )
    }

    /// A moment with the offset of its clock, "2026-03-02T06:00:00+01:00".
    pub(crate) fn with_offset(&self, at: i64) -> String {
        let Ok(at) = Timestamp::from_microsecond(at) else { return String::new() };
        let offset = self.zone.to_offset(at).seconds();
        let sign = if offset < 0 { '-' } else { '+' };
        let minutes = offset.unsigned_abs() / 60;
        format!("{}{sign}{:02}:{:02}", self.zone.to_datetime(at), minutes / 60, minutes % 60)
    }
}

/// "06:00" or "06:00:00" as seconds after midnight, up to "24:00".
pub(crate) fn second_of_day(text: &str) -> Option<u32> {
    let parts: Vec<&str> = text.trim().split(':').collect();
    if !(2..=3).contains(&parts.len()) {
        return None;
    }
    let mut second = 0;
    for (place, part) in parts.iter().enumerate() {
        let sound = (1..=2).contains(&part.len()) && part.chars().all(|c| c.is_ascii_digit());
        let figure: u32 = part.parse().ok().filter(|&figure| sound && (place == 0 || figure < 60))?;
        second += figure * [3600, 60, 1][place];
    }
    (i64::from(second) <= DAY_S).then_some(second)
}

/// "2026-03-02 06:00", with or without seconds.
pub(crate) fn dated(text: &str) -> Option<DateTime> {
    let (date, time) = text.trim().split_once([' ', 'T'])?;
    let date: Date = date.parse().ok()?;
    let second = i64::from(second_of_day(time)?);
    date.to_datetime(jiff::civil::Time::midnight()).checked_add(jiff::SignedDuration::from_secs(second)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::TimeZoneDatabase;

    fn berlin() -> Clock {
        Clock { zone: TimeZoneDatabase::bundled().get("Europe/Berlin").unwrap() }
    }

    fn forms(patterns: &[&str]) -> Vec<TimeForm> {
        patterns.iter().map(|it| TimeForm::new(it).unwrap()).collect()
    }

    /// Clocks of the zone went forward at 2:00 on 2026-03-29, and back at 3:00 on 2026-10-25 (EU directive 2000/84/EC).
    #[test]
    fn the_clock_skips_an_hour_and_shows_one_twice() {
        let forms = forms(&["%d.%m.%Y %H:%M"]);
        let read = |text| berlin().readings(text, None, None, &forms);
        let plain = read("25.11.2026 14:05");
        assert_eq!((plain.len(), plain[0].shown), (1, Shown::Once));
        assert_eq!(berlin().with_offset(plain[0].at), "2026-11-25T14:05:00+01:00");
        let skipped = read("29.03.2026 02:30");
        assert_eq!((skipped.len(), skipped[0].shown), (1, Shown::Never));
        assert_eq!(berlin().with_offset(skipped[0].at), "2026-03-29T03:30:00+02:00");
        let twice = read("25.10.2026 02:30");
        assert_eq!((twice.len(), twice[0].shown), (2, Shown::Twice));
        assert_eq!(twice[1].at - twice[0].at, 3_600_000_000);
    }

    #[test]
    fn dates_come_from_their_own_cell_or_are_implied() {
        let forms = forms(&["%d.%m.%Y", "%H:%M"]);
        let date = jiff::civil::date(2026, 3, 2);
        let due = date.at(6, 10, 0, 0);
        assert_eq!(berlin().readings("06:10", Some("02.03.2026"), None, &forms)[0].civil, due);
        assert_eq!(berlin().readings("6:10", None, Some(date), &forms)[0].civil, due);
        assert_eq!(berlin().readings("6:10", None, None, &forms), vec![]);
    }

    #[test]
    fn two_orders_of_a_date_are_two_readings() {
        let forms = forms(&["%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"]);
        assert_eq!(berlin().readings("03/04/2026 10:00", None, None, &forms).len(), 2);
        assert_eq!(berlin().readings("13/04/2026 10:00", None, None, &forms).len(), 1);
        assert_eq!(berlin().readings("04/04/2026 10:00", None, None, &forms).len(), 1);
    }

    #[test]
    fn a_form_must_give_back_what_it_is_given() {
        for pattern in ["", "%Y", "%d.%m.", "%I:%M", "%c", "%q", "hello", "%", "%H", "%Y-%m-%d %H"] {
            let has_all = TimeForm::new(pattern).is_ok_and(|form| form.has_time);
            assert!(!has_all, "{pattern}");
        }
        for pattern in ["%I:%M %p", "%H:%M:%S", "%d.%m.%y %H:%M", "%Y-%m-%dT%H:%M:%S%z"] {
            assert!(TimeForm::new(pattern).is_ok_and(|form| form.has_time), "{pattern}");
        }
    }

    #[test]
    fn clock_times_of_shifts() {
        assert_eq!(second_of_day("06:30"), Some(23_400));
        assert_eq!(second_of_day("24:00"), Some(86_400));
        for text in ["", "6", "25:00", "06:60", "6:0:0:0", "-1:00", "24:01"] {
            assert_eq!(second_of_day(text), None, "{text}");
        }
        assert_eq!(dated("2026-03-02 24:00"), Some(jiff::civil::date(2026, 3, 3).at(0, 0, 0, 0)));
        assert_eq!(dated("02.03.2026 06:00"), None);
    }
}
