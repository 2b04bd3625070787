//! Stations that hold one piece, or a lane of them: gates, machines, the case packer.

use super::conveyors::shares;
use super::{Check, Time, fail};
use linewake_model::station::{CasePacker, FailSafe, Gate, Machine, SpeedControl};
use linewake_model::stop::Reason;
use linewake_model::time::Span;
use linewake_stats::distribution::Distribution;
use std::collections::VecDeque;

/// Gate.
#[derive(Clone, Debug)]
pub(super) struct GateCheck {
    pub(super) spec: Gate,
    piece_time: Span,
    exact: bool,
    fastest: f64,
    /// The pack in it, and the running time at which it came.
    pub(super) in_hand: Option<(u64, u64)>,
    /// Packs passed and rejected.
    pub(super) done: u64,
    /// Rejects in a row, and rejects since the bin was emptied.
    pub(super) row: u32,
    pub(super) bin: u32,
    /// Fail-safes strike in this run.
    fail_safes: bool,
    /// Challenges that have begun.
    pub(super) challenges: u64,
}

impl GateCheck {
    pub(super) fn new(spec: &Gate, control: Option<&SpeedControl>, fail_safes: bool) -> Self {
        Self {
            spec: spec.clone(),
            piece_time: Span::from_seconds(60.0 / spec.max_rate_per_min),
            exact: control.is_none(),
            fastest: shares(control).1,
            in_hand: None,
            done: 0,
            row: 0,
            bin: 0,
            fail_safes,
            challenges: 0,
        }
    }

    pub(super) fn enters(&mut self, item: u64, time: Time) -> Check {
        if let Some((there, _)) = self.in_hand.replace((item, time.ran)) {
            return fail(format!("pack {item} enters while {there} is in it"));
        }
        Ok(())
    }

    /// The pack in it has its verdict; none if the speed is not known.
    pub(super) fn judged(&self, ran: u64) -> Option<bool> {
        let Some((_, came)) = self.in_hand else { return Some(false) };
        self.exact.then_some(ran - came >= self.piece_time.0)
    }

    /// It had its verdict before this instant.
    pub(super) fn judged_before(&self, ran: u64) -> bool {
        self.exact && self.in_hand.is_some_and(|(_, came)| ran - came > self.piece_time.0)
    }

    fn leaves(&mut self, item: u64, time: Time) -> Check {
        let Some((_, came)) = self.in_hand.take_if(|(there, _)| *there == item) else {
            return fail(format!("pack {item} leaves and is not in it"));
        };
        let (took, due) = (time.ran - came, self.piece_time.0);
        if self.exact && took != due || took < self.piece_time.at_speed(self.fastest).0 {
            return fail(format!("pack {item} was judged in {took} us, and a pack takes {due} us"));
        }
        self.done += 1;
        Ok(())
    }

    /// The pack goes on downstream.
    pub(super) fn passes(&mut self, item: u64, time: Time) -> Check {
        self.leaves(item, time)?;
        self.row = 0;
        Ok(())
    }

    /// The pack goes into the bin, for that reason; `defects` are its own.
    pub(super) fn rejects(&mut self, item: u64, reason: Reason, defects: &[Reason], time: Time) -> Check {
        self.leaves(item, time)?;
        let sought = |defect: &Reason| self.spec.finds.iter().any(|find| find.defect == *defect);
        let right = match reason {
            Reason::UNDERWEIGHT => self.spec.weigher.is_some_and(|weigher| weigher.low_g.is_some()),
            Reason::OVERWEIGHT => self.spec.weigher.is_some_and(|weigher| weigher.high_g.is_some()),
            Reason::FALSE_REJECT => self.spec.false_reject > 0.0 && !defects.iter().any(sought),
            defect => defects.contains(&defect) && sought(&defect),
        };
        if !right {
            return fail(format!("pack {item} with defects {defects:?} is rejected for reason {reason:?}"));
        }
        self.row += 1;
        self.bin += 1;
        let over = |limit: &Option<FailSafe>, count| limit.as_ref().is_some_and(|limit| count > limit.count);
        if self.fail_safes && over(&self.spec.rejects_in_row, self.row) {
            return fail(format!("{} rejects in a row have not stopped it", self.row));
        }
        if self.fail_safes && over(&self.spec.bin_full, self.bin) {
            return fail(format!("{} rejects in the bin have not stopped it", self.bin));
        }
        Ok(())
    }

    /// A fail-safe strikes.
    pub(super) fn fail_safe_strikes(&self, reason: Reason) -> Check {
        let reached =
            |limit: &Option<FailSafe>, count| limit.as_ref().is_some_and(|limit| count == limit.count);
        let (row, bin) =
            (reached(&self.spec.rejects_in_row, self.row), reached(&self.spec.bin_full, self.bin));
        match reason {
            Reason::REJECTS_IN_ROW if !row => fail(format!("stops after {} rejects in a row", self.row)),
            Reason::BIN_FULL if !bin => fail(format!("stops with {} rejects in the bin", self.bin)),
            Reason::BIN_FULL if row => fail("the bin comes before the row that the same reject completed"),
            _ => Ok(()),
        }
    }

    /// A fail-safe is over: it counts afresh.
    pub(super) fn fail_safe_over(&mut self, reason: Reason) {
        match reason {
            Reason::REJECTS_IN_ROW => self.row = 0,
            Reason::BIN_FULL => self.bin = 0,
            _ => {}
        }
    }
}

/// Generic machine.
#[derive(Clone, Debug)]
pub(super) struct MachineCheck {
    process: Distribution,
    exact: bool,
    fastest: f64,
    pub(super) in_hand: Option<(u64, u64)>,
    pub(super) done: u64,
}

impl MachineCheck {
    pub(super) fn new(spec: &Machine, control: Option<&SpeedControl>) -> Self {
        Self {
            process: spec.process_s.clone(),
            exact: control.is_none(),
            fastest: shares(control).1,
            in_hand: None,
            done: 0,
        }
    }

    pub(super) fn enters(&mut self, item: u64, time: Time) -> Check {
        if let Some((there, _)) = self.in_hand.replace((item, time.ran)) {
            return fail(format!("piece {item} enters while {there} is in it"));
        }
        Ok(())
    }

    pub(super) fn leaves(&mut self, item: u64, time: Time) -> Check {
        let Some((_, came)) = self.in_hand.take_if(|(there, _)| *there == item) else {
            return fail(format!("piece {item} leaves and is not in it"));
        };
        let took = time.ran - came;
        let least = Span::from_seconds(self.process.smallest()).at_speed(self.fastest).0;
        if took < least || self.exact && self.process.is_constant() && took != least {
            return fail(format!("piece {item} took {took} us, and the shortest process {least} us"));
        }
        self.done += 1;
        Ok(())
    }

    /// The piece in it may be finished: no shorter process exists.
    pub(super) fn may_be_finished(&self, ran: u64) -> bool {
        let least = Span::from_seconds(self.process.smallest()).at_speed(self.fastest).0;
        self.in_hand.is_some_and(|(_, came)| ran - came >= least)
    }
}

/// Case packer with its lane.
#[derive(Clone, Debug)]
pub(super) struct PackerCheck {
    pub(super) spec: CasePacker,
    exact: bool,
    fastest: f64,
    /// Packs in the lane and in the case under way.
    pub(super) packs: VecDeque<u64>,
    pub(super) cases: u64,
    /// Packs of the case that is being told.
    told: u32,
    last_case: u64,
}

impl PackerCheck {
    pub(super) fn new(spec: &CasePacker, control: Option<&SpeedControl>) -> Self {
        Self {
            spec: *spec,
            exact: control.is_none(),
            fastest: shares(control).1,
            packs: VecDeque::new(),
            cases: 0,
            told: 0,
            last_case: 0,
        }
    }

    pub(super) fn enters(&mut self, item: u64) -> Check {
        self.packs.push_back(item);
        if self.packs.len() > (self.spec.lane_packs + self.spec.packs_per_case) as usize {
            return fail(format!("{} packs are in the lane and the case", self.packs.len()));
        }
        Ok(())
    }

    /// A pack leaves in a case.
    pub(super) fn cased(&mut self, item: u64, case: u64, time: Time) -> Check {
        if self.packs.pop_front() != Some(item) {
            return fail(format!("pack {item} is not the first of the lane"));
        }
        if case != self.cases {
            return fail(format!("case {case} follows {} cases", self.cases));
        }
        if self.told == 0 {
            let (took, cycle) = (time.ran - self.last_case, self.spec.cycle);
            if took < cycle.at_speed(self.fastest).0 || self.exact && took != cycle.0 {
                return fail(format!("case {case} took {took} us, and a cycle is {} us", cycle.0));
            }
            self.last_case = time.ran;
        } else if time.ran != self.last_case {
            return fail(format!("case {case} leaves in parts"));
        }
        self.told += 1;
        if self.told == self.spec.packs_per_case {
            self.told = 0;
            self.cases += 1;
        }
        Ok(())
    }

    /// No case is told in part.
    pub(super) fn instant_over(&self) -> Check {
        if self.told > 0 { fail(format!("a case holds {} packs", self.told)) } else { Ok(()) }
    }

    /// Packs in the lane, if the packer is in a cycle or not.
    pub(super) fn lane(&self, in_cycle: bool) -> usize {
        let case = if in_cycle { self.spec.packs_per_case as usize } else { 0 };
        self.packs.len().saturating_sub(case)
    }
}
