//! Output against capacity, or against any other value of the model.

use super::phrases::{self, gain, gain_cells, output_cells, output_columns};
use super::plot::{Level, Plot, Point, Series};
use super::{Findings, Part};
use crate::bars::{Bars, Row, Segment};
use crate::figure::Figure;
use crate::number;
use crate::style::{Fill, MEAN};
use crate::table::{Cell, Column, Table, TableRow, figures, words};
use crate::wording::upper_first;
use linewake_kpi::study::buffers::{BuffersResult, Curve, CurvePoint, Layout, Varied};
use linewake_kpi::study::{DesignFigures, StudyHead};
use linewake_kpi::summary::Mean;

/// Designs that the figure of a full factorial shows.
const SHOWN: usize = 30;

pub(super) fn findings(found: &BuffersResult) -> Findings {
    let mut parts: Vec<Part> = Vec::new();
    for (place, curve) in found.curves.iter().enumerate() {
        parts.extend(found.varied.get(curve.varied).map(|varied| of_curve(found, curve, varied, place)));
    }
    parts.push(designs(found));
    Findings {
        answer: answer(found),
        beside: Vec::new(),
        parts,
        protocol: None,
        cautions: vec![
            "more places also mean more product on the belt, a longer way, more to clean and more to scrap after a long \
             stop; of these the model counts only what it is told"
                .to_owned(),
        ],
    }
}

/// What was varied, in words.
fn name(varied: &Varied) -> String {
    match &varied.station {
        Some(station) if varied.is_capacity => station.clone(),
        _ => varied.path.clone(),
    }
}

fn answer(found: &BuffersResult) -> String {
    let clauses: Vec<String> = found.curves.iter().filter_map(|curve| clause(found, curve)).collect();
    if let Some((first, others)) = clauses.split_first() {
        let shown = others.iter().take(2).cloned().collect::<Vec<_>>();
        return std::iter::once(first.clone()).chain(shown).collect::<Vec<_>>().join(" ");
    }
    best_design(found)
}

fn clause(found: &BuffersResult, curve: &Curve) -> Option<String> {
    let varied = found.varied.get(curve.varied)?;
    let run = phrases::run(&found.head);
    let (none, unlimited) = curve.none.as_ref().zip(curve.unlimited.as_ref())?;
    let most = unlimited.good_packs.mean - none.good_packs.mean;
    let whole = format!(
        "a buffer that is never full makes {} more good packs in {run} than none at all",
        number::fixed(most, 0)
    );
    let now = format!("the model has {}", varied.as_modelled);
    Some(match &curve.smallest {
        Some(smallest) => {
            let tried =
                if smallest.is_smallest_tried { " (the smallest that was tried; fewer may do)" } else { "" };
            format!(
                "At {}, {} places are enough{tried}: they bring {} of what is to be gained ({} was asked for); {whole}; {now}.",
                name(varied),
                smallest.value,
                number::percent(smallest.share),
                phrases::share(curve.share_wanted)
            )
        }
        None if most <= 0.0 => {
            format!(
                "At {}, no gain from any buffer can be seen in {run}: {} packs; {now}.",
                name(varied),
                number::change(most)
            )
        }
        None => format!(
            "At {}, none of the capacities tried brings {} of what is to be gained{}: {whole}; {now}.",
            name(varied),
            phrases::share(curve.share_wanted),
            closest(curve)
        ),
    })
}

/// What the best of the capacities that were tried brings.
fn closest(curve: &Curve) -> String {
    let of_point = |point: &CurvePoint| Some((point.number?, point.share_of_gain?, point.value.clone()));
    let best = curve.points.iter().filter_map(of_point).max_by(|one, other| one.1.total_cmp(&other.1));
    best.map_or_else(String::new, |(_, share, value)| {
        format!(" ({value} places bring {})", number::percent(share))
    })
}

fn best_design(found: &BuffersResult) -> String {
    let run = phrases::run(&found.head);
    let best =
        found.designs.iter().max_by(|one, other| one.good_packs.mean.total_cmp(&other.good_packs.mean));
    let Some(best) = best else {
        return format!(
            "No design was run; the line as modelled makes {} good packs in {run}.",
            number::rounded(&found.base.good_packs).joined()
        );
    };
    let against = best.against_base.as_ref().map_or_else(String::new, |mean| {
        let judged = if phrases::is_clear(mean) { "" } else { ", which cannot be told from no difference" };
        format!(": {} against the line as modelled{judged}", gain(mean))
    });
    format!(
        "Of {} designs, most is made with {}: {} good packs in {run}{against}.",
        found.designs.len(),
        best.label,
        number::rounded(&best.good_packs).joined()
    )
}

fn of_curve(found: &BuffersResult, curve: &Curve, varied: &Varied, place: usize) -> Part {
    let at = name(varied);
    let mut words = vec![format!(
        "{} was varied with all else as modelled. The model has {}.",
        upper_first(&format!("{}{}", if varied.is_capacity { "the capacity of " } else { "" }, at)),
        varied.as_modelled
    )];
    words.extend(last_places(found, curve));
    let mut tables = vec![table(&found.head, curve, varied, place)];
    tables.extend(payback(found, curve, varied, place));
    Part {
        id: format!("curve-{}", place + 1).into(),
        title: format!("Output against {at}"),
        words,
        figures: chart(found, curve, varied, place),
        tables,
    }
}

/// What the last places that were tried still bring.
fn last_places(found: &BuffersResult, curve: &Curve) -> Option<String> {
    let mut of_points = curve.points.iter().filter_map(|point| Some((point, point.packs_per_place?)));
    let first = of_points.next()?;
    let last = of_points.next_back()?;
    Some(format!(
        "Up to {} each further place brings {} good packs in {}, up to {} only {}.",
        first.0.value,
        small_gain(&first.1),
        phrases::run(&found.head),
        last.0.value,
        small_gain(&last.1)
    ))
}

fn small_gain(mean: &Mean) -> String {
    let half = mean
        .half_width
        .map_or_else(String::new, |half| format!("\u{a0}±\u{a0}{}", number::plain(rounded(half))));
    format!("{}{half}", number::plain(rounded(mean.mean)))
}

/// To hundredths: packs a place.
fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn chart(found: &BuffersResult, curve: &Curve, varied: &Varied, place: usize) -> Vec<Figure> {
    let run = phrases::run(&found.head);
    let what = if varied.is_capacity { format!("places at {}", name(varied)) } else { varied.path.clone() };
    let plot = |oee: bool| {
        let factor = if oee { 100.0 } else { 1.0 };
        let of = |point: &CurvePoint| if oee { point.oee } else { point.good_packs };
        let scaled = |mean: Mean| Mean {
            mean: mean.mean * factor,
            half_width: mean.half_width.map(|it| it * factor),
            n: mean.n,
        };
        let points = curve.points.iter().filter_map(|point| {
            let mean = scaled(of(point));
            Some(Point { x: point.number?, y: mean.mean, interval: phrases::whisker(&mean) })
        });
        let level = |point: &Option<CurvePoint>, words: &str| {
            point.as_ref().map(|point| {
                let mean = scaled(of(point)).mean;
                let shown =
                    if oee { format!("{}\u{a0}%", number::fixed(mean, 1)) } else { number::fixed(mean, 0) };
                Level { at: mean, label: format!("{words} {shown}") }
            })
        };
        let across = [level(&curve.unlimited, "never full"), level(&curve.none, "no place")];
        let number_of = |value: &str| {
            curve.points.iter().find(|point| point.value == value).and_then(|point| point.number)
        };
        let modelled = number_of(&varied.as_modelled)
            .map(|at| Level { at, label: format!("as modelled: {}", varied.as_modelled) });
        let enough = curve.smallest.as_ref().and_then(|smallest| {
            let label = format!("{} reach {}", smallest.value, phrases::share(curve.share_wanted));
            Some(Level { at: number_of(&smallest.value)?, label })
        });
        let measure = if oee { "OEE" } else { "Good packs" };
        Plot {
            id: format!("buffers-{}-{}", if oee { "oee" } else { "packs" }, place + 1),
            title: format!("{measure} against {what}"),
            description: format!(
                "{measure} of {run} at {} values of {what}, each with its interval.",
                curve.points.len()
            ),
            caption: format!(
                "A ring is the mean over the runs of one value, the line through it its {} interval. Differences between \
                 the rings are surer than these intervals say, since all have the same luck: the table gives them. The \
                 scale at the left does not begin at 0.",
                phrases::level(&found.head)
            ),
            x_words: what.clone(),
            y_words: if oee { format!("OEE of {run}, %") } else { format!("good packs in {run}") },
            series: vec![Series { label: String::new(), points: points.collect(), dash: "", colour: MEAN }],
            across: across.into_iter().flatten().collect(),
            upright: [modelled, enough].into_iter().flatten().collect(),
            ..Plot::default()
        }
    };
    [false, true].map(|oee| plot(oee).figure()).into_iter().collect()
}

fn table(head: &StudyHead, curve: &Curve, varied: &Varied, place: usize) -> Table {
    let mut columns = vec![words("value", if varied.is_capacity { "Places" } else { "Value" })];
    columns.extend(columns_against_model());
    columns.extend([
        figures("packs_per_further_place", "packs for each further place"),
        figures("packs_per_further_place_half_width", "±"),
        figures("share_of_gain", "share of the gain, %"),
    ]);
    let bounds = [&curve.none, &curve.unlimited].map(|bound| bound.iter());
    let [none, unlimited] = bounds;
    // A bound that was tried is not listed twice.
    let is_tried = |bound: &&CurvePoint| !curve.points.iter().any(|point| point.value == bound.value);
    let rows = none.filter(is_tried).chain(&curve.points).chain(unlimited.filter(is_tried)).map(|point| {
        let place = |value: f64| Cell::figure(value, number::fixed(value, 2));
        let marginal = point.packs_per_place;
        let mut cells = vec![Cell::words(&point.value)];
        cells.extend(cells_against_model(&point.good_packs, &point.oee, Some(&point.against_base)));
        cells.extend([
            marginal.map_or(Cell::Empty, |mean| place(mean.mean)),
            marginal.and_then(|mean| mean.half_width).map_or(Cell::Empty, place),
            point
                .share_of_gain
                .map_or(Cell::Empty, |share| Cell::figure(share, number::percent_figure(share))),
        ]);
        TableRow::of(cells)
    });
    Table {
        name: format!("buffers-curve-{}", place + 1),
        caption: format!("{} in {}", upper_first(&name(varied)), phrases::run(head)),
        columns,
        rows: rows.collect(),
    }
}

fn payback(found: &BuffersResult, curve: &Curve, varied: &Varied, place: usize) -> Option<Table> {
    if curve.points.iter().all(|point| point.payback.is_none()) {
        return None;
    }
    let currency = found.head.currency.as_deref().unwrap_or("money");
    let known = |value: Option<f64>| value.map_or_else(|| "not known".to_owned(), number::plain);
    let rows = curve.points.iter().filter_map(|point| {
        let payback = point.payback?;
        let years = |value: Option<f64>| {
            value.map_or_else(|| Cell::words("never"), |years| Cell::figure(years, number::fixed(years, 1)))
        };
        Some(TableRow::of(vec![
            Cell::words(&point.value),
            Cell::figure(payback.cost, number::fixed(payback.cost, 0)),
            Cell::figure(payback.value_per_year, number::fixed(payback.value_per_year, 0)),
            years(payback.years),
            years(payback.years_at_low_end),
        ]))
    });
    Some(Table {
        name: format!("buffers-payback-{}", place + 1),
        caption: format!(
            "Payback at {}: {} {currency} a place, {} {currency} a pack, {} runs a year",
            name(varied),
            known(curve.price_per_place),
            known(curve.value_per_pack),
            known(curve.runs_per_year)
        ),
        columns: vec![
            words("value", "Places"),
            figures("cost", &format!("cost, {currency}")),
            figures("value_per_year", &format!("gain a year, {currency}")),
            figures("years", "payback, years"),
            figures("years_at_low_end", "payback at the low end of the interval, years"),
        ],
        rows: rows.collect(),
    })
}

fn designs(found: &BuffersResult) -> Part {
    let as_modelled = DesignFigures { label: "as modelled".to_owned(), ..found.base.clone() };
    let mut order: Vec<&DesignFigures> = found.designs.iter().chain([&as_modelled]).collect();
    order.sort_by(|one, other| other.good_packs.mean.total_cmp(&one.good_packs.mean));
    let shown = &order[..order.len().min(SHOWN)];
    let figures = if found.curves.is_empty() && !shown.is_empty() {
        vec![against_base(
            "buffers-designs",
            "Good packs of each design against the line as modelled",
            &found.head,
            shown,
        )]
    } else {
        Vec::new()
    };
    let layout = match found.layout {
        Layout::FullFactorial => "every combination of the values",
        Layout::OneAtATime => "one value at a time, the others as modelled",
    };
    Part {
        id: "designs".into(),
        title: "Every design that was run".to_owned(),
        words: vec![format!(
            "{}: {} designs and the line as modelled, those that make most first.",
            upper_first(layout),
            found.designs.len()
        )],
        figures,
        tables: vec![design_table("buffers-designs", "Designs", &found.head, &order)],
    }
}

/// Designs as bars of their difference from the line as modelled.
pub(super) fn against_base(id: &str, title: &str, head: &StudyHead, designs: &[&DesignFigures]) -> Figure {
    let rows = designs.iter().map(|design| {
        let against = design.against_base.unwrap_or(Mean { mean: 0.0, half_width: None, n: 0 });
        let fill = if against.mean < 0.0 { Fill::Lost } else { Fill::Kept };
        Row {
            label: design.label.clone(),
            segments: vec![Segment { from: 0.0, to: against.mean, fill }],
            whiskers: phrases::whisker(&against).into_iter().collect(),
            figures: vec![number::rounded(&design.good_packs).mean, gain(&against)],
            ..Row::default()
        }
    });
    let bars = Bars {
        id: id.to_owned(),
        title: title.to_owned(),
        description: format!("{title}: {} designs, those that make most first.", designs.len()),
        scale: format!("good packs in {} against the line as modelled", phrases::run(head)),
        headings: vec!["good packs".to_owned(), "against the model".to_owned()],
        rows: rows.collect(),
        ..Bars::default()
    };
    let caption = format!(
        "A bar is the mean difference run by run, with the same luck; the thin line its {} interval.",
        phrases::level(head)
    );
    Figure::of_bars(&bars, caption)
}

/// Designs as a table.
pub(super) fn design_table(name: &str, caption: &str, head: &StudyHead, designs: &[&DesignFigures]) -> Table {
    let rows = designs.iter().map(|design| {
        let mut cells = vec![Cell::words(&design.label)];
        cells.extend(cells_against_model(&design.good_packs, &design.oee, design.against_base.as_ref()));
        TableRow::of(cells)
    });
    let mut columns = vec![words("design", "Design")];
    columns.extend(columns_against_model());
    Table {
        name: name.to_owned(),
        caption: format!("{caption}, {}", phrases::run(head)),
        columns,
        rows: rows.collect(),
    }
}

/// Columns of the output of a run and of its difference from the line as modelled.
fn columns_against_model() -> impl Iterator<Item = Column> {
    output_columns().into_iter().chain([
        figures("against_model_packs", "against the model, packs"),
        figures("against_model_half_width", "±"),
    ])
}

/// Cells under [`columns_against_model`].
fn cells_against_model(good_packs: &Mean, oee: &Mean, against: Option<&Mean>) -> impl Iterator<Item = Cell> {
    output_cells(good_packs, oee).into_iter().chain(gain_cells(against))
}
