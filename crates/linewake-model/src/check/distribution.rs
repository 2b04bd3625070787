//! Distributions: which way they are given in, and whether their values can stand where they stand.

use super::Checker;
use crate::defaults;
use crate::problem::Path;
use crate::quantity::{Quantity, Time};
use crate::spec::distribution::{CountDistribution, DistributionSpec, TimeDistribution};
use linewake_stats::distribution::Distribution;
use linewake_stats::distribution::given::{self, Given};

/// What a distribution of times is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Use {
    /// A duration: 0 is allowed.
    Duration,
    /// The time between two events: its mean must be above 0, or the clock would stand still.
    Between,
}

/// A value of a distribution as a number: seconds, or the bare number itself.
pub(super) trait Figure: Copy {
    fn number(self) -> f64;
    /// Whether values are times, which a geometric needs a step for.
    const IS_TIME: bool;
}

impl Figure for Quantity<Time> {
    fn number(self) -> f64 {
        self.value()
    }
    const IS_TIME: bool = true;
}

impl Figure for f64 {
    fn number(self) -> f64 {
        self
    }
    const IS_TIME: bool = false;
}

/// Stands for a distribution that was refused: every comparison with its figures is false.
pub(super) const UNKNOWN: Distribution = Distribution::Constant { value: f64::NAN };

impl Checker<'_> {
    /// A distribution of times, in seconds.
    pub(super) fn times(&mut self, spec: &TimeDistribution, purpose: Use, path: &Path) -> Distribution {
        let distribution = self.distribution(spec, path);
        let (mean, smallest, largest) =
            (distribution.mean(), distribution.smallest(), distribution.largest());
        if smallest < 0.0 {
            self.findings.error(
                path,
                format!("the time can fall to {smallest} s"),
                "no value of it may be negative; narrow it, or use a lognormal",
            );
        } else if mean > defaults::LONGEST_TIME_S
            || (largest.is_finite() && largest > defaults::LONGEST_TIME_S)
        {
            self.too_long(path, "the time lies".to_owned());
        } else if purpose == Use::Between && mean < defaults::SHORTEST_CYCLE_S {
            self.findings.error(
                path,
                format!("the mean time is {mean} s"),
                "events that follow one another without time between never end; the mean must be at least 1 ms",
            );
        }
        distribution
    }

    /// A distribution of counts.
    pub(super) fn counts(&mut self, spec: &CountDistribution, path: &Path) -> Distribution {
        let distribution = self.distribution(spec, path);
        let (mean, smallest) = (distribution.mean(), distribution.smallest());
        if smallest < 0.0 {
            self.findings.error(
                path,
                format!("the count can fall to {smallest}"),
                "a count between stops is at least 1",
            );
        } else if mean < 1.0 {
            self.findings.error(
                path,
                format!("the mean count is {mean}"),
                "a count between stops is at least 1",
            );
        } else if mean > f64::from(crate::spec::typed::LARGEST_COUNT) {
            let most = crate::spec::typed::LARGEST_COUNT;
            self.findings.error(
                path,
                format!("the mean count is {mean}"),
                format!("at most {most} are allowed"),
            );
        } else if distribution.is_constant() && mean.fract() > 0.0 {
            self.findings.error(
                path,
                format!("{mean} is no whole number"),
                "a fixed count is a whole number",
            );
        }
        distribution
    }

    fn distribution<V: Figure>(&mut self, spec: &DistributionSpec<V>, path: &Path) -> Distribution {
        let inner = match spec {
            DistributionSpec::Constant(_) => path.clone(),
            _ => path.key(spec.tag()),
        };
        let outcome = match spec {
            DistributionSpec::Constant(value) => {
                Way::new(&[("constant", Some(value.number()))]).one(given::constant)
            }
            DistributionSpec::Empirical(values) => {
                let values: Vec<f64> = values.iter().map(|value| value.number()).collect();
                if values.iter().any(|value| value.is_nan()) {
                    Outcome::Unreadable
                } else {
                    Outcome::Given(given::empirical(values))
                }
            }
            DistributionSpec::Geometric(geometric) => match (&geometric.step, V::IS_TIME) {
                (None, true) => Outcome::Refused(
                    "the step is missing".to_owned(),
                    "a geometric time is a whole number of steps: add \"step\": \"1 s\"".to_owned(),
                ),
                (Some(_), false) => Outcome::Refused(
                    "a count has no step".to_owned(),
                    "leave \"step\" out: a geometric count is 1, 2, 3, ...".to_owned(),
                ),
                (step, _) => {
                    let step = step.map_or(1.0, Figure::number);
                    if geometric.mean.is_nan() || step.is_nan() {
                        Outcome::Unreadable
                    } else {
                        Outcome::Given(given::geometric(geometric.mean, step))
                    }
                }
            },
            _ => family(spec),
        };
        match outcome {
            Outcome::Given(Ok(distribution)) => return distribution,
            Outcome::Given(Err(error)) => {
                let text = error.to_string();
                let (what, hint) = text.split_once("; ").unwrap_or((&text, ""));
                let unit = if V::IS_TIME { " (times in seconds)" } else { "" };
                let place = match (spec, error.figure()) {
                    (DistributionSpec::Constant(_) | DistributionSpec::Empirical(_), _) | (_, None) => inner,
                    (_, Some(figure)) => inner.key(figure),
                };
                self.findings.error(&place, format!("{what}{unit}"), hint);
            }
            Outcome::Refused(what, hint) => self.findings.error(&inner, what, hint),
            Outcome::Unreadable => {}
        }
        UNKNOWN
    }
}

/// What became of the figures of a distribution.
enum Outcome {
    /// They were handed to the constructor.
    Given(Given),
    /// They are not one of the ways in which the family is given.
    Refused(String, String),
    /// One of them could not be read; that is reported already.
    Unreadable,
}

/// The keys that are there, and their figures.
struct Way {
    keys: Vec<&'static str>,
    figures: Vec<f64>,
}

impl Way {
    fn new(all: &[(&'static str, Option<f64>)]) -> Self {
        let there = || all.iter().filter_map(|(key, figure)| figure.map(|figure| (*key, figure)));
        Self {
            keys: there().map(|(key, _)| key).collect(),
            figures: there().map(|(_, figure)| figure).collect(),
        }
    }

    fn one(&self, make: fn(f64) -> Given) -> Outcome {
        self.with(|figures| make(figures[0]))
    }

    fn two(&self, make: fn(f64, f64) -> Given) -> Outcome {
        self.with(|figures| make(figures[0], figures[1]))
    }

    fn with(&self, make: impl Fn(&[f64]) -> Given) -> Outcome {
        if self.figures.iter().any(|figure| figure.is_nan()) {
            Outcome::Unreadable
        } else {
            Outcome::Given(make(&self.figures))
        }
    }

    fn refuse(&self, family: &str, ways: &str) -> Outcome {
        let there = if self.keys.is_empty() { "nothing".to_owned() } else { self.keys.join(", ") };
        Outcome::Refused(format!("{there} is no way of giving {family}"), format!("give it by {ways}"))
    }
}

/// The families that can be given in several ways, each by the set of keys that are there.
fn family<V: Figure>(spec: &DistributionSpec<V>) -> Outcome {
    let number = |value: &Option<V>| value.map(Figure::number);
    match spec {
        DistributionSpec::Exponential(d) => {
            let way = Way::new(&[
                ("mean", number(&d.mean)),
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
            ]);
            match way.keys.as_slice() {
                ["mean"] => way.one(given::exponential),
                ["median"] => way.one(given::exponential_by_median),
                ["p90"] => way.one(|p90| given::exponential_by_quantile(0.9, p90)),
                _ => way.refuse("an exponential", "mean, or median, or p90"),
            }
        }
        DistributionSpec::Uniform(d) => {
            let way = Way::new(&[
                ("min", number(&d.min)),
                ("max", number(&d.max)),
                ("mean", number(&d.mean)),
                ("half_width", number(&d.half_width)),
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
            ]);
            match way.keys.as_slice() {
                ["min", "max"] => way.two(given::uniform),
                ["mean", "half_width"] => way.two(given::uniform_by_half_width),
                ["median", "p90"] => way.two(given::uniform_by_p90),
                _ => way.refuse("a uniform", "min and max, or mean and half_width, or median and p90"),
            }
        }
        DistributionSpec::Triangular(d) => {
            let way = Way::new(&[
                ("min", number(&d.min)),
                ("mode", number(&d.mode)),
                ("max", number(&d.max)),
                ("mean", number(&d.mean)),
                ("half_width", number(&d.half_width)),
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
            ]);
            match way.keys.as_slice() {
                ["min", "mode", "max"] => way.with(|f| given::triangular(f[0], f[1], f[2])),
                ["mean", "half_width"] => way.two(given::triangular_by_half_width),
                ["median", "p90"] => way.two(given::triangular_by_p90),
                _ => {
                    way.refuse("a triangular", "min, mode and max, or mean and half_width, or median and p90")
                }
            }
        }
        DistributionSpec::TruncatedNormal(d) => {
            let way = Way::new(&[
                ("mean", number(&d.mean)),
                ("sd", number(&d.sd)),
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
            ]);
            let min = number(&d.min).unwrap_or(0.0);
            let max = number(&d.max).unwrap_or(f64::INFINITY);
            if min.is_nan() || max.is_nan() {
                return Outcome::Unreadable;
            }
            match way.keys.as_slice() {
                ["mean", "sd"] => way.with(|f| given::truncated_normal(f[0], f[1], min, max)),
                ["median", "p90"] => way.with(|f| given::truncated_normal_by_p90(f[0], f[1], min, max)),
                _ => way
                    .refuse("a truncated normal", "mean and sd, or median and p90, with min and max besides"),
            }
        }
        DistributionSpec::Lognormal(d) => {
            let way = Way::new(&[
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
                ("mean", number(&d.mean)),
                ("cv", d.cv),
                ("sigma", d.sigma),
            ]);
            match way.keys.as_slice() {
                ["median", "p90"] => way.two(given::lognormal_by_p90),
                ["mean", "cv"] => way.two(given::lognormal_by_cv),
                ["median", "sigma"] => way.two(given::lognormal),
                _ => way.refuse("a lognormal", "median and p90, or mean and cv, or median and sigma"),
            }
        }
        DistributionSpec::Weibull(d) => {
            let way = Way::new(&[
                ("mean", number(&d.mean)),
                ("shape", d.shape),
                ("scale", number(&d.scale)),
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
            ]);
            match way.keys.as_slice() {
                ["shape", "scale"] => way.two(given::weibull),
                ["mean", "shape"] => way.two(given::weibull_by_mean),
                ["median", "p90"] => way.two(given::weibull_by_p90),
                _ => way.refuse("a Weibull", "shape and scale, or shape and mean, or median and p90"),
            }
        }
        DistributionSpec::Gamma(d) => {
            let way = Way::new(&[
                ("mean", number(&d.mean)),
                ("shape", d.shape),
                ("scale", number(&d.scale)),
                ("cv", d.cv),
                ("median", number(&d.median)),
                ("p90", number(&d.p90)),
            ]);
            match way.keys.as_slice() {
                ["shape", "scale"] => way.two(given::gamma),
                ["mean", "shape"] => way.two(given::gamma_by_mean),
                ["mean", "cv"] => way.two(given::gamma_by_cv),
                ["median", "p90"] => way.two(given::gamma_by_p90),
                _ => way.refuse("a gamma", "shape and scale, shape and mean, mean and cv, or median and p90"),
            }
        }
        DistributionSpec::Constant(_) | DistributionSpec::Empirical(_) | DistributionSpec::Geometric(_) => {
            Outcome::Unreadable // handled before: they are given in one way only
        }
    }
}
