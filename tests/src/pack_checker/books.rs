//! The checker's own counters, against every counter and content row; and the balance at every event.

use super::{Check, PackChecker, Unit, fail};
use linewake_log::event::{Counter, NO_CONTENT};
use linewake_model::station::StationKind;
use linewake_model::stop::Reason;

impl PackChecker<'_> {
    pub(super) fn add(&mut self, station: usize, counter: Counter, reason: Reason, count: u64) {
        *self.totals.counts.entry((station, counter, reason)).or_default() += count;
    }

    fn own(&self, station: usize, counter: Counter, reason: Reason) -> u64 {
        self.totals.counts.get(&(station, counter, reason)).copied().unwrap_or(0)
    }

    /// The piece has been handed on by that station.
    pub(super) fn handed_over(&mut self, station: usize, item: u64) {
        self.add(station, Counter::HandedOver, Reason::NONE, 1);
        // Portions have numbers of their own; defects are those of packs.
        let is_pack = self.head.is_none() || station > 3;
        if station == self.good_after && is_pack {
            let defects = self.packs.get(&item).map(|pack| pack.defects.clone()).unwrap_or_default();
            for defect in defects {
                self.add(station, Counter::Escaped, defect, 1);
            }
        }
    }

    pub(super) fn pieces_begun(&self) -> u64 {
        match &self.units[0] {
            Unit::Arrivals(arrived, _) => *arrived,
            Unit::Machine(machine) => machine.done + u64::from(machine.in_hand.is_some()),
            _ => 0,
        }
    }

    /// Pieces in the station.
    pub(super) fn content(&self, station: usize) -> usize {
        match &self.units[station] {
            Unit::Accumulator(it) => it.content(),
            Unit::Belt(it) => it.content(),
            Unit::Gate(it) => usize::from(it.in_hand.is_some()),
            Unit::Packer(it) => it.packs.len(),
            Unit::Machine(it) => usize::from(it.in_hand.is_some()),
            Unit::Arrivals(_, holding) => usize::from(holding.is_some()),
            Unit::Elsewhere => match &self.line.stations[station].kind {
                StationKind::Portioner(_) => {
                    usize::from(self.head.as_ref().is_some_and(|head| head.holding.is_some()))
                }
                StationKind::Loader(_) => self.head.as_ref().map_or(0, |head| head.in_loader.len()),
                StationKind::Former(_) => self.web_packs,
                StationKind::PickRobot(_) => {
                    self.robot.as_ref().map_or(0, |robot| robot.zone.len() + robot.hand.len())
                }
                _ => 0,
            },
        }
    }

    /// Cycles that the station has finished: least and most that the events allow.
    pub(super) fn cycles(&self, station: usize) -> (u64, u64) {
        let time = self.time(station);
        let made = self.own(station, Counter::Made, Reason::NONE);
        match &self.units[station] {
            // A row of the instant of the verdict may be written before it or after it.
            Unit::Gate(gate) => match gate.judged(time.ran) {
                Some(true) if !gate.judged_before(time.ran) => (made, made + 1),
                Some(judged) => (made + u64::from(judged), made + u64::from(judged)),
                None => (made, made + 1),
            },
            Unit::Machine(machine) => (made, made + u64::from(machine.may_be_finished(time.ran))),
            Unit::Packer(packer) => (packer.cases, packer.cases),
            Unit::Accumulator(_) | Unit::Belt(_) | Unit::Arrivals(..) => (made, made),
            Unit::Elsewhere => match &self.line.stations[station].kind {
                StationKind::BulkSupply(_) => (made - 1, made),
                StationKind::Loader(_) => {
                    let loads = self.head.as_ref().map_or(0, |head| head.loads);
                    (loads.saturating_sub(1), loads)
                }
                StationKind::Former(_) => self.web.as_ref().map_or((0, 0), |web| web.bounds(time.ran)),
                StationKind::PickRobot(_) => self.robot.as_ref().map_or((0, 0), |it| (it.placings, it.picks)),
                _ => (made, made),
            },
        }
    }

    /// What the counter must stand at: least and most that the events allow; none if the checker cannot know.
    fn due(&self, station: usize, counter: Counter, reason: Reason) -> Option<(u64, u64)> {
        let time = self.time(station);
        let own = self.own(station, counter, reason);
        let (least, most) = match (counter, &self.units[station]) {
            (Counter::Made, Unit::Packer(_)) => (own, own),
            (Counter::Made, Unit::Elsewhere)
                if !matches!(self.line.stations[station].kind, StationKind::Loader(_)) =>
            {
                (own, own)
            }
            (Counter::Made, _) => self.cycles(station),
            (Counter::Indexes, _) => self.web.as_ref()?.bounds(time.ran),
            (Counter::EmptyPockets, _) => {
                let web = self.web.as_ref()?;
                let (least, most) = web.bounds(time.ran);
                let empty = |dwells: u64| (dwells * web.pockets).saturating_sub(web.cut_packs);
                (empty(least), empty(most + 1))
            }
            (Counter::ContentTime, Unit::Accumulator(it)) if !it.is_direct() => {
                (it.content_time, it.content_time)
            }
            (Counter::FullTime, Unit::Accumulator(it)) if !it.is_direct() => (it.full_time, it.full_time),
            (Counter::EmptyTime, Unit::Accumulator(it)) if !it.is_direct() => (it.empty_time, it.empty_time),
            (Counter::ContentTime | Counter::FullTime | Counter::EmptyTime, _) => return None,
            (Counter::MovedLoadedTime, Unit::Belt(it)) => {
                (it.moved_loaded(time.ran), it.moved_loaded(time.ran))
            }
            _ => (own, own),
        };
        Some((least, most))
    }

    pub(super) fn count(&mut self, station: usize, counter: Counter, reason: Reason, value: u64) -> Check {
        let line = self.breaks.line_time(self.now).0;
        if let Unit::Accumulator(it) = &mut self.units[station] {
            it.book(line);
        }
        if let Some((least, most)) = self.due(station, counter, reason)
            && !(least..=most).contains(&value)
        {
            return fail(format!("the checker counts {least} to {most}"));
        }
        if counter == Counter::Indexes {
            let ran = self.time(station).ran;
            if let Some(web) = &mut self.web {
                web.sees_count(value, ran)?;
            }
        }
        let before = self.written.insert((station, counter, reason), value);
        if before.is_some_and(|before| before > value) {
            return fail("a counter falls");
        }
        if counter == Counter::EmptyPockets
            && let Some(web) = &self.web
            && !(value + web.cut_packs).is_multiple_of(web.pockets)
        {
            return fail(format!("{} packs and {value} empty pockets are no whole frames", web.cut_packs));
        }
        Ok(())
    }

    pub(super) fn content_row(&self, station: usize, pieces: u32) -> Check {
        let own = self.content(station);
        if own != pieces as usize { fail(format!("the checker counts {own} pieces")) } else { Ok(()) }
    }

    /// The counts and contents of a state row.
    pub(super) fn state_row(&self, station: usize, made: u64, before: u32, after: u32) -> Check {
        if let Some((least, most)) = self.due(station, Counter::Made, Reason::NONE)
            && !(least..=most).contains(&made)
        {
            return fail(format!("the checker counts {least} to {most} made"));
        }
        for (neighbour, row) in [(station.checked_sub(1), before), (Some(station + 1), after)] {
            let unit = neighbour.and_then(|neighbour| Some((neighbour, self.units.get(neighbour)?)));
            let own = match unit {
                Some((neighbour, Unit::Accumulator(_) | Unit::Belt(_))) => self.content(neighbour) as u32,
                _ => NO_CONTENT,
            };
            if own != row {
                return fail(format!("the belt or table beside it holds {own}, not {row}"));
            }
        }
        Ok(())
    }

    /// Every portion, pack and gram is in exactly one place.
    pub(super) fn balance(&self) -> Check {
        let in_stations: usize = match &self.head {
            None => (0..self.units.len()).map(|station| self.content(station)).sum(),
            Some(_) => (4..self.units.len()).map(|station| self.content(station)).sum(),
        };
        if in_stations != self.packs.len() {
            return fail(format!("{in_stations} packs are in stations and {} in the line", self.packs.len()));
        }
        let Some(head) = &self.head else { return Ok(()) };
        let before_pockets: usize = (1..4).map(|station| self.content(station)).sum();
        if before_pockets != head.portions.len() {
            return fail(format!("{before_pockets} portions are before the web, of {}", head.portions.len()));
        }
        if head.cut != before_pockets as u64 + self.portions_in_packs + self.portions_gone {
            return fail(format!(
                "of {} portions {before_pockets} are before the web, {} in packs, {} gone",
                head.cut, self.portions_in_packs, self.portions_gone
            ));
        }
        let outside = self.portions_ug + self.packs_ug + self.totals.gone_ug;
        if head.drawn_ug != outside {
            return fail(format!(
                "{} ug were drawn and {outside} ug are in portions and packs",
                head.drawn_ug
            ));
        }
        Ok(())
    }

    /// At the end every counter of the checker has been written, and stands at its value.
    pub(super) fn books_are_complete(&self) -> Check {
        for ((station, counter, reason), own) in &self.totals.counts {
            let id = &self.line.stations[*station].id;
            let written = self.written.get(&(*station, *counter, *reason)).copied().unwrap_or(0);
            if let Some((least, most)) = self.due(*station, *counter, *reason)
                && !(least..=most).contains(&written)
            {
                return fail(format!(
                    "{} {reason:?} of {id} was last {written}, and is {own}",
                    counter.word()
                ));
            }
        }
        for ((station, counter, reason), written) in &self.written {
            if *written > 0 && matches!(counter, Counter::Rejected | Counter::Escaped | Counter::Tagged) {
                let own = self.own(*station, *counter, *reason);
                if own != *written {
                    return fail(format!("{} {reason:?} was last {written}, and is {own}", counter.word()));
                }
            }
        }
        Ok(())
    }
}
