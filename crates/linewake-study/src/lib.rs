//! Many runs: replications on all cores, and what they say together. Pure but for worker threads.
//!
//! [`replicate::replicate`] runs a line many times and gives one [`linewake_kpi::result::ShiftResult`] for each
//! replication, in order; [`summarise::summarise`] puts them together.

mod balance;
mod machines;
mod mean;
pub mod replicate;
pub mod summarise;
