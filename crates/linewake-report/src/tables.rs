//! The tables, each from a summary: on the page, in CSV files and in the text.

mod logs;
mod losses;
mod machines;
mod oee;
mod stations;
mod time;

pub(crate) use logs::{dirty_rows, kinds_of_dirt, logs};
pub(crate) use losses::{ledger, rejects, stops};
pub(crate) use machines::{isa_states, iso_line, iso_machines, iso_pages, machines, stop_classes, waits};
pub(crate) use oee::{factors, headline, hours, offer, shifts};
pub(crate) use stations::{balance, contents, stations};
pub(crate) use time::{bands, between_stops, content_times, contents_over_time, medians, stop_lengths, wake};

use crate::number;
use crate::table::Cell;
use linewake_kpi::summary::Mean;

/// Cells of a mean count and its half width.
pub(crate) fn mean_cells(mean: &Mean) -> [Cell; 2] {
    let rounded = number::rounded(mean);
    let half_width = mean.half_width.map_or(Cell::Missing, |value| Cell::figure(value, rounded.half_width));
    [Cell::figure(mean.mean, rounded.mean), half_width]
}

/// A mean count whose digits are those of its column, not of its interval, and its half width.
fn column_cells(mean: &Mean) -> [Cell; 2] {
    [Cell::count(mean.mean), Cell::maybe(mean.half_width, number::count)]
}
