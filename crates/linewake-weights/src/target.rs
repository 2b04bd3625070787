//! The smallest target that keeps what was promised, and the curve of giveaway against target.

use crate::giveaway::Giveaway;
use crate::lot_test::LotTest;
use crate::packs::{Gate, Leaving, Packs, PacksError};
use crate::regime::{Limits, to_micrograms};
use crate::simulation::{Makeup, SimulationError};
use core::fmt;
use linewake_stats::stream::Streams;
use serde::Serialize;

/// What is promised; what is `None` is not asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Levels {
    /// The mean of the packs that leave is at least the reference (nominal less allowance).
    pub mean_at_least_reference: bool,
    /// At most this share of the leaving packs is below T1.
    pub below_t1: Option<f64>,
    /// At most this share of the leaving packs is below T2.
    pub below_t2: Option<f64>,
    /// A lot passes its test with at least this probability.
    pub lot_passes: Option<f64>,
    /// At most this share of packs is rejected.
    pub rejected: Option<f64>,
}

/// What one promise asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Promise {
    /// Mean at least the reference, grams.
    Mean,
    /// Share below T1.
    BelowT1,
    /// Share below T2.
    BelowT2,
    /// Probability that a lot passes.
    LotPasses,
    /// Share rejected.
    Rejected,
}

impl Promise {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Mean => "mean of the packs that leave, in grams",
            Self::BelowT1 => "share of leaving packs below T1",
            Self::BelowT2 => "share of leaving packs below T2",
            Self::LotPasses => "probability that a lot passes its test",
            Self::Rejected => "share of packs rejected",
        }
    }

    /// A value of it as people write it: grams to hundredths, shares in percent with three digits.
    fn shown(self, value: f64) -> String {
        if self == Self::Mean {
            return format!("{value:.2}");
        }
        let percent = 100.0 * value;
        let digits =
            if percent > 0.0 { (2.0 - libm::floor(libm::log10(percent))).clamp(0.0, 6.0) } else { 0.0 };
        format!("{percent:.*} %", digits as usize)
    }
}

/// One promise at one target.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Kept {
    /// Which.
    pub promise: Promise,
    /// Its value.
    pub value: f64,
    /// Half the width of the 95 % interval; 0 where the value is computed.
    pub half_width: f64,
    /// What it is held against.
    pub level: f64,
    /// It is kept.
    pub holds: bool,
}

impl Kept {
    /// By how much it is missed: a share itself, of the mean its share of the level.
    fn missing(&self) -> f64 {
        let by = (self.value - self.level).abs();
        if self.promise == Promise::Mean { by / self.level.abs().max(f64::MIN_POSITIVE) } else { by }
    }
}

/// One case: packs at a weigher, and the test of their lots.
#[derive(Clone, Copy, Debug)]
pub struct Case<'a> {
    /// Packs; their mean is what is sought.
    pub packs: Packs,
    /// Checkweigher.
    pub gate: Gate,
    /// Nominal quantity and limits.
    pub limits: &'a Limits,
    /// Allowance for moisture in grams, by which reference and limits are lowered; 0 where there is none.
    pub allowance_g: f64,
    /// Test of a lot; none for a regime without one.
    pub test: Option<&'a LotTest>,
    /// What a lot is made of.
    pub makeup: Makeup,
    /// Tests simulated at each target for the probability that a lot passes.
    pub tests: u64,
    /// Streams of the simulation: the same at every target.
    pub streams: Streams,
}

/// The smallest target.
#[derive(Clone, Debug, PartialEq)]
pub struct SmallestTarget {
    /// Target in grams: a whole number of steps.
    pub target_g: f64,
    /// Every promise at the target.
    pub kept: Vec<Kept>,
    /// What is broken one step below: why the target cannot be lower. Empty if the search started there.
    pub binding: Vec<Promise>,
    /// Targets above that were looked at and at which a promise is broken again (an upper reject limit does that).
    pub broken_above_g: Vec<f64>,
}

/// Why there is no target.
#[derive(Clone, Debug, PartialEq)]
pub enum TargetError {
    /// A range or step that is none.
    Range {
        /// Lowest target in grams.
        low: f64,
        /// Highest target in grams.
        high: f64,
        /// Step in grams.
        step: f64,
    },
    /// A level outside [0, 1].
    Level(f64),
    /// Nothing is asked for.
    NoPromise,
    /// T2 is asked for, but the regime has none.
    NoSecondLimit,
    /// The probability that a lot passes is asked for, but there is no test of lots.
    NoTest,
    /// No target of the range keeps all promises. Told of the one that comes nearest: fewest promises broken, and these
    /// by least.
    Unreachable {
        /// That target in grams.
        nearest: f64,
        /// What is broken there, the first if there are several.
        broken: Promise,
        /// Its value there.
        value: f64,
        /// What it should be.
        level: f64,
    },
    /// The simulation.
    Simulation(SimulationError),
}

impl fmt::Display for TargetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range { low, high, step } => {
                write!(
                    f,
                    "targets from {low} to {high} g in steps of {step} g: the step must be above 0 and the range rise"
                )
            }
            Self::Level(value) => write!(f, "a level is {value}; levels lie between 0 and 1"),
            Self::NoPromise => write!(f, "nothing is promised, so any target would do; state a level"),
            Self::NoSecondLimit => write!(f, "a share below T2 is asked for, but the regime has no T2"),
            Self::NoTest => {
                write!(
                    f,
                    "a probability that a lot passes is asked for, but there is no test of lots; name a plan"
                )
            }
            Self::Unreachable { nearest, broken, value, level } => {
                write!(
                    f,
                    "no target keeps all promises; nearest comes {nearest} g, where the {} is {} instead of {}",
                    broken.words(),
                    broken.shown(*value),
                    broken.shown(*level)
                )
            }
            Self::Simulation(error) => error.fmt(f),
        }
    }
}

impl core::error::Error for TargetError {}

impl From<SimulationError> for TargetError {
    fn from(error: SimulationError) -> Self {
        Self::Simulation(error)
    }
}

impl From<PacksError> for TargetError {
    fn from(error: PacksError) -> Self {
        Self::Simulation(error.into())
    }
}

/// A point of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CurvePoint {
    /// Target in grams.
    pub target_g: f64,
    /// Giveaway and rejects.
    pub giveaway: Giveaway,
    /// Share of leaving packs below T1.
    pub below_t1: f64,
    /// Share of leaving packs below T2; 0 where there is none.
    pub below_t2: f64,
}

/// Points of the grids on which a target is looked for, one after the other.
const GRIDS: [u64; 2] = [24, 240];

impl Case<'_> {
    fn reference_g(&self) -> f64 {
        self.limits.nominal_g - self.allowance_g
    }

    fn t1_g(&self) -> f64 {
        self.limits.t1_g - self.allowance_g
    }

    fn t2_g(&self) -> Option<f64> {
        self.limits.t2_g.map(|limit| limit - self.allowance_g)
    }

    fn check(&self, levels: &Levels) -> Result<(), TargetError> {
        let shares = [levels.below_t1, levels.below_t2, levels.lot_passes, levels.rejected];
        if let Some(level) = shares.into_iter().flatten().find(|level| !(0.0..=1.0).contains(level)) {
            return Err(TargetError::Level(level));
        }
        if *levels == Levels::default() {
            return Err(TargetError::NoPromise);
        }
        if levels.below_t2.is_some() && self.limits.t2_g.is_none() {
            return Err(TargetError::NoSecondLimit);
        }
        if levels.lot_passes.is_some() && self.test.is_none() { Err(TargetError::NoTest) } else { Ok(()) }
    }

    /// Every promise at one target.
    ///
    /// # Errors
    /// Levels that are none, or figures with which nothing can be simulated.
    pub fn kept(&self, target_g: f64, levels: &Levels) -> Result<Vec<Kept>, TargetError> {
        self.check(levels)?;
        let packs = self.packs.with_mean(target_g);
        let leaving = Leaving::of(&packs, &self.gate)?;
        let mut kept = Vec::new();
        if levels.mean_at_least_reference {
            let (value, level) = (leaving.leaving_mean_g, self.reference_g());
            kept.push(Kept {
                promise: Promise::Mean,
                value,
                half_width: 0.0,
                level,
                holds: value >= level - 1e-9,
            });
        }
        let mut at_most = |promise, value: f64, level: f64| {
            kept.push(Kept { promise, value, half_width: 0.0, level, holds: value <= level });
        };
        if let Some(level) = levels.below_t1 {
            at_most(Promise::BelowT1, leaving.share_below(self.t1_g()), level);
        }
        if let Some(level) = levels.below_t2 {
            let limit = self.t2_g().ok_or(TargetError::NoSecondLimit)?;
            at_most(Promise::BelowT2, leaving.share_below(limit), level);
        }
        if let Some(level) = levels.rejected {
            at_most(Promise::Rejected, leaving.rejected_low + leaving.rejected_high, level);
        }
        if let Some(level) = levels.lot_passes {
            let test = self.test.ok_or(TargetError::NoTest)?;
            let share = test.simulate(&packs, &self.gate, self.makeup, self.tests, &self.streams)?.passed;
            kept.push(Kept {
                promise: Promise::LotPasses,
                value: share.value(),
                half_width: 0.5 * (share.interval.high - share.interval.low),
                level,
                holds: share.value() >= level,
            });
        }
        Ok(kept)
    }

    /// The smallest target in [low, high], in whole steps, at which all promises are kept.
    ///
    /// All promises but that of rejects get better as the target rises, so halving finds the edge of what is kept; an upper
    /// reject limit breaks that order. So the search first looks for a target that keeps everything on a grid, from
    /// below, coarse and then fine (24 and 240 points of the range), halves the step between it and the last that does
    /// not, and then looks at targets above. A window of kept targets narrower than the grid may be missed.
    ///
    /// # Errors
    /// A range or level that is none, figures with which nothing can be simulated, or no target in the range.
    pub fn smallest_target(
        &self,
        range_g: (f64, f64),
        step_g: f64,
        levels: &Levels,
    ) -> Result<SmallestTarget, TargetError> {
        let (low, high) = range_g;
        let first = libm::ceil(low / step_g - 1e-9);
        let steps = libm::floor(high / step_g + 1e-9) - first;
        if !(step_g > 0.0 && high > low && (1.0..1e9).contains(&steps)) {
            return Err(TargetError::Range { low, high, step: step_g });
        }
        let steps = steps as u64;
        self.check(levels)?;
        let at = |step: u64| to_micrograms((first + step as f64) * step_g);
        // What is computed comes first: tests are simulated only where all the rest is kept.
        let computed = Levels { lot_passes: None, ..*levels };
        let judge = |step: u64| -> Result<(bool, Vec<Kept>), TargetError> {
            let kept =
                if computed == Levels::default() { Ok(Vec::new()) } else { self.kept(at(step), &computed) };
            let kept = match kept {
                Ok(kept) if levels.lot_passes.is_some() && kept.iter().all(|one| one.holds) => {
                    self.kept(at(step), levels)
                }
                other => other,
            };
            match kept {
                Ok(kept) => Ok((kept.iter().all(|one| one.holds), kept)),
                // A weigher that lets nothing through keeps no promise; another target may.
                Err(TargetError::Simulation(SimulationError::Packs(PacksError::NothingLeaves))) => {
                    Ok((false, Vec::new()))
                }
                Err(error) => Err(error),
            }
        };
        let mut below = None;
        let mut found = None;
        let mut nearest: Option<(usize, f64, u64, Kept)> = None;
        for points in GRIDS {
            let stride = (steps / points).max(1);
            let end = (!steps.is_multiple_of(stride)).then_some(steps);
            below = None;
            for step in (0..=steps).step_by(stride as usize).chain(end) {
                let (holds, kept) = judge(step)?;
                if holds {
                    found = Some((step, kept));
                    break;
                }
                below = Some(step);
                // Where nothing leaves there is no promise to name.
                let broken: Vec<&Kept> = kept.iter().filter(|one| !one.holds).collect();
                let by: f64 = broken.iter().map(|one| one.missing()).sum();
                let is_nearer =
                    nearest.as_ref().is_none_or(|(count, least, ..)| (broken.len(), by) < (*count, *least));
                if let (Some(first), true) = (broken.first(), is_nearer) {
                    nearest = Some((broken.len(), by, step, **first));
                }
            }
            if found.is_some() || stride == 1 {
                break;
            }
        }
        let Some((mut step, mut kept)) = found else {
            return Err(nearest.map_or(PacksError::NothingLeaves.into(), |(_, _, step, one)| {
                TargetError::Unreachable {
                    nearest: at(step),
                    broken: one.promise,
                    value: one.value,
                    level: one.level,
                }
            }));
        };
        while let Some(under) = below.filter(|under| step - under > 1) {
            let middle = under + (step - under) / 2;
            let (holds, there) = judge(middle)?;
            if holds { (step, kept) = (middle, there) } else { below = Some(middle) }
        }
        let binding = match below {
            Some(under) => match self.kept(at(under), levels) {
                Ok(kept) => kept.iter().filter(|one| !one.holds).map(|one| one.promise).collect(),
                Err(_) => Vec::new(),
            },
            None => Vec::new(),
        };
        let mut broken_above_g = Vec::new();
        let above = (1..=4).map(|quarter| step + (steps - step) * quarter / 4).chain([step + 1, step + 2]);
        for other in above.filter(|other| *other > step && *other <= steps) {
            if !judge(other)?.0 {
                broken_above_g.push(at(other));
            }
        }
        broken_above_g.sort_by(f64::total_cmp);
        broken_above_g.dedup();
        Ok(SmallestTarget { target_g: at(step), kept, binding, broken_above_g })
    }

    /// Giveaway, rejects and shares below the limits at these targets. Targets at which nothing leaves are left out.
    ///
    /// # Errors
    /// Figures that are no packs or no weigher.
    pub fn curve(&self, targets_g: &[f64]) -> Result<Vec<CurvePoint>, PacksError> {
        let mut points = Vec::new();
        for &target_g in targets_g {
            let packs = self.packs.with_mean(target_g);
            let leaving = match Leaving::of(&packs, &self.gate) {
                Ok(leaving) => leaving,
                Err(PacksError::NothingLeaves) => continue,
                Err(error) => return Err(error),
            };
            points.push(CurvePoint {
                target_g,
                giveaway: Giveaway::of(&packs, &self.gate, self.reference_g())?,
                below_t1: leaving.share_below(self.t1_g()),
                below_t2: self.t2_g().map_or(0.0, |limit| leaving.share_below(limit)),
            });
        }
        Ok(points)
    }
}

#[cfg(test)]
mod tests;
