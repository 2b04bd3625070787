//! Which input matters: every input moved by what is not known of it.

use super::phrases::{self, gain, gain_cells};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_kpi::study::sensitivity::{MovedInput, RangeSource, SensitivityResult, SensitivityRow};

/// Inputs that the figure shows.
const SHOWN: usize = 30;

pub(super) fn findings(found: &SensitivityResult) -> Findings {
    let stated = found.rows.iter().filter(|row| row.range == RangeSource::Stated).count();
    let mut parts = vec![Part {
        id: "effects".into(),
        title: "What each input does when it is moved".to_owned(),
        words: vec![format!(
            "One input at a time was moved to the low and the high end of its range, the others as modelled, with the same \
             luck. {}",
            ranges(found, stated)
        )],
        figures: vec![tornado(found)],
        tables: vec![table(found)],
    }];
    if !found.not_moved.is_empty() {
        parts.push(not_moved(found));
    }
    Findings {
        answer: answer(found),
        beside: Vec::new(),
        parts,
        protocol: None,
        cautions: vec![
            "one input was moved at a time: two that are wrong together may do more or less than the sum, and an input that \
             is not in the model cannot show"
                .to_owned(),
        ],
    }
}

/// Where the ranges come from.
fn ranges(found: &SensitivityResult, stated: usize) -> String {
    let (all, share) = (found.rows.len(), phrases::share(found.default_relative));
    if stated == all {
        "The model states how sure each of them is.".to_owned()
    } else if stated == 0 {
        format!("The model does not state how sure its inputs are; each was moved by \u{b1}{share}.")
    } else {
        format!(
            "{stated} of {all} inputs have an uncertainty that the model states; the others were moved by \u{b1}{share}."
        )
    }
}

fn name(row: &SensitivityRow) -> String {
    match &row.station {
        Some(station) if !row.what.is_empty() => format!("{station}: {}", row.what),
        _ if !row.what.is_empty() => row.what.clone(),
        _ => row.path.clone(),
    }
}

fn answer(found: &SensitivityResult) -> String {
    let run = phrases::run(&found.head);
    let Some(first) = found.rows.first() else {
        return format!(
            "No input could be moved; the line as modelled makes {} good packs in {run}.",
            number::rounded(&found.base.good_packs).joined()
        );
    };
    let end = |moved: &Option<MovedInput>, word: &str| {
        moved
            .as_ref()
            .map(|moved| format!("{} at its {word} end ({})", gain(&moved.against_base), end_in_words(moved)))
    };
    let ends: Vec<String> =
        [end(&first.low, "low"), end(&first.high, "high")].into_iter().flatten().collect();
    let small = found.rows.iter().filter(|row| !is_clear(row)).count();
    let mut answer = format!(
        "Of all inputs, {} matters most: it moves the good packs in {run} by {}.",
        name(first),
        phrases::listed(&ends)
    );
    if let Some(second) = found.rows.get(1) {
        answer.push_str(&format!(
            " Next comes {} with up to {} packs.",
            name(second),
            number::count(second.effect_packs)
        ));
    }
    if small > 0 {
        answer.push_str(&format!(
            " For {small} of {} inputs no effect can be told from none.",
            found.rows.len()
        ));
    }
    answer
}

/// The value at an end of the range; a distribution by its factor, since all its values are moved by it.
fn end_in_words(moved: &MovedInput) -> String {
    if moved.value.starts_with('{') {
        format!("\u{d7} {}", number::plain(moved.factor))
    } else {
        moved.value.clone()
    }
}

fn is_clear(row: &SensitivityRow) -> bool {
    [&row.low, &row.high].into_iter().flatten().any(|moved| phrases::is_clear(&moved.against_base))
}

fn tornado(found: &SensitivityResult) -> Figure {
    let shown = &found.rows[..found.rows.len().min(SHOWN)];
    let rows = shown.iter().map(|row| {
        let segment = |moved: &Option<MovedInput>, fill| {
            moved.as_ref().map(|moved| Segment { from: 0.0, to: moved.against_base.mean, fill })
        };
        let ends_in_order = || [&row.low, &row.high].into_iter().flatten();
        let mut segments: Vec<Segment> = [segment(&row.low, Fill::Blocked), segment(&row.high, Fill::Kept)]
            .into_iter()
            .flatten()
            .collect();
        // Both ends on one side: the longer lies below the shorter.
        segments.sort_by(|one, other| other.to.abs().total_cmp(&one.to.abs()));
        let figure = |moved: &Option<MovedInput>| {
            moved
                .as_ref()
                .map_or_else(|| number::NONE.to_owned(), |moved| number::change(moved.against_base.mean))
        };
        let ends =
            |moved: &Option<MovedInput>| moved.as_ref().map_or_else(|| "none".to_owned(), end_in_words);
        Row {
            label: name(row),
            note: format!("{}; {} to {}", phrases::typed(&row.as_modelled), ends(&row.low), ends(&row.high)),
            segments,
            whiskers: ends_in_order().filter_map(|moved| phrases::whisker(&moved.against_base)).collect(),
            figures: vec![figure(&row.low), figure(&row.high)],
            ..Row::default()
        }
    });
    let bars = Bars {
        id: "sensitivity".to_owned(),
        title: "Good packs gained or lost when an input is moved".to_owned(),
        description: format!(
            "For each of {} inputs the change of good packs at the low and at the high end of its range, largest first.",
            shown.len()
        ),
        scale: format!("good packs in {} against the line as modelled", phrases::run(&found.head)),
        headings: vec!["at low".to_owned(), "at high".to_owned()],
        legend: vec![
            (Fill::Blocked, "input at its low end".to_owned()),
            (Fill::Kept, "input at its high end".to_owned()),
        ],
        rows: rows.collect(),
        ..Bars::default()
    };
    let more = if found.rows.len() > SHOWN {
        format!(" The {SHOWN} of {} inputs with the largest effect are drawn.", found.rows.len())
    } else {
        String::new()
    };
    Figure::of_bars(
        &bars,
        format!(
            "The line at 0 is the line as modelled. Below each name stand its value in the model and the ends of its \
             range. A thin line is the {} interval of an end, that of the low end above that of the high end.{more}",
            phrases::level(&found.head)
        ),
    )
}

fn table(found: &SensitivityResult) -> Table {
    let rows = found.rows.iter().map(|row| {
        let [low, low_half] = gain_cells(row.low.as_ref().map(|moved| &moved.against_base));
        let [high, high_half] = gain_cells(row.high.as_ref().map(|moved| &moved.against_base));
        // A value and its unit stay on one line.
        let whole = |text: &str, shown: &str| Cell::Words {
            raw: text.to_owned(),
            shown: shown.replace(' ', "\u{a0}"),
        };
        let value = |moved: &Option<MovedInput>| {
            moved.as_ref().map_or(Cell::Missing, |moved| whole(&moved.value, &end_in_words(moved)))
        };
        let oee = |moved: &Option<MovedInput>| {
            Cell::maybe(moved.as_ref().map(|moved| moved.oee.mean), number::percent_figure)
        };
        TableRow::of(vec![
            Cell::Words { raw: row.path.clone(), shown: name(row) },
            Cell::Words { raw: row.as_modelled.clone(), shown: phrases::typed(&row.as_modelled) },
            Cell::words(match row.range {
                RangeSource::Stated => "stated",
                RangeSource::Default => "default",
            }),
            value(&row.low),
            low,
            low_half,
            oee(&row.low),
            value(&row.high),
            high,
            high_half,
            oee(&row.high),
        ])
    });
    Table {
        name: "sensitivity".to_owned(),
        caption: format!("Every input that was moved, {}", phrases::run(&found.head)),
        columns: vec![
            words("path", "Input"),
            words("as_modelled", "As modelled"),
            words("range", "Range"),
            words("low_value", "Low"),
            figures("low_packs", "packs at low"),
            figures("low_half_width", "±"),
            figures("low_oee", "OEE at low, %"),
            words("high_value", "High"),
            figures("high_packs", "packs at high"),
            figures("high_half_width", "±"),
            figures("high_oee", "OEE at high, %"),
        ],
        rows: rows.collect(),
    }
}

fn not_moved(found: &SensitivityResult) -> Part {
    let rows = found
        .not_moved
        .iter()
        .map(|input| TableRow::of(vec![Cell::words(&input.path), Cell::words(&input.why)]));
    Part {
        id: "not-moved".into(),
        title: "Inputs that were not moved".to_owned(),
        words: Vec::new(),
        figures: Vec::new(),
        tables: vec![Table {
            name: "sensitivity-not-moved".to_owned(),
            caption: "Inputs that could not be moved, and why".to_owned(),
            columns: vec![words("path", "Input"), words("why", "Why not")],
            rows: rows.collect(),
        }],
    }
}
