//! Generic machine: one piece at a time, blocking after service.

use crate::luck::Draw;
use crate::piece::Piece;
use crate::station::arrivals::OwnDefects;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{PackStep, StationState};
use linewake_model::stop::Reason;

#[derive(Debug)]
#[repr(align(64))]
pub(crate) struct Machine {
    pub(crate) process: Draw,
    /// It opens the line and never runs dry; pieces made so far number the next one.
    pub(crate) source: Option<u64>,
    /// Defects of the model, which arise when a piece enters; none at a machine that does not open the line.
    pub(crate) own_defects: OwnDefects,
    pub(crate) in_hand: Option<Piece>,
    pub(crate) finished: bool,
    /// A count stop holds the piece of its cycle.
    pub(crate) holds_piece: bool,
    /// Any own stop holds a finished piece.
    pub(crate) holds_in_stops: bool,
}

unit_getter!(machine, Machine, Machine);

impl World<'_> {
    pub(crate) fn machine_takes(&mut self, station: usize, piece: &Piece) -> bool {
        if self.frames[station].is_held() || self.machine(station).in_hand.is_some() {
            return false;
        }
        self.machine_begins(station, piece);
        true
    }

    /// Takes the piece, which it can, and works on it.
    pub(crate) fn machine_begins(&mut self, station: usize, piece: &Piece) {
        self.tell(station, PackStep::Entered, piece, Reason::NONE);
        let (motion, speed) = (self.frames[station].motion, self.speed(station));
        let machine = self.machine(station);
        machine.in_hand = Some(*piece);
        machine.finished = false;
        let length = machine.process.span().at_speed(speed);
        self.set_base(station, StationState::Running);
        self.set_in(motion, length);
    }

    #[inline]
    pub(crate) fn machine_finished(&mut self, station: usize) {
        self.machine(station).finished = true;
        if self.cycle_makes(station, 1) {
            self.machine(station).holds_piece = true;
            // Its own work on the piece is done; the stop hides what it waits for.
            self.set_base(station, StationState::Blocked);
            self.strike_if_due(station);
        }
        self.machine_hands_over(station);
    }

    /// Lets a finished piece go, also in a stop (but for a count stop), and takes the next.
    pub(crate) fn machine_hands_over(&mut self, station: usize) {
        let machine = self.machine(station);
        if machine.finished
            && !machine.holds_piece
            && let Some(piece) = machine.in_hand.take()
            && !self.offer(station, &piece)
        {
            self.machine(station).in_hand = Some(piece);
            return self.set_base(station, StationState::Blocked);
        }
        self.machine_goes_on(station);
    }

    fn machine_goes_on(&mut self, station: usize) {
        let held = self.frames[station].is_held();
        let now = self.now;
        let machine = self.machine(station);
        if machine.in_hand.is_some() {
            return;
        }
        if held {
            return self.set_base(station, StationState::Starved);
        }
        if let Some(number) = machine.source {
            machine.source = Some(number + 1);
            let mut piece = Piece::new(number, 0, now);
            let defects = machine.own_defects.mark(&mut piece);
            self.machine_begins(station, &piece);
            for defect in defects {
                self.tell(station, PackStep::Defect, &piece, defect);
            }
            return;
        }
        // Whoever waits for the room hands over at once, and then the machine has not been without a piece.
        self.room_made(station);
        if self.machine(station).in_hand.is_none() {
            self.set_base(station, StationState::Starved);
        }
    }

    pub(crate) fn machine_resumes(&mut self, station: usize) {
        self.machine(station).holds_piece = false;
        self.machine_hands_over(station);
    }
}
