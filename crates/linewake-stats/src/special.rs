//! Special functions and root finding, in software mathematics: the same bits on every machine.

mod beta;
mod density;
mod expectation;
mod gamma;
mod normal_tail;
mod root;

pub(crate) use beta::incomplete_beta;
pub(crate) use expectation::{over_normal, over_scale};
pub(crate) use gamma::{digamma, incomplete_gamma, trigamma};
pub(crate) use normal_tail::{log_normal_tail, normal_hazard};
pub(crate) use root::{bracketed_root, rising_root};

#[cfg(test)]
mod tests;
