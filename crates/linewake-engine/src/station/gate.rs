//! In-line gate: checkweigher, metal detector, X-ray or leak test. One pack at a time, then the verdict.

use crate::luck::{Chance, Draw, Normal};
use crate::piece::{Piece, defect_bit};
use crate::station::Unit;
use crate::station::portioner::PORTIONER;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{PackStep, StationState};
use linewake_model::line::{Line, MICROGRAMS_PER_GRAM};
use linewake_model::station;
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};
use linewake_stats::stream::Streams;

#[derive(Debug)]
pub(crate) struct Gate {
    /// Time of one pack at set speed.
    pub(crate) piece_time: Span,
    weigher: Option<(station::Weigher, Normal)>,
    /// What it looks for: the chance of finding, the defect, its bit.
    finds: Vec<(Chance, Reason, u64)>,
    /// The bits of all that it looks for.
    looks_for: u64,
    false_reject: Chance,
    /// Some portioner takes its weight correction from here; packs rejected for weight count or not.
    feeds_back: Option<bool>,
    /// Count and stop mode of the fail-safes.
    pub(crate) row_limit: Option<(u32, usize)>,
    pub(crate) bin_limit: Option<(u32, usize)>,
    row: u32,
    bin: u32,
    /// Interval and length of the routine challenge.
    pub(crate) challenge: Option<(Span, Draw)>,
    challenges_due: u32,
    pub(crate) challenges_so_far: u64,
    pub(crate) challenge_timer: Option<crate::queue::Timer>,
    pub(crate) in_hand: Option<Piece>,
    /// The verdict is given: the pack in hand may leave.
    judged: bool,
}

impl Gate {
    pub(crate) fn new(line: &Line, number: usize, spec: &station::Gate, streams: &Streams) -> Self {
        let id = &line.stations[number].id;
        let find = |find: &station::Find| {
            let quantity = format!("finds {}", line.reason(find.defect));
            (
                Chance::new(streams, id, &quantity, find.probability),
                find.defect,
                defect_bit(line, find.defect),
            )
        };
        let feedback = line.stations.iter().find_map(|other| match &other.kind {
            station::StationKind::Portioner(portioner) => portioner.weight.feedback,
            _ => None,
        });
        let finds: Vec<_> = spec.finds.iter().map(find).collect();
        Self {
            piece_time: Span::from_seconds(60.0 / spec.max_rate_per_min),
            weigher: spec
                .weigher
                .map(|weigher| (weigher, Normal::new(streams, id, "weigher error", weigher.sd_g))),
            looks_for: finds.iter().fold(0, |bits, (_, _, bit)| bits | bit),
            finds,
            false_reject: Chance::new(streams, id, "false reject", spec.false_reject),
            feeds_back: feedback
                .filter(|feedback| feedback.from == number)
                .map(|feedback| feedback.count_rejects),
            row_limit: None,
            bin_limit: None,
            row: 0,
            bin: 0,
            challenge: spec.challenge.as_ref().map(|challenge| {
                (challenge.interval, Draw::new(streams, id, "challenge", &challenge.duration_s))
            }),
            challenges_due: 0,
            challenges_so_far: 0,
            challenge_timer: None,
            in_hand: None,
            judged: false,
        }
    }

    /// The verdict on a pack: the reason for which it is rejected, and what was measured if it was weighed.
    fn judge(&mut self, pack: &Piece) -> (Option<Reason>, Option<f64>) {
        let mut verdict = None;
        let mut measured = None;
        if let Some((weigher, error)) = &mut self.weigher {
            let measured_g = pack.weight_ug as f64 / MICROGRAMS_PER_GRAM + error.at(pack.id);
            measured = Some(measured_g);
            if weigher.low_g.is_some_and(|low| measured_g < low) {
                verdict = Some(Reason::UNDERWEIGHT);
            } else if weigher.high_g.is_some_and(|high| measured_g > high) {
                verdict = Some(Reason::OVERWEIGHT);
            }
        }
        let has_defect = pack.has(self.looks_for);
        if has_defect {
            for (chance, defect, bit) in &mut self.finds {
                if pack.has(*bit) && verdict.is_none() && chance.happens(pack.id) {
                    verdict = Some(*defect);
                }
            }
        } else if verdict.is_none() && self.false_reject.happens(pack.id) {
            verdict = Some(Reason::FALSE_REJECT);
        }
        (verdict, measured)
    }
}

unit_getter!(gate, Gate, Gate);

impl World<'_> {
    pub(crate) fn gate_takes(&mut self, station: usize, pack: &Piece) -> bool {
        let (held, motion, speed) =
            (self.frames[station].is_held(), self.frames[station].motion, self.speed(station));
        let gate = self.gate(station);
        // A challenge that is due waits for an empty gate, so no pack is let in.
        if held || gate.in_hand.is_some() || gate.challenges_due > 0 {
            return false;
        }
        gate.in_hand = Some(*pack);
        gate.judged = false;
        let length = gate.piece_time.at_speed(speed);
        self.set_base(station, StationState::Running);
        self.set_in(motion, length);
        self.tell(station, PackStep::Entered, pack, Reason::NONE);
        true
    }

    /// The pack is through: verdict.
    pub(crate) fn gate_judges(&mut self, station: usize) {
        let gate = self.gate(station);
        let Some(pack) = gate.in_hand.take() else {
            return;
        };
        let (verdict, measured_g) = gate.judge(&pack);
        let feeds_back = gate.feeds_back;
        let mut due = [None, None];
        if verdict.is_some() {
            gate.row += 1;
            gate.bin += 1;
            due[0] = gate.row_limit.filter(|(limit, _)| gate.row >= *limit);
            due[1] = gate.bin_limit.filter(|(limit, _)| gate.bin >= *limit);
        } else {
            gate.row = 0;
        }
        if let (Some(count_rejects), Some(measured_g)) = (feeds_back, measured_g) {
            let for_weight = matches!(verdict, Some(Reason::UNDERWEIGHT | Reason::OVERWEIGHT));
            if count_rejects || !for_weight {
                self.weighed(measured_g);
            }
        }
        if let Some(reason) = verdict {
            self.reject(station, &pack, reason);
        }
        let stop_due = self.cycle_makes(station, 1);
        for (_, mode) in due.into_iter().flatten() {
            self.make_due(station, mode);
        }
        if verdict.is_none() {
            self.gate_releases(station, pack);
        }
        if stop_due || due.iter().any(Option::is_some) {
            self.strike_if_due(station);
        }
        self.gate_goes_on(station);
    }

    fn weighed(&mut self, measured_g: f64) {
        if let Unit::Portioner(portioner) = &mut self.units[PORTIONER]
            && let Some(correction) = &mut portioner.feedback
        {
            correction.weighed(measured_g);
        }
    }

    /// Room downstream: a passed pack that was held goes, also while the gate is in a stop.
    pub(crate) fn gate_hands_over(&mut self, station: usize) {
        let gate = self.gate(station);
        if gate.judged
            && let Some(pack) = gate.in_hand.take()
        {
            self.gate_releases(station, pack);
        }
        self.gate_goes_on(station);
    }

    /// The pack has passed: it goes, or is held until there is room.
    #[inline]
    fn gate_releases(&mut self, station: usize, pack: Piece) {
        if !self.offer(station, &pack) {
            let gate = self.gate(station);
            gate.in_hand = Some(pack);
            gate.judged = true;
            self.set_base(station, StationState::Blocked);
        }
    }

    /// With nothing in hand: a challenge that is due, else the next pack.
    fn gate_goes_on(&mut self, station: usize) {
        if self.gate(station).in_hand.is_some() {
            return;
        }
        if self.frames[station].is_held() || self.challenge_starts(station) {
            return self.set_base(station, StationState::Starved);
        }
        // Whoever waits for the room hands over at once, and then the gate has not been without a pack.
        self.room_made(station);
        if self.gate(station).in_hand.is_none() {
            self.set_base(station, StationState::Starved);
        }
    }

    pub(crate) fn gate_resumes(&mut self, station: usize) {
        self.gate_hands_over(station);
    }

    /// A challenge is due at k x interval; it is kept until the gate is empty and in no stop.
    pub(crate) fn challenge_due(&mut self, station: usize) {
        self.gate(station).challenges_due += 1;
        self.set_next_challenge(station);
        if !self.frames[station].is_held() {
            self.challenge_starts(station);
        }
    }

    /// Sets the timer for the next challenge, in calendar time from the start of the run.
    pub(crate) fn set_next_challenge(&mut self, station: usize) {
        let Unit::Gate(gate) = &mut self.units[station] else {
            return;
        };
        if let (Some((interval, _)), Some(timer)) = (&gate.challenge, gate.challenge_timer) {
            gate.challenges_so_far += 1;
            let due = Moment(interval.0.saturating_mul(gate.challenges_so_far));
            let due = self.line_time(due);
            self.timers.set(timer, due);
        }
    }

    /// Starts a challenge that is due, if the gate is empty. True if it has started.
    #[inline]
    pub(crate) fn challenge_starts(&mut self, station: usize) -> bool {
        let Unit::Gate(gate) = &self.units[station] else {
            return false;
        };
        gate.challenges_due > 0 && gate.in_hand.is_none() && self.challenge_begins(station)
    }

    #[cold]
    fn challenge_begins(&mut self, station: usize) -> bool {
        let Unit::Gate(gate) = &mut self.units[station] else {
            return false;
        };
        let Some((_, length)) = &mut gate.challenge else {
            return false;
        };
        let length = length.span();
        self.frames[station].stop_began = true;
        self.set_hold(station, Some((StationState::Planned, Reason::CHALLENGE)));
        let timer = self.frames[station].stop_end;
        self.timers.cancel(self.frames[station].strike);
        self.set_in(timer, length);
        true
    }

    pub(crate) fn challenge_ends(&mut self, station: usize) {
        if let Unit::Gate(gate) = &mut self.units[station] {
            gate.challenges_due = gate.challenges_due.saturating_sub(1);
        }
        self.go_on(station);
    }

    /// After its stop a fail-safe counts afresh. (No pack passes while a bin is emptied, so counting from the start of
    /// emptying is the same.)
    pub(crate) fn fail_safe_done(&mut self, station: usize, mode: usize) {
        if let Unit::Gate(gate) = &mut self.units[station] {
            if gate.row_limit.is_some_and(|(_, row)| row == mode) {
                gate.row = 0;
            }
            if gate.bin_limit.is_some_and(|(_, bin)| bin == mode) {
                gate.bin = 0;
            }
        }
    }
}
