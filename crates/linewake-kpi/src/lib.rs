//! What a log amounts to: OEE and its factors, the loss ledger, the stop Pareto. Pure functions of a log.
//!
//! [`accumulator::Accumulator`] takes the events of one run, from the engine or from a log file, and gives a
//! [`result::ShiftResult`]. Nothing here knows the engine, a statistic or a way of printing.

pub mod accumulator;
mod attribution;
pub mod content_times;
pub mod convention;
mod counts;
pub mod definition;
pub mod histogram;
mod interruptions;
pub mod isa_tr88;
pub mod iso22400;
mod ledger;
pub mod machine;
pub mod pareto;
pub mod result;
mod state_clocks;
pub mod study;
pub mod summary;
pub mod timeline;

#[cfg(test)]
mod tests;
