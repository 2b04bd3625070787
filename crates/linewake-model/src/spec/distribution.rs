//! Distributions as typed: a family, and one of the ways in which it can be given.
//!
//! `V` is what the values are: a quantity of time, or bare numbers for counts. All keys of a family are optional
//! here; the check says which sets of them make sense.

use super::json::Json;
use super::typed::{Reader, Tagged, Typed, in_words, spec_object, spec_tagged};
use crate::quantity::{Quantity, Time};
use jsonc_parser::ast::Value;

/// A distribution of times.
pub type TimeDistribution = DistributionSpec<Quantity<Time>>;
/// A distribution of counts.
pub type CountDistribution = DistributionSpec<f64>;

spec_tagged! {
    /// A distribution: an object with one key, the family. A time or a count by itself is a constant.
    #[schemars(transform = with_bare_constant)]
    pub enum DistributionSpec<V> called "distribution" {
        /// Always the same value.
        Constant = "constant" (V),
        /// Exponential: no memory.
        Exponential = "exponential" (ExponentialSpec<V>),
        /// Uniform between two ends.
        Uniform = "uniform" (UniformSpec<V>),
        /// Triangular: two ends and a most likely value.
        Triangular = "triangular" (TriangularSpec<V>),
        /// Normal, cut off at two ends.
        TruncatedNormal = "truncated_normal" (TruncatedNormalSpec<V>),
        /// Lognormal.
        Lognormal = "lognormal" (LognormalSpec<V>),
        /// Weibull.
        Weibull = "weibull" (WeibullSpec<V>),
        /// Gamma.
        Gamma = "gamma" (GammaSpec<V>),
        /// A sample of observed values, each as likely as any other.
        Empirical = "empirical" (Vec<V>),
        /// Geometric: 1, 2, 3, ... counts, or whole multiples of a stated time.
        Geometric = "geometric" (GeometricSpec<V>),
    }
}

/// The schema of a bare value beside those of the families: it is that of a constant's value.
fn with_bare_constant(schema: &mut schemars::Schema) {
    let pointer = "/oneOf/0/properties/constant";
    let Some(value) = schema.pointer(pointer).cloned() else { return };
    if let Some(serde_json::Value::Array(families)) = schema.get_mut("oneOf") {
        families.insert(0, value);
    }
}

impl<V: Typed> Typed for DistributionSpec<V> {
    fn read(value: &Value<'_>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value {
            Value::StringLit(_) | Value::NumberLit(_) => V::read(value, reader).map(Self::Constant),
            Value::Object(_) => Self::read_tagged(value, reader),
            _ => reader.refuse(
                format!("a distribution is due here, not {}", in_words(value)),
                "for example { \"exponential\": { \"mean\": ... } }, or a single value",
            ),
        }
    }
    fn write(&self) -> Option<Json> {
        match self {
            Self::Constant(value) => value.write(),
            _ => self.write_tagged(),
        }
    }
}

spec_object! {
    /// Exponential, by `mean`, by `median`, or by `p90`.
    pub struct ExponentialSpec<V> {
        /// Mean.
        pub mean: Option<V>,
        /// Median: half of all values lie below.
        pub median: Option<V>,
        /// 90th percentile: nine of ten values lie below.
        pub p90: Option<V>,
    }
}

spec_object! {
    /// Uniform, by `min` and `max`; `mean` and `half_width`; `median` and `p90`.
    pub struct UniformSpec<V> {
        /// Lower end.
        pub min: Option<V>,
        /// Upper end.
        pub max: Option<V>,
        /// Mean.
        pub mean: Option<V>,
        /// Distance of either end from the mean.
        pub half_width: Option<V>,
        /// Median.
        pub median: Option<V>,
        /// 90th percentile.
        pub p90: Option<V>,
    }
}

spec_object! {
    /// Triangular, by `min`, `mode` and `max`; symmetric by `mean` and `half_width`, or by `median` and `p90`.
    pub struct TriangularSpec<V> {
        /// Lower end.
        pub min: Option<V>,
        /// Most likely value.
        pub mode: Option<V>,
        /// Upper end.
        pub max: Option<V>,
        /// Mean.
        pub mean: Option<V>,
        /// Distance of either end from the mean.
        pub half_width: Option<V>,
        /// Median.
        pub median: Option<V>,
        /// 90th percentile.
        pub p90: Option<V>,
    }
}

spec_object! {
    /// Normal, cut off at `min` (default 0) and `max` (default none): by `mean` and `sd` of the normal before it is
    /// cut off, or by `median` and `p90` of what is left.
    pub struct TruncatedNormalSpec<V> {
        /// Mean before it is cut off.
        pub mean: Option<V>,
        /// Standard deviation before it is cut off.
        pub sd: Option<V>,
        /// Median of what is left.
        pub median: Option<V>,
        /// 90th percentile of what is left.
        pub p90: Option<V>,
        /// No value lies below (default 0).
        pub min: Option<V>,
        /// No value lies above (default: none).
        pub max: Option<V>,
    }
}

spec_object! {
    /// Lognormal, by `median` and `p90`; `mean` and `cv`; `median` and `sigma`.
    pub struct LognormalSpec<V> {
        /// Median.
        pub median: Option<V>,
        /// 90th percentile.
        pub p90: Option<V>,
        /// Mean.
        pub mean: Option<V>,
        /// Coefficient of variation: standard deviation over mean.
        pub cv: Option<f64>,
        /// Standard deviation of the natural logarithm.
        pub sigma: Option<f64>,
    }
}

spec_object! {
    /// Weibull, by `shape` and `scale`; `shape` and `mean`; `median` and `p90`.
    pub struct WeibullSpec<V> {
        /// Shape: above 1 wear-out, 1 exponential, below 1 early failures.
        pub shape: Option<f64>,
        /// Scale: the 63.2 % point.
        pub scale: Option<V>,
        /// Mean.
        pub mean: Option<V>,
        /// Median.
        pub median: Option<V>,
        /// 90th percentile.
        pub p90: Option<V>,
    }
}

spec_object! {
    /// Gamma, by `shape` and `scale`; `shape` and `mean`; `mean` and `cv`; `median` and `p90`.
    pub struct GammaSpec<V> {
        /// Shape: 1 is exponential, whole numbers are Erlang.
        pub shape: Option<f64>,
        /// Scale: the mean over the shape.
        pub scale: Option<V>,
        /// Mean.
        pub mean: Option<V>,
        /// Coefficient of variation: standard deviation over mean.
        pub cv: Option<f64>,
        /// Median.
        pub median: Option<V>,
        /// 90th percentile.
        pub p90: Option<V>,
    }
}

spec_object! {
    /// Geometric, by its mean number of steps.
    pub struct GeometricSpec<V> {
        /// Mean number of steps, at least 1; a bare number.
        pub mean: f64,
        /// The step; required for times, left out for counts (it is 1 then).
        pub step: Option<V>,
    }
}
