//! The states of all stations of one shift over time, in line order down the page, and the wake of its longest stop.
//!
//! Place says what colour says: a station that starves has its mark above the middle, where its product comes from; one
//! that is blocked has it below, where there is no room; a stop takes the whole height. So a wake is seen as marks that
//! point at the stop from both sides.

mod row;

use super::Figure;
use super::time_axis::TimeAxis;
use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened, wrapped};
use crate::number;
use crate::style::{Fill, IDLE, LINE, WAKE};
use crate::wording;
use linewake_kpi::summary::Summary;
use linewake_kpi::timeline::{BandState, ShiftTimeline, Wake};
use linewake_model::time::{Moment, Span};
use row::{Row, STRIP, rows};

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
/// Height of the columns of good packs.
const OUTPUT: f64 = 30.0;
/// Time that is shown before and after the longest stop in the figure around it.
const AROUND: Span = Span(600_000_000);

/// The whole shift.
pub(crate) fn bands(summary: &Summary) -> Option<Figure> {
    let timeline = summary.timeline.as_ref()?;
    let name = format!("bands-{}", wording::start_in_names(summary.start));
    let title = format!("One shift over time, station by station, {}", which(summary, timeline));
    let wake = timeline.wake.as_ref();
    let description = wake.map_or_else(
        || format!("{} stations; none had a stop of its own.", timeline.stations.len()),
        |wake| format!("{} stations. {}", timeline.stations.len(), in_words(wake)),
    );
    let shaded = if wake.is_some() { " Shaded is the wake of the longest stop." } else { "" };
    let left_out = match timeline.stations_left_out {
        0 => String::new(),
        many => format!(" {many} stations are not drawn."),
    };
    let output = if timeline.output.cells.is_empty() {
        String::new()
    } else {
        let cell = length(timeline.output.cell).replace(".0", "");
        format!(" At the foot, good packs every {cell}; the dashed line is the design rate.")
    };
    let caption = format!(
        "Product flows down the page. A mark above the middle line of a station: it starves, nothing comes from above; \
         below: it is blocked, there is no room further down; over the whole height: it is stopped. Belts and tables \
         show their content against their capacity.{shaded} What is shorter than {} is drawn as one with its \
         neighbours.{output}{left_out}",
        number::duration(timeline.pixel.seconds())
    );
    let view = View { timeline, from: timeline.start, to: timeline.end, close: false };
    Some(view.figure(name, title, description, caption))
}

/// The same around the longest stop.
pub(crate) fn wake(summary: &Summary) -> Option<Figure> {
    let timeline = summary.timeline.as_ref()?;
    let wake = timeline.wake.as_ref()?;
    let from = Moment(wake.start.0.saturating_sub(AROUND.0)).max(timeline.start);
    let last = wake.reaches.iter().map(|reach| reach.end).fold(wake.end, Moment::max);
    // A wait that goes on long after the stop would push the stop itself together.
    let longest = wake.end + (wake.end.since(wake.start) + AROUND);
    let to = (last.min(longest) + AROUND).min(timeline.end);
    let name = format!("wake-{}", wording::start_in_names(summary.start));
    let title = format!("The longest stop of that shift and its wake, {}", which(summary, timeline));
    let caption = format!(
        "The same as above, from {} before the stop on. From the stop, stations are followed down the line as long as \
         they starve and up the line as long as they are blocked; the shaded area runs from where each began to wait \
         to where it worked again. Buffers delay and shorten a wake: where they run neither empty nor full, it ends.",
        number::duration(wake.start.since(from).seconds())
    );
    let view = View { timeline, from, to, close: true };
    Some(view.figure(name, title, in_words(wake), caption))
}

/// "shift 1 of the long run".
fn which(summary: &Summary, timeline: &ShiftTimeline) -> String {
    let start = wording::start(summary.start);
    timeline.replication.map_or_else(
        || format!("a shift {start}"),
        |replication| {
            format!(
                "shift {} {}",
                replication.saturating_add(1),
                start.replacen("that starts", "starting", 1)
            )
        },
    )
}

/// What a stop did, in a sentence or two.
fn in_words(wake: &Wake) -> String {
    let of_state = |state: BandState| {
        let reached = wake.reaches.iter().filter(|reach| reach.state == state);
        let names: Vec<&str> = reached.map(|reach| reach.station.as_str()).collect();
        names.join(", ")
    };
    let reached = |words: &str, names: String| match names.as_str() {
        "" => format!("{words} nothing"),
        _ => format!("{words} {names}"),
    };
    let stop = wording::stop(linewake_kpi::result::CauseKind::Stop, &wake.station, &wake.reason);
    format!(
        "The longest stop is {stop}, {}; it starved {} and {}.",
        length(wake.stopped),
        reached("", of_state(BandState::Starved)).trim_start(),
        reached("blocked", of_state(BandState::Blocked))
    )
}

/// A length of time as people say it: "42 s", "12.4 min".
pub(super) fn length(span: Span) -> String {
    match span.seconds() {
        seconds if seconds < 59.5 => format!("{}\u{a0}s", number::fixed(seconds, 0)),
        seconds if seconds < 5970.0 => format!("{}\u{a0}min", number::fixed(seconds / 60.0, 1)),
        seconds => format!("{}\u{a0}h", number::fixed(seconds / 3600.0, 1)),
    }
}

/// A part of a timeline to be drawn.
#[derive(Clone, Copy)]
struct View<'a> {
    timeline: &'a ShiftTimeline,
    from: Moment,
    to: Moment,
    /// Close up: with notes of what happened to each station.
    close: bool,
}

impl View<'_> {
    fn figure(self, name: String, title: String, description: String, caption: String) -> Figure {
        let wide = self.draw(Canvas::new(&format!("{name}-wide"), WIDE), &title, &description);
        let narrow = self.draw(Canvas::new(&format!("{name}-narrow"), NARROW), &title, &description);
        Figure { name, title, caption, wide, narrow }
    }

    fn draw(self, mut canvas: Canvas, title: &str, description: &str) -> Drawing {
        let rows = rows(self.timeline, self.from, self.to);
        let is_wide = canvas.width() > 600.0;
        let layout = Layout::of(self, &rows, is_wide);
        let mut y = legend(&mut canvas, self.timeline.wake.is_some()) + 6.0;
        let label_y = y + 12.0;
        y += if self.timeline.wake.is_some() { 22.0 } else { 4.0 };
        let mut strips = Vec::new();
        let mut bottom = y;
        for row in &rows {
            let height = layout.label_height(row);
            strips.push(if is_wide {
                bottom + (height - STRIP) / 2.0
            } else {
                bottom + height - STRIP - 6.0
            });
            bottom += height;
        }
        let output_top = bottom;
        bottom += self.output_height(is_wide);
        if is_wide {
            layout.axis().grid(&mut canvas, y, bottom);
        }
        self.draw_wake(&mut canvas, &layout, &rows, &strips, label_y);
        for (row, strip) in rows.iter().zip(&strips) {
            let middle = strip + STRIP / 2.0;
            if row.content.is_none() {
                canvas.line((layout.left, middle), (layout.right, middle), IDLE, 1.2);
            }
            row.draw(&mut canvas, *strip, |moment| layout.at(moment));
            layout.letter(&mut canvas, row, *strip);
        }
        self.draw_front(&mut canvas, &layout, &rows, &strips);
        self.draw_output(&mut canvas, &layout, output_top, bottom);
        let axis = layout.axis().draw(&mut canvas, bottom);
        canvas.finish(bottom + axis, title, description)
    }

    fn has_output(self) -> bool {
        let output = &self.timeline.output;
        !output.cells.is_empty() && output.cell > Span::ZERO
    }

    fn output_height(self, is_wide: bool) -> f64 {
        match self.has_output() {
            true => OUTPUT + if is_wide { 14.0 } else { 32.0 },
            false => 0.0,
        }
    }

    /// Good packs at the foot, as columns against the design rate: what the line makes of it all.
    fn draw_output(self, canvas: &mut Canvas, layout: &Layout<'_>, top: f64, bottom: f64) {
        if !self.has_output() {
            return;
        }
        let output = &self.timeline.output;
        let cells = output.cells.iter().enumerate().map(|(place, packs)| {
            let start = self.timeline.start + Span(output.cell.0.saturating_mul(place as u64));
            let end = (start + output.cell).min(self.timeline.end);
            // The last one may be shorter: drawn at its rate.
            let part = end.since(start).seconds() / output.cell.seconds();
            (start, end, if part > 0.0 { *packs as f64 / part } else { 0.0 })
        });
        let cells: Vec<(Moment, Moment, f64)> = cells.collect();
        let most = cells.iter().map(|cell| cell.2).fold(output.design_packs, f64::max).max(1e-9);
        let columns = cells.iter().filter_map(|(start, end, packs)| {
            let (from, to) = (layout.at(*start), layout.at(*end));
            let height = packs / most * OUTPUT;
            let gap = if to - from > 4.0 { 0.5 } else { 0.0 };
            (to > from).then_some((from, bottom - height, to - from - gap, height))
        });
        canvas.marks(&columns.collect::<Vec<_>>(), Fill::Kept.ink());
        let design = bottom - output.design_packs / most * OUTPUT;
        canvas.polyline(&[(layout.left, design), (layout.right, design)], LINE, 1.0, "5 3");
        if layout.is_wide {
            let middle = bottom - OUTPUT / 2.0;
            canvas.text(layout.label_width, middle + 4.0, Anchor::End, BODY, "good packs");
            if layout.note_width > 0.0 {
                let note = shortened("dashed: design rate", SMALL, layout.note_width);
                canvas.text(layout.right + 10.0, middle + 4.0, Anchor::Start, SMALL, &note);
            }
        } else {
            canvas.text(0.0, top + 14.0, Anchor::Start, BODY, "good packs");
        }
    }

    /// The shaded area from where each station began to wait to where it worked again.
    fn draw_wake(
        self,
        canvas: &mut Canvas,
        layout: &Layout<'_>,
        rows: &[Row<'_>],
        strips: &[f64],
        label_y: f64,
    ) {
        let Some(wake) = &self.timeline.wake else { return };
        let [front, tail] = edges(wake, layout, rows, strips);
        let outline: Vec<(f64, f64)> = front.iter().copied().chain(tail.iter().rev().copied()).collect();
        if layout.is_wide {
            canvas.polygon(&outline, WAKE);
        } else {
            // Names stand between the strips: only these are shaded.
            for (from, to) in front.chunks_exact(2).zip(tail.chunks_exact(2)) {
                canvas.polygon(&[from[0], to[0], to[1], from[1]], WAKE);
            }
        }
        let stop = wording::stop(linewake_kpi::result::CauseKind::Stop, &wake.station, &wake.reason);
        let length = length(wake.stopped);
        let room = canvas.width() - SMALL.bold().width(&format!("longest stop: , {length}"));
        let words = format!("longest stop: {}, {length}", shortened(&stop, SMALL.bold(), room.max(60.0)));
        let x = (layout.at(wake.start) + layout.at(wake.end)) / 2.0;
        let half = SMALL.bold().width(&words) / 2.0;
        let middle = x.min(canvas.width() - half).max(half);
        canvas.text(middle, label_y, Anchor::Middle, SMALL.bold(), &words);
        // A short leader to the shaded area, or above the stop itself where that is all.
        canvas.line((x, label_y + 4.0), (x, label_y + 9.0), LINE, 1.0);
    }

    /// The front and the tail of the wake, over the marks.
    fn draw_front(self, canvas: &mut Canvas, layout: &Layout<'_>, rows: &[Row<'_>], strips: &[f64]) {
        let Some(wake) = &self.timeline.wake else { return };
        let [front, tail] = edges(wake, layout, rows, strips);
        if layout.is_wide {
            canvas.polyline(&front, LINE, 1.0, "");
            canvas.polyline(&tail, LINE, 1.0, "3 2");
        } else {
            for (from, to) in front.chunks_exact(2).zip(tail.chunks_exact(2)) {
                canvas.polyline(from, LINE, 1.0, "");
                canvas.polyline(to, LINE, 1.0, "3 2");
            }
        }
    }
}

/// Where the wake begins and where it ends, at the upper and lower edge of the strip of each station that it reached.
fn edges(wake: &Wake, layout: &Layout<'_>, rows: &[Row<'_>], strips: &[f64]) -> [Vec<(f64, f64)>; 2] {
    let (mut front, mut tail) = (Vec::new(), Vec::new());
    for (row, strip) in rows.iter().zip(strips) {
        let reach = wake.reaches.iter().find(|reach| reach.station_index == row.station_index);
        let ends = match reach {
            Some(reach) => Some((reach.start, reach.end)),
            None if row.station_index == wake.station_index => Some((wake.start, wake.end)),
            None => None,
        };
        if let Some((from, to)) = ends {
            for y in [*strip - 2.0, strip + STRIP + 2.0] {
                front.push((layout.at(from), y));
                tail.push((layout.at(to), y));
            }
        }
    }
    [front, tail]
}

/// Where things stand.
struct Layout<'a> {
    view: View<'a>,
    left: f64,
    right: f64,
    is_wide: bool,
    label_width: f64,
    note_width: f64,
}

impl<'a> Layout<'a> {
    fn of(view: View<'a>, rows: &[Row<'_>], is_wide: bool) -> Self {
        if !is_wide {
            return Self {
                view,
                left: 1.0,
                right: NARROW - 1.0,
                is_wide,
                label_width: NARROW,
                note_width: 0.0,
            };
        }
        let widest = rows.iter().map(|row| BODY.width(row.label)).fold(60.0, f64::max);
        let label_width = widest.min(170.0);
        let notes = rows.iter().filter(|_| view.close).map(|row| SMALL.width(&row.note));
        let note_width = notes.fold(0.0, f64::max).min(236.0);
        let gap = if note_width > 0.0 { 12.0 } else { 2.0 };
        Self {
            view,
            left: label_width + 12.0,
            right: WIDE - note_width - gap,
            is_wide,
            label_width,
            note_width,
        }
    }

    fn axis(&self) -> TimeAxis {
        TimeAxis::new(self.view.timeline.start, self.view.from, self.view.to, self.left, self.right)
    }

    fn at(&self, moment: Moment) -> f64 {
        self.axis().at(moment)
    }

    fn label_height(&self, row: &Row<'_>) -> f64 {
        if self.is_wide {
            let lines = wrapped(row.label, BODY, self.label_width, 2).len() as f64;
            (lines * 15.0 + 3.0).max(STRIP + 8.0)
        } else {
            let notes = self.narrow_note(row).len() as f64;
            STRIP + 6.0 + 18.0 + notes * 15.0
        }
    }

    fn narrow_note(&self, row: &Row<'_>) -> Vec<String> {
        if self.view.close { wrapped(&row.note, SMALL, NARROW, 2) } else { Vec::new() }
    }

    fn letter(&self, canvas: &mut Canvas, row: &Row<'_>, strip: f64) {
        if self.is_wide {
            let lines = wrapped(row.label, BODY, self.label_width, 2);
            let mut y = strip + STRIP / 2.0 + 4.5 - (lines.len() as f64 - 1.0) * 7.5;
            for line in lines {
                canvas.text(self.label_width, y, Anchor::End, row.lettering(), &line);
                y += 15.0;
            }
            if self.note_width > 0.0 {
                let note = shortened(&row.note, SMALL, self.note_width);
                canvas.text(self.right + 10.0, strip + STRIP / 2.0 + 4.0, Anchor::Start, SMALL, &note);
            }
            return;
        }
        let notes = self.narrow_note(row);
        let mut y = strip - 5.0 - notes.len() as f64 * 15.0;
        canvas.text(0.0, y, Anchor::Start, row.lettering(), &shortened(row.label, BODY, NARROW));
        for line in notes {
            y += 15.0;
            canvas.text(0.0, y, Anchor::Start, SMALL, &line);
        }
    }
}

/// What the marks mean, drawn as they are drawn; gives the height that it takes.
fn legend(canvas: &mut Canvas, has_wake: bool) -> f64 {
    let words = [
        (Some(BandState::Running), "running"),
        (Some(BandState::Starved), "starved from above"),
        (Some(BandState::Blocked), "blocked from below"),
        (Some(BandState::Stopped), "own stop"),
        (Some(BandState::Planned), "planned stop"),
        (None, "wake of the longest stop"),
    ];
    let (mut x, mut y) = (1.0, 2.0);
    for (state, words) in words {
        if state.is_none() && !has_wake {
            continue;
        }
        let needed = 24.0 + SMALL.width(words);
        if x > 1.0 && x + needed > canvas.width() {
            (x, y) = (1.0, y + STRIP + 6.0);
        }
        match state {
            Some(state) => {
                canvas.line((x, y + STRIP / 2.0), (x + 18.0, y + STRIP / 2.0), IDLE, 1.2);
                if let Some((top, height, fill)) = row::place(state) {
                    canvas.marks(&[(x + 3.0, y + top, 12.0, height)], fill.ink());
                }
            }
            None => {
                canvas.polygon(&[(x, y), (x + 18.0, y), (x + 18.0, y + STRIP), (x, y + STRIP)], WAKE);
                canvas.line((x, y), (x, y + STRIP), LINE, 1.0);
            }
        }
        canvas.text(x + 24.0, y + STRIP / 2.0 + 4.0, Anchor::Start, SMALL, words);
        x += needed + 12.0;
    }
    y + STRIP
}
