//! Good packs by the hour, as columns.

use super::Figure;
use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, ticks};
use crate::number;
use crate::style::{Fill, GRID, LINE, PAPER};
use crate::wording;
use linewake_kpi::summary::{HourSummary, Summary};

const SMALL: Lettering = Lettering::SMALL;
const TOP: f64 = 38.0;
const PLOT: f64 = 190.0;

/// The hours of a summary.
pub(crate) fn hours(summary: &Summary) -> Figure {
    let name = format!("hours-{}", wording::start_in_names(summary.start));
    let title = format!("Good packs hour by hour, a shift {}", wording::start(summary.start));
    let rates = summary.output.iter().map(per_hour);
    let (least, most) =
        rates.fold((f64::INFINITY, 0.0_f64), |(least, most), rate| (least.min(rate), most.max(rate)));
    let description = if summary.output.is_empty() {
        "There is no hour to show.".to_owned()
    } else {
        format!(
            "{} hours, between {} and {} good packs an hour; {}.",
            summary.output.len(),
            number::count(least),
            number::count(most),
            wording::mean_of(summary)
        )
    };
    let draw = |layout: &str, width: f64| {
        draw(summary, Canvas::new(&format!("{name}-{layout}"), width), &title, &description)
    };
    let ranges = summary.output.iter().any(|hour| hour.range.is_some());
    let caption = format!(
        "Columns are means, hatched what is missing to the design rate{}. A last hour that is not whole is drawn at its hourly rate.",
        if ranges { "; thin lines show where eight of ten shifts fall in that hour" } else { "" }
    );
    let (wide, narrow) = (draw("wide", WIDE), draw("narrow", NARROW));
    Figure { name, title, caption, wide, narrow }
}

fn per_hour(hour: &HourSummary) -> f64 {
    at_hourly_rate(hour, hour.good_packs.mean)
}

fn at_hourly_rate(hour: &HourSummary, packs: f64) -> f64 {
    if hour.length_s > 0.0 { packs * 3600.0 / hour.length_s } else { 0.0 }
}

fn draw(summary: &Summary, mut canvas: Canvas, title: &str, description: &str) -> Drawing {
    let design = summary.design_rate_per_min * 60.0;
    let highest = summary.output.iter().flat_map(|hour| {
        let top = hour.range.map_or(hour.good_packs.mean, |range| range.p90);
        [per_hour(hour), at_hourly_rate(hour, top)]
    });
    let highest = highest.fold(design, f64::max).max(1e-6) * 1.02;
    let marks = ticks(0.0, highest, 6);
    let label_width = marks.iter().map(|mark| SMALL.width(&number::plain(*mark))).fold(0.0, f64::max);
    let (left, right, bottom) = (label_width + 10.0, canvas.width() - 4.0, TOP + PLOT);
    let y_at = |value: f64| bottom - value / highest * PLOT;
    canvas.text(0.0, 12.0, Anchor::Start, SMALL, "good packs an hour");
    let legend = SMALL.width("short of design") + 20.0;
    canvas.area(canvas.width() - legend, 2.0, 14.0, 11.0, Fill::Lost);
    canvas.text(canvas.width(), 12.0, Anchor::End, SMALL, "short of design");
    for mark in marks {
        canvas.line((left, y_at(mark)), (right, y_at(mark)), GRID, 1.0);
        canvas.text(left - 6.0, y_at(mark) + 4.0, Anchor::End, SMALL, &number::plain(mark));
    }
    let pitch = (right - left) / summary.output.len().max(1) as f64;
    let gap = if pitch > 8.0 { pitch * 0.25 } else { 0.0 };
    for (place, hour) in summary.output.iter().enumerate() {
        let x = left + pitch * place as f64;
        let y = y_at(per_hour(hour));
        canvas.area(x + gap / 2.0, y, pitch - gap, (bottom - y).max(0.5), Fill::Kept);
        if per_hour(hour) < design {
            canvas.area(x + gap / 2.0, y_at(design), pitch - gap, y - y_at(design), Fill::Lost);
        }
        if let Some(range) = hour.range.filter(|_| pitch > 8.0) {
            let middle = x + pitch / 2.0;
            let (low, high) = (y_at(at_hourly_rate(hour, range.p10)), y_at(at_hourly_rate(hour, range.p90)));
            // White below black: the whisker is seen on the column and above it.
            canvas.line((middle, low), (middle, high), PAPER, 4.0);
            canvas.line((middle, low), (middle, high), LINE, 1.6);
            for end in [low, high] {
                canvas.line((middle - 5.0, end), (middle + 5.0, end), LINE, 1.6);
            }
        }
    }
    canvas.line((left, y_at(design)), (right, y_at(design)), LINE, 1.2);
    let words = format!("design rate {}", number::plain(design));
    canvas.text(right, y_at(design) - 5.0, Anchor::End, SMALL, &words);
    canvas.line((left, bottom), (right, bottom), LINE, 1.0);
    label_hours(&mut canvas, summary, left, pitch, bottom);
    let shares = label_shares(&mut canvas, summary, left, pitch, bottom);
    let words =
        if shares { "hour of the run, and good packs in it as % of design" } else { "hour of the run" };
    let axis = if shares { 51.0 } else { 34.0 };
    canvas.text(f64::midpoint(left, right), bottom + axis, Anchor::Middle, SMALL, words);
    canvas.finish(bottom + axis + 6.0, title, description)
}

/// Below the numbers of the hours, what share of design they are; false where there is no room for it.
fn label_shares(canvas: &mut Canvas, summary: &Summary, left: f64, pitch: f64, bottom: f64) -> bool {
    let design = summary.design_rate_per_min * 60.0;
    let share = |hour: &HourSummary| number::fixed(per_hour(hour) / design * 100.0, 0);
    let widest = summary.output.iter().map(|hour| Lettering::BODY.width(&share(hour))).fold(0.0, f64::max);
    let fits = design > 0.0 && !summary.output.is_empty() && widest + 8.0 < pitch;
    for (place, hour) in summary.output.iter().enumerate().filter(|_| fits) {
        let x = left + pitch * (place as f64 + 0.5);
        canvas.text(x, bottom + 33.0, Anchor::Middle, Lettering::BODY, &share(hour));
    }
    fits
}

/// Numbers below the columns: every one, or every second, fifth, ... so that they stay apart.
fn label_hours(canvas: &mut Canvas, summary: &Summary, left: f64, pitch: f64, bottom: f64) {
    let label = |hour: &HourSummary| number::fixed((hour.start_s / 3600.0).floor() + 1.0, 0);
    let widest = summary.output.iter().map(|hour| SMALL.width(&label(hour))).fold(0.0, f64::max);
    let every = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 5000]
        .into_iter()
        .find(|every| *every as f64 * pitch > widest + 8.0)
        .unwrap_or(10_000);
    for (place, hour) in summary.output.iter().enumerate() {
        let x = left + pitch * (place as f64 + 0.5);
        // One that would be cut off at the edge is left out.
        let inside = x + widest / 2.0 <= canvas.width() && x >= widest / 2.0;
        if place % every == every - 1 && inside {
            canvas.text(x, bottom + 16.0, Anchor::Middle, SMALL, &label(hour));
        }
    }
}
