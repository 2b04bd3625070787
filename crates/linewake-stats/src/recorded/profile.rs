//! Intervals by profile likelihood: all values of a figure for which, with the rest fitted anew, the likelihood is not
//! much lower than at its maximum.
//!
//! *Formula*: 2 (ln L max - ln L profile) <= chi-square quantile of one degree of freedom.
//! *Source*: Wilks (1938), Annals of Mathematical Statistics 9, 60-62; Meeker and Escobar (1998), section 8.3.

use super::law::{Cut, Law, LawPoint};
use super::{Recorded, RecordedFit, likelihood, maximum};
use crate::distribution::normal_quantile;
use crate::fit::Family;
use crate::interval::Interval;

/// A figure of a law that has an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parameter {
    /// Shape of a Weibull or gamma law, sigma of a lognormal one.
    Shape,
    /// Scale of a Weibull or gamma law, median of a lognormal one, mean of an exponential one.
    Scale,
    /// Mean.
    Mean,
}

/// The interval of a figure at `level`; an end that the likelihood does not set is 0 or infinite. `None` when it cannot
/// be worked out, and for the shape of an exponential law, which has none.
#[must_use]
pub fn interval(fit: &RecordedFit, record: &Recorded, parameter: Parameter, level: f64) -> Option<Interval> {
    if !(level > 0.0 && level < 1.0) {
        return None;
    }
    let cut = match parameter {
        Parameter::Shape if fit.family == Family::Exponential => return None,
        Parameter::Shape => Cut::First,
        Parameter::Scale => Cut::Second,
        Parameter::Mean => Cut::Mean,
    };
    let wanted = normal_quantile(0.5 + 0.5 * level);
    let profile = Profile { fit, record, cut };
    let middle = match cut {
        Cut::First => fit.at.first,
        Cut::Second => fit.at.second,
        Cut::Mean => Law::log_mean(fit.family, fit.at),
    };
    let end = |sign: f64| profile.end(middle, sign, wanted);
    let (low, high) = (end(-1.0)?, end(1.0)?);
    Some(Interval { low: libm::exp(low), high: libm::exp(high) })
}

struct Profile<'a> {
    fit: &'a RecordedFit,
    record: &'a Recorded,
    cut: Cut,
}

impl Profile<'_> {
    fn value(&self, point: LawPoint) -> f64 {
        Law::at(self.fit.family, point).map_or(f64::NEG_INFINITY, |law| likelihood::of(&law, self.record))
    }

    /// The highest likelihood with the figure at `held`; `free` is where the other coordinate is sought from, and what
    /// it becomes.
    fn highest(&self, held: f64, free: &mut f64) -> f64 {
        let family = self.fit.family;
        let point = |free: f64| match self.cut {
            Cut::First => LawPoint { first: held, second: free },
            Cut::Second => LawPoint { first: free, second: held },
            Cut::Mean => LawPoint { first: free, second: Law::second_of_mean(family, free, held) },
        };
        if family == Family::Exponential {
            return self.value(LawPoint { first: 0.0, second: held });
        }
        match maximum::one(|free| self.value(point(free)), *free) {
            Some((found, value)) => {
                *free = found;
                value
            }
            None => f64::NEG_INFINITY,
        }
    }

    /// The signed root of the drop: nearly straight in the figure.
    fn drop(&self, held: f64, free: &mut f64) -> f64 {
        libm::sqrt((2.0 * (self.fit.log_likelihood - self.highest(held, free))).max(0.0))
    }

    /// How far the interval reaches to one side, in the logarithm of the figure; infinite without an end.
    fn end(&self, middle: f64, sign: f64, wanted: f64) -> Option<f64> {
        let mut free = match self.cut {
            Cut::First => self.fit.at.second,
            Cut::Second | Cut::Mean => self.fit.at.first,
        };
        let mut step = 0.5 * wanted / libm::sqrt(self.record.events().max(1) as f64);
        let (mut near, mut near_drop) = (0.0, 0.0);
        let (far, far_drop, far_free);
        let mut tries = 0;
        loop {
            let at = near + step;
            let mut here = free;
            let drop = self.drop(middle + sign * at, &mut here);
            if drop.is_nan() {
                return None;
            }
            if drop >= wanted {
                (far, far_drop, far_free) = (at, drop, here);
                break;
            }
            // The straight continuation, a little beyond, at most fourfold.
            let slope = (drop - near_drop) / step;
            (near, near_drop, free) = (at, drop, here);
            let needed = if slope > 0.0 { (wanted - drop) / slope * 1.05 } else { f64::INFINITY };
            step = needed.clamp(0.02 * step, 4.0 * step);
            tries += 1;
            if tries > 60 || at > 40.0 {
                return Some(sign * f64::INFINITY);
            }
        }
        let (mut low, mut low_drop, mut high, mut high_drop) = (near, near_drop, far, far_drop);
        let mut free = if far_drop.is_finite() { far_free } else { free };
        for _ in 0..60 {
            let straight = low + (wanted - low_drop) * (high - low) / (high_drop - low_drop);
            let inside = straight > low && straight < high && high_drop.is_finite();
            let at = if inside { straight } else { 0.5 * (low + high) };
            let drop = self.drop(middle + sign * at, &mut free);
            if (drop - wanted).abs() < 1e-6 || high - low < 1e-9 {
                return Some(middle + sign * at);
            }
            if drop < wanted {
                // A stuck end would make the steps short.
                if low_drop > 0.0 && (drop - low_drop).abs() < 1e-3 * wanted {
                    high_drop = wanted + 0.5 * (high_drop - wanted);
                }
                (low, low_drop) = (at, drop);
            } else {
                (high, high_drop) = (at, drop);
            }
        }
        Some(middle + sign * 0.5 * (low + high))
    }
}
