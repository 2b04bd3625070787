//! Portioner: cuts one portion after the other from the hopper, with the weight that chance and feedback give it.

use crate::luck::Normal;
use crate::piece::Piece;
use crate::station::supply::SUPPLY;
use crate::station::unit_getter;
use crate::world::World;
use linewake_log::event::{PackStep, StationState};
use linewake_model::line::MICROGRAMS_PER_GRAM;
use linewake_model::station::{Drift, Feedback};
use linewake_model::stop::Reason;
use linewake_model::time::{Moment, Span};

/// Place of the portioner in a line that has one.
pub(crate) const PORTIONER: usize = 1;

#[derive(Debug)]
pub(crate) struct Portioner {
    /// Time of a cut at set speed.
    pub(crate) cut: Span,
    /// The hopper must hold this much for a cut to start.
    pub(crate) nominal_ug: u64,
    pub(crate) mean_g: f64,
    pub(crate) portion_weight: Normal,
    pub(crate) drift: Option<DriftState>,
    pub(crate) feedback: Option<Correction>,
    pub(crate) cutting: bool,
    /// A portion that found no room on the infeed belt.
    pub(crate) holding: Option<Piece>,
    /// Portions cut so far: the number of the next one.
    pub(crate) portions: u64,
}

/// Slow drift of the weight.
#[derive(Debug)]
pub(crate) struct DriftState {
    pub(crate) drift: Drift,
    pub(crate) luck: Normal,
    pub(crate) value_g: f64,
    pub(crate) last: Option<Moment>,
}

/// Weight feedback: what the checkweigher has measured since the last correction, and the correction.
#[derive(Debug)]
pub(crate) struct Correction {
    pub(crate) feedback: Feedback,
    pub(crate) sum_g: f64,
    pub(crate) packs: u32,
    pub(crate) value_g: f64,
}

impl Correction {
    /// Takes a measured pack; after each n of them the correction moves.
    pub(crate) fn weighed(&mut self, measured_g: f64) {
        self.sum_g += measured_g;
        self.packs += 1;
        if self.packs == self.feedback.every_packs {
            let mean_g = self.sum_g / f64::from(self.packs);
            let moved = self.value_g - self.feedback.gain * (mean_g - self.feedback.target_g);
            self.value_g = moved.clamp(self.feedback.lowest_g, self.feedback.highest_g);
            self.sum_g = 0.0;
            self.packs = 0;
        }
    }
}

impl DriftState {
    /// The drift at this moment: a first-order autoregressive step over the time since the last portion, started from
    /// its stationary law. Step: x' = a x + sqrt(1 - a^2) sd z with a = exp(-t / correlation time).
    fn at(&mut self, calendar: Moment, portion: u64) -> f64 {
        let a = match self.last {
            None => 0.0,
            Some(last) => {
                libm::exp(-(calendar.since(last).seconds() / self.drift.correlation_time.seconds()))
            }
        };
        self.last = Some(calendar);
        self.value_g = a * self.value_g + (1.0 - a * a).max(0.0).sqrt() * self.luck.at(portion);
        self.value_g
    }
}

unit_getter!(portioner, Portioner, Portioner);

impl World<'_> {
    /// Starts a cut if nothing is in the way.
    pub(crate) fn portioner_starts(&mut self) {
        let level_ug = self.supply(SUPPLY).level_ug;
        let speed = self.speed(PORTIONER);
        let held = self.frames[PORTIONER].is_held();
        let portioner = self.portioner(PORTIONER);
        if portioner.cutting || portioner.holding.is_some() {
            return;
        }
        if held || level_ug < portioner.nominal_ug {
            return self.set_base(PORTIONER, StationState::Starved);
        }
        portioner.cutting = true;
        let length = portioner.cut.at_speed(speed);
        self.set_base(PORTIONER, StationState::Running);
        let timer = self.frames[PORTIONER].motion;
        self.set_in(timer, length);
    }

    /// A cut is done: the portion gets its weight and goes to the infeed belt.
    pub(crate) fn portioner_cut(&mut self, station: usize) {
        let calendar = self.calendar();
        let shift_g = self.supply(SUPPLY).batch_shift_g();
        let born = self.now;
        let portioner = self.portioner(station);
        let number = portioner.portions;
        portioner.portions += 1;
        portioner.cutting = false;
        let mut weight_g = portioner.mean_g + shift_g + portioner.portion_weight.at(number);
        if let Some(correction) = &portioner.feedback {
            weight_g += correction.value_g;
        }
        if let Some(drift) = &mut portioner.drift {
            weight_g += drift.at(calendar, number);
        }
        let wanted_ug = (weight_g.max(1.0) * MICROGRAMS_PER_GRAM + 0.5).floor() as u64;
        let weight_ug = self.supply(SUPPLY).draw_off(wanted_ug);
        let piece = Piece::new(number, weight_ug, born);
        self.portioner(station).holding = Some(piece);
        self.tell(station, PackStep::Portioned, &piece, Reason::NONE);
        let stop_due = self.cycle_makes(station, 1);
        self.portioner_releases(station);
        if stop_due {
            self.strike_if_due(station);
        }
        self.supply_tips();
        self.portioner_starts();
    }

    /// Room on the infeed belt: the portion that waited goes, and the next cut starts.
    pub(crate) fn portioner_hands_over(&mut self, station: usize) {
        self.portioner_releases(station);
        self.portioner_starts();
    }

    fn portioner_releases(&mut self, station: usize) {
        if let Some(piece) = self.portioner(station).holding.take()
            && !self.offer(station, &piece)
        {
            self.portioner(station).holding = Some(piece);
            self.set_base(station, StationState::Blocked);
        }
    }
}
