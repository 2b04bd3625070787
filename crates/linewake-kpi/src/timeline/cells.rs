//! Content and good packs over time, in cells whose number is bounded: when time runs beyond them, neighbours are put
//! together.

use super::{ContentCell, OutputLine};
use linewake_model::time::{MICROS_PER_SECOND, Moment, Span};

/// Content of one belt or table.
#[derive(Clone, Debug)]
pub(super) struct ContentTrack {
    start: Moment,
    width: u64,
    most: usize,
    cells: Vec<Cell>,
    pieces: u32,
    since: Moment,
}

#[derive(Clone, Copy, Debug)]
struct Cell {
    lowest: u32,
    highest: u32,
    /// Content x time.
    area: u128,
    length: u64,
}

impl Cell {
    fn add(&mut self, pieces: u32, length: u64) {
        self.lowest = self.lowest.min(pieces);
        self.highest = self.highest.max(pieces);
        self.area += u128::from(pieces) * u128::from(length);
        self.length += length;
    }

    fn with(self, next: Self) -> Self {
        Self {
            lowest: self.lowest.min(next.lowest),
            highest: self.highest.max(next.highest),
            area: self.area + next.area,
            length: self.length + next.length,
        }
    }
}

impl ContentTrack {
    /// At most `most` cells (at least 2), for a window that is expected to be `length` long.
    pub(super) fn new(start: Moment, length: Span, most: usize) -> Self {
        let width = length.0.div_ceil(most as u64).max(1);
        Self { start, width, most, cells: Vec::new(), pieces: 0, since: start }
    }

    /// The content changes.
    pub(super) fn change(&mut self, at: Moment, pieces: u32) {
        self.book_up_to(at);
        self.pieces = pieces;
    }

    /// The window begins here, with the content that there is.
    pub(super) fn begin(&mut self, at: Moment) {
        *self = Self { start: at, since: at, cells: Vec::new(), ..*self };
    }

    fn book_up_to(&mut self, at: Moment) {
        while self.since < at {
            let place = self.since.since(self.start).0 / self.width;
            if place >= self.most as u64 {
                self.put_neighbours_together();
                continue;
            }
            // Cells have no gaps: each one begins where the last one ended.
            let end = Moment(self.start.0.saturating_add((place + 1).saturating_mul(self.width))).min(at);
            let length = end.since(self.since).0;
            if self.cells.len() as u64 <= place {
                self.cells.push(Cell { lowest: self.pieces, highest: self.pieces, area: 0, length: 0 });
            }
            if let Some(cell) = self.cells.last_mut() {
                cell.add(self.pieces, length);
            }
            self.since = end;
        }
    }

    fn put_neighbours_together(&mut self) {
        self.width = self.width.saturating_mul(2);
        let pairs =
            self.cells.chunks(2).map(|pair| pair.iter().skip(1).fold(pair[0], |sum, cell| sum.with(*cell)));
        self.cells = pairs.collect();
    }

    /// The cells up to the end of the window.
    pub(super) fn finish(mut self, end: Moment) -> Vec<ContentCell> {
        self.book_up_to(end);
        let mut start = self.start;
        let cells = self.cells.iter().map(|cell| {
            let begin = start;
            start += Span(cell.length);
            ContentCell {
                start: begin,
                end: start,
                lowest_pieces: cell.lowest,
                highest_pieces: cell.highest,
                mean_pieces: cell.area as f64 / cell.length as f64,
            }
        });
        cells.collect()
    }
}

const MINUTE: u64 = 60 * MICROS_PER_SECOND;

/// Most minutes (or cells of as many minutes as it takes) that are counted one by one.
const MOST_COUNTED: usize = 4096;

/// Lengths of the cells that are shown, in minutes, as far as they will do.
const LENGTHS_MIN: [u64; 10] = [1, 2, 5, 10, 15, 20, 30, 60, 120, 240];

/// Good packs, minute by minute.
#[derive(Clone, Debug)]
pub(super) struct OutputTrack {
    start: Moment,
    minutes: u64,
    cells: Vec<u64>,
    counted: u64,
}

impl OutputTrack {
    pub(super) fn new() -> Self {
        Self { start: Moment::ZERO, minutes: 1, cells: Vec::new(), counted: 0 }
    }

    /// The counter stands at `value`; what it gained counts in the minute that ends at `at` or later.
    pub(super) fn count(&mut self, at: Moment, value: u64) {
        let gain = value.saturating_sub(self.counted);
        self.counted = value;
        // What stands at the start of the window was before it.
        if gain == 0 || at <= self.start {
            return;
        }
        let minute = (at.since(self.start).0 - 1) / MINUTE;
        while minute / self.minutes >= MOST_COUNTED as u64 {
            self.minutes *= 2;
            self.cells = self.cells.chunks(2).map(|pair| pair.iter().sum()).collect();
        }
        let place = (minute / self.minutes) as usize;
        if self.cells.len() <= place {
            self.cells.resize(place + 1, 0);
        }
        self.cells[place] += gain;
    }

    /// The window begins here.
    pub(super) fn begin(&mut self, at: Moment) {
        *self = Self { start: at, counted: self.counted, ..Self::new() };
    }

    /// At most `most` cells up to the end of the window.
    pub(super) fn finish(&self, end: Moment, most: usize, design_rate_per_min: f64) -> OutputLine {
        let window_min = end.since(self.start).0.div_ceil(MINUTE);
        let fits = |minutes: u64| {
            minutes.is_multiple_of(self.minutes) && window_min.div_ceil(minutes) <= most as u64
        };
        // Beyond the list, as few of the counted lengths as will do.
        let minutes = LENGTHS_MIN
            .into_iter()
            .find(|&minutes| fits(minutes))
            .unwrap_or_else(|| window_min.div_ceil(most as u64).div_ceil(self.minutes) * self.minutes);
        let together = (minutes / self.minutes) as usize;
        let cells = window_min.div_ceil(minutes);
        let cell = |place: u64| -> u64 {
            let first = place as usize * together;
            self.cells.iter().skip(first).take(together).sum()
        };
        OutputLine {
            cell: Span(minutes * MINUTE),
            design_packs: design_rate_per_min * minutes as f64,
            cells: (0..cells).map(cell).collect(),
        }
    }
}
