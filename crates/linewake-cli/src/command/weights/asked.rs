//! From options and the model's figures to the question, with what was assumed on the way in words.

use crate::args::mass::Lot;
use crate::args::weights::Weights;
use crate::failure::Failure;
use crate::report_folder::quoted;
use linewake_model::facts::{PackWeight, facts, pack_weight};
use linewake_model::line::Line;
use linewake_weights::feedback::{Deviations, Drift, FeedbackLoop};
use linewake_weights::packs::Gate;
use linewake_weights::planning::{Asked, StatedLevels, TradeFigures, Tried, possible_feedback};
use linewake_weights::regime::{GRAMS_PER_POUND, LabelUnit, Regime};

/// Packs followed for each gain of a feedback.
const FOLLOW_PACKS: u64 = 200_000;

/// The figures of a line, in terms of packs.
pub(super) struct LineFigures {
    weight: PackWeight,
    nominal: f64,
    unit: LabelUnit,
    lot_packs: u64,
    trade: TradeFigures,
    table: String,
    plan: Option<String>,
    /// What was taken from where, in words.
    pub(super) assumed: Vec<String>,
}

impl LineFigures {
    /// Of that line with these options.
    pub(super) fn of(line: &Line, options: &Weights, regime: &Regime) -> Result<Self, Failure> {
        let Some(weight) = pack_weight(line) else {
            return Err(Failure::Invalid {
                what: "the line has no portioner, so nothing tells what a pack weighs".to_owned(),
                hint: "give a model with a portioner".to_owned(),
            });
        };
        let mut assumed = Vec::new();
        let modelled = line.trade.as_ref().and_then(|trade| trade.nominal_g);
        let (nominal, unit) = match (&options.nominal, modelled) {
            (Some(mass), _) if mass.is_in_pounds => (mass.grams / GRAMS_PER_POUND, LabelUnit::Pound),
            (Some(mass), _) => (mass.grams, LabelUnit::Gram),
            (None, Some(grams)) => (grams, LabelUnit::Gram),
            (None, None) => {
                return Err(Failure::usage(
                    "the model does not say what the label says",
                    "give --nominal, such as --nominal \"400 g\", or trade.nominal in the model",
                ));
            }
        };
        let lot_packs = lot_packs(line, options, &mut assumed)?;
        let trade = trade(line, options, &mut assumed)?;
        if weight.weigher.is_none() {
            assumed.push("the line has no checkweigher: every pack leaves".to_owned());
        }
        let first = regime.tables.first().map(|table| table.id.clone()).unwrap_or_default();
        Ok(Self {
            weight,
            nominal,
            unit,
            lot_packs,
            trade,
            table: options.table.clone().unwrap_or(first),
            plan: options.plan.clone().or_else(|| regime.plans.first().map(|plan| plan.id.clone())),
            assumed,
        })
    }

    /// The question.
    pub(super) fn question<'a>(
        &'a self,
        options: &Weights,
        regime: &'a Regime,
        seed: u64,
    ) -> Result<Asked<'a>, Failure> {
        let weight = &self.weight;
        let stated = StatedLevels {
            below_t1: options.below_t1,
            below_t2: options.below_t2,
            lot_passes: options.lot_passes,
            rejected: Some(options.rejected),
        };
        let (levels, level_bases) = stated.filled(regime, self.plan.is_some());
        let weigher = weight.weigher.as_ref();
        let gate = weigher.map_or_else(Gate::none, |weigher| Gate {
            sd_g: weigher.sd_g,
            bias_g: 0.0,
            low_g: weigher.low_g,
            high_g: weigher.high_g,
        });
        if let (Some(feedback), true) = (weight.feedback, options.every.is_some()) {
            return Err(Failure::usage(
                format!(
                    "the model has feedback every {} packs; --every is for a line without",
                    feedback.every_packs
                ),
                "leave --every away, or change every_packs in the model",
            ));
        }
        let deviations = Deviations {
            mean_g: weight.mean_g,
            sd_pack_g: weight.sd_pack_g,
            sd_batch_g: weight.sd_batch_g,
            batch_packs: (weight.batch_packs.round() as u64).max(1),
            drift: weight.drift.map(|(sd_g, correlation_packs)| Drift { sd_g, correlation_packs }),
        };
        let studied = self.studied(&deviations, options.every);
        if options.try_gain.is_some() && studied.is_none() {
            return Err(Failure::usage(
                "the line has no checkweigher to feed back from",
                "leave --try-gain away, or add a checkweigher to the model",
            ));
        }
        let nominal_g = match self.unit {
            LabelUnit::Gram => self.nominal,
            LabelUnit::Pound => self.nominal * GRAMS_PER_POUND,
        };
        let mut asked = Asked {
            regime,
            table: &self.table,
            plan: self.plan.as_deref(),
            nominal: self.nominal,
            unit: self.unit,
            allowance_g: nominal_g * options.moisture,
            lot_packs: self.lot_packs,
            set_g: weight.mean_g,
            deviations,
            gate,
            feedback: weight.feedback.and(studied),
            studied,
            levels,
            level_bases,
            trade: self.trade.clone(),
            tried: Tried::default(),
            tests: options.tests,
            follow_packs: FOLLOW_PACKS,
            seed,
        };
        let usual = asked.usual_trials();
        let own = options.try_sd.is_some()
            || options.try_gain.is_some()
            || options.try_low.is_some()
            || options.try_high.is_some();
        asked.tried = if own {
            Tried {
                sd_pack_g: options.try_sd.as_ref().map(|list| list.grams.clone()).unwrap_or_default(),
                gains: options.try_gain.clone().unwrap_or_default(),
                low_g: options.try_low.as_ref().map(|list| list.grams.clone()).unwrap_or_default(),
                high_g: options.try_high.as_ref().map(|list| list.grams.clone()).unwrap_or_default(),
            }
        } else {
            usual
        };
        Ok(asked)
    }

    /// The feedback of the model, or one that the line could have.
    fn studied(&self, deviations: &Deviations, every: Option<u32>) -> Option<FeedbackLoop> {
        let weight = &self.weight;
        let dead_time_packs = weight.weigher.as_ref()?.dead_time_packs.round() as u64;
        Some(match weight.feedback {
            Some(feedback) => FeedbackLoop {
                every_packs: u64::from(feedback.every_packs),
                dead_time_packs,
                gain: feedback.gain,
                target_g: weight.mean_g,
                lowest_g: feedback.lowest_g,
                highest_g: feedback.highest_g,
                count_rejects: feedback.count_rejects,
            },
            None => possible_feedback(deviations, dead_time_packs, every.map(u64::from)),
        })
    }
}

fn lot_packs(line: &Line, options: &Weights, assumed: &mut Vec<String>) -> Result<u64, Failure> {
    let modelled = line.trade.as_ref().and_then(|trade| trade.lot);
    let (seconds, words) = match (&options.lot, modelled) {
        (Some(Lot::Packs(packs)), _) => return Ok(*packs),
        (Some(Lot::Time(seconds, typed)), _) => (*seconds, typed.clone()),
        (None, Some(lot)) => (lot.seconds(), format!("{} min (the model's lot)", lot.seconds() / 60.0)),
        (None, None) => {
            return Err(Failure::usage(
                "the model does not say what a lot is",
                "give --lot, as packs or as a time such as --lot \"1 h\", or trade.lot in the model",
            ));
        }
    };
    let packs = (line.design_rate_per_min / 60.0 * seconds).round().max(1.0) as u64;
    assumed.push(format!(
        "a lot is {} packs, {words} at the design rate (--lot takes another)",
        thousands(packs)
    ));
    Ok(packs)
}

fn trade(line: &Line, options: &Weights, assumed: &mut Vec<String>) -> Result<TradeFigures, Failure> {
    let modelled = line.trade.as_ref();
    let product_per_kg = options.price_per_kg.or(modelled.and_then(|trade| trade.product_per_kg));
    let pack_value = options.pack_value.or(modelled.and_then(|trade| trade.pack_value));
    let currency =
        options.currency.clone().or_else(|| modelled.map(|trade| trade.currency.clone())).unwrap_or_default();
    if currency.is_empty() && (product_per_kg.is_some() || pack_value.is_some()) {
        return Err(Failure::usage("a price needs a currency", "give --currency, such as --currency EUR"));
    }
    if product_per_kg.is_none() {
        assumed.push(
            "the model has no price of a kilogram of product: no money is shown; --price-per-kg and --currency add it"
                .to_owned(),
        );
    }
    let shifts_per_year = options.shifts_per_year.or_else(|| {
        let trade = modelled?;
        let (shifts, days) = (trade.shifts_per_day?, trade.days_per_year?);
        assumed.push(format!("a year has {} shifts, {shifts} a day on {days} days", shifts * days));
        Some(shifts * days)
    });
    if shifts_per_year.is_none() {
        assumed.push(
            "the model does not say how many shifts a year has: no figures of a year; --shifts-per-year adds them"
                .to_owned(),
        );
    }
    let packs_per_shift = options.packs_per_shift.unwrap_or_else(|| {
        let hours = line.shift.length.seconds() / 3600.0;
        let packs = (facts(line).output.no_help.good_packs_per_calendar_h * hours).round();
        assumed.push(format!(
            "{} packs leave in a shift, the figure without help from buffers of linewake check over {hours} h \
             (--packs-per-shift takes another, such as that of a run)",
            thousands(packs as u64)
        ));
        packs
    });
    Ok(TradeFigures {
        currency,
        product_per_kg,
        pack_value,
        packs_per_shift: Some(packs_per_shift),
        shifts_per_year,
    })
}

/// A count with commas between thousands.
fn thousands(count: u64) -> String {
    let digits = count.to_string();
    let mut shown = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            shown.push(',');
        }
        shown.push(digit);
    }
    shown
}

/// The command that makes the same result again; what changes no result is left out.
pub(super) fn as_typed(options: &Weights, model: &str, seed: u64) -> String {
    let mut words = format!("linewake weights {}", quoted(model));
    let mut option = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            words.push_str(&format!(" {name} {}", quoted(&value)));
        }
    };
    let number = |value: Option<f64>| value.map(|value| value.to_string());
    option("--regime", Some(options.regime.clone()));
    option("--table", options.table.clone());
    option("--plan", options.plan.clone());
    option("--nominal", options.nominal.as_ref().map(|mass| mass.typed.clone()));
    option(
        "--lot",
        options.lot.as_ref().map(|lot| match lot {
            Lot::Packs(packs) => packs.to_string(),
            Lot::Time(_, typed) => typed.clone(),
        }),
    );
    option("--moisture", number((options.moisture > 0.0).then_some(options.moisture)));
    option("--below-t1", number(options.below_t1));
    option("--below-t2", number(options.below_t2));
    option("--lot-passes", number(options.lot_passes));
    option("--rejected", Some(options.rejected.to_string()));
    option("--try-sd", options.try_sd.as_ref().map(|list| list.typed.clone()));
    let gains = options.try_gain.as_ref();
    option("--try-gain", gains.map(|list| list.iter().map(f64::to_string).collect::<Vec<_>>().join(",")));
    option("--try-low", options.try_low.as_ref().map(|list| list.typed.clone()));
    option("--try-high", options.try_high.as_ref().map(|list| list.typed.clone()));
    option("--every", options.every.map(|every| every.to_string()));
    option("--price-per-kg", number(options.price_per_kg));
    option("--pack-value", number(options.pack_value));
    option("--currency", options.currency.clone());
    option("--packs-per-shift", number(options.packs_per_shift));
    option("--shifts-per-year", number(options.shifts_per_year));
    option("--tests", Some(options.tests.to_string()));
    option("--seed", Some(seed.to_string()));
    words
}
