//! Losses by supplier, and guarantees that add up to the line's.

use super::{DesignFigures, Proportion, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of a scope study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScopeResult {
    /// Head.
    pub head: StudyHead,
    /// The line as modelled.
    pub base: DesignFigures,
    /// Packs a run at the design rate.
    pub design_packs: f64,
    /// Probability with which the line's value is reached.
    pub probability: f64,
    /// Good packs a run that the line reaches with that probability.
    pub guaranteed_good_packs: f64,
    /// The suppliers, in line order of their first station; last what no supplier answers for.
    pub suppliers: Vec<SupplierRow>,
}

/// What one supplier answers for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplierRow {
    /// Name; `None` for stations without a supplier and for what the whole line answers for (rate, start-up, breaks).
    pub supplier: Option<String>,
    /// Ids of its stations.
    pub stations: Vec<String>,
    /// Packs a run charged to its stations: stops, recovery, rejects; over all rows they add up to design less good.
    pub charged_packs: Mean,
    /// Packs a run gained with all own stops of its stations off, same luck; `None` for no station.
    pub gain_packs: Option<Mean>,
    /// Packs a run that it may lose: the line's allowance (design less guaranteed) in proportion to the mean charge. The
    /// allowances of all rows and the guaranteed good packs add up to the design.
    pub allowance_packs: f64,
    /// The same as a share of the design: what it may take off the line's OEE.
    pub allowance_share: f64,
    /// Packs that it stays below by itself with the stated probability; these do not add up.
    pub alone_packs: f64,
    /// Runs in which its charge kept within the allowance.
    pub within_allowance: Proportion,
}
