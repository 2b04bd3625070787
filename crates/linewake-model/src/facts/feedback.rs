//! The loop of the weight feedback: how late it is, and whether it settles.
//!
//! A correction acts on portions cut after it, and shows at the weigher only when all that lies between has passed. A
//! loop with such a dead time settles only with a small gain; beyond that it swings from limit to limit.

use super::shape::{Shape, array_portions, capacity};
use crate::line::{Line, StationIndex};
use crate::station::StationKind;
use serde::Serialize;

/// The weight feedback as a control loop.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FeedbackLoop {
    /// Id of the checkweigher that measures.
    pub from: String,
    /// Packs between the cut and the weigher at the line's rate: the dead time.
    pub dead_time_packs: f64,
    /// The same in corrections.
    pub dead_time_corrections: f64,
    /// Share of a pack's deviation that one correction takes off: the stated gain times the portions of a pack.
    pub loop_gain: f64,
    /// Largest loop gain with which a loop of this dead time settles.
    pub largest_gain: f64,
    /// The loop settles; otherwise it swings within the limits of the correction.
    pub settles: bool,
    /// Standard deviation of the pack weight that the corrections add; absent if the loop does not settle.
    pub added_sd_g: Option<f64>,
}

/// What the loop does to lasting deviations of the pack weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Behaviour {
    pub(super) dead_packs: f64,
    pub(super) gain: f64,
    pub(super) settles: bool,
    /// Variance of the correction for each unit of variance of one measured mean.
    pub(super) noise: f64,
    /// What is left of the variance of batches and of drift.
    pub(super) batch: f64,
    pub(super) drift: f64,
}

pub(super) fn feedback_loop(line: &Line, shape: &Shape<'_>) -> Option<FeedbackLoop> {
    let (behaviour, portioner) = (shape.feedback?, shape.portioner?);
    let feedback = portioner.weight.feedback?;
    let every = f64::from(feedback.every_packs.max(1));
    let weigher_sd = match &line.stations[feedback.from].kind {
        StationKind::Gate(gate) => gate.weigher.map_or(0.0, |weigher| weigher.sd_g),
        _ => 0.0,
    };
    let fast = (shape.portions_per_pack.sqrt() * portioner.weight.sd_g).hypot(weigher_sd);
    Some(FeedbackLoop {
        from: line.stations[feedback.from].id.clone(),
        dead_time_packs: behaviour.dead_packs,
        dead_time_corrections: behaviour.dead_packs / every,
        loop_gain: behaviour.gain,
        largest_gain: largest_gain(behaviour.dead_packs / every),
        settles: behaviour.settles,
        added_sd_g: behaviour.settles.then(|| fast * (behaviour.noise / every).sqrt()),
    })
}

/// The loop of a line with feedback.
pub(super) fn behaviour(line: &Line, shape: &Shape<'_>) -> Option<Behaviour> {
    let weight = &shape.portioner?.weight;
    let feedback = weight.feedback?;
    let every = f64::from(feedback.every_packs.max(1));
    let dead_packs = dead_packs(line, shape, feedback.from);
    let gain = feedback.gain * shape.portions_per_pack;
    let delay = Delay::of(dead_packs / every);
    if gain >= largest_gain(dead_packs / every) {
        return Some(Behaviour { dead_packs, gain, settles: false, noise: 0.0, batch: 1.0, drift: 1.0 });
    }
    let answer = delay.answer(gain);
    let squares: f64 = answer.iter().map(|one| one * one).sum();
    // What is left of a lasting deviation: the answer of deviation plus correction to a unit of deviation.
    let left = delay.left(gain);
    let pack_g = shape.pack_g().unwrap_or(1.0);
    let batch_g = line.stations.iter().find_map(|station| match &station.kind {
        StationKind::BulkSupply(supply) => Some(supply.batch_ug as f64 / 1e6),
        _ => None,
    });
    let corrections_per_batch = batch_g.map_or(1.0, |grams| grams / pack_g / every).max(1e-9);
    let corrections_per_s = line.design_rate_per_min / 60.0 / every;
    let drift_time = weight.drift.map_or(1.0, |drift| drift.correlation_time.seconds() * corrections_per_s);
    Some(Behaviour {
        dead_packs,
        gain,
        settles: true,
        noise: gain * gain * squares,
        batch: remaining(&left, |lag| (1.0 - lag / corrections_per_batch).max(0.0)),
        drift: remaining(&left, |lag| (-lag / drift_time.max(1e-9)).exp()),
    })
}

/// Packs between the cut and a weigher in steady running.
pub(super) fn dead_packs(line: &Line, shape: &Shape<'_>, weigher: StationIndex) -> f64 {
    let packs_per_s = line.design_rate_per_min / 60.0;
    let between = (0..line.stations.len()).filter(|index| *index < weigher);
    let held = |index: StationIndex| {
        let per_s = packs_per_s * shape.pieces_per_pack(index);
        let pieces = match &line.stations[index].kind {
            // Before the former the portioner, faster than the line, keeps the belt full.
            StationKind::Accumulator(belt) if shape.is_before_packs(index) => {
                capacity(belt).unwrap_or(per_s * belt.transit.seconds())
            }
            StationKind::Accumulator(table) => per_s * table.transit.seconds(),
            StationKind::RigidBelt(belt) => per_s * belt.transit().seconds(),
            StationKind::Loader(loader) => array_portions(loader) + f64::from(loader.array_rows),
            StationKind::Former(former) => {
                let zone = shape.loader.map_or(1, |loader| loader.indexes_per_array);
                let frames = (former.positions.cut + 1).saturating_sub(former.positions.load_at) + zone;
                f64::from(frames) * former.pockets() as f64
            }
            StationKind::Gate(_) => 1.0,
            _ => 0.0,
        };
        pieces / shape.pieces_per_pack(index)
    };
    between.map(held).sum()
}

/// Dead time in corrections: whole ones, and what is left. A measured mean of one interval was cut partly under one
/// correction, partly under the one before.
#[derive(Clone, Copy, Debug)]
struct Delay {
    whole: usize,
    rest: f64,
}

impl Delay {
    /// Corrections over which the loop is followed.
    const STEPS: usize = 600;

    fn of(corrections: f64) -> Self {
        let whole = corrections.max(0.0).floor();
        Self { whole: whole as usize, rest: corrections.max(0.0) - whole }
    }

    /// What the mean measured at correction `k` saw of a series that was there when its packs were cut.
    fn seen(self, series: &[f64], k: usize) -> f64 {
        let at = |back: usize| k.checked_sub(back).map_or(0.0, |k| series[k]);
        (1.0 - self.rest) * at(1 + self.whole) + self.rest * at(2 + self.whole)
    }

    /// The correction after a unit correction at the start.
    fn answer(self, gain: f64) -> Vec<f64> {
        let mut correction = vec![1.0];
        for k in 1..Self::STEPS {
            correction.push(correction[k - 1] - gain * self.seen(&correction, k));
        }
        correction
    }

    /// Deviation plus correction after a deviation of one unit that lasts one interval.
    fn left(self, gain: f64) -> Vec<f64> {
        let (mut left, mut correction) = (vec![1.0], 0.0);
        for k in 1..Self::STEPS {
            correction -= gain * self.seen(&left, k);
            left.push(correction);
        }
        left
    }
}

/// Variance that is left of a deviation of unit variance with a given correlation over so many corrections.
fn remaining(left: &[f64], correlation: impl Fn(f64) -> f64) -> f64 {
    let mut sum: f64 = left.iter().map(|one| one * one).sum();
    for lag in 1..left.len() {
        let together = correlation(lag as f64);
        if together < 1e-6 {
            break;
        }
        sum += 2.0 * together * left[lag..].iter().zip(left).map(|(late, early)| late * early).sum::<f64>();
    }
    sum.max(0.0)
}

/// Largest loop gain with which the corrections die out, found by halving.
///
/// For whole dead times d it is 2 sin(pi / (2 (2 d + 1))), the stability limit of x(k) = x(k-1) - G x(k-1-d).
/// *Source*: Levin and May (1976), A note on difference-delay equations, Theoretical Population Biology 9, 178-187
/// (from memory).
fn largest_gain(dead_time_corrections: f64) -> f64 {
    let delay = Delay::of(dead_time_corrections);
    let dies_out = |gain: f64| {
        let answer = delay.answer(gain);
        let largest = |part: &[f64]| part.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
        let (middle, end) = (answer.len() / 3, 2 * answer.len() / 3);
        largest(&answer[end..]) < largest(&answer[middle..end])
    };
    let (mut low, mut high) = (0.0, 2.0);
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if dies_out(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_gain_falls_with_the_dead_time() {
        for dead in [1.0_f64, 2.0, 3.0, 5.0] {
            let expected = 2.0 * (std::f64::consts::FRAC_PI_2 / (2.0 * dead + 1.0)).sin();
            assert!((largest_gain(dead) - expected).abs() < 2e-3, "{dead}: {}", largest_gain(dead));
        }
    }

    #[test]
    fn without_dead_time_the_loop_is_a_first_order_one() {
        // x(k) = (1 - G) x(k-1): variance of the correction G / (2 - G) for each unit of noise.
        let delay = Delay::of(0.0);
        let gain = 0.4;
        let squares: f64 = delay.answer(gain).iter().map(|one| one * one).sum();
        assert!((gain * gain * squares - gain / (2.0 - gain)).abs() < 1e-9);
        // A deviation that lasts for ever is taken off altogether, one of a single interval is not helped.
        let left = delay.left(gain);
        assert!(remaining(&left, |_| 1.0) < 1e-9);
        assert!(remaining(&left, |_| 0.0) > 1.0);
    }
}
