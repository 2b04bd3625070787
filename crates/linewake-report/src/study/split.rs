//! The best way to share out a number of places among several buffers.

use super::phrases::{self, gain, gain_cells};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, figures, words};
use crate::tables::mean_cells;
use linewake_kpi::study::split::{SplitResult, SplitRow};

/// Splits that the figure shows.
const SHOWN: usize = 25;

pub(super) fn findings(found: &SplitResult) -> Findings {
    let mut beside = Vec::new();
    if !found.is_decided {
        beside.push("the procedure did not come to its end within the runs allowed, so its promise does not hold: allow more runs".to_owned());
    }
    Findings {
        answer: answer(found),
        beside,
        parts: vec![Part {
            id: "splits".into(),
            title: "The best split and the runners-up".to_owned(),
            words: vec![
                format!(
                    "{} splits of {} places in steps of {} were run {} times each; then those that could no longer be the best \
                 were dropped, and the others run on. The promise: with probability {} or more the chosen one is the best, or \
                 makes no more than {} good packs a run less than the best (the indifference zone).",
                    found.splits.len(),
                    found.total,
                    found.step,
                    found.first_runs,
                    phrases::share(found.probability),
                    number::plain(found.indifference_packs)
                ),
                order(found),
            ],
            figures: vec![chart(found)],
            tables: vec![table(found)],
        }],
        protocol: None,
        cautions: vec![
            "the split is the best for this total only, and for the stops that the model states".to_owned(),
        ],
    }
}

/// "40 / 20 / 60": places in the order of the buffers, which the page names once.
fn name(row: &SplitRow) -> String {
    row.places.iter().map(u32::to_string).collect::<Vec<_>>().join(" / ")
}

/// Which buffer each number of a split is of.
fn order(found: &SplitResult) -> String {
    let buffers: Vec<String> = (0..found.paths.len()).map(|place| buffer(found, place).to_owned()).collect();
    format!("The numbers of a split are places at, in this order, {}.", phrases::listed(&buffers))
}

fn buffer(found: &SplitResult, place: usize) -> &str {
    found.stations.get(place).or_else(|| found.paths.get(place)).map_or("", String::as_str)
}

fn answer(found: &SplitResult) -> String {
    let run = phrases::run(&found.head);
    let Some(best) = found.splits.first() else {
        return format!("No split of {} places was run.", found.total);
    };
    let parts: Vec<String> = best
        .places
        .iter()
        .enumerate()
        .map(|(place, many)| format!("{many} at {}", buffer(found, place)))
        .collect();
    let sure = if found.is_decided {
        format!(
            "with a promised probability of {} that this is the best within {} packs",
            phrases::share(found.probability),
            number::plain(found.indifference_packs)
        )
    } else {
        "though the runs allowed did not suffice for the promise".to_owned()
    };
    let mut answer = format!(
        "Of {} places, {} are best, {sure}: {} good packs in {run}.",
        found.total,
        phrases::listed(&parts),
        number::rounded(&best.good_packs).joined()
    );
    match found.as_modelled {
        Some(0) => answer.push_str(" That is the split of the model."),
        Some(place) => {
            if let Some(against) = found.splits.get(place).and_then(|row| row.against_chosen.as_ref()) {
                answer
                    .push_str(&format!(" The split of the model makes {} packs against it.", gain(against)));
            }
        }
        None => {}
    }
    if let Some((next, against)) = found.splits.get(1).and_then(|row| Some((row, row.against_chosen?))) {
        answer.push_str(&format!(" The runner-up is {} with {} packs.", name(next), gain(&against)));
    }
    answer
}

fn chart(found: &SplitResult) -> Figure {
    let rows = found.splits.iter().take(SHOWN).enumerate().map(|(place, row)| {
        let against = row.against_chosen;
        let mut notes = Vec::new();
        if place == 0 {
            notes.push("chosen".to_owned());
        }
        if found.as_modelled == Some(place) {
            notes.push("as modelled".to_owned());
        }
        notes.push(format!("{} runs{}", row.runs, if row.is_dropped { ", then dropped" } else { "" }));
        Row {
            label: name(row),
            note: notes.join("; "),
            segments: against
                .map(|mean| Segment { from: 0.0, to: mean.mean, fill: Fill::Lost })
                .into_iter()
                .collect(),
            whiskers: against.as_ref().and_then(phrases::whisker).into_iter().collect(),
            figures: vec![
                number::rounded(&row.good_packs).mean,
                against.map_or_else(String::new, |mean| gain(&mean)),
            ],
            strong: place == 0,
            ..Row::default()
        }
    });
    let bars = Bars {
        id: "split".to_owned(),
        title: "Good packs of each split against the chosen one".to_owned(),
        description: format!(
            "The differences of {} splits from the chosen one, with intervals.",
            found.splits.len()
        ),
        scale: format!("good packs in {} against the chosen split", phrases::run(&found.head)),
        headings: vec!["good packs".to_owned(), "against the chosen".to_owned()],
        rows: rows.collect(),
        ..Bars::default()
    };
    let more = if found.splits.len() > SHOWN {
        format!(" The {SHOWN} foremost of {} splits are drawn.", found.splits.len())
    } else {
        String::new()
    };
    Figure::of_bars(
        &bars,
        format!(
            "A bar is the mean difference over the runs that both had; the thin line its {} interval, of that pair alone.{more}",
            phrases::level(&found.head)
        ),
    )
}

fn table(found: &SplitResult) -> Table {
    let rows = found.splits.iter().map(|row| {
        let [packs, packs_half] = mean_cells(&row.good_packs);
        let [against, half] = if row.against_chosen.is_some() {
            gain_cells(row.against_chosen.as_ref())
        } else {
            [Cell::Empty, Cell::Empty]
        };
        TableRow::of(vec![
            Cell::words(&name(row)),
            packs,
            packs_half,
            against,
            half,
            Cell::figure(row.runs as f64, number::fixed(row.runs as f64, 0)),
            Cell::words(if row.is_dropped { "yes" } else { "no" }),
        ])
    });
    Table {
        name: "split".to_owned(),
        caption: format!("Every split, {}", phrases::run(&found.head)),
        columns: vec![
            words("split", "Split"),
            figures("good_packs_per_run", "good packs"),
            figures("good_packs_half_width", "±"),
            figures("against_chosen_packs", "against the chosen"),
            figures("against_chosen_half_width", "±"),
            figures("runs", "runs"),
            words("dropped", "Dropped"),
        ],
        rows: rows.collect(),
    }
}
