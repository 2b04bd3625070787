//! Dice of the generator, quantities as text, and distributions in every family and every way of giving them.

use linewake_stats::stream::{Stream, Streams};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Dice that note which options they chose.
pub(super) struct Dice {
    stream: Stream,
    /// Options that occur in the line.
    pub(super) options: BTreeSet<&'static str>,
}

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Self { stream: Streams::new(seed, 0).get("random line"), options: BTreeSet::new() }
    }

    /// Between `low` and `high`.
    pub(super) fn real(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.stream.open01()
    }

    /// From `low` to `high`, both included.
    pub(super) fn int(&mut self, low: u64, high: u64) -> u64 {
        low + (self.stream.open01() * (high - low + 1) as f64) as u64
    }

    pub(super) fn chance(&mut self, probability: f64) -> bool {
        self.stream.open01() < probability
    }

    pub(super) fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.int(0, all.len() as u64 - 1) as usize]
    }

    /// An option of the line: taken with that probability, and noted if it is.
    pub(super) fn option(&mut self, name: &'static str, probability: f64) -> bool {
        let taken = self.chance(probability);
        if taken {
            self.note(name);
        }
        taken
    }

    pub(super) fn note(&mut self, name: &'static str) {
        self.options.insert(name);
    }

    /// A distribution of times with about that mean, in any family.
    pub(super) fn times(&mut self, mean_s: f64) -> Value {
        let spread = Spread::of(self, mean_s);
        self.family(&spread, &|value| json!(seconds(value)), true)
    }

    /// A distribution of counts with about that mean, in any family.
    pub(super) fn counts(&mut self, mean: u64) -> Value {
        if self.chance(0.4) {
            self.note("distribution: constant");
            return json!(mean);
        }
        // However the family is given, its mean stays above 1.
        let spread = Spread::of(self, mean.max(3) as f64);
        self.family(&spread, &|value| json!((value * 1000.0).round() / 1000.0), false)
    }

    fn family(&mut self, it: &Spread, value: &dyn Fn(f64) -> Value, is_time: bool) -> Value {
        let m = it.mean;
        // The ends of a family that has two, and what its 90th percentile then is.
        let half = m * it.half;
        let way = it.way;
        let median_p90 = |p90: f64| json!({ "median": value(m), "p90": value(p90) });
        match it.family {
            0 => {
                self.note("distribution: constant");
                value(if is_time { m } else { m.round() })
            }
            1 => {
                self.note("distribution: exponential");
                let way = ["mean", "median", "p90"][way];
                json!({ "exponential": { (way): value(m) } })
            }
            2 => {
                self.note("distribution: uniform");
                json!({ "uniform": match way {
                    0 => json!({ "min": value(m - half), "max": value(m + half) }),
                    1 => json!({ "mean": value(m), "half_width": value(half) }),
                    _ => median_p90(m + 0.8 * half),
                } })
            }
            3 => {
                self.note("distribution: triangular");
                json!({ "triangular": match way {
                    0 => json!({ "min": value(m - half), "mode": value(m - 0.2 * half), "max": value(m + half) }),
                    1 => json!({ "mean": value(m), "half_width": value(half) }),
                    _ => median_p90(m + 0.5 * half),
                } })
            }
            4 => {
                self.note("distribution: truncated normal");
                json!({ "truncated_normal": match way {
                    0 => json!({ "mean": value(m), "sd": value(0.3 * m) }),
                    1 => json!({ "mean": value(m), "sd": value(0.3 * m), "min": value(0.5 * m), "max": value(2.0 * m) }),
                    _ => median_p90(1.4 * m),
                } })
            }
            5 => {
                self.note("distribution: lognormal");
                json!({ "lognormal": match way {
                    0 => median_p90(2.0 * m),
                    1 => json!({ "mean": value(m), "cv": 0.5 }),
                    _ => json!({ "median": value(m), "sigma": 0.6 }),
                } })
            }
            6 => {
                self.note("distribution: Weibull");
                json!({ "weibull": match way {
                    0 => json!({ "shape": 1.5, "scale": value(m) }),
                    1 => json!({ "shape": 0.9, "mean": value(m) }),
                    _ => median_p90(2.0 * m),
                } })
            }
            7 => {
                self.note("distribution: gamma");
                json!({ "gamma": match way {
                    0 => json!({ "shape": 2.0, "scale": value(m / 2.0) }),
                    1 => json!({ "shape": 3.0, "mean": value(m) }),
                    _ => json!({ "mean": value(m), "cv": 0.7 }),
                } })
            }
            8 => {
                self.note("distribution: empirical");
                json!({ "empirical": [value(0.5 * m), value(m), value(m), value(1.5 * m)] })
            }
            _ => {
                self.note("distribution: geometric");
                if is_time {
                    json!({ "geometric": { "mean": 4, "step": value(m / 4.0) } })
                } else {
                    json!({ "geometric": { "mean": m.max(1.0) } })
                }
            }
        }
    }
}

/// What is drawn of a distribution before its family is written.
struct Spread {
    family: u64,
    way: usize,
    mean: f64,
    half: f64,
}

impl Spread {
    fn of(dice: &mut Dice, mean: f64) -> Self {
        Self { family: dice.int(0, 9), way: dice.int(0, 2) as usize, mean, half: dice.real(0.3, 0.7) }
    }
}

/// A time as it is typed; at least a millisecond.
pub(super) fn seconds(value: f64) -> String {
    format!("{:.3} s", value.max(0.001))
}

/// A mass as it is typed.
pub(super) fn grams(value: f64) -> String {
    format!("{value:.2} g")
}

/// A rate as it is typed.
pub(super) fn per_min(value: f64) -> String {
    format!("{value:.3}/min")
}
