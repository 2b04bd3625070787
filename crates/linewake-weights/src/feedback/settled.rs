//! Where the mean of the packs settles, with rejects counted in the feedback or left out of it.

use super::FeedbackError;
use crate::packs::{Gate, Leaving, Packs, PacksError};
use linewake_stats::distribution::normal::{normal_cdf, normal_density};

/// The mean to which a slow feedback brings the packs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    /// Mean true weight of all packs before the weigher, in grams.
    pub mean_g: f64,
    /// That less the target: the bias of leaving rejects out, and of the weigher.
    pub bias_g: f64,
    /// Share of packs rejected there.
    pub rejected: f64,
    /// Mean true weight of the packs that leave, in grams.
    pub leaving_mean_g: f64,
}

/// Where the mean of the packs settles when the mean of the counted readings is held to `target_g`. The packs' own mean is
/// of no account: the feedback moves it.
///
/// With all packs counted: the target less the weigher's bias. With rejects left out: the mean at which the readings
/// between the reject limits average to the target. A lower limit alone takes light readings out of the mean, so that
/// the packs settle below the target by just what was left out. Exact for normal packs and a gain so small that the
/// correction hardly moves.
///
/// # Errors
/// Figures that are no packs or no weigher, or, with rejects left out, a target outside the reject limits.
pub fn settled(
    packs: &Packs,
    gate: &Gate,
    target_g: f64,
    count_rejects: bool,
) -> Result<Settled, FeedbackError> {
    let packs = packs.with_mean(target_g);
    packs.check()?;
    gate.check()?;
    let read_sd_g = libm::hypot(packs.sd_g(), gate.sd_g);
    let (low, high) = gate.passes_between();
    let mut mean_g = target_g - gate.bias_g;
    if !count_rejects && (target_g <= low || target_g >= high) {
        return Err(FeedbackError::TargetOutsideLimits { target: target_g });
    }
    if !count_rejects && read_sd_g > 0.0 {
        // Above: the readings that pass average to more than the target.
        let above = |centre: f64| {
            let (a, b) = ((low - centre) / read_sd_g, (high - centre) / read_sd_g);
            let passed =
                if a > 0.0 { normal_cdf(-a) - normal_cdf(-b) } else { normal_cdf(b) - normal_cdf(a) };
            if passed > 1e-250 {
                centre + read_sd_g * (normal_density(a) - normal_density(b)) / passed > target_g
            } else {
                // So far out all readings that pass lie at the nearer limit.
                centre > high
            }
        };
        // Symmetric limits leave the mean alone: start there and look to either side.
        let (mut below, mut over) = (target_g - read_sd_g, target_g + read_sd_g);
        let mut step = read_sd_g;
        while above(below) {
            (below, step) = (below - step, step * 2.0);
        }
        step = read_sd_g;
        while !above(over) {
            (over, step) = (over + step, step * 2.0);
        }
        for _ in 0..200 {
            let middle = 0.5 * (below + over);
            if above(middle) { over = middle } else { below = middle }
        }
        mean_g = 0.5 * (below + over) - gate.bias_g;
    }
    match Leaving::of(&packs.with_mean(mean_g), gate) {
        Ok(leaving) => Ok(Settled {
            mean_g,
            bias_g: mean_g - target_g,
            rejected: leaving.rejected_low + leaving.rejected_high,
            leaving_mean_g: leaving.leaving_mean_g,
        }),
        Err(PacksError::NothingLeaves) => Err(FeedbackError::TargetOutsideLimits { target: target_g }),
        Err(error) => Err(error.into()),
    }
}
