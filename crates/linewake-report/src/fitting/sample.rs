//! One sample: its three panels, its laws in a table, and what is proposed in words.

use super::panel::{Axis, HEIGHT, Panel, Spacing};
use super::words::{self, Shown};
use crate::bars::{NARROW, WIDE};
use crate::canvas::{Canvas, Drawing};
use crate::figure::Figure;
use crate::number;
use crate::table::{Cell, Column, Table, TableRow, csv_only, figures, words as column};
use linewake_kpi::study::fitting::{Bounded, Candidate, TimesFit};

/// A sample and what it belongs to.
pub(super) struct Sample<'a> {
    /// Stem of file names and ids.
    pub(super) id: String,
    /// Heading, for example "former, web tracking: repair".
    pub(super) title: String,
    /// Station and reason; empty for the crew.
    pub(super) station: &'a str,
    pub(super) reason: &'a str,
    pub(super) fit: &'a TimesFit,
}

/// A share below this is not drawn.
const LEAST_SHARE: f64 = 1e-4;

/// Histogram, survival and quantiles side by side (on a phone below each other).
pub(super) fn figure(sample: &Sample<'_>) -> Option<Figure> {
    let fit = sample.fit;
    if fit.curves.bins.is_empty() || fit.complete < 2 {
        return None;
    }
    let shown = Shown::of(fit);
    let panels = [histogram(fit, shown), survival(fit, shown), quantiles(fit, shown)];
    let panels: Vec<Panel> = panels.into_iter().flatten().collect();
    let description = format!(
        "{}: {} complete times of mean {}; proposed: {}.",
        sample.title,
        fit.complete,
        shown.with_unit(fit.mean),
        words::law(fit)
    );
    let wide = {
        let mut canvas = Canvas::new(&format!("{}-wide", sample.id), WIDE);
        let room = WIDE / panels.len() as f64;
        for (place, panel) in panels.iter().enumerate() {
            panel.draw(&mut canvas, place as f64 * room, 0.0, room - 14.0);
        }
        canvas.finish(HEIGHT, &sample.title, &description)
    };
    let narrow: Drawing = {
        let mut canvas = Canvas::new(&format!("{}-narrow", sample.id), NARROW);
        for (place, panel) in panels.iter().enumerate() {
            panel.draw(&mut canvas, 0.0, place as f64 * (HEIGHT + 8.0), NARROW);
        }
        canvas.finish(panels.len() as f64 * (HEIGHT + 8.0), &sample.title, &description)
    };
    Some(Figure { name: sample.id.clone(), title: sample.title.clone(), caption: caption(fit), wide, narrow })
}

fn caption(fit: &TimesFit) -> String {
    let others = fit.curves.laws.iter().filter(|law| law.family != fit.chosen.family).count();
    let mut caption = match fit.chosen.family {
        "constant" => {
            "Columns and points: the log. All values are the same, so that no law is drawn.".to_owned()
        }
        "empirical" => "Columns and points: the log. The times themselves are proposed.".to_owned(),
        family => format!(
            "Columns and points: the log. Line: the {family} law; on the axes of the middle panel it is {}.",
            if family == "gamma" { "nearly straight far out" } else { "straight" }
        ),
    };
    if fit.cut_off > 0 {
        caption.push_str(" Times that were cut off are in the middle and right panels, not in the columns.");
    }
    if others > 0 && fit.chosen.family != "constant" {
        caption.push_str(" Dashed: the law that comes next by AIC.");
    }
    caption
}

fn histogram(fit: &TimesFit, shown: Shown) -> Option<Panel> {
    let curves = &fit.curves;
    let bins = &curves.bins;
    let (first, last) = (bins.first()?, bins.last()?);
    let columns: Vec<(f64, f64, f64)> =
        bins.iter().map(|bin| (shown.value(bin.from), shown.value(bin.to), bin.count as f64)).collect();
    let expected: Vec<(f64, f64)> = bins
        .iter()
        .zip(&curves.expected)
        .map(|(bin, expected)| (shown.value(f64::midpoint(bin.from, bin.to)), *expected))
        .collect();
    let highest = columns.iter().map(|column| column.2).fold(1.0, f64::max);
    let drawn = !matches!(fit.chosen.family, "constant" | "empirical");
    let highest = if drawn {
        expected.iter().map(|it| it.1).fold(highest, f64::max).min(2.0 * highest)
    } else {
        highest
    };
    let axis = |spacing, low, high, words: &str| Some(Axis { spacing, low, high, words: words.to_owned() });
    Some(Panel {
        title: "How many of each length",
        x: axis(Spacing::Even, shown.value(first.from).min(0.0), shown.value(last.to), &shown.axis(fit)),
        y: axis(Spacing::Even, 0.0, highest * 1.05, ""),
        columns,
        lines: if drawn { vec![(expected, "")] } else { Vec::new() },
        points: Vec::new(),
    })
}

/// Axes on which the law is straight.
fn spacings(family: &str) -> (Spacing, Spacing) {
    match family {
        "Weibull" => (Spacing::Log, Spacing::Weibull),
        "lognormal" => (Spacing::Log, Spacing::Normal),
        _ => (Spacing::Even, Spacing::LogShare),
    }
}

fn survival(fit: &TimesFit, shown: Shown) -> Option<Panel> {
    let points: Vec<(f64, f64)> = fit
        .curves
        .survival
        .iter()
        .filter(|point| point.y > LEAST_SHARE && point.y < 1.0)
        .map(|point| (shown.value(point.x), point.y))
        .collect();
    let (x_spacing, y_spacing) = spacings(fit.chosen.family);
    let low = points.iter().map(|point| point.0).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|point| point.0).fold(0.0, f64::max);
    let least = points.iter().map(|point| point.1).fold(1.0, f64::min);
    let most = points.iter().map(|point| point.1).fold(0.0, f64::max);
    if points.len() < 2 || high <= low {
        return None;
    }
    let of = |family: &str| {
        let law = fit.curves.laws.iter().find(|law| law.family == family)?;
        Some(law.points.iter().map(|point| (shown.value(point.x), point.y)).collect::<Vec<_>>())
    };
    let mut lines: Vec<(Vec<(f64, f64)>, &'static str)> = Vec::new();
    lines.extend(of(fit.chosen.family).map(|line| (line, "")));
    let next = fit.curves.laws.iter().find(|law| law.family != fit.chosen.family).map(|law| law.family);
    lines.extend(next.filter(|_| fit.chosen.family != "constant").and_then(of).map(|line| (line, "4 3")));
    let (x_low, x_high) =
        if x_spacing == Spacing::Log { (low / 1.1, high * 1.1) } else { (0.0, high * 1.03) };
    let y_high = if y_spacing == Spacing::LogShare { 1.0 } else { (1.0 - 0.6 * (1.0 - most)).min(0.9995) };
    Some(Panel {
        title: "Share that is longer, %",
        x: Some(Axis { spacing: x_spacing, low: x_low, high: x_high, words: shown.axis(fit) }),
        y: Some(Axis {
            spacing: y_spacing,
            low: (least * 0.7).max(LEAST_SHARE),
            high: y_high,
            words: String::new(),
        }),
        columns: Vec::new(),
        lines,
        points,
    })
}

fn quantiles(fit: &TimesFit, shown: Shown) -> Option<Panel> {
    if fit.chosen.family == "constant" {
        return None;
    }
    let points: Vec<(f64, f64)> = fit
        .curves
        .quantiles
        .iter()
        .map(|point| (shown.value(point.x), shown.value(point.y)))
        .filter(|point| point.0 > 0.0 && point.1 > 0.0)
        .collect();
    let all = || points.iter().flat_map(|point| [point.0, point.1]);
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    if points.len() < 2 || high <= low {
        return None;
    }
    let spacing = if high > 30.0 * low && matches!(fit.chosen.family, "Weibull" | "lognormal") {
        Spacing::Log
    } else {
        Spacing::Even
    };
    let (from, to) = if spacing == Spacing::Log { (low / 1.1, high * 1.1) } else { (0.0, high * 1.03) };
    let axis = |words: String| Some(Axis { spacing, low: from, high: to, words });
    Some(Panel {
        title: "Log (up) against law (across)",
        x: axis(shown.axis_of("by the law")),
        y: axis(String::new()),
        columns: Vec::new(),
        lines: vec![(vec![(from.max(low * 0.9), from.max(low * 0.9)), (to, to)], "")],
        points,
    })
}

/// The laws of a sample, as a table.
pub(super) fn laws(sample: &Sample<'_>) -> Table {
    Table {
        name: format!("{}-laws", sample.id),
        caption: format!("The laws that were tried on the {}", sample.fit.what),
        columns: columns(),
        rows: sample.fit.candidates.iter().map(|candidate| row(sample, candidate)).collect(),
    }
}

/// Columns of the laws.
pub(super) fn columns() -> Vec<Column> {
    let csv_words = |key| Column { numeric: false, ..csv_only(key) };
    vec![
        column("law", "Law"),
        csv_words("station"),
        csv_words("reason"),
        csv_words("sample"),
        column("parameters", "Parameters"),
        figures("mean", "mean"),
        csv_only("mean_low"),
        csv_only("mean_high"),
        column("mean_interval", "interval of the mean"),
        figures("log_likelihood", "ln L"),
        figures("aic", "AIC"),
        figures("bic", "BIC"),
        figures("anderson_darling", "A²"),
        column("verdict", "Fits?"),
    ]
}

/// One law.
pub(super) fn row(sample: &Sample<'_>, candidate: &Candidate) -> TableRow {
    let fit = sample.fit;
    let shown = Shown::of(fit);
    let one = |value: Option<f64>, decimals| Cell::maybe(value, |value| number::fixed(value, decimals));
    let mean = candidate.mean;
    let parameters: Vec<String> = candidate
        .parameters
        .iter()
        .map(|parameter| {
            let bounded = &parameter.bounded;
            let value = if parameter.has_unit { shown.bounded(bounded) } else { words::bare(bounded) };
            format!("{} {value}", parameter.name)
        })
        .collect();
    let end = |end: Option<f64>| Cell::maybe(end, |value| shown.with_unit(value));
    let interval =
        |bounded: Option<Bounded>| bounded.map_or(String::new(), |bounded| shown.interval(&bounded));
    TableRow::of(vec![
        Cell::words(candidate.family),
        Cell::words(sample.station),
        Cell::words(sample.reason),
        Cell::words(&fit.what),
        Cell::words(&parameters.join(", ")),
        Cell::maybe(mean.map(|it| it.value), |value| shown.with_unit(value)),
        end(mean.and_then(|it| it.low)),
        end(mean.and_then(|it| it.high)),
        Cell::words(&interval(mean)),
        one(candidate.log_likelihood, 2),
        one(candidate.aic, 1),
        one(candidate.bic, 1),
        one(candidate.goodness.as_ref().map(|it| it.anderson_darling), 3),
        Cell::words(&words::verdict(candidate)),
    ])
}
