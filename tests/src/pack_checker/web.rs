//! The web: pockets, marks, tags, and how far it has advanced.

use super::{Check, Time, fail};
use linewake_model::line::Line;
use linewake_model::station::{Former, StationKind};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use std::collections::BTreeMap;

/// Where a pack is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// In a pocket of the web, not cut yet or cut and not yet in the pick zone.
    Web,
    /// In the pick zone.
    PickZone,
    /// In the gripper.
    Gripper,
    /// In or on that station.
    At(usize),
}

/// A pocket with product, a pack, or a piece of a line of generic machines.
#[derive(Clone, Debug)]
pub(super) struct Pack {
    pub(super) weight_ug: u64,
    pub(super) portions: u32,
    /// Line time at which its first portion was cut.
    pub(super) born: u64,
    /// Calendar time since which its product stands open.
    pub(super) open_since: u64,
    pub(super) defects: Vec<Reason>,
    pub(super) tag: Reason,
    pub(super) cut: bool,
    pub(super) place: Place,
}

/// The web, as far as the packs tell of it.
#[derive(Clone, Debug)]
pub(super) struct Web {
    pub(super) spec: Former,
    /// Place of the former.
    pub(super) pockets: u64,
    own_defects: Vec<Reason>,
    open_time_limit: Option<Span>,
    scraps_first: bool,
    /// Advances known for certain, and the former's running time when they were seen.
    pub(super) advances: u64,
    /// Advances that the log has told of.
    told: u64,
    seen_ran: u64,
    /// Running time of the cycle that may have passed already when they were seen.
    seen_credit: u64,
    /// Advance and running time at the last cut.
    last_cut: Option<(u64, u64)>,
    cut_at: Option<u64>,
    fastest: f64,
    /// Vision: the last index with a tag, indexes in a row, and the advance at which the stop rule was met.
    tagged_index: Option<(u64, u32)>,
    pub(super) rule_met: Option<u64>,
    /// Other tags hide what vision finds.
    vision_is_hidden: bool,
    own_stops: bool,
    /// A former's stop longer than the limit ended at this instant.
    pub(super) long_stop_ended: Option<Moment>,
    /// Last instant at which packs were tagged for one.
    scrapped_at: Option<u64>,
    pub(super) cut_packs: u64,
}

impl Web {
    pub(super) fn of(line: &Line, own_stops: bool) -> Option<Self> {
        let StationKind::Former(former) = &line.stations.get(4)?.kind else { return None };
        let StationKind::Loader(loader) = &line.stations.get(3)?.kind else { return None };
        let scraps_first =
            line.stations.iter().any(|it| it.stops.iter().any(|stop| stop.scrap_after_indexes > 0));
        Some(Self {
            pockets: former.pockets() as u64,
            own_defects: line.own_defects.iter().map(|defect| defect.reason).collect(),
            open_time_limit: loader.open_time_limit,
            vision_is_hidden: scraps_first || loader.open_time_limit.is_some() || former.stop_scrap.is_some(),
            scraps_first,
            fastest: super::conveyors::shares(line.stations[4].speed_control.as_ref()).1,
            spec: (**former).clone(),
            advances: 0,
            told: 0,
            seen_ran: 0,
            seen_credit: 0,
            last_cut: None,
            cut_at: None,
            tagged_index: None,
            rule_met: None,
            own_stops,
            long_stop_ended: None,
            scrapped_at: None,
            cut_packs: 0,
        })
    }

    fn cycle(&self) -> u64 {
        (self.spec.dwell() + self.spec.advance).0
    }

    /// Advances are at least this many and at most that many.
    pub(super) fn bounds(&self, ran: u64) -> (u64, u64) {
        let possible = (ran - self.seen_ran + self.seen_credit) / self.cycle();
        (self.advances, self.advances + possible)
    }

    /// So many advances have been made, seen in the dwell.
    fn sees(&mut self, advances: u64, ran: u64) -> Check {
        self.sees_with(advances, ran, self.spec.dwell().0)
    }

    /// So many advances have been made, the last one just now.
    pub(super) fn sees_advance(&mut self, advances: u64, ran: u64) -> Check {
        self.sees_with(advances, ran, 0)
    }

    /// So many advances have been made, seen at any time: perhaps just before the next one is counted.
    pub(super) fn sees_count(&mut self, advances: u64, ran: u64) -> Check {
        self.sees_with(advances, ran, self.cycle())
    }

    /// The log tells of an advance.
    pub(super) fn told_of_advance(&mut self, number: u64, ran: u64) -> Check {
        self.told += 1;
        if number != self.told {
            return fail(format!("advance {number} is the {}th that is told of", self.told));
        }
        self.sees_advance(number, ran)
    }

    fn sees_with(&mut self, advances: u64, ran: u64, credit: u64) -> Check {
        if advances != self.told {
            return fail(format!(
                "the web has advanced {advances} times, and {} have been told of",
                self.told
            ));
        }
        let (least, most) = self.bounds(ran);
        if !(least..=most).contains(&advances) {
            return fail(format!(
                "the web has advanced {advances} times, and {least} to {most} are possible"
            ));
        }
        if advances > self.advances {
            (self.advances, self.seen_ran, self.seen_credit) = (advances, ran, credit);
        }
        Ok(())
    }

    /// Advances at which the frame of that pocket stands at that position.
    fn advances_at(&self, pocket: u64, position: u32) -> Result<u64, String> {
        (pocket / self.pockets + u64::from(position))
            .checked_sub(u64::from(self.spec.positions.cut))
            .ok_or_else(|| format!("pocket {pocket} was never at position {position}"))
    }

    /// What happens to the pocket happens at that position.
    pub(super) fn happens_at(&mut self, pocket: u64, position: u32, time: Time) -> Check {
        let advances = self.advances_at(pocket, position)?;
        self.sees(advances, time.ran)
            .map_err(|what| format!("pocket {pocket} at position {position}: {what}"))
    }

    /// A load fills the zone whose first frame is that one.
    pub(super) fn loaded(&mut self, first_frame: u64, time: Time) -> Check {
        self.happens_at(first_frame * self.pockets, self.spec.positions.load_at, time)
    }

    pub(super) fn defect(&mut self, pocket: u64, pack: &Pack, defect: Reason, time: Time) -> Check {
        let positions = self.spec.positions;
        let (position, possible) = match defect {
            Reason::MISPRINT => (Some(positions.seal), self.spec.printer.is_some()),
            Reason::LEAK => (Some(positions.seal), self.spec.leak_probability > 0.0),
            Reason::LABEL_MISSING => (positions.label, self.spec.label_missing_probability > 0.0),
            Reason::CONTAMINATED => (Some(positions.cut), self.spec.contaminated_probability > 0.0),
            own => (Some(positions.cut), self.own_defects.contains(&own)),
        };
        let Some(position) = position.filter(|_| possible && pack.place == Place::Web) else {
            return fail(format!("defect {defect:?} cannot arise in pocket {pocket}"));
        };
        if pack.defects.contains(&defect) {
            return fail(format!("pocket {pocket} gets defect {defect:?} twice"));
        }
        self.happens_at(pocket, position, time)
    }

    /// A tag, its cause and its place.
    ///
    /// `just_loaded`: product was laid into the pocket in this instant.
    pub(super) fn tags(
        &mut self,
        pocket: u64,
        pack: &Pack,
        reason: Reason,
        just_loaded: bool,
        time: Time,
    ) -> Check {
        if pack.tag != Reason::NONE {
            return fail(format!(
                "pocket {pocket} is tagged {reason:?} and was tagged {:?} before",
                pack.tag
            ));
        }
        if pack.place != Place::Web {
            return fail(format!("pack {pocket} is tagged after the web"));
        }
        let positions = self.spec.positions;
        match reason {
            Reason::MISPRINT | Reason::FALSE_TAG => {
                let Some((position, vision)) = positions.print_inspection.zip(self.spec.vision.as_ref())
                else {
                    return fail("vision tags and there is none");
                };
                let misprinted = pack.defects.contains(&Reason::MISPRINT);
                if misprinted != (reason == Reason::MISPRINT) || !misprinted && vision.false_tag == 0.0 {
                    return fail(format!(
                        "pack {pocket} with defects {:?} is tagged {reason:?}",
                        pack.defects
                    ));
                }
                self.happens_at(pocket, position, time)?;
                self.vision_tagged()
            }
            Reason::AGED => {
                let open = time.at - pack.open_since;
                if self.open_time_limit.is_none_or(|limit| open <= limit.0) {
                    return fail(format!("pack {pocket} is aged after {open} us"));
                }
                self.happens_at(pocket, positions.seal, time)
            }
            Reason::FIRST_OFF if self.scraps_first => self.happens_at(pocket, positions.seal, time),
            _ => self.scrapped(pocket, reason, just_loaded, time),
        }
    }

    /// Tagged at the end of a long stop at a listed position, or when loaded into a pocket that was spoilt then.
    fn scrapped(&mut self, pocket: u64, reason: Reason, just_loaded: bool, time: Time) -> Check {
        let Some(scrap) = self.spec.stop_scrap.as_ref().filter(|scrap| scrap.reason == reason) else {
            return fail(format!("nothing tags pack {pocket} for reason {reason:?}"));
        };
        if just_loaded && scrap.empty_pockets {
            return Ok(());
        }
        let (least, most) = self.bounds(time.ran);
        let at_listed = scrap.positions.iter().any(|position| {
            self.advances_at(pocket, *position).is_ok_and(|advances| (least..=most).contains(&advances))
        });
        if !at_listed {
            return fail(format!("pack {pocket} is tagged {reason:?} at no listed position"));
        }
        self.scrapped_at = Some(time.at);
        Ok(())
    }

    /// Packs were tagged for a long stop in this instant only if one has ended in it.
    pub(super) fn instant_over(&self, at: Moment) -> Check {
        if self.scrapped_at == Some(at.0) && self.long_stop_ended != Some(at) {
            return fail("packs are tagged for a long stop, and none has ended");
        }
        Ok(())
    }

    fn vision_tagged(&mut self) -> Check {
        let now = self.advances;
        let row = match self.tagged_index {
            Some((index, row)) if index == now => row,
            Some((index, row)) if index + 1 == now => row + 1,
            _ => 1,
        };
        let new = self.tagged_index.is_none_or(|(index, _)| index != now);
        self.tagged_index = Some((now, row));
        let rule = self.spec.vision.as_ref().and_then(|vision| vision.stop_rule.as_ref());
        if let Some(rule) = rule.filter(|_| new && self.own_stops)
            && row >= rule.count
        {
            self.rule_met = Some(now);
            self.tagged_index = Some((now, 0));
        }
        Ok(())
    }

    /// The stop of the vision rule strikes.
    pub(super) fn rule_strikes(&mut self) -> Check {
        let hidden = self.vision_is_hidden;
        match self.rule_met.take() {
            None if !hidden => fail("the vision rule stops the former and was not met"),
            _ => Ok(()),
        }
    }

    /// The pocket is cut.
    pub(super) fn cuts(&mut self, pocket: u64, loads: u32, pack: &Pack, time: Time) -> Check {
        if pack.cut || pack.place != Place::Web {
            return fail(format!("pack {pocket} is cut twice"));
        }
        if pack.portions != loads {
            return fail(format!("pack {pocket} holds {} portions, not {loads}", pack.portions));
        }
        self.happens_at(pocket, self.spec.positions.cut, time)?;
        let now = pocket / self.pockets;
        if let Some((advances, ran)) = self.last_cut
            && advances != now
        {
            let (took, due) = (time.ran - ran, (now - advances) * self.cycle());
            let exact = self.spec.max_cycles_per_min.is_none();
            if took < due || exact && took != due {
                return fail(format!(
                    "{} cycles took {took} us of running time, not {due} us",
                    now - advances
                ));
            }
        }
        if let Some(cap) = self.spec.max_cycles_per_min {
            let start = (Span::from_seconds(60.0 / cap).at_speed(self.fastest).0.saturating_sub(1)) * now;
            if time.line < start + self.spec.dwell().0 {
                return fail(format!("the dwell of advance {now} ends at line time {} us", time.line));
            }
        }
        if let Some(met) = self.rule_met.filter(|met| now > *met && !self.vision_is_hidden) {
            return fail(format!("the vision rule was met at advance {met} and the former has not stopped"));
        }
        self.last_cut = Some((now, time.ran));
        self.cut_at = Some(time.at);
        self.cut_packs += 1;
        Ok(())
    }

    /// After the functions of a dwell, seen by a cut in this instant: every pack at the seal that stood open too long is
    /// tagged.
    pub(super) fn sealed(&self, packs: &BTreeMap<u64, Pack>, time: Time) -> Check {
        let Some(limit) = self.open_time_limit else { return Ok(()) };
        let Some((advances, _)) = self.last_cut.filter(|_| self.cut_at == Some(time.at)) else {
            return Ok(());
        };
        let frame = advances + u64::from(self.spec.positions.cut - self.spec.positions.seal);
        let pockets = frame * self.pockets..(frame + 1) * self.pockets;
        let aged = |pack: &Pack| time.at - pack.open_since > limit.0;
        match packs.range(pockets).find(|(_, pack)| pack.tag == Reason::NONE && aged(pack)) {
            Some((pocket, _)) => {
                fail(format!("pack {pocket} is sealed, stood open too long, and is not tagged"))
            }
            None => Ok(()),
        }
    }

    /// Positions at which every pack is scrapped now, if a long stop has ended and the position of the web is certain.
    /// A stop that struck at the very end of an advance has it happen at the end of the stop, after the tags.
    pub(super) fn scrap_frames(&self, ran: u64) -> Option<Vec<u64>> {
        let scrap = self.spec.stop_scrap.as_ref()?;
        let (least, most) = self.bounds(ran);
        if self.seen_credit == 0 && self.seen_ran == ran {
            return None;
        }
        (least == most).then(|| {
            let cut = u64::from(self.spec.positions.cut);
            scrap.positions.iter().map(|position| least + cut - u64::from(*position)).collect()
        })
    }
}
