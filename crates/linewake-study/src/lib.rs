//! Many runs: replications on all cores, and what they say together. Pure but for worker threads.
//!
//! [`replicate::replicate`] runs a line many times and gives one [`linewake_kpi::result::ShiftResult`] for each
//! replication, in order; [`logs`] reads such results from the logs of shifts; [`summarise::summarise`] puts them
//! together.
//!
//! A study answers one question of the job. Each implements [`study::Study`]: it is prepared from a
//! [`plan::BaseModel`], its options and its [`plan::Conditions`]; a [`runner::Runner`] makes its runs, with a journal if
//! one is handed in; and it concludes with a result of [`linewake_kpi::study`].

pub mod acceptance;
mod balance;
pub mod buffers;
mod causes;
pub mod comparison;
mod contrast;
pub mod crew;
pub mod design;
pub mod fitting;
pub mod journal;
pub mod logs;
pub mod losses;
mod machines;
mod mean;
pub mod order;
pub mod paired;
pub mod plan;
pub mod precision;
pub mod record;

pub mod replicate;
pub mod runner;
pub mod scope;
pub mod sensitivity;
pub mod split;
pub mod study;
pub mod summarise;
pub mod trace;
pub mod trial;
pub mod versus;
pub mod wake;

#[cfg(test)]
mod testing;
