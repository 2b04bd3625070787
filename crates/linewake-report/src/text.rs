//! The result in aligned lines of plain text, for a terminal.

use crate::input::RunReport;
use crate::number::{self, plain_characters};
use crate::page::{range_sentence, sentence};
use crate::table::Table;
use crate::tables;
use crate::wording;
use linewake_kpi::summary::{StartKind, Summary};

/// Widest line of running text.
const WIDTH: usize = 100;
/// Rows of the Pareto that are printed.
const STOPS: usize = 10;

/// The text.
pub(crate) fn text(report: &RunReport) -> String {
    let long_run = report.main();
    let mut text = String::new();
    let mut add = |part: &str| {
        text.push_str(part);
        text.push('\n');
    };
    add(&filled(&report.model.name));
    add(&filled(&sentence(&report.summaries)));
    add(&filled(&range_sentence(&report.summaries)));
    add(&without_caption(&tables::factors(&report.summaries), usize::MAX));
    add(&filled(&wording::conventions(long_run).join(" ")));
    add(&format!("From design to good, packs a shift {}:", wording::start(long_run.start)));
    add(&groups(long_run));
    add(&format!("Stops that cost most, a shift {}:", wording::start(long_run.start)));
    if long_run.pareto.is_empty() {
        add("none\n");
    } else {
        add(&without_caption(&short_pareto(long_run), STOPS));
    }
    for summary in &report.summaries {
        add(&balance(summary));
    }
    for summary in &report.summaries {
        for doubt in &summary.doubts {
            add(&filled(&format!("Doubt about the shifts {}: {doubt}.", wording::starts(summary.start))));
        }
    }
    if let Some(logs) = &report.logs {
        for log in &logs.logs {
            if let Some(how) = &log.broken_off {
                add(&filled(&format!("{}: {how}", log.file)));
            }
            if !log.dirty_rows.is_empty() {
                add(&filled(&format!(
                    "{}: {} of {} rows were repaired or left out; tables/dirty-rows.csv lists them.",
                    log.file,
                    number::fixed(log.dirty_rows.len() as f64, 0),
                    number::fixed(log.rows as f64, 0)
                )));
            }
        }
    }
    let seed = report.seed.map_or_else(String::new, |seed| format!("Seed {seed}, "));
    let digest: String = report.model.digest.chars().take(12).collect();
    let model = if digest.is_empty() { String::new() } else { format!("model {digest}, ") };
    let standing =
        if report.main().start == StartKind::Logged { "An account of the logs" } else { "An estimate" };
    add(&filled(&format!(
        "{seed}{model}linewake {}. {standing}; food safety limits, guarding and legal weights are for \
         qualified people and local codes.",
        report.program_version
    )));
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}

/// One line a group of losses.
fn groups(summary: &Summary) -> String {
    use crate::losses::{Group, losses};
    let all = losses(&summary.ledger);
    let mut lines = vec![("design".to_owned(), summary.ledger.design_packs.mean)];
    for group in [Group::StopsAndWaits, Group::Pace, Group::Rejects, Group::InLine] {
        let packs: f64 = all.iter().filter(|loss| loss.group == group).map(|loss| loss.packs.mean).sum();
        lines.push((format!("  {}", group.words()), -packs));
    }
    lines.push(("good".to_owned(), summary.ledger.good_packs.mean));
    let design = summary.ledger.design_packs.mean;
    let lines = lines.into_iter().map(|(label, packs)| {
        let share = if design > 0.0 { number::percent(packs / design) } else { String::new() };
        let gain = if label.starts_with(' ') && packs >= 0.5 { "+" } else { "" };
        let packs = plain_characters(&format!("{gain}{}", number::fixed(packs, 0)));
        let share = plain_characters(&share);
        format!("{label:<34}{packs:>10}{share:>10}\n")
    });
    lines.collect()
}

/// The Pareto without the columns that do not fit a terminal.
fn short_pareto(summary: &Summary) -> Table {
    let mut table = tables::stops(summary);
    let keys = [
        "station",
        "stops_per_shift",
        "waiting_s_per_shift",
        "repair_s_per_shift",
        "packs_per_shift",
        "cumulative_share",
    ];
    for column in &mut table.columns {
        if !keys.contains(&column.key) {
            column.heading = None;
        }
    }
    table
}

fn balance(summary: &Summary) -> String {
    let start = wording::starts(summary.start);
    match &summary.balance {
        Some(balance) => filled(&format!(
            "Balance over the shifts {start}: {} {} came in, {} not accounted for.",
            number::fixed(balance.came_in as f64, 0),
            balance.unit,
            number::fixed(balance.difference() as f64, 0)
        )),
        None => filled(&format!("No balance was drawn up for the shifts {start}.")),
    }
}

fn without_caption(table: &Table, most: usize) -> String {
    table.text(most)
}

/// Running text in lines of at most [`WIDTH`] characters.
/// Running text in lines of at most [`WIDTH`] characters.
pub(crate) fn filled(text: &str) -> String {
    let mut out = String::new();
    let mut length = 0;
    // Blanks that must not break are still whole here.
    for word in text.split(' ') {
        let word = plain_characters(word);
        let size = word.chars().count();
        if length > 0 && length + 1 + size > WIDTH {
            out.push('\n');
            length = 0;
        } else if length > 0 {
            out.push(' ');
            length += 1;
        }
        out.push_str(&word);
        length += size;
    }
    out.push('\n');
    out
}
