//! Output against capacity, or against any other values of the model.

use crate::contrast::{Reading, good, is_above_zero, low_end, scaled};
use crate::design::Design;
use crate::plan::{BaseModel, Conditions, StudyError, StudyPlan};
use crate::runner::{RunError, Runner};
use crate::study::{Study, ratio_of_sums, shared_luck};
use linewake_kpi::study::StudyKind;
use linewake_kpi::study::buffers::{
    BuffersResult, Curve, CurvePoint, Layout, Payback, SmallestCapacity, Varied,
};
use linewake_kpi::summary::Mean;
use linewake_model::change::{number_of, values_of};
use linewake_model::station::StationKind;
use serde::Serialize;

/// Most designs of one study.
const MOST_DESIGNS: usize = 20_000;

/// What is varied, and how it is judged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BuffersOptions {
    /// Values to vary: path and list or range of values (see [`values_of`]).
    pub vary: Vec<(String, String)>,
    /// All combinations, or one value at a time.
    pub layout: Layout,
    /// Capacities are also tried at 0 and without limit (not in a full factorial of several values).
    pub bounds: bool,
    /// The smallest capacity is sought that reaches this share of what an unlimited one gains over none, above 0 to 1.
    pub share: f64,
    /// Price of a place.
    pub price_per_place: Option<f64>,
    /// Value of a pack; default: the model's.
    pub value_per_pack: Option<f64>,
    /// Runs a year; default: the model's shifts a day x days a year.
    pub runs_per_year: Option<f64>,
}

impl Default for BuffersOptions {
    fn default() -> Self {
        Self {
            vary: Vec::new(),
            layout: Layout::OneAtATime,
            bounds: true,
            share: 0.9,
            price_per_place: None,
            value_per_pack: None,
            runs_per_year: None,
        }
    }
}

/// A buffer study that has been set up.
#[derive(Clone, Debug)]
pub struct BuffersStudy {
    base: BaseModel,
    options: BuffersOptions,
    varied: Vec<Varied>,
    /// For each varied value the designs of its curve, by value.
    curves: Vec<Vec<(String, usize)>>,
    notes: Vec<String>,
    plan: StudyPlan,
}

impl BuffersStudy {
    /// Sets the study up.
    ///
    /// # Errors
    /// No value to vary, paths that lead nowhere, lists that cannot be read, values with which the model does not pass its
    /// check, figures out of range, or more than 20,000 designs.
    pub fn prepare(
        base: BaseModel,
        options: BuffersOptions,
        conditions: &Conditions,
    ) -> Result<Self, StudyError> {
        check(&options)?;
        let mut varied = Vec::new();
        for (path, values) in &options.vary {
            varied.push(varied_of(&base, path, values)?);
        }
        for (place, one) in varied.iter().enumerate() {
            if varied[..place].iter().any(|before| before.path == one.path) {
                return Err(StudyError::option("vary", &one.path, "name each value once"));
            }
        }
        let mut designs = Designs { base: &base, conditions, all: vec![base.as_modelled(conditions)] };
        let mut notes = Vec::new();
        let mut curves = Vec::new();
        if options.layout == Layout::FullFactorial && varied.len() > 1 {
            designs.add_factorial(&varied)?;
        } else {
            for one in &varied {
                curves.push(designs.add_curve(one, options.bounds, &mut notes)?);
            }
        }
        let all = designs.all;
        let plan = StudyPlan::new(StudyKind::Buffers, &base.line, all, conditions, &options, true)?;
        Ok(Self { base, options, varied, curves, notes, plan })
    }

    fn curve(&self, reading: &Reading<'_, '_>, varied: usize) -> Option<Curve> {
        let designs = self.curves.get(varied)?;
        let trade = self.base.line.trade.as_ref();
        let price_per_place = self.options.price_per_place;
        let value_per_pack = self.options.value_per_pack.or(trade.and_then(|trade| trade.pack_value));
        let runs_per_year = self.options.runs_per_year.or_else(|| {
            let trade = trade?;
            Some(trade.shifts_per_day? * trade.days_per_year?)
        });
        let known = &self.varied[varied];
        let mut order: Vec<(Option<f64>, &str, usize)> =
            designs.iter().map(|(value, design)| (number_of(value), value.as_str(), *design)).collect();
        // Unlimited, and what is no number, comes last.
        order.sort_by(|one, other| {
            let rank = |it: &Option<f64>| it.unwrap_or(f64::INFINITY);
            rank(&one.0).total_cmp(&rank(&other.0))
        });
        let of = |number: Option<f64>, name: &str| {
            order.iter().find(|it| it.1 == name || number.is_some() && it.0 == number).map(|it| it.2)
        };
        let none = of(Some(0.0), "0").filter(|_| known.is_capacity);
        let unlimited = of(None, "unlimited").filter(|_| known.is_capacity);
        let whole_gain = none
            .zip(unlimited)
            .map(|(none, unlimited)| reading.difference(none, unlimited, good))
            .filter(is_above_zero);
        let modelled = number_of(&known.as_modelled);
        let mut points = Vec::new();
        let mut before: Option<(f64, usize)> = None;
        for &(number, value, design) in &order {
            let against_base =
                if design == 0 { nothing(reading.runs) } else { reading.difference(0, design, good) };
            let packs_per_place = before.zip(number).and_then(|((low, from), number)| {
                let places = number - low;
                (places > 0.0).then(|| scaled(reading.difference(from, design, good), 1.0 / places))
            });
            let share_of_gain = whole_gain
                .zip(none)
                .map(|(whole, none)| reading.difference(none, design, good).mean / whole.mean);
            let payback = (|| {
                let places = number? - modelled?;
                let (price, value, runs) = (price_per_place?, value_per_pack?, runs_per_year?);
                (places > 0.0).then(|| payback(places * price, &against_base, value * runs))
            })();
            points.push(CurvePoint {
                value: value.to_owned(),
                number,
                good_packs: reading.mean(design, good),
                oee: reading.oee(design),
                against_base,
                packs_per_place,
                share_of_gain,
                payback: payback.filter(|_| known.is_capacity),
            });
            if let Some(number) = number {
                before = Some((number, design));
            }
        }
        let point_of = |design: Option<usize>| {
            let place = order.iter().position(|it| Some(it.2) == design)?;
            points.get(place).cloned()
        };
        let (none, unlimited) = (point_of(none), point_of(unlimited));
        let smallest = smallest(&points, self.options.share);
        Some(Curve {
            varied,
            none,
            unlimited,
            smallest,
            share_wanted: self.options.share,
            price_per_place,
            value_per_pack,
            runs_per_year,
            points,
        })
    }
}

impl Study for BuffersStudy {
    type Found = BuffersResult;

    fn plan(&self) -> &StudyPlan {
        &self.plan
    }

    fn conclude(&self, runner: &mut Runner<'_>) -> Result<BuffersResult, RunError> {
        runner.run_all()?;
        let reading = Reading::of(runner);
        let methods = vec![shared_luck(), ratio_of_sums()];
        let runs = runner.records().len() as u64;
        let curves = (0..self.varied.len()).filter_map(|varied| self.curve(&reading, varied)).collect();
        Ok(BuffersResult {
            head: self.plan.head(StudyKind::Buffers, &self.base.line, runs, methods, self.notes.clone()),
            varied: self.varied.clone(),
            layout: self.options.layout,
            base: reading.figures(0, 0),
            designs: (1..self.plan.designs.len()).map(|design| reading.figures(design, 0)).collect(),
            curves,
        })
    }
}

/// The designs of a study, each once.
struct Designs<'b> {
    base: &'b BaseModel,
    conditions: &'b Conditions,
    all: Vec<Design>,
}

impl Designs<'_> {
    /// The place of the design with that one value; the line as modelled if it has it already.
    fn add_curve(
        &mut self,
        varied: &Varied,
        bounds: bool,
        notes: &mut Vec<String>,
    ) -> Result<Vec<(String, usize)>, StudyError> {
        let mut points = Vec::new();
        for value in &varied.values {
            points.push((value.clone(), self.add(&varied.path, value, &varied.as_modelled)?));
        }
        if varied.is_capacity && bounds {
            for bound in ["0", "unlimited"] {
                if varied.values.iter().any(|value| value == bound) {
                    continue;
                }
                match self.add(&varied.path, bound, &varied.as_modelled) {
                    Ok(design) => points.push((bound.to_owned(), design)),
                    Err(error) => notes.push(format!("no bound at {bound} places: {error}")),
                }
            }
        }
        Ok(points)
    }

    fn add(&mut self, path: &str, value: &str, as_modelled: &str) -> Result<usize, StudyError> {
        if value == as_modelled {
            return Ok(0);
        }
        let design = self.base.with(&[(path.to_owned(), value.to_owned())], self.conditions)?;
        self.all.push(design);
        Ok(self.all.len() - 1)
    }

    fn add_factorial(&mut self, varied: &[Varied]) -> Result<(), StudyError> {
        let count = varied.iter().try_fold(1_usize, |count, one| count.checked_mul(one.values.len()));
        if count.is_none_or(|count| count > MOST_DESIGNS) {
            let count = count.map_or("too many".to_owned(), |count| count.to_string());
            return Err(StudyError::option(
                "the number of combinations",
                count,
                "at most 20,000: vary fewer values, or one at a time",
            ));
        }
        let mut combinations: Vec<Vec<(String, String)>> = vec![Vec::new()];
        for one in varied {
            combinations = combinations
                .into_iter()
                .flat_map(|settings| {
                    one.values.iter().map(move |value| {
                        let mut settings = settings.clone();
                        settings.push((one.path.clone(), value.clone()));
                        settings
                    })
                })
                .collect();
        }
        for settings in combinations {
            let design = self.base.with(&settings, self.conditions)?;
            self.all.push(design);
        }
        Ok(())
    }
}

fn check(options: &BuffersOptions) -> Result<(), StudyError> {
    if options.vary.is_empty() {
        return Err(StudyError::option(
            "vary",
            "missing",
            "name a value and its list, as in \"stations[table].capacity=0,20,40\"",
        ));
    }
    if !(options.share > 0.0 && options.share <= 1.0) {
        return Err(StudyError::option("share", options.share, "it lies above 0 and up to 1, as in 0.9"));
    }
    let amounts = [
        ("price per place", options.price_per_place),
        ("value per pack", options.value_per_pack),
        ("runs per year", options.runs_per_year),
    ];
    for (name, amount) in amounts {
        if amount.is_some_and(|amount| !(amount > 0.0 && amount.is_finite())) {
            return Err(StudyError::option(name, amount.unwrap_or(0.0), "it is above 0"));
        }
    }
    Ok(())
}

fn varied_of(base: &BaseModel, path: &str, values: &str) -> Result<Varied, StudyError> {
    let values = values_of(values)?;
    // A key that was left out has no value yet, and its path stands as it was typed.
    let present = base.tree.value(path);
    let (full, as_modelled) = match present {
        Ok(value) => (base.tree.full_path(path)?, value),
        Err(error) => {
            let first = values.first().map_or("0", String::as_str);
            if base.tree.clone().set(path, first).is_err() {
                return Err(error.into());
            }
            (path.trim().to_owned(), "default".to_owned())
        }
    };
    let station = base.tree.station_of(path).ok().flatten();
    let kind = station.as_deref().and_then(|id| base.line.station(id)).map(|at| &base.line.stations[at].kind);
    let is_capacity = matches!(kind, Some(StationKind::Accumulator(_))) && full.ends_with(".capacity");
    Ok(Varied { path: full, station, as_modelled, values, is_capacity })
}

fn nothing(runs: u64) -> Mean {
    Mean { mean: 0.0, half_width: Some(0.0), n: usize::try_from(runs).unwrap_or(usize::MAX) }
}

fn payback(cost: f64, gain: &Mean, per_pack_and_year: f64) -> Payback {
    let years = |packs: f64| {
        let value = packs * per_pack_and_year;
        (value > 0.0).then(|| cost / value)
    };
    Payback {
        cost,
        value_per_year: gain.mean * per_pack_and_year,
        years: years(gain.mean),
        years_at_low_end: years(low_end(gain)),
    }
}

fn smallest(points: &[CurvePoint], share: f64) -> Option<SmallestCapacity> {
    let reaches = |point: &&CurvePoint| {
        point.number.is_some() && point.share_of_gain.is_some_and(|reached| reached >= share)
    };
    let found = points.iter().find(reaches)?;
    let above_zero = |point: &&CurvePoint| point.number.is_some_and(|number| number > 0.0);
    Some(SmallestCapacity {
        value: found.value.clone(),
        share: found.share_of_gain?,
        is_smallest_tried: points.iter().find(above_zero).is_some_and(|first| first.value == found.value),
    })
}

#[cfg(test)]
mod tests;
