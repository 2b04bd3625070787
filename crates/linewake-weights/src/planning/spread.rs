//! What spread the packs have, and how much of it a lot's packs share.

use super::{Asked, PlanningError};
use crate::feedback::{Deviations, FeedbackLoop};
use crate::packs::{Gate, Packs};
use crate::simulation::Makeup;
use linewake_stats::stream::Streams;

/// Packs that pass before the spread of a line with feedback is taken: tens of batches and of turns of the loop.
const WARM_UP_PACKS: u64 = 30_000;

/// More blocks than this in a lot are as good as mixed.
const MOST_BLOCKS: f64 = 10_000.0;

/// The spread of packs. Masses in grams.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spread {
    /// From pack to pack.
    pub(super) within_g: f64,
    /// Of what neighbouring packs share: batches, drift, corrections.
    pub(super) between_g: f64,
    /// Packs that share it: so many blocks of that size have the same variance of the mean as the lot has.
    pub(super) block_packs: f64,
}

impl Spread {
    /// Without feedback the spread is that of the model. With feedback the loop is followed pack by pack, and what is there
    /// beyond the spread from pack to pack counts as shared.
    ///
    /// A block: without feedback a batch, or twice the drift's correlation length, put together by their shares in the
    /// variance of a long lot's mean; with feedback not more than half a turn of the loop, 2 d + 1 corrections, since within
    /// that time a deviation is taken off or turned round (own convention).
    pub(super) fn of(
        deviations: &Deviations,
        feedback: Option<&FeedbackLoop>,
        gate: &Gate,
        asked: &Asked<'_>,
    ) -> Result<Self, PlanningError> {
        let drift = deviations.drift.map_or((0.0, 1.0), |drift| (drift.sd_g, 2.0 * drift.correlation_packs));
        let batch = (deviations.sd_batch_g, deviations.batch_packs as f64);
        let parts = [batch, drift];
        let variance: f64 = parts.iter().map(|(sd_g, _)| sd_g * sd_g).sum();
        let block_packs = if variance > 0.0 {
            parts.iter().map(|(sd_g, packs)| sd_g * sd_g * packs).sum::<f64>() / variance
        } else {
            1.0
        };
        let still = Self {
            within_g: deviations.sd_pack_g,
            between_g: libm::sqrt(variance),
            block_packs: block_packs.max(1.0),
        };
        let Some(feedback) = feedback.filter(|feedback| feedback.gain > 0.0) else { return Ok(still) };
        let run = FeedbackLoop { target_g: asked.set_g, ..*feedback }.simulate(
            &Deviations { mean_g: asked.set_g, ..*deviations },
            gate,
            WARM_UP_PACKS,
            asked.follow_packs,
            &Streams::new(asked.seed, 0),
        )?;
        let shared = run.sd_g * run.sd_g - deviations.sd_pack_g * deviations.sd_pack_g;
        let half_turn = (2.0 * feedback.dead_time_corrections() + 1.0) * feedback.every_packs as f64;
        Ok(Self {
            within_g: deviations.sd_pack_g,
            between_g: libm::sqrt(shared.max(0.0)),
            block_packs: if variance > 0.0 { still.block_packs.min(half_turn) } else { half_turn },
        })
    }

    /// Packs of that mean.
    pub(super) fn packs(&self, mean_g: f64) -> Packs {
        Packs { mean_g, sd_within_g: self.within_g, sd_between_g: self.between_g }
    }

    /// Over all packs.
    pub(super) fn sd_g(&self) -> f64 {
        libm::hypot(self.within_g, self.between_g)
    }

    /// What a lot is made of.
    pub(super) fn makeup(&self, lot_packs: u64) -> Makeup {
        let blocks = libm::round(lot_packs as f64 / self.block_packs).max(1.0);
        if self.between_g > 0.0 && blocks <= MOST_BLOCKS {
            Makeup::Batches(blocks as u32)
        } else {
            Makeup::Mixed
        }
    }
}
