//! Integrals of smooth functions over pieces of the line, by Gauss-Legendre panels.

/// Positive nodes and weights of the 16-point rule on [-1, 1].
///
/// *Source*: Abramowitz and Stegun (1964), table 25.4, n = 16; a test integrates the polynomials that the rule must
/// integrate exactly.
const NODES: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_5),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_54),
    (0.617_876_244_402_643_7, 0.149_595_988_816_576_73),
    (0.755_404_408_355_003, 0.124_628_971_255_533_87),
    (0.865_631_202_387_831_7, 0.095_158_511_682_492_78),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_89),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_095),
];

/// Panels in each piece.
const PANELS: u32 = 12;

/// The integral of `function` over [low, high], cut at `cuts` (in any order; those outside are left out), so that a kink
/// or a steep slope lies at the end of a piece or within a narrow one.
pub(crate) fn integral(function: impl Fn(f64) -> f64, low: f64, high: f64, cuts: &[f64]) -> f64 {
    if low >= high || !low.is_finite() || !high.is_finite() {
        return 0.0;
    }
    let mut ends: Vec<f64> = cuts.iter().copied().filter(|cut| *cut > low && *cut < high).collect();
    ends.push(low);
    ends.push(high);
    ends.sort_by(f64::total_cmp);
    ends.windows(2).map(|piece| over_panels(&function, piece[0], piece[1])).sum()
}

fn over_panels(function: &impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
    let half = 0.5 * (high - low) / f64::from(PANELS);
    let mut sum = 0.0;
    for panel in 0..PANELS {
        let centre = low + half * f64::from(2 * panel + 1);
        for (node, weight) in NODES {
            sum += weight * (function(centre - half * node) + function(centre + half * node));
        }
    }
    half * sum
}

#[cfg(test)]
mod tests {
    use super::{NODES, integral};

    #[test]
    fn the_rule_integrates_polynomials_to_degree_31() {
        for degree in (0..=30).step_by(2) {
            let sum: f64 =
                NODES.iter().map(|(node, weight)| 2.0 * weight * libm::pow(*node, f64::from(degree))).sum();
            assert!((sum * f64::from(degree + 1) / 2.0 - 1.0).abs() < 1e-13, "{degree}: {sum}");
        }
    }

    #[test]
    fn cuts_take_a_step_exactly() {
        let step = |x: f64| if x < 0.3 { 1.0 } else { 2.0 };
        assert!((integral(step, 0.0, 1.0, &[0.3, 7.0]) - 1.7).abs() < 1e-14);
        assert!(integral(step, 1.0, 1.0, &[]).abs() < 1e-300);
    }
}
