//! The bands of a window of one run, still: what the page of a wake shows without its script, and in print.

use super::Figure;
use super::time_axis::TimeAxis;
use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened};
use crate::style::{Fill, GRID, IDLE, LINE, WAKE};
use linewake_kpi::timeline::PAGE_WIDTH_PX;
use linewake_model::time::Moment;
use linewake_replay::{Replay, Segment};

const STRIP: f64 = 18.0;
const AREA: f64 = 30.0;
/// Colour of what a belt holds.
const HELD: &str = "#c5dfe9";

/// The bands near the stop.
pub(crate) fn replayed(replay: &Replay) -> Figure {
    let title = "Near the stop: states of all stations and contents, over time".to_owned();
    let wide = draw(replay, Canvas::new("wake-bands-wide", WIDE), &title);
    let narrow = draw(replay, Canvas::new("wake-bands-narrow", NARROW), &title);
    Figure {
        name: "wake-bands".to_owned(),
        title,
        caption:
            "Of waits shorter than the width of a line on the page only those are seen that fill most of it."
                .to_owned(),
        wide,
        narrow,
    }
}

fn draw(replay: &Replay, mut canvas: Canvas, title: &str) -> Drawing {
    let is_wide = canvas.width() > 600.0;
    let (left, right) = if is_wide { (150.0, canvas.width() - 8.0) } else { (4.0, canvas.width() - 6.0) };
    let (from, to) = (Moment(replay.window_start_us), Moment(replay.window_end_us));
    let axis = TimeAxis::new(Moment(replay.start_us), from, to, left, right);
    let label = if is_wide { 0.0 } else { 18.0 };
    let top = legend(&mut canvas) + 12.0;
    let mut rows = Vec::new();
    let mut y = top;
    for (index, station) in replay.stations.iter().enumerate() {
        for (shown, height, is_content) in
            [(station.has_states, STRIP, false), (station.content.is_some(), AREA, true)]
        {
            if shown {
                rows.push((index, y + label, height, is_content));
                y += label + height + 8.0;
            }
        }
    }
    axis.grid(&mut canvas, top - 4.0, y);
    for mark in &replay.wake {
        let row = rows.iter().find(|(index, _, _, is_content)| *index == mark.station && !is_content);
        if let Some((_, strip, height, _)) = row {
            let (a, b) = (axis.at(Moment(mark.start_us)), axis.at(Moment(mark.end_us)));
            let b = b.max(a + 1.0);
            let (above, below) = (strip - 3.0, strip + height + 3.0);
            canvas.polygon(&[(a, above), (b, above), (b, below), (a, below)], WAKE);
            canvas.line((a, below), (b, below), LINE, 1.2);
        }
    }
    for &(index, strip, height, is_content) in &rows {
        let station = &replay.stations[index];
        let words = match (is_content, station.has_states) {
            (true, true) => format!("{}, content", station.id),
            _ => station.id.clone(),
        };
        let lettering = if is_content { Lettering::SMALL } else { Lettering::BODY };
        if is_wide {
            let words = shortened(&words, lettering, left - 12.0);
            canvas.text(left - 8.0, strip + height / 2.0 + 4.0, Anchor::End, lettering, &words);
        } else {
            canvas.text(left, strip - 5.0, Anchor::Start, lettering, &words);
        }
        if let (true, Some(content)) = (is_content, &station.content) {
            let most =
                content.steps.iter().chain(&content.steps_without).map(|step| step.1).max().unwrap_or(0);
            let most = f64::from(content.capacity_pieces.unwrap_or(most).max(1));
            level(&mut canvas, &axis, &content.steps, most, (strip, height), true);
            level(&mut canvas, &axis, &content.steps_without, most, (strip, height), false);
        } else {
            canvas.line((left, strip + height / 2.0), (right, strip + height / 2.0), IDLE, 1.2);
            states(&mut canvas, &axis, &station.segments, strip);
        }
    }
    let bottom = y + axis.draw(&mut canvas, y);
    canvas.finish(
        bottom,
        title,
        "Bands of states and filled areas of contents; the tables below tell the same in numbers.",
    )
}

/// Where the mark of a state stands: top, height and colour.
fn place(state: u8) -> Option<(f64, f64, Fill)> {
    let half = STRIP / 2.0;
    match state {
        1 => Some((0.0, half, Fill::Starved)),
        2 => Some((half, half, Fill::Blocked)),
        3 | 4 => Some((0.0, STRIP, Fill::Stop)),
        5 => Some((0.0, STRIP, Fill::Planned)),
        _ => None,
    }
}

/// Column by column of the page: a stop however short, else the wait that takes at least half of it.
fn states(canvas: &mut Canvas, axis: &TimeAxis, segments: &[Segment], strip: f64) {
    let Some((first, last)) = segments.first().zip(segments.last()) else { return };
    let column = (last.1 - first.0).div_ceil(PAGE_WIDTH_PX).max(1);
    let mut marks: [Vec<(u64, u64)>; 6] = Default::default();
    let mut next = 0;
    let mut at = first.0;
    while at < last.1 {
        let end = (at + column).min(last.1);
        let mut times = [0_u64; 7];
        let mut place = next;
        while let Some(segment) = segments.get(place).filter(|segment| segment.0 < end) {
            times[usize::from(segment.2).min(6)] += segment.1.min(end) - segment.0.max(at);
            if segment.1 <= end {
                next = place + 1;
            }
            place += 1;
        }
        let stopped = [4, 3, 5].into_iter().find(|&state| times[state] > 0);
        let waits = [1, 2].into_iter().find(|&state| times[state] * 2 >= end - at);
        if let Some(state) = stopped.or(waits) {
            match marks[state].last_mut() {
                Some(mark) if mark.1 == at => mark.1 = end,
                _ => marks[state].push((at, end)),
            }
        }
        at = end;
    }
    for (state, stretches) in marks.iter().enumerate() {
        let Some((top, height, fill)) = place(state as u8) else { continue };
        let areas = stretches.iter().map(|&(from, to)| {
            let (a, b) = (axis.at(Moment(from)), axis.at(Moment(to)));
            (a, strip + top, b - a, height)
        });
        canvas.marks(&areas.collect::<Vec<_>>(), fill.ink());
    }
}

/// Content as a filled level, or as a dashed line.
fn level(
    canvas: &mut Canvas,
    axis: &TimeAxis,
    steps: &[(u64, u32)],
    most: f64,
    (top, height): (f64, f64),
    filled: bool,
) {
    let y = |pieces: u32| top + height - f64::from(pieces) / most * height;
    let mut points: Vec<(f64, f64)> = Vec::new();
    for &(at, pieces) in steps {
        let x = axis.at(Moment(at));
        // Within a third of a pixel the last one stands.
        if let Some(last) = points.last_mut().filter(|last| x - last.0 < 0.3) {
            last.1 = y(pieces);
            continue;
        }
        if let Some(last) = points.last().copied() {
            points.push((x, last.1));
        }
        points.push((x, y(pieces)));
    }
    let Some((first, last)) = points.first().copied().zip(points.last().copied()) else { return };
    points.push((axis.right, last.1));
    let floor = top + height;
    if filled {
        let mut area = vec![(first.0, floor)];
        area.extend(points.iter().copied());
        area.push((axis.right, floor));
        canvas.polygon(&area, HELD);
        canvas.polyline(&points, LINE, 0.8, "");
        canvas.line((axis.left, floor), (axis.right, floor), GRID, 1.0);
    } else {
        canvas.polyline(&points, LINE, 1.0, "3 3");
    }
}

/// What the marks mean, drawn as they are drawn; gives the height that it takes.
fn legend(canvas: &mut Canvas) -> f64 {
    let words = [
        (0, "running"),
        (1, "starved"),
        (2, "blocked"),
        (4, "stopped"),
        (5, "planned stop"),
        (7, "the wake"),
    ];
    let (mut x, mut y) = (1.0, 4.0);
    for (state, words) in words {
        let needed = 24.0 + Lettering::SMALL.width(words);
        if x > 1.0 && x + needed > canvas.width() {
            (x, y) = (1.0, y + STRIP + 6.0);
        }
        if state == 7 {
            canvas.polygon(&[(x, y), (x + 18.0, y), (x + 18.0, y + STRIP), (x, y + STRIP)], WAKE);
            canvas.line((x, y + STRIP), (x + 18.0, y + STRIP), LINE, 1.2);
        } else {
            canvas.line((x, y + STRIP / 2.0), (x + 18.0, y + STRIP / 2.0), IDLE, 1.2);
            if let Some((top, height, fill)) = place(state) {
                canvas.marks(&[(x + 3.0, y + top, 12.0, height)], fill.ink());
            }
        }
        canvas.text(x + 24.0, y + STRIP / 2.0 + 4.0, Anchor::Start, Lettering::SMALL, words);
        x += needed + 12.0;
    }
    y + STRIP
}
