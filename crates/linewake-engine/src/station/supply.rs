//! Bulk supply: batches are prepared one after the other and tipped into a hopper, which is used first in, first out.

use crate::luck::Draw;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{Counter, PackStep, StationState};
use linewake_model::stop::Reason;
use linewake_model::time::Span;
use linewake_stats::distribution::normal_quantile;
use linewake_stats::stream::Stream;
use std::collections::VecDeque;

/// Place of the bulk supply in a line that has one.
pub(crate) const SUPPLY: usize = 0;

#[derive(Debug)]
pub(crate) struct Supply {
    pub(crate) batch_ug: u64,
    pub(crate) hopper_ug: u64,
    /// What is left of each batch in the hopper (micrograms), with its weight shift (grams).
    pub(crate) hopper: VecDeque<(u64, f64)>,
    /// Sum over the hopper.
    pub(crate) level_ug: u64,
    /// A finished batch waits for room.
    pub(crate) batch_waits: bool,
    pub(crate) batches: u64,
    pub(crate) preparation: Draw,
    pub(crate) sd_batch_g: f64,
    pub(crate) shift: Stream,
}

impl Supply {
    /// Takes at most that much out of the hopper, oldest batch first; returns what there was.
    pub(crate) fn draw_off(&mut self, wanted_ug: u64) -> u64 {
        let taken = wanted_ug.min(self.level_ug);
        self.level_ug -= taken;
        let mut rest = taken;
        while rest > 0 {
            let Some((left, _)) = self.hopper.front_mut() else {
                break;
            };
            let part = rest.min(*left);
            *left -= part;
            rest -= part;
            if *left == 0 {
                self.hopper.pop_front();
            }
        }
        taken
    }

    /// Weight shift of the batch that is being drawn from.
    pub(crate) fn batch_shift_g(&self) -> f64 {
        self.hopper.front().map_or(0.0, |(_, shift)| *shift)
    }
}

unit_getter!(supply, Supply, Supply);

impl World<'_> {
    /// The first batch is in the hopper at time 0, and the second starts then.
    pub(crate) fn supply_begins(&mut self) {
        self.tip();
        self.prepare();
    }

    /// A batch is ready: the end of a cycle. It is tipped if there is room, then a count stop strikes, if one is due.
    pub(crate) fn supply_prepared(&mut self, _station: usize) {
        self.supply(SUPPLY).batch_waits = true;
        self.set_base(SUPPLY, StationState::Blocked);
        let stop_due = self.count_cycle(SUPPLY);
        self.supply_tips();
        if stop_due {
            self.strike_if_due(SUPPLY);
        }
    }

    /// Tips a waiting batch if the hopper has room, and starts the next one.
    pub(crate) fn supply_tips(&mut self) {
        if self.frames[SUPPLY].is_held()
            || !self.supply(SUPPLY).batch_waits
            || !self.supply(SUPPLY).has_room()
        {
            return;
        }
        self.tip();
        self.supply_prepares();
        self.portioner_starts();
    }

    /// Starts the next batch, unless one is under way or waits for room, or a stop comes first.
    pub(crate) fn supply_prepares(&mut self) {
        let idle = self.timers.due(self.frames[SUPPLY].motion).is_none() && !self.supply(SUPPLY).batch_waits;
        if idle && !self.frames[SUPPLY].any_due && !self.frames[SUPPLY].is_held() {
            self.prepare();
        }
    }

    /// After a stop.
    pub(crate) fn supply_resumes(&mut self) {
        self.supply_tips();
        self.supply_prepares();
    }

    fn prepare(&mut self) {
        let length = self.supply(SUPPLY).preparation.span();
        self.set_base(SUPPLY, StationState::Running);
        let timer = self.frames[SUPPLY].motion;
        self.set_in(timer, length);
    }

    fn tip(&mut self) {
        let supply = self.supply(SUPPLY);
        supply.batch_waits = false;
        let shift = supply.next_shift_g();
        supply.hopper.push_back((supply.batch_ug, shift));
        supply.level_ug += supply.batch_ug;
        supply.batches += 1;
        let (batch, mass) = (supply.batches - 1, supply.batch_ug);
        self.frames[SUPPLY].flow.made += 1;
        self.books.add(SUPPLY, Counter::TippedMg, Reason::NONE, mass / 1000);
        let piece = crate::piece::Piece::new(batch, mass, self.now);
        self.tell(SUPPLY, PackStep::Tipped, &piece, Reason::NONE);
    }

    /// What the kitchen does in a break of that length, if it works in breaks: preparation goes on, and batches are
    /// tipped as long as there is room. Called at the start of the break; the calendar is moved along.
    pub(crate) fn supply_in_break(&mut self, length: Span) {
        let timer = self.frames[SUPPLY].motion;
        let mut left = length;
        while let Some(due) = self.timers.due(timer) {
            let needed = due.since(self.now);
            if needed > left {
                let still = needed - left;
                self.set_in(timer, still);
                return;
            }
            left = left - needed;
            self.write_until(self.calendar() + needed, self.now);
            self.break_time += needed;
            self.timers.cancel(timer);
            self.supply(SUPPLY).batch_waits = true;
            self.set_base(SUPPLY, StationState::Blocked);
            // A count stop that comes due waits for the end of the break, and no batch is begun before it.
            self.count_cycle(SUPPLY);
            // The portioner stands in the break, so a tipped batch wakes nobody until it is over.
            if self.supply(SUPPLY).has_room() {
                self.tip();
                self.supply_prepares();
            }
            self.flush();
        }
    }
}

impl Supply {
    fn has_room(&self) -> bool {
        self.level_ug + self.batch_ug <= self.hopper_ug
    }

    fn next_shift_g(&mut self) -> f64 {
        if self.sd_batch_g > 0.0 { self.sd_batch_g * normal_quantile(self.shift.open01()) } else { 0.0 }
    }
}
