//! Arrivals: pieces that come to a line of generic machines.

use crate::luck::{Chance, Draw};
use crate::piece::{Piece, defect_bit};
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{Counter, PackStep, StationState};
use linewake_model::line::Line;
use linewake_model::station::WhenFull;
use linewake_model::stop::Reason;
use linewake_stats::stream::Streams;

#[derive(Debug)]
pub(crate) struct Arrivals {
    pub(crate) between: Draw,
    pub(crate) when_full: WhenFull,
    pub(crate) arrived: u64,
    /// A piece that waits for room.
    pub(crate) holding: Option<Piece>,
    /// Defects of the model, which arise when a piece enters.
    pub(crate) own_defects: OwnDefects,
}

/// The defects of the model that a piece of a line of generic machines may get, each with its chance and its bit.
#[derive(Debug)]
pub(crate) struct OwnDefects(Vec<(Chance, Reason, u64)>);

impl OwnDefects {
    pub(crate) fn new(line: &Line, station: &str, streams: &Streams) -> Self {
        let own = line.own_defects.iter().map(|defect| {
            let quantity = format!("defect {}", line.reason(defect.reason));
            let chance = Chance::new(streams, station, &quantity, defect.probability);
            (chance, defect.reason, defect_bit(line, defect.reason))
        });
        Self(own.collect())
    }

    pub(crate) fn none() -> Self {
        Self(Vec::new())
    }

    /// Marks the piece with the defects that it gets, and names them.
    pub(crate) fn mark(&mut self, piece: &mut Piece) -> Vec<Reason> {
        let mut defects = Vec::new();
        for (chance, reason, bit) in &mut self.0 {
            if chance.happens(piece.id) {
                piece.defects |= *bit;
                defects.push(*reason);
            }
        }
        defects
    }
}

unit_getter!(arrivals, Arrivals, Arrivals);

impl World<'_> {
    pub(crate) fn next_arrival(&mut self, station: usize) {
        let length = self.arrivals(station).between.span();
        self.set_base(station, StationState::Running);
        let timer = self.frames[station].motion;
        self.set_in(timer, length);
    }

    /// A piece arrives: it goes in, waits, or is lost.
    pub(crate) fn piece_arrives(&mut self, station: usize) {
        let now = self.now;
        let arrivals = self.arrivals(station);
        let mut piece = Piece::new(arrivals.arrived, 0, now);
        arrivals.arrived += 1;
        let defects = arrivals.own_defects.mark(&mut piece);
        let when_full = arrivals.when_full;
        self.frames[station].flow.made += 1;
        self.tell(station, PackStep::Portioned, &piece, Reason::NONE);
        for defect in defects {
            self.tell(station, PackStep::Defect, &piece, defect);
        }
        if self.count_cycle(station) {
            self.strike_if_due(station);
        }
        if self.offer(station, &piece) {
            return self.next_arrival_unless_held(station);
        }
        match when_full {
            WhenFull::Wait => {
                self.arrivals(station).holding = Some(piece);
                self.set_base(station, StationState::Blocked);
            }
            WhenFull::Lost => {
                self.frames[station].waits_for_room = false;
                self.books.add(station, Counter::Lost, Reason::NONE, 1);
                self.tell(station, PackStep::Lost, &piece, Reason::NONE);
                self.next_arrival_unless_held(station);
            }
        }
    }

    fn next_arrival_unless_held(&mut self, station: usize) {
        if self.frames[station].is_held() {
            self.set_base(station, StationState::Starved);
        } else {
            self.next_arrival(station);
        }
    }

    /// Room: the piece that waited goes in, and the clock of the next arrival starts.
    pub(crate) fn arrivals_hand_over(&mut self, station: usize) {
        let timer = self.frames[station].motion;
        if let Some(piece) = self.arrivals(station).holding.take()
            && !self.offer(station, &piece)
        {
            self.arrivals(station).holding = Some(piece);
            return;
        }
        if self.timers.due(timer).is_none() {
            self.next_arrival_unless_held(station);
        }
    }
}
