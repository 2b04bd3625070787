//! The pick zone and the gripper: what the robot takes, and what it leaves behind.

use super::{Check, Time, fail};
use linewake_model::line::Line;
use linewake_model::station::StationKind;
use linewake_model::time::Span;
use linewake_stats::distribution::Distribution;
use std::collections::BTreeMap;

/// The pick zone and the gripper.
#[derive(Clone, Debug)]
pub(super) struct Robot {
    gripper: u64,
    pockets: u64,
    /// Frame in the zone.
    frame: Option<u64>,
    /// Packs in the zone: pocket and whether it is tagged.
    pub(super) zone: BTreeMap<u64, bool>,
    /// Group of the last pick, and instant of it.
    last_group: Option<(u64, u64)>,
    /// Packs in the gripper, in the order of their pockets.
    pub(super) hand: Vec<u64>,
    /// Running time at the last pick.
    last_pick_ran: Option<u64>,
    pick: Option<u64>,
    place: Option<u64>,
    least: (u64, u64),
    pub(super) picks: u64,
    /// Picks whose place is seen: something was placed.
    pub(super) placings: u64,
    placed_at: Option<u64>,
}

impl Robot {
    pub(super) fn of(line: &Line, pockets: u64) -> Option<Self> {
        let StationKind::PickRobot(robot) = &line.stations.get(5)?.kind else { return None };
        let (_, fastest) = super::conveyors::shares(line.stations[5].speed_control.as_ref());
        let exact = line.stations[5].speed_control.is_none();
        let least = |dist: &Distribution| Span::from_seconds(dist.smallest());
        let constant = |dist: &Distribution| (exact && dist.is_constant()).then(|| least(dist).0);
        Some(Self {
            gripper: u64::from(robot.gripper),
            pockets,
            frame: None,
            zone: BTreeMap::new(),
            last_group: None,
            hand: Vec::new(),
            last_pick_ran: None,
            pick: constant(&robot.pick_s),
            place: constant(&robot.place_s),
            least: (least(&robot.pick_s).at_speed(fastest).0, least(&robot.place_s).at_speed(fastest).0),
            picks: 0,
            placings: 0,
            placed_at: None,
        })
    }

    pub(super) fn has_untagged(&self) -> bool {
        self.zone.values().any(|tagged| !tagged)
    }

    /// A pack of a new frame is in the zone.
    pub(super) fn enters(&mut self, pocket: u64, tagged: bool) -> Check {
        let frame = pocket / self.pockets;
        if self.frame != Some(frame) {
            if !self.zone.is_empty() {
                return fail(format!("frame {frame} comes and {:?} are left in the zone", self.zone));
            }
            if self.frame.is_some_and(|before| frame <= before) {
                return fail(format!("frame {frame} comes after frame {:?}", self.frame));
            }
            self.frame = Some(frame);
            self.last_group = None;
        }
        self.zone.insert(pocket, tagged);
        Ok(())
    }

    /// The pick of a pack is done: it is in the gripper, or lost.
    pub(super) fn picks(&mut self, pocket: u64, lost: bool, time: Time) -> Check {
        match self.zone.remove(&pocket) {
            Some(false) => {}
            Some(true) => return fail(format!("tagged pack {pocket} is picked")),
            None => return fail(format!("pack {pocket} is picked and is not in the zone")),
        }
        let group = pocket % self.pockets / self.gripper;
        match self.last_group {
            Some((last, at)) if at == time.at && last == group => {}
            Some((last, at)) if at == time.at || group <= last => {
                return fail(format!("group {group} is picked after group {last}"));
            }
            _ => {
                if !self.hand.is_empty() {
                    return fail(format!("a pick ends while {:?} are in the gripper", self.hand));
                }
                self.picks += 1;
                if let Some(last) = self.last_pick_ran {
                    let took = time.ran - last;
                    let due = self.pick.zip(self.place).map(|(pick, place)| pick + place);
                    if took < self.least.0 + self.least.1 || due.is_some_and(|due| took != due) {
                        return fail(format!("place and pick took {took} us, not {due:?}"));
                    }
                } else if self.pick.is_some_and(|pick| pick != time.ran) {
                    return fail(format!("the first pick took {} us", time.ran));
                }
                self.last_pick_ran = Some(time.ran);
            }
        }
        self.last_group = Some((group, time.at));
        if !lost {
            self.hand.push(pocket);
        }
        Ok(())
    }

    /// A pack of the gripper is on the belt.
    pub(super) fn places(&mut self, pocket: u64, time: Time) -> Check {
        let Some(place) = self.hand.iter().position(|held| *held == pocket) else {
            return fail(format!("pack {pocket} is placed and is not in the gripper"));
        };
        if place != 0 {
            return fail(format!("pack {pocket} is placed before {}", self.hand[0]));
        }
        self.hand.remove(0);
        let took = self.last_pick_ran.map_or(0, |last| time.ran - last);
        if took < self.least.1 || self.place.is_some_and(|place| place != took) {
            return fail(format!("the place took {took} us"));
        }
        if self.placed_at != Some(time.at) {
            self.placings += 1;
            self.placed_at = Some(time.at);
        }
        Ok(())
    }

    /// A tagged pack drops into the reject bin as the advance starts.
    pub(super) fn rejects(&mut self, pocket: u64) -> Check {
        if self.zone.remove(&pocket) != Some(true) {
            return fail(format!("pack {pocket} is rejected and is not in the zone, tagged"));
        }
        if self.has_untagged() {
            return fail(format!("the zone empties and {:?} are in it, untagged", self.zone));
        }
        Ok(())
    }

    /// After a pick no untagged pack is left in its group, and a placement is whole.
    pub(super) fn instant_over(&self, time: Time) -> Check {
        if let Some((group, at)) = self.last_group
            && at == time.at
            && self
                .zone
                .iter()
                .any(|(pocket, tagged)| !tagged && pocket % self.pockets / self.gripper == group)
        {
            return fail(format!("group {group} was picked in part"));
        }
        if self.placed_at == Some(time.at) && self.last_pick_ran != Some(time.ran) && !self.hand.is_empty() {
            return fail("the gripper was emptied in part");
        }
        Ok(())
    }
}
