//! Small panels beside or below each other in one drawing: a histogram, points and lines on axes of their own.

use crate::canvas::{Anchor, Canvas, Lettering, shortened};
use crate::number;
use crate::style::{Fill, GRID, LINE, MEAN};

const SMALL: Lettering = Lettering::SMALL;
/// Height of the title, of the plot, and of what is below it.
const TITLE: f64 = 22.0;
const PLOT: f64 = 190.0;
const BELOW: f64 = 48.0;
/// Height of a panel.
pub(super) const HEIGHT: f64 = TITLE + PLOT + BELOW;

/// How values become places on an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Spacing {
    /// In proportion.
    Even,
    /// By their logarithm.
    Log,
    /// A share that is longer, by its logarithm: an exponential law is straight against even times.
    LogShare,
    /// A share that is longer, by ln(-ln): a Weibull law is straight against logarithmic times.
    Weibull,
    /// A share that is longer, by the normal quantile: a lognormal law is straight against logarithmic times.
    Normal,
}

impl Spacing {
    fn place(self, value: f64) -> f64 {
        match self {
            Self::Even => value,
            Self::Log => value.ln(),
            Self::LogShare => value.ln(),
            Self::Weibull => -(-value.ln()).ln(),
            Self::Normal => linewake_stats::distribution::normal_quantile(value),
        }
    }
}

/// An axis.
#[derive(Clone, Debug)]
pub(super) struct Axis {
    pub(super) spacing: Spacing,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) words: String,
}

impl Axis {
    /// Places of values and their labels, at most `most`.
    fn marks(&self, most: usize) -> Vec<(f64, String)> {
        let plain = |value: f64| (value, number::plain(value));
        match self.spacing {
            Spacing::Even => crate::canvas::ticks(self.low, self.high, most).into_iter().map(plain).collect(),
            Spacing::Log => {
                let first = self.low.log10().floor() as i32;
                let last = self.high.log10().ceil() as i32;
                let steps: &[f64] = match last - first {
                    0..=1 => &[1.0, 2.0, 3.0, 5.0, 7.0],
                    2..=3 => &[1.0, 3.0],
                    _ => &[1.0],
                };
                let within = |value: &f64| *value >= self.low * 0.999 && *value <= self.high * 1.001;
                let mut marks: Vec<f64> = (first..=last)
                    .flat_map(|power| steps.iter().map(move |step| step * 10_f64.powi(power)))
                    .filter(within)
                    .collect();
                while marks.len() > most {
                    marks = marks.into_iter().step_by(2).collect();
                }
                marks.into_iter().map(plain).collect()
            }
            _ => [0.999, 0.99, 0.9, 0.7, 0.5, 0.3, 0.1, 0.03, 0.01, 0.001]
                .into_iter()
                .filter(|share| *share >= self.low && *share <= self.high)
                .map(|share| (share, number::plain(share * 100.0)))
                .collect(),
        }
    }
}

/// What is drawn in a panel, in this order.
#[derive(Clone, Debug, Default)]
pub(super) struct Panel {
    pub(super) title: &'static str,
    pub(super) x: Option<Axis>,
    pub(super) y: Option<Axis>,
    /// From, to, height.
    pub(super) columns: Vec<(f64, f64, f64)>,
    /// Lines, each with its dashes.
    pub(super) lines: Vec<(Vec<(f64, f64)>, &'static str)>,
    pub(super) points: Vec<(f64, f64)>,
}

impl Panel {
    /// Draws it with its upper left corner at `left`, `top`.
    pub(super) fn draw(&self, canvas: &mut Canvas, left: f64, top: f64, width: f64) {
        let (Some(x), Some(y)) = (&self.x, &self.y) else { return };
        canvas.text(
            left,
            top + 14.0,
            Anchor::Start,
            SMALL.bold(),
            &shortened(self.title, SMALL.bold(), width),
        );
        let y_marks = y.marks(5);
        let widest = y_marks.iter().map(|(_, label)| SMALL.width(label)).fold(0.0, f64::max);
        let (plot_left, plot_right) = (left + widest + 8.0, left + width - 12.0);
        let (plot_top, bottom) = (top + TITLE, top + TITLE + PLOT);
        let share = |axis: &Axis, value: f64| {
            let (low, high) = (axis.spacing.place(axis.low), axis.spacing.place(axis.high));
            let at = axis.spacing.place(value);
            if at.is_finite() && high > low { (at - low) / (high - low) } else { f64::NAN }
        };
        let x_at = |value: f64| plot_left + share(x, value).clamp(0.0, 1.0) * (plot_right - plot_left);
        let y_at = |value: f64| bottom - share(y, value).clamp(0.0, 1.0) * PLOT;
        let mut last: f64 = f64::INFINITY;
        for (value, label) in &y_marks {
            let at = y_at(*value);
            canvas.line((plot_left, at), (plot_right, at), GRID, 1.0);
            // Labels of shares near 1 crowd.
            if (last - at).abs() >= 14.0 {
                canvas.text(plot_left - 6.0, at + 4.0, Anchor::End, SMALL, label);
                last = at;
            }
        }
        let mut most = 6;
        let marks = loop {
            let marks = x.marks(most);
            let needed: f64 = marks.iter().map(|(_, label)| SMALL.width(label) + 10.0).sum();
            if needed <= plot_right - plot_left || most <= 2 {
                break marks;
            }
            most -= 1;
        };
        let mut free = left;
        for (value, label) in &marks {
            let at = x_at(*value);
            canvas.line((at, plot_top), (at, bottom), GRID, 1.0);
            let half = SMALL.width(label) / 2.0;
            let middle = at.min(left + width - half).max(left + half);
            if middle - half >= free {
                canvas.text(middle, bottom + 18.0, Anchor::Middle, SMALL, label);
                free = middle + half + 6.0;
            }
        }
        for &(from, to, height) in self.columns.iter().filter(|column| column.2 > 0.0) {
            let (from, to, at) = (x_at(from), x_at(to), y_at(height));
            canvas.area(from, at, (to - from).max(1.0), bottom - at, Fill::Starved);
        }
        canvas.line((plot_left, bottom), (plot_right, bottom), LINE, 1.0);
        let inside = |&&(a, b): &&(f64, f64)| {
            let (a, b) = (share(x, a), share(y, b));
            (-0.02..=1.02).contains(&a) && (-0.02..=1.02).contains(&b)
        };
        let dots: Vec<(f64, f64, f64, f64)> = self
            .points
            .iter()
            .filter(inside)
            .map(|&(a, b)| (x_at(a) - 1.8, y_at(b) - 1.8, 3.6, 3.6))
            .collect();
        for (line, dash) in &self.lines {
            let line: Vec<(f64, f64)> =
                line.iter().filter(inside).map(|&(a, b)| (x_at(a), y_at(b))).collect();
            if line.len() > 1 {
                canvas.polyline(&line, MEAN, if dash.is_empty() { 1.8 } else { 1.2 }, dash);
            }
        }
        canvas.marks(&dots, LINE);
        let words = shortened(&x.words, SMALL, width);
        let half = SMALL.width(&words) / 2.0;
        let middle = f64::midpoint(plot_left, plot_right).min(left + width - half).max(left + half);
        canvas.text(middle, bottom + 35.0, Anchor::Middle, SMALL, &words);
    }
}
