//! From a nominal quantity to its tolerable deficiency and limits.

use super::file::{DeficiencyRow, DeficiencyTable, Regime, status};
use crate::basis::{Basis, Status};
use core::fmt;

/// Unit of the quantity on the label; tables that are printed in two units are looked up in the label's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LabelUnit {
    /// Grams (or millilitres).
    Gram,
    /// Pounds.
    Pound,
}

/// Grams in a pound. *Source*: international avoirdupois pound, exact by definition (1959).
pub const GRAMS_PER_POUND: f64 = 453.592_37;

/// A nominal quantity and the limits that follow from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// Nominal quantity in grams.
    pub nominal_g: f64,
    /// Tolerable deficiency in grams, rounded as the table says.
    pub tolerable_g: f64,
    /// The same before rounding.
    pub unrounded_g: f64,
    /// The same in pounds as printed; for labels in pounds.
    pub tolerable_lb: Option<f64>,
    /// First limit: nominal less tolerable deficiency.
    pub t1_g: f64,
    /// Second limit, which no pack may be below; where the regime has one.
    pub t2_g: Option<f64>,
    /// Coarsest figure of the instrument with which packs are checked, in grams; where the regime says it.
    pub instrument_g: Option<f64>,
    /// The nominal quantity lies within the scope of the table.
    pub in_scope: bool,
    /// What the figures rest on.
    pub bases: Vec<Basis>,
}

/// Why there is no value.
#[derive(Clone, Debug, PartialEq)]
pub enum LookupError {
    /// No table of that id.
    NoTable {
        /// The id.
        id: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// No plan of that id.
    NoPlan {
        /// The id.
        id: String,
        /// Those there are.
        known: Vec<String>,
    },
    /// The nominal quantity is not above 0 and finite.
    Nominal(f64),
    /// The table has no column for that unit.
    NoColumn(String),
    /// The plan has no row for a lot of this size.
    NoLotRow {
        /// The plan.
        plan: String,
        /// Packs of the lot.
        lot: u64,
        /// Smallest lot of the plan.
        from: u64,
        /// Largest lot of the plan.
        to: Option<u64>,
    },
    /// The allowance for moisture is negative or takes the whole pack.
    Allowance(f64),
}

impl fmt::Display for LookupError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoTable { id, known } => write!(f, "no table {id:?}; the tables are {}", known.join(", ")),
            Self::NoPlan { id, known } if known.is_empty() => {
                write!(f, "no plan {id:?}: the regime has no test of lots")
            }
            Self::NoPlan { id, known } => write!(f, "no plan {id:?}; the plans are {}", known.join(", ")),
            Self::Nominal(value) => {
                write!(f, "the nominal quantity is {value}; it must be finite and above 0")
            }
            Self::NoColumn(id) => write!(f, "table {id:?} has no column for labels in pounds; give grams"),
            Self::NoLotRow { plan, lot, from, to } => {
                write!(f, "plan {plan:?} has no row for a lot of {lot} packs; its lots start at {from}")?;
                to.map_or(Ok(()), |to| write!(f, " and end at {to}"))
            }
            Self::Allowance(value) => {
                write!(f, "the allowance is {value} g; it must be from 0 to less than the nominal quantity")
            }
        }
    }
}

impl core::error::Error for LookupError {}

impl Regime {
    /// The table of that id.
    ///
    /// # Errors
    /// When there is none.
    pub fn table(&self, id: &str) -> Result<&DeficiencyTable, LookupError> {
        self.tables.iter().find(|table| table.id == id).ok_or_else(|| LookupError::NoTable {
            id: id.to_owned(),
            known: self.tables.iter().map(|table| table.id.clone()).collect(),
        })
    }

    /// Tolerable deficiency and limits of a nominal quantity, in grams or, with [`LabelUnit::Pound`], in pounds.
    ///
    /// # Errors
    /// An unknown table, a nominal quantity that is not above 0, or a table without a column for pounds.
    pub fn limits(&self, table: &str, nominal: f64, unit: LabelUnit) -> Result<Limits, LookupError> {
        let table = self.table(table)?;
        if !(nominal > 0.0 && nominal.is_finite()) {
            return Err(LookupError::Nominal(nominal));
        }
        let (row, below) = row_of(table, nominal, unit)?;
        let nominal_g = match unit {
            LabelUnit::Gram => nominal,
            LabelUnit::Pound => nominal * GRAMS_PER_POUND,
        };
        let mut bases = vec![self.row_basis(table, row, below, unit)];
        let (unrounded_g, tolerable_lb) = match (row.percent, row.amount_g) {
            // Percent x nominal first: 0.09 is no exact binary number, 9 x 50 / 100 is.
            (Some(percent), _) => {
                let pounds = (unit == LabelUnit::Pound).then(|| percent * nominal / 100.0);
                (percent * nominal_g / 100.0, pounds)
            }
            (None, amount) => (amount.unwrap_or(0.0), row.amount_lb),
        };
        let mut tolerable_g = unrounded_g;
        if row.percent.is_some() {
            let rounding = table.rounding.iter().find(|rule| rule.up_to_g.is_none_or(|top| nominal_g <= top));
            if let Some(rule) = rounding {
                tolerable_g = rounded_up(unrounded_g, rule.step_g);
                bases.push(Basis {
                    value: format!("percentages rounded up to {} g", rule.step_g),
                    edition: self.edition.clone(),
                    clause: table.clause.clone(),
                    source: rule.source.clone(),
                    status: status(&rule.read, "step_g"),
                });
            }
        }
        let t2_g = self.second_limit.as_ref().map(|second| {
            bases.push(Basis {
                value: format!("second limit at {} times the {}", second.multiple, table.title),
                edition: self.edition.clone(),
                clause: second.clause.clone(),
                source: second.source.clone(),
                status: status(&second.read, "multiple"),
            });
            to_micrograms(nominal_g - second.multiple * tolerable_g)
        });
        let in_scope =
            table.scope.as_ref().is_none_or(|scope| nominal_g >= scope.from_g && nominal_g <= scope.to_g);
        Ok(Limits {
            nominal_g,
            tolerable_g,
            unrounded_g,
            tolerable_lb: if unit == LabelUnit::Pound { tolerable_lb } else { None },
            t1_g: to_micrograms(nominal_g - tolerable_g),
            t2_g,
            instrument_g: self.instrument.as_ref().map(|instrument| tolerable_g / instrument.divisor),
            in_scope,
            bases,
        })
    }

    fn row_basis(
        &self,
        table: &DeficiencyTable,
        row: &DeficiencyRow,
        below: Option<f64>,
        unit: LabelUnit,
    ) -> Basis {
        let (top, unit_name, top_field) = match unit {
            LabelUnit::Gram => (row.up_to_g, "g", "up_to_g"),
            LabelUnit::Pound => (row.up_to_lb, "lb", "up_to_lb"),
        };
        let (amount, field) = match (row.percent, unit) {
            (Some(percent), _) => (format!("{percent} %"), "percent"),
            (None, LabelUnit::Gram) => (format!("{} g", row.amount_g.unwrap_or(0.0)), "amount_g"),
            (None, LabelUnit::Pound) => (format!("{} lb", row.amount_lb.unwrap_or(0.0)), "amount_lb"),
        };
        let range = match (below, top) {
            (None, None) => "every quantity".to_owned(),
            (None, Some(top)) => format!("up to {top} {unit_name}"),
            (Some(below), None) => format!("over {below} {unit_name}"),
            (Some(below), Some(top)) => format!("over {below} up to {top} {unit_name}"),
        };
        let top_status = if top.is_some() { status(&row.read, top_field) } else { Status::Read };
        Basis {
            value: format!("{}: {amount} for {range}", table.title),
            edition: self.edition.clone(),
            clause: table.clause.clone(),
            source: table.source.clone(),
            status: status(&row.read, field).and(top_status),
        }
    }
}

/// The row of a quantity, and the top of the row before.
fn row_of(
    table: &DeficiencyTable,
    nominal: f64,
    unit: LabelUnit,
) -> Result<(&DeficiencyRow, Option<f64>), LookupError> {
    let mut below = None;
    for row in &table.rows {
        let top = match unit {
            LabelUnit::Gram => row.up_to_g,
            LabelUnit::Pound => row.up_to_lb,
        };
        match top {
            Some(top) if nominal > top || (row.top_excluded && nominal >= top) => below = Some(top),
            Some(_) => return Ok((row, below)),
            None if unit == LabelUnit::Pound && row.up_to_g.is_some() => break,
            None => return Ok((row, below)),
        }
    }
    Err(LookupError::NoColumn(table.id.clone()))
}

/// Up to a whole number of steps; what is one within rounding stays.
fn rounded_up(value: f64, step: f64) -> f64 {
    let steps = value / step;
    let nearest = libm::round(steps);
    let whole = if (steps - nearest).abs() < 1e-6 { nearest } else { libm::ceil(steps) };
    // A step of 0.1 is no exact binary number, its inverse is: 67 / 10, not 67 x 0.1.
    let inverse = libm::round(1.0 / step);
    if (inverse * step - 1.0).abs() < 1e-12 { whole / inverse } else { whole * step }
}

/// The nearest whole number of micrograms: what masses are held to in this program.
pub(crate) fn to_micrograms(mass_g: f64) -> f64 {
    libm::round(mass_g * 1e6) / 1e6
}
