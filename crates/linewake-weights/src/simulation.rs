//! The whole test of a lot, simulated: count and mean on the same packs, batches within the lot, packs behind a
//! checkweigher.
//!
//! Each draw has a named stream and an index of its own, and packs that leave the weigher are drawn directly (their
//! reading from the truncated normal, then the true weight given the reading), so that two targets or two spreads see
//! the same luck and their difference is sure with few tests.

use crate::acceptance::{PassProbability, SharesBelow};
use crate::evaluation::Verdict;
use crate::lot_test::LotTest;
use crate::packs::{Gate, Leaving, Packs, PacksError};
use core::fmt;
use linewake_stats::distribution::normal::{normal_cdf, normal_density, normal_quantile};
use linewake_stats::interval::{Interval, wilson};
use linewake_stats::stream::{IndexedStream, Streams};

/// Names of the streams.
const SHIFT: &str = "weights/lot-test/batch-shift";
const BATCH: &str = "weights/lot-test/batch-of-pack";
const READING: &str = "weights/lot-test/reading";
const TRUTH: &str = "weights/lot-test/true-weight";

/// More batches in a lot make no difference to a mixed one.
const MOST_BATCHES: u64 = 100_000;

/// What a lot is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Makeup {
    /// So many batches of the same size, each with a shift of its own; at least 1.
    Batches(u32),
    /// So many batches that each pack has its own shift: the spread within and between is one.
    Mixed,
}

/// A share of the simulated tests, with its 95 % interval (Wilson).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Tests with it.
    pub hits: u64,
    /// Tests.
    pub tests: u64,
    /// Interval at 95 %.
    pub interval: Interval,
}

impl Share {
    fn of(hits: u64, tests: u64) -> Self {
        let interval = wilson(hits, tests, 0.95).unwrap_or(Interval { low: 0.0, high: 1.0 });
        Self { hits, tests, interval }
    }

    /// The share itself.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.hits as f64 / self.tests as f64
    }
}

/// What simulated tests of lots gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SimulatedTests {
    /// Lots that passed.
    pub passed: Share,
    /// Lots whose count of packs passed.
    pub count_passed: Share,
    /// Lots whose mean passed.
    pub mean_passed: Share,
    /// Lots with a pack below T2 among those drawn, whether the test asks or not.
    pub with_pack_below_t2: Share,
}

/// Figures with which nothing can be simulated.
#[derive(Clone, Debug, PartialEq)]
pub enum SimulationError {
    /// No tests, or no batches.
    Nothing,
    /// More packs or batches in all than streams have places for (2^52), or more than 100,000 batches in a lot.
    TooMany,
    /// The packs or the weigher.
    Packs(PacksError),
}

impl fmt::Display for SimulationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Nothing => write!(f, "at least one test and one batch are needed"),
            Self::TooMany => {
                write!(
                    f,
                    "tests x packs (or batches) is above 2^52, or a lot has over 100,000 batches; ask for fewer"
                )
            }
            Self::Packs(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for SimulationError {}

impl From<PacksError> for SimulationError {
    fn from(error: PacksError) -> Self {
        Self::Packs(error)
    }
}

impl LotTest {
    /// The probability that a lot passes, in closed form: count and mean each, with the bounds for both together. None
    /// for a lot of several batches with a spread between them, which has no closed form.
    ///
    /// Without a weigher's limits and for one batch or mixed lots both parts are exact (the integral over the shift of a
    /// batch is by the trapezoidal rule); behind a weigher the count is exact, the mean an approximation that takes the
    /// leaving packs as normal.
    ///
    /// # Errors
    /// Figures that are no packs or no weigher, or a weigher that rejects everything.
    pub fn passes(
        &self,
        packs: &Packs,
        gate: &Gate,
        makeup: Makeup,
    ) -> Result<Option<PassProbability>, PacksError> {
        packs.check()?;
        gate.check()?;
        match makeup {
            Makeup::Batches(batches) if batches > 1 && packs.sd_between_g > 0.0 => Ok(None),
            Makeup::Batches(_) if packs.sd_between_g > 0.0 => {
                const STEPS: i32 = 96;
                const END: f64 = 7.0;
                let step = END / f64::from(STEPS);
                let mut sum = PassProbability { count: 0.0, mean: 0.0 };
                let mut weights = 0.0;
                for k in -STEPS..=STEPS {
                    let z = step * f64::from(k);
                    let mean_g = packs.mean_g + z * packs.sd_between_g;
                    // A batch of which nothing leaves makes no lot.
                    let Ok(one) = self.one_law(mean_g, packs.sd_within_g, gate) else { continue };
                    let weight = step * normal_density(z);
                    sum.count += weight * one.count;
                    sum.mean += weight * one.mean;
                    weights += weight;
                }
                if weights > 0.0 {
                    Ok(Some(PassProbability { count: sum.count / weights, mean: sum.mean / weights }))
                } else {
                    Err(PacksError::NothingLeaves)
                }
            }
            _ => self.one_law(packs.mean_g, packs.sd_g(), gate).map(Some),
        }
    }

    fn one_law(&self, mean_g: f64, sd_g: f64, gate: &Gate) -> Result<PassProbability, PacksError> {
        let leaving = Leaving::of_normal(mean_g, sd_g, gate)?;
        let t1 = leaving.share_below(self.t1_g());
        let t2 = self.t2_g().map_or(0.0, |limit| leaving.share_below(limit)).min(t1);
        Ok(PassProbability {
            count: self.count_passes(SharesBelow { t1, t2 }),
            mean: self.mean_passes(leaving.leaving_mean_g, leaving.leaving_sd_g),
        })
    }

    /// Carries out `tests` tests of lots with the streams of one seed and replication.
    ///
    /// Packs of the sample come from the batches as the packs that leave do: a batch of which the weigher rejects more
    /// has fewer.
    ///
    /// # Errors
    /// No tests or batches, figures that are no packs or no weigher, or a weigher that rejects everything.
    pub fn simulate(
        &self,
        packs: &Packs,
        gate: &Gate,
        makeup: Makeup,
        tests: u64,
        streams: &Streams,
    ) -> Result<SimulatedTests, SimulationError> {
        Leaving::of(packs, gate)?;
        let sample = self.largest_sample();
        let batches = match makeup {
            Makeup::Batches(batches) => u64::from(batches),
            Makeup::Mixed => 1,
        };
        if tests == 0 || batches == 0 || sample == 0 {
            return Err(SimulationError::Nothing);
        }
        let fits = |per_test: u64| tests.checked_mul(per_test).is_some_and(|all| all < 1 << 52);
        if !fits(sample) || !fits(batches) || batches > MOST_BATCHES {
            return Err(SimulationError::TooMany);
        }
        let mut lot = Lot::new(packs, gate, makeup, streams);
        let mut weights_g = vec![0.0; sample as usize];
        let (mut passed, mut count, mut mean, mut below_t2) = (0, 0, 0, 0);
        for test in 0..tests {
            lot.mix(test);
            // A further draw is made only where the one before leaves the count open, as an inspector does.
            let (mut drawn, mut until) = (0, self.draws[0].sample);
            let outcome = loop {
                for place in drawn..until {
                    weights_g[place as usize] = lot.pack(test * sample + place);
                }
                let outcome = self.judged(&weights_g[..until as usize]);
                let Verdict::DrawMore { total } = outcome.counted.verdict else { break outcome };
                (drawn, until) = (until, total);
            };
            passed += u64::from(outcome.verdict == Verdict::Accepted);
            count += u64::from(outcome.counted.verdict == Verdict::Accepted);
            mean += u64::from(outcome.mean.is_none_or(|mean| mean.passes));
            below_t2 += u64::from(outcome.counted.below_t2 > 0);
        }
        Ok(SimulatedTests {
            passed: Share::of(passed, tests),
            count_passed: Share::of(count, tests),
            mean_passed: Share::of(mean, tests),
            with_pack_below_t2: Share::of(below_t2, tests),
        })
    }
}

/// Packs of lots, drawn behind the weigher.
struct Lot {
    mean_g: f64,
    sd_g: f64,
    sd_between_g: f64,
    gate: Gate,
    batches: Vec<Batch>,
    shift: IndexedStream,
    batch: IndexedStream,
    reading: IndexedStream,
    truth: IndexedStream,
}

/// A batch of a lot.
#[derive(Clone, Copy)]
struct Batch {
    mean_g: f64,
    /// Share of the lot's leaving packs up to and with this batch.
    up_to: f64,
    /// Readings that pass, in standard deviations about the batch's mean.
    readings: Truncated,
}

impl Lot {
    fn new(packs: &Packs, gate: &Gate, makeup: Makeup, streams: &Streams) -> Self {
        let (sd_g, sd_between_g, batches) = match makeup {
            Makeup::Batches(batches) => (packs.sd_within_g, packs.sd_between_g, batches),
            Makeup::Mixed => (packs.sd_g(), 0.0, 1),
        };
        let all = Truncated::new(f64::NEG_INFINITY, f64::INFINITY);
        Self {
            mean_g: packs.mean_g,
            sd_g,
            sd_between_g,
            gate: *gate,
            batches: vec![Batch { mean_g: packs.mean_g, up_to: 1.0, readings: all }; batches as usize],
            shift: streams.indexed(SHIFT),
            batch: streams.indexed(BATCH),
            reading: streams.indexed(READING),
            truth: streams.indexed(TRUTH),
        }
    }

    /// Draws the batches of a lot.
    fn mix(&mut self, test: u64) {
        let number = self.batches.len() as u64;
        let read_sd_g = libm::hypot(self.sd_g, self.gate.sd_g);
        let (low, high) = self.gate.passes_between();
        let mut sum = 0.0;
        for (place, batch) in self.batches.iter_mut().enumerate() {
            let z = normal_quantile(self.shift.open01_at(test * number + place as u64));
            batch.mean_g = self.mean_g + self.sd_between_g * z;
            let centre = batch.mean_g + self.gate.bias_g;
            sum += if read_sd_g > 0.0 {
                batch.readings = Truncated::new((low - centre) / read_sd_g, (high - centre) / read_sd_g);
                batch.readings.span
            } else {
                f64::from(u8::from(centre >= low && centre <= high))
            };
            batch.up_to = sum;
        }
        for (place, batch) in self.batches.iter_mut().enumerate() {
            // A lot of batches of which nothing leaves: take them evenly, each pack is then drawn at the limit.
            batch.up_to = if sum > 0.0 { batch.up_to / sum } else { (place + 1) as f64 / number as f64 };
        }
    }

    /// The true weight of a pack that leaves.
    fn pack(&mut self, index: u64) -> f64 {
        let last = self.batches.len() - 1;
        let place = if last == 0 {
            0
        } else {
            let u = self.batch.open01_at(index);
            self.batches.partition_point(|batch| batch.up_to <= u).min(last)
        };
        let batch = self.batches[place];
        let read_sd_g = libm::hypot(self.sd_g, self.gate.sd_g);
        if read_sd_g <= 0.0 {
            return batch.mean_g.max(0.0);
        }
        let z = batch.readings.quantile(self.reading.open01_at(index));
        let own = (self.sd_g / read_sd_g) * (self.sd_g / read_sd_g);
        let rest = self.sd_g * self.gate.sd_g / read_sd_g;
        let noise = if rest > 0.0 { rest * normal_quantile(self.truth.open01_at(index)) } else { 0.0 };
        (batch.mean_g + own * read_sd_g * z + noise).max(0.0)
    }
}

/// A standard normal variate within an interval.
#[derive(Clone, Copy)]
struct Truncated {
    a: f64,
    b: f64,
    /// Probability outside, on the side of the nearer tail's end: below `a`, or above it where `a` is above 0.
    outside: f64,
    /// Probability of the interval.
    span: f64,
}

impl Truncated {
    fn new(a: f64, b: f64) -> Self {
        // In the tail in which it keeps its digits.
        let (outside, span) = if a > 0.0 {
            (normal_cdf(-a), normal_cdf(-a) - normal_cdf(-b))
        } else {
            (normal_cdf(a), normal_cdf(b) - normal_cdf(a))
        };
        Self { a, b, outside, span }
    }

    /// The value that it stays below with probability u; the end nearer to 0 where the interval has no probability to
    /// speak of.
    fn quantile(&self, u: f64) -> f64 {
        let z = if self.a > 0.0 {
            -normal_quantile(self.outside - u * self.span)
        } else {
            normal_quantile(self.outside + u * self.span)
        };
        if z.is_finite() {
            z.clamp(self.a, self.b)
        } else if self.a > 0.0 {
            self.a
        } else {
            self.b
        }
    }
}

#[cfg(test)]
mod tests;
