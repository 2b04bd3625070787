//! The part of a normal distribution between two ends.
//!
//! *Formula*, with a = (min - mean) / sd, b = (max - mean) / sd, Z = Phi(b) - Phi(a) and mean, sd of the parent:
//! F(x) = (Phi((x - mean) / sd) - Phi(a)) / Z; mean mean + sd (phi(a) - phi(b)) / Z;
//! variance sd^2 (1 + (a phi(a) - b phi(b)) / Z - ((phi(a) - phi(b)) / Z)^2).
//! *Source*: Johnson, Kotz and Balakrishnan (1994), Continuous Univariate Distributions 1, section 13.10.1 (section
//! from memory).

use super::normal::{normal_cdf, normal_density, normal_quantile};

/// Share of the parent that lies between the ends.
pub(super) fn share(mean: f64, sd: f64, min: f64, max: f64) -> f64 {
    let ends = Ends::new(mean, sd, min, max);
    ends.cdf_high - ends.cdf_low
}

pub(super) fn mean(mean: f64, sd: f64, min: f64, max: f64) -> f64 {
    mean + sd * moments(mean, sd, min, max).0
}

pub(super) fn variance(mean: f64, sd: f64, min: f64, max: f64) -> f64 {
    sd * sd * moments(mean, sd, min, max).1
}

pub(super) fn cdf(mean: f64, sd: f64, min: f64, max: f64, x: f64) -> f64 {
    let ends = Ends::new(mean, sd, min, max);
    let total = ends.cdf_high - ends.cdf_low;
    if ends.mirrored {
        (ends.cdf_high - normal_cdf((mean - x) / sd)) / total
    } else {
        (normal_cdf((x - mean) / sd) - ends.cdf_low) / total
    }
}

#[inline]
pub(super) fn quantile(mean: f64, sd: f64, min: f64, max: f64, p: f64) -> f64 {
    let ends = Ends::new(mean, sd, min, max);
    let total = ends.cdf_high - ends.cdf_low;
    let x = if ends.mirrored {
        mean - sd * normal_quantile(ends.cdf_high - p * total)
    } else {
        mean + sd * normal_quantile(ends.cdf_low + p * total)
    };
    x.max(min).min(max)
}

/// Probabilities at the ends, seen from the side on which they are small and so accurate.
struct Ends {
    /// Measured downwards from the mean: both ends lie more above it than below.
    mirrored: bool,
    cdf_low: f64,
    cdf_high: f64,
}

impl Ends {
    #[inline]
    fn new(mean: f64, sd: f64, min: f64, max: f64) -> Self {
        let low = (min - mean) / sd;
        let high = (max - mean) / sd;
        // Not low + high > 0: that is NaN between two infinities.
        if low > -high {
            Self { mirrored: true, cdf_low: normal_cdf(-high), cdf_high: normal_cdf(-low) }
        } else {
            Self { mirrored: false, cdf_low: normal_cdf(low), cdf_high: normal_cdf(high) }
        }
    }
}

/// Mean and variance on the scale on which the parent is standard normal.
fn moments(mean: f64, sd: f64, min: f64, max: f64) -> (f64, f64) {
    let low = (min - mean) / sd;
    let high = (max - mean) / sd;
    if high - low < 1.0 {
        return moments_by_quadrature(low, high);
    }
    let share = share(mean, sd, min, max);
    let (density_low, density_high) = (normal_density(low), normal_density(high));
    // At an infinite end x phi(x) is 0, not infinity times 0.
    let edge = |x: f64, density: f64| if x.is_finite() { x * density } else { 0.0 };
    let centre = (density_low - density_high) / share;
    (centre, 1.0 + (edge(low, density_low) - edge(high, density_high)) / share - centre * centre)
}

/// Between near ends the closed form is a small difference of large terms; ten Gauss-Legendre points are exact to
/// rounding there.
fn moments_by_quadrature(low: f64, high: f64) -> (f64, f64) {
    // Abscissas and weights: Abramowitz and Stegun (1964), table 25.4, n = 10.
    const POINTS: [(f64, f64); 5] = [
        (0.148_874_338_981_631_2, 0.295_524_224_714_752_9),
        (0.433_395_394_129_247_2, 0.269_266_719_309_996_35),
        (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
        (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
        (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
    ];
    let middle = 0.5 * (low + high);
    let half = 0.5 * (high - low);
    let (mut total, mut first, mut second) = (0.0, 0.0, 0.0);
    for (point, weight) in POINTS {
        for offset in [-half * point, half * point] {
            // Relative to the density in the middle, which cancels.
            let mass = weight * libm::exp(-offset * (middle + 0.5 * offset));
            total += mass;
            first += mass * offset;
            second += mass * offset * offset;
        }
    }
    let shift = first / total;
    (middle + shift, second / total - shift * shift)
}
