//! A law as it stands in a model file.

use linewake_stats::distribution::Distribution;

/// Unit of a sample.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    /// Seconds.
    Seconds,
    /// A count of this.
    Count(&'static str),
}

impl Unit {
    pub(super) fn is_count(self) -> bool {
        matches!(self, Self::Count(_))
    }

    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Seconds => "s",
            Self::Count(word) => word,
        }
    }
}

/// So many significant digits: finer than any fit is sure.
const DIGITS: usize = 5;

/// The law in JSON, quantities with their unit.
pub(super) fn typed(law: &Distribution, unit: Unit) -> String {
    let value = |value: f64| match unit {
        Unit::Seconds => format!("\"{} s\"", digits(value)),
        Unit::Count(_) => digits(value),
    };
    match law {
        Distribution::Constant { value: one } => match unit {
            Unit::Seconds => value(*one),
            Unit::Count(_) => digits(one.round().max(1.0)),
        },
        Distribution::Exponential { mean } => {
            format!("{{ \"exponential\": {{ \"mean\": {} }} }}", value(*mean))
        }
        Distribution::Weibull { shape, scale } => {
            format!("{{ \"weibull\": {{ \"shape\": {}, \"scale\": {} }} }}", digits(*shape), value(*scale))
        }
        Distribution::Lognormal { median, sigma } => format!(
            "{{ \"lognormal\": {{ \"median\": {}, \"sigma\": {} }} }}",
            value(*median),
            digits(*sigma)
        ),
        Distribution::Gamma { shape, scale } => {
            format!("{{ \"gamma\": {{ \"shape\": {}, \"scale\": {} }} }}", digits(*shape), value(*scale))
        }
        Distribution::Empirical { values } => {
            let values: Vec<String> = values.iter().map(|it| value(*it)).collect();
            format!("{{ \"empirical\": [{}] }}", values.join(", "))
        }
        // No other law is fitted.
        other => value(other.mean()),
    }
}

/// A number to five significant digits, in its shortest form.
pub(super) fn digits(value: f64) -> String {
    let rounded: f64 = format!("{value:.*e}", DIGITS - 1).parse().unwrap_or(value);
    rounded.to_string()
}

/// The law with all its times longer by a factor.
pub(super) fn scaled(law: &Distribution, factor: f64) -> Distribution {
    match *law {
        Distribution::Constant { value } => Distribution::Constant { value: value * factor },
        Distribution::Exponential { mean } => Distribution::Exponential { mean: mean * factor },
        Distribution::Weibull { shape, scale } => Distribution::Weibull { shape, scale: scale * factor },
        Distribution::Lognormal { median, sigma } => {
            Distribution::Lognormal { median: median * factor, sigma }
        }
        Distribution::Gamma { shape, scale } => Distribution::Gamma { shape, scale: scale * factor },
        Distribution::Empirical { ref values } => {
            Distribution::Empirical { values: values.iter().map(|value| value * factor).collect() }
        }
        ref other => other.clone(),
    }
}
