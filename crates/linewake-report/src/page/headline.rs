//! What the line makes: the headline, the shifts one by one, the hours.

use super::{Section, figure, figure_with_title, folded};
use crate::figure;
use crate::input::RunReport;
use crate::number;
use crate::tables;
use crate::wording;
use linewake_kpi::summary::{StartKind, Summary};
use maud::html;

pub(super) fn section(report: &RunReport) -> Section {
    let first = &report.summaries[0];
    let body = html! {
        (figure(&figure::shifts(&report.summaries), &tables::shifts(first), false))
        @for summary in report.summaries.iter().skip(1) {
            (folded(&tables::shifts(summary), &format!("Table of the numbers, {}", wording::start_heading(summary.start)), false))
        }
        (figure_with_title(&figure::oee(&report.summaries)))
    };
    Section { id: "shifts-seen", title: "The mean, and one shift by itself", body }
}

/// The headline in one sentence.
pub(crate) fn sentence(starts: &[Summary]) -> String {
    let clause = |summary: &Summary| {
        format!(
            "{} good packs at an OEE of {}",
            number::rounded(&summary.good_packs).joined(),
            number::percent_with_interval(&summary.oee)
        )
    };
    let part = |(place, summary): (usize, &Summary)| {
        let shift = if place == 0 {
            format!("A shift of {}", number::duration(summary.window_s))
        } else {
            "a shift".to_owned()
        };
        let start = match summary.start {
            StartKind::NewRolls => "that starts with new rolls makes",
            StartKind::LongRun => "of the long run, with part-used rolls, makes",
            StartKind::Logged => "as logged made",
        };
        format!("{shift} {start} {}", clause(summary))
    };
    format!("{}.", starts.iter().enumerate().map(part).collect::<Vec<_>>().join("; "))
}

/// What ± means, and the range of one shift, told apart from it.
pub(crate) fn range_sentence(starts: &[Summary]) -> String {
    let Some(first) = starts.first() else { return String::new() };
    let range = |summary: &Summary| {
        let range = number::range(summary.good_packs_range?, "and");
        let good_packs = if summary.start == first.start { " good packs" } else { "" };
        Some(match summary.start {
            StartKind::NewRolls => format!("between {range}{good_packs} with new rolls"),
            StartKind::LongRun => format!("between {range}{good_packs} in the long run"),
            StartKind::Logged => format!("between {range}{good_packs}"),
        })
    };
    let mean = of_the_mean(starts);
    match starts.iter().map(range).collect::<Option<Vec<_>>>() {
        Some(ranges) => format!(
            "{mean} One shift by itself is another matter: eight in ten fall {} (10th to 90th percentile).",
            ranges.join(", and ")
        ),
        None => format!("{mean} The range of one shift is told from ten shifts on."),
    }
}

/// The same beside a table that has the ranges.
pub(super) fn mean_sentence(starts: &[Summary]) -> String {
    let mean = of_the_mean(starts);
    if starts.iter().all(|summary| summary.good_packs_range.is_some()) {
        format!(
            "{mean} One shift by itself scatters more: eight in ten fall in its range (10th to 90th percentile)."
        )
    } else {
        format!("{mean} The range of one shift is told from ten shifts on.")
    }
}

fn of_the_mean(starts: &[Summary]) -> String {
    let Some(first) = starts.first() else { return String::new() };
    let of_each = if starts.len() > 1 { " of each kind" } else { "" };
    if starts.iter().any(|summary| summary.good_packs.half_width.is_some()) {
        let shifts = if starts.iter().all(|summary| summary.shifts.len() == first.shifts.len()) {
            format!("{}{of_each}", wording::shifts(first))
        } else {
            starts.iter().map(wording::mean_of_shifts).collect::<Vec<_>>().join(" and ")
        };
        format!(
            "± is the {} interval of the mean over {shifts}: how sure the mean is.",
            wording::level(first)
        )
    } else {
        let more = if first.start == StartKind::Logged { "log" } else { "run" };
        format!("These figures are of a single shift{of_each}, so there is no interval: {more} more shifts.")
    }
}

/// What must be read beside the figures.
pub(super) fn notes(report: &RunReport) -> Vec<String> {
    let mut notes: Vec<String> = Vec::new();
    for summary in &report.summaries {
        let start = wording::starts(summary.start);
        if summary.packs.total_packs.mean < f64::MIN_POSITIVE || summary.availability.mean < f64::MIN_POSITIVE
        {
            notes.push(format!(
                "No packs were made in the shifts {start}: P and Q are not defined there, and OEE is 0."
            ));
        }
        if summary.split().performance.is_some_and(|performance| performance.mean > 1.0) {
            let [_, symbol] = wording::split_symbols(summary.conventions.minor_stops);
            notes.push(format!(
                "Performance {symbol} of the shifts {start} is over 100\u{a0}%: the design rate of {} packs/min is below what the \
                 line did. It is not clipped.",
                number::plain(summary.design_rate_per_min)
            ));
        }
        if summary.quality.is_some_and(|quality| quality.mean > 1.0) {
            notes.push(format!(
                "Quality of the shifts {start} is over 100\u{a0}%, since more packs left the line than were cut: its \
                 content changed by {} packs.",
                number::fixed(summary.ledger.still_in_line_packs.mean, 1)
            ));
        }
        for doubt in &summary.doubts {
            notes.push(format!("Doubt about the shifts {start}: {doubt}."));
        }
    }
    notes
}

pub(super) fn hours(report: &RunReport) -> Section {
    let body = html! {
        p {
            @for summary in &report.summaries {
                @match summary.start {
                    StartKind::NewRolls => "The first hour with new rolls fills the line. ",
                    StartKind::LongRun => {
                        "The long run is looked at after a warm-up of " (number::duration(summary.warm_up_s)) "."
                    }
                    StartKind::Logged => "Hours are counted from the start of each logged shift.",
                }
            }
        }
        @for summary in &report.summaries {
            (figure(&figure::hours(summary), &tables::hours(summary), false))
        }
    };
    Section { id: "hours", title: "Good packs hour by hour", body }
}
