//! Words and numbers that the studies share.

use crate::number;
use crate::table::{Cell, Column, csv_only, figures};
use crate::tables::mean_cells;
use crate::wording;
use linewake_kpi::study::{Proportion, StudyHead, StudyKind};
use linewake_kpi::summary::{Mean, StartKind};

/// "95 %".
pub(super) fn level(head: &StudyHead) -> String {
    share(head.level)
}

/// A round share, such as a probability or a level: "95 %".
pub(super) fn share(share: f64) -> String {
    format!("{}\u{a0}%", number::plain(share * 100.0))
}

/// "a run of 8 h".
pub(super) fn run(head: &StudyHead) -> String {
    format!("a run of {}", number::duration(head.run_s))
}

/// The length of a run: "8 h", or for an order "as many shifts as the order takes, at most 480 h".
pub(super) fn length(head: &StudyHead) -> String {
    let whole = number::duration(head.run_s);
    match head.kind {
        StudyKind::Order => format!("as many shifts as the order takes, at most {whole}"),
        _ => whole,
    }
}

/// A value of the model as it was typed, a distribution without the marks of its file format.
pub(super) fn typed(value: &str) -> String {
    if !value.starts_with('{') {
        return value.to_owned();
    }
    let mut words = String::new();
    for letter in value.chars() {
        match letter {
            '{' | '}' | '"' => {}
            ':' | '_' => words.push(' '),
            ',' => words.push_str(", "),
            other => words.push(other),
        }
    }
    words
}

/// How the figures came to be, in one or two sentences.
pub(super) fn basis(head: &StudyHead) -> String {
    let runs = match head.replications {
        Some(runs) => {
            format!("{} runs of {} each, {}", number::fixed(runs as f64, 0), length(head), start(head))
        }
        None => format!("Runs of {}, {}", length(head), start(head)),
    };
    format!(
        "{runs}; {} in all. Every design meets the same luck, so differences are taken run by run. ± is the {} \
         interval of a mean.",
        number::fixed(head.runs as f64, 0),
        level(head)
    )
}

/// "starting with new rolls".
pub(super) fn start(head: &StudyHead) -> String {
    match head.start {
        StartKind::NewRolls => "starting with new rolls".to_owned(),
        StartKind::LongRun if head.warm_up_s > 0.0 => {
            format!("of the long run after a warm-up of {}", number::duration(head.warm_up_s))
        }
        StartKind::LongRun => "of the long run".to_owned(),
        StartKind::Logged => "as logged".to_owned(),
    }
}

/// A gain or loss in packs with its interval and its sign: "+1,830 ± 120".
pub(super) fn gain(mean: &Mean) -> String {
    signed(mean.mean, number::rounded(mean).joined())
}

/// The sign of a gain before a number that is shown without one.
pub(super) fn signed(value: f64, shown: String) -> String {
    let is_something = shown.bytes().any(|byte| (b'1'..=b'9').contains(&byte));
    if value > 0.0 && is_something { format!("+{shown}") } else { shown }
}

/// The interval is all on one side of zero.
pub(super) fn is_clear(mean: &Mean) -> bool {
    mean.half_width.is_some_and(|half| mean.mean.abs() > half)
}

/// The interval of a mean that may be below zero, as a whisker.
pub(super) fn whisker(mean: &Mean) -> Option<(f64, f64)> {
    let half = mean.half_width.filter(|half| half.is_finite() && *half > 0.0)?;
    Some((mean.mean - half, mean.mean + half))
}

/// Columns of the output of a run: good packs and OEE, each with its half width.
pub(super) fn output_columns() -> [Column; 4] {
    [
        figures("good_packs_per_run", "good packs"),
        figures("good_packs_half_width", "±"),
        figures("oee", "OEE, %"),
        figures("oee_half_width", "±"),
    ]
}

/// Cells under [`output_columns`].
pub(super) fn output_cells(good_packs: &Mean, oee: &Mean) -> [Cell; 4] {
    let [packs, packs_half] = mean_cells(good_packs);
    let [oee, oee_half] = percent_cells(oee);
    [packs, packs_half, oee, oee_half]
}

/// Cells of a gain and its half width.
pub(super) fn gain_cells(mean: Option<&Mean>) -> [Cell; 2] {
    let Some(mean) = mean else { return [Cell::Missing, Cell::Missing] };
    let rounded = number::rounded(mean);
    let half = mean.half_width.map_or(Cell::Missing, |half| Cell::figure(half, rounded.half_width));
    [Cell::figure(mean.mean, signed(mean.mean, rounded.mean)), half]
}

/// Cells of a mean share in percent and its half width.
pub(super) fn percent_cells(mean: &Mean) -> [Cell; 2] {
    let rounded = number::rounded_percent(mean);
    let half = mean.half_width.map_or(Cell::Missing, |half| Cell::figure(half, rounded.half_width));
    [Cell::figure(mean.mean, rounded.mean), half]
}

/// A station and what is wrong with it; one of them may be empty.
pub(super) fn cause(station: &str, reason: &str) -> String {
    match (station.is_empty(), reason.is_empty()) {
        (true, _) => wording::reason(reason),
        (_, true) => station.to_owned(),
        _ => format!("{station}: {}", wording::reason(reason)),
    }
}

/// With a capital letter and a full stop.
pub(crate) fn sentence(words: &str) -> String {
    let words = wording::upper_first(words.trim());
    if words.ends_with(['.', '!', '?']) { words } else { format!("{words}.") }
}

/// The things in a sentence: "a, b and c".
pub(super) fn listed(things: &[String]) -> String {
    match things {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
/// Cells of a counted share in percent and the ends of its interval.
pub(super) fn proportion_cells(counted: &Proportion) -> [Cell; 3] {
    [counted.share, counted.low, counted.high].map(|it| Cell::figure(it, number::percent_figure(it)))
}

/// A counted share with its interval: "91.2 % (89.9 to 92.4 %)".
pub(super) fn proportion(counted: &Proportion) -> String {
    format!(
        "{} ({} to {})",
        number::percent(counted.share),
        number::percent_figure(counted.low),
        number::percent(counted.high)
    )
}

/// A column of words that is in CSV only.
pub(super) fn csv_words(key: &'static str) -> Column {
    Column { numeric: false, ..csv_only(key) }
}
