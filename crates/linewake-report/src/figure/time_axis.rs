//! Time across the page: round times of day counted from the start of the shift.

use crate::canvas::{Anchor, Canvas, Lettering};
use crate::style::{GRID, LINE};
use linewake_model::time::{Moment, Span};

const SMALL: Lettering = Lettering::SMALL;
/// Steps between labels, in seconds.
const STEPS: [f64; 13] = [
    30.0,
    60.0,
    120.0,
    300.0,
    600.0,
    1800.0,
    3600.0,
    7200.0,
    14_400.0,
    28_800.0,
    86_400.0,
    604_800.0,
    6_048_000.0,
];

/// From a moment to a place.
#[derive(Clone, Copy, Debug)]
pub(super) struct TimeAxis {
    start: Moment,
    from: Moment,
    to: Moment,
    pub(super) left: f64,
    pub(super) right: f64,
}

impl TimeAxis {
    /// What lies between `from` and `to`, told from `start` on, between two places.
    pub(super) fn new(start: Moment, from: Moment, to: Moment, left: f64, right: f64) -> Self {
        Self { start, from, to, left, right }
    }

    /// Place of a moment; the nearest edge for one outside.
    pub(super) fn at(&self, moment: Moment) -> f64 {
        let all = self.to.since(self.from).seconds();
        let part = moment.max(self.from).min(self.to).since(self.from).seconds();
        if all > 0.0 { self.left + part / all * (self.right - self.left) } else { self.left }
    }

    /// Round times and the words for each.
    fn ticks(&self) -> Vec<(f64, String)> {
        let (from, to) = (self.from.since(self.start).seconds(), self.to.since(self.start).seconds());
        let most = ((self.right - self.left) / 56.0).max(2.0);
        let step = STEPS.into_iter().find(|step| (to - from) / step <= most).unwrap_or((to - from).max(1.0));
        let (first, last) = ((from / step - 1e-9).ceil() as u64, (to / step + 1e-9).floor() as u64);
        let tick = |place: u64| {
            let seconds = place as f64 * step;
            (self.at(self.start + Span::from_seconds(seconds)), clock(seconds, step < 60.0))
        };
        (first..=last).map(tick).collect()
    }

    /// Lines at the labels.
    pub(super) fn grid(&self, canvas: &mut Canvas, top: f64, bottom: f64) {
        for (x, _) in self.ticks() {
            canvas.line((x, top), (x, bottom), GRID, 1.0);
        }
    }

    /// The labels below `bottom`; gives the height that they take.
    pub(super) fn draw(&self, canvas: &mut Canvas, bottom: f64) -> f64 {
        canvas.line((self.left, bottom), (self.right, bottom), LINE, 1.0);
        for (x, words) in self.ticks() {
            canvas.line((x, bottom), (x, bottom + 4.0), LINE, 1.0);
            let half = SMALL.width(&words) / 2.0;
            let middle = x.min(canvas.width() - half).max(half);
            canvas.text(middle, bottom + 17.0, Anchor::Middle, SMALL, &words);
        }
        let words = "hours:minutes from the start of the shift";
        let half = SMALL.width(words) / 2.0;
        let middle = f64::midpoint(self.left, self.right).min(canvas.width() - half).max(half);
        canvas.text(middle, bottom + 34.0, Anchor::Middle, SMALL, words);
        40.0
    }
}

/// "2:05", or with seconds "2:05:30".
fn clock(seconds: f64, with_seconds: bool) -> String {
    let seconds = seconds.round() as u64;
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if with_seconds { format!("{hours}:{minutes:02}:{rest:02}") } else { format!("{hours}:{minutes:02}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_told_from_the_start() {
        let second = |seconds: u64| Moment(seconds * 1_000_000);
        let axis = TimeAxis::new(second(3600), second(3600), second(3600 + 28_800), 0.0, 560.0);
        let words: Vec<String> = axis.ticks().into_iter().map(|(_, words)| words).collect();
        assert_eq!(words, ["0:00", "1:00", "2:00", "3:00", "4:00", "5:00", "6:00", "7:00", "8:00"]);
        let close = TimeAxis::new(second(3600), second(3600 + 1000), second(3600 + 2000), 0.0, 560.0);
        assert_eq!(close.ticks()[0].1, "0:18");
        assert!((axis.at(second(3600 + 14_400)) - 280.0).abs() < 1e-9);
        assert!((axis.at(second(0)) - 0.0).abs() < 1e-9);
    }
}
