//! Steps of portions and packs: each comes from the place where it was.

use super::web::{Pack, Place};
use super::{Check, PackChecker, Unit, fail};
use linewake_log::event::{Counter, NO_ITEM, PackStep};
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;

/// A pack event.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub(super) step: PackStep,
    pub(super) item: u64,
    pub(super) into: u64,
    pub(super) reason: Reason,
    pub(super) weight_ug: u64,
}

const LOADER: usize = 3;
const FORMER: usize = 4;
const ROBOT: usize = 5;

impl PackChecker<'_> {
    pub(super) fn pack(&mut self, station: usize, it: Step) -> Check {
        let tipped_in_break = it.step == PackStep::Tipped && self.line.shift.supply_in_breaks;
        if self.breaks.within(self.now) && !tipped_in_break {
            return fail("a piece moves in a break");
        }
        let goes_into = matches!(it.step, PackStep::Loaded | PackStep::Cased);
        if goes_into == (it.into == NO_ITEM) {
            return fail("the number of what it goes into is there or missing");
        }
        match it.step {
            PackStep::Tipped => self.tipped(station, it),
            PackStep::Portioned => self.portioned(station, it),
            PackStep::Entered => self.entered(station, it),
            PackStep::Loaded => self.loaded(station, it),
            PackStep::Cut => self.cut(station, it),
            PackStep::Defect => self.defect(station, it),
            PackStep::Tagged => self.tagged(station, it),
            PackStep::Rejected => self.rejected(station, it),
            PackStep::Picked => self.picked(station, it),
            PackStep::Cased | PackStep::Left => self.gone(station, it),
            PackStep::Lost => self.lost(station, it),
            PackStep::Advanced => self.advanced(station, it),
        }
    }

    fn advanced(&mut self, station: usize, it: Step) -> Check {
        let time = self.time(station);
        let Some(web) = self.web.as_mut().filter(|_| station == FORMER) else {
            return fail("no former here");
        };
        if it.weight_ug != 0 {
            return fail("an advance weighs nothing");
        }
        self.moved.push(station);
        web.told_of_advance(it.item, time.ran)
    }

    fn tipped(&mut self, station: usize, it: Step) -> Check {
        let Some(head) = self.head.as_mut().filter(|_| station == 0) else { return fail("no supply here") };
        head.tips(it.item, it.weight_ug)?;
        self.add(station, Counter::Made, Reason::NONE, 1);
        self.add(station, Counter::TippedMg, Reason::NONE, it.weight_ug / 1000);
        Ok(())
    }

    fn portioned(&mut self, station: usize, it: Step) -> Check {
        let time = self.time(station);
        self.add(station, Counter::Made, Reason::NONE, 1);
        self.moved.push(station);
        if let Some(head) = self.head.as_mut() {
            self.portions_ug += it.weight_ug;
            return if station == 1 {
                head.cuts(it.item, it.weight_ug, time)
            } else {
                fail("no portioner here")
            };
        }
        let Unit::Arrivals(arrived, holding) = &mut self.units[station] else {
            return fail("nothing arrives here");
        };
        if *arrived != it.item || holding.is_some() {
            return fail(format!("arrival {} follows {arrived} arrivals, and {holding:?} waits", it.item));
        }
        *arrived += 1;
        *holding = Some(it.item);
        self.piece_begins(station, it)
    }

    fn piece_begins(&mut self, station: usize, it: Step) -> Check {
        let pack = Pack {
            weight_ug: 0,
            portions: 0,
            born: self.time(station).line,
            open_since: 0,
            defects: Vec::new(),
            tag: Reason::NONE,
            cut: false,
            place: Place::At(station),
        };
        if it.weight_ug != 0 || self.packs.insert(it.item, pack).is_some() {
            return fail(format!("piece {} begins twice, or has a weight", it.item));
        }
        Ok(())
    }

    /// The station before, direct hand-overs left out.
    pub(super) fn source(&self, station: usize) -> Option<usize> {
        (0..station)
            .rev()
            .find(|before| !matches!(&self.units[*before], Unit::Accumulator(it) if it.is_direct()))
    }

    /// The station after, direct hand-overs left out.
    pub(super) fn destination(&self, station: usize) -> Option<usize> {
        let is_direct = |next: &usize| matches!(&self.units[*next], Unit::Accumulator(it) if it.is_direct());
        (station + 1..self.units.len()).find(|next| !is_direct(next))
    }

    fn entered(&mut self, station: usize, it: Step) -> Check {
        let Some(source) = self.source(station) else {
            let Unit::Machine(machine) = &self.units[station] else { return fail("nothing comes before it") };
            if it.item != machine.done {
                return fail(format!("piece {} follows {} pieces", it.item, machine.done));
            }
            self.piece_begins(station, it)?;
            return self.comes_in(station, it.item);
        };
        if let Some(head) = self.head.as_ref().filter(|_| station <= LOADER) {
            if head.portions.get(&it.item).is_none_or(|portion| portion.weight_ug != it.weight_ug) {
                return fail(format!("portion {} of {} ug is not on its way", it.item, it.weight_ug));
            }
        } else {
            let pack = self.known(it)?;
            let due = match source {
                FORMER if self.head.is_some() => Place::Web,
                ROBOT if self.head.is_some() => Place::Gripper,
                _ => Place::At(source),
            };
            if pack.place != due {
                return fail(format!("pack {} comes from {:?}, not from {due:?}", it.item, pack.place));
            }
            if pack.tag != Reason::NONE && station != ROBOT {
                return fail(format!("pack {} is tagged {:?} and goes on", it.item, pack.tag));
            }
        }
        self.goes_out(source, it.item)?;
        self.comes_in(station, it.item)?;
        for from in source..station {
            self.handed_over(from, it.item);
            if from != source {
                self.add(from, Counter::Made, Reason::NONE, 1);
            }
        }
        Ok(())
    }

    /// The pack of that step, with its weight.
    fn known(&self, it: Step) -> Result<&Pack, String> {
        let Some(pack) = self.packs.get(&it.item) else {
            return Err(format!("pack {} does not exist", it.item));
        };
        if pack.weight_ug != it.weight_ug {
            return Err(format!("pack {} weighs {} ug, not {} ug", it.item, pack.weight_ug, it.weight_ug));
        }
        Ok(pack)
    }

    /// The piece leaves the station for the next one.
    fn goes_out(&mut self, station: usize, item: u64) -> Check {
        let time = self.time(station);
        match &mut self.units[station] {
            Unit::Accumulator(it) => {
                self.moved.push(station);
                it.leaves(item, time)?;
            }
            Unit::Belt(it) => {
                self.moved.push(station);
                it.leaves(item, time)?;
            }
            Unit::Gate(it) => it.passes(item, time)?,
            Unit::Machine(it) => it.leaves(item, time)?,
            Unit::Arrivals(_, holding) => {
                return if holding.take() == Some(item) { Ok(()) } else { fail("it has not arrived") };
            }
            Unit::Packer(_) => return fail("packs leave the packer in cases"),
            Unit::Elsewhere => {
                return match (&self.line.stations[station].kind, &mut self.head, &mut self.robot) {
                    (StationKind::Portioner(_), Some(head), _) => head.portioner_releases(item),
                    (StationKind::PickRobot(_), _, Some(robot)) => {
                        self.moved.push(station);
                        robot.places(item, time)?;
                        self.add(station, Counter::Made, Reason::NONE, 1);
                        Ok(())
                    }
                    (StationKind::Former(_), ..) => {
                        self.web_packs -= 1;
                        if self.packs.get(&item).is_some_and(|pack| pack.cut) {
                            Ok(())
                        } else {
                            fail("not cut")
                        }
                    }
                    _ => fail("nothing leaves it so"),
                };
            }
        }
        self.add(station, Counter::Made, Reason::NONE, 1);
        Ok(())
    }

    fn comes_in(&mut self, station: usize, item: u64) -> Check {
        let time = self.time(station);
        let mut place = Place::At(station);
        match &mut self.units[station] {
            Unit::Accumulator(it) => it.enters(item, time)?,
            Unit::Belt(it) => it.enters(item, time)?,
            Unit::Gate(it) => it.enters(item, time)?,
            Unit::Machine(it) => it.enters(item, time)?,
            Unit::Packer(it) => it.enters(item)?,
            Unit::Arrivals(..) => return fail("nothing comes in here"),
            Unit::Elsewhere => match (station, &mut self.head, &mut self.robot) {
                (LOADER, Some(head), _) => head.enters_loader(item, time)?,
                (ROBOT, _, Some(robot)) => {
                    robot.enters(item, self.packs[&item].tag != Reason::NONE)?;
                    place = Place::PickZone;
                }
                _ => return fail("nothing comes in so"),
            },
        }
        if !matches!(self.units[station], Unit::Packer(_)) && station != ROBOT {
            self.moved.push(station);
        }
        if place == Place::PickZone {
            let ran = self.time(FORMER).ran;
            if let Some(web) = &mut self.web {
                web.sees_advance(item / web.pockets + 1, ran)?;
            }
        }
        let is_pack = self.head.is_none() || station > LOADER;
        if let Some(pack) = self.packs.get_mut(&item).filter(|_| is_pack) {
            pack.place = place;
        }
        Ok(())
    }

    fn loaded(&mut self, station: usize, it: Step) -> Check {
        let Some(head) = self.head.as_mut().filter(|_| station == LOADER) else {
            return fail("no loader here");
        };
        let portion = head.loads(it.item, it.into)?;
        if portion.weight_ug != it.weight_ug {
            return fail(format!("the portion weighs {} ug", portion.weight_ug));
        }
        let loads = head.loader.loads_per_zone;
        self.moved.push(station);
        let web_packs = &mut self.web_packs;
        let pack = self.packs.entry(it.into).or_insert_with(|| {
            *web_packs += 1;
            Pack {
                weight_ug: 0,
                portions: 0,
                born: u64::MAX,
                open_since: u64::MAX,
                defects: Vec::new(),
                tag: Reason::NONE,
                cut: false,
                place: Place::Web,
            }
        });
        if pack.place != Place::Web || pack.cut || pack.portions >= loads {
            return fail(format!("pocket {} is full, or gone", it.into));
        }
        pack.weight_ug += portion.weight_ug;
        pack.portions += 1;
        pack.born = pack.born.min(portion.born);
        pack.open_since = pack.open_since.min(portion.open_since);
        self.portions_ug -= portion.weight_ug;
        self.packs_ug += portion.weight_ug;
        self.portions_in_packs += 1;
        self.add(station, Counter::HandedOver, Reason::NONE, 1);
        Ok(())
    }

    /// Checks the load of the instant, if there was one.
    pub(super) fn load_over(&mut self) -> Check {
        let time = self.time(LOADER.min(self.units.len() - 1));
        let (Some(head), Some(web)) = (&mut self.head, &mut self.web) else { return Ok(()) };
        let first = head.instant_over(web.pockets, u64::from(web.spec.rows_per_index), time)?;
        if let Some(first) = first {
            let time = self.time(FORMER);
            if let Some(web) = &mut self.web {
                web.loaded(first, time)?;
            }
        }
        Ok(())
    }

    fn cut(&mut self, station: usize, it: Step) -> Check {
        let pack = self.known(it)?.clone();
        let time = self.time(station);
        let loads = self.head.as_ref().map_or(0, |head| head.loader.loads_per_zone);
        let Some(web) = self.web.as_mut().filter(|_| station == FORMER) else {
            return fail("no former here");
        };
        web.cuts(it.item, loads, &pack, time)?;
        self.moved.push(station);
        if let Some(pack) = self.packs.get_mut(&it.item) {
            pack.cut = true;
        }
        self.add(station, Counter::Made, Reason::NONE, 1);
        Ok(())
    }

    fn defect(&mut self, station: usize, it: Step) -> Check {
        let pack = self.known(it)?.clone();
        let time = self.time(station);
        if let Some(web) = self.web.as_mut() {
            if station != FORMER {
                return fail("defects of packs arise on the web");
            }
            web.defect(it.item, &pack, it.reason, time)?;
        } else {
            let own =
                self.line.own_defects.iter().any(|own| own.reason == it.reason && own.probability > 0.0);
            let enters = station == 0 && pack.place == Place::At(0) && pack.born == time.line;
            if !own || !enters || pack.defects.contains(&it.reason) {
                return fail(format!("piece {} cannot get defect {:?} here", it.item, it.reason));
            }
        }
        if let Some(pack) = self.packs.get_mut(&it.item) {
            pack.defects.push(it.reason);
        }
        Ok(())
    }

    fn tagged(&mut self, station: usize, it: Step) -> Check {
        let pack = self.known(it)?.clone();
        let time = self.time(station);
        let Some(web) = self.web.as_mut().filter(|_| station == FORMER) else {
            return fail("no former here");
        };
        let just_loaded =
            self.head.as_ref().is_some_and(|head| head.load.iter().any(|(_, pocket)| *pocket == it.item));
        web.tags(it.item, &pack, it.reason, just_loaded, time)?;
        if let Some(pack) = self.packs.get_mut(&it.item) {
            pack.tag = it.reason;
        }
        self.add(station, Counter::Tagged, it.reason, 1);
        Ok(())
    }

    fn picked(&mut self, station: usize, it: Step) -> Check {
        self.known(it)?;
        let time = self.time(station);
        let Some(robot) = self.robot.as_mut().filter(|_| station == ROBOT) else {
            return fail("no robot here");
        };
        self.moved.push(station);
        robot.picks(it.item, false, time)?;
        if let Some(pack) = self.packs.get_mut(&it.item) {
            pack.place = Place::Gripper;
        }
        Ok(())
    }

    fn rejected(&mut self, station: usize, it: Step) -> Check {
        let pack = self.known(it)?.clone();
        let time = self.time(station);
        match (&mut self.units[station], &mut self.robot) {
            (Unit::Gate(gate), _) => {
                self.moved.push(station);
                gate.rejects(it.item, it.reason, &pack.defects, time)?;
                self.add(station, Counter::Made, Reason::NONE, 1);
            }
            (Unit::Elsewhere, Some(robot)) if station == ROBOT && it.reason == Reason::DROPPED => {
                self.moved.push(station);
                robot.picks(it.item, true, time)?;
            }
            (Unit::Elsewhere, Some(robot)) if station == ROBOT => {
                if it.reason != pack.tag || pack.tag == Reason::NONE {
                    return fail(format!("pack {} is tagged {:?}", it.item, pack.tag));
                }
                robot.rejects(it.item)?;
            }
            _ => return fail("nothing is rejected here"),
        }
        self.add(station, Counter::Rejected, it.reason, 1);
        self.forget(it.item);
        Ok(())
    }

    /// The pack is in no place of the line any more.
    fn forget(&mut self, item: u64) {
        if let Some(pack) = self.packs.remove(&item) {
            self.packs_ug -= pack.weight_ug;
            self.totals.gone_ug += pack.weight_ug;
            self.portions_in_packs -= u64::from(pack.portions);
            self.portions_gone += u64::from(pack.portions);
        }
    }

    fn gone(&mut self, station: usize, it: Step) -> Check {
        let born = self.known(it)?.born;
        let time = self.time(station);
        if station + 1 != self.units.len() {
            return fail("pieces leave the line at its end only");
        }
        match &mut self.units[station] {
            Unit::Packer(packer) if it.step == PackStep::Cased => {
                let before = packer.cases;
                packer.cased(it.item, it.into, time)?;
                let cases = packer.cases - before;
                self.moved.push(station);
                self.add(station, Counter::Made, Reason::NONE, 1);
                if cases > 0 {
                    self.add(station, Counter::Cased, Reason::NONE, cases);
                }
            }
            Unit::Gate(_) | Unit::Machine(_) if it.step == PackStep::Left => {
                self.goes_out(station, it.item)?
            }
            _ => return fail("nothing leaves the line so"),
        }
        self.handed_over(station, it.item);
        self.add(station, Counter::TimeInLine, Reason::NONE, time.line - born);
        self.forget(it.item);
        Ok(())
    }

    fn lost(&mut self, station: usize, it: Step) -> Check {
        self.known(it)?;
        let Unit::Arrivals(_, holding) = &mut self.units[station] else {
            return fail("nothing arrives here");
        };
        if holding.take() != Some(it.item) {
            return fail(format!("arrival {} does not wait", it.item));
        }
        self.add(station, Counter::Lost, Reason::NONE, 1);
        self.forget(it.item);
        Ok(())
    }
}
