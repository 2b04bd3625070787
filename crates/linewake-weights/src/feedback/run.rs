//! A feedback loop with noise, batches and drift, simulated pack by pack.

use super::onset::hunting_gain;
use super::{FeedbackError, FeedbackLoop, in_range};
use crate::packs::Gate;
use linewake_stats::distribution::normal::normal_quantile;
use linewake_stats::stream::{Stream, Streams};
use std::collections::VecDeque;

const NOISE: &str = "weights/feedback/pack";
const BATCH: &str = "weights/feedback/batch-shift";
const DRIFT: &str = "weights/feedback/drift";
const WEIGHER: &str = "weights/feedback/weigher";

/// What makes packs deviate before any correction. Weights in grams.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviations {
    /// Mean without correction.
    pub mean_g: f64,
    /// Standard deviation from pack to pack.
    pub sd_pack_g: f64,
    /// Standard deviation of the shift of a batch.
    pub sd_batch_g: f64,
    /// Packs of a batch; at least 1.
    pub batch_packs: u64,
    /// Slow drift.
    pub drift: Option<Drift>,
}

/// First-order autoregressive drift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drift {
    /// Stationary standard deviation in grams.
    pub sd_g: f64,
    /// Packs after which the correlation has fallen to 1/e.
    pub correlation_packs: f64,
}

/// What a loop did to the packs after its warm-up. Weights are true ones, in grams.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeedbackRun {
    /// Packs that were counted.
    pub packs: u64,
    /// Mean of all packs.
    pub mean_g: f64,
    /// Standard deviation of all packs.
    pub sd_g: f64,
    /// Standard deviation of the correction, pack by pack.
    pub correction_sd_g: f64,
    /// Share of corrections that ended at one of their limits.
    pub at_limit: f64,
    /// Share of packs rejected as too light.
    pub rejected_low: f64,
    /// Share of packs rejected as too heavy.
    pub rejected_high: f64,
}

/// One gain of a study.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GainPoint {
    /// The gain.
    pub gain: f64,
    /// A step dies out at this gain; else the loop hunts, from limit to limit.
    pub settles: bool,
    /// What the loop did.
    pub run: FeedbackRun,
}

impl FeedbackLoop {
    /// Follows the loop over `warm_up` packs that do not count and `packs` that do.
    ///
    /// The same streams give the same luck, pack by pack, whatever the gain: so gains can be compared.
    ///
    /// # Errors
    /// Figures out of range.
    pub fn simulate(
        &self,
        deviations: &Deviations,
        gate: &Gate,
        warm_up: u64,
        packs: u64,
        streams: &Streams,
    ) -> Result<FeedbackRun, FeedbackError> {
        self.check()?;
        gate.check()?;
        let drift = deviations.drift.unwrap_or(Drift { sd_g: 0.0, correlation_packs: 1.0 });
        in_range(&[
            ("mean", deviations.mean_g, 0.0, f64::MAX),
            ("standard deviation from pack to pack", deviations.sd_pack_g, 0.0, f64::MAX),
            ("standard deviation of batches", deviations.sd_batch_g, 0.0, f64::MAX),
            ("packs of a batch", deviations.batch_packs as f64, 1.0, f64::MAX),
            ("standard deviation of the drift", drift.sd_g, 0.0, f64::MAX),
            ("correlation of the drift in packs", drift.correlation_packs, 1e-9, f64::MAX),
            ("packs", packs as f64, 2.0, 1e12),
        ])?;
        let mut source = Source::new(deviations, drift, streams);
        let mut weigher = streams.get(WEIGHER);
        let (low, high) = gate.passes_between();
        let mut travelling = VecDeque::new();
        let (mut correction, mut sum, mut counted) = (0.0_f64, 0.0, 0);
        let mut seen = Seen::default();
        let all = warm_up.saturating_add(packs).saturating_add(self.dead_time_packs);
        for cut in 0..all {
            travelling.push_back((source.next() + correction, correction));
            if cut < self.dead_time_packs {
                continue;
            }
            let Some((weight, corrected)) = travelling.pop_front() else { break };
            let reading = weight + gate.bias_g + gate.sd_g * normal(&mut weigher);
            let counts = cut - self.dead_time_packs >= warm_up;
            if counts {
                seen.pack(weight - self.target_g, corrected, reading < low, reading > high);
            }
            if self.count_rejects || (reading >= low && reading <= high) {
                sum += reading;
                counted += 1;
            }
            if counted == self.every_packs {
                let moved = correction - self.gain * (sum / counted as f64 - self.target_g);
                correction = moved.clamp(self.lowest_g, self.highest_g);
                (sum, counted) = (0.0, 0);
                if counts {
                    seen.corrections += 1;
                    let at_limit = correction <= self.lowest_g || correction >= self.highest_g;
                    seen.at_limit += u64::from(at_limit);
                }
            }
        }
        Ok(seen.result(self.target_g))
    }

    /// The same loop with each of these gains, on the same luck, in their order.
    ///
    /// # Errors
    /// Figures out of range.
    pub fn gains(
        &self,
        gains: &[f64],
        deviations: &Deviations,
        gate: &Gate,
        warm_up: u64,
        packs: u64,
        streams: &Streams,
    ) -> Result<Vec<GainPoint>, FeedbackError> {
        self.check()?;
        let hunting = hunting_gain(self.every_packs, self.dead_time_packs)?;
        gains
            .iter()
            .map(|&gain| {
                let run = Self { gain, ..*self }.simulate(deviations, gate, warm_up, packs, streams)?;
                Ok(GainPoint { gain, settles: gain < hunting, run })
            })
            .collect()
    }
}

fn normal(stream: &mut Stream) -> f64 {
    normal_quantile(stream.open01())
}

/// Weights of packs before correction, in the order in which they are cut.
struct Source {
    deviations: Deviations,
    drift: Drift,
    /// Correlation of the drift from pack to pack.
    keeps: f64,
    drifted: f64,
    shift: f64,
    left_of_batch: u64,
    noise: Stream,
    batch: Stream,
    drift_steps: Stream,
}

impl Source {
    fn new(deviations: &Deviations, drift: Drift, streams: &Streams) -> Self {
        let mut drift_steps = streams.get(DRIFT);
        Self {
            deviations: *deviations,
            drift,
            keeps: libm::exp(-1.0 / drift.correlation_packs),
            drifted: drift.sd_g * normal(&mut drift_steps),
            shift: 0.0,
            left_of_batch: 0,
            noise: streams.get(NOISE),
            batch: streams.get(BATCH),
            drift_steps,
        }
    }

    fn next(&mut self) -> f64 {
        if self.left_of_batch == 0 {
            self.shift = self.deviations.sd_batch_g * normal(&mut self.batch);
            self.left_of_batch = self.deviations.batch_packs;
        }
        self.left_of_batch -= 1;
        let fresh = self.drift.sd_g * libm::sqrt(1.0 - self.keeps * self.keeps);
        self.drifted = self.keeps * self.drifted + fresh * normal(&mut self.drift_steps);
        self.deviations.mean_g
            + self.shift
            + self.drifted
            + self.deviations.sd_pack_g * normal(&mut self.noise)
    }
}

/// Sums over the packs that count, about the target so that no digits are lost.
#[derive(Default)]
struct Seen {
    packs: u64,
    sum: f64,
    squares: f64,
    correction_sum: f64,
    correction_squares: f64,
    corrections: u64,
    at_limit: u64,
    low: u64,
    high: u64,
}

impl Seen {
    fn pack(&mut self, off_target: f64, correction: f64, low: bool, high: bool) {
        self.packs += 1;
        self.sum += off_target;
        self.squares += off_target * off_target;
        self.correction_sum += correction;
        self.correction_squares += correction * correction;
        self.low += u64::from(low);
        self.high += u64::from(high);
    }

    fn result(&self, target_g: f64) -> FeedbackRun {
        let n = self.packs as f64;
        let sd = |sum: f64, squares: f64| libm::sqrt(((squares - sum * sum / n) / (n - 1.0)).max(0.0));
        FeedbackRun {
            packs: self.packs,
            mean_g: target_g + self.sum / n,
            sd_g: sd(self.sum, self.squares),
            correction_sd_g: sd(self.correction_sum, self.correction_squares),
            at_limit: self.at_limit as f64 / (self.corrections.max(1)) as f64,
            rejected_low: self.low as f64 / n,
            rejected_high: self.high as f64 / n,
        }
    }
}
