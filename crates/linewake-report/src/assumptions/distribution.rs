//! A distribution in words.

use crate::number::plain;
use linewake_stats::distribution::Distribution;

/// Family and figures with their unit: "lognormal, median 60 s, 90th percentile 180 s".
pub(super) fn words(distribution: &Distribution, unit: &str) -> String {
    let with_unit = |value: f64| {
        if unit.is_empty() { plain(value) } else { format!("{}\u{a0}{unit}", plain(value)) }
    };
    match *distribution {
        Distribution::Constant { value } => format!("always {}", with_unit(value)),
        Distribution::Exponential { mean } => format!("exponential, mean {}", with_unit(mean)),
        Distribution::Uniform { min, max } => format!("uniform, {} to {}", plain(min), with_unit(max)),
        Distribution::Triangular { min, mode, max } => {
            format!("triangular, {} to {}, most likely {}", plain(min), with_unit(max), with_unit(mode))
        }
        Distribution::TruncatedNormal { mean, sd, min, max } => {
            let end = |value: f64| if value.is_finite() { with_unit(value) } else { "no limit".to_owned() };
            format!(
                "normal, mean {}, standard deviation {}, cut off at {} and {}",
                with_unit(mean),
                with_unit(sd),
                end(min),
                end(max)
            )
        }
        Distribution::Lognormal { median, .. } => {
            format!(
                "lognormal, median {}, 90th percentile {}",
                with_unit(median),
                with_unit(distribution.quantile(0.9))
            )
        }
        Distribution::Weibull { shape, .. } => {
            format!("Weibull, shape {}, mean {}", plain(shape), with_unit(distribution.mean()))
        }
        Distribution::Gamma { shape, .. } => {
            format!("gamma, shape {}, mean {}", plain(shape), with_unit(distribution.mean()))
        }
        Distribution::Empirical { ref values } => {
            format!("one of {} observed values, mean {}", values.len(), with_unit(distribution.mean()))
        }
        Distribution::Geometric { mean, step } => format!("geometric, mean {}", with_unit(mean * step)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use linewake_stats::distribution::given;

    #[test]
    fn figures_are_those_that_people_gave() {
        let lognormal = given::lognormal_by_p90(60.0, 180.0).unwrap();
        assert_eq!(words(&lognormal, "s"), "lognormal, median 60\u{a0}s, 90th percentile 180\u{a0}s");
        let weibull = given::weibull_by_mean(5400.0, 1.3).unwrap();
        assert_eq!(words(&weibull, "s"), "Weibull, shape 1.3, mean 5,400\u{a0}s");
        assert_eq!(words(&Distribution::Constant { value: 2000.0 }, ""), "always 2,000");
        let open = Distribution::TruncatedNormal { mean: 1.0, sd: 2.0, min: 0.0, max: f64::INFINITY };
        assert!(words(&open, "s").ends_with("cut off at 0\u{a0}s and no limit"));
    }
}
