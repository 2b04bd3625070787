//! The figures: each takes a summary and gives two drawings of it, wide and narrow.

mod bands;
mod chain;
mod contents;
mod histograms;
mod hours;
mod losses;
mod rejects;
mod replayed;
mod shifts;
mod stations;
mod stops;
mod time_axis;

pub(crate) use bands::{bands, wake};
pub(crate) use chain::chain;
pub(crate) use contents::contents;
pub(crate) use histograms::{between_stops, median, stop_lengths};
pub(crate) use hours::hours;
pub(crate) use losses::losses;
pub(crate) use rejects::rejects;
pub(crate) use replayed::replayed;
pub(crate) use shifts::{oee, shifts};
pub(crate) use stations::stations;
pub(crate) use stops::{stops, stops_by_station};

use crate::bars::Bars;
use crate::canvas::Drawing;
use linewake_kpi::summary::Summary;

/// A figure in both layouts.
#[derive(Clone, Debug)]
pub(crate) struct Figure {
    /// Stem of its file name and id on the page.
    pub(crate) name: String,
    /// Title, above it.
    pub(crate) title: String,
    /// How to read it, below it.
    pub(crate) caption: String,
    /// For pages of 820 px and for files.
    pub(crate) wide: Drawing,
    /// For a phone.
    pub(crate) narrow: Drawing,
}

impl Figure {
    /// Of bars.
    pub(crate) fn of_bars(bars: &Bars, caption: String) -> Self {
        Self {
            name: bars.id.clone(),
            title: bars.title.clone(),
            caption,
            wide: bars.wide(),
            narrow: bars.narrow(),
        }
    }
}

/// All figures of one kind of start that there is something to draw for, in the order of the page.
pub(crate) fn of_summary(summary: &Summary) -> Vec<Figure> {
    let mut figures = vec![chain(summary), losses(summary), stops(summary), stations(summary)];
    figures.extend([bands(summary), wake(summary)].into_iter().flatten());
    figures.extend([contents(summary), stop_lengths(summary), between_stops(summary)].into_iter().flatten());
    figures.push(hours(summary));
    figures.extend(rejects(summary));
    figures
}
