//! Breaks of the whole line: jumps of the calendar at one instant of line time.

use crate::changes::Changed;
use crate::station::Unit;
use crate::station::supply::SUPPLY;
use crate::world::World;
use linewake_log::event::{EventKind, StationState};
use linewake_model::line::{Break, Line};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// The breaks of a run in rising order: those of the shift, repeated with every shift length, up to the horizon.
pub(crate) fn breaks_of(line: &Line, horizon: Moment) -> Vec<Break> {
    let mut breaks = Vec::new();
    if line.shift.breaks.is_empty() || line.shift.length == Span::ZERO {
        return breaks;
    }
    let mut shift = Moment::ZERO;
    while shift < horizon {
        for pause in &line.shift.breaks {
            let start = shift + Span(pause.start.0);
            if start < horizon {
                let duration = pause.duration.0.min(horizon.since(start).0);
                breaks.push(Break { start, duration: Span(duration) });
            }
        }
        shift += line.shift.length;
    }
    breaks
}

/// Line time at that moment of the calendar: the breaks before it taken out.
pub(crate) fn line_time(breaks: &[Break], calendar: Moment) -> Moment {
    let before = breaks.iter().take_while(|pause| pause.start < calendar);
    let out: u64 = before.map(|pause| pause.duration.0.min(calendar.since(pause.start).0)).sum();
    Moment(calendar.0.saturating_sub(out))
}

impl World<'_> {
    /// Line time at that moment of the calendar.
    pub(crate) fn line_time(&self, calendar: Moment) -> Moment {
        line_time(&self.breaks, calendar)
    }

    /// A break of that length begins now. Everything freezes but the calendar; on return it is over.
    pub(crate) fn break_passes(&mut self, length: Span) {
        let supply_works =
            self.line.shift.supply_in_breaks && matches!(self.units.first(), Some(Unit::Supply(_)));
        let end = self.break_time + length;
        for station in 0..self.frames.len() {
            if self.frames[station].has_states && !(supply_works && station == SUPPLY) {
                let (from, _) = self.frames[station].written;
                let planned = (StationState::Planned, Reason::BREAK);
                if self.frames[station].written != planned {
                    let kind = self.state_row(station, from, planned.0, planned.1);
                    self.frames[station].written = planned;
                    self.emit(station, kind);
                }
                self.changed.insert(station);
            }
        }
        if self.line.shift.repairs_in_breaks {
            self.repairs_go_on(length);
        }
        if supply_works {
            let mut frozen = std::mem::replace(&mut self.changed, Changed::new(self.frames.len()));
            self.supply_in_break(length);
            while let Some(station) = frozen.take_first() {
                self.changed.insert(station);
            }
        }
        self.write_until(self.now + end, self.now);
        self.break_time = end;
        if supply_works && self.calendar() < self.plan.horizon {
            self.strike_if_due(SUPPLY);
            // A batch that was tipped in the break woke nobody in it.
            self.portioner_starts();
        }
    }

    /// Stops that are being put right go on in the break.
    fn repairs_go_on(&mut self, length: Span) {
        for station in 0..self.frames.len() {
            let frame = &self.frames[station];
            if frame.rare.stop.is_some()
                && matches!(frame.hold, Some((StationState::StoppedRepair, _)))
                && let Some(due) = self.timers.due(frame.stop_end)
            {
                let left = due.since(self.now) - length;
                let timer = frame.stop_end;
                self.set_in(timer, left);
            }
        }
    }

    /// Writes counters and contents that have changed, at each multiple of the interval up to and including that
    /// moment of the calendar.
    pub(crate) fn snapshots_until(&mut self, calendar: Moment) {
        while self.next_snapshot <= calendar && self.next_snapshot < self.plan.horizon {
            let at = self.next_snapshot;
            self.next_snapshot += SNAPSHOT_EVERY;
            if at > Moment::ZERO {
                self.write_books(at, crate::books::Which::Changed);
            }
        }
    }

    /// Writes counters and contents as of that moment of the calendar.
    pub(crate) fn write_books(&mut self, at: Moment, which: crate::books::Which) {
        let sink = &mut self.sink;
        self.books.write(
            which,
            self.frames.iter().map(|frame| frame.flow),
            |station, counter, reason, value| {
                let kind = EventKind::Count { counter, reason, value };
                sink.record(&linewake_log::event::Event { at, station: station as u16, kind });
            },
        );
        for (station, unit) in self.units.iter().enumerate() {
            let pieces = unit.content();
            if which == crate::books::Which::All || self.contents_written[station] != pieces {
                self.contents_written[station] = pieces;
                let kind = EventKind::Content { pieces };
                sink.record(&linewake_log::event::Event { at, station: station as u16, kind });
            }
        }
    }
}

/// Counters and contents are written at least so often, where they have changed.
pub(crate) const SNAPSHOT_EVERY: Span = Span(10_000_000);
