//! What an acceptance run will show, what can be promised, and how long the run must be.

mod risks;

use super::phrases;
use super::plot::{Column, Level, Plot};
use super::protocol::protocol;
use super::{Findings, Part};
use crate::figure::Figure;
use crate::number;
use crate::table::{Cell, Table, TableRow, figures, words};
use crate::wording::upper_first;
use linewake_kpi::study::acceptance::{
    AcceptanceResult, CharacteristicPoint, Guarantee, OutcomeDistribution, Outcomes,
};
use linewake_kpi::study::precision::Measure;

pub(super) fn findings(found: &AcceptanceResult) -> Findings {
    let mut beside = Vec::new();
    if found.uncertain_inputs.is_empty() {
        beside.push(
            "the model states no uncertainty of its inputs, so nothing was drawn: the values below hold only if every \
             input is exactly true"
                .to_owned(),
        );
    }
    Findings {
        answer: answer(found),
        beside,
        parts: vec![
            promised(found),
            risks::characteristic(found),
            risks::lengths(found),
            uncertain(found),
        ],
        protocol: Some(protocol(found)),
        cautions: vec![
            "the contract and EN 415-11 govern what an acceptance run is, what counts and who decides; this page is a \
             forecast of its outcome and no rule of it"
                .to_owned(),
            "a value that holds with inputs taken as exact must not be promised: nobody knows the inputs exactly".to_owned(),
        ],
    }
}

/// A value of what the run is judged by, with its unit.
pub(super) fn shown(measure: Measure, value: f64) -> String {
    match measure {
        Measure::Oee => format!("an OEE of {}", number::percent(value)),
        Measure::GoodPacks => format!("{} good packs", number::fixed(value, 0)),
        Measure::PacksPerHour => format!("{} good packs an hour", number::fixed(value, 0)),
    }
}

/// The distribution that belongs to what the run is judged by; good packs are shown by the hour.
fn judged(found: &AcceptanceResult, outcomes: &'_ Outcomes) -> OutcomeDistribution {
    match found.measure {
        Measure::Oee => outcomes.oee.clone(),
        Measure::GoodPacks | Measure::PacksPerHour => outcomes.packs_per_h.clone(),
    }
}

fn judged_measure(found: &AcceptanceResult) -> Measure {
    if found.measure == Measure::Oee { Measure::Oee } else { Measure::PacksPerHour }
}

fn guarantee(distribution: &OutcomeDistribution, probability: f64) -> Option<&Guarantee> {
    distribution.guarantees.iter().find(|it| (it.probability - probability).abs() < 1e-9)
}

fn at_factor(found: &AcceptanceResult, factor: f64) -> Option<&CharacteristicPoint> {
    found.operating_characteristic.iter().find(|point| (point.stop_factor - factor).abs() < 1e-9)
}

fn answer(found: &AcceptanceResult) -> String {
    let measure = judged_measure(found);
    let (drawn, exact) = (judged(found, &found.drawn), judged(found, &found.exact));
    let run = format!("a run of {} ({})", number::duration(found.run_s), phrases::start(&found.head));
    let mut parts = Vec::new();
    if let Some((safe, safer)) = guarantee(&drawn, 0.9).zip(guarantee(&drawn, 0.95)) {
        parts.push(format!(
            "In {run}, {} can be promised at 90\u{a0}% and {} at 95\u{a0}%",
            shown(measure, safe.value),
            value_alone(measure, safer.value)
        ));
        if let Some(tempting) = guarantee(&exact, 0.9).filter(|_| !found.uncertain_inputs.is_empty()) {
            parts.push(format!(
                "; with inputs taken as exact it would be {} at 90\u{a0}%, which is not to be promised",
                value_alone(measure, tempting.value)
            ));
        }
        parts.push(". ".to_owned());
    }
    let designed = at_factor(found, 1.0)
        .map(|point| format!("the line as designed with probability {}", number::percent(point.pass.share)));
    let degraded = at_factor(found, found.degraded_factor).map(|point| {
        format!(
            "one whose stops are {} times as frequent with {} (it is caught with {})",
            number::plain(found.degraded_factor),
            number::percent(point.pass.share),
            number::percent(1.0 - point.pass.share)
        )
    });
    let passes: Vec<String> = [designed, degraded].into_iter().flatten().collect();
    if !passes.is_empty() {
        parts.push(format!(
            "A limit of {} is passed by {}. ",
            shown(found.measure, found.pass_limit),
            phrases::listed(&passes)
        ));
    }
    parts.push(shortest(found));
    parts.concat()
}

fn value_alone(measure: Measure, value: f64) -> String {
    match measure {
        Measure::Oee => number::percent(value),
        Measure::GoodPacks | Measure::PacksPerHour => number::fixed(value, 0),
    }
}

fn shortest(found: &AcceptanceResult) -> String {
    let risks = format!(
        "both risks (producer's {}, consumer's {})",
        phrases::share(found.producer_risk),
        phrases::share(found.consumer_risk)
    );
    match found.shortest.and_then(|place| found.lengths.get(place)) {
        Some(row) => {
            format!("The shortest run tried that holds {risks} lasts {}.", number::duration(row.run_s))
        }
        None if found.lengths.is_empty() => "No other lengths of the run were tried.".to_owned(),
        None => format!(
            "None of the {} lengths tried, up to {}, holds {risks}: the run must be longer, or the parties must agree on \
             other risks.",
            found.lengths.len(),
            number::duration(found.lengths.last().map_or(0.0, |row| row.run_s))
        ),
    }
}

fn promised(found: &AcceptanceResult) -> Part {
    let mut figures = vec![histogram(found, true)];
    if !found.uncertain_inputs.is_empty() {
        figures.push(histogram(found, false));
    }
    Part {
        id: "promised".into(),
        title: "What the run will show, and what can be promised".to_owned(),
        words: vec![
            format!(
                "{} runs of {} each were made with inputs drawn over their stated uncertainty, and {} with inputs taken as \
                 exact. A value guaranteed at 90\u{a0}% is one that nine runs in ten reach or exceed.",
                number::fixed(found.drawn.runs as f64, 0),
                number::duration(found.run_s),
                number::fixed(found.exact.runs as f64, 0)
            ),
            format!(
                "Mean OEE of a run: {} with inputs drawn, {} with inputs as exact; one run by itself scatters by {} and {} \
                 points (standard deviation).",
                number::percent_with_interval(&found.drawn.oee.mean),
                number::percent_with_interval(&found.exact.oee.mean),
                number::percent_figure(found.drawn.oee.standard_deviation),
                number::percent_figure(found.exact.oee.standard_deviation)
            ),
        ],
        figures,
        tables: vec![guarantees(found), bins(found)],
    }
}

fn histogram(found: &AcceptanceResult, drawn: bool) -> Figure {
    let measure = judged_measure(found);
    let outcomes = if drawn { &found.drawn } else { &found.exact };
    let distribution = judged(found, outcomes);
    let factor = if measure == Measure::Oee { 100.0 } else { 1.0 };
    let all = (outcomes.runs as f64).max(1.0);
    let columns = distribution.histogram.iter().map(|bin| Column {
        from: bin.from * factor,
        to: bin.to * factor,
        height: bin.count as f64 / all * 100.0,
    });
    let mut upright: Vec<Level> = distribution
        .guarantees
        .iter()
        .filter(|it| it.probability > 0.85)
        .map(|it| Level {
            at: it.value * factor,
            label: format!(
                "{} of runs reach {}",
                phrases::share(it.probability),
                value_alone(measure, it.value)
            ),
        })
        .collect();
    if found.measure != Measure::GoodPacks {
        upright.push(Level {
            at: found.pass_limit * factor,
            label: format!("limit {}", value_alone(measure, found.pass_limit)),
        });
    }
    // Both histograms share one scale, so that they can be compared.
    let both = [judged(found, &found.drawn), judged(found, &found.exact)];
    let edges = both.iter().flat_map(|it| &it.histogram).flat_map(|bin| [bin.from, bin.to]);
    let limit = (found.measure != Measure::GoodPacks).then_some(found.pass_limit);
    let ends = edges
        .chain(limit)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
    let how = if drawn { "inputs drawn" } else { "inputs taken as exact" };
    let what = if measure == Measure::Oee { "OEE" } else { "Good packs an hour" };
    let unit = if measure == Measure::Oee {
        "OEE of a run, %"
    } else {
        "good packs an hour of planned production time"
    };
    Plot {
        id: format!("acceptance-{}", if drawn { "drawn" } else { "exact" }),
        title: format!("{what} of {} runs, {how}", number::fixed(outcomes.runs as f64, 0)),
        description: format!(
            "Histogram of {what} over {} runs of {}, {how}; mean {}.",
            number::fixed(outcomes.runs as f64, 0),
            number::duration(found.run_s),
            value_alone(measure, distribution.mean.mean)
        ),
        caption: if drawn {
            "A column is the share of runs that fall in its range. Dashed lines are the values that so many runs reach, and \
             the limit of the acceptance run."
                .to_owned()
        } else {
            "The same with every input at its value in the model: narrower than the truth, shown for comparison only.".to_owned()
        },
        x_words: unit.to_owned(),
        y_words: "% of runs".to_owned(),
        columns: columns.collect(),
        upright,
        x_ends: Some((ends.0 * factor, ends.1 * factor)),
        from_zero: true,
        ..Plot::default()
    }
    .figure()
}

fn guarantees(found: &AcceptanceResult) -> Table {
    let mut rows = Vec::new();
    let pairs = [
        ("OEE, %", 100.0, 2, &found.drawn.oee, &found.exact.oee),
        ("good packs an hour", 1.0, 0, &found.drawn.packs_per_h, &found.exact.packs_per_h),
    ];
    for (what, factor, decimals, drawn, exact) in pairs {
        for of_drawn in &drawn.guarantees {
            let of_exact = guarantee(exact, of_drawn.probability);
            let cell = |value: f64| Cell::figure(value, number::fixed(value * factor, decimals));
            let ends = |it: Option<&Guarantee>| match it.and_then(|it| it.low.zip(it.high)) {
                Some((low, high)) => Cell::words(&format!(
                    "{}\u{a0}to\u{a0}{}",
                    number::fixed(low * factor, decimals),
                    number::fixed(high * factor, decimals)
                )),
                None => Cell::Missing,
            };
            let bare = |value: Option<f64>| value.map_or(Cell::Missing, cell);
            rows.push(TableRow::of(vec![
                Cell::words(&format!("{what} at {}", phrases::share(of_drawn.probability))),
                Cell::figure(of_drawn.probability, number::plain(of_drawn.probability)),
                cell(of_drawn.value),
                bare(of_drawn.low),
                bare(of_drawn.high),
                ends(Some(of_drawn)),
                bare(of_exact.map(|it| it.value)),
                bare(of_exact.and_then(|it| it.low)),
                bare(of_exact.and_then(|it| it.high)),
                ends(of_exact),
            ]));
        }
    }
    Table {
        name: "acceptance-guarantees".to_owned(),
        caption: "Values that a run reaches with stated probability".to_owned(),
        columns: vec![
            words("guarantee", "Guaranteed"),
            crate::table::csv_only("probability"),
            figures("drawn", "inputs drawn: to be promised"),
            crate::table::csv_only("drawn_low"),
            crate::table::csv_only("drawn_high"),
            words("drawn_interval", "its interval"),
            figures("exact", "inputs as exact: not to be promised"),
            crate::table::csv_only("exact_low"),
            crate::table::csv_only("exact_high"),
            words("exact_interval", "its interval"),
        ],
        rows,
    }
}

fn bins(found: &AcceptanceResult) -> Table {
    let sets = [
        ("OEE", "drawn", &found.drawn.oee),
        ("OEE", "exact", &found.exact.oee),
        ("packs per hour", "drawn", &found.drawn.packs_per_h),
        ("packs per hour", "exact", &found.exact.packs_per_h),
    ];
    let rows = sets.iter().flat_map(|(what, inputs, distribution)| {
        distribution.histogram.iter().map(|bin| {
            TableRow::of(vec![
                Cell::words(what),
                Cell::words(inputs),
                Cell::figure(bin.from, number::plain(bin.from)),
                Cell::figure(bin.to, number::plain(bin.to)),
                Cell::figure(bin.count as f64, number::fixed(bin.count as f64, 0)),
            ])
        })
    });
    Table {
        name: "acceptance-histogram".to_owned(),
        caption: "The columns of the histograms".to_owned(),
        columns: vec![
            words("figure", "Figure"),
            words("inputs", "Inputs"),
            figures("from", "from"),
            figures("to", "to"),
            figures("runs", "runs"),
        ],
        rows: rows.collect(),
    }
}

fn uncertain(found: &AcceptanceResult) -> Part {
    let rows = found.uncertain_inputs.iter().map(|input| {
        TableRow::of(vec![
            Cell::words(&input.path),
            Cell::words(&input.as_modelled),
            Cell::words(&input.stated),
        ])
    });
    let none = found.uncertain_inputs.is_empty();
    let said = if none {
        "The model states no uncertainty, so no input was drawn."
    } else {
        "In each run of the drawn ones, each of these was drawn anew, as the model states."
    };
    Part {
        id: "drawn-inputs".into(),
        title: "Inputs that are not known exactly".to_owned(),
        words: vec![upper_first(said)],
        figures: Vec::new(),
        tables: if none {
            Vec::new()
        } else {
            vec![Table {
                name: "acceptance-inputs".to_owned(),
                caption: "Uncertain inputs".to_owned(),
                columns: vec![
                    words("path", "Input"),
                    words("as_modelled", "As modelled"),
                    words("stated", "Stated uncertainty"),
                ],
                rows: rows.collect(),
            }]
        },
    }
}
