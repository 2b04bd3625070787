//! The promise against the log: predicted ranges with what was observed, and the gap by reason.

mod reasons;

use super::phrases::{self, cause, csv_words, gain, gain_cells};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure as Drawn;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_kpi::study::versus::{
    Compared, Figure, FigureRow, Gap, Known, ReasonRow, Verdict, VersusResult,
};
use linewake_kpi::summary::Mean;

/// Reasons that a figure shows; the tables have all.
const SHOWN: usize = 25;

pub(super) fn findings(found: &VersusResult) -> Findings {
    let mut parts = vec![headline(found)];
    parts.extend((found.explaining_runs > 0).then(|| gap(found)));
    parts.push(reasons::reasons(found));
    parts.extend(unknown(found));
    Findings {
        answer: answer(found),
        beside: found.lacking.iter().take(1).cloned().collect(),
        parts,
        protocol: None,
        cautions: vec![
            "a difference that is not beyond chance is no proof that model and line agree: a short log can hide a large one"
                .to_owned(),
            "what is beyond chance may lie in the log as well as in the model: stops too short to be written down, reasons booked \
             under another name, counters that miss packs"
                .to_owned(),
        ],
    }
}

fn name(row: &ReasonRow) -> String {
    cause(&row.station, &row.reason)
}

fn log(found: &VersusResult) -> String {
    if found.shifts == 1 {
        "a log of 1 shift".to_owned()
    } else {
        format!("a log of {} shifts", found.shifts)
    }
}

fn answer(found: &VersusResult) -> String {
    let mut answer = String::new();
    let told = |wanted: Figure| {
        let row = found.figures.iter().find(|row| row.figure == wanted)?;
        row.compared.observed.map(|observed| (row, observed))
    };
    let leading =
        told(Figure::Oee).or_else(|| told(Figure::Availability)).or_else(|| told(Figure::PacksPerHour));
    if let Some((row, observed)) = leading {
        answer.push_str(&format!(
            "Observed {} is {}; for {} the model predicts {} to {}.",
            row.figure.words(),
            shown(row.figure, observed),
            log(found),
            shown_bare(row.figure, row.compared.low),
            shown(row.figure, row.compared.high),
        ));
    } else {
        answer.push_str(&format!("The log of {} shifts tells stops only.", found.shifts));
    }
    let figures = found.figures.iter().filter(|row| row.compared.verdict == Verdict::BeyondChance);
    let figures: Vec<String> = figures.map(|row| row.figure.words().to_owned()).collect();
    let beyond: Vec<&ReasonRow> = found.reasons.iter().filter(|row| row.is_beyond_chance()).collect();
    let mut names: Vec<String> = beyond.iter().take(3).map(|row| name(row)).collect();
    if beyond.len() > 3 {
        let more = beyond.len() - 3;
        names.push(if more == 1 { "one more".to_owned() } else { format!("{more} more") });
    }
    answer.push_str(&match (figures.is_empty(), names.is_empty()) {
        (true, true) => " No difference is beyond chance.".to_owned(),
        (false, true) => format!(" Beyond chance: {}; no stop reason by itself.", phrases::listed(&figures)),
        (true, false) => {
            format!(" No headline figure differs beyond chance, but stops do: {}.", phrases::listed(&names))
        }
        (false, false) => {
            format!(
                " Beyond chance: {}; and, of the stop reasons, {}.",
                phrases::listed(&figures),
                phrases::listed(&names)
            )
        }
    });
    let outside = told(Figure::PacksPerHour).is_some_and(|(row, _)| {
        matches!(row.compared.verdict, Verdict::BeyondChance | Verdict::OutsideAlone)
    });
    let first = found.reasons.first().and_then(|row| Some((row, row.explained_packs?)));
    let clear = first.filter(|(_, packs)| phrases::is_clear(packs));
    match (clear, found.gap.gap_packs) {
        (_, Some(gap)) if !outside => answer.push_str(&format!(
            " The log has {}, no more of a difference than chance gives one such log.",
            against_mean(gap)
        )),
        (Some((row, packs)), Some(gap)) if packs.mean * gap > 0.0 => answer.push_str(&format!(
            " The log has {}. Most of that is explained by {}: its logged stops alone change the model's good packs by {}.",
            against_mean(gap),
            name(row),
            gain(&packs)
        )),
        (_, Some(gap)) if found.explaining_runs > 0 => answer.push_str(&format!(
            " The log has {}, and no single stop reason is seen to explain it.",
            against_mean(gap)
        )),
        (Some((row, packs)), None) => answer.push_str(&format!(
            " The logged stops of {} would change the model's good packs most, by {}.",
            name(row),
            gain(&packs)
        )),
        _ => {}
    }
    answer
}

/// The gap in good packs as what a log has.
fn against_mean(gap: f64) -> String {
    let packs = number::fixed(gap.abs(), 0);
    if packs == "0" {
        return "as many good packs as the model makes on average".to_owned();
    }
    format!("{packs} {} good packs than the model makes on average", if gap > 0.0 { "more" } else { "fewer" })
}

/// A value of a headline figure with its unit.
fn shown(figure: Figure, value: f64) -> String {
    match figure {
        Figure::PacksPerHour => number::count(value),
        _ => number::percent(value),
    }
}

/// The same without its unit.
fn shown_bare(figure: Figure, value: f64) -> String {
    match figure {
        Figure::PacksPerHour => number::count(value),
        _ => number::percent_figure(value),
    }
}

fn range(low: &str, high: &str) -> String {
    format!("{low} to {high}")
}

fn fill(verdict: Verdict) -> Fill {
    match verdict {
        Verdict::BeyondChance => Fill::Stop,
        Verdict::OutsideAlone => Fill::Blocked,
        Verdict::Within => Fill::Starved,
        Verdict::NotTold => Fill::Rest,
        Verdict::Planned => Fill::Planned,
    }
}

/// Only those that are used and of which a bar is seen.
fn legend<'a>(compared: impl Iterator<Item = &'a Compared>) -> Vec<(Fill, String)> {
    let seen = compared.filter(|compared| compared.high > compared.low);
    let mut verdicts: Vec<Verdict> = seen.map(|compared| compared.verdict).collect();
    verdicts.sort_unstable();
    verdicts.dedup();
    let words = |verdict| match verdict {
        Verdict::BeyondChance => "range; the log is beyond chance".to_owned(),
        Verdict::OutsideAlone => "range; the log is outside, not beyond chance".to_owned(),
        Verdict::Within => "range; the log is within".to_owned(),
        Verdict::NotTold => "range; the log does not tell".to_owned(),
        Verdict::Planned => "planned by the model, not judged".to_owned(),
    };
    verdicts.into_iter().map(|verdict| (fill(verdict), words(verdict))).collect()
}

fn headline(found: &VersusResult) -> Part {
    let shares: Vec<_> = found.figures.iter().filter(|row| row.figure != Figure::PacksPerHour).collect();
    let points = |row: &FigureRow, value: f64| (value - row.compared.predicted) * 100.0;
    let rows = shares.iter().map(|row| {
        let compared = &row.compared;
        Row {
            label: row.figure.words().to_owned(),
            segments: vec![Segment {
                from: points(row, compared.low),
                to: points(row, compared.high),
                fill: fill(compared.verdict),
            }],
            ring: compared.observed.map(|value| points(row, value)),
            figures: vec![
                number::percent_figure(compared.predicted),
                range(&number::percent_figure(compared.low), &number::percent_figure(compared.high)),
                compared.observed.map_or_else(|| number::NONE.to_owned(), number::percent_figure),
            ],
            ..Row::default()
        }
    });
    let bars = Bars {
        id: "versus-figures".to_owned(),
        title: "Predicted range and observed value".to_owned(),
        description: format!(
            "For {} figures the predicted range as a bar and the value of the log as a ring, as percentage points from the predicted mean.",
            shares.len()
        ),
        scale: "percentage points from the predicted mean".to_owned(),
        headings: vec!["mean, %".to_owned(), "predicted, %".to_owned(), "log, %".to_owned()],
        legend: legend(shares.iter().map(|row| &row.compared)),
        ring: "the log".to_owned(),
        rows: rows.collect(),
    };
    let caption = format!(
        "A bar is where {} of logs of that length fall if the line is as modelled; the ring is the log. The line at 0 is the \
         predicted mean. The range is one of a whole log, not of a mean.",
        phrases::level(&found.head)
    );
    Part {
        id: "figures".into(),
        title: "What was promised and what was observed".to_owned(),
        words: vec![
            format!(
                "{} runs of the model, with the length and the breaks of the shifts of the log ({} of planned production time in all), \
             against {}.",
                number::fixed(found.predicting_runs as f64, 0),
                number::duration(found.planned_production_time_s),
                log(found)
            ),
            format!(
                "In the tables \"p, alone\" is the chance of a difference at least as large if the line is as modelled, and \"p, of all\" \
                 is that chance with the number of figures or stop reasons that are looked at taken into account. Beyond chance: \
                 \"p, of all\" is {} or less.",
                phrases::share(1.0 - found.head.level)
            ),
        ],
        figures: vec![Drawn::of_bars(&bars, caption)],
        tables: vec![figures_table(found)],
    }
}

fn figures_table(found: &VersusResult) -> Table {
    let rows = found.figures.iter().map(|row| {
        let compared = &row.compared;
        let cell = |value: f64| Cell::figure(value, shown_bare(row.figure, value));
        TableRow::of(vec![
            Cell::Words {
                raw: row.figure.words().to_owned(),
                shown: match row.figure {
                    Figure::PacksPerHour => row.figure.words().to_owned(),
                    _ => format!("{}, %", row.figure.words()),
                },
            },
            cell(compared.predicted),
            cell(compared.low),
            cell(compared.high),
            Cell::maybe(compared.observed, |value| shown_bare(row.figure, value)),
            p_cell(compared.p_value),
            p_cell(compared.p_corrected),
            Cell::words(compared.verdict.words()),
        ])
    });
    Table {
        name: "versus-figures".to_owned(),
        caption: format!("Figures of {}: predicted and observed", log(found)),
        columns: vec![
            words("figure", "Figure"),
            figures("predicted", "predicted mean"),
            figures("low", "range from"),
            figures("high", "to"),
            figures("observed", "log"),
            figures("p_value", "p, alone"),
            figures("p_corrected", "p, of all"),
            words("verdict", "Verdict"),
        ],
        rows: rows.collect(),
    }
}

fn p_cell(p_value: Option<f64>) -> Cell {
    Cell::maybe(p_value, |p| if p < 0.001 { "<0.001".to_owned() } else { number::fixed(p, 3) })
}

fn gap(found: &VersusResult) -> Part {
    let mut explained: Vec<&ReasonRow> =
        found.reasons.iter().filter(|row| row.explained_packs.is_some()).collect();
    explained.sort_by(|one, other| packs(other).abs().total_cmp(&packs(one).abs()));
    let all = explained.len();
    explained.truncate(SHOWN);
    let bar = |label: String, note: &str, value: f64, shown: String, fill: Fill| Row {
        label,
        note: note.to_owned(),
        segments: vec![Segment { from: 0.0, to: value, fill }],
        figures: vec![shown],
        ..Row::default()
    };
    let mut rows: Vec<Row> = Vec::new();
    if let Some(gap) = found.gap.gap_packs {
        let label = "the log against the model's mean".to_owned();
        rows.push(Row { strong: true, ..bar(label, "", gap, number::change(gap), Fill::Kept) });
    }
    if let Some(all_stops) = &found.gap.all_stops_packs {
        let label = "all stops as logged".to_owned();
        rows.push(Row {
            whiskers: phrases::whisker(all_stops).into_iter().collect(),
            strong: true,
            ..bar(label, "", all_stops.mean, gain_figure(all_stops), Fill::Recovery)
        });
    }
    if let Some(rest) = found.gap.rest_packs {
        let note = "not stops: speed, rejects, the log's own luck";
        rows.push(Row {
            strong: true,
            ..bar("the rest".to_owned(), note, rest, number::change(rest), Fill::Rest)
        });
    }
    for row in &explained {
        let fill = if row.is_beyond_chance() { Fill::Stop } else { Fill::Starved };
        rows.push(Row {
            whiskers: row.explained_packs.as_ref().and_then(phrases::whisker).into_iter().collect(),
            ..bar(
                name(row),
                "",
                packs(row),
                row.explained_packs.as_ref().map_or_else(String::new, gain_figure),
                fill,
            )
        });
    }
    let mut legend = vec![
        (Fill::Kept, "gap".to_owned()),
        (Fill::Recovery, "all logged stops at once".to_owned()),
        (Fill::Rest, "rest".to_owned()),
    ];
    legend.retain(|(fill, _)| found.gap.gap_packs.is_some() || *fill == Fill::Recovery);
    let has = |beyond: bool| explained.iter().any(|row| row.is_beyond_chance() == beyond);
    if has(true) {
        legend.push((Fill::Stop, "stops that differ beyond chance".to_owned()));
    }
    if has(false) {
        legend.push((Fill::Starved, "other stops".to_owned()));
    }
    let bars = Bars {
        id: "versus-gap".to_owned(),
        title: "Good packs explained by the logged stops of each reason".to_owned(),
        description: format!(
            "The gap between log and model in good packs, and for {} stop reasons how the model's packs change with their logged \
             stops.",
            explained.len()
        ),
        scale: format!("good packs in {}", log(found)),
        headings: vec!["packs".to_owned()],
        legend,
        rows,
        ..Bars::default()
    };
    let more =
        if all > SHOWN { format!(" The {SHOWN} largest of {all} reasons are drawn.") } else { String::new() };
    let caption = format!(
        "For each reason the drawn stops of the model were replaced by those of the log, all else with the same luck. Left of 0: the \
         logged stops cost more than the model's. The thin line is the {} interval. The parts do not add up: stops hide each \
         other.{more}",
        phrases::level(&found.head)
    );
    Part {
        id: "gap".into(),
        title: "Which reason explains the gap".to_owned(),
        words: gap_words(found),
        figures: vec![Drawn::of_bars(&bars, caption)],
        tables: vec![gap_table(found)],
    }
}

/// A gain rounded as in the table beside the figure.
fn gain_figure(packs: &Mean) -> String {
    phrases::signed(packs.mean, number::rounded(packs).mean)
}

fn packs(row: &ReasonRow) -> f64 {
    row.explained_packs.map_or(0.0, |packs| packs.mean)
}

fn gap_words(found: &VersusResult) -> Vec<String> {
    let gap = &found.gap;
    let predicted = number::rounded(&gap.predicted_packs).joined();
    let all_stops = gap.all_stops_packs.as_ref().map_or_else(|| number::NONE.to_owned(), gain);
    match (gap.observed_packs, gap.gap_packs, gap.rest_packs) {
        (Some(observed), Some(difference), Some(rest)) => vec![format!(
            "The log has {} good packs, the model makes {predicted} on average in as many shifts: a gap of {} packs. All stops as \
             logged change what the model makes by {all_stops}; the rest, {} packs, {}.",
            number::count(observed),
            number::change(difference),
            number::change(rest),
            if is_clear_of_luck(gap, rest) {
                "is not explained by stops"
            } else {
                "is smaller than that uncertainty"
            }
        )],
        _ => vec![format!(
            "The log counts no good packs, so there is no gap to explain. The model makes {predicted} on average in as many shifts; \
             all stops as logged change that by {all_stops}.",
        )],
    }
}

/// The rest is more than the interval of what all stops explain.
fn is_clear_of_luck(gap: &Gap, rest: f64) -> bool {
    let half_width = gap.all_stops_packs.as_ref().and_then(|packs| packs.half_width);
    half_width.is_none_or(|half| rest.abs() > half)
}

fn gap_table(found: &VersusResult) -> Table {
    let share = |share: Option<f64>| Cell::maybe(share, number::percent_figure);
    let rows = found.reasons.iter().filter(|row| row.explained_packs.is_some()).map(|row| {
        let [explained, half] = gain_cells(row.explained_packs.as_ref());
        TableRow::of(vec![
            Cell::Words { raw: name(row), shown: name(row) },
            Cell::words(&row.station),
            Cell::words(&row.reason),
            explained,
            half,
            share(row.explained_share),
            Cell::words(if row.is_beyond_chance() { "beyond chance" } else { "" }),
        ])
    });
    Table {
        name: "versus-gap".to_owned(),
        caption: format!("Good packs explained by reason, {}", log(found)),
        columns: vec![
            words("cause", "Stop"),
            csv_words("station"),
            csv_words("reason"),
            figures("explained_packs", "packs"),
            figures("explained_packs_half_width", "±"),
            figures("share_of_gap", "share of the gap, %"),
            words("verdict", "Number or minutes"),
        ],
        rows: rows.collect(),
    }
}

/// What only one of the two knows, and what the log does not tell.
fn unknown(found: &VersusResult) -> Option<Part> {
    let of = |known: Known| {
        let rows = found.reasons.iter().filter(|row| row.known == known);
        phrases::listed(&rows.map(name).collect::<Vec<_>>())
    };
    let mut words = Vec::new();
    for (known, head) in [
        (Known::LogOnly, "In the log and not in the model"),
        (Known::ModelOnly, "In the model and not in the log, though it tells of the machine"),
        (Known::StationNotTold, "In the model, on machines of which the log tells nothing"),
    ] {
        let names = of(known);
        if !names.is_empty() {
            words.push(format!("{head}: {names}."));
        }
    }
    words.extend(found.lacking.iter().map(|lacking| phrases::sentence(lacking)));
    (!words.is_empty()).then(|| Part {
        id: "unknown".into(),
        title: "What only one of them tells".to_owned(),
        words,
        figures: Vec::new(),
        tables: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::super::example::versus::versus;
    use super::*;

    #[test]
    fn a_gap_is_told_as_packs_more_or_fewer() {
        assert_eq!(against_mean(-1_658.4), "1,658 fewer good packs than the model makes on average");
        assert_eq!(against_mean(52.3), "52 more good packs than the model makes on average");
        assert_eq!(against_mean(-0.4), "as many good packs as the model makes on average");
    }

    /// The rest of the gap counts for something only beyond what all stops together are uncertain by.
    #[test]
    fn a_small_rest_is_not_blamed_on_anything() {
        let mut found = versus(8);
        let half_width = found.gap.all_stops_packs.as_ref().and_then(|packs| packs.half_width).expect("one");
        found.gap.rest_packs = Some(0.9 * half_width);
        assert!(gap_words(&found)[0].ends_with("is smaller than that uncertainty."));
        found.gap.rest_packs = Some(-1.1 * half_width);
        assert!(gap_words(&found)[0].ends_with("is not explained by stops."));
    }

    /// Of what has no width no bar is drawn, so the legend does not name its colour.
    #[test]
    fn the_legend_names_what_is_seen() {
        let found = versus(8);
        let mut compared: Vec<Compared> = found.reasons.iter().map(|row| row.count).collect();
        let planned = |compared: &[Compared]| {
            legend(compared.iter()).iter().any(|(_, words)| words == "planned by the model, not judged")
        };
        assert!(planned(&compared));
        for row in compared.iter_mut().filter(|row| row.verdict == Verdict::Planned) {
            (row.low, row.high) = (35.0, 35.0);
        }
        assert!(!planned(&compared));
    }
}
