//! How long stops last, and how long a station runs between them: one histogram under the other on one log scale.

use super::Figure;
use crate::bars::{NARROW, WIDE};
use crate::canvas::{Anchor, Canvas, Drawing, Lettering, shortened, wrapped};
use crate::number;
use crate::style::{Fill, GRID, LINE, TEXT};
use crate::wording;
use linewake_kpi::histogram::{HistogramClass, TimeHistogram};
use linewake_kpi::summary::Summary;

const BODY: Lettering = Lettering::BODY;
const SMALL: Lettering = Lettering::SMALL;
/// Height of the tallest column of each histogram.
const PLOT: f64 = 34.0;
/// Most stations that have a histogram of their own; the others are one.
const MOST: usize = 30;
/// Round times of the scale: each about ten of the one before, in the units that people say.
const TICKS: [(f64, &str); 9] = [
    (0.1, "0.1\u{a0}s"),
    (1.0, "1\u{a0}s"),
    (10.0, "10\u{a0}s"),
    (60.0, "1\u{a0}min"),
    (600.0, "10\u{a0}min"),
    (3600.0, "1\u{a0}h"),
    (36_000.0, "10\u{a0}h"),
    (360_000.0, "100\u{a0}h"),
    (1_000_000.0, "278\u{a0}h"),
];
/// Those between them, where there is room.
const TICKS_BETWEEN: [(f64, &str); 16] = [
    (0.3, "0.3\u{a0}s"),
    (3.0, "3\u{a0}s"),
    (30.0, "30\u{a0}s"),
    (180.0, "3\u{a0}min"),
    (1800.0, "30\u{a0}min"),
    (10_800.0, "3\u{a0}h"),
    (108_000.0, "30\u{a0}h"),
    (5.0, "5\u{a0}s"),
    (2.0, "2\u{a0}s"),
    (20.0, "20\u{a0}s"),
    (120.0, "2\u{a0}min"),
    (300.0, "5\u{a0}min"),
    (1200.0, "20\u{a0}min"),
    (7200.0, "2\u{a0}h"),
    (18_000.0, "5\u{a0}h"),
    (72_000.0, "20\u{a0}h"),
];

/// Which times.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Times {
    Lengths,
    Between,
}

/// How long stops last; `None` where none ended.
pub(crate) fn stop_lengths(summary: &Summary) -> Option<Figure> {
    let limit = number::plain(summary.short_stop_limit_s);
    let caption = |shifts: &str| {
        format!(
            "Own stops, waiting for an operator included, {shifts} together; each column is a class of lengths, ten \
             classes from one power of ten to the next. Every row has its own height: compare shapes, and counts by the \
             figures at the right. The heavy mark is the median: half of the stops are shorter. The dashed line is the \
             short stop limit of {limit}\u{a0}s."
        )
    };
    figure(summary, Times::Lengths, "How long stops last", caption)
}

/// How long stations run between stops; `None` where none stopped twice.
pub(crate) fn between_stops(summary: &Summary) -> Option<Figure> {
    let caption = |shifts: &str| {
        format!(
            "Running time of a station from the end of one own stop to the begin of its next, {shifts} together; waits in \
             between are left out, and so is what the start or the end of a shift cut off. The heavy mark is the median. \
             A hump at short times, left of the rest, is a stop that comes back at once: put right, but not cured."
        )
    };
    figure(summary, Times::Between, "How long stations run between stops", caption)
}

fn figure(summary: &Summary, times: Times, title: &str, caption: impl Fn(&str) -> String) -> Option<Figure> {
    let rows = rows(summary, times);
    if rows.is_empty() {
        return None;
    }
    let stem = if times == Times::Lengths { "stop-lengths" } else { "between-stops" };
    let name = format!("{stem}-{}", wording::start_in_names(summary.start));
    let title = format!("{title}, station by station, shifts {}", wording::starts(summary.start));
    let described =
        rows.iter().map(|row| format!("{}: {} times, median {}.", row.label, count(row.total), row.median));
    let description = described.collect::<Vec<_>>().join(" ");
    let limit = (times == Times::Lengths).then_some(summary.short_stop_limit_s);
    let draw = |layout: &str, width: f64| {
        draw(&rows, limit, Canvas::new(&format!("{name}-{layout}"), width), &title, &description)
    };
    let (wide, narrow) = (draw("wide", WIDE), draw("narrow", NARROW));
    Some(Figure { name, title, caption: caption(&wording::shifts(summary)), wide, narrow })
}

/// One histogram.
struct Row {
    label: String,
    classes: Vec<HistogramClass>,
    total: u64,
    median_s: f64,
    median: String,
    /// All stations together.
    strong: bool,
}

impl Row {
    fn of(label: &str, histogram: &TimeHistogram, strong: bool) -> Option<Self> {
        let classes = histogram.classes();
        let median_s = median(&classes)?;
        let (label, total) = (label.to_owned(), histogram.total());
        Some(Self { label, classes, total, median_s, median: time(median_s), strong })
    }
}

fn rows(summary: &Summary, times: Times) -> Vec<Row> {
    let of_stations = summary.stations.iter().filter_map(|station| {
        let all = station.machine.stops.first()?;
        let histogram = if times == Times::Lengths { &all.lengths } else { &all.running_between };
        (histogram.total() > 0).then_some((station.id.as_str(), histogram))
    });
    let of_stations: Vec<(&str, &TimeHistogram)> = of_stations.collect();
    let together = |stations: &[(&str, &TimeHistogram)]| {
        let mut sum = TimeHistogram::default();
        stations.iter().for_each(|(_, histogram)| sum.merge(histogram));
        sum
    };
    let mut rows: Vec<Row> = Vec::new();
    // Running times of different stations put together would be the times of nothing.
    if of_stations.len() > 1 && times == Times::Lengths {
        rows.extend(Row::of("all stations", &together(&of_stations), true));
    }
    let kept = if of_stations.len() <= MOST + 1 { of_stations.len() } else { MOST };
    rows.extend(of_stations[..kept].iter().filter_map(|(id, histogram)| Row::of(id, histogram, false)));
    if kept < of_stations.len() {
        let label = format!("{} other stations", of_stations.len() - kept);
        rows.extend(Row::of(&label, &together(&of_stations[kept..]), false));
    }
    rows
}

/// The median, taken as if the times of a class lay evenly on the log scale; `None` without times.
pub(crate) fn median(classes: &[HistogramClass]) -> Option<f64> {
    let total: u64 = classes.iter().map(|class| class.count).sum();
    let half = total as f64 / 2.0;
    let mut before = 0.0;
    for class in classes.iter().filter(|class| class.count > 0) {
        let count = class.count as f64;
        if before + count >= half {
            let (from, to) = ends(class);
            return Some(from * (to / from).powf((half - before) / count));
        }
        before += count;
    }
    None
}

/// Ends of a class on a log scale: the lowest class has none below, the highest none above.
fn ends(class: &HistogramClass) -> (f64, f64) {
    let from = class.from_s.max(0.08);
    (from, class.to_s.unwrap_or(from * 1.2589))
}

fn count(total: u64) -> String {
    number::fixed(total as f64, 0)
}

/// "42 s", "3.1 min", "2.4 h".
fn time(seconds: f64) -> String {
    let (value, unit) = match seconds {
        it if it < 60.0 => (it, "s"),
        it if it < 3600.0 => (it / 60.0, "min"),
        it => (it / 3600.0, "h"),
    };
    format!("{}\u{a0}{unit}", number::fixed(value, usize::from(value < 9.95)))
}

fn draw(rows: &[Row], limit: Option<f64>, mut canvas: Canvas, title: &str, description: &str) -> Drawing {
    let wide = canvas.width() > 600.0;
    let heading = ["times", "median"];
    let widest = |shown: fn(&Row) -> String, heading: &str| {
        rows.iter().map(|row| BODY.bold().width(&shown(row))).fold(SMALL.width(heading), f64::max)
    };
    let counts = widest(|row| count(row.total), heading[0]);
    let medians = widest(|row| row.median.clone(), heading[1]);
    let labels = rows.iter().map(|row| BODY.bold().width(&row.label)).fold(60.0, f64::max).min(200.0);
    let (left, right) = if wide {
        (labels + 14.0, canvas.width() - counts - medians - 34.0)
    } else {
        (16.0, canvas.width() - 16.0)
    };
    let (low, high) = range(rows, limit);
    let scale = LogScale { low, high, left, right };
    let mut y = 16.0;
    if wide {
        canvas.text(canvas.width() - medians - 14.0, 12.0, Anchor::End, SMALL, heading[0]);
        canvas.text(canvas.width(), 12.0, Anchor::End, SMALL, heading[1]);
    } else {
        canvas.text(canvas.width(), 12.0, Anchor::End, SMALL, "times · median");
    }
    if let Some(limit) = limit {
        let words = format!("limit {}\u{a0}s", number::plain(limit));
        let room = if wide { canvas.width() - counts - medians - 40.0 } else { canvas.width() - 110.0 };
        let half = SMALL.width(&words) / 2.0;
        let middle = scale.at(limit).min(room - half).max(half);
        canvas.text(middle, 12.0, Anchor::Middle, SMALL, &words);
    }
    let top = y;
    let heights: Vec<f64> = rows.iter().map(|row| height(row, wide, labels)).collect();
    let bottom = top + heights.iter().sum::<f64>();
    for (tick, _) in scale.ticks().into_iter().filter(|_| wide) {
        canvas.line((scale.at(tick), top), (scale.at(tick), bottom), GRID, 1.0);
    }
    for (row, height) in rows.iter().zip(heights) {
        let floor = y + height - 4.0;
        draw_row(&mut canvas, row, scale, floor);
        if let Some(limit) = limit {
            let x = scale.at(limit);
            canvas.polyline(&[(x, floor - PLOT - 2.0), (x, floor + 2.0)], LINE, 1.0, "4 3");
        }
        let lettering = if row.strong { BODY.bold() } else { BODY };
        let line_y = if wide { floor - PLOT / 2.0 + 6.0 } else { y + 14.0 };
        if wide {
            let lines = wrapped(&row.label, lettering, labels, 2);
            let mut label_y = line_y - (lines.len() as f64 - 1.0) * 7.5;
            for line in lines {
                canvas.text(labels, label_y, Anchor::End, lettering, &line);
                label_y += 15.0;
            }
            canvas.text(canvas.width() - medians - 14.0, line_y, Anchor::End, lettering, &count(row.total));
            canvas.text(canvas.width(), line_y, Anchor::End, lettering, &row.median);
        } else {
            let figures = format!("{} · {}", count(row.total), row.median);
            let room = canvas.width() - lettering.width(&figures) - 12.0;
            canvas.text(0.0, line_y, Anchor::Start, lettering, &shortened(&row.label, lettering, room));
            canvas.text(canvas.width(), line_y, Anchor::End, lettering, &figures);
        }
        y += height;
    }
    let axis =
        scale.draw(&mut canvas, bottom, if limit.is_some() { "length of a stop" } else { "running time" });
    canvas.finish(bottom + axis, title, description)
}

fn height(row: &Row, wide: bool, labels: f64) -> f64 {
    let lines = if wide { wrapped(&row.label, BODY, labels, 2).len() as f64 } else { 0.0 };
    (lines * 15.0 + 8.0).max(PLOT + if wide { 12.0 } else { 32.0 })
}

fn draw_row(canvas: &mut Canvas, row: &Row, scale: LogScale, floor: f64) {
    let tallest = row.classes.iter().map(|class| class.count).max().unwrap_or(1).max(1) as f64;
    let columns = row.classes.iter().filter(|class| class.count > 0).map(|class| {
        let (from, to) = ends(class);
        let height = (class.count as f64 / tallest * PLOT).max(1.0);
        let (left, right) = (scale.at(from), scale.at(to));
        (left, floor - height, (right - left - 0.6).max(0.8), height)
    });
    canvas.marks(
        &columns.collect::<Vec<_>>(),
        if row.strong { Fill::Kept.paint().outline } else { Fill::Kept.ink() },
    );
    canvas.line((scale.left, floor), (scale.right, floor), LINE, 0.8);
    let x = scale.at(row.median_s);
    canvas.polygon(&[(x - 4.5, floor + 5.5), (x + 4.5, floor + 5.5), (x, floor - 1.5)], "#ffffff");
    canvas.polygon(&[(x - 3.5, floor + 5.0), (x + 3.5, floor + 5.0), (x, floor - 0.5)], TEXT);
}

/// Ends of the scale: all classes and the limit, and no less than a decade.
fn range(rows: &[Row], limit: Option<f64>) -> (f64, f64) {
    let of_rows = rows.iter().flat_map(|row| row.classes.first().into_iter().chain(row.classes.last()));
    let all = of_rows.map(ends).flat_map(|(from, to)| [from, to]).chain(limit.filter(|limit| *limit > 0.0));
    let (low, high) = all.fold((f64::INFINITY, 0.0_f64), |(low, high), it| (low.min(it), high.max(it)));
    let (low, high) = if low.is_finite() && high > 0.0 { (low, high) } else { (1.0, 10.0) };
    if high / low >= 10.0 { (low, high) } else { (low / 2.0, high.max(low * 5.0)) }
}

/// From times to places: equal factors are equal lengths.
#[derive(Clone, Copy)]
struct LogScale {
    low: f64,
    high: f64,
    left: f64,
    right: f64,
}

impl LogScale {
    fn at(self, seconds: f64) -> f64 {
        let part = (seconds.max(1e-9) / self.low).ln() / (self.high / self.low).ln();
        self.left + part.clamp(0.0, 1.0) * (self.right - self.left)
    }

    /// Round times with room for their words, in rising order.
    fn ticks(self) -> Vec<(f64, &'static str)> {
        let mut ticks: Vec<(f64, &str)> = Vec::new();
        for tick in TICKS.iter().chain(&TICKS_BETWEEN) {
            let inside = tick.0 >= self.low * 0.999 && tick.0 <= self.high * 1.001;
            let apart = |other: &(f64, &str)| {
                let words = (SMALL.width(tick.1) + SMALL.width(other.1)) / 2.0;
                (self.at(tick.0) - self.at(other.0)).abs() > words + 10.0
            };
            if inside && ticks.iter().all(apart) {
                ticks.push(*tick);
            }
        }
        ticks.sort_by(|one, other| one.0.total_cmp(&other.0));
        ticks
    }

    fn draw(self, canvas: &mut Canvas, bottom: f64, words: &str) -> f64 {
        for (tick, words) in self.ticks() {
            let x = self.at(tick);
            let half = SMALL.width(words) / 2.0;
            canvas.line((x, bottom + 2.0), (x, bottom + 7.0), LINE, 1.0);
            let middle = x.min(canvas.width() - half).max(half);
            canvas.text(middle, bottom + 20.0, Anchor::Middle, SMALL, words);
        }
        let words = format!("{words}, log scale");
        canvas.text(f64::midpoint(self.left, self.right), bottom + 37.0, Anchor::Middle, SMALL, &words);
        43.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use linewake_model::time::Span;

    #[test]
    fn median_halves_the_times() {
        let mut histogram = TimeHistogram::default();
        for seconds in [1.1, 1.1, 100.5, 100.6, 100.7, 1000.5, 1000.6] {
            histogram.add(Span::from_seconds(seconds));
        }
        let found = median(&histogram.classes()).unwrap();
        assert!((100.0..126.0).contains(&found), "{found}");
        assert_eq!(median(&[]), None);
        assert_eq!(
            [time(3.2), time(42.0), time(90.0), time(7200.0)],
            ["3.2\u{a0}s", "42\u{a0}s", "1.5\u{a0}min", "2.0\u{a0}h"]
        );
    }

    #[test]
    fn equal_factors_are_equal_lengths() {
        let scale = LogScale { low: 1.0, high: 100.0, left: 0.0, right: 200.0 };
        assert!((scale.at(10.0) - 100.0).abs() < 1e-9);
        let words = |scale: LogScale| scale.ticks().iter().map(|tick| tick.1).collect::<Vec<_>>();
        assert_eq!(words(scale), ["1\u{a0}s", "3\u{a0}s", "10\u{a0}s", "1\u{a0}min"]);
        let small = LogScale { right: 50.0, ..scale };
        assert_eq!(words(small), ["1\u{a0}s", "1\u{a0}min"]);
    }
}
