//! Pick robot: takes untagged packs from the pick zone in fixed groups and leaves tagged ones behind.

use crate::luck::{Chance, Draw};
use crate::piece::Piece;
use crate::station::Unit;
use crate::station::former::FORMER;
use crate::station::unit_getter;
use crate::station::web::WebFrame;
use crate::world::World;
use linewake_log::event::{PackStep, StationState};
use linewake_model::stop::Reason;

/// Place of the pick robot in a line that has one.
pub(crate) const ROBOT: usize = 5;

/// What the robot is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Doing {
    Nothing,
    Picking,
    Placing,
    /// The place motion is done; the belt takes nothing yet.
    WaitingToPlace,
}

#[derive(Debug)]
pub(crate) struct Robot {
    pub(crate) gripper: usize,
    pub(crate) pick: Draw,
    pub(crate) place: Draw,
    pub(crate) drop: Chance,
    pub(crate) doing: Doing,
    /// The frame in the pick zone.
    pub(crate) zone: Option<WebFrame>,
    /// Groups of the frame that have been dealt with.
    pub(crate) groups_done: usize,
    /// Packs in the gripper.
    pub(crate) hand: Vec<Piece>,
}

impl Robot {
    pub(crate) fn content(&self) -> u32 {
        self.zone.as_ref().map_or(0, WebFrame::filled) + self.hand.len() as u32
    }

    /// Moves on to the next group with a pack to pick.
    fn finds_group(&mut self) -> bool {
        let Some(frame) = &self.zone else {
            return false;
        };
        while let Some(group) = frame.pockets.chunks(self.gripper).nth(self.groups_done) {
            if group.iter().any(|pocket| pocket.pack.is_some_and(|pack| pack.tag == Reason::NONE)) {
                return true;
            }
            self.groups_done += 1;
        }
        false
    }
}

unit_getter!(robot, Robot, Robot);

impl World<'_> {
    /// A frame has come into the pick zone.
    pub(crate) fn robot_gets_frame(&mut self, station: usize, frame: WebFrame) {
        self.frames[FORMER].flow.handed_over += u64::from(frame.filled());
        if self.packs_wanted {
            for pack in frame.pockets.iter().filter_map(|pocket| pocket.pack) {
                self.tell(station, PackStep::Entered, &pack, Reason::NONE);
            }
        }
        let robot = self.robot(station);
        robot.zone = Some(frame);
        robot.groups_done = 0;
        self.robot_picks(station);
    }

    /// No untagged pack is left in the pick zone.
    pub(crate) fn pick_zone_is_clear(&mut self, station: usize) -> bool {
        self.robot(station).zone.as_ref().is_none_or(|frame| !frame.has_untagged())
    }

    /// The advance starts: packs left in the pick zone drop into the reject bin. Returns the emptied frame.
    pub(crate) fn pick_zone_empties(&mut self, station: usize) -> Option<WebFrame> {
        let frame = self.robot(station).zone.take()?;
        for pack in frame.pockets.iter().filter_map(|pocket| pocket.pack) {
            self.reject(station, &pack, pack.tag);
        }
        Some(frame)
    }

    /// Starts the next pick, if the robot is free and there is a group to pick.
    fn robot_picks(&mut self, station: usize) {
        let held = self.frames[station].is_held();
        let speed = self.speed(station);
        let robot = self.robot(station);
        if robot.doing != Doing::Nothing {
            return;
        }
        if held || !robot.finds_group() {
            return self.set_base(station, StationState::Starved);
        }
        robot.doing = Doing::Picking;
        let length = robot.pick.span().at_speed(speed);
        self.set_base(station, StationState::Running);
        let timer = self.frames[station].motion;
        self.set_in(timer, length);
    }

    /// A pick or a place motion is done.
    pub(crate) fn robot_moved(&mut self, station: usize) {
        match self.robot(station).doing {
            Doing::Picking => self.robot_has_picked(station),
            Doing::Placing => self.robot_places(station),
            Doing::Nothing | Doing::WaitingToPlace => {}
        }
    }

    fn robot_has_picked(&mut self, station: usize) {
        let speed = self.speed(station);
        let robot = self.robot(station);
        let mut dropped = Vec::new();
        let mut picked = std::mem::take(&mut robot.hand);
        if let Some(frame) = &mut robot.zone
            && let Some(group) = frame.pockets.chunks_mut(robot.gripper).nth(robot.groups_done)
        {
            for pocket in group {
                if let Some(pack) = pocket.pack.take_if(|pack| pack.tag == Reason::NONE) {
                    if robot.drop.happens(pack.id) { dropped.push(pack) } else { picked.push(pack) }
                }
            }
        }
        robot.groups_done += 1;
        robot.doing = Doing::Placing;
        let length = robot.place.span().at_speed(speed);
        for pack in &picked {
            self.tell(station, PackStep::Picked, pack, Reason::NONE);
        }
        for pack in &dropped {
            self.reject(station, pack, Reason::DROPPED);
        }
        self.robot(station).hand = picked;
        let timer = self.frames[station].motion;
        self.set_in(timer, length);
        // The zone may be clear now: the former need not wait for the place.
        self.former_advances(FORMER);
    }

    /// The place motion is done: it ends when the belt takes the packs.
    fn robot_places(&mut self, station: usize) {
        let hand = std::mem::take(&mut self.robot(station).hand);
        if !hand.is_empty() && !self.placed_on_belt(station, &hand) {
            let robot = self.robot(station);
            robot.hand = hand;
            robot.doing = Doing::WaitingToPlace;
            return self.set_base(station, StationState::Blocked);
        }
        let picked = hand.len() as u64;
        let robot = self.robot(station);
        robot.hand = hand;
        robot.hand.clear();
        robot.doing = Doing::Nothing;
        if self.cycle_makes(station, picked) {
            self.strike_if_due(station);
        }
        self.robot_picks(station);
    }

    fn placed_on_belt(&mut self, station: usize, hand: &[Piece]) -> bool {
        let next = station + 1;
        let taken = match &self.units[next] {
            Unit::RigidBelt(_) => self.belt_takes(next, hand),
            Unit::Accumulator(_) => self.accumulator_takes_all(next, hand),
            other => unreachable!("after the pick robot comes a belt or table: {other:?}"),
        };
        if taken {
            for pack in hand {
                self.handed_over(station, pack);
            }
        } else {
            self.frames[station].waits_for_room = true;
        }
        taken
    }

    /// The belt can take packs again.
    pub(crate) fn robot_hands_over(&mut self, station: usize) {
        if self.robot(station).doing == Doing::WaitingToPlace && !self.frames[station].is_held() {
            self.robot_places(station);
        }
    }

    pub(crate) fn robot_resumes(&mut self, station: usize) {
        self.robot_hands_over(station);
        self.robot_picks(station);
    }
}
