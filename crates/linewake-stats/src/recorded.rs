//! Times as a record tells them: exact, cut off, rounded to a grid, or with both ends read from a clock that ticks in
//! steps. What the likelihood of each is, its maximum, and intervals by profile likelihood.
//!
//! *Formula*: ln L = sum over entries of weight x ln P(entry), less the weight of the complete entries times the
//! logarithm of the probability that a time is seen at all, where the record loses the shortest.
//! *Source*: Meeker and Escobar (1998), Statistical Methods for Reliability Data, chapters 2 (censored and rounded
//! observations), 7 and 8 (maximum likelihood, profile likelihood).

mod goodness;
mod heaping;
mod law;
mod likelihood;
mod maximum;
mod profile;
mod survival;

pub use goodness::{Goodness, GoodnessMethod, Redraw, goodness};
pub use heaping::{Heaping, heaping};
pub use law::{Cut, LawPoint};
pub use profile::{Parameter, interval};
pub use survival::{SurvivalStep, survival};

use crate::distribution::{Distribution, given};
use crate::fit::{Family, Fit, FitError, Sample};
use law::Law;
use std::collections::BTreeMap;

/// Above so many complete times they are grouped to a thousandth of their logarithm before the likelihood is worked
/// out.
pub const GROUPED_ABOVE: usize = 20_000;

/// How the complete times of a record came about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Recording {
    /// As they were, to the last digit that matters.
    Exact,
    /// Each time was rounded to the nearest whole number of `grid`; what rounds to nothing was not recorded.
    Rounded {
        /// The step.
        grid: f64,
    },
    /// Start and end were each read from a clock that moves in steps of `grid` (a poll, or a person who rounds the
    /// time of day); what begins and ends in one step was not recorded.
    BothEnds {
        /// The step.
        grid: f64,
    },
    /// A count that was rounded up to the next whole number.
    RoundedUp,
}

/// One kind of entry of a record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Entry {
    /// The time itself.
    At(f64),
    /// Between the two, the first left out.
    Within(f64, f64),
    /// Recorded as this, both ends in steps of the grid.
    BothEnds(f64, f64),
    /// Longer than this.
    After(f64),
}

/// A record of times: equal entries stand together with their number.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    pub(crate) entries: Vec<(Entry, f64)>,
    /// How the complete times came about.
    pub recording: Recording,
    /// Complete times, as recorded.
    complete: Vec<f64>,
    /// Cut-off times above 0.
    cut_off: Vec<f64>,
    /// Times recorded as 0 and taken as shorter than the shortest other.
    zeros: usize,
}

impl Recorded {
    /// A record of `complete` times (from 0) and `cut_off` times (from 0, of which it is known only that the time was
    /// longer; one of 0 says nothing and is left out). A complete time of 0 is taken as one shorter than the shortest
    /// that is not; in a record on a grid it is left out, as such a record leaves out what it cannot see.
    ///
    /// # Errors
    /// A time that is not finite or below 0; no complete time above 0.
    pub fn new(complete: &[f64], cut_off: &[f64], recording: Recording) -> Result<Self, FitError> {
        let wrong = |times: &[f64]| times.iter().position(|time| !(time.is_finite() && *time >= 0.0));
        if let Some(index) = wrong(complete) {
            return Err(FitError::CompleteTime { index, value: complete[index] });
        }
        if let Some(index) = wrong(cut_off) {
            return Err(FitError::CutOffTime { index, value: cut_off[index] });
        }
        let above: Vec<f64> = complete.iter().copied().filter(|time| *time > 0.0).collect();
        let Some(least) = above.iter().copied().min_by(f64::total_cmp) else {
            return Err(FitError::NoCompleteTime { cut_off: cut_off.len() });
        };
        let zeros = complete.len() - above.len();
        let cut_off: Vec<f64> = cut_off.iter().copied().filter(|time| *time > 0.0).collect();
        let mut counted: BTreeMap<u64, (f64, f64)> = BTreeMap::new();
        for time in &above {
            // Bits of numbers above 0 rise with them.
            let (key, value) = match recording {
                Recording::Exact if above.len() > GROUPED_ABOVE => {
                    let step = libm::round(libm::log(*time) * 1000.0) / 1000.0;
                    (libm::exp(step).to_bits(), libm::exp(step))
                }
                Recording::Rounded { grid } | Recording::BothEnds { grid } => {
                    let value = libm::round(time / grid).max(1.0) * grid;
                    (value.to_bits(), value)
                }
                Recording::RoundedUp => (libm::ceil(*time).to_bits(), libm::ceil(*time)),
                Recording::Exact => (time.to_bits(), *time),
            };
            counted.entry(key).or_insert((value, 0.0)).1 += 1.0;
        }
        let entry = |value: f64| match recording {
            Recording::Exact => Entry::At(value),
            Recording::Rounded { grid } => Entry::Within(value - 0.5 * grid, value + 0.5 * grid),
            Recording::BothEnds { grid } => Entry::BothEnds(value, grid),
            Recording::RoundedUp => Entry::Within(value - 1.0, value),
        };
        let mut entries: Vec<(Entry, f64)> =
            counted.into_values().map(|(value, weight)| (entry(value), weight)).collect();
        let on_grid = matches!(recording, Recording::Rounded { .. } | Recording::BothEnds { .. });
        if zeros > 0 && !on_grid {
            entries.push((Entry::Within(0.0, least), zeros as f64));
        }
        entries.extend(cut_off.iter().map(|time| (Entry::After(*time), 1.0)));
        Ok(Self { entries, recording, complete: above, cut_off, zeros: if on_grid { 0 } else { zeros } })
    }

    /// The complete times above 0, as recorded.
    #[must_use]
    pub fn complete(&self) -> &[f64] {
        &self.complete
    }

    /// The cut-off times above 0.
    #[must_use]
    pub fn cut_off(&self) -> &[f64] {
        &self.cut_off
    }

    /// Complete times, those of 0 among them.
    #[must_use]
    pub fn events(&self) -> usize {
        self.complete.len() + self.zeros
    }

    /// All complete times are the same, on whatever grid.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        self.zeros == 0
            && self.complete.iter().all(|time| (time - self.complete[0]).abs() <= 1e-9 * self.complete[0])
    }

    /// The times as an exact sample, where they are one.
    fn exact_sample(&self) -> Option<Sample> {
        let exact =
            self.recording == Recording::Exact && self.zeros == 0 && self.complete.len() <= GROUPED_ABOVE;
        if exact { Sample::new(&self.complete, &self.cut_off).ok() } else { None }
    }
}

/// A law fitted to a record.
#[derive(Clone, Debug, PartialEq)]
pub struct RecordedFit {
    /// Its family.
    pub family: Family,
    /// The law, in the unit of the times.
    pub distribution: Distribution,
    /// ln L at its maximum.
    pub log_likelihood: f64,
    /// Share of times that the record loses, by this law, because they are too short for its grid.
    pub unseen: f64,
    pub(crate) at: LawPoint,
}

impl RecordedFit {
    /// Fits `family` to `record`.
    ///
    /// # Errors
    /// When the likelihood has no maximum (all times equal), or when it lies where the family cannot be calculated
    /// with.
    pub fn of(family: Family, record: &Recorded) -> Result<Self, FitError> {
        let start = match record.exact_sample() {
            Some(sample) => Some(LawPoint::of(&Fit::of(family, &sample)?.distribution)),
            None => None,
        };
        Self::from(family, record, start.flatten())
    }

    /// The same from a point near the maximum.
    pub(crate) fn from(family: Family, record: &Recorded, start: Option<LawPoint>) -> Result<Self, FitError> {
        let out_of_reach = FitError::OutOfReach { family };
        let exact = record.exact_sample().is_some();
        if !exact && family.parameters() > 1 && record.is_constant() && record.cut_off.is_empty() {
            return Err(FitError::NoSpread { family, value: record.complete[0] });
        }
        let at = match start {
            Some(at) if exact => at,
            start => {
                let start = start.unwrap_or_else(|| likelihood::rough(family, record));
                maximum::of_record(family, record, start).ok_or_else(|| out_of_reach.clone())?
            }
        };
        let law = Law::at(family, at).ok_or_else(|| out_of_reach.clone())?;
        let log_likelihood = likelihood::of(&law, record);
        let distribution = law.distribution();
        if !log_likelihood.is_finite() || given::check(&distribution).is_err() {
            return Err(out_of_reach);
        }
        Ok(Self {
            family,
            distribution,
            log_likelihood,
            unseen: likelihood::unseen(&law, record.recording),
            at,
        })
    }

    /// Akaike's information criterion, 2 k - 2 ln L with k parameters.
    #[must_use]
    pub fn aic(&self) -> f64 {
        2.0 * (f64::from(self.family.parameters()) - self.log_likelihood)
    }

    /// Schwarz's (Bayes) information criterion, k ln n - 2 ln L, with n the number of complete times.
    #[must_use]
    pub fn bic(&self, record: &Recorded) -> f64 {
        f64::from(self.family.parameters()) * libm::log(record.events().max(1) as f64)
            - 2.0 * self.log_likelihood
    }
}

#[cfg(test)]
mod tests;
