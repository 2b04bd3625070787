//! Case packer: a collation lane takes packs as they come; so many of them become a case.

use crate::piece::Piece;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{Counter, PackStep, StationState};
use linewake_model::station;
use linewake_model::stop::Reason;
use std::collections::VecDeque;

#[derive(Debug)]
pub(crate) struct CasePacker {
    spec: station::CasePacker,
    lane: VecDeque<Piece>,
    /// Packs of the case that is being made.
    cycle: Vec<Piece>,
    cases: u64,
}

impl CasePacker {
    pub(crate) fn new(spec: &station::CasePacker) -> Self {
        Self { spec: *spec, lane: VecDeque::new(), cycle: Vec::new(), cases: 0 }
    }

    pub(crate) fn content(&self) -> u32 {
        (self.lane.len() + self.cycle.len()) as u32
    }
}

unit_getter!(packer, CasePacker, CasePacker);

impl World<'_> {
    /// The lane takes packs as they come, also while the packer is in a stop.
    pub(crate) fn packer_takes(&mut self, station: usize, pack: &Piece) -> bool {
        let packer = self.packer(station);
        if packer.lane.len() >= packer.spec.lane_packs as usize {
            return false;
        }
        packer.lane.push_back(*pack);
        self.tell(station, PackStep::Entered, pack, Reason::NONE);
        self.packer_starts(station);
        true
    }

    /// Starts a cycle if the packer is idle and the lane holds a case.
    pub(crate) fn packer_starts(&mut self, station: usize) {
        let (held, motion, speed) =
            (self.frames[station].is_held(), self.frames[station].motion, self.speed(station));
        let packer = self.packer(station);
        let case = packer.spec.packs_per_case as usize;
        if !packer.cycle.is_empty() {
            return;
        }
        if held || packer.lane.len() < case {
            return self.set_base(station, StationState::Starved);
        }
        packer.cycle.extend(packer.lane.drain(..case));
        let length = packer.spec.cycle.at_speed(speed);
        self.set_base(station, StationState::Running);
        self.set_in(motion, length);
        self.room_made(station);
    }

    /// The case is made and leaves at once.
    pub(crate) fn packer_cycled(&mut self, station: usize) {
        let packer = self.packer(station);
        let mut packs = std::mem::take(&mut packer.cycle);
        let case = packer.cases;
        packer.cases += 1;
        self.frames[station].flow.made += packs.len() as u64;
        self.books.add(station, Counter::Cased, Reason::NONE, 1);
        for pack in packs.drain(..) {
            self.handed_over(station, &pack);
            self.leaves_line(station, &pack, PackStep::Cased, case);
        }
        self.packer(station).cycle = packs;
        if self.count_cycle(station) {
            self.strike_if_due(station);
        }
        self.packer_starts(station);
    }
}
