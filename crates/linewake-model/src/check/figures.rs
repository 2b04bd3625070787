//! Single figures: signs and ranges. What could not be read is NaN here, and every rule is silent about it.

use super::Checker;
use crate::defaults;
use crate::problem::Path;
use crate::quantity::{Length, Mass, Quantity, Rate, Speed, Time};
use crate::spec::share::ShareSpec;
use crate::time::Span;

impl Checker<'_> {
    /// A time of 0 or more.
    pub(super) fn time(&mut self, quantity: Quantity<Time>, path: &Path) -> Span {
        let seconds = quantity.value();
        if seconds < 0.0 {
            self.findings.error(path, format!("\"{quantity}\" is negative"), "a length of time is 0 or more");
        } else if seconds > defaults::LONGEST_TIME_S {
            self.too_long(path, format!("\"{quantity}\" is"));
        }
        Span::from_seconds(seconds)
    }

    /// A time above 0.
    pub(super) fn positive_time(&mut self, quantity: Quantity<Time>, path: &Path) -> Span {
        let span = self.time(quantity, path);
        if quantity.value() >= 0.0 && span == Span::ZERO {
            self.findings.error(path, format!("\"{quantity}\" is no time at all"), "it must be above 0");
        }
        span
    }

    pub(super) fn too_long(&mut self, path: &Path, what: String) {
        self.findings.error(
            path,
            format!("{what} beyond the clock"),
            "times of up to 10 years (87600 h) are allowed",
        );
    }

    /// A rate above 0, per minute.
    pub(super) fn rate(&mut self, quantity: Quantity<Rate>, path: &Path) -> f64 {
        let per_min = quantity.value();
        if per_min <= 0.0 {
            self.findings.error(path, format!("\"{quantity}\" is no rate"), "a rate must be above 0");
        } else if per_min > defaults::FASTEST_PER_MIN {
            let most = defaults::FASTEST_PER_MIN;
            self.findings.error(path, format!("\"{quantity}\" is too fast"), format!("at most {most}/min"));
        }
        if per_min > 0.0 && 60.0 / per_min > defaults::LONGEST_TIME_S {
            self.too_long(path, format!("the time of one piece at \"{quantity}\" lies"));
        }
        per_min
    }

    /// A mass above 0, in grams.
    pub(super) fn mass(&mut self, quantity: Quantity<Mass>, path: &Path) -> f64 {
        if quantity.value() <= 0.0 {
            self.findings.error(path, format!("\"{quantity}\" is no mass"), "it must be above 0");
        }
        self.any_mass(quantity, path)
    }

    /// A standard deviation of masses, 0 or more, in grams.
    pub(super) fn spread(&mut self, quantity: Quantity<Mass>, path: &Path) -> f64 {
        if quantity.value() < 0.0 {
            self.findings.error(
                path,
                format!("\"{quantity}\" is negative"),
                "a standard deviation is 0 or more",
            );
        }
        self.any_mass(quantity, path)
    }

    /// A mass of any sign, in grams.
    pub(super) fn any_mass(&mut self, quantity: Quantity<Mass>, path: &Path) -> f64 {
        let grams = quantity.value();
        if grams.abs() > defaults::LARGEST_MASS_G {
            self.findings.error(
                path,
                format!("\"{quantity}\" is too large"),
                "masses of up to 1000 t are allowed",
            );
        }
        grams
    }

    /// A length above 0, in metres.
    pub(super) fn length(&mut self, quantity: Quantity<Length>, path: &Path) -> f64 {
        let metres = quantity.value();
        if metres <= 0.0 {
            self.findings.error(path, format!("\"{quantity}\" is no length"), "it must be above 0");
        } else if metres > 1e6 {
            self.findings.error(
                path,
                format!("\"{quantity}\" is too long"),
                "lengths of up to 1000 km are allowed",
            );
        }
        metres
    }

    /// A speed above 0, in metres per second.
    pub(super) fn speed(&mut self, quantity: Quantity<Speed>, path: &Path) -> f64 {
        let metres_per_s = quantity.value();
        if metres_per_s <= 0.0 {
            self.findings.error(path, format!("\"{quantity}\" is no speed"), "it must be above 0");
        } else if metres_per_s > 1000.0 {
            self.findings.error(
                path,
                format!("\"{quantity}\" is too fast"),
                "speeds of up to 1000 m/s are allowed",
            );
        }
        metres_per_s
    }

    /// The time in which `length` passes at `speed`, within the clock.
    pub(super) fn passage(&mut self, length_m: f64, speed_m_s: f64, path: &Path) -> Span {
        let seconds = length_m / speed_m_s;
        if length_m > 0.0 && speed_m_s > 0.0 && seconds > defaults::LONGEST_TIME_S {
            self.too_long(path, "length over speed is".to_owned());
        }
        Span::from_seconds(seconds)
    }

    /// A probability, 0 to 1.
    pub(super) fn probability(&mut self, share: ShareSpec, path: &Path) -> f64 {
        let value = share.value();
        if value < 0.0 {
            self.findings.error(
                path,
                format!("a probability of {value} is negative"),
                "it lies between 0 and 1",
            );
        } else if value > 1.0 {
            let hint = if value <= 100.0 && matches!(share, ShareSpec::Number(_)) {
                format!("it lies between 0 and 1; write \"{value} %\" if per cent are meant")
            } else {
                "it lies between 0 and 1 (100 %)".to_owned()
            };
            self.findings.error(path, format!("a probability of {value} is above 1"), hint);
        }
        value
    }

    /// A probability that may be left out: 0 then.
    pub(super) fn probability_or_none(&mut self, share: Option<ShareSpec>, path: &Path) -> f64 {
        share.map_or(0.0, |share| self.probability(share, path))
    }

    /// A count from `least` to `most`.
    pub(super) fn count(&mut self, count: u32, least: u32, most: u32, path: &Path) -> u32 {
        if count < least {
            self.findings.error(path, format!("{count} is too few"), format!("it must be at least {least}"));
        } else if count > most {
            self.findings.error(path, format!("{count} is too many"), format!("it must be at most {most}"));
        }
        count
    }

    /// A bare number above 0.
    pub(super) fn positive_number(&mut self, number: f64, path: &Path) -> f64 {
        if number <= 0.0 {
            self.findings.error(path, format!("{number} is not above 0"), "write a number above 0");
        }
        number
    }
}
