//! The gain at which a loop with dead time begins to hunt.

use super::{FeedbackError, MOST_PACKS, in_range};
use crate::basis::{Basis, Status};
use std::collections::VecDeque;

/// Largest gain of a loop without dead time; with dead time it is smaller.
const LARGEST_GAIN: f64 = 2.0;
/// Corrections over which a swing is followed at least.
const LEAST_CORRECTIONS: u64 = 600;

/// The gain at which hunting starts, in closed form: 2 sin(pi / (2 (2 d + 1))), d the dead time in corrections.
///
/// Exact for whole d: the limit of stability of x(k) = x(k - 1) - G x(k - 1 - d); between them a guide. At that gain the
/// swing has a period of 2 (2 d + 1) corrections.
///
/// *Source*: Levin and May (1976), A note on difference-delay equations, Theoretical Population Biology 9, 178-187 (from
/// memory; [`hunting_basis`] says so in results).
#[must_use]
pub fn hunting_gain_formula(dead_time_corrections: f64) -> f64 {
    2.0 * libm::sin(core::f64::consts::FRAC_PI_2 / (2.0 * dead_time_corrections + 1.0))
}

/// What [`hunting_gain_formula`] rests on, for results.
#[must_use]
pub fn hunting_basis() -> Basis {
    Basis {
        value: "hunting starts at a gain of 2 sin(pi / (2 (2 d + 1))), d the dead time in corrections"
            .to_owned(),
        edition: "Levin and May (1976), Theoretical Population Biology 9".to_owned(),
        clause: "pages 178-187".to_owned(),
        source: "from memory; the loop itself, followed pack by pack, agrees".to_owned(),
        status: Status::Memory,
    }
}

/// The gain at which hunting starts, found by following the loop pack by pack without noise and halving the gains
/// between those with which a step dies out and those with which it does not.
///
/// # Errors
/// No packs between corrections, or more than 10^6 packs.
pub fn hunting_gain(every_packs: u64, dead_time_packs: u64) -> Result<f64, FeedbackError> {
    in_range(&[
        ("packs between corrections", every_packs as f64, 1.0, MOST_PACKS),
        ("dead time in packs", dead_time_packs as f64, 0.0, MOST_PACKS),
    ])?;
    let dead = dead_time_packs.div_ceil(every_packs);
    let corrections = LEAST_CORRECTIONS.max(60 * (2 * dead + 1));
    let dies_out = |gain: f64| {
        let swing = swing_after_a_step(every_packs, dead_time_packs, gain, corrections);
        let largest = |part: &[f64]| part.iter().fold(0.0_f64, |most, one| most.max(one.abs()));
        let third = swing.len() / 3;
        let late = largest(&swing[2 * third..]);
        // What has died out wavers about zero by the rounding of the sums.
        late < 1e-9 || late < largest(&swing[third..2 * third])
    };
    let (mut low, mut high) = (0.0, LARGEST_GAIN);
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if dies_out(middle) { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high))
}

/// Deviations of the measured means after a lasting deviation of one gram from the first pack on, without noise or limits.
#[must_use]
pub fn swing_after_a_step(every_packs: u64, dead_time_packs: u64, gain: f64, corrections: u64) -> Vec<f64> {
    let every = every_packs.max(1);
    // Weights between cut and weigher: of like ones in a row only the number is kept.
    let mut travelling: VecDeque<(f64, u64)> = VecDeque::from([(1.0, dead_time_packs)]);
    let mut correction = 0.0;
    let mut means = Vec::new();
    for _ in 0..corrections {
        travelling.push_back((1.0 + correction, every));
        let (mut left, mut sum) = (every, 0.0);
        while left > 0 {
            let Some((weight, number)) = travelling.front_mut() else { break };
            let taken = left.min(*number);
            sum += *weight * taken as f64;
            *number -= taken;
            left -= taken;
            if *number == 0 {
                travelling.pop_front();
            }
        }
        let mean = sum / every as f64;
        means.push(mean);
        correction -= gain * mean;
    }
    means
}
