//! Shift, crew and trade.

use super::distribution::Use;
use super::{Checker, defaults};
use crate::line::{Break, CallOrder, Crew, Shift, Trade};
use crate::problem::Path;
use crate::spec::line::CallOrderSpec;
use crate::time::{Moment, Span};
use linewake_stats::distribution::Distribution;

impl Checker<'_> {
    pub(super) fn shift(&mut self) -> Shift {
        let root = Path::default().key("shift");
        let Some(spec) = &self.spec.shift else {
            return Shift {
                length: defaults::SHIFT,
                breaks: Vec::new(),
                supply_in_breaks: false,
                repairs_in_breaks: false,
                breaks_in_planned_production_time: false,
            };
        };
        let length = self.positive_time(spec.length, &root.key("length"));
        let mut breaks = Vec::new();
        for (place, given) in spec.breaks.as_deref().unwrap_or_default().iter().enumerate() {
            let path = root.key("breaks").element(place);
            let start = self.time(given.start, &path.key("start"));
            let duration = self.positive_time(given.duration, &path.key("duration"));
            let end = start + duration;
            if given.start.value() >= 0.0 && start == Span::ZERO {
                self.findings.error(
                    &path.key("start"),
                    "a shift cannot begin with a break",
                    "make the shift shorter instead",
                );
            } else if length > Span::ZERO && end > length {
                self.findings.error(
                    &path,
                    format!("the break ends at {end}, after the end of the shift at {length}"),
                    "breaks lie within the shift",
                );
            }
            breaks.push((Break { start: Moment::ZERO + start, duration }, path));
        }
        breaks.sort_by_key(|(given, _)| given.start);
        for pair in breaks.windows(2) {
            let [(first, _), (second, path)] = pair else { continue };
            if second.start <= first.start + first.duration {
                self.findings.error(
                    path,
                    format!("the break at {} overlaps or touches the one at {}", second.start, first.start),
                    "leave time between breaks, or make them one",
                );
            }
        }
        Shift {
            length,
            breaks: breaks.into_iter().map(|(given, _)| given).collect(),
            supply_in_breaks: spec.supply_in_breaks.unwrap_or(false),
            repairs_in_breaks: spec.repairs_in_breaks.unwrap_or(false),
            breaks_in_planned_production_time: spec.breaks_in_planned_production_time.unwrap_or(false),
        }
    }

    /// The crew; called once all stops are known.
    pub(super) fn crew(&mut self) -> Crew {
        let root = Path::default().key("crew");
        let Some(spec) = &self.spec.crew else {
            if let Some(path) = self.attended.clone() {
                self.findings.error(
                    &path,
                    "this stop needs an operator, and the line has no crew",
                    "add \"crew\": { \"operators\": 1, \"response\": \"20 s\" } to the line",
                );
            }
            let response_s = Distribution::Constant { value: 0.0 };
            return Crew { operators: 0, response_s, order: CallOrder::FirstCome };
        };
        if spec.operators == 0
            && let Some(path) = self.attended.clone()
        {
            self.findings.error(
                &root.key("operators"),
                format!("there is no operator, and the stop at {path} needs one"),
                "give at least 1, or make every stop unattended",
            );
        }
        self.count(spec.operators, 0, defaults::MOST_OPERATORS, &root.key("operators"));
        Crew {
            operators: spec.operators,
            response_s: self.times(&spec.response, Use::Duration, &root.key("response")),
            order: match spec.order {
                None | Some(CallOrderSpec::FirstCome) => CallOrder::FirstCome,
                Some(CallOrderSpec::StationPriority) => CallOrder::StationPriority,
            },
        }
    }

    pub(super) fn trade(&mut self) -> Option<Trade> {
        let spec = self.spec.trade.as_ref()?;
        let root = Path::default().key("trade");
        let priced = spec.product_per_kg.is_some() || spec.pack_value.is_some();
        if priced && spec.currency.is_none() {
            self.findings.error(&root, "the prices have no currency", "add \"currency\": \"EUR\" or another");
        }
        let mut amount = |number: Option<f64>, key: &str| {
            number.map(|number| self.positive_number(number, &root.key(key)))
        };
        let product_per_kg = amount(spec.product_per_kg, "product_per_kg");
        let pack_value = amount(spec.pack_value, "pack_value");
        let shifts_per_day = amount(spec.shifts_per_day, "shifts_per_day");
        let days_per_year = amount(spec.days_per_year, "days_per_year");
        if days_per_year.is_some_and(|days| days > 366.0) {
            self.findings.error(&root.key("days_per_year"), "a year has no more than 366 days", "");
        }
        Some(Trade {
            nominal_g: spec.nominal.map(|mass| self.mass(mass, &root.key("nominal"))),
            lot: spec.lot.map(|time| self.positive_time(time, &root.key("lot"))),
            currency: spec.currency.clone().unwrap_or_default(),
            product_per_kg,
            pack_value,
            shifts_per_day,
            days_per_year,
        })
    }
}
