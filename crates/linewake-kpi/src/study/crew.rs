//! Output against the number of operators and the time in which they come.

use super::{DesignFigures, StudyHead};
use crate::summary::Mean;
use serde::Serialize;

/// The result of a crew study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CrewResult {
    /// Head.
    pub head: StudyHead,
    /// The line as modelled.
    pub base: DesignFigures,
    /// Operators in the model.
    pub operators_as_modelled: u32,
    /// Numbers of operators tried, rising.
    pub operators: Vec<u32>,
    /// Response times tried, as multiples of the modelled ones, rising; 1 is as modelled.
    pub response_factors: Vec<f64>,
    /// One for each number of operators and response time, response times within operators.
    pub cells: Vec<CrewCell>,
    /// The fewest operators, with response as modelled, whose good packs are within the interval of the most operators'.
    pub enough: Option<u32>,
}

/// One crew.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CrewCell {
    /// Operators.
    pub operators: u32,
    /// Response times are this many times as modelled.
    pub response_factor: f64,
    /// What it amounts to.
    pub figures: DesignFigures,
    /// Time a run in which stops waited for an operator (response included), over all stations.
    pub waiting_s: Mean,
    /// Packs for one further operator since the cell with the next fewer, same response, same luck.
    pub packs_per_operator: Option<Mean>,
}
