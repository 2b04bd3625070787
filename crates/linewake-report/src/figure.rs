//! The figures: each takes a summary and gives two drawings of it, wide and narrow.

mod chain;
mod hours;
mod losses;
mod shifts;
mod stations;
mod stops;

pub(crate) use chain::chain;
pub(crate) use hours::hours;
pub(crate) use losses::losses;
pub(crate) use shifts::shifts;
pub(crate) use stations::stations;
pub(crate) use stops::stops;

use crate::bars::Bars;
use crate::canvas::Drawing;

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
    fn of_bars(bars: &Bars, caption: String) -> Self {
        Self {
            name: bars.id.clone(),
            title: bars.title.clone(),
            caption,
            wide: bars.wide(),
            narrow: bars.narrow(),
        }
    }
}
