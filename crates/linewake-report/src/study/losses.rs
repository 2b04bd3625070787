//! What each loss really costs, beside its minutes and its charge from the log.

use super::phrases::{self, cause, csv_words, gain, gain_cells, percent_cells};
use super::slope::{Place, Slope};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::Fill;
use crate::table::{Cell, Table, TableRow, csv_only, figures, words};
use crate::wording::upper_first;
use linewake_kpi::study::losses::{LossKind, LossRow, LossVerdict, LossesResult};

/// Causes that the figures show; the table has all.
const SHOWN: usize = 30;
/// Causes in the figure of the two orders.
const ORDERED: usize = 15;

pub(super) fn findings(found: &LossesResult) -> Findings {
    let mut parts = vec![Part {
        id: "costs".into(),
        title: "What each loss really costs".to_owned(),
        words: vec![format!(
            "Each cause was switched off by itself and the same runs were made once more; the gain is the difference, \
             run by run. It stands beside what the log charges to the cause. The line as modelled makes {} good packs in \
             {}, at an OEE of {}.",
            number::rounded(&found.base.good_packs).joined(),
            phrases::run(&found.head),
            number::percent_with_interval(&found.base.oee)
        )],
        figures: vec![costs(found)],
        tables: vec![table(found), switched_off(found)],
    }];
    parts.extend(orders(found));
    parts.push(Part {
        id: "sum".into(),
        title: "Why the gains do not add up".to_owned(),
        words: sum_words(found),
        figures: Vec::new(),
        tables: Vec::new(),
    });
    Findings {
        answer: answer(found),
        beside: Vec::new(),
        parts,
        protocol: None,
        cautions: vec![
            "what a cause costs holds with all others as they are: once one is mended, the others must be ranked anew"
                .to_owned(),
        ],
    }
}

fn name(row: &LossRow) -> String {
    cause(&row.station, &row.reason)
}

fn answer(found: &LossesResult) -> String {
    let run = phrases::run(&found.head);
    let Some(first) = found.rows.first() else {
        return format!("Nothing in the model can be switched off: no cause costs packs in {run}.");
    };
    if !phrases::is_clear(&first.gain_packs) {
        return format!(
            "No single cause can be told from none: the costliest, {}, is worth {} good packs in {run}. More runs would tell.",
            name(first),
            gain(&first.gain_packs)
        );
    }
    let share = if found.design_packs > 0.0 {
        format!(
            ", {} of what the design rate would make",
            number::percent(first.gain_packs.mean / found.design_packs)
        )
    } else {
        String::new()
    };
    let mut answer = format!(
        "Most is lost to {}: without it {run} makes {} more good packs{share}.",
        name(first),
        number::rounded(&first.gain_packs).joined()
    );
    let charged = found.rows.iter().find(|row| row.rank_by_charge == Some(1));
    match charged {
        Some(row) if row.rank_by_gain == 1 => answer.push_str(&format!(
            " The log puts it first as well, with {} packs.",
            charge(row)
        )),
        Some(row) => answer.push_str(&format!(
            " The log puts {} first, with {} packs; without that the run would gain {}, which puts it {} in true cost.",
            name(row),
            charge(row),
            number::rounded(&row.gain_packs).joined(),
            ordinal(row.rank_by_gain)
        )),
        None => {}
    }
    answer
}

fn charge(row: &LossRow) -> String {
    row.charged_packs.as_ref().map_or_else(|| number::NONE.to_owned(), |mean| number::rounded(mean).joined())
}

fn ordinal(place: usize) -> String {
    let ending = match (place % 10, place % 100) {
        (1, other) if other != 11 => "st",
        (2, other) if other != 12 => "nd",
        (3, other) if other != 13 => "rd",
        _ => "th",
    };
    format!("{place}{ending}")
}

fn fill(kind: LossKind) -> Fill {
    match kind {
        LossKind::Stop => Fill::Stop,
        LossKind::Consumable => Fill::NoStop,
        LossKind::FailSafe => Fill::Lost,
        LossKind::PlannedStop => Fill::Planned,
        LossKind::RejectCause => Fill::Reject,
        LossKind::SpeedLimit => Fill::Slow,
        LossKind::Crew => Fill::Waiting,
    }
}

fn costs(found: &LossesResult) -> Figure {
    let shown = &found.rows[..found.rows.len().min(SHOWN)];
    let mut kinds: Vec<LossKind> = shown.iter().map(|row| row.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let rows = shown.iter().map(|row| Row {
        label: name(row),
        segments: vec![Segment { from: 0.0, to: row.gain_packs.mean, fill: fill(row.kind) }],
        whiskers: phrases::whisker(&row.gain_packs).into_iter().collect(),
        ring: row.charged_packs.map(|mean| mean.mean),
        figures: vec![
            gain(&row.gain_packs),
            row.charged_packs.map_or_else(|| number::NONE.to_owned(), |mean| number::count(mean.mean)),
        ],
        ..Row::default()
    });
    let rows: Vec<Row> = rows.collect();
    let most = shown.first().map_or_else(String::new, |row| {
        format!(" The costliest is {} with {}.", name(row), gain(&row.gain_packs))
    });
    let more = if found.rows.len() > SHOWN {
        format!(" The {SHOWN} costliest of {} causes are drawn; the table has all.", found.rows.len())
    } else {
        String::new()
    };
    let bars = Bars {
        id: "losses".to_owned(),
        title: format!(
            "Packs gained without each cause, and packs charged to it, {}",
            phrases::run(&found.head)
        ),
        description: format!(
            "For each of {} causes the packs gained without it, with interval, and the packs that the log charges to it.{most}",
            rows.len()
        ),
        scale: format!("packs in {}", phrases::run(&found.head)),
        headings: vec!["gained without it".to_owned(), "charged".to_owned()],
        legend: kinds.into_iter().map(|kind| (fill(kind), kind.words().to_owned())).collect(),
        ring: "charged by the log".to_owned(),
        rows,
    };
    let caption = format!(
        "A bar is what the line gains if that cause alone is gone; the thin line on it is the {} interval. The ring is \
         what the log charges. Ring beyond the bar: the loss is hidden in part. Bar beyond the ring: it costs more than \
         is charged to it.{more}",
        phrases::level(&found.head)
    );
    Figure::of_bars(&bars, caption)
}

fn table(found: &LossesResult) -> Table {
    let columns = vec![
        words("cause", "Cause"),
        csv_words("station"),
        csv_words("reason"),
        words("sort", "Sort"),
        csv_words("supplier"),
        figures("place_by_gain", "place by gain"),
        figures("gain_packs_per_run", "gain, packs"),
        figures("gain_packs_half_width", "±"),
        figures("gain_oee", "gain of OEE, points"),
        csv_only("gain_oee_half_width"),
        figures("stops_per_run", "stops"),
        figures("stopped_s_per_run", "stopped, min"),
        figures("charged_packs_per_run", "charged, packs"),
        csv_only("charged_packs_half_width"),
        figures("place_by_charge", "place by charge"),
        csv_words("verdict"),
    ];
    let rows = found.rows.iter().map(|row| {
        let [gained, half] = gain_cells(Some(&row.gain_packs));
        let [oee, oee_half] = percent_cells(&row.gain_oee);
        TableRow::of(vec![
            Cell::Words { raw: name(row), shown: name(row) },
            Cell::words(&row.station),
            Cell::words(&row.reason),
            Cell::words(row.kind.words()),
            row.supplier.as_deref().map_or(Cell::Empty, Cell::words),
            Cell::figure(row.rank_by_gain as f64, number::fixed(row.rank_by_gain as f64, 0)),
            gained,
            half,
            oee,
            oee_half,
            Cell::maybe(row.count.map(|mean| mean.mean), number::count),
            Cell::maybe(row.stopped_s.map(|mean| mean.mean), number::minutes),
            Cell::maybe(row.charged_packs.map(|mean| mean.mean), number::count),
            Cell::maybe(row.charged_packs.and_then(|mean| mean.half_width), number::count),
            Cell::maybe(row.rank_by_charge.map(|rank| rank as f64), |rank| number::fixed(rank, 0)),
            Cell::words(row.verdict.words()),
        ])
    });
    Table {
        name: "losses".to_owned(),
        caption: format!("Every cause in {}: true cost, minutes and charge", phrases::run(&found.head)),
        columns,
        rows: rows.collect(),
    }
}

fn switched_off(found: &LossesResult) -> Table {
    let rows = found.rows.iter().map(|row| {
        TableRow::of(vec![
            Cell::words(&name(row)),
            Cell::words(&row.switched_off),
            Cell::words(row.verdict.words()),
        ])
    });
    Table {
        name: "losses-switched-off".to_owned(),
        caption: "How each cause was switched off, and how its cost stands to its charge".to_owned(),
        columns: vec![
            words("cause", "Cause"),
            words("switched_off", "How it was switched off"),
            words("verdict", "True cost against charge"),
        ],
        rows: rows.collect(),
    }
}

/// The order by charge beside the order by true cost.
fn orders(found: &LossesResult) -> Option<Part> {
    let both = found.rows.iter().filter_map(|row| Some((row, row.rank_by_charge?)));
    let mut both: Vec<(&LossRow, usize)> = both.collect();
    both.sort_by_key(|(row, by_charge)| (row.rank_by_gain.min(*by_charge), row.rank_by_gain));
    let all = both.len();
    both.truncate(ORDERED);
    if both.len() < 2 {
        return None;
    }
    let places: Vec<Place> = both
        .iter()
        .map(|(row, by_charge)| Place { label: name(row), left: *by_charge, right: row.rank_by_gain })
        .collect();
    let moved = both.iter().filter(|(row, by_charge)| row.rank_by_gain != *by_charge).count();
    let slope = Slope {
        id: "losses-orders".to_owned(),
        title: "Two orders of the same causes".to_owned(),
        description: format!(
            "Left the causes by what the log charges, right by what they really cost; {moved} of {} stand elsewhere.",
            places.len()
        ),
        caption: format!(
            "The number is the place among all causes that the order has. A slanting line is a cause that the log puts \
             too high or too low.{}",
            if all > places.len() {
                format!(" The {} foremost of {all} causes that have a charge are drawn.", places.len())
            } else {
                String::new()
            }
        ),
        headings: ["by charge of the log".to_owned(), "by true cost".to_owned()],
        places,
    };
    Some(Part {
        id: "orders".into(),
        title: "Why the log puts them in another order".to_owned(),
        words: why(found),
        figures: vec![slope.figure()],
        tables: Vec::new(),
    })
}

/// Why the two orders differ, with the causes that it holds for.
fn why(found: &LossesResult) -> Vec<String> {
    let of = |verdict: LossVerdict| {
        let names: Vec<String> = found.rows.iter().filter(|row| row.verdict == verdict).map(name).collect();
        let more = names.len().saturating_sub(4);
        let mut shown = names;
        shown.truncate(4);
        if more > 0 {
            shown.push(format!("{more} more"));
        }
        phrases::listed(&shown)
    };
    let mut words = vec![
        "The log charges a cause with the time in which the constraint stood because of it. That is not yet what its \
         removal would bring."
            .to_owned(),
    ];
    let hidden = of(LossVerdict::HiddenByOthers);
    if !hidden.is_empty() {
        words.push(format!(
            "Costs less than charged: {hidden}. A buffer gives the packs back later, or another loss takes the time that \
             becomes free."
        ));
    }
    let more = of(LossVerdict::CostsMoreThanCharged);
    if !more.is_empty() {
        words.push(format!(
            "Costs more than charged: {more}. Such a stop also causes what the log charges elsewhere: packs scrapped, a \
             buffer drained before the next stop, an operator kept from another machine."
        ));
    }
    let as_charged = of(LossVerdict::AsCharged);
    if !as_charged.is_empty() {
        words.push(format!("Costs about what is charged: {as_charged}. These hit the constraint itself, with nothing in between."));
    }
    let unseen = of(LossVerdict::NoGainSeen);
    if !unseen.is_empty() {
        words.push(format!("No gain can be told from none with these runs: {unseen}."));
    }
    words
}

fn sum_words(found: &LossesResult) -> Vec<String> {
    let lost = found.design_packs - found.base.good_packs.mean;
    let mut words = vec![format!(
        "The design rate would make {} packs in {}, the line makes {}, so {} are lost. The gains of all causes one by one \
         sum to {}. That is not the same, and need not be: two stops that hide each other each cost little alone, and \
         one stop that ends another's wait is counted in both.",
        number::fixed(found.design_packs, 0),
        phrases::run(&found.head),
        number::fixed(found.base.good_packs.mean, 0),
        number::fixed(lost, 0),
        number::fixed(found.sum_of_gains_packs, 0)
    )];
    if let Some(all) = &found.all_stops_off {
        words.push(upper_first(&format!(
            "with all own stops of the stations off at once the gain is {} packs.",
            gain(all)
        )));
    }
    words
}
