//! Words that appear in more than one place, so that they are the same everywhere.

use crate::number;
use linewake_kpi::convention::{MinorStops, PlannedStops};
use linewake_kpi::definition::{KpiDefinition, KpiGroup};
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
        StartKind::Logged => "as logged",
    }
}

/// "that start with new rolls" or "of the long run", of several shifts.
pub(crate) fn starts(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "that start with new rolls",
        StartKind::LongRun => "of the long run",
        StartKind::Logged => "as logged",
    }
}

/// The same as a heading.
pub(crate) fn start_heading(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "new rolls",
        StartKind::LongRun => "long run",
        StartKind::Logged => "as logged",
    }
}

/// The same in file names.
pub(crate) fn start_in_names(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "new-rolls",
        StartKind::LongRun => "long-run",
        StartKind::Logged => "logged",
    }
}

/// The same as a key of columns.
pub(crate) fn start_key(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls => "new_rolls",
        StartKind::LongRun => "long_run",
        StartKind::Logged => "logged",
    }
}

/// How the shifts came to be known.
pub(crate) fn seen(start: StartKind) -> &'static str {
    match start {
        StartKind::NewRolls | StartKind::LongRun => "simulated",
        StartKind::Logged => "logged",
    }
}

/// Heading of a table that is folded away, since the leading one is another start.
pub(crate) fn the_same(start: StartKind) -> String {
    format!("The same for a shift {}", self::start(start))
}

/// What a figure or table is the mean of.
pub(crate) fn mean_of(summary: &Summary) -> String {
    format!("mean of {}", mean_of_shifts(summary))
}

/// "30 simulated shifts of 8 h of the long run".
pub(crate) fn mean_of_shifts(summary: &Summary) -> String {
    match summary.start {
        StartKind::Logged => shifts(summary),
        start => format!("{} {}", shifts(summary), starts(start)),
    }
}

/// "30 simulated shifts of 8 h".
pub(crate) fn shifts(summary: &Summary) -> String {
    let many = summary.shifts.len();
    let word = if many == 1 { "shift" } else { "shifts" };
    let (many, seen) = (number::fixed(many as f64, 0), seen(summary.start));
    format!("{many} {seen} {word} of {}", number::duration(summary.window_s))
}

/// "95 %".
pub(crate) fn level(summary: &Summary) -> String {
    format!("{}\u{a0}%", number::plain(summary.level * 100.0))
}

/// "interruptions of at least 300 s".
pub(crate) fn limit(summary: &Summary) -> String {
    format!("interruptions of at least {}\u{a0}s", number::plain(summary.short_stop_limit_s))
}

/// The symbols of the split that goes with a convention of minor stops.
pub(crate) fn split_symbols(minor_stops: MinorStops) -> [&'static str; 2] {
    match minor_stops {
        MinorStops::Performance => ["A", "P"],
        MinorStops::Availability => ["A_iso", "P_iso"],
    }
}

/// The conventions of a summary, in words that a report prints beside OEE and its factors.
pub(crate) fn conventions(summary: &Summary) -> [String; 2] {
    let limit = number::plain(summary.short_stop_limit_s);
    let minor = match summary.conventions.minor_stops {
        MinorStops::Performance => format!(
            "Minor stops are a performance loss: {} count against A, shorter ones against P. The split in which every \
             stop is an availability loss, as in ISO 22400-2, stands beside it as A_iso and P_iso.",
            self::limit(summary)
        ),
        MinorStops::Availability => format!(
            "Minor stops are an availability loss, whatever their length, as in ISO 22400-2: A_iso and P_iso. The split \
             by the short stop limit of {limit}\u{a0}s stands beside it as A and P."
        ),
    };
    let left_out = number::duration(summary.left_out_s);
    let planned = match summary.conventions.planned_stops {
        PlannedStops::AsModelled => format!(
            "Planned stops are in planned production time or out of it as the model says; {left_out} of a shift are left \
             out."
        ),
        PlannedStops::In => {
            "All planned stops are in planned production time, as downtime, whatever the model says."
                .to_owned()
        }
        PlannedStops::Out => format!(
            "All planned stops of the constraint are left out of planned production time, as in ISO 22400-2, whatever \
             the model says: {left_out} of a shift."
        ),
    };
    [minor, planned]
}

/// What counts against A and what against P, in one sentence.
pub(crate) fn minor_stops_in_short(summary: &Summary) -> String {
    match summary.conventions.minor_stops {
        MinorStops::Performance => {
            format!(
                "{} count against A, shorter ones and slow cycles against P.",
                upper_first(&limit(summary))
            )
        }
        MinorStops::Availability => {
            "Every stop counts against A, however short; slow cycles against P.".to_owned()
        }
    }
}

/// What happens to planned stops, in one sentence.
pub(crate) fn planned_stops_in_short(summary: &Summary) -> String {
    let left_out = number::duration(summary.left_out_s);
    match summary.conventions.planned_stops {
        PlannedStops::AsModelled if summary.left_out_s > 0.0 => {
            format!("Planned stops of {left_out} a shift are left out, as the model says.")
        }
        PlannedStops::AsModelled => "No planned stop is left out.".to_owned(),
        PlannedStops::In => "All planned stops count as downtime.".to_owned(),
        PlannedStops::Out => format!("All planned stops of the constraint are left out, {left_out} a shift."),
    }
}

/// With a capital letter.
pub(crate) fn upper_first(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}", letters.as_str())
}

/// The symbol of a figure, if it has one: where ISO 22400-2 gives none, its key is a name in small letters.
pub(crate) fn kpi_symbol(kpi: &KpiDefinition) -> Option<&'static str> {
    let is_key = kpi.symbol.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_');
    (!is_key || !matches!(kpi.group, KpiGroup::IsoKpi)).then_some(kpi.symbol)
}

/// A convention of minor stops in names: "minor stops: performance".
pub(crate) fn minor_stops_in_names(minor_stops: MinorStops) -> &'static str {
    match minor_stops {
        MinorStops::Performance => "minor stops: performance",
        MinorStops::Availability => "minor stops: availability",
    }
}

/// A convention of planned stops in names: "planned stops: as modelled".
pub(crate) fn planned_stops_in_names(planned_stops: PlannedStops) -> &'static str {
    match planned_stops {
        PlannedStops::AsModelled => "planned stops: as modelled",
        PlannedStops::In => "planned stops: in",
        PlannedStops::Out => "planned stops: out",
    }
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
