//! Chances of tags, verdicts and fail-safes: print runs seen by vision, weights, rejects in a row.

use super::demand::Lean;
use super::shape::Shape;
use crate::station::{Printer, Vision, Weigher};
use linewake_stats::distribution::normal::{normal_cdf, normal_density};

/// Print faults and vision in the long run.
#[derive(Clone, Copy, Debug)]
pub(super) struct PrintAndVision {
    /// Probability that a pack is misprinted.
    pub(super) misprint: f64,
    /// Probability that vision tags a misprinted pack; 0 without vision.
    pub(super) sensitivity: f64,
    /// Probability that vision tags a right pack; 0 without vision.
    pub(super) false_tag: f64,
    /// Print chain: probability good to faulty and faulty to good.
    p: f64,
    r: f64,
    q: f64,
}

impl PrintAndVision {
    pub(super) fn of(printer: Option<Printer>, vision: Option<&Vision>) -> Self {
        let (p, r, q) = printer.map_or((0.0, 1.0, 0.0), |printer| (printer.p, printer.r, printer.q));
        let faulty = if p > 0.0 { p / (p + r) } else { 0.0 };
        Self {
            misprint: faulty * q,
            sensitivity: vision.map_or(0.0, |vision| vision.sensitivity),
            false_tag: vision.map_or(0.0, |vision| vision.false_tag),
            p,
            r,
            q,
        }
    }

    /// Long-run share of faulty indexes: p / (p + r).
    fn faulty(&self) -> f64 {
        if self.p > 0.0 { self.p / (self.p + self.r) } else { 0.0 }
    }

    /// Probability that a pack of a good and of a faulty index is tagged.
    fn tag_chance(&self) -> [f64; 2] {
        [self.false_tag, self.q * self.sensitivity + (1.0 - self.q) * self.false_tag]
    }

    /// Probability that all of `packs` packs of one index are tagged by vision.
    pub(super) fn all_tagged(&self, packs: f64) -> f64 {
        let [good, faulty] = self.tag_chance();
        (1.0 - self.faulty()) * good.powf(packs) + self.faulty() * faulty.powf(packs)
    }

    /// Stops for each index of the rule "so many consecutive indexes with a tagged pack", counted afresh after each.
    ///
    /// *Formula*: the printer's state and the length of the row are a Markov chain. With M = transition times the
    /// chance of a tagged index in the new state, and pi the printer's stationary state, the share x of indexes that
    /// end no row solves x (I + M + ... + M^(n-1)) = pi, and stops come at the rate x M^n.
    pub(super) fn tag_row_rate(&self, row: u32, packs: f64) -> f64 {
        let chance = self.tag_chance().map(|tag| 1.0 - (1.0 - tag).powf(packs));
        let step = [
            [(1.0 - self.p) * chance[0], self.p * chance[1]],
            [self.r * chance[0], (1.0 - self.r) * chance[1]],
        ];
        let times = |a: [[f64; 2]; 2], b: [[f64; 2]; 2]| {
            let cell = |i: usize, j: usize| a[i][0] * b[0][j] + a[i][1] * b[1][j];
            [[cell(0, 0), cell(0, 1)], [cell(1, 0), cell(1, 1)]]
        };
        let mut power = [[1.0, 0.0], [0.0, 1.0]];
        let mut sum = [[0.0, 0.0], [0.0, 0.0]];
        for _ in 0..row.max(1) {
            for i in 0..2 {
                for j in 0..2 {
                    sum[i][j] += power[i][j];
                }
            }
            power = times(power, step);
        }
        let determinant = sum[0][0] * sum[1][1] - sum[0][1] * sum[1][0];
        let stationary = [1.0 - self.faulty(), self.faulty()];
        let fresh = [
            (stationary[0] * sum[1][1] - stationary[1] * sum[1][0]) / determinant,
            (stationary[1] * sum[0][0] - stationary[0] * sum[0][1]) / determinant,
        ];
        fresh[0] * (power[0][0] + power[0][1]) + fresh[1] * (power[1][0] + power[1][1])
    }
}

/// What a weigher sees: pack weight and its own error, split into what changes from pack to pack and what lasts.
#[derive(Clone, Debug)]
pub(super) struct Weighing {
    /// Means that the pack weight takes, each as likely; more than one when feedback swings.
    means_g: Vec<f64>,
    /// Standard deviation from pack to pack, weigher included.
    fast_g: f64,
    /// Standard deviation of batches, drift and corrections, the same for many packs in a row.
    slow_g: f64,
    low_g: f64,
    high_g: f64,
}

impl Weighing {
    /// `None` without a weigher or without portions.
    ///
    /// Feedback takes off part of what lasts and adds the noise of its corrections; to a favourable view it takes off
    /// all. If it does not settle it is taken to be anywhere within its limits, to a cautious view at one limit or
    /// the other.
    pub(super) fn of(shape: &Shape<'_>, weigher: Option<Weigher>, lean: Lean) -> Option<Self> {
        let (weigher, weight) = (weigher?, &shape.portioner?.weight);
        let portions = shape.portions_per_pack;
        let fast_g = (portions.sqrt() * weight.sd_g).hypot(weigher.sd_g);
        let drift_g = weight.drift.map_or(0.0, |drift| drift.sd_g);
        let uncorrected_g = portions * weight.sd_batch_g.hypot(drift_g);
        let mut means_g = vec![shape.pack_g()?];
        let slow_g = match (weight.feedback, shape.feedback) {
            (Some(_), _) if lean == Lean::Favourable => 0.0,
            (Some(feedback), Some(behaviour)) if behaviour.settles => {
                let batch = (portions * weight.sd_batch_g).powi(2) * behaviour.batch;
                let drift = (portions * drift_g).powi(2) * behaviour.drift;
                let noise = fast_g * fast_g / f64::from(feedback.every_packs.max(1)) * behaviour.noise;
                (batch + drift + noise).sqrt()
            }
            (Some(feedback), _) => {
                let steps = if lean == Lean::Cautious { 1 } else { 20 };
                let range = feedback.highest_g - feedback.lowest_g;
                let at = |step: u32| feedback.lowest_g + range * f64::from(step) / f64::from(steps);
                means_g = (0..=steps).map(|step| portions * (weight.mean_g + at(step))).collect();
                uncorrected_g
            }
            (None, _) => uncorrected_g,
        };
        Some(Self {
            means_g,
            fast_g,
            slow_g,
            low_g: weigher.low_g.unwrap_or(f64::NEG_INFINITY),
            high_g: weigher.high_g.unwrap_or(f64::INFINITY),
        })
    }

    /// Probabilities to measure under the low and over the high limit.
    pub(super) fn rejects(&self) -> (f64, f64) {
        let sd_g = self.fast_g.hypot(self.slow_g);
        let (low, high) = self.means_g.iter().fold((0.0, 0.0), |sum, mean| {
            let (low, high) = self.rejects_at(*mean, sd_g);
            (sum.0 + low, sum.1 + high)
        });
        let means = self.means_g.len() as f64;
        (low / means, high / means)
    }

    fn rejects_at(&self, mean_g: f64, sd_g: f64) -> (f64, f64) {
        if sd_g > 0.0 {
            (normal_cdf((self.low_g - mean_g) / sd_g), normal_cdf((mean_g - self.high_g) / sd_g))
        } else {
            (f64::from(mean_g < self.low_g), f64::from(mean_g > self.high_g))
        }
    }

    /// Mean of a function of the chance of a weight reject over the lasting part of the weight.
    fn over_shifts(&self, of_chance: impl Fn(f64) -> f64) -> f64 {
        const STEPS: i32 = 400;
        const WIDEST: f64 = 8.0;
        let at = |mean: f64| {
            let (low, high) = self.rejects_at(mean, self.fast_g);
            of_chance((low + high).min(1.0))
        };
        let steps = if self.slow_g > 0.0 { -STEPS..=STEPS } else { 0..=0 };
        let (mut sum, mut weights) = (0.0, 0.0);
        for step in steps {
            let z = WIDEST * f64::from(step) / f64::from(STEPS);
            for mean in &self.means_g {
                sum += normal_density(z) * at(mean + z * self.slow_g);
                weights += normal_density(z);
            }
        }
        sum / weights
    }
}

/// Stops for each pack of the rule "so many rejects in a row", counted afresh after each. `other` is the chance of
/// a reject for another reason than weight.
pub(super) fn reject_row_rate(weighing: Option<&Weighing>, other: f64, row: u32) -> f64 {
    let both = |weight: f64| 1.0 - (1.0 - weight) * (1.0 - other);
    weighing.map_or_else(
        || row_rate(other, row),
        |weighing| weighing.over_shifts(|weight| row_rate(both(weight), row)),
    )
}

/// *Formula*: the mean number of trials up to `row` hits in a row is (1 - p^row) / ((1 - p) p^row).
/// *Source*: Feller (1968), An Introduction to Probability Theory and Its Applications, vol. 1, XIII.7 (from memory).
fn row_rate(hit: f64, row: u32) -> f64 {
    let all = hit.powf(f64::from(row.max(1)));
    if hit >= 1.0 {
        1.0 / f64::from(row.max(1))
    } else if hit > 0.0 {
        (1.0 - hit) * all / (1.0 - all)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_of_fair_tosses() {
        // Two heads in a row take 6 tosses on average, three take 14.
        assert!((row_rate(0.5, 2) - 1.0 / 6.0).abs() < 1e-12);
        assert!((row_rate(0.5, 3) - 1.0 / 14.0).abs() < 1e-12);
        assert!((row_rate(1.0, 4) - 0.25).abs() < 1e-12);
        assert!(row_rate(0.0, 4).abs() < 1e-12);
    }

    #[test]
    fn tags_in_a_row_without_runs_are_a_plain_row() {
        // With p = 1 - r the chain forgets: every index is faulty with 0.3, and then tagged for certain.
        let printer = Printer { p: 0.3, r: 0.7, q: 1.0 };
        let vision = Vision { sensitivity: 1.0, false_tag: 0.0, stop_rule: None };
        let chain = PrintAndVision::of(Some(printer), Some(&vision));
        for row in 1..5 {
            assert!((chain.tag_row_rate(row, 6.0) - row_rate(0.3, row)).abs() < 1e-12);
        }
    }

    #[test]
    fn tags_in_a_row_follow_the_runs() {
        // Tags sit exactly in the faulty indexes. A run of them lasts L indexes (geometric, mean 1 / r); with a rule of
        // 2 it stops floor(L / 2) times: the sum over k of P(L >= 2k) = a / (1 - a^2) with a = 1 - r. Runs begin at
        // the rate r p / (p + r).
        let (p, r) = (0.01, 0.25);
        let vision = Vision { sensitivity: 1.0, false_tag: 0.0, stop_rule: None };
        let chain = PrintAndVision::of(Some(Printer { p, r, q: 1.0 }), Some(&vision));
        let a = 1.0_f64 - r;
        let expected = r * p / (p + r) * a / (1.0 - a * a);
        assert!((chain.tag_row_rate(2, 8.0) - expected).abs() < 1e-12);
        assert!((chain.misprint - 0.01 / 0.26).abs() < 1e-12);
    }
}
