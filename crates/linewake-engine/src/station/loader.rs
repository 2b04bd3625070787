//! Loader: belt A takes a file of portions, belt B turns files into an array and loads it into the pockets.

use crate::piece::Piece;
use crate::station::former::FORMER;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{PackStep, StationState};
use linewake_model::station;
use linewake_model::stop::Reason;
use linewake_model::time::Span;

/// Place of the loader in a line that has one.
pub(crate) const LOADER: usize = 3;

/// What belt B is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum BeltB {
    /// Ready for a file.
    Ready,
    /// A file is passing from A to B.
    Transferring,
    /// Moving to the next lane.
    Traversing,
    /// The array is complete and waits for the web.
    ArrayReady,
    /// Loading the array into the pockets.
    Loading,
    /// Going back to the first lane.
    Returning,
}

#[derive(Debug)]
pub(crate) struct Loader {
    pub(crate) spec: station::Loader,
    /// Portions on belt A.
    pub(crate) file: Vec<Piece>,
    /// A portion is being taken.
    pub(crate) taking: Option<Piece>,
    /// Portions on belt B, file after file.
    pub(crate) array: Vec<Piece>,
    pub(crate) belt_b: BeltB,
    /// Share of the set speed for this array.
    pub(crate) share: f64,
}

impl Loader {
    pub(crate) fn new(spec: &station::Loader) -> Self {
        Self {
            spec: spec.clone(),
            file: Vec::new(),
            taking: None,
            array: Vec::new(),
            belt_b: BeltB::Ready,
            share: 1.0,
        }
    }

    pub(crate) fn content(&self) -> u32 {
        (self.file.len() + self.array.len()) as u32 + u32::from(self.taking.is_some())
    }

    fn file_complete(&self) -> bool {
        self.file.len() == self.spec.array_rows as usize
    }
}

unit_getter!(loader, Loader, Loader);

impl World<'_> {
    /// Belt A takes a portion while it is not transferring and has room.
    pub(crate) fn loader_takes(&mut self, station: usize, portion: &Piece) -> bool {
        let held = self.frames[station].is_held();
        let calendar = self.calendar();
        let second = self.frames[station].second;
        let loader = self.loader(station);
        let busy = loader.taking.is_some() || loader.belt_b == BeltB::Transferring || loader.file_complete();
        if held || busy {
            return false;
        }
        let portion = Piece { open_since: calendar, ..*portion };
        let take = loader.spec.take.at_speed(loader.share);
        if take == Span::ZERO {
            loader.file.push(portion);
        } else {
            loader.taking = Some(portion);
            self.set_in(second, take);
        }
        self.tell(station, PackStep::Entered, &portion, Reason::NONE);
        self.file_passes(station);
        true
    }

    /// Belt A has taken its portion.
    pub(crate) fn loader_took(&mut self, station: usize) {
        let loader = self.loader(station);
        if let Some(portion) = loader.taking.take() {
            loader.file.push(portion);
        }
        self.file_passes(station);
        self.room_made(station);
    }

    /// Passes the file to B if both are ready.
    fn file_passes(&mut self, station: usize) {
        let (held, motion) = (self.frames[station].is_held(), self.frames[station].motion);
        let speed = self.speed(station);
        let loader = self.loader(station);
        if loader.belt_b != BeltB::Ready {
            return;
        }
        if held || !loader.file_complete() {
            return self.set_base(station, StationState::Starved);
        }
        if loader.array.is_empty() {
            // The cycle of an array begins with its first file.
            loader.share = speed;
        }
        loader.belt_b = BeltB::Transferring;
        let length = loader.spec.file_transfer.at_speed(loader.share);
        self.set_base(station, StationState::Running);
        self.set_in(motion, length);
    }

    /// A motion of belt B is done.
    pub(crate) fn loader_moved(&mut self, station: usize) {
        let motion = self.frames[station].motion;
        let loader = self.loader(station);
        match loader.belt_b {
            BeltB::Transferring => {
                let mut file = std::mem::take(&mut loader.file);
                loader.array.append(&mut file);
                loader.file = file;
                if loader.array.len() < (loader.spec.lanes * loader.spec.array_rows) as usize {
                    loader.belt_b = BeltB::Traversing;
                    let length = loader.spec.traverse.at_speed(loader.share);
                    self.set_in(motion, length);
                } else {
                    loader.belt_b = BeltB::ArrayReady;
                    self.loader_loads();
                }
                self.room_made(station);
            }
            BeltB::Traversing => {
                loader.belt_b = BeltB::Ready;
                self.file_passes(station);
            }
            BeltB::Loading => {
                loader.belt_b = BeltB::Returning;
                let length = loader.spec.return_.at_speed(loader.share);
                let mut array = std::mem::take(&mut loader.array);
                self.set_in(motion, length);
                self.former_is_loaded(&mut array);
                array.clear();
                self.loader(station).array = array;
            }
            BeltB::Returning => {
                loader.belt_b = BeltB::Ready;
                if self.cycle_makes(station, 1) {
                    self.set_base(station, StationState::Starved);
                    self.strike_if_due(station);
                } else {
                    self.file_passes(station);
                }
            }
            BeltB::Ready | BeltB::ArrayReady => {}
        }
    }

    /// Starts the load of a complete array if the web stands in a dwell, its load zone is empty, and neither machine
    /// is in a stop.
    pub(crate) fn loader_loads(&mut self) {
        let held = self.frames[LOADER].is_held();
        let motion = self.frames[LOADER].motion;
        let former_ready = self.former_can_be_loaded(FORMER);
        let loader = self.loader(LOADER);
        if loader.belt_b != BeltB::ArrayReady {
            return;
        }
        if held || !former_ready {
            return self.set_base(LOADER, StationState::Blocked);
        }
        loader.belt_b = BeltB::Loading;
        let length = loader.spec.load.at_speed(loader.share);
        self.former(FORMER).load_under_way = true;
        self.set_base(LOADER, StationState::Running);
        self.set_in(motion, length);
    }

    /// After a stop: motions go on by their timers; what waited is tried again.
    pub(crate) fn loader_resumes(&mut self, station: usize) {
        self.file_passes(station);
        self.loader_loads();
        self.room_made(station);
    }
}
