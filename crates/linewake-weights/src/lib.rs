//! Net contents of prepackages: what the law allows, whether a lot would pass its test, what is given away, and the
//! smallest target that keeps what was promised. Knows no line, no file and no clock.
//!
//! Tables and plans are data ([`regime`]), with edition, clause and, for each value, whether it was read or is from
//! memory; that mark is carried into every result ([`basis`]). Local law governs, editions differ, and qualified people
//! decide: the results are for planning, no statement of conformity.
//!
//! Masses are in grams; a table of the EU kind serves millilitres as well, with millilitres written for grams.
//!
//! ```
//! use linewake_weights::regime::{LabelUnit, Regime};
//! let eu = Regime::eu_76_211();
//! let limits = eu.limits("tne", 400.0, LabelUnit::Gram).unwrap();
//! assert_eq!((limits.tolerable_g, limits.t1_g, limits.t2_g), (12.0, 388.0, Some(376.0)));
//! ```

pub mod acceptance;
pub mod basis;
pub mod evaluation;
pub mod feedback;
pub mod giveaway;
pub mod gross;
pub mod lot_test;
pub mod packs;
pub mod planning;
pub mod regime;
pub mod simulation;
pub mod target;
pub mod weigher;

mod quadrature;
