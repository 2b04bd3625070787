//! A regime of net contents as data: tables of tolerable deficiencies, sampling plans, edition, clause and status of
//! each value. Six are built in; a user's file of the same form replaces any of them.

mod built_in;
mod check;
mod error;
mod file;
mod lookup;

pub use built_in::texts;
pub use error::RegimeError;
pub use file::{
    BeyondSecondLimit, DeficiencyRow, DeficiencyTable, DrawRow, Instrument, LotPlanRow, MeanRow, Moisture,
    Plan, Regime, Rounding, Scope, SecondLimit, SharesBelow, WholeLot,
};
pub use lookup::{GRAMS_PER_POUND, LabelUnit, Limits, LookupError};

pub(crate) use file::status;
pub(crate) use lookup::to_micrograms;

#[cfg(test)]
mod tests;
