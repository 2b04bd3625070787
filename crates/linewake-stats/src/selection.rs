//! Choosing the best of several designs, with a stated probability of being right.
//!
//! A difference below the indifference zone d does not matter; if the best is better than the rest by d or more, it is
//! chosen with the probability asked for. Replications are independent and about normal.

mod fully_sequential;

pub use fully_sequential::{Choice, Wish, fully_sequential};

use crate::distribution::normal::normal_cdf;
use crate::sampling_law::student_t_tail;
use crate::special::{over_scale, rising_root};

/// Fewest replications of a first stage for which constants are calculated.
const FEWEST: usize = 2;
/// Constants are sought up to this size: beyond, a first stage is far too small.
const LARGEST: f64 = 1e9;

/// A two-stage procedure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Procedure {
    /// Choose by weighted means of both stages.
    DudewiczDalal,
    /// Choose by plain means of all replications.
    Rinott,
}

impl Procedure {
    /// The constant h of the procedure, for the best of `designs` designs, `first` replications of each in the first
    /// stage, chosen rightly with `probability`.
    ///
    /// *Formula*, with k designs and v = first - 1 degrees of freedom: Dudewicz and Dalal, the h with
    /// E[F(T + h)^(k - 1)] = P, F the distribution function of Student's t and T such a variate; Rinott, the h with
    /// E[E[Phi(h / sqrt(v (1 / W1 + 1 / W2))) given W2]^(k - 1)] = P, W1 and W2 chi-square.
    /// *Source*: Dudewicz and Dalal (1975), Allocation of Observations in Ranking and Selection with Unequal Variances,
    /// Sankhya B 37, 28-78; Rinott (1978), On Two-Stage Selection Procedures and Related Probability-Inequalities,
    /// Communications in Statistics A7(8), 799-811.
    ///
    /// `None` for fewer than two designs or first replications, or a probability that does not lie between
    /// 1 / `designs` (a guess) and 1.
    #[must_use]
    pub fn constant(self, designs: usize, first: usize, probability: f64) -> Option<f64> {
        if designs < 2 || first < FEWEST || !(probability > 1.0 / designs as f64 && probability < 1.0) {
            return None;
        }
        let degrees = (first - 1) as f64;
        let others = (designs - 1) as f64;
        match self {
            Self::DudewiczDalal => dudewicz_dalal(degrees, others, probability),
            Self::Rinott => rinott(degrees, others, probability),
        }
    }

    /// Replications of a design in all, from its variance in the first stage (divisor n - 1), the constant h and the
    /// indifference zone d.
    ///
    /// *Formula*: ceil(h^2 s^2 / d^2), but at least `first` + 1 (Dudewicz and Dalal, who need a second stage) or
    /// `first` (Rinott).
    ///
    /// `None` for figures out of range, or a number beyond 1e15.
    #[must_use]
    pub fn replications(self, variance: f64, first: usize, constant: f64, indifference: f64) -> Option<u64> {
        let ratio = constant / indifference;
        if !(variance >= 0.0 && ratio > 0.0 && indifference > 0.0) {
            return None;
        }
        let needed = libm::ceil(ratio * ratio * variance);
        let least = match self {
            Self::DudewiczDalal => first as u64 + 1,
            Self::Rinott => first as u64,
        };
        (needed <= 1e15).then(|| least.max(needed as u64))
    }
}

fn dudewicz_dalal(degrees: f64, others: f64, probability: f64) -> Option<f64> {
    // T = sinh v reaches far into the tails of few degrees of freedom with even steps.
    const STEPS: i32 = 400;
    let end = if degrees < 5.0 { 36.0 / degrees } else { 6.0 };
    let step = end / f64::from(STEPS);
    let log_constant = libm::lgamma(0.5 * (degrees + 1.0))
        - libm::lgamma(0.5 * degrees)
        - 0.5 * libm::log(core::f64::consts::PI * degrees);
    let points: Vec<(f64, f64)> = (-STEPS..=STEPS)
        .map(|index| step * f64::from(index))
        .map(|v| {
            let t = libm::sinh(v);
            let density = libm::exp(log_constant - 0.5 * (degrees + 1.0) * libm::log1p(t * t / degrees));
            (t, step * density * libm::cosh(v))
        })
        .collect();
    let miss = |h: f64| {
        let right = points
            .iter()
            .filter(|(_, weight)| *weight > 0.0)
            .map(|(t, weight)| weight * libm::pow(student_t_tail(-(t + h), degrees), others));
        right.sum::<f64>() - probability
    };
    rising_root(miss, 2.0, 0.5, (0.0, LARGEST))
}

fn rinott(degrees: f64, others: f64, probability: f64) -> Option<f64> {
    let points = over_scale(degrees);
    if points.is_empty() {
        return None;
    }
    // v / W = 1 / u^2, so h / sqrt(1 / u1^2 + 1 / u2^2).
    let miss = |h: f64| {
        let right = points.iter().map(|&(second, weight)| {
            let inner: f64 = points
                .iter()
                .map(|&(first, weight)| weight * normal_cdf(h * first * second / libm::hypot(first, second)))
                .sum();
            weight * libm::pow(inner, others)
        });
        right.sum::<f64>() - probability
    };
    rising_root(miss, 2.5, 0.5, (0.0, LARGEST))
}

/// The constants (eta, h^2) of the fully sequential procedure of Kim and Nelson, for `designs` designs, `first`
/// replications at the beginning and the probability `alpha` of a wrong choice.
///
/// *Formula*: eta = ((2 alpha / (k - 1))^(-2 / (n - 1)) - 1) / 2, h^2 = 2 c eta (n - 1) with c = 1.
/// *Source*: Kim and Nelson (2001), A Fully Sequential Procedure for Indifference-Zone Selection in Simulation, ACM
/// Transactions on Modeling and Computer Simulation 11(3), 251-273.
///
/// `None` for fewer than two designs or replications, or `alpha` outside (0, 1 - 1 / `designs`).
#[must_use]
pub fn kim_nelson(designs: usize, first: usize, alpha: f64) -> Option<(f64, f64)> {
    if designs < 2 || first < FEWEST || !(alpha > 0.0 && alpha < 1.0 - 1.0 / designs as f64) {
        return None;
    }
    let degrees = (first - 1) as f64;
    let eta = 0.5 * libm::expm1(-2.0 / degrees * libm::log(2.0 * alpha / (designs - 1) as f64));
    // With a large alpha and few designs eta is not above 0 and there is no procedure.
    (eta > 0.0 && eta.is_finite()).then_some((eta, 2.0 * eta * degrees))
}

#[cfg(test)]
mod tests;
