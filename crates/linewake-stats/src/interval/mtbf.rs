//! Limits of a mean time between failures, from total running time and number of failures.
//!
//! They hold for exponential times between failures: a stop whose likelihood does not depend on how long ago the last
//! one was.
//! *Source*: Epstein and Sobel (1953), Life Testing; MIL-HDBK-781A, the same limits for tests ended by time.

use super::{Interval, is_level};
use crate::sampling_law::chi_square_quantile;

/// What ended the watch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// A time set beforehand: the usual case, a shift or an acceptance run.
    ByTime,
    /// The last failure.
    ByFailure,
}

/// The lower limit of the MTBF, one-sided at `confidence`.
///
/// *Formula*: 2 T / chi2(confidence; 2 r + 2) for r failures in T of running time, ended by time; with 2 r degrees of
/// freedom if ended by a failure.
///
/// `None` for a time that is not finite and above 0, a confidence outside (0, 1), or no failure in a watch that a
/// failure ended.
#[must_use]
pub fn mtbf_lower(running_time: f64, failures: u64, confidence: f64, ending: Ending) -> Option<f64> {
    if !(running_time > 0.0 && running_time.is_finite() && is_level(confidence)) {
        return None;
    }
    let degrees = match ending {
        Ending::ByTime => 2.0 * failures as f64 + 2.0,
        Ending::ByFailure if failures == 0 => return None,
        Ending::ByFailure => 2.0 * failures as f64,
    };
    number(2.0 * running_time / chi_square_quantile(confidence, degrees))
}

/// The upper limit of the MTBF, one-sided at `confidence`; infinite when nothing failed in a watch ended by time.
///
/// *Formula*: 2 T / chi2(1 - confidence; 2 r).
///
/// `None` as for [`mtbf_lower`].
#[must_use]
pub fn mtbf_upper(running_time: f64, failures: u64, confidence: f64, ending: Ending) -> Option<f64> {
    if !(running_time > 0.0 && running_time.is_finite() && is_level(confidence)) {
        return None;
    }
    match (failures, ending) {
        (0, Ending::ByTime) => Some(f64::INFINITY),
        (0, Ending::ByFailure) => None,
        _ => number(2.0 * running_time / chi_square_quantile(1.0 - confidence, 2.0 * failures as f64)),
    }
}

/// The two-sided interval of the MTBF at `level`: each end with half of the remaining risk.
///
/// `None` as for [`mtbf_lower`].
#[must_use]
pub fn mtbf_two_sided(running_time: f64, failures: u64, level: f64, ending: Ending) -> Option<Interval> {
    let each = 0.5 + 0.5 * level;
    let low = mtbf_lower(running_time, failures, each, ending)?;
    let high = mtbf_upper(running_time, failures, each, ending)?;
    is_level(level).then_some(Interval { low, high })
}

fn number(value: f64) -> Option<f64> {
    (!value.is_nan()).then_some(value)
}
