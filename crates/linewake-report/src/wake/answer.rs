//! What was found, in words.

use crate::number;
use linewake_kpi::study::wake::{PutInStop, WakeResult};

/// A time of the shift: "1 h 20 min 05 s".
pub(super) fn clock(seconds: f64) -> String {
    let tenths = (seconds * 10.0).round().max(0.0) as u64;
    let (s, rest) = (tenths / 10 % 60, tenths % 10);
    let (min, h) = (tenths / 600 % 60, tenths / 36_000);
    let s = if rest == 0 { format!("{s:02}") } else { format!("{s:02}.{rest}") };
    format!("{h}\u{a0}h {min:02}\u{a0}min {s}\u{a0}s")
}

/// The same for a table: "1:20:05.0".
pub(super) fn short_clock(seconds: f64) -> String {
    let tenths = (seconds * 10.0).round().max(0.0) as u64;
    format!("{}:{:02}:{:02}.{}", tenths / 36_000, tenths / 600 % 60, tenths / 10 % 60, tenths % 10)
}

/// Seconds with one decimal, in minutes from ten minutes on.
pub(super) fn length(seconds: f64) -> String {
    if seconds >= 600.0 {
        format!("{}\u{a0}min", number::fixed(seconds / 60.0, 1))
    } else {
        format!("{}\u{a0}s", number::fixed(seconds, 1))
    }
}

/// A count of packs: "31 packs", "1 pack".
fn packs(count: u64) -> String {
    let noun = if count == 1 { "pack" } else { "packs" };
    format!("{}\u{a0}{noun}", number::fixed(count as f64, 0))
}

/// The answer, in a sentence or three.
pub(super) fn answer(result: &WakeResult) -> String {
    let subject = match result.stops.as_slice() {
        [stop] => format!(
            "A stop of {} at {}, {} into the shift,",
            number::duration(stop.duration_s),
            stop.station,
            clock(stop.start_s.unwrap_or(stop.asked_s))
        ),
        stops => format!("{} stops together", stops.len()),
    };
    let cost = match result.packs.lost {
        0 => "cost no pack".to_owned(),
        lost if lost > 0 => format!("cost {}", packs(lost.unsigned_abs())),
        gained => format!("left {} more at the end of the shift", packs(gained.unsigned_abs())),
    };
    let others = result.stations.iter().filter(|it| it.reached_s.is_some() && it.stopped_s <= 0.0);
    let reached: Vec<&str> = others.map(|it| it.station.as_str()).collect();
    let wake = match reached.as_slice() {
        [] => "It reached no other machine".to_owned(),
        names => format!("It starved or blocked {}", list(names)),
    };
    let recovery = &result.recovery;
    let end = if recovery.not_over {
        "its wake goes on to the end of the run".to_owned()
    } else if reached.is_empty() {
        "so there was nothing to recover from".to_owned()
    } else if recovery.recovery_s < 0.05 {
        "the last machine was free when the stop was over".to_owned()
    } else {
        format!("the last machine was free {} after the stop was over", length(recovery.recovery_s))
    };
    format!("{subject} {cost}. {wake}{} {end}.", if reached.is_empty() { "," } else { ";" })
}

fn list(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// What stands beside the answer.
pub(super) fn beside(result: &WakeResult) -> Vec<String> {
    let mut notes: Vec<String> = result.stops.iter().filter_map(late).collect();
    let recovery = &result.recovery;
    let ideal = "no more than the ideal time of a pack late";
    notes.push(match recovery.caught_up_s {
        Some(_) if recovery.largest_delay_s < 0.05 => {
            "No good pack came later than without the stop.".to_owned()
        }
        Some(at) => format!(
            "Good packs came up to {} later, and had caught up at {} ({ideal}).",
            length(recovery.largest_delay_s),
            clock(at)
        ),
        None => format!(
            "Good packs came up to {} later and did not catch up within the shift: at its end they were {} late.",
            length(recovery.largest_delay_s),
            length(recovery.delay_at_end_s.max(0.0))
        ),
    });
    let mut best: Vec<_> =
        result.between.iter().filter(|it| it.absorbed_s > 0.05 && !it.buffers.is_empty()).collect();
    best.sort_by(|one, other| other.absorbed_s.total_cmp(&one.absorbed_s));
    if let Some(most) = best.first() {
        let names: Vec<&str> = most.buffers.iter().map(|it| it.station.as_str()).collect();
        notes.push(format!(
            "Most was absorbed between {} and {}: {} ({}).",
            most.before,
            most.behind,
            length(most.absorbed_s),
            list(&names)
        ));
    }
    if let Some(over) = &result.over_runs {
        notes.push(format!(
            "Over {} shifts the same costs {} packs a shift (mean, 95\u{a0}% interval).",
            number::fixed(over.runs as f64, 0),
            number::rounded(&over.lost).joined()
        ));
    }
    notes
}

fn late(stop: &PutInStop) -> Option<String> {
    match stop.start_s {
        None => Some(format!("The stop of {} did not begin within the run.", stop.station)),
        Some(start) if start - stop.asked_s > 0.05 => Some(format!(
            "The stop of {} was asked for at {} and began at {}: the station stood in another stop or a break.",
            stop.station,
            clock(stop.asked_s),
            clock(start)
        )),
        Some(_) => None,
    }
}
