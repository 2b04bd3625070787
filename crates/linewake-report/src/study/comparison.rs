//! Two or more models or variants, run with the same luck.

use super::phrases::{self, csv_words, gain, gain_cells, output_cells, output_columns, percent_cells};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, figures, words};
use linewake_kpi::study::comparison::{ComparisonResult, PairDifference};

/// Pairs that the figure shows.
const SHOWN: usize = 30;

pub(super) fn findings(found: &ComparisonResult) -> Findings {
    let many = found.pairs.len();
    let judged = format!(
        "{many} difference{} judged at once ({}), so the wide intervals in the figure hold for all of them together \
         (Bonferroni), and the p-values are corrected (Holm). A difference is called clear if its corrected p-value is \
         below {}.",
        if many == 1 { " is" } else { "s are" },
        if found.family == 1 {
            "a family of one".to_owned()
        } else {
            format!("a family of {}", found.family)
        },
        number::plain(1.0 - found.head.level)
    );
    let parts = vec![
        Part {
            id: "differences".into(),
            title: "Differences, pair by pair".to_owned(),
            words: vec![key(found), judged],
            figures: vec![differences(found)],
            tables: vec![pairs(found)],
        },
        Part {
            id: "models".into(),
            title: "Each by itself".to_owned(),
            words: vec![
                "These intervals are of each mean by itself. Whether two differ is told by the differences above, which \
                 are surer: both met the same luck."
                    .to_owned(),
            ],
            figures: vec![each(found)],
            tables: vec![models(found)],
        },
    ];
    Findings { answer: answer(found), beside: rates(found), parts, protocol: None, cautions: Vec::new() }
}

fn label(found: &ComparisonResult, place: usize) -> &str {
    found.models.get(place).map_or("", |model| model.label.as_str())
}

/// Different design rates make OEE misleading.
fn rates(found: &ComparisonResult) -> Vec<String> {
    let first = found.models.first().map_or(0.0, |model| model.design_rate_per_min);
    if found.models.iter().any(|model| (model.design_rate_per_min - first).abs() > 1e-9 * first.abs()) {
        vec![
            "the design rates differ, so each OEE is measured against another rate: compare good packs"
                .to_owned(),
        ]
    } else {
        Vec::new()
    }
}

fn answer(found: &ComparisonResult) -> String {
    let run = phrases::run(&found.head);
    let at_once = format!("after correction for {} at once", compared(found.family));
    if let Some(best) = found.best {
        let nearest = found
            .pairs
            .iter()
            .filter(|pair| pair.first == best || pair.second == best)
            .min_by(|one, other| one.good_packs.mean.abs().total_cmp(&other.good_packs.mean.abs()));
        let made = found
            .models
            .get(best)
            .map_or_else(String::new, |model| number::rounded(&model.good_packs).joined());
        let lead = nearest.map_or_else(String::new, |pair| {
            let other = if pair.first == best { pair.second } else { pair.first };
            let mean = linewake_kpi::summary::Mean { mean: pair.good_packs.mean.abs(), ..pair.good_packs };
            format!(", {} more than {}", number::rounded(&mean).joined(), label(found, other))
        });
        return format!(
            "{} makes most: {made} good packs in {run}{lead}, clear of every other {at_once}.",
            label(found, best)
        );
    }
    let clear = found.pairs.iter().filter(|pair| pair.is_clear).count();
    let most = found.models.iter().max_by(|one, other| one.good_packs.mean.total_cmp(&other.good_packs.mean));
    let most = most.map_or_else(String::new, |model| {
        format!(
            "; most is made by {} with {} good packs in {run}",
            model.label,
            number::rounded(&model.good_packs).joined()
        )
    });
    format!(
        "None is better than every other {at_once}: {clear} of {} differences are clear{most}.",
        found.pairs.len()
    )
}

fn compared(many: usize) -> String {
    if many == 1 { "1 difference".to_owned() } else { format!("{many} differences") }
}

/// A letter for each model, so that pairs have short names; numbers past the alphabet.
fn letter(place: usize) -> String {
    u8::try_from(place)
        .ok()
        .filter(|place| *place < 26)
        .map_or_else(|| format!("no. {}", place + 1), |place| char::from(b'A' + place).to_string())
}

/// "B less A".
fn name(pair: &PairDifference) -> String {
    format!("{} less {}", letter(pair.second), letter(pair.first))
}

/// Which model each letter is.
fn key(found: &ComparisonResult) -> String {
    let models =
        found.models.iter().enumerate().map(|(place, model)| format!("{} is {}", letter(place), model.label));
    format!("{}.", models.collect::<Vec<_>>().join("; "))
}

fn differences(found: &ComparisonResult) -> Figure {
    let shown = &found.pairs[..found.pairs.len().min(SHOWN)];
    let rows = shown.iter().map(|pair| {
        let fill = if pair.is_clear { Fill::Kept } else { Fill::Rest };
        let mean = pair.good_packs.mean;
        Row {
            label: name(pair),
            segments: vec![Segment { from: 0.0, to: mean, fill }],
            whiskers: pair
                .simultaneous_half_width
                .map(|half| (mean - half, mean + half))
                .into_iter()
                .collect(),
            figures: vec![
                gain(&pair.good_packs),
                if pair.is_clear { "clear" } else { "not clear" }.to_owned(),
            ],
            ..Row::default()
        }
    });
    let bars = Bars {
        id: "compare".to_owned(),
        title: "Differences of good packs, each run against the same run".to_owned(),
        description: format!(
            "The paired difference of {} pairs, with intervals that hold for all at once.",
            shown.len()
        ),
        scale: format!("good packs in {}, second less first", phrases::run(&found.head)),
        headings: vec!["difference".to_owned(), "judged".to_owned()],
        legend: vec![
            (Fill::Kept, "clear after correction".to_owned()),
            (Fill::Rest, "not told from none".to_owned()),
        ],
        rows: rows.collect(),
        ..Bars::default()
    };
    let more = if found.pairs.len() > SHOWN {
        format!(" The first {SHOWN} of {} pairs are drawn.", found.pairs.len())
    } else {
        String::new()
    };
    let caption = format!(
        "A bar is the mean difference; the thin line is the {} interval that holds for all pairs at once. The ± of the \
         number at the right is of that pair alone.{more}",
        phrases::level(&found.head)
    );
    Figure::of_bars(&bars, caption)
}

fn each(found: &ComparisonResult) -> Figure {
    let rows = found.models.iter().take(SHOWN).enumerate().map(|(place, model)| Row {
        label: format!("{}: {}", letter(place), model.label),
        segments: vec![Segment { from: 0.0, to: model.good_packs.mean, fill: Fill::Kept }],
        whiskers: phrases::whisker(&model.good_packs).into_iter().collect(),
        figures: vec![number::rounded(&model.good_packs).joined(), number::percent_with_interval(&model.oee)],
        ..Row::default()
    });
    let bars = Bars {
        id: "compare-models".to_owned(),
        title: "Good packs of each".to_owned(),
        description: format!("Good packs of {} models with their intervals.", found.models.len()),
        scale: format!("good packs in {}", phrases::run(&found.head)),
        headings: vec!["good packs".to_owned(), "OEE".to_owned()],
        rows: rows.collect(),
        ..Bars::default()
    };
    Figure::of_bars(
        &bars,
        format!(
            "The mean over the runs; the thin line at the end of a bar is its {} interval.",
            phrases::level(&found.head)
        ),
    )
}

fn pairs(found: &ComparisonResult) -> Table {
    let rows = found.pairs.iter().map(|pair| {
        let [packs, half] = gain_cells(Some(&pair.good_packs));
        let [oee, oee_half] = percent_cells(&pair.oee);
        let p = |value: Option<f64>| {
            Cell::maybe(value, |it| if it < 0.0001 { "<0.0001".to_owned() } else { number::fixed(it, 4) })
        };
        TableRow::of(vec![
            Cell::words(&name(pair)),
            Cell::words(label(found, pair.first)),
            Cell::words(label(found, pair.second)),
            packs,
            half,
            Cell::maybe(pair.simultaneous_half_width, number::count),
            oee,
            oee_half,
            p(pair.p_value),
            p(pair.p_holm),
            Cell::words(if pair.is_clear { "clear" } else { "not clear" }),
            Cell::maybe(pair.shared_luck_ratio, |it| number::fixed(it, 3)),
        ])
    });
    Table {
        name: "compare-pairs".to_owned(),
        caption: format!("Differences in {}", phrases::run(&found.head)),
        columns: vec![
            words("pair", "Pair"),
            csv_words("first"),
            csv_words("second"),
            figures("difference_packs", "packs"),
            figures("half_width", "± alone"),
            figures("simultaneous_half_width", "± for all at once"),
            figures("oee_difference", "OEE, points"),
            figures("oee_half_width", "±"),
            figures("p_value", "p"),
            figures("p_holm", "p, corrected"),
            words("judged", "Judged"),
            figures("shared_luck_ratio", "variance left by shared luck"),
        ],
        rows: rows.collect(),
    }
}

fn models(found: &ComparisonResult) -> Table {
    let rows = found.models.iter().enumerate().map(|(place, model)| {
        let [packs, packs_half, oee, oee_half] = output_cells(&model.good_packs, &model.oee);
        TableRow::of(vec![
            Cell::Words { raw: model.label.clone(), shown: format!("{}: {}", letter(place), model.label) },
            packs,
            packs_half,
            oee,
            oee_half,
            Cell::figure(model.design_rate_per_min, number::plain(model.design_rate_per_min)),
            Cell::Words { raw: model.digest.clone(), shown: crate::page::short(&model.digest) },
        ])
    });
    let mut columns = vec![words("model", "Model")];
    columns.extend(output_columns());
    columns.extend([figures("design_rate_per_min", "design rate, packs/min"), words("digest", "Digest")]);
    Table {
        name: "compare-models".to_owned(),
        caption: format!("The models, {}", phrases::run(&found.head)),
        columns,
        rows: rows.collect(),
    }
}
