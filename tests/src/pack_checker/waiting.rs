//! At the end of every instant: whoever waits has a reason to, and whoever works has something to work on.

use super::{Check, PackChecker, Unit, fail};
use linewake_log::event::StationState;
use linewake_model::station::StationKind;

impl PackChecker<'_> {
    pub(super) fn waits_are_justified(&self) -> Check {
        if self.breaks.within(self.now) {
            return Ok(());
        }
        for station in 0..self.units.len() {
            let state = self.clocks[station].state.map(|(state, _)| state);
            self.station_is_consistent(station, state).map_err(|what| {
                let id = &self.line.stations[station].id;
                format!("at the end of the instant {}: {id} is {state:?}: {what}", self.now)
            })?;
        }
        Ok(())
    }

    /// Whether the station behind could take a piece; none if the events do not tell.
    fn room_behind(&self, station: usize) -> Option<bool> {
        let Some(next) = self.destination(station) else { return Some(true) };
        let directly_held = (station + 1..next).any(|between| self.clocks[between].is_held());
        if directly_held || self.clocks[next].is_held() && !matches!(self.units[next], Unit::Packer(_)) {
            return Some(false);
        }
        let ran = self.clocks[next].ran(self.now);
        let state = self.clocks[next].state.map(|(state, _)| state);
        match &self.units[next] {
            // The robot places all that it holds at once.
            Unit::Accumulator(it) => {
                let hand = self.robot.as_ref().filter(|_| station == 5).map_or(1, |robot| robot.hand.len());
                Some(it.has_room_for(hand))
            }
            Unit::Belt(it) => {
                if state == Some(StationState::Running) {
                    it.infeed_is_free(ran)
                } else {
                    Some(false)
                }
            }
            Unit::Gate(it) => {
                let due = it
                    .spec
                    .challenge
                    .as_ref()
                    .is_some_and(|challenge| self.now.0 / challenge.interval.0 > it.challenges);
                Some(it.in_hand.is_none() && !due)
            }
            Unit::Machine(it) => Some(it.in_hand.is_none()),
            Unit::Packer(it) => {
                let held = self.clocks[next].is_held();
                let in_cycle = state == Some(StationState::Running);
                (!held).then(|| it.lane(in_cycle) < it.spec.lane_packs as usize)
            }
            Unit::Arrivals(..) | Unit::Elsewhere => None,
        }
    }

    fn station_is_consistent(&self, station: usize, state: Option<StationState>) -> Check {
        let time = self.time(station);
        let blocked = state == Some(StationState::Blocked);
        let starved = state == Some(StationState::Starved);
        let running = state == Some(StationState::Running);
        let held = self.clocks[station].is_held();
        if blocked && self.takes_pieces_on(station) && self.room_behind(station) == Some(true) {
            return fail("and there is room behind it");
        }
        match &self.units[station] {
            Unit::Accumulator(it) => {
                if !held && it.has_ready(time.free) && self.room_behind(station) == Some(true) {
                    return fail("a piece could leave and stays");
                }
            }
            Unit::Belt(it) => {
                let at_end = it.pack_at_end(time.ran);
                if blocked && at_end == Some(false) || running && at_end == Some(true) {
                    return fail(format!("pack at its end: {at_end:?}"));
                }
                if starved {
                    return fail("a rigid belt is never starved");
                }
            }
            Unit::Gate(it) => {
                let judged = it.judged(time.ran);
                let busy = it.in_hand.is_some();
                if starved && busy || (running || blocked) && !busy {
                    return fail(format!("pack in it: {busy}"));
                }
                if running && judged == Some(true) || blocked && judged == Some(false) {
                    return fail(format!("the pack in it is judged: {judged:?}"));
                }
            }
            Unit::Machine(it) => {
                let busy = it.in_hand.is_some();
                if starved && busy || (running || blocked) && !busy {
                    return fail(format!("piece in it: {busy}"));
                }
            }
            Unit::Packer(it) => {
                let case = it.spec.packs_per_case as usize;
                if starved && it.packs.len() >= case || running && it.packs.len() < case || blocked {
                    return fail(format!("{} packs are in it", it.packs.len()));
                }
                if (starved || running) && it.lane(running) > it.spec.lane_packs as usize {
                    return fail(format!("{} packs are in the lane", it.lane(running)));
                }
            }
            Unit::Arrivals(_, holding) => {
                if blocked != holding.is_some() && !held {
                    return fail(format!("a piece waits: {holding:?}"));
                }
            }
            Unit::Elsewhere => return self.head_is_consistent(station, blocked, starved, running),
        }
        Ok(())
    }

    fn takes_pieces_on(&self, station: usize) -> bool {
        !matches!(
            self.line.stations[station].kind,
            StationKind::BulkSupply(_) | StationKind::Loader(_) | StationKind::Former(_)
        )
    }

    fn head_is_consistent(&self, station: usize, blocked: bool, starved: bool, running: bool) -> Check {
        let (Some(head), Some(robot)) = (&self.head, &self.robot) else { return Ok(()) };
        match &self.line.stations[station].kind {
            StationKind::BulkSupply(_) => {
                if blocked && !head.hopper_is_full() {
                    return fail(format!("the hopper holds {} ug", head.level_ug()));
                }
                if starved {
                    return fail("the supply has nothing upstream");
                }
            }
            StationKind::Portioner(_) => {
                let holds = head.holding.is_some();
                if blocked != holds && (blocked || starved || running) {
                    return fail(format!("it holds a portion: {holds}"));
                }
                if starved && head.level_ug() >= head.nominal_ug() {
                    return fail(format!("the hopper holds {} ug", head.level_ug()));
                }
            }
            StationKind::Loader(_) => {
                let array = (head.loader.lanes * head.loader.array_rows) as usize;
                // A portion that is being taken is not in the file yet.
                let taking = usize::from(head.loader.take.0 > 0);
                let held = head.in_loader.len();
                if starved && held >= array + taking || blocked && held < array {
                    return fail(format!("{} portions are in it, of {array}", head.in_loader.len()));
                }
            }
            StationKind::Former(_) if blocked && !robot.has_untagged() => {
                return fail("the pick zone is clear");
            }
            StationKind::PickRobot(_) => {
                if starved && (robot.has_untagged() || !robot.hand.is_empty()) {
                    return fail(format!(
                        "{:?} are in the zone, {:?} in the gripper",
                        robot.zone, robot.hand
                    ));
                }
                if blocked && robot.hand.is_empty() {
                    return fail("nothing is in the gripper");
                }
            }
            _ => {}
        }
        Ok(())
    }
}
