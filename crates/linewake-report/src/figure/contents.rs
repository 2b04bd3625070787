//! What belts and tables held: over one shift, and beside it how long each content stood over all shifts. Both share the
//! upright scale, so that a buffer that is only ever full or empty is seen at a glance.

use super::Figure;
use super::time_axis::TimeAxis;
use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened, wrapped};
use crate::number;
use crate::style::{Fill, GRID, LINE};
use crate::wording;
use linewake_kpi::content_times::ContentClass;
use linewake_kpi::summary::{StationSummary, Summary};
use linewake_kpi::timeline::{ContentLine, ShiftTimeline};

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
/// Height of one content.
const PLOT: f64 = 56.0;
/// Least height of a bar of the distribution: more classes are put together.
const BAR: f64 = 4.0;
/// Area under the mean content.
const HELD: &str = "#cfd8df";
/// Between the least and the most content of a stretch of time.
const SPREAD: &str = "#7f97a8";

/// The contents; `None` where nothing is known of any.
pub(crate) fn contents(summary: &Summary) -> Option<Figure> {
    let panels: Vec<Panel<'_>> = summary
        .stations
        .iter()
        .enumerate()
        .filter_map(|(place, station)| Panel::of(place, station, summary.timeline.as_ref()))
        .collect();
    if panels.is_empty() {
        return None;
    }
    let name = format!("contents-{}", wording::start_in_names(summary.start));
    let title = format!("What belts and tables hold, a shift {}", wording::start(summary.start));
    let described = panels.iter().filter_map(|panel| {
        let note = panel.note();
        (!note.is_empty()).then(|| format!("{}: {note}.", panel.station.id))
    });
    let description = described.collect::<Vec<_>>().join(" ");
    let over_time = if summary.timeline.is_some() {
        "Left, one shift: the area is the mean content of each stretch of time, the darker band above it runs from the \
         least to the most. "
    } else {
        ""
    };
    let caption = format!(
        "{over_time}Right, {} together: the longer a bar, the longer the buffer stood at that content. The dashed line is \
         the capacity. Long bars at the top and at the bottom and little between: the buffer is too small to be more \
         than a switch; a buffer that never comes near its capacity has room to spare.",
        wording::shifts(summary)
    );
    let draw = |layout: &str, width: f64| {
        let canvas = Canvas::new(&format!("{name}-{layout}"), width);
        draw(&panels, summary.timeline.as_ref(), canvas, &title, &description)
    };
    let (wide, narrow) = (draw("wide", WIDE), draw("narrow", NARROW));
    Some(Figure { name, title, caption, wide, narrow })
}

/// One belt or table.
struct Panel<'a> {
    station: &'a StationSummary,
    line: Option<&'a ContentLine>,
    classes: Vec<ContentClass>,
    capacity: Option<u32>,
    /// Top of the scale.
    most: f64,
}

impl<'a> Panel<'a> {
    fn of(place: usize, station: &'a StationSummary, timeline: Option<&'a ShiftTimeline>) -> Option<Self> {
        let lines = timeline.map_or(&[][..], |timeline| &timeline.contents);
        let line = lines.iter().find(|line| line.station_index == place && !line.cells.is_empty());
        let times = station.machine.content_times.as_ref();
        let capacity = line
            .and_then(|line| line.capacity_pieces)
            .or_else(|| station.content.and_then(|content| content.capacity_pieces));
        // What a machine holds while it works is no buffer; of a buffer the log counts the mean.
        let is_buffer = station.content.is_some_and(|content| content.mean_pieces.is_some());
        let classes = times.filter(|_| is_buffer).map(|times| times.classes()).unwrap_or_default();
        if line.is_none() && classes.is_empty() {
            return None;
        }
        let seen = line.into_iter().flat_map(|line| line.cells.iter().map(|cell| cell.highest_pieces));
        let held = classes.iter().filter(|class| class.time_s > 0.0);
        // A class may reach beyond the capacity, the content does not.
        let held = held.map(|class| {
            capacity.map_or(class.to_pieces, |most| class.to_pieces.min(most.max(class.from_pieces)))
        });
        let most = seen.chain(held).chain(capacity).max().unwrap_or(0).max(1);
        Some(Self { station, line, classes, capacity, most: f64::from(most) })
    }

    /// "mean 11.3 of 60, full 4.1 %, empty 32.0 %", where the log counts it.
    fn note(&self) -> String {
        let counted = self.station.content.and_then(|content| Some((content, content.mean_pieces?)));
        let Some((content, mean)) = counted else { return String::new() };
        let empty = number::percent(content.empty_share);
        match self.capacity {
            Some(capacity) => format!(
                "mean {} of {}, full {}, empty {empty}",
                number::count(mean),
                shown(f64::from(capacity)),
                number::percent(content.full_share)
            ),
            None => format!("mean {}, no limit, empty {empty}", number::count(mean)),
        }
    }

    /// Bars of the distribution, from content 0 up: lower end, upper end, share of the time.
    fn bars(&self) -> Vec<(f64, f64, f64)> {
        let most_bars = (PLOT / BAR).floor();
        let pieces = self.most + 1.0;
        let step = (pieces / most_bars).ceil().max(1.0);
        let bars = (pieces / step).ceil() as usize;
        let mut shares = vec![0.0; bars.max(1)];
        for class in &self.classes {
            let middle = f64::midpoint(f64::from(class.from_pieces), f64::from(class.to_pieces));
            let place = ((middle / step) as usize).min(shares.len() - 1);
            shares[place] += class.share;
        }
        let bar = |(place, share): (usize, f64)| {
            let from = place as f64 * step;
            (from, (from + step).min(pieces), share)
        };
        shares.into_iter().enumerate().map(bar).collect()
    }
}

fn shown(pieces: f64) -> String {
    number::fixed(pieces, 0)
}

/// Where the parts of a panel stand, across the page.
struct Across {
    wide: bool,
    labels: f64,
    left: f64,
    right: f64,
    bars_left: f64,
    bars_right: f64,
}

fn draw(
    panels: &[Panel<'_>],
    timeline: Option<&ShiftTimeline>,
    mut canvas: Canvas,
    title: &str,
    description: &str,
) -> Drawing {
    let wide = canvas.width() > 600.0;
    let scale = panels.iter().map(|panel| SMALL.width(&shown(panel.most))).fold(20.0, f64::max) + 8.0;
    let labels = if wide { 176.0 } else { 0.0 };
    let share = SMALL.width("100.0\u{a0}%") + 4.0;
    let bars_right = canvas.width() - share;
    let bars_left = match timeline {
        Some(_) => bars_right - if wide { 110.0 } else { 66.0 },
        None => labels + scale,
    };
    let across =
        Across { wide, labels, left: labels + scale, right: bars_left - 16.0, bars_left, bars_right };
    let heading = |canvas: &mut Canvas, x: f64, words: &str, room: f64| {
        canvas.text(x, 12.0, Anchor::Start, SMALL, &shortened(words, SMALL, room));
    };
    if timeline.is_some() {
        heading(&mut canvas, across.left, "pieces, over one shift", across.right - across.left);
    }
    let room = canvas.width() - across.bars_left;
    heading(
        &mut canvas,
        across.bars_left,
        if wide { "share of time, all shifts" } else { "share of time" },
        room,
    );
    let mut y = 20.0;
    let longest = panels.iter().flat_map(Panel::bars).map(|(.., share)| share).fold(1e-9, f64::max);
    for panel in panels {
        y = label(&mut canvas, panel, &across, y);
        if let (Some(line), Some(timeline)) = (panel.line, timeline) {
            draw_line(&mut canvas, panel, line, timeline, &across, y);
        }
        draw_bars(&mut canvas, panel, longest, &across, y);
        draw_scale(&mut canvas, panel, &across, y);
        y += PLOT + 18.0;
    }
    let axis = timeline.map_or(0.0, |timeline| {
        let axis = TimeAxis::new(timeline.start, timeline.start, timeline.end, across.left, across.right);
        axis.draw(&mut canvas, y - 10.0)
    });
    canvas.finish(y - 10.0 + axis, title, description)
}

/// Name and note; gives where the plot begins.
fn label(canvas: &mut Canvas, panel: &Panel<'_>, across: &Across, y: f64) -> f64 {
    let note = panel.note();
    if across.wide {
        let mut line_y = y + 14.0;
        for line in wrapped(&panel.station.id, BODY, across.labels, 2) {
            canvas.text(across.labels, line_y, Anchor::End, BODY, &line);
            line_y += 16.0;
        }
        for line in wrapped(&note, SMALL, across.labels, 2) {
            canvas.text(across.labels, line_y, Anchor::End, SMALL, &line);
            line_y += 14.0;
        }
        return y;
    }
    canvas.text(0.0, y + 14.0, Anchor::Start, BODY, &shortened(&panel.station.id, BODY, canvas.width()));
    let mut line_y = y + 14.0;
    for line in wrapped(&note, SMALL, canvas.width(), 2) {
        line_y += 15.0;
        canvas.text(0.0, line_y, Anchor::Start, SMALL, &line);
    }
    line_y + 10.0
}

fn draw_line(
    canvas: &mut Canvas,
    panel: &Panel<'_>,
    line: &ContentLine,
    timeline: &ShiftTimeline,
    across: &Across,
    top: f64,
) {
    let axis = TimeAxis::new(timeline.start, timeline.start, timeline.end, across.left, across.right);
    let y_at = |pieces: f64| top + PLOT - (pieces / panel.most).clamp(0.0, 1.0) * PLOT;
    axis.grid(canvas, top, top + PLOT);
    let mut spreads = Vec::new();
    let mut level = Vec::new();
    for cell in &line.cells {
        let (from, to) = (axis.at(cell.start), axis.at(cell.end));
        if to <= from {
            continue;
        }
        level.extend([(from, y_at(cell.mean_pieces)), (to, y_at(cell.mean_pieces))]);
        let (high, low) = (y_at(f64::from(cell.highest_pieces)), y_at(f64::from(cell.lowest_pieces)));
        spreads.push((from, high, to - from, (low - high).max(0.8)));
    }
    if let (Some(first), Some(last)) = (level.first().copied(), level.last().copied()) {
        let mut area = vec![(first.0, top + PLOT)];
        area.extend(level);
        area.push((last.0, top + PLOT));
        canvas.polygon(&area, HELD);
    }
    canvas.marks(&spreads, SPREAD);
}

fn draw_bars(canvas: &mut Canvas, panel: &Panel<'_>, longest: f64, across: &Across, top: f64) {
    let bars = panel.bars();
    let y_at = |pieces: f64| top + PLOT - pieces / (panel.most + 1.0) * PLOT;
    let marks = bars.iter().filter(|bar| bar.2 > 0.0).map(|(from, to, share)| {
        let width = (share / longest * (across.bars_right - across.bars_left)).max(0.8);
        (across.bars_left, y_at(*to) + 0.4, width, y_at(*from) - y_at(*to) - 0.8)
    });
    canvas.marks(&marks.collect::<Vec<_>>(), Fill::Kept.ink());
    canvas.line((across.bars_left, top), (across.bars_left, top + PLOT), LINE, 1.0);
    let most = bars.iter().copied().max_by(|one, other| one.2.total_cmp(&other.2));
    if let Some((from, to, share)) = most.filter(|bar| bar.2 > 0.0) {
        let x = across.bars_left + share / longest * (across.bars_right - across.bars_left) + 4.0;
        let y = y_at(f64::midpoint(from, to)) + 4.0;
        canvas.text(x, y.clamp(top + 11.0, top + PLOT - 3.0), Anchor::Start, SMALL, &number::percent(share));
    }
}

/// Ends of the upright scale, and the capacity.
fn draw_scale(canvas: &mut Canvas, panel: &Panel<'_>, across: &Across, top: f64) {
    let left = across.left;
    let bottom = top + PLOT;
    if panel.line.is_some() {
        canvas.line((left, bottom), (across.right, bottom), LINE, 1.0);
    }
    canvas.line((across.bars_left, bottom), (across.bars_right, bottom), GRID, 1.0);
    canvas.text(left - 5.0, bottom + 1.0, Anchor::End, SMALL, "0");
    canvas.text(left - 5.0, top + 8.0, Anchor::End, SMALL, &shown(panel.most));
    if let Some(capacity) = panel.capacity.filter(|capacity| *capacity > 0) {
        let y = bottom - f64::from(capacity) / panel.most * PLOT;
        // Over the bars only where there is nothing else: their longest has its share beside it.
        let end = if panel.line.is_some() { across.right } else { across.bars_right };
        canvas.polyline(&[(left, y), (end, y)], LINE, 1.2, "5 3");
    }
}
