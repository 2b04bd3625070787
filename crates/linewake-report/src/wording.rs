//! Words that appear in more than one place, so that they are the same everywhere.

use crate::number;
use linewake_kpi::result::CauseKind;
use linewake_kpi::summary::{BalancePlace, CauseSummary, StartKind, Summary};

/// A reason as people read it: the fixed reasons carry underscores in files.
pub(crate) fn reason(reason: &str) -> String {
    reason.replace('_', " ")
}

/// A stop or wait: station and reason.
pub(crate) fn stop(kind: CauseKind, station: &str, stop_reason: &str) -> String {
    match kind {
        CauseKind::Supply => format!("{station}: hopper empty"),
        _ if stop_reason.is_empty() => station.to_owned(),
        _ => format!("{station}: {}", reason(stop_reason)),
    }
}

/// What the time of the constraint was charged to.
pub(crate) fn cause(row: &CauseSummary) -> String {
    match row.kind {
        CauseKind::Stop | CauseKind::Planned | CauseKind::Supply => stop(row.kind, &row.station, &row.reason),
        CauseKind::Recovery if row.reason.is_empty() => {
            format!("recovery after an empty hopper at {}", row.station)
        }
        CauseKind::Recovery => format!("recovery after {}: {}", row.station, reason(&row.reason)),
        CauseKind::Rate => format!("rate of {}, the slowest on the path", row.station),
        CauseKind::StartUp => "start-up: waiting for the first product".to_owned(),
        CauseKind::Unknown => "not known from the log".to_owned(),
    }
}

/// "that starts with new rolls" or "of the long run".
pub(crate) fn start(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "that starts with new rolls",
        StartKind::LongRun => "of the long run",
    }
}

/// "that start with new rolls" or "of the long run", of several shifts.
pub(crate) fn starts(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "that start with new rolls",
        StartKind::LongRun => "of the long run",
    }
}

/// The same as a heading.
pub(crate) fn start_heading(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "new rolls",
        StartKind::LongRun => "long run",
    }
}

/// The same in file names.
pub(crate) fn start_in_names(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "new-rolls",
        StartKind::LongRun => "long-run",
    }
}

/// What a figure or table is the mean of.
pub(crate) fn mean_of(summary: &Summary) -> String {
    format!("mean of {} {}", shifts(summary), starts(summary.start))
}

/// "30 simulated shifts of 8 h".
pub(crate) fn shifts(summary: &Summary) -> String {
    let many = summary.shifts.len();
    let word = if many == 1 { "shift" } else { "shifts" };
    format!("{} simulated {word} of {}", number::fixed(many as f64, 0), number::duration(summary.window_s))
}

/// "95 %".
pub(crate) fn level(summary: &Summary) -> String {
    format!("{}\u{a0}%", number::plain(summary.level * 100.0))
}

/// "interruptions of at least 300 s".
pub(crate) fn limit(summary: &Summary) -> String {
    format!("interruptions of at least {}\u{a0}s", number::plain(summary.short_stop_limit_s))
}

/// Where a portion is; a line that does not end in a case packer has no case.
pub(crate) fn place(place: BalancePlace, summary: &Summary) -> &'static str {
    match place {
        BalancePlace::Case if summary.packs.good_in_cases_packs.is_none() => "past the end of the line",
        _ => place.words(),
    }
}

/// A kind of station: "metal detector".
pub(crate) fn station_kind(kind: &str) -> String {
    kind.replace('_', " ")
}
