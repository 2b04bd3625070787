//! The standard normal distribution: density, distribution function and its inverse.

use coefficients::{CENTRE_ABOVE, CENTRE_BELOW, FAR_ABOVE, FAR_BELOW, MIDDLE_ABOVE, MIDDLE_BELOW};
use core::f64::consts::FRAC_1_SQRT_2;

/// Probability that a standard normal variate is at most `z`.
///
/// *Formula*: erfc(-z / sqrt 2) / 2, accurate in the lower tail; for the upper one use `normal_cdf(-z)`.
#[inline]
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// Density of the standard normal distribution at `z`; 0 at infinity.
#[inline]
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    const ONE_OVER_SQRT_TAU: f64 = 0.398_942_280_401_432_7;
    ONE_OVER_SQRT_TAU * libm::exp(-0.5 * z * z)
}

/// The value that a standard normal variate stays below with probability `p`; -infinity at 0, infinity at 1, NaN
/// outside [0, 1]. Relative accuracy about 1e-16.
///
/// Central values (0.075 to 0.925) cost one ratio of polynomials, tails a logarithm and a root more.
///
/// *Source*: Wichura (1988), Algorithm AS 241, The Percentage Points of the Normal Distribution, Applied Statistics
/// 37(3), 477-484, routine PPND16.
#[inline]
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    let from_centre = p - 0.5;
    if from_centre.abs() <= 0.425 {
        let r = 0.180_625 - from_centre * from_centre;
        return from_centre * polynomial(&CENTRE_ABOVE, r) / polynomial(&CENTRE_BELOW, r);
    }
    tail_quantile(p)
}

#[inline(never)]
fn tail_quantile(p: f64) -> f64 {
    let lower = p < 0.5;
    let tail = if lower { p } else { 1.0 - p };
    if tail <= 0.0 || tail.is_nan() {
        return if tail < 0.0 || tail.is_nan() {
            f64::NAN
        } else if lower {
            f64::NEG_INFINITY
        } else {
            f64::INFINITY
        };
    }
    let r = libm::sqrt(-libm::log(tail));
    let size = if r <= 5.0 {
        polynomial(&MIDDLE_ABOVE, r - 1.6) / polynomial(&MIDDLE_BELOW, r - 1.6)
    } else {
        polynomial(&FAR_ABOVE, r - 5.0) / polynomial(&FAR_BELOW, r - 5.0)
    };
    if lower { -size } else { size }
}

/// Coefficients in rising powers, by Horner's rule.
#[inline]
fn polynomial(coefficients: &[f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

/// The coefficients of the algorithm, in rising powers.
#[expect(clippy::excessive_precision, reason = "written as the source prints them")]
mod coefficients {
    pub(super) const CENTRE_ABOVE: [f64; 8] = [
        3.387_132_872_796_366_608_0,
        1.331_416_678_917_843_774_5e2,
        1.971_590_950_306_551_442_7e3,
        1.373_169_376_550_946_112_5e4,
        4.592_195_393_154_987_145_7e4,
        6.726_577_092_700_870_085_3e4,
        3.343_057_558_358_812_810_5e4,
        2.509_080_928_730_122_672_7e3,
    ];
    pub(super) const CENTRE_BELOW: [f64; 8] = [
        1.0,
        4.231_333_070_160_091_125_2e1,
        6.871_870_074_920_579_083_0e2,
        5.394_196_021_424_751_107_7e3,
        2.121_379_430_158_659_586_7e4,
        3.930_789_580_009_271_061_0e4,
        2.872_908_573_572_194_267_4e4,
        5.226_495_278_852_854_561_0e3,
    ];
    pub(super) const MIDDLE_ABOVE: [f64; 8] = [
        1.423_437_110_749_683_577_34,
        4.630_337_846_156_545_295_90,
        5.769_497_221_460_691_405_50,
        3.647_848_324_763_204_605_04,
        1.270_458_252_452_368_382_58,
        2.417_807_251_774_506_117_70e-1,
        2.272_384_498_926_918_458_33e-2,
        7.745_450_142_783_414_076_40e-4,
    ];
    pub(super) const MIDDLE_BELOW: [f64; 8] = [
        1.0,
        2.053_191_626_637_758_821_87,
        1.676_384_830_183_803_849_40,
        6.897_673_349_851_000_045_50e-1,
        1.481_039_764_274_800_745_90e-1,
        1.519_866_656_361_645_719_66e-2,
        5.475_938_084_995_344_946_00e-4,
        1.050_750_071_644_416_843_24e-9,
    ];
    pub(super) const FAR_ABOVE: [f64; 8] = [
        6.657_904_643_501_103_777_20,
        5.463_784_911_164_114_369_90,
        1.784_826_539_917_291_335_80,
        2.965_605_718_285_048_912_30e-1,
        2.653_218_952_657_612_309_30e-2,
        1.242_660_947_388_078_438_60e-3,
        2.711_555_568_743_487_578_15e-5,
        2.010_334_399_292_288_132_65e-7,
    ];
    pub(super) const FAR_BELOW: [f64; 8] = [
        1.0,
        5.998_322_065_558_879_376_90e-1,
        1.369_298_809_227_358_053_10e-1,
        1.487_536_129_085_061_485_25e-2,
        7.868_691_311_456_132_591_00e-4,
        1.846_318_317_510_054_681_80e-5,
        1.421_511_758_316_445_888_70e-7,
        2.044_263_103_389_939_785_64e-15,
    ];
}

#[cfg(test)]
mod tests {
    use super::{normal_cdf, normal_quantile};

    /// Check values printed with the algorithm (Wichura 1988; from memory, recomputed to 16 digits).
    #[test]
    fn quantile_meets_the_values_printed_with_the_algorithm() {
        for (p, z) in [
            (0.25, -0.674_489_750_196_081_7),
            (0.001, -3.090_232_306_167_813_5),
            (1e-20, -9.262_340_089_798_408),
        ] {
            assert!((normal_quantile(p) / z - 1.0).abs() < 2e-15, "{p}: {}", normal_quantile(p));
        }
    }

    /// Percentage points of NIST/SEMATECH e-Handbook, table 1.3.6.7.1 (from memory, to the digits given).
    #[test]
    fn quantile_meets_the_usual_table() {
        for (p, z) in [
            (0.5, 0.0),
            (0.9, 1.281_551_566),
            (0.95, 1.644_853_627),
            (0.975, 1.959_963_985),
            (0.995, 2.575_829_304),
        ] {
            assert!((normal_quantile(p) - z).abs() < 5e-10, "{p}: {}", normal_quantile(p));
        }
    }

    /// The complementary error function is an independent way back; each coefficient matters at some p.
    #[test]
    fn quantile_and_distribution_function_undo_each_other() {
        for step in 1..2000 {
            let p = f64::from(step) / 2000.0;
            assert!((normal_cdf(normal_quantile(p)) / p - 1.0).abs() < 2e-14, "{p}");
            assert!((normal_quantile(p) + normal_quantile(1.0 - p)).abs() < 1e-13, "{p}");
        }
        for exponent in 3..300 {
            let p = libm::pow(10.0, -f64::from(exponent));
            let z = normal_quantile(p);
            // Relative error of the tail grows with z squared: d ln p = -z dz.
            assert!((normal_cdf(z) / p - 1.0).abs() < 1e-15 * (3.0 + 3.0 * z * z), "{p}");
        }
    }

    #[test]
    fn quantile_at_and_beyond_the_ends() {
        assert_eq!(normal_quantile(0.0).to_bits(), f64::NEG_INFINITY.to_bits());
        assert_eq!(normal_quantile(1.0).to_bits(), f64::INFINITY.to_bits());
        for outside in [-1e-300, 1.000_000_1, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(normal_quantile(outside).is_nan());
        }
    }
}
